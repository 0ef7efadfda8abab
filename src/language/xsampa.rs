//! X-SAMPA: IPA typed on a plain keyboard.
//!
//! Source of the table: J. C. Wells, "Computer-coding the IPA: a proposed extension of SAMPA", 1995; from memory.

/// Symbols of more than one character first, so that the longest is found.
#[rustfmt::skip]
const SYMBOLS: &[(&str, &str)] = &[
    ("_B_L", "\u{1dc5}"), ("_H_T", "\u{1dc4}"),
    ("_?\\", "\u{2e4}"), ("_\\", "\u{302}"),
    ("_\"", "\u{308}"), ("_+", "\u{31f}"), ("_-", "\u{320}"), ("_/", "\u{30c}"), ("_0", "\u{325}"), ("_<", "\u{2bc}"), ("_=", "\u{329}"),
    ("_>", "\u{2bc}"), ("_^", "\u{32f}"), ("_}", "\u{31a}"), ("_`", "\u{2de}"), ("_~", "\u{303}"), ("_A", "\u{318}"), ("_a", "\u{33a}"),
    ("_B", "\u{30f}"), ("_c", "\u{31c}"), ("_d", "\u{32a}"), ("_e", "\u{334}"), ("_F", "\u{302}"), ("_G", "\u{2e0}"), ("_H", "\u{301}"),
    ("_h", "\u{2b0}"), ("_j", "\u{2b2}"), ("_k", "\u{330}"), ("_L", "\u{300}"), ("_l", "\u{2e1}"), ("_M", "\u{304}"), ("_m", "\u{33b}"),
    ("_N", "\u{33c}"), ("_n", "\u{207f}"), ("_O", "\u{339}"), ("_o", "\u{31e}"), ("_q", "\u{319}"), ("_R", "\u{30c}"), ("_r", "\u{31d}"),
    ("_T", "\u{30b}"), ("_t", "\u{324}"), ("_v", "\u{32c}"), ("_w", "\u{2b7}"), ("_X", "\u{306}"), ("_x", "\u{33d}"),
    ("|\\|\\", "ǁ"), ("_", "\u{361}"),
    ("b_<", "ɓ"), ("d_<", "ɗ"), ("g_<", "ɠ"), ("J\\_<", "ʄ"), ("G\\_<", "ʛ"),
    ("b\\", "ⱱ"), ("B\\", "ʙ"), ("G\\", "ɢ"), ("h\\", "ɦ"), ("H\\", "ʜ"), ("I\\", "ᵻ"), ("j\\", "ʝ"), ("J\\", "ɟ"), ("K\\", "ɮ"), ("l\\", "ɺ"),
    ("L\\", "ʟ"), ("M\\", "ɰ"), ("N\\", "ɴ"), ("O\\", "ʘ"), ("p\\", "ɸ"), ("r\\`", "ɻ"), ("r\\", "ɹ"), ("R\\", "ʀ"), ("s\\", "ɕ"), ("U\\", "ᵿ"),
    ("v\\", "ʋ"), ("x\\", "ɧ"), ("X\\", "ħ"), ("z\\", "ʑ"), ("3\\", "ɞ"), ("?\\", "ʕ"), (">\\", "ʡ"), ("<\\", "ʢ"), ("!\\", "ǃ"), ("|\\", "ǀ"),
    ("=\\", "ǂ"), ("-\\", "‿"), (":\\", "ˑ"),
    ("d`", "ɖ"), ("l`", "ɭ"), ("n`", "ɳ"), ("r`", "ɽ"), ("s`", "ʂ"), ("t`", "ʈ"), ("z`", "ʐ"), ("@`", "ɚ"), ("@\\", "ɘ"),
    ("A", "ɑ"), ("B", "β"), ("C", "ç"), ("D", "ð"), ("E", "ɛ"), ("F", "ɱ"), ("G", "ɣ"), ("H", "ɥ"), ("I", "ɪ"), ("J", "ɲ"), ("K", "ɬ"),
    ("L", "ʎ"), ("M", "ɯ"), ("N", "ŋ"), ("O", "ɔ"), ("P", "ʋ"), ("Q", "ɒ"), ("R", "ʁ"), ("S", "ʃ"), ("T", "θ"), ("U", "ʊ"), ("V", "ʌ"),
    ("W", "ʍ"), ("X", "χ"), ("Y", "ʏ"), ("Z", "ʒ"),
    ("1", "ɨ"), ("2", "ø"), ("3", "ɜ"), ("4", "ɾ"), ("5", "ɫ"), ("6", "ɐ"), ("7", "ɤ"), ("8", "ɵ"), ("9", "œ"), ("&", "ɶ"),
    ("@", "ə"), ("{", "æ"), ("}", "ʉ"), ("?", "ʔ"), ("\"", "ˈ"), ("%", "ˌ"), (":", "ː"), ("=", "\u{329}"), ("~", "\u{303}"), ("`", "\u{2de}"),
    ("g", "ɡ"), ("'", "\u{2b2}"),
];

/// Turns a sound typed in X-SAMPA into IPA. What is IPA already, or no symbol of either, stays as it is.
///
/// ```
/// use undersong::language::ipa_from_xsampa;
/// assert_eq!(ipa_from_xsampa("\"nOt:e"), "ˈnɔtːe");
/// assert_eq!(ipa_from_xsampa("ˈnɔtːe"), "ˈnɔtːe");
/// ```
pub fn ipa_from_xsampa(typed: &str) -> String {
    let mut ipa = String::with_capacity(typed.len() * 2);
    let mut rest = typed;
    while let Some(c) = rest.chars().next() {
        let symbol =
            SYMBOLS.iter().filter(|(symbol, _)| rest.starts_with(symbol)).max_by_key(|(symbol, _)| symbol.len());
        match symbol {
            Some((symbol, sound)) => {
                ipa.push_str(sound);
                rest = &rest[symbol.len()..];
            }
            None => {
                ipa.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    crate::text::nfc(&ipa)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Transcriptions of the kind that Wells gives for each language (1995); the words are ours, from memory.
    #[test]
    fn words_of_several_languages() {
        for (typed, ipa) in [
            ("\"aNg@l", "ˈaŋɡəl"),
            ("\"fe:l@n", "ˈfeːlən"),
            ("b9R", "bœʁ"),
            ("bO~", "bɔ̃"),
            ("\"Je.L:o", "ˈɲe.ʎːo"),
            ("t_StSa", "t͡ʃtʃa"),
            ("l_jubof_j", "lʲubofʲ"),
            ("k_h{t", "kʰæt"),
            ("?6_^", "ʔɐ̯"),
            ("r\\E4a", "ɹɛɾa"),
        ] {
            assert_eq!(ipa_from_xsampa(typed), ipa, "{typed}");
        }
    }

    #[test]
    fn symbols_stand_once() {
        let mut seen = std::collections::HashSet::new();
        for (symbol, _) in SYMBOLS {
            assert!(seen.insert(symbol), "{symbol}");
        }
    }

    proptest! {
        #[test]
        fn ipa_without_ascii_stays(ipa in "[ˈˌːɔɛʃʒŋɲʎʁəœøθðɑ̃]{0,20}") {
            prop_assert_eq!(ipa_from_xsampa(&ipa), crate::text::nfc(&ipa));
        }
    }
}
