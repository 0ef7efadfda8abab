//! Columns: the texts that stand under one another, measured.

use super::{Length, Metric};

/// A column of the sheet: one text a row, and the width of the widest.
#[derive(Clone, Debug, PartialEq)]
pub struct Column<L> {
    /// One text a row; empty where the row has none.
    pub texts: Vec<String>,
    /// Width of the widest text.
    pub width: L,
    /// Space after the column, unless it ends a row.
    pub gap: L,
    /// Whether the next column stays in the same row if it can.
    pub keeps_next: bool,
    /// Index of the cells from which the column was made.
    pub source: usize,
}

/// Measures columns; one that is wider than `max` is cut into several, which follow one another.
///
/// `cells` holds for each column its texts in the order of `rows`, and whether it is joined to the next.
pub fn columns<M: Metric>(
    metric: &M,
    rows: &[M::Row],
    cells: impl IntoIterator<Item = (Vec<String>, bool)>,
    max: M::Length,
) -> Vec<Column<M::Length>> {
    let mut columns = Vec::new();
    for (source, (texts, is_joined)) in cells.into_iter().enumerate() {
        let widths = rows.iter().zip(&texts).map(|(row, text)| metric.width(*row, text));
        let width = widest(widths);
        if width <= max {
            columns.push(Column { texts, width, gap: metric.gap(), keeps_next: is_joined, source });
            continue;
        }
        let pieces: Vec<Vec<&str>> = rows.iter().zip(&texts).map(|(row, text)| metric.cut(*row, text, max)).collect();
        let n_pieces = pieces.iter().map(Vec::len).max().unwrap_or_default();
        for n in 0..n_pieces {
            let texts: Vec<String> = pieces.iter().map(|p| p.get(n).copied().unwrap_or_default().to_owned()).collect();
            let width = widest(rows.iter().zip(&texts).map(|(row, text)| metric.width(*row, text)));
            let is_last = n + 1 == n_pieces;
            let is_joined = is_joined || !is_last;
            columns.push(Column { texts, width, gap: metric.gap(), keeps_next: is_joined, source });
        }
    }
    columns
}

fn widest<L: Length>(widths: impl Iterator<Item = L>) -> L {
    widths.fold(L::default(), |widest, width| if width > widest { width } else { widest })
}

#[cfg(test)]
mod tests {
    use super::super::{Cells, TerminalMetric};
    use super::*;

    fn measured(words: &[(&str, &str)], max: usize) -> Vec<(Vec<String>, usize)> {
        let cells = words.iter().map(|(word, gloss)| (vec![word.to_string(), gloss.to_string()], false));
        let metric = TerminalMetric::<()>::new();
        columns(&metric, &[(), ()], cells, Cells(max)).into_iter().map(|c| (c.texts, c.width.0)).collect()
    }

    #[test]
    fn the_widest_text_makes_the_column() {
        let columns = measured(&[("è", "is"), ("愛してる", "I-love-you")], 20);
        assert_eq!(columns.iter().map(|c| c.1).collect::<Vec<_>>(), [2, 10]);
    }

    #[test]
    fn a_column_wider_than_the_page_is_cut() {
        let columns = measured(&[("abcdefg", "x")], 3);
        let texts: Vec<String> = columns.iter().map(|c| c.0.join("/")).collect();
        assert_eq!(texts, ["abc/x", "def/", "g/"]);
    }
}
