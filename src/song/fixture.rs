//! Songs for the unit tests of several modules.

use super::{Line, Section, Song, Word};

/// A song of one section; each line holds its words between spaces.
pub(crate) fn song_of_lines(lines: &[&str]) -> Song {
    let line = |text: &&str| Line { words: text.split(' ').map(Word::new).collect(), ..Line::default() };
    let section = Section { lines: lines.iter().map(line).collect(), ..Section::default() };
    Song { sections: vec![section], ..Song::default() }
}
