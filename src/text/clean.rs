//! Cleaning of foreign text: what comes from a file, a paste or a keyboard becomes text that is safe to store and to show.
//!
//! Two functions for two moments. [`pasted`] runs once on the way in and only drops what carries no meaning (line-end
//! styles, invisible marks, stray white space). [`shown`] runs on the way out and makes visible whatever a terminal might
//! obey instead of print. Neither loses a letter.

use unicode_normalization::UnicodeNormalization;
use unicode_properties::{GeneralCategory, UnicodeGeneralCategory};

/// Returns pasted text with plain line ends, in NFC, without invisible marks and with single spaces.
///
/// - CRLF, CR, NEL, the line and paragraph separators, vertical tab and form feed all end a line.
/// - A byte order mark, zero-width spaces, word joiners and direction marks are dropped; a soft hyphen is dropped inside a
///   line, and at the end of a line it joins the two halves of the word that it divided.
/// - Ligatures of printed Latin letters, which copying from a PDF leaves, are spelt out (`ﬁ`).
/// - Tabs count as two spaces, so that a margin set off by a tab is still seen as a margin; trailing white space is dropped.
/// - Other control characters are kept as visible symbols (see [`shown`]).
pub fn pasted(text: &str) -> String {
    let text = super::nfc(text);
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '\r' => {
                chars.next_if_eq(&'\n');
                end_line(&mut out);
            }
            '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' | '\u{b}' | '\u{c}' => end_line(&mut out),
            '\t' => out.push_str("  "),
            '\u{fb00}'..='\u{fb06}' => out.extend(c.nfkd()),
            '\u{ad}' if is_line_end(chars.peek().copied()) => {
                while chars.next_if(|c| is_line_end(Some(*c)) || *c == ' ').is_some() {}
            }
            c if is_invisible(c) => {}
            c if c.is_control() => out.push(picture(c)),
            c => out.push(c),
        }
    }
    out.truncate(out.trim_end_matches(BLANKS).len());
    // Dropping an invisible mark can bring a letter and its accent together, which NFC then composes.
    super::nfc(&out)
}

/// Returns one line of text as it is stored: like [`pasted`], with each run of white space as one space and none around it.
///
/// A no-break space stays what it is before a punctuation mark, where French sets it, and is a plain space elsewhere.
pub fn line(text: &str) -> String {
    let text = pasted(text);
    let mut out = String::with_capacity(text.len());
    let mut pending: Option<char> = None;
    for c in text.chars() {
        if c.is_whitespace() {
            let keep = if matches!(c, '\u{a0}' | '\u{202f}' | '\u{2009}') { c } else { ' ' };
            pending = Some(match pending {
                Some(' ') if keep != ' ' => keep,
                Some(earlier) => earlier,
                None => keep,
            });
            continue;
        }
        if let Some(space) = pending.take()
            && !out.is_empty()
        {
            let opens = out.ends_with(['«', '“', '„', '‹']);
            let stays = space != ' ' && (opens || (!c.is_alphanumeric() && !super::is_apostrophe(c)));
            out.push(if stays { space } else { ' ' });
        }
        out.push(c);
    }
    super::nfc(&out)
}

/// Returns prose of several lines as it is stored: cleaned like [`pasted`], without blank lines at its ends.
pub fn prose(text: &str) -> String {
    pasted(text).trim_matches(|c: char| c.is_whitespace()).to_owned()
}

/// Tells whether a text may be stored in a song as it stands: NFC, and no control characters but line feeds.
pub fn is_storable(text: &str) -> bool {
    unicode_normalization::is_nfc(text) && !text.chars().any(|c| (c.is_control() && c != '\n') || is_direction(c))
}

