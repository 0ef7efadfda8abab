//! The pane of the sheet: lines with their rows, wrapped to the pane, the word under the cursor marked through all its rows.

use super::put;
use crate::layout::{Breaking, Cells, RowWidths, TerminalMetric, break_rows, columns};
use crate::sheet::{Row, annotated, written};
use crate::song::{Annotation, LineAt, Style as TagStyle, Word};
use crate::text::{clean, cluster};
use crate::tui::editor::{Editor, Focus};
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The rows of the screen that a line takes, and where the cell under the cursor is among them.
#[derive(Clone, Debug, Default)]
pub(crate) struct LineRows {
    pub(crate) rows: Vec<Vec<Piece>>,
    /// Column and row of the text cursor, if the cursor is in the line.
    pub(crate) cursor: Option<(usize, usize)>,
}

/// A text at a column, in one style.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) x: usize,
    pub(crate) text: String,
    pub(crate) style: Style,
    /// The word to which it belongs.
    pub(crate) word: Option<usize>,
    /// The row of the sheet in which it stands.
    pub(crate) row: Option<Row>,
}

/// The width of the margin for bar numbers.
const MARGIN: usize = 6;
const HANGING_INDENT: usize = 2;

/// Draws the pane.
pub(super) fn draw(frame: &mut Frame, area: Rect, editor: &Editor, theme: &Theme) {
    let (width, height) = (usize::from(area.width), usize::from(area.height));
    let mut y = 0;
    for idx in editor.top..editor.lines.len() {
        let block = line_rows(editor, idx, width, theme);
        // A line higher than the pane is shown where the cursor is.
        let skip = match block.cursor {
            Some((_, row)) if idx == editor.top && block.rows.len() > height => (row + 3).saturating_sub(height),
            _ => 0,
        };
        for (n, row) in block.rows.iter().enumerate().skip(skip) {
            if y >= height {
                return;
            }
            for piece in row {
                put(frame, area, piece.x as u16, y as u16, &piece.text, piece.style);
            }
            if let Some((x, _)) = block.cursor.filter(|(_, at)| *at == n)
                && editor.dialog.is_none()
                && editor.focus == Focus::Sheet
            {
                let x = (area.x + x as u16).min(area.right().saturating_sub(1));
                frame.set_cursor_position((x, area.y + y as u16));
            }
            y += 1;
        }
    }
    if editor.lines.is_empty() {
        put(frame, area, 0, 1, "This song has no text yet.", theme.text);
        put(frame, area, 0, 2, "Paste it here: stanzas, speakers and bar numbers are understood.", theme.faint);
        if editor.dialog.is_none() {
            frame.set_cursor_position((area.x, area.y));
        }
    }
}

/// Lays out a line, counted through the song.
pub(crate) fn line_rows(editor: &Editor, idx: usize, width: usize, theme: &Theme) -> LineRows {
    let at = editor.lines[idx];
    let Some(line) = editor.song().line(at) else { return LineRows::default() };
    let mut block = LineRows::default();
    head(editor, at, idx, theme, &mut block);
    let margin = if width >= 44 { MARGIN } else { 0 };
    let mut say = |text: String| {
        block.rows.push(vec![Piece { x: margin, text, style: theme.faint, word: None, row: None }]);
    };
    if !line.direction.is_empty() {
        say(format!("({})", line.direction));
    }
    if !line.cue.is_empty() {
        say(format!("cue: {}", line.cue));
    }
    words(editor, at, &line.words, width.saturating_sub(margin).max(1), margin, theme, &mut block);
    if let (Some(bars), Some(first)) = (line.bars, block.rows.iter_mut().find(|r| r.iter().any(|p| p.word.is_some())))
        && margin > 0
    {
        let text = bars.to_string();
        let x = (margin - 1).saturating_sub(cluster::width(&text));
        first.push(Piece { x, text, style: theme.faint, word: None, row: None });
    }
    if !line.intention.is_empty() && !editor.shown.words_only {
        let text = format!("→ {}", line.intention);
        block.rows.push(vec![Piece { x: margin, text, style: theme.faint, word: None, row: None }]);
    }
    if line.words.is_empty() && editor.cursor.line() == at {
        block.cursor = Some((margin, block.rows.len().saturating_sub(1)));
    }
    if editor.shown.is_roomy {
        block.rows.push(Vec::new());
    }
    block
}

/// The heading and the speaker before the first line of a section.
fn head(editor: &Editor, at: LineAt, idx: usize, theme: &Theme, block: &mut LineRows) {
    let is_first = idx == 0 || editor.lines[idx - 1].section != at.section;
    let Some(section) = editor.song().section(at.section).filter(|_| is_first) else { return };
    if idx > 0 {
        block.rows.push(Vec::new());
    }
    for (text, style) in [(&section.heading, theme.heading), (&section.speaker, theme.word)] {
        if !text.is_empty() {
            block.rows.push(vec![Piece { x: 0, text: text.clone(), style, word: None, row: None }]);
        }
    }
}

