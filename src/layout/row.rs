//! Rows: a line of columns parted into rows that fit the page.

use super::{Column, Length};
use std::ops::Range;

/// How wide the rows of one line may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowWidths<L> {
    /// The first row.
    pub first: L,
    /// The rows after it, which are indented.
    pub rest: L,
}

/// How a line is parted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breaking {
    /// As many columns as fit into each row: what stands before the cursor does not move while one types.
    FirstFit,
    /// As few rows as possible, and those as even as possible.
    Even,
}

/// Parts columns into rows; returns the columns of each row.
///
/// A row is never wider than allowed unless it has a single column. Joined columns stay in one row unless they do not fit one
/// together. Takes time in proportion to columns times columns a row.
pub fn break_rows<L: Length>(columns: &[Column<L>], widths: RowWidths<L>, breaking: Breaking) -> Vec<Range<usize>> {
    match breaking {
        Breaking::FirstFit => first_fit(columns, widths),
        Breaking::Even => even(columns, widths),
    }
}

fn first_fit<L: Length>(columns: &[Column<L>], widths: RowWidths<L>) -> Vec<Range<usize>> {
    let mut rows = Vec::new();
    let mut start = 0;
    while start < columns.len() {
        let max = if start == 0 { widths.first } else { widths.rest };
        let fits = fitting(columns, start, max);
        // Step back to a place where no joined words are parted, if the row has one.
        let end = (start + 1..=fits).rev().find(|end| may_end(columns, *end)).unwrap_or(fits);
        rows.push(start..end);
        start = end;
    }
    rows
}

/// The best way to part the columns from some start on.
#[derive(Clone, Copy)]
struct Best {
    n_parted: usize,
    n_rows: usize,
    unevenness: f64,
    end: usize,
}

impl Best {
    /// What makes one way better than another: the fewest joined words parted, then the fewest rows, then the most even ones.
    fn rank(&self) -> (usize, usize, f64) {
        (self.n_parted, self.n_rows, self.unevenness)
    }
}

/// Chooses breaks from the end of the line backwards: for each start, the best row and the best rest.
///
/// Unevenness is the sum of squares of the space left at the ends of the rows, the last row included, since a verse should look
/// like one thing and not like a paragraph.
fn even<L: Length>(columns: &[Column<L>], widths: RowWidths<L>) -> Vec<Range<usize>> {
    let n = columns.len();
    let mut best = vec![Best { n_parted: 0, n_rows: 0, unevenness: 0.0, end: n }; n + 1];
    for start in (0..n).rev() {
        let max = if start == 0 { widths.first } else { widths.rest };
        let ways = (start + 1..=fitting(columns, start, max)).map(|end| {
            let left = (max.number() - width(&columns[start..end]).number()).max(0.0);
            let rest = best[end];
            Best {
                n_parted: rest.n_parted + usize::from(!may_end(columns, end)),
                n_rows: rest.n_rows + 1,
                unevenness: rest.unevenness + left * left,
                end,
            }
        });
        best[start] = ways
            .reduce(|best, way| if way.rank() < best.rank() { way } else { best })
            .expect("a row takes at least one column");
    }
    let mut rows = Vec::new();
    let mut start = 0;
    while start < n {
        rows.push(start..best[start].end);
        start = best[start].end;
    }
    rows
}

/// The end of the longest row from `start` on that is at most `max` wide; at least one column.
fn fitting<L: Length>(columns: &[Column<L>], start: usize, max: L) -> usize {
    let mut used = columns[start].width;
    let mut end = start + 1;
    while end < columns.len() {
        used += columns[end - 1].gap + columns[end].width;
        if used > max {
            break;
        }
        end += 1;
    }
    end
}

/// The width of a row of columns.
fn width<L: Length>(row: &[Column<L>]) -> L {
    let mut used = L::default();
    for (idx, column) in row.iter().enumerate() {
        used += column.width;
        if idx + 1 < row.len() {
            used += column.gap;
        }
    }
    used
}

fn may_end<L>(columns: &[Column<L>], end: usize) -> bool {
    end == columns.len() || !columns[end - 1].keeps_next
}