/// Returns text from a file as it may be stored in a song: NFC, control characters and direction marks as visible symbols.
///
/// Text that [`is_storable`] comes back as it is. Line feeds stay.
pub fn storable(text: &str) -> String {
    if is_storable(text) {
        return text.to_owned();
    }
    let visible = |c: char| match c {
        '\n' => c,
        c if c.is_control() => picture(c),
        c if is_direction(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    super::nfc(&text.chars().map(visible).collect::<String>())
}

/// Returns text that any terminal prints and none obeys.
///
/// Control characters become their symbols (U+2400 and following), direction marks and other invisible format characters
/// their number in angle brackets, and a combining mark without a base stands on a dotted circle. Line feeds stay. The
/// joiners U+200C and U+200D stay, since they shape letters and emoji.
pub fn shown(text: &str) -> std::borrow::Cow<'_, str> {
    let harmless = |c: char| matches!(c, ' '..='~' | '\n') || (c > '\u{a0}' && !is_format(c) && !is_mark(c));
    if text.chars().all(harmless) {
        return text.into();
    }
    let mut out = String::with_capacity(text.len() + 8);
    let mut has_base = false;
    for c in text.chars() {
        match c {
            '\n' => out.push(c),
            c if c.is_control() => out.push(picture(c)),
            '\u{ad}' => out.push('‐'),
            '\u{200c}' | '\u{200d}' => out.push(c),
            c if is_format(c) => out.push_str(&format!("<U+{:04X}>", c as u32)),
            c if is_mark(c) && !has_base => {
                out.push('\u{25cc}');
                out.push(c);
            }
            c => out.push(c),
        }
        has_base = !c.is_control() && !c.is_whitespace() && !is_format(c);
    }
    out.into()
}

const BLANKS: [char; 3] = [' ', '\n', '\u{a0}'];

fn end_line(out: &mut String) {
    out.truncate(out.trim_end_matches([' ', '\u{a0}', '\u{202f}']).len());
    out.push('\n');
}

fn is_line_end(c: Option<char>) -> bool {
    matches!(c, Some('\r' | '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' | '\u{b}' | '\u{c}'))
}

/// Marks that a page layout leaves behind and that no reader sees.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}') || is_direction(c)
}

fn is_direction(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

fn is_format(c: char) -> bool {
    c != '\u{200c}' && c != '\u{200d}' && c.general_category() == GeneralCategory::Format
}

fn is_mark(c: char) -> bool {
    matches!(c.general_category(), GeneralCategory::NonspacingMark | GeneralCategory::EnclosingMark)
}

/// The visible symbol of a control character: the control pictures of Unicode, or the replacement character for C1.
fn picture(c: char) -> char {
    match c as u32 {
        n @ 0..=0x1f => char::from_u32(0x2400 + n).unwrap_or(char::REPLACEMENT_CHARACTER),
        0x7f => '\u{2421}',
        _ => char::REPLACEMENT_CHARACTER,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn line_ends_of_every_kind() {
        assert_eq!(pasted("a\r\nb\rc\u{85}d\u{2028}e\n"), "a\nb\nc\nd\ne");
    }

    #[test]
    fn invisible_marks_go_and_letters_stay() {
        assert_eq!(pasted("\u{feff}Lie\u{ad}be\u{200b} e\u{301}  \t\n"), "Liebe é");
        assert_eq!(pasted("ﬁnir, ﬂot, oﬃce"), "finir, flot, office");
        assert_eq!(pasted("Nachti\u{ad}\ngall"), "Nachtigall");
    }

    #[test]
    fn white_space_inside_a_line_is_single() {
        assert_eq!(line("  Voi \t che\u{a0}sapete  "), "Voi che sapete");
        assert_eq!(line("Ah\u{a0}! « mon\u{202f}»"), "Ah\u{a0}! « mon\u{202f}»");
        assert_eq!(line("«\u{a0}Ah\u{a0}!"), "«\u{a0}Ah\u{a0}!");
    }

    #[test]
    fn escape_sequences_are_shown_not_sent() {
        assert_eq!(shown("\u{1b}[31mred\u{7}"), "␛[31mred␇");
        assert_eq!(shown("\u{202e}evil"), "<U+202E>evil");
        assert_eq!(shown("\u{301}a"), "\u{25cc}\u{301}a");
        assert_eq!(shown("\u{9b}31m"), "\u{fffd}31m");
        assert!(matches!(shown("perché"), std::borrow::Cow::Borrowed(_)));
    }

    proptest! {
        #[test]
        fn cleaning_is_idempotent(text in any::<String>()) {
            let once = pasted(&text);
            prop_assert_eq!(pasted(&once), once.clone());
            prop_assert!(is_storable(&once));
            let one_line = line(&text.replace('\n', " "));
            prop_assert_eq!(line(&one_line), one_line);
        }

        #[test]
        fn storable_text_is_storable(text in any::<String>()) {
            prop_assert!(is_storable(&storable(&text)));
        }

        #[test]
        fn nothing_shown_can_be_obeyed(text in any::<String>()) {
            prop_assert!(!shown(&text).chars().any(|c| (c.is_control() && c != '\n') || is_direction(c)));
        }

        #[test]
        fn letters_survive(text in "[a-zA-Zà-ÿ\\r\\n\\t \u{ad}\u{feff}\u{a0}]{0,40}") {
            let letters = |s: &str| s.chars().filter(|c| c.is_alphabetic()).collect::<String>();
            prop_assert_eq!(letters(&pasted(&text)), letters(&super::super::nfc(&text)));
            prop_assert_eq!(letters(&line(&text)), letters(&super::super::nfc(&text)));
        }
    }
}
