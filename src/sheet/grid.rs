//! A line of a sheet as aligned characters: columns under one another, wrapped with a hanging indent.

use super::{LineBlock, Row};
use crate::layout::{Breaking, Cells, RowWidths, TerminalMetric, break_rows, columns};
use crate::text::cluster::pad;

/// How far the rows after the first of a line are indented, in cells.
const HANGING_INDENT: usize = 4;

/// Aligns a line in at most `width` cells; returns for each row of columns its lines of text, one a row of the sheet.
///
/// Rows of a line that has nothing there are left out. No line has a space at its end.
pub(super) fn align(line: &LineBlock, rows: &[Row], width: usize) -> Vec<Vec<String>> {
    let used: Vec<usize> =
        (0..rows.len()).filter(|idx| line.columns.iter().any(|c| !c.cells[*idx].text.is_empty())).collect();
    let rows: Vec<Row> = used.iter().map(|idx| rows[*idx]).collect();
    let cells = line.columns.iter().map(|column| {
        let texts = used.iter().map(|idx| column.cells[*idx].text.clone()).collect();
        (texts, column.is_joined)
    });
    let indent = HANGING_INDENT.min(width / 4);
    let columns = columns(&TerminalMetric::new(), &rows, cells, Cells(width.saturating_sub(indent).max(1)));
    let widths = RowWidths { first: Cells(width), rest: Cells(width - indent) };
    let broken = break_rows(&columns, widths, Breaking::Even);
    let mut systems = Vec::with_capacity(broken.len());
    for (n, range) in broken.into_iter().enumerate() {
        let columns = &columns[range];
        let system = (0..rows.len()).map(|row| {
            let mut text = " ".repeat(if n == 0 { 0 } else { indent });
            for column in columns {
                text.push_str(&pad(&column.texts[row], column.width.0 + column.gap.0));
            }
            text.truncate(text.trim_end_matches(' ').len());
            text
        });
        systems.push(system.collect());
    }
    systems
}

#[cfg(test)]
mod tests {
    use super::super::{CellText, SheetColumn};
    use super::*;

    fn line(words: &[(&str, &str)]) -> LineBlock {
        let cell = |text: &str| CellText { text: text.into(), is_draft: false };
        let columns = words.iter().map(|(word, gloss)| SheetColumn {
            cells: vec![cell(word), cell(gloss), cell("")],
            is_joined: word.ends_with('’'),
        });
        LineBlock { columns: columns.collect(), ..LineBlock::default() }
    }

    #[test]
    fn rows_stand_under_one_another() {
        let line = line(&[("l’", "the"), ("onda", "wave"), ("любо\u{301}вь", "love"), ("愛", "love")]);
        let systems = align(&line, &[Row::Word, Row::Gloss, Row::Tag], 60);
        assert_eq!(systems, [["l’   onda  любо\u{301}вь  愛", "the  wave  love    love"]]);
    }

    #[test]
    fn a_long_line_hangs() {
        let line = line(&[("dolcissima", "sweetest"), ("notte", "night"), ("di", "of"), ("Ventalba", "Ventalba")]);
        let systems = align(&line, &[Row::Word, Row::Gloss, Row::Tag], 20);
        assert_eq!(systems, [["dolcissima  notte", "sweetest    night"], ["    di  Ventalba", "    of  Ventalba"]]);
    }
}
