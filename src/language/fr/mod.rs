//! French.

use super::{Language, Position, apostrophes};
use crate::text::{
    self,
    fold::{comparison_key, finding_key},
};

/// French, with elisions and the pronouns that a hyphen joins to the verb.
pub struct French;

/// Pronouns that follow a verb behind a hyphen. *t* is the consonant of *va-t-il* or the elided *te* of *va-t’en*.
const CLITICS: [&str; 24] = [
    "je", "tu", "il", "elle", "on", "nous", "vous", "ils", "elles", "ce", "le", "la", "les", "lui", "leur", "moi",
    "toi", "y", "en", "t", "m", "l", "soi", "eux",
];

/// Words that keep a hyphen before what looks like a pronoun, or an elision: compounds with a meaning of their own.
const COMPOUNDS: [&str; 3] = ["rendez-vous", "c'est-a-dire", "qu'en-dira-t-on"];

/// Beginnings of words whose apostrophe does not divide them, with the letters that follow it.
const UNDIVIDED: [(&str, &str); 6] =
    [("aujourd", "hui"), ("quelqu", "un"), ("presqu", "il"), ("prud", "hom"), ("entr", ""), ("grand", "")];

impl Language for French {
    fn tag(&self) -> &'static str {
        "fr"
    }

    fn name(&self) -> &'static str {
        "French"
    }

    fn hyphen_is_spelling(&self) -> bool {
        true
    }

    /// An elided word keeps its apostrophe and is joined to the next; a pronoun behind a verb keeps its hyphen.
    fn cuts(&self, run: &str, _position: Position) -> Vec<usize> {
        if COMPOUNDS.contains(&finding_key(run).as_str()) {
            return Vec::new();
        }
        let mut cuts = Vec::new();
        let mut start = 0;
        for (before, after) in apostrophes(run) {
            let [head, tail] = [&run[start..before], &run[after..]].map(finding_key);
            if !UNDIVIDED.iter().any(|(h, t)| head == *h && tail.starts_with(t)) {
                cuts.push(after);
                start = after;
            }
        }
        cuts.extend(clitics(run));
        cuts.sort_unstable();
        cuts.dedup();
        cuts
    }
}

/// The offsets of the hyphens from which on a run consists of pronouns; the *t* of *-t-il* stays with its pronoun.
fn clitics(run: &str) -> Vec<usize> {
    let hyphens: Vec<usize> = run.char_indices().filter(|(_, c)| text::is_hyphen(*c)).map(|(at, _)| at).collect();
    let pieces: Vec<String> = hyphens
        .iter()
        .enumerate()
        .map(|(n, at)| {
            let piece = &run[*at..hyphens.get(n + 1).copied().unwrap_or(run.len())];
            let piece = comparison_key(piece.trim_start_matches(text::is_hyphen));
            // Behind an elided pronoun another one follows without a hyphen (va-t’en, donne-m’en).
            piece.split('\'').next().unwrap_or_default().to_owned()
        })
        .collect();
    let first = pieces.iter().rposition(|piece| !CLITICS.contains(&piece.as_str())).map_or(0, |n| n + 1);
    let after_t = |n: usize| n > first && pieces[n - 1] == "t";
    (first..hyphens.len()).filter(|n| hyphens[*n] > 0 && !after_t(*n)).map(|n| hyphens[n]).collect()
}
