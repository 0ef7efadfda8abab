//! Tags: the part of speech of a word and its inflection.
//!
//! A tag is one of the 17 universal parts of speech with features in a fixed order, or whatever the singer typed instead.
//! The same value prints in three [`Style`]s, each of which [`Tag::parse`] reads back.
//!
//! ```
//! use undersong::song::{Style, Tag};
//! let tag = Tag::parse("VERB.3SG.PRS.IND");
//! assert_eq!(tag.print(Style::Plain), "verb 3rd sg. pres. ind.");
//! assert_eq!(tag.print(Style::Words), "verb, third person singular present indicative");
//! assert_eq!(Tag::parse("verb, third person singular present indicative"), tag);
//! assert_eq!(tag.to_ud().unwrap().features, "Mood=Ind|Number=Sing|Person=3|Tense=Pres");
//! ```
//!
//! Sources: Universal Dependencies, version 2, pages "Universal POS tags" and "Universal features" (Nivre et al., 2020);
//! Leipzig Glossing Rules (Comrie, Haspelmath and Bickel, 2015 revision), appendix of standard abbreviations.
//!
//! A tag does not know which features a language has or which belong together: `lexicon` and `language` do.

mod feature;
mod pos;
mod ud;

pub use feature::{Category, Feature};
pub use pos::Pos;
pub use ud::{Ud, UnknownUd};

use serde::{Deserialize, Serialize};
use std::fmt;

/// Part of speech and inflection of a word.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Tag {
    /// A tag in the project's vocabulary.
    Known(Known),
    /// Text that is no known tag, kept as it was typed.
    Free(String),
}

/// The parts of a known tag. At least one of the two is present.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Known {
    pos: Option<Pos>,
    /// In canonical order, each once.
    features: Vec<Feature>,
}

/// How a tag is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Style {
    /// Abbreviations joined by periods: `NOUN.F.SG`.
    #[default]
    Short,
    /// Abbreviated words: `noun fem. sg.`
    Plain,
    /// Whole words: `noun, feminine singular`.
    Words,
}

impl Tag {
    /// Makes a tag from its parts; the order and repetition of the features do not matter.
    ///
    /// Without any part the result is an empty free tag.
    pub fn new(pos: Option<Pos>, features: impl IntoIterator<Item = Feature>) -> Tag {
        let mut features: Vec<Feature> = features.into_iter().collect();
        features.sort_unstable();
        features.dedup();
        if pos.is_none() && features.is_empty() {
            Tag::Free(String::new())
        } else {
            Tag::Known(Known { pos, features })
        }
    }

    /// Reads a tag in any of the three styles, in capitals or not; what is no known tag becomes [`Tag::Free`].
    ///
    /// A part of speech stands first. Features without a part of speech are a known tag too (`DEF.PL`), unless they are
    /// single small letters, which are more likely a singer's own shorthand.
    pub fn parse(typed: &str) -> Tag {
        let typed = typed.trim();
        parse_known(typed).map_or_else(|| Tag::Free(typed.to_owned()), |(pos, features)| Tag::new(pos, features))
    }

    /// Lists ways to go on with a tag that is being typed, in the style in which its last part is typed; the likeliest first.
    ///
    /// The last part, after the last period, comma or space, is completed to the names that begin with it: parts of speech where it
    /// is the first, features elsewhere.
    pub fn completions(typed: &str) -> Vec<String> {
        let start = typed.rfind(['.', ',', ' ']).map_or(0, |at| at + 1);
        let (head, last) = typed.split_at(start);
        let is_capital = last.chars().next().is_none_or(char::is_uppercase);
        let names: Vec<[&str; 3]> = if head.trim().is_empty() {
            Pos::ALL.iter().map(|p| [p.upos(), p.plain(), p.words()]).collect()
        } else {
            let is_of_owner =
                |f: &Feature| matches!(f.category(), Category::PossessorNumber | Category::PossessorGender);
            Feature::all().filter(|f| !is_of_owner(f)).map(|f| [f.abbreviation(), f.plain(), f.words()]).collect()
        };
        let mut found: Vec<String> = Vec::new();
        for [short, plain, words] in names {
            let begins = |name: &str| name.to_lowercase().starts_with(&last.to_lowercase());
            let named = if begins(short) && (is_capital || !begins(words)) {
                Some(short)
            } else if begins(words) {
                Some(words)
            } else {
                begins(plain).then_some(plain)
            };
            let completed = named.map(|name| format!("{head}{name}"));
            found.extend(completed.filter(|c| c.trim_end() != typed.trim_end()));
        }
        found.dedup();
        found
    }

    /// Returns the part of speech, if the tag is known and has one.
    pub fn pos(&self) -> Option<Pos> {
        match self {
            Tag::Known(known) => known.pos,
            Tag::Free(_) => None,
        }
    }

