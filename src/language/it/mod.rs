//! Italian.

use super::{Language, Position, apostrophes};
use crate::text::fold::comparison_key;

/// Italian, with the elisions and apocopes of verse.
pub struct Italian;

/// Words that lose their beginning in verse: the article and the pronoun *lo*, *in*, and forms of *questo* and *ecco*.
const WITHOUT_BEGINNING: [&str; 9] = ["l", "n", "ndo", "nde", "sta", "sto", "ste", "sti", "cco"];

/// Words that lose their end before a pause or a consonant, where no vowel need follow: *poco*, *modo*, *voglio* or *voi*, the
/// imperatives *va*, *fa*, *da*, *sta*, *di*, and prepositions with a plural article (*de’*, *a’*). Common spelling.
const WITHOUT_END: [&str; 24] = [
    "po", "mo", "vo", "va", "fa", "da", "sta", "di", "de", "a", "ne", "co", "pe", "su", "be", "que", "me", "to", "ve",
    "i", "ca", "cre", "gua", "so",
];

impl Language for Italian {
    fn tag(&self) -> &'static str {
        "it"
    }

    fn name(&self) -> &'static str {
        "Italian"
    }

    fn hyphen_is_spelling(&self) -> bool {
        false
    }

    /// Elision joins a word to the next and keeps its apostrophe (*l’amore*); after a whole word, *’l* and *’n* lean back (*che ’l*
    /// written as one).
    fn cuts(&self, run: &str, _position: Position) -> Vec<usize> {
        let cut = |(before, after): (usize, usize)| match comparison_key(&run[after..]).as_str() {
            "l" | "n" => before,
            _ => after,
        };
        apostrophes(run).into_iter().map(cut).collect()
    }

    fn loses_its_beginning(&self, word: &str) -> bool {
        WITHOUT_BEGINNING.contains(&word)
    }

    fn loses_its_end(&self, word: &str) -> bool {
        WITHOUT_END.contains(&word)
    }
}
