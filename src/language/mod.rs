//! Languages: what a written line of a song is made of, by the spelling rules of its language.
//!
//! One folder a language behind the trait [`Language`]; [`by_tag`] finds it. A language that the program does not know is
//! treated by [`plain`]: words are what stands between spaces.
//!
//! ```
//! use undersong::language::{by_tag, tokens};
//! let forms: Vec<String> = tokens(by_tag("it").unwrap(), "«L’ombra dell'amor!»").into_iter().map(|t| t.form).collect();
//! assert_eq!(forms, ["L’", "ombra", "dell'", "amor"]);
//! ```
//!
//! Functions here never fail and know strings, not songs: a line of nonsense gives tokens of nonsense, none of it lost.

mod de;
mod en;
mod es;
mod fr;
mod it;
mod la;
mod plain;
mod ru;
mod token;
mod xsampa;

pub use token::{Token, text_of_tokens, tokens};
pub use xsampa::ipa_from_xsampa;

/// Where a word stands in its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// First in the line, where a capital says nothing.
    LineStart,
    /// After another word.
    Within,
}

/// The spelling rules of one language.
pub trait Language: Sync {
    /// Returns the primary language subtag (BCP 47).
    fn tag(&self) -> &'static str;

    /// Returns the name of the language in English.
    fn name(&self) -> &'static str;

    /// Tells whether a hyphen inside a word is ordinary spelling; elsewhere it marks a border between morphemes.
    fn hyphen_is_spelling(&self) -> bool;

    /// Tells whether nouns are written with a capital wherever they stand.
    fn capitalises_nouns(&self) -> bool {
        false
    }

    /// Returns the byte offsets at which a run of letters, apostrophes and hyphens falls into joined words, in order.
    ///
    /// Each offset lies inside the run and at a character border.
    fn cuts(&self, run: &str, position: Position) -> Vec<usize>;

    /// Tells whether a word with an apostrophe before it is one that has lost its beginning (`'l`, `'s`), not one in quotation
    /// marks. `word` is a comparison key without the apostrophe.
    fn loses_its_beginning(&self, word: &str) -> bool {
        let _ = word;
        false
    }

    /// Tells whether a word with an apostrophe after it is one that has lost its end (`po'`), even where a quotation is open.
    /// `word` is a comparison key without the apostrophe.
    fn loses_its_end(&self, word: &str) -> bool {
        let _ = word;
        false
    }
}

/// The languages that the program knows, in the order in which lists show them.
pub static ALL: [&dyn Language; 7] =
    [&it::Italian, &de::German, &fr::French, &la::Latin, &es::Spanish, &ru::Russian, &en::English];

/// Finds a language by its BCP 47 tag; only the primary subtag counts (`it-CH` is Italian).
pub fn by_tag(tag: &str) -> Option<&'static dyn Language> {
    let primary = tag.split(['-', '_']).next().unwrap_or_default().to_ascii_lowercase();
    ALL.into_iter().find(|language| language.tag() == primary)
}

/// Finds a language by its BCP 47 tag, and falls back on plain rules for one that the program does not know.
pub fn by_tag_or_plain(tag: &str) -> &'static dyn Language {
    by_tag(tag).unwrap_or(&plain::Plain)
}

/// The byte offsets before and behind each apostrophe that stands between two letters of a run; several in a row count as one.
fn apostrophes(run: &str) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (at, mark) in run.char_indices().filter(|(_, c)| crate::text::is_apostrophe(*c)) {
        let behind = at + mark.len_utf8();
        match found.last_mut() {
            Some((_, end)) if *end == at => *end = behind,
            _ => found.push((at, behind)),
        }
    }
    found.retain(|(before, behind)| *before > 0 && *behind < run.len());
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_region_does_not_matter() {
        assert_eq!(by_tag("it-CH").unwrap().name(), "Italian");
        assert_eq!(by_tag("DE").unwrap().name(), "German");
        assert!(by_tag("tlh").is_none());
    }
}