    /// Returns the features in canonical order; a free tag has none.
    pub fn features(&self) -> &[Feature] {
        match self {
            Tag::Known(known) => &known.features,
            Tag::Free(_) => &[],
        }
    }

    /// Tells whether the tag is in the project's vocabulary.
    pub fn is_known(&self) -> bool {
        matches!(self, Tag::Known(_))
    }

    /// Returns the tag as text in the given style; free text is the same in every style.
    pub fn print(&self, style: Style) -> String {
        let known = match self {
            Tag::Free(text) => return text.clone(),
            Tag::Known(known) => known,
        };
        let pieces = known.pieces();
        let features = |name: fn(Feature) -> &'static str, within: &str, between: &str| {
            let pieces = pieces.iter().map(|piece| piece.iter().map(|f| name(*f)).collect::<Vec<_>>().join(within));
            pieces.collect::<Vec<_>>().join(between)
        };
        let (pos, features, between) = match style {
            Style::Short => (known.pos.map(Pos::upos), features(Feature::abbreviation, "", "."), "."),
            Style::Plain => (known.pos.map(Pos::plain), features(Feature::plain, " ", " "), " "),
            Style::Words => (known.pos.map(Pos::words), features(Feature::words, " ", " "), ", "),
        };
        match pos {
            Some(pos) if features.is_empty() => pos.to_owned(),
            Some(pos) => format!("{pos}{between}{features}"),
            None => features,
        }
    }
}

impl Known {
    /// The features in the order in which they print, person and number as one piece.
    ///
    /// With a person, its number follows it and gender comes after (`3SG.M`); without one, gender precedes number (`M.SG`). The person
    /// of a possessive takes the number of the possessor along (`POSS.1SG.F.PL`, "my" of several), never that of what is possessed.
    fn pieces(&self) -> Vec<Vec<Feature>> {
        let of = |category| self.features.iter().copied().filter(move |f| f.category() == category);
        let is_possessive = of(Category::Type).any(|f| f.abbreviation() == POSSESSIVE);
        let number_of_person = if is_possessive { Category::PossessorNumber } else { Category::Number };
        // Several persons or numbers cannot be told apart in one piece.
        let is_one_piece = of(Category::Person).count() == 1 && of(number_of_person).count() <= 1;
        let person = of(Category::Person).next().filter(|_| is_one_piece);
        let mut pieces: Vec<Vec<Feature>> = Vec::new();
        for &feature in &self.features {
            if person.is_some() && feature.category() == number_of_person {
                continue;
            }
            let mut piece = vec![feature];
            if person == Some(feature) {
                piece.extend(of(number_of_person).map(|f| f.as_number().unwrap_or(f)));
            }
            pieces.push(piece);
        }
        pieces
    }
}

const POSSESSIVE: &str = "POSS";

impl fmt::Display for Tag {
    /// Writes the short style.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.print(Style::Short))
    }
}

impl Serialize for Tag {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Tag {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Ok(Tag::parse(&String::deserialize(deserializer)?))
    }
}

