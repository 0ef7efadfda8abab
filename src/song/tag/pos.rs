//! The 17 universal parts of speech and their names.

use super::feature::Names;
use std::sync::OnceLock;

/// A part of speech of Universal Dependencies, version 2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the names say it; `words` spells them out")]
pub enum Pos {
    Adj,
    Adp,
    Adv,
    Aux,
    Cconj,
    Det,
    Intj,
    Noun,
    Num,
    Part,
    Pron,
    Propn,
    Punct,
    Sconj,
    Sym,
    Verb,
    X,
}

impl Pos {
    /// All parts of speech in alphabetical order.
    pub const ALL: [Pos; 17] = [
        Pos::Adj,
        Pos::Adp,
        Pos::Adv,
        Pos::Aux,
        Pos::Cconj,
        Pos::Det,
        Pos::Intj,
        Pos::Noun,
        Pos::Num,
        Pos::Part,
        Pos::Pron,
        Pos::Propn,
        Pos::Punct,
        Pos::Sconj,
        Pos::Sym,
        Pos::Verb,
        Pos::X,
    ];

    /// Returns the tag as Universal Dependencies writes it.
    pub fn upos(self) -> &'static str {
        self.names().0
    }

    /// Returns the abbreviated name as grammars print it.
    pub fn plain(self) -> &'static str {
        self.names().1
    }

    /// Returns the whole name.
    pub fn words(self) -> &'static str {
        self.names().2
    }

    /// Reads the tag as Universal Dependencies writes it, in capitals.
    pub fn from_upos(upos: &str) -> Option<Pos> {
        Pos::ALL.into_iter().find(|pos| pos.upos() == upos)
    }

    /// Finds the longest name with which the small-letter tokens start; returns how many tokens it takes.
    pub(super) fn match_start(tokens: &[&str]) -> Option<(Pos, usize)> {
        static NAMES: OnceLock<Names<Pos>> = OnceLock::new();
        let names = |pos: Pos| [pos.upos(), pos.plain(), pos.words()];
        NAMES.get_or_init(|| Names::of(Pos::ALL.into_iter().map(|pos| (pos, names(pos))))).longest_start(tokens)
    }

    /// The adposition is called preposition, the only kind that the singer's languages have (but for German *wegen* and the like
    /// when they follow their noun).
    fn names(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Pos::Adj => ("ADJ", "adj.", "adjective"),
            Pos::Adp => ("ADP", "prep.", "preposition"),
            Pos::Adv => ("ADV", "adv.", "adverb"),
            Pos::Aux => ("AUX", "aux.", "auxiliary"),
            Pos::Cconj => ("CCONJ", "conj.", "coordinating conjunction"),
            Pos::Det => ("DET", "det.", "determiner"),
            Pos::Intj => ("INTJ", "interj.", "interjection"),
            Pos::Noun => ("NOUN", "noun", "noun"),
            Pos::Num => ("NUM", "num.", "numeral"),
            Pos::Part => ("PART", "particle", "particle"),
            Pos::Pron => ("PRON", "pron.", "pronoun"),
            Pos::Propn => ("PROPN", "name", "proper noun"),
            Pos::Punct => ("PUNCT", "punct.", "punctuation"),
            Pos::Sconj => ("SCONJ", "subord. conj.", "subordinating conjunction"),
            Pos::Sym => ("SYM", "symb.", "symbol"),
            Pos::Verb => ("VERB", "verb", "verb"),
            Pos::X => ("X", "other", "other"),
        }
    }
}
