//! German.

use super::{Language, Position, apostrophes};
use crate::text::fold::comparison_key;

/// German, with the contractions and syncopes of verse.
pub struct German;

/// Words that lose their beginning: *es* or *das*, forms of *ein*, and adverbs of direction. Common spelling in verse.
const WITHOUT_BEGINNING: [&str; 20] = [
    "s", "n", "ne", "nen", "nem", "ner", "nes", "mal", "gen", "raus", "rein", "rauf", "runter", "rüber", "ran", "naus",
    "nein", "nauf", "nunter", "t",
];

/// Pronouns that lean on a verb without its final e when the space is left out (*hab’ich*).
const PRONOUNS: [&str; 7] = ["ich", "du", "er", "es", "sie", "wir", "ihr"];

/// Prepositions on which *’m* for *dem* leans.
const PREPOSITIONS: [&str; 7] = ["auf", "mit", "in", "an", "aus", "bei", "von"];

impl Language for German {
    fn tag(&self) -> &'static str {
        "de"
    }

    fn name(&self) -> &'static str {
        "German"
    }

    fn hyphen_is_spelling(&self) -> bool {
        true
    }

    fn capitalises_nouns(&self) -> bool {
        true
    }

    /// *’s* for *es* leans back on the word before it (*ich’s*), but after a name it is the genitive (*Ventalba’s*); a vowel left
    /// out inside a word does not divide it (*heil’ge*, *geh’n*).
    fn cuts(&self, run: &str, position: Position) -> Vec<usize> {
        let is_name = position == Position::Within && run.starts_with(char::is_uppercase);
        let cut = |(before, after): (usize, usize)| {
            let [head, tail] = [&run[..before], &run[after..]].map(comparison_key);
            match tail.as_str() {
                "s" if !is_name => Some(before),
                "m" if PREPOSITIONS.contains(&head.as_str()) => Some(before),
                pronoun if PRONOUNS.contains(&pronoun) => Some(after),
                _ => None,
            }
        };
        apostrophes(run).into_iter().filter_map(cut).collect()
    }

    fn loses_its_beginning(&self, word: &str) -> bool {
        WITHOUT_BEGINNING.contains(&word)
    }
}