fn parse_known(typed: &str) -> Option<(Option<Pos>, Vec<Feature>)> {
    let folded = typed.to_lowercase();
    let tokens: Vec<&str> = folded.split(['.', ',', ' ', ';']).filter(|t| !t.is_empty()).collect();
    let (pos, mut rest) = match Pos::match_start(&tokens) {
        Some((pos, used)) => (Some(pos), &tokens[used..]),
        None => (None, &tokens[..]),
    };
    let is_shorthand = |tokens: &[&str]| tokens.iter().all(|t| t.len() == 1) && typed.chars().any(char::is_lowercase);
    if pos.is_none() && (tokens.is_empty() || is_shorthand(&tokens)) {
        return None;
    }
    let mut features: Vec<Feature> = Vec::new();
    // Whether the next number is said of the person before it: `1SG` or "first person singular", but not `1.SG`.
    let mut is_of_person = false;
    let is_possessive = tokens.iter().any(|t| *t == "poss" || *t == "possessive");
    while !rest.is_empty() {
        let used = match Feature::match_start(rest) {
            Some((feature, used)) => {
                let possessor = feature.of_possessor().filter(|_| is_of_person && is_possessive);
                features.push(possessor.unwrap_or(feature));
                is_of_person = feature.category() == Category::Person && rest[0] != feature.abbreviation();
                used
            }
            None => {
                let (person, number) = rest[0].split_at_checked(1)?;
                features.push(Feature::match_start(&[person]).filter(|(f, _)| f.category() == Category::Person)?.0);
                let number = Feature::match_start(&[number]).filter(|(f, _)| f.category() == Category::Number)?.0;
                features.push(number.of_possessor().filter(|_| is_possessive).unwrap_or(number));
                is_of_person = false;
                1
            }
        };
        rest = &rest[used..];
    }
    Some((pos, features))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(short: &str, plain: &str, words: &str) {
        let tag = Tag::parse(short);
        assert!(tag.is_known(), "{short}");
        let printed = [Style::Short, Style::Plain, Style::Words].map(|style| tag.print(style));
        assert_eq!(printed, [short, plain, words]);
        for style in printed {
            assert_eq!(Tag::parse(&style), tag, "{style}");
        }
    }

    #[test]
    fn three_styles() {
        check("NOUN.F.SG", "noun fem. sg.", "noun, feminine singular");
        check("VERB.3SG.PRS.IND", "verb 3rd sg. pres. ind.", "verb, third person singular present indicative");
        check("VERB.F.SG.PST.PTCP", "verb fem. sg. past part.", "verb, feminine singular past participle");
        check("PRON.PERS.3SG.M.ACC", "pron. pers. 3rd sg. masc. acc.", {
            "pronoun, personal third person singular masculine accusative"
        });
        check("DET.POSS.1SG.F.PL", "det. poss. 1st sg. fem. pl.", {
            "determiner, possessive first person singular feminine plural"
        });
        check("ADP", "prep.", "preposition");
        check("SCONJ", "subord. conj.", "subordinating conjunction");
        check("PART.NEG", "particle neg.", "particle, negative");
        check("PRON.REFL.3", "pron. refl. 3rd", "pronoun, reflexive third person");
    }

    #[test]
    fn any_order_and_case_is_understood() {
        assert_eq!(Tag::parse("verb.ind.prs.3sg").to_string(), "VERB.3SG.PRS.IND");
        assert_eq!(Tag::parse("Noun, plural feminine").to_string(), "NOUN.F.PL");
        assert_eq!(Tag::parse("DEF.PL").to_string(), "DEF.PL");
    }

    #[test]
    fn a_tag_that_is_being_typed_is_completed() {
        let first = |typed: &str| Tag::completions(typed).into_iter().next().unwrap_or_default();
        assert_eq!(first("NO"), "NOUN");
        assert_eq!(first("no"), "noun");
        assert_eq!(first("NOUN.F"), "NOUN.FRAC");
        assert!(Tag::completions("NOUN.F.S").contains(&"NOUN.F.SG".to_owned()));
        assert!(Tag::completions("verb, third person sing").contains(&"verb, third person singular".to_owned()));
        assert!(Tag::completions("xyz").is_empty());
    }

    #[test]
    fn what_is_no_tag_stays_as_typed() {
        for typed in ["v. tr.?", "a noun", "n", "verb of motion", "NOUN.XYZ", "ß", "1ß"] {
            assert_eq!(Tag::parse(typed), Tag::Free(typed.to_owned()));
            assert_eq!(Tag::parse(typed).print(Style::Words), typed);
        }
    }

    #[test]
    fn every_name_is_read_back_as_itself() {
        for pos in Pos::ALL {
            for style in [Style::Short, Style::Plain, Style::Words] {
                let tag = Tag::new(Some(pos), []);
                assert_eq!(Tag::parse(&tag.print(style)), tag);
            }
        }
        for feature in Feature::all() {
            for style in [Style::Short, Style::Plain, Style::Words] {
                let tag = Tag::new(Some(Pos::Noun), [feature]);
                assert_eq!(Tag::parse(&tag.print(style)), tag, "{}", tag.print(style));
            }
        }
    }

    proptest! {
        #[test]
        fn any_tag_is_read_back(pos in proptest::sample::select(&Pos::ALL[..]), picks in proptest::collection::vec(0usize..200, 0..5)) {
            let all: Vec<Feature> = Feature::all().collect();
            let tag = Tag::new(Some(pos), picks.iter().map(|p| all[p % all.len()]));
            prop_assert_eq!(Tag::parse(&tag.print(Style::Short)), tag.clone());
            // In words a number behind the person of a possessive is the possessor's, whatever stands between them in the tag.
            prop_assume!(!tag.features().iter().any(|f| f.abbreviation() == POSSESSIVE));
            for style in [Style::Plain, Style::Words] {
                prop_assert_eq!(Tag::parse(&tag.print(style)), tag.clone());
            }
        }

        #[test]
        fn free_text_is_never_changed(typed in "\\PC{0,20}") {
            let tag = Tag::parse(&typed);
            if !tag.is_known() {
                prop_assert_eq!(tag.to_string(), typed.trim());
            }
            prop_assert_eq!(Tag::parse(&tag.to_string()), tag);
        }
    }
}
