//! English.

use super::{Language, Position, apostrophes};
use crate::text::fold::comparison_key;

/// English, with the contractions of speech and verse.
pub struct English;

/// Words of verse that lose their beginning. Common spelling.
const WITHOUT_BEGINNING: [&str; 18] = [
    "tis", "twas", "twere", "twill", "twould", "twixt", "tween", "mid", "mongst", "gainst", "gan", "neath", "pon",
    "cause", "em", "til", "till", "bout",
];

/// Pronouns after which *’d* is *had* or *would*; elsewhere it is the ending of a participle (*lov’d*).
const PRONOUNS: [&str; 10] = ["i", "you", "he", "she", "it", "we", "they", "who", "there", "thou"];

impl Language for English {
    fn tag(&self) -> &'static str {
        "en"
    }

    fn name(&self) -> &'static str {
        "English"
    }

    fn hyphen_is_spelling(&self) -> bool {
        true
    }

    /// A contracted verb, the possessive *’s* and *n’t* lean back on a word; *th’* leans forward; a vowel left out inside a word does
    /// not divide it (*pow’r*, *o’er*).
    fn cuts(&self, run: &str, _position: Position) -> Vec<usize> {
        let cut = |(before, after): (usize, usize)| {
            let [head, tail] = [&run[..before], &run[after..]].map(comparison_key);
            match tail.as_str() {
                "s" | "ll" | "re" | "ve" | "m" => Some(before),
                "d" if PRONOUNS.contains(&head.as_str()) => Some(before),
                "t" if head.len() > 2 && head.ends_with('n') => Some(before - 1),
                _ if head == "th" => Some(after),
                _ => None,
            }
        };
        apostrophes(run).into_iter().filter_map(cut).collect()
    }

    fn loses_its_beginning(&self, word: &str) -> bool {
        WITHOUT_BEGINNING.contains(&word)
    }
}
