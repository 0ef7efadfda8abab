//! Extended grapheme clusters and the terminal cells that they take.
//!
//! A cluster is what a reader calls one letter with its accents (Unicode Standard Annex 29); its width in cells follows
//! Unicode Standard Annex 11 as the crate `unicode-width` tabulates it, the same table that terminals' libraries use. Every
//! width in the program is the sum of [`cluster_width`] over the clusters of a string; no second table is mixed in.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Returns the extended grapheme clusters of a text in order.
pub fn clusters(text: &str) -> impl DoubleEndedIterator<Item = &str> {
    text.graphemes(true)
}

/// Returns the number of terminal cells that one cluster takes: 0, 1 or 2.
pub fn cluster_width(cluster: &str) -> usize {
    UnicodeWidthStr::width(cluster).min(2)
}

/// Returns the number of terminal cells that a text takes.
pub fn width(text: &str) -> usize {
    if text.is_ascii() && !text.bytes().any(|b| b.is_ascii_control()) {
        return text.len();
    }
    clusters(text).map(cluster_width).sum()
}

/// Returns the text padded with spaces at its end to `cells`; a text that is wider already comes back as it is.
pub fn pad(text: &str, cells: usize) -> String {
    let mut padded = text.to_owned();
    padded.extend(std::iter::repeat_n(' ', cells.saturating_sub(width(text))));
    padded
}

/// Cuts a text into pieces of at most `cells` cells, never inside a cluster; a cluster wider than that is a piece alone.
pub fn cut(text: &str, cells: usize) -> Vec<&str> {
    let mut pieces = Vec::new();
    let (mut start, mut used) = (0, 0);
    for (at, cluster) in text.grapheme_indices(true) {
        let w = cluster_width(cluster);
        if used + w > cells && at > start {
            pieces.push(&text[start..at]);
            (start, used) = (at, 0);
        }
        used += w;
    }
    pieces.push(&text[start..]);
    pieces
}

/// Shortens a text to at most `cells` cells, with `mark` in place of what was left out.
pub fn shorten(text: &str, cells: usize, mark: &str) -> String {
    if width(text) <= cells {
        return text.to_owned();
    }
    let room = cells.saturating_sub(width(mark));
    let mut kept = String::new();
    let mut used = 0;
    for cluster in clusters(text) {
        let w = cluster_width(cluster);
        if used + w > room {
            break;
        }
        kept.push_str(cluster);
        used += w;
    }
    kept.push_str(mark);
    kept
}

/// Breaks running prose at spaces into lines of at most `cells` cells; a longer word is cut between clusters.
///
/// Line feeds in the text are kept as line ends. An empty text gives no line.
pub fn wrap(text: &str, cells: usize) -> Vec<String> {
    let cells = cells.max(1);
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        let mut used = 0;
        for word in paragraph.split(' ').filter(|w| !w.is_empty()) {
            for (n, piece) in cut(word, cells).into_iter().enumerate() {
                let w = width(piece);
                let gap = usize::from(used > 0 && n == 0);
                if used > 0 && (used + gap + w > cells || n > 0) {
                    lines.push(std::mem::take(&mut line));
                    used = 0;
                } else if gap == 1 {
                    line.push(' ');
                    used += 1;
                }
                line.push_str(piece);
                used += w;
            }
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Widths that follow from Unicode Standard Annexes 11 and 29: marks take no cell, East Asian wide letters and emoji
    /// sequences two.
    #[test]
    fn widths_of_clusters() {
        for (text, cells) in [
            ("", 0),
            ("amore", 5),
            ("o\u{303}", 1),
            ("n\u{329}", 1),
            ("t\u{361}ʃ", 2),
            ("ˈnɔtːe", 6),
            ("любовь", 6),
            ("любо\u{301}вь", 6),
            ("愛", 2),
            ("ｱ", 1),
            ("👩\u{200d}👩\u{200d}👧", 2),
            ("🇮🇹", 2),
            ("각", 2),
            ("\u{ad}", 0),
        ] {
            assert_eq!(width(text), cells, "{text:?}");
        }
    }

    #[test]
    fn wrap_breaks_at_spaces_and_cuts_what_is_too_long() {
        assert_eq!(wrap("vieni o dolce notte", 7), ["vieni o", "dolce", "notte"]);
        assert_eq!(wrap("precipitevolissimevolmente", 10), ["precipitev", "olissimevo", "lmente"]);
        assert_eq!(wrap("a\nb", 5), ["a", "b"]);
        assert!(wrap("", 5).is_empty());
    }

    #[test]
    fn shorten_leaves_whole_clusters() {
        assert_eq!(shorten("o\u{303}o\u{303}o\u{303}", 2, "…"), "o\u{303}…");
        assert_eq!(shorten("愛愛", 3, "…"), "愛…");
    }

    proptest! {
        #[test]
        fn padding_reaches_the_width(text in "\\PC{0,20}", cells in 0usize..40) {
            prop_assert_eq!(width(&pad(&text, cells)), width(&text).max(cells));
        }

        #[test]
        fn cutting_loses_nothing(text in "\\PC{0,30}", cells in 1usize..9) {
            let pieces = cut(&text, cells);
            prop_assert_eq!(&pieces.concat(), &text);
            for piece in pieces {
                prop_assert!(width(piece) <= cells || clusters(piece).count() == 1 || cells < 2, "{:?}", piece);
            }
        }

        #[test]
        fn wrapped_lines_fit_and_keep_the_letters(text in "[a-zà-ÿ愛 \u{301}]{0,60}", cells in 2usize..20) {
            let lines = wrap(&text, cells);
            for line in &lines {
                prop_assert!(width(line) <= cells, "{:?}", line);
            }
            let letters = |s: &str| s.chars().filter(|c| *c != ' ' && *c != '\n').collect::<String>();
            prop_assert_eq!(letters(&lines.concat()), letters(&text));
        }
    }
}
