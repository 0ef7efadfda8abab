//! Repeats: words and lines that stand more than once in a song and are glossed alike.
//!
//! What the singer settled in one place speaks for the same text in every other place. Here are the edits that carry it
//! there, always as drafts, and the index of settled words that `lexicon::fill` asks first.

use super::{Annotation, Cell, Edit, Line, LineAt, LinePart, Song, Word, WordAt};
use crate::text::fold::comparison_key;
use std::collections::HashMap;

/// The annotations that one place offers to another: sound, gloss, tag, lemma in the order of [`Annotation::ALL`].
pub(crate) type Offer = [Option<String>; 4];

/// Returns the edit that drafts all words with the same form after the word at a place; `None` where there is nothing to do.
///
/// Only settled cells speak, blank and drafted cells listen.
pub fn follow_word(song: &Song, at: WordAt) -> Option<Edit> {
    let source = song.word(at)?;
    let (key, offer) = (comparison_key(&source.form), settled_offer(source));
    let alike = song.words().filter(|(other, w)| *other != at && comparison_key(&w.form) == key);
    all(alike.flat_map(|(other, word)| draft(other, word, &offer)).collect())
}

/// Returns the edit that drafts all lines with the same words after the line at a place, word by word, and gives them its
/// translation where they have none; `None` where there is nothing to do.
pub fn follow_line(song: &Song, at: LineAt) -> Option<Edit> {
    let source = song.line(at)?;
    let key = line_key(source);
    let mut edits = Vec::new();
    for (other, line) in song.lines().filter(|(other, line)| *other != at && line_key(line) == key) {
        for (idx, (from, to)) in source.words.iter().zip(&line.words).enumerate() {
            edits.extend(draft(other.word(idx), to, &settled_offer(from)));
        }
        edits.extend(follow_translation(other, line, &source.translation));
    }
    all(edits)
}

/// What the settled words of a song say about other words of the same song.
pub(crate) struct Witnesses<'a> {
    by_form: HashMap<&'a str, Vec<(&'a Word, usize)>>,
    by_key: HashMap<String, Vec<(&'a Word, usize)>>,
    by_line: HashMap<String, Vec<&'a Line>>,
}

/// The witnesses for the words of one line.
pub(crate) struct LineWitnesses<'a> {
    all: &'a Witnesses<'a>,
    twins: &'a [&'a Line],
}

impl<'a> Witnesses<'a> {
    /// Gathers the settled words of a song.
    pub(crate) fn of(song: &'a Song) -> Witnesses<'a> {
        let mut witnesses = Witnesses { by_form: HashMap::new(), by_key: HashMap::new(), by_line: HashMap::new() };
        for (_, word) in song.words().filter(|(_, w)| w.gloss.is_settled()) {
            count(witnesses.by_form.entry(&word.form).or_default(), word);
            count(witnesses.by_key.entry(comparison_key(&word.form)).or_default(), word);
        }
        for (_, line) in song.lines().filter(|(_, l)| !l.words.is_empty()) {
            witnesses.by_line.entry(line_key(line)).or_default().push(line);
        }
        // The most used sense first; a stable sort keeps the first to be sung before the others.
        for senses in witnesses.by_form.values_mut().chain(witnesses.by_key.values_mut()) {
            senses.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
        }
        witnesses
    }

    /// Returns the witnesses for a line of the song.
    pub(crate) fn for_line(&'a self, line: &Line) -> LineWitnesses<'a> {
        LineWitnesses { all: self, twins: self.by_line.get(&line_key(line)).map_or(&[], Vec::as_slice) }
    }
}

impl<'a> LineWitnesses<'a> {
    /// Returns what settled words offer for a word of the line, the most telling first: the same place of an identical line, then
    /// the same written form, then the same form but for case.
    pub(crate) fn offers(&self, word: &Word, idx: usize) -> impl Iterator<Item = Offer> + 'a {
        let from_twins = self.twins.iter().map(move |twin| &twin.words[idx]).filter(|w| w.gloss.is_settled());
        let exact = self.all.by_form.get(word.form.as_str()).into_iter().flatten().map(|(w, _)| *w);
        let folded = self.all.by_key.get(&comparison_key(&word.form)).into_iter().flatten().map(|(w, _)| *w);
        from_twins.chain(exact).chain(folded).map(settled_offer)
    }

    /// Returns the first translation that an identical line has.
    pub(crate) fn translation(&self) -> Option<&'a str> {
        self.twins.iter().map(|twin| twin.translation.as_str()).find(|text| !text.is_empty())
    }
}

