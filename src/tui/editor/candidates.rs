//! What a word may mean: the senses that the song itself and the lexicon have for its form.

use crate::lexicon::{Lexicon, Sense};
use crate::song::{Song, Word, WordAt};
use crate::text::fold::comparison_key;
use std::collections::HashMap;

/// A sense that is offered for a word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The sense.
    pub sense: Sense,
    /// Where it comes from.
    pub source: Source,
    /// How often it is used there.
    pub n_uses: u32,
    /// The keys of the songs that use it.
    pub songs: Vec<String>,
}

/// Where a candidate comes from; the first speak before the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Source {
    Song,
    Lexicon,
}

/// The places of each form in a song.
#[derive(Clone, Debug, Default)]
pub(super) struct FormIndex(HashMap<String, Vec<WordAt>>);

impl FormIndex {
    pub(super) fn of(song: &Song) -> FormIndex {
        let mut places: HashMap<String, Vec<WordAt>> = HashMap::new();
        for (at, word) in song.words() {
            places.entry(comparison_key(&word.form)).or_default().push(at);
        }
        FormIndex(places)
    }

    /// Returns the places at which the form of a word stands.
    pub(super) fn places(&self, word: &Word) -> &[WordAt] {
        self.0.get(&comparison_key(&word.form)).map_or(&[], Vec::as_slice)
    }
}

/// Lists the candidates for a word: those of the song by their number, then those of the lexicon in its order.
///
/// A word is no candidate for itself.
pub(super) fn of(song: &Song, index: &FormIndex, (at, word): (WordAt, &Word), lexicon: &Lexicon) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    let others = index.places(word).iter().filter(|other| **other != at);
    for sense in others.filter_map(|other| Sense::of_settled(song.word(*other)?)) {
        match found.iter_mut().find(|c| c.sense == sense) {
            Some(known) => known.n_uses += 1,
            None => found.push(Candidate { sense, source: Source::Song, n_uses: 1, songs: Vec::new() }),
        }
    }
    found.sort_by_key(|c| std::cmp::Reverse(c.n_uses));
    for candidate in lexicon.look_up(&word.form) {
        if !found.iter().any(|c| c.sense == *candidate.sense) {
            found.push(Candidate {
                sense: candidate.sense.clone(),
                source: Source::Lexicon,
                n_uses: candidate.recorded.n_uses(),
                songs: candidate.recorded.songs.keys().cloned().collect(),
            });
        }
    }
    found
}
