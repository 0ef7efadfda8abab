//! Numbers in the margin of a pasted line: bars, verse numbers, stanza numbers.

use crate::song::Bars;

/// A number beside a line, and the line without it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Margin<'a> {
    pub(super) number: Bars,
    pub(super) text: &'a str,
    pub(super) kind: Kind,
}

/// How a number is set off from the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// By a word or sign for bar (`T. 12`, `bar 12`, `[12]`, `12 |`): it can be nothing else.
    Marked,
    /// By a wide gap: a bar number or a verse number.
    Gap,
    /// By one space only: a bar number if most lines have one.
    Space,
}

/// Words for "bar" in the languages of scores, with which a number is marked.
const BAR_WORDS: [&str; 13] =
    ["bar", "bars", "b.", "m.", "mm.", "t.", "takt", "takte", "batt.", "battuta", "mes.", "mesure", "c."];

/// Finds a number in the margin of a line.
pub(super) fn find(line: &str) -> Option<Margin<'_>> {
    marked(line).or_else(|| left(line)).or_else(|| right(line))
}

fn marked(line: &str) -> Option<Margin<'_>> {
    let margin = |number: &str, text| Some(Margin { number: number.parse().ok()?, text, kind: Kind::Marked });
    if let Some((inside, text)) = line.strip_prefix('[').and_then(|l| l.split_once(']')) {
        return margin(inside, text.trim_start());
    }
    if let Some((number, text)) = line.split_once('|') {
        return margin(number.trim(), text.trim_start());
    }
    let (word, rest) = line.split_once(' ')?;
    let (number, text) = rest.trim_start().split_once(' ')?;
    BAR_WORDS.contains(&word.to_lowercase().as_str()).then(|| margin(number, text.trim_start()))?
}

fn left(line: &str) -> Option<Margin<'_>> {
    let (number, text) = line.split_once(' ')?;
    let kind = if text.starts_with(' ') { Kind::Gap } else { Kind::Space };
    Some(Margin { number: number.parse().ok()?, text: text.trim_start(), kind })
}

fn right(line: &str) -> Option<Margin<'_>> {
    let (text, number) = line.rsplit_once("  ")?;
    Some(Margin { number: number.trim().parse().ok()?, text: text.trim_end(), kind: Kind::Gap })
}

/// Finds a stanza number: alone on a line (`2`, `II.`), or followed by a point or bracket before the first line (`2. `).
///
/// Returns the number as it is written and the rest of the line.
pub(super) fn stanza(line: &str) -> Option<(&str, &str)> {
    let (number, rest) = line.split_once(' ').unwrap_or((line, ""));
    let bare = number.trim_end_matches(['.', ')']);
    let is_number = |n: &str| !n.is_empty() && n.len() <= 3 && n.bytes().all(|b| b.is_ascii_digit());
    let is_roman = |n: &str| !n.is_empty() && n.len() <= 6 && n.bytes().all(|b| b"IVXLC".contains(&b));
    let is_marked = bare.len() < number.len();
    // `I` alone may be a word of the text; with a point, or alone on its line, it is a number.
    let counts = (is_number(bare) || is_roman(bare)) && (is_marked || rest.is_empty());
    counts.then(|| (bare, rest.trim_start()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_in_every_dress() {
        for line in ["[12] Voi che sapete", "12 | Voi che sapete", "T. 12 Voi che sapete", "bar 12  Voi che sapete"] {
            let margin = find(line).unwrap();
            assert_eq!(
                (margin.number.to_string().as_str(), margin.text, margin.kind),
                ("12", "Voi che sapete", Kind::Marked)
            );
        }
        assert_eq!(find("12-14  Voi").unwrap().number, Bars::new(12, 14).unwrap());
        assert_eq!(find("Voi che sapete    5").unwrap().text, "Voi che sapete");
        assert_eq!(find("3 volte").unwrap().kind, Kind::Space);
        assert!(find("Voi che sapete").is_none());
    }

    #[test]
    fn stanza_numbers() {
        assert_eq!(stanza("2"), Some(("2", "")));
        assert_eq!(stanza("II."), Some(("II", "")));
        assert_eq!(stanza("2. Der Tag"), Some(("2", "Der Tag")));
        assert_eq!(stanza("I saw"), None);
        assert_eq!(stanza("3 volte"), None);
        assert_eq!(stanza("Voi"), None);
    }
}