#[cfg(test)]
mod tests {
    use super::super::Cells;
    use super::*;
    use proptest::prelude::*;

    /// Columns of the given widths; a negative width keeps the next.
    fn columns(widths: &[i32]) -> Vec<Column<Cells>> {
        let column = |w: &i32| Column {
            texts: vec![],
            width: Cells(w.unsigned_abs() as usize),
            gap: Cells(2),
            keeps_next: *w < 0,
            source: 0,
        };
        widths.iter().map(column).collect()
    }

    fn broken(widths: &[i32], first: usize, rest: usize, breaking: Breaking) -> Vec<usize> {
        let rows = break_rows(&columns(widths), RowWidths { first: Cells(first), rest: Cells(rest) }, breaking);
        rows.into_iter().map(|r| r.len()).collect()
    }

    #[test]
    fn first_fit_fills_each_row() {
        assert_eq!(broken(&[4, 4, 4, 4], 16, 10, Breaking::FirstFit), [3, 1]);
        assert_eq!(broken(&[], 16, 10, Breaking::FirstFit), [0; 0]);
        assert_eq!(broken(&[40, 4], 16, 10, Breaking::FirstFit), [1, 1]);
    }

    #[test]
    fn even_rows_share_the_line() {
        assert_eq!(broken(&[4, 4, 4, 4], 16, 16, Breaking::Even), [2, 2]);
    }

    #[test]
    fn joined_words_stay_together() {
        assert_eq!(broken(&[4, 4, -4, 4], 16, 16, Breaking::FirstFit), [2, 2]);
        assert_eq!(broken(&[4, 4, -4, 4], 16, 16, Breaking::Even), [2, 2]);
        assert_eq!(broken(&[-9, 9], 16, 16, Breaking::Even), [1, 1]);
    }

    proptest! {
        #[test]
        fn rows_fit_and_hold_every_column(widths in proptest::collection::vec(-12i32..=20, 0..25), first in 5usize..40, rest in 5usize..40) {
            let widths: Vec<i32> = widths.into_iter().map(|w| if w == 0 { 1 } else { w }).collect();
            let columns = columns(&widths);
            for breaking in [Breaking::FirstFit, Breaking::Even] {
                let rows = break_rows(&columns, RowWidths { first: Cells(first), rest: Cells(rest) }, breaking);
                prop_assert_eq!(rows.iter().cloned().flatten().collect::<Vec<_>>(), (0..columns.len()).collect::<Vec<_>>());
                for (n, row) in rows.iter().enumerate() {
                    let max = if n == 0 { first } else { rest };
                    prop_assert!(row.len() == 1 || width(&columns[row.clone()]).0 <= max);
                }
            }
        }

        /// The even breaking is as good as the best of all ways to part a short line.
        #[test]
        fn even_is_optimal(widths in proptest::collection::vec(prop_oneof![-9i32..=-1, 1i32..=9], 1..9), max in 9usize..30) {
            let columns = columns(&widths);
            let cost = |rows: &[Range<usize>]| {
                let parted = rows.iter().filter(|r| !may_end(&columns, r.end)).count();
                let slack: f64 = rows.iter().map(|r| (max as f64 - width(&columns[r.clone()]).number()).max(0.0).powi(2)).sum();
                (parted, rows.len(), slack)
            };
            let mut best = None;
            for breaks in 0u32..1 << (columns.len() - 1) {
                let mut rows = Vec::new();
                let mut start = 0;
                for end in 1..=columns.len() {
                    if end == columns.len() || breaks & (1 << (end - 1)) != 0 {
                        rows.push(start..end);
                        start = end;
                    }
                }
                if rows.iter().all(|r| r.len() == 1 || width(&columns[r.clone()]).0 <= max) {
                    let cost = cost(&rows);
                    if best.is_none_or(|b| cost < b) {
                        best = Some(cost);
                    }
                }
            }
            let chosen = break_rows(&columns, RowWidths { first: Cells(max), rest: Cells(max) }, Breaking::Even);
            prop_assert_eq!(Some(cost(&chosen)), best);
        }
    }
}
