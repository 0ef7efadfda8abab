//! Strings: normal form, folding for comparison and for finding, clusters and their cell widths, cleaning of foreign text.
//!
//! Everything in the program that compares, measures or shows a piece of text asks this module, so that a form is the
//! same form everywhere, whatever keyboard or file it came from.
//!
//! ```
//! use undersong::text;
//! assert_eq!(text::nfc("perche\u{301}"), "perché");
//! assert_eq!(text::fold::comparison_key("L’AMOR"), text::fold::comparison_key("l'amor"));
//! assert_eq!(text::cluster::width("t͡ʃ"), 2);
//! ```
//!
//! It knows nothing of songs, languages, files or terminals.

pub mod clean;
pub mod cluster;
pub mod fold;

use unicode_normalization::{UnicodeNormalization, is_nfc};

/// Returns the text in Unicode normal form C, the form in which the program stores all text.
pub fn nfc(text: &str) -> String {
    if is_nfc(text) { text.to_owned() } else { text.nfc().collect() }
}

/// Tells whether a character is an apostrophe in one of the shapes that keyboards, printers and careless scans produce.
///
/// The typewriter apostrophe, the closing and the reversed quotation mark, the modifier letters, the prime, grave and acute
/// accents standing alone, and the full-width form. The turned comma U+2018 is among them because word processors set it
/// in place of an initial apostrophe (`‘l cor`).
pub fn is_apostrophe(c: char) -> bool {
    matches!(c, '\'' | '’' | '‘' | '‛' | 'ʼ' | '′' | '`' | '´' | '\u{ff07}' | '\u{55a}')
}

/// Tells whether a character joins the parts of a compound: the hyphens, not the dashes.
pub fn is_hyphen(c: char) -> bool {
    matches!(c, '-' | '\u{2010}' | '\u{2011}')
}

/// Returns the number of clusters to insert, delete or replace to turn one text into the other (Levenshtein, 1966).
pub fn edit_distance(a: &str, b: &str) -> usize {
    let [a, b]: [Vec<&str>; 2] = [a, b].map(|text| cluster::clusters(text).collect());
    distance(&a, &b)
}

/// The edit distance of two texts in clusters.
pub(crate) fn distance(a: &[&str], b: &[&str]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], i + 1);
        for (j, y) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(x != y);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn distance_counts_clusters() {
        assert_eq!(edit_distance("gloss", "glos"), 1);
        assert_eq!(edit_distance("n\u{329}", "n"), 1);
        assert_eq!(edit_distance("", "abc"), 3);
    }

    proptest! {
        #[test]
        fn nfc_is_idempotent(text in "\\PC{0,40}") {
            let once = nfc(&text);
            prop_assert_eq!(nfc(&once), once);
        }
    }
}