fn rows_shown(editor: &Editor) -> Vec<Row> {
    let shown = editor.shown;
    let is_current = |row: Annotation| editor.row == row;
    let wanted = [
        (Row::Word, true),
        (Row::Sound, !shown.words_only && (shown.sound || is_current(Annotation::Sound))),
        (Row::Gloss, !shown.words_only),
        (Row::Tag, !shown.words_only && (shown.tag || is_current(Annotation::Tag))),
        (Row::Lemma, !shown.words_only && (shown.lemma || is_current(Annotation::Lemma))),
    ];
    wanted.into_iter().filter(|(_, is_shown)| *is_shown).map(|(row, _)| row).collect()
}

fn words(editor: &Editor, at: LineAt, words: &[Word], room: usize, margin: usize, theme: &Theme, block: &mut LineRows) {
    let cursor = Some(editor.cursor).filter(|c| c.line() == at).map(|c| c.word);
    // A row in which the line has nothing takes no space, unless the cursor is in it.
    let has_something = |row: &Row| match row.annotation() {
        None | Some(Annotation::Gloss) => true,
        Some(annotation) => {
            (cursor.is_some() && annotation == editor.row) || words.iter().any(|w| !w.annotation(annotation).is_blank())
        }
    };
    let rows: Vec<Row> = rows_shown(editor).into_iter().filter(has_something).collect();
    let is_cell = |word: usize, row: Row| cursor == Some(word) && row.annotation() == Some(editor.row);
    let text = |idx: usize, word: &Word, row: Row| match (row.annotation(), &editor.typing) {
        // One cell more, for the cursor behind the last letter.
        (Some(_), Some(typing)) if is_cell(idx, row) => format!("{} ", clean::shown(typing.field.text())),
        (Some(annotation), _) => cell_text(editor, word, annotation),
        (None, _) => word_text(word),
    };
    let cells = words
        .iter()
        .enumerate()
        .map(|(idx, word)| (rows.iter().map(|row| text(idx, word, *row)).collect::<Vec<String>>(), word.is_joined));
    let indent = HANGING_INDENT.min(room / 4);
    let measured = columns(&TerminalMetric::new(), &rows, cells, Cells(room.saturating_sub(indent).max(1)));
    let widths = RowWidths { first: Cells(room), rest: Cells(room - indent) };
    for (n, range) in break_rows(&measured, widths, Breaking::FirstFit).into_iter().enumerate() {
        let start = margin + if n == 0 { 0 } else { indent };
        for (row_idx, row) in rows.iter().enumerate() {
            let mut x = start;
            let mut pieces = Vec::new();
            for column in &measured[range.clone()] {
                let word = &words[column.source];
                let is_current = cursor == Some(column.source);
                let mut style = style_of(word, *row, theme);
                if is_current {
                    style = style.patch(theme.current_word);
                }
                let mut text = column.texts[row_idx].clone();
                if is_cell(column.source, *row) {
                    style = style.patch(theme.current_cell);
                    let cells = editor.typing.as_ref().map_or(0, |t| t.field.cursor_cells());
                    block.cursor.get_or_insert((x + cells, block.rows.len()));
                    if text.is_empty() {
                        text.push(' ');
                    }
                }
                pieces.push(Piece { x, text, style, word: Some(column.source), row: Some(*row) });
                x += column.width.0 + column.gap.0;
            }
            block.rows.push(pieces);
        }
        // With words only, the cursor stands on the word.
        if block.cursor.is_none() && cursor.is_some_and(|c| measured[range.clone()].iter().any(|m| m.source == c)) {
            let y = block.rows.len().saturating_sub(rows.len());
            let x = block.rows[y].iter().find(|p| p.word == cursor).map_or(start, |p| p.x);
            block.cursor = Some((x, y));
        }
    }
}

/// A written form with its marks; a phrase in brackets, so that it is seen to be one column.
fn word_text(word: &Word) -> String {
    let note = if word.note.is_empty() { "" } else { "*" };
    let text = written(word, note);
    if word.form.contains(' ') { format!("⟨{text}⟩") } else { text }
}

fn cell_text(editor: &Editor, word: &Word, row: Annotation) -> String {
    if row == Annotation::Gloss && editor.shown.hides_gloss && !word.gloss.is_blank() {
        return "· · ·".to_owned();
    }
    let cell = annotated(word, row, TagStyle::Short);
    let is_missing = row == Annotation::Gloss && cell.text.is_empty() && word.is_glossable();
    if is_missing { "·".to_owned() } else { cell.text }
}

fn style_of(word: &Word, row: Row, theme: &Theme) -> Style {
    match row.annotation() {
        None if word.ask => theme.ask,
        None => theme.word,
        Some(annotation) if word.is_draft(annotation) => theme.draft,
        Some(Annotation::Gloss) if word.gloss.is_blank() => theme.faint,
        Some(_) => theme.settled,
    }
}
