//! Places in a song: which section, line and word.

use super::{Line, Section, Song, Word};
use serde::{Deserialize, Serialize};
use std::fmt;

/// The place of a line: indices from 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the names say it")]
pub struct LineAt {
    pub section: usize,
    pub line: usize,
}

/// The place of a word: indices from 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the names say it")]
pub struct WordAt {
    pub section: usize,
    pub line: usize,
    pub word: usize,
}

impl LineAt {
    /// Returns the place of a word in this line.
    pub fn word(self, word: usize) -> WordAt {
        WordAt { section: self.section, line: self.line, word }
    }
}

impl WordAt {
    /// Returns the place of the line in which the word stands.
    pub fn line(self) -> LineAt {
        LineAt { section: self.section, line: self.line }
    }
}

impl fmt::Display for LineAt {
    /// Counts from 1, as people do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "section {}, line {}", self.section.saturating_add(1), self.line.saturating_add(1))
    }
}

impl fmt::Display for WordAt {
    /// Counts from 1, as people do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, word {}", self.line(), self.word.saturating_add(1))
    }
}

impl Song {
    /// Returns the section at an index.
    pub fn section(&self, section: usize) -> Option<&Section> {
        self.sections.get(section)
    }

    /// Returns the line at a place.
    pub fn line(&self, at: LineAt) -> Option<&Line> {
        self.sections.get(at.section)?.lines.get(at.line)
    }

    /// Returns the word at a place.
    pub fn word(&self, at: WordAt) -> Option<&Word> {
        self.line(at.line())?.words.get(at.word)
    }
}
