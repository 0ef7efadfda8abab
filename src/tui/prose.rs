//! Prose that is being written: the free translation of a line, the answer to a question.
//!
//! A text box of the library, wrapped so that it moves and deletes by clusters: the library counts characters, and would part a letter
//! from its accent.

use crate::text::{clean, cluster};
use ratatui_textarea::{CursorMove, TextArea, WrapMode};
use unicode_segmentation::UnicodeSegmentation;

/// A text box.
#[derive(Clone, Debug)]
pub struct Prose {
    area: TextArea<'static>,
}

impl Prose {
    /// Makes a box with a text, the cursor at its end.
    pub fn new(text: &str) -> Prose {
        let lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
        let mut area = TextArea::new(lines);
        area.set_wrap_mode(WrapMode::WordOrGlyph);
        area.set_cursor_line_style(ratatui::style::Style::new());
        area.set_cursor_style(ratatui::style::Style::new());
        area.set_max_histories(0);
        area.move_cursor(CursorMove::Bottom);
        area.move_cursor(CursorMove::End);
        Prose { area }
    }

    /// Returns the text as it is stored: NFC, no control characters.
    pub fn text(&self) -> String {
        clean::storable(&self.area.lines().join("\n"))
    }

    /// Returns the text box, to be drawn.
    pub fn area(&self) -> &TextArea<'static> {
        &self.area
    }

    /// Types a text; line ends become spaces unless the text may have several lines.
    pub fn insert(&mut self, typed: &str, may_have_lines: bool) {
        let typed = clean::storable(&typed.replace("\r\n", "\n").replace('\r', "\n").replace('\t', " "));
        let typed = if may_have_lines { typed } else { typed.replace('\n', " ") };
        // An accent joins the letter before it: both are typed afresh as one.
        let before = self.before_cursor();
        let last = before.graphemes(true).next_back().unwrap_or_default().to_owned();
        let composed = crate::text::nfc(&format!("{last}{typed}"));
        if !last.is_empty() && !composed.starts_with(&last) {
            self.delete_back();
            self.area.insert_str(composed);
        } else {
            self.area.insert_str(typed);
        }
    }

    /// Deletes the cluster before the cursor, or the line end.
    pub fn delete_back(&mut self) {
        let before = self.before_cursor();
        match before.graphemes(true).next_back() {
            Some(last) => {
                let n_chars = last.chars().count();
                self.jump_by(-(n_chars as isize));
                self.area.delete_str(n_chars);
            }
            None => {
                self.area.delete_newline();
            }
        }
    }

    /// Deletes the cluster at the cursor, or the line end.
    pub fn delete(&mut self) {
        let after = self.after_cursor();
        let n_chars = after.graphemes(true).next().map_or(1, |first| first.chars().count());
        self.area.delete_str(n_chars);
    }

    /// Moves by a cluster; at the end of a line to the next one.
    pub fn left(&mut self) {
        match self.before_cursor().graphemes(true).next_back() {
            Some(last) => self.jump_by(-(last.chars().count() as isize)),
            None => self.area.move_cursor(CursorMove::Back),
        }
    }

    /// Moves by a cluster; at the end of a line to the next one.
    pub fn right(&mut self) {
        match self.after_cursor().graphemes(true).next() {
            Some(first) => self.jump_by(first.chars().count() as isize),
            None => self.area.move_cursor(CursorMove::Forward),
        }
    }

    /// Moves a row up; returns whether there was one.
    pub fn up(&mut self) -> bool {
        self.moves(CursorMove::Up)
    }

    /// Moves a row down; returns whether there was one.
    pub fn down(&mut self) -> bool {
        self.moves(CursorMove::Down)
    }

    /// Moves to the start of the line.
    pub fn start(&mut self) {
        self.area.move_cursor(CursorMove::Head);
    }

    /// Moves to the end of the line.
    pub fn end(&mut self) {
        self.area.move_cursor(CursorMove::End);
    }

    fn moves(&mut self, direction: CursorMove) -> bool {
        let before = self.area.screen_cursor();
        self.area.move_cursor(direction);
        let after = self.area.screen_cursor();
        self.settle_cursor();
        before.row != after.row
    }

    /// Moving between rows may end inside a cluster; the cursor then goes to its start.
    fn settle_cursor(&mut self) {
        let line = self.line().to_owned();
        let (row, column) = self.position();
        let byte = line.char_indices().nth(column).map_or(line.len(), |(at, _)| at);
        let border = line.grapheme_indices(true).map(|(at, _)| at).take_while(|at| *at <= byte).last().unwrap_or(0);
        let border = if byte == line.len() { byte } else { border };
        let column = line[..border].chars().count();
        self.jump(row, column);
    }

    fn jump_by(&mut self, n_chars: isize) {
        let (row, column) = self.position();
        self.jump(row, column.saturating_add_signed(n_chars));
    }

    fn jump(&mut self, row: usize, column: usize) {
        let to = |n: usize| u16::try_from(n).unwrap_or(u16::MAX);
        self.area.move_cursor(CursorMove::Jump(to(row), to(column)));
    }

    fn position(&self) -> (usize, usize) {
        let cursor = self.area.cursor();
        (cursor.0, cursor.1)
    }

    fn line(&self) -> &str {
        self.area.lines().get(self.position().0).map_or("", String::as_str)
    }

    fn before_cursor(&self) -> String {
        self.line().chars().take(self.position().1).collect()
    }

    fn after_cursor(&self) -> String {
        self.line().chars().skip(self.position().1).collect()
    }

    /// Returns the rows that the text takes at a width.
    pub fn n_rows(&self, cells: usize) -> usize {
        self.area.lines().iter().map(|l| cluster::wrap(l, cells).len().max(1)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn letters_and_their_accents_stay_together() {
        let mut prose = Prose::new("bo\u{303}t");
        prose.left();
        prose.delete_back();
        assert_eq!(prose.text(), "bt");
        let mut prose = Prose::new("bo\u{303}t");
        prose.left();
        prose.left();
        prose.delete();
        assert_eq!(prose.text(), "bt");
    }

    #[test]
    fn a_combining_accent_composes() {
        let mut prose = Prose::new("perche");
        prose.insert("\u{301}", false);
        assert_eq!(prose.text(), "perché");
    }

    proptest! {
        #[test]
        fn any_keys_keep_the_text_storable(steps in proptest::collection::vec((0u8..10, "[a-z é\u{301}\u{303}愛\n\r\t\u{1b}]{0,4}"), 0..40)) {
            let mut prose = Prose::new("õ̃ 愛");
            for (step, typed) in steps {
                match step {
                    0 => prose.left(),
                    1 => prose.right(),
                    2 => { prose.up(); }
                    3 => { prose.down(); }
                    4 => prose.delete_back(),
                    5 => prose.delete(),
                    6 => prose.start(),
                    7 => prose.end(),
                    n => prose.insert(&typed, n == 8),
                }
                prop_assert!(clean::is_storable(&prose.text()));
            }
        }
    }
}