/// Returns the edits that draft the blank and drafted cells of a word after an offer; settled cells stay.
pub(crate) fn draft<'a>(at: WordAt, word: &'a Word, offer: &'a Offer) -> impl Iterator<Item = Edit> + 'a {
    Annotation::ALL.into_iter().zip(offer).filter_map(move |(row, text)| {
        let text = text.as_ref()?;
        let takes_it = match word.annotation(row) {
            Cell::Blank => true,
            Cell::Draft(old) => old != *text,
            Cell::Settled(_) => false,
        };
        takes_it.then(|| Edit::SetCell { at, row, cell: Cell::Draft(text.clone()) })
    })
}

/// Returns the edit that gives a line the translation of an identical line, where it has none of its own.
pub(crate) fn follow_translation(at: LineAt, line: &Line, text: &str) -> Option<Edit> {
    (line.translation.is_empty() && !text.is_empty()).then(|| Edit::SetLineText {
        at,
        part: LinePart::Translation,
        text: text.to_owned(),
    })
}

fn settled_offer(word: &Word) -> Offer {
    Annotation::ALL.map(|row| match word.annotation(row) {
        Cell::Settled(text) => Some(text),
        _ => None,
    })
}

fn count<'a>(senses: &mut Vec<(&'a Word, usize)>, word: &'a Word) {
    match senses.iter_mut().find(|(known, _)| settled_offer(known) == settled_offer(word)) {
        Some((_, n)) => *n += 1,
        None => senses.push((word, 1)),
    }
}

/// Lines with the same key have the same number of words, which differ at most in case.
fn line_key(line: &Line) -> String {
    line.words.iter().map(|w| comparison_key(&w.form)).collect::<Vec<_>>().join("\n")
}

fn all(edits: Vec<Edit>) -> Option<Edit> {
    (!edits.is_empty()).then_some(Edit::All(edits))
}

#[cfg(test)]
mod tests {
    use super::super::{apply, fixture::song_of_lines as song};
    use super::*;

    fn at(line: usize, word: usize) -> WordAt {
        WordAt { section: 0, line, word }
    }

    #[test]
    fn the_same_word_follows_as_a_draft() {
        let mut song = song(&["O notte", "Notte o sol"]);
        apply(&mut song, &Edit::settle(at(0, 1), Annotation::Gloss, "night")).unwrap();
        let edit = follow_word(&song, at(0, 1)).unwrap();
        apply(&mut song, &edit).unwrap();
        assert_eq!(song.word(at(1, 0)).unwrap().gloss, Cell::Draft("night".into()));
        assert!(follow_word(&song, at(0, 1)).is_none(), "a second time there is nothing to do");
    }

    #[test]
    fn settled_cells_are_never_touched() {
        let mut song = song(&["la", "la"]);
        apply(&mut song, &Edit::settle(at(0, 0), Annotation::Gloss, "the")).unwrap();
        apply(&mut song, &Edit::settle(at(1, 0), Annotation::Gloss, "her")).unwrap();
        assert!(follow_word(&song, at(0, 0)).is_none());
    }

    #[test]
    fn the_same_line_follows_word_by_word() {
        let mut song = song(&["la vedo la", "la vedo la"]);
        for (word, gloss) in [(0, "her"), (1, "I-see"), (2, "the")] {
            apply(&mut song, &Edit::settle(at(0, word), Annotation::Gloss, gloss)).unwrap();
        }
        let part = LinePart::Translation;
        apply(&mut song, &Edit::SetLineText { at: LineAt::default(), part, text: "I see her".into() }).unwrap();
        let edit = follow_line(&song, LineAt::default()).unwrap();
        apply(&mut song, &edit).unwrap();
        let line = song.line(LineAt { section: 0, line: 1 }).unwrap();
        let glosses: Vec<_> = line.words.iter().map(|w| w.gloss.text()).collect();
        assert_eq!(glosses, ["her", "I-see", "the"]);
        assert_eq!(line.translation, "I see her");
    }
}
