//! A single line of text that is being typed, by clusters.
//!
//! ```
//! use undersong::tui::Field;
//! let mut field = Field::new("no\u{301}tte");
//! field.left();
//! field.delete_back();
//! assert_eq!(field.text(), "nóte");
//! ```

use crate::text::{clean, cluster};
use unicode_segmentation::UnicodeSegmentation;

/// Text with a cursor between two clusters.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Field {
    text: String,
    /// Byte offset of the cursor: always at the border of a cluster.
    cursor: usize,
}

impl Field {
    /// Makes a field with a text, the cursor at its end.
    pub fn new(text: &str) -> Field {
        let text = clean::storable(text).replace('\n', " ");
        Field { cursor: text.len(), text }
    }

    /// Returns the text, in NFC.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns the byte offset of the cursor.
    pub fn cursor(&self) -> usize {
        self.cursor
    }

    /// Returns the cells before the cursor.
    pub fn cursor_cells(&self) -> usize {
        cluster::width(&clean::shown(&self.text[..self.cursor]))
    }

    /// Types a text at the cursor; control characters become visible, line ends spaces.
    pub fn insert(&mut self, typed: &str) {
        let (before, after) = self.text.split_at(self.cursor);
        // Composed as one: an accent that is typed after its letter joins it.
        let head = clean::storable(&format!("{before}{typed}")).replace('\n', " ");
        self.text = clean::storable(&format!("{head}{after}"));
        self.cursor = self.border_at_or_after(head.len());
    }

    /// Deletes the cluster before the cursor; returns whether there was one.
    pub fn delete_back(&mut self) -> bool {
        let end = self.cursor;
        self.left() && {
            self.text.replace_range(self.cursor..end, "");
            self.settle();
            true
        }
    }

    /// Deletes the cluster at the cursor; returns whether there was one.
    pub fn delete(&mut self) -> bool {
        let start = self.cursor;
        self.right() && {
            self.text.replace_range(start..self.cursor, "");
            self.cursor = start;
            self.settle();
            true
        }
    }

    /// Moves to the cluster before; returns whether there was one.
    pub fn left(&mut self) -> bool {
        let before = self.text[..self.cursor].graphemes(true).next_back().map(str::len);
        self.cursor -= before.unwrap_or_default();
        before.is_some()
    }

    /// Moves to the next cluster; returns whether there was one.
    pub fn right(&mut self) -> bool {
        let after = self.text[self.cursor..].graphemes(true).next().map(str::len);
        self.cursor += after.unwrap_or_default();
        after.is_some()
    }

    /// Moves to the start.
    pub fn start(&mut self) {
        self.cursor = 0;
    }

    /// Moves to the end.
    pub fn end(&mut self) {
        self.cursor = self.text.len();
    }

    /// After a deletion two pieces may have become one cluster, or one composed letter.
    fn settle(&mut self) {
        let head = clean::storable(&self.text[..self.cursor]).len();
        self.text = clean::storable(&self.text);
        self.cursor = self.border_at_or_after(head.min(self.text.len()));
    }

    fn border_at_or_after(&self, offset: usize) -> usize {
        let mut borders = self.text.grapheme_indices(true).map(|(at, _)| at);
        borders.find(|at| *at >= offset).unwrap_or(self.text.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn moves_and_deletes_by_clusters() {
        let mut field = Field::new("bo\u{303}t͡ʃ");
        field.left();
        field.left();
        assert_eq!(field.cursor_cells(), 2);
        field.delete_back();
        assert_eq!(field.text(), "bt͡ʃ");
        field.delete();
        assert_eq!(field.text(), "bʃ");
    }

    #[test]
    fn an_accent_joins_the_letter_before_it() {
        let mut field = Field::new("e");
        field.insert("\u{301}");
        assert_eq!((field.text(), field.cursor_cells()), ("é", 1));
    }

    proptest! {
        #[test]
        fn the_cursor_is_always_at_a_border(steps in proptest::collection::vec((0u8..8, "[a-z\u{301}\u{303}愛é\u{361}👩\u{200d}\t\u{1b}]{0,3}"), 0..40)) {
            let mut field = Field::default();
            for (step, typed) in steps {
                match step {
                    0 => { field.left(); }
                    1 => { field.right(); }
                    2 => { field.delete_back(); }
                    3 => { field.delete(); }
                    4 => field.start(),
                    5 => field.end(),
                    _ => field.insert(&typed),
                }
                prop_assert!(clean::is_storable(field.text()));
                let at_border = field.cursor() == field.text().len()
                    || field.text().grapheme_indices(true).any(|(at, _)| at == field.cursor());
                prop_assert!(at_border);
            }
        }
    }
}
