//! Learning: what a song contributes to the lexicon.

use super::{Lexicon, Sense};
use crate::language::by_tag_or_plain;
use crate::song::{Pos, Song, Tag, Word};
use std::collections::BTreeMap;

/// What learning from a song changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Learned {
    /// Senses that the song has settled, each once.
    pub n_senses: usize,
    /// How many senses more the lexicon has than before; negative where corrections in the song took senses out.
    pub growth: isize,
    /// Whether anything in the lexicon changed.
    pub is_changed: bool,
}

/// Takes the settled words of a song into the lexicon.
///
/// What the song contributed before is withdrawn first, so that learning twice is the same as learning once, and a sense that the
/// singer has since corrected in the only song that had it is gone.
pub fn learn(lexicon: &mut Lexicon, song: &Song) -> Learned {
    let key = song.key();
    let contribution = contribution(song);
    let before = contributed(lexicon, &key);
    let is_changed = before != contribution;
    let n_before = lexicon.n_senses();
    if is_changed {
        lexicon.withdraw(&key);
        for ((form, sense), n_uses) in &contribution {
            lexicon.record(form, sense.clone()).songs.insert(key.clone(), *n_uses);
        }
    }
    let growth = lexicon.n_senses() as isize - n_before as isize;
    Learned { n_senses: contribution.len(), growth, is_changed }
}

type Contribution = BTreeMap<(String, Sense), u32>;

/// The senses that a song has settled, with the number of times.
///
/// A word that is settled less fully than the same word elsewhere in the song, without its sound for example, counts there.
fn contribution(song: &Song) -> Contribution {
    let mut senses = settled_senses(song);
    let partial: Vec<(String, Sense)> = senses.keys().cloned().collect();
    for key in partial {
        let fuller = senses.keys().find(|(form, sense)| *form == key.0 && *sense != key.1 && key.1.is_part_of(sense));
        if let Some(fuller) = fuller.cloned() {
            let n_uses = senses.remove(&key).unwrap_or_default();
            *senses.entry(fuller).or_insert(0) += n_uses;
        }
    }
    senses
}

fn settled_senses(song: &Song) -> Contribution {
    let mut senses = Contribution::new();
    let capitalises_nouns = by_tag_or_plain(&song.details.language).capitalises_nouns();
    for (at, word) in song.words() {
        if let Some(sense) = Sense::of_settled(word) {
            let form = learnt_form(word, at.word == 0, capitalises_nouns);
            *senses.entry((super::user::stored_form(&form), sense)).or_insert(0) += 1;
        }
    }
    senses
}

/// What the lexicon has from a song.
fn contributed(lexicon: &Lexicon, key: &str) -> Contribution {
    let all = lexicon.entries().flat_map(|(form, entry)| entry.senses.iter().map(move |r| (form, r)));
    all.filter_map(|(form, r)| Some(((form.to_owned(), r.sense.clone()), *r.songs.get(key)?))).collect()
}

/// The form without the capital that it has only because a line begins with it.
fn learnt_form(word: &Word, is_first: bool, capitalises_nouns: bool) -> String {
    let keeps_capital = match word.tag.value().and_then(Tag::pos) {
        Some(Pos::Propn) => true,
        Some(Pos::Noun) | None => capitalises_nouns,
        Some(_) => false,
    };
    let mut chars = word.form.chars();
    match chars.next() {
        Some(first) if is_first && !keeps_capital => first.to_lowercase().chain(chars).collect(),
        _ => word.form.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::song::{Annotation, Edit, Line, Section, WordAt, apply};

    fn song(id: &str, language: &str, words: &[(&str, &str, &str)]) -> Song {
        let line = Line { words: words.iter().map(|(form, ..)| Word::new(*form)).collect(), ..Line::default() };
        let section = Section { lines: vec![line], ..Section::default() };
        let mut song = Song { id: id.into(), sections: vec![section], ..Song::default() };
        song.details.language = language.into();
        for (word, (_, gloss, tag)) in words.iter().enumerate() {
            let at = WordAt { word, ..WordAt::default() };
            for (row, text) in [(Annotation::Gloss, gloss), (Annotation::Tag, tag)] {
                if !text.is_empty() {
                    apply(&mut song, &Edit::settle(at, row, *text)).unwrap();
                }
            }
        }
        song
    }

    #[test]
    fn learning_twice_is_learning_once() {
        let song = song("a", "it", &[("O", "o", "INTJ"), ("notte", "night", "NOUN"), ("notte", "night", "NOUN")]);
        let mut once = Lexicon::new("it", "en");
        assert_eq!(learn(&mut once, &song), Learned { n_senses: 2, growth: 2, is_changed: true });
        let mut twice = once.clone();
        assert_eq!(learn(&mut twice, &song), Learned { n_senses: 2, growth: 0, is_changed: false });
        assert_eq!(once, twice);
        assert_eq!(once.look_up("notte")[0].recorded.n_uses(), 2);
    }

    #[test]
    fn a_corrected_sense_goes_unless_another_song_has_it() {
        let mut lexicon = Lexicon::new("it", "en");
        learn(&mut lexicon, &song("a", "it", &[("sol", "sun", "")]));
        learn(&mut lexicon, &song("b", "it", &[("sol", "sun", "")]));
        learn(&mut lexicon, &song("a", "it", &[("sol", "only", "")]));
        assert_eq!(lexicon.n_senses(), 2);
        learn(&mut lexicon, &song("b", "it", &[("sol", "only", "")]));
        assert_eq!(lexicon.n_senses(), 1);
    }

    #[test]
    fn a_word_settled_less_fully_counts_with_the_fuller_sense() {
        let mut lexicon = Lexicon::new("it", "en");
        learn(&mut lexicon, &song("a", "it", &[("o", "o", ""), ("sol", "sun", "NOUN"), ("sol", "sun", "")]));
        let candidates = lexicon.look_up("sol");
        assert_eq!(candidates.len(), 1);
        assert_eq!((candidates[0].recorded.n_uses(), candidates[0].sense.tag.is_some()), (2, true));
    }

    #[test]
    fn the_capital_of_a_line_is_not_learnt() {
        let mut lexicon = Lexicon::new("de", "en");
        learn(&mut lexicon, &song("a", "de", &[("Nun", "now", "ADV"), ("Welle", "wave", "NOUN")]));
        learn(&mut lexicon, &song("b", "de", &[("Welle", "wave", "NOUN")]));
        let forms: Vec<&str> = lexicon.entries().map(|(form, _)| form).collect();
        assert_eq!(forms, ["Welle", "nun"]);
    }
}
