//! Folding: which written forms count as the same, and which are found by one another.
//!
//! Two steps, each idempotent. The *comparison key* ignores what never tells two words apart for a reader: letter case and
//! the shape of apostrophes and hyphens. The *finding key* also ignores accents and ligatures, for a singer who types
//! `perche` or `coeur` on a plain keyboard.

use icu_casemap::{CaseMapper, CaseMapperBorrowed};
use unicode_normalization::UnicodeNormalization;
use unicode_properties::{GeneralCategory, UnicodeGeneralCategory};

const CASES: CaseMapperBorrowed<'static> = CaseMapper::new();

/// Returns the key under which a form is compared: NFC, simple case folding, one apostrophe, one hyphen, no soft hyphen.
///
/// Simple folding (Unicode Standard, section 5.18, `CaseFolding.txt` status C and S) keeps `ß`, because `Maße` and `Masse`
/// are two words.
pub fn comparison_key(form: &str) -> String {
    if form.is_ascii() {
        return form.bytes().map(|b| if b == b'`' { '\'' } else { b.to_ascii_lowercase().into() }).collect();
    }
    form.nfc().filter_map(fold_char).nfc().collect()
}

/// Returns the key under which a form is found: the comparison key without accents and with ligatures spelt out.
///
/// The breve of Cyrillic й stays, since й and и are two letters to a reader of Russian, while ё is commonly printed е.
///
/// ```
/// use undersong::text::fold::finding_key;
/// assert_eq!(finding_key("Cœur"), "coeur");
/// assert_eq!(finding_key("más"), "mas");
/// assert_eq!(finding_key("Мой"), "мой");
/// ```
pub fn finding_key(form: &str) -> String {
    let mut key = String::with_capacity(form.len());
    let mut base = '\0';
    for c in form.nfd().filter_map(fold_char) {
        if c.general_category() == GeneralCategory::NonspacingMark {
            if c == '\u{306}' && base == 'и' {
                key.push(c);
            }
            continue;
        }
        base = c;
        match spelt_out(c) {
            Some(letters) => key.push_str(letters),
            None => key.push(c),
        }
    }
    key.nfc().collect()
}

fn fold_char(c: char) -> Option<char> {
    match c {
        '\u{ad}' => None,
        c if super::is_apostrophe(c) => Some('\''),
        c if super::is_hyphen(c) => Some('-'),
        c => Some(CASES.simple_fold(c)),
    }
}

/// Letters that have no canonical decomposition but are typed as others on a keyboard that lacks them.
fn spelt_out(c: char) -> Option<&'static str> {
    Some(match c {
        'œ' => "oe",
        'æ' => "ae",
        'ß' => "ss",
        'ø' => "o",
        'ł' => "l",
        'đ' | 'ð' => "d",
        'þ' => "th",
        'ĳ' => "ij",
        'ı' => "i",
        'ª' => "a",
        'º' => "o",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn apostrophes_and_case_do_not_tell_words_apart() {
        for form in ["L'amor", "l’amor", "l‘AMOR", "lʼamor", "l´amor", "l`amor"] {
            assert_eq!(comparison_key(form), "l'amor", "{form}");
        }
    }

    #[test]
    fn comparison_keeps_accents_and_sharp_s() {
        assert_ne!(comparison_key("è"), comparison_key("e"));
        assert_ne!(comparison_key("Maße"), comparison_key("Masse"));
        assert_eq!(finding_key("Maße"), finding_key("Masse"));
    }

    #[test]
    fn long_s_and_final_sigma_fold() {
        assert_eq!(comparison_key("Lieſe"), "liese");
        assert_eq!(comparison_key("λόγος"), comparison_key("ΛΌΓΟΣ"));
    }

    #[test]
    fn short_i_is_a_letter_and_yo_is_found_as_ye() {
        assert_ne!(finding_key("мои"), finding_key("мой"));
        assert_eq!(finding_key("моё"), finding_key("МОЕ"));
        assert_eq!(finding_key("любо\u{301}вь"), "любовь");
    }

    proptest! {
        #[test]
        fn keys_are_idempotent(text in "\\PC{0,30}") {
            let compared = comparison_key(&text);
            prop_assert_eq!(comparison_key(&compared), compared.clone());
            let found = finding_key(&text);
            prop_assert_eq!(finding_key(&found), found);
        }

        #[test]
        fn same_for_comparison_means_found_by_one_another(text in "\\PC{0,20}") {
            prop_assert_eq!(finding_key(&comparison_key(&text)), finding_key(&text));
        }
    }
}
