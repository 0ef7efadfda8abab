//! Senses: what a form can mean.

use crate::song::{Annotation, Cell, Offer, Tag, Word};
use std::cmp::Ordering;

/// One gloss with its tag, lemma and sound that a form can have. Only the gloss is always there.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Sense {
    /// Literal meaning.
    pub gloss: String,
    /// Part of speech and inflection.
    pub tag: Option<Tag>,
    /// Dictionary form; empty if not known.
    pub lemma: String,
    /// Sound in IPA; empty where it is what the program derives.
    pub sound: String,
}

impl Sense {
    /// Makes a sense of a gloss alone.
    pub fn new(gloss: impl Into<String>) -> Sense {
        Sense { gloss: gloss.into(), tag: None, lemma: String::new(), sound: String::new() }
    }

    /// Returns the sense that a word's settled cells make up; `None` unless its gloss is settled.
    pub fn of_settled(word: &Word) -> Option<Sense> {
        fn settled<T: Clone>(cell: &Cell<T>) -> Option<T> {
            if cell.is_settled() { cell.value().cloned() } else { None }
        }
        Some(Sense {
            gloss: settled(&word.gloss)?,
            tag: settled(&word.tag),
            lemma: settled(&word.lemma).unwrap_or_default(),
            sound: settled(&word.sound).unwrap_or_default(),
        })
    }

    /// Tells whether another sense says the same and perhaps more.
    pub(super) fn is_part_of(&self, fuller: &Sense) -> bool {
        self.gloss == fuller.gloss
            && (self.tag.is_none() || self.tag == fuller.tag)
            && (self.lemma.is_empty() || self.lemma == fuller.lemma)
            && (self.sound.is_empty() || self.sound == fuller.sound)
    }

    /// Returns what the sense offers to each row of a word.
    pub(crate) fn offer(&self) -> Offer {
        let text = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Annotation::ALL.map(|row| match row {
            Annotation::Sound => text(&self.sound),
            Annotation::Gloss => text(&self.gloss),
            Annotation::Tag => self.tag.as_ref().map(Tag::to_string),
            Annotation::Lemma => text(&self.lemma),
        })
    }

    fn sort_key(&self) -> (&str, String, &str, &str) {
        let tag = self.tag.as_ref().map(Tag::to_string).unwrap_or_default();
        (&self.gloss, tag, &self.lemma, &self.sound)
    }
}

impl Ord for Sense {
    fn cmp(&self, other: &Sense) -> Ordering {
        self.sort_key().cmp(&other.sort_key())
    }
}

impl PartialOrd for Sense {
    fn partial_cmp(&self, other: &Sense) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
