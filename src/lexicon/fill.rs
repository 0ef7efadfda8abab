//! Filling: the drafts that song and lexicon have for blank cells.

use super::{Lexicon, Likeness};
use crate::song::{Annotation, Cell, Edit, Offer, Song, Witnesses, Word, draft, follow_translation};
use std::collections::HashMap;

/// The edit that fills a song, and what it does.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filled {
    /// The drafts as one edit; `None` where nothing is to be filled.
    pub edit: Option<Edit>,
    /// Cells that are drafted.
    pub n_cells: usize,
    /// Lines that take over the translation of an identical line.
    pub n_translations: usize,
    /// Words that still have no gloss, as they are written, each once, in order of appearance.
    pub unknown: Vec<String>,
}

/// Makes the edit that drafts every cell for which a sense is known.
///
/// For each word the first sense that agrees with its settled cells is taken: from the same place of an identical line, from the
/// same form elsewhere in the song, from the lexicon (there the sense used most). What that sense leaves open, the next that agrees
/// with it fills. Settled cells are never touched; an earlier draft gives way only to what the song itself has settled since.
pub fn fill(song: &Song, lexicon: &Lexicon) -> Filled {
    let witnesses = Witnesses::of(song);
    let mut filled = Filled::default();
    let mut edits = Vec::new();
    // What the lexicon offers for each form: a song says most words more than once.
    let mut known: HashMap<&str, Vec<Offer>> = HashMap::new();
    for (at, line) in song.lines() {
        let of_line = witnesses.for_line(line);
        for (idx, word) in line.words.iter().enumerate().filter(|(_, w)| w.is_glossable()) {
            if Annotation::ALL.into_iter().all(|row| word.annotation(row).is_settled()) {
                continue;
            }
            let senses = known.entry(word.form.as_str()).or_insert_with(|| offers(lexicon, &word.form));
            let chosen = choose(word, of_line.offers(word, idx), senses);
            let cells = edits.len();
            edits.extend(draft(at.word(idx), word, &chosen));
            filled.n_cells += edits.len() - cells;
            let has_gloss = !word.gloss.is_blank() || chosen[GLOSS].is_some();
            if !has_gloss && !filled.unknown.contains(&word.form) {
                filled.unknown.push(word.form.clone());
            }
        }
        if let Some(edit) = of_line.translation().and_then(|text| follow_translation(at, line, text)) {
            edits.push(edit);
            filled.n_translations += 1;
        }
    }
    filled.edit = (!edits.is_empty()).then_some(Edit::All(edits));
    filled
}

/// What the lexicon offers for a form, the likeliest first.
///
/// A form that is not known itself may be a longer word that was spelt without its accents, or with those of another time (*perche*,
/// *virtú*); short words are told apart by nothing else (*si* and *sì*, *la* and *là*), so that a guess there would mislead.
fn offers(lexicon: &Lexicon, form: &str) -> Vec<Offer> {
    const SHORT: usize = 3;
    let is_short = form.chars().filter(|c| c.is_alphabetic()).count() <= SHORT;
    let candidates = lexicon.look_up(form).into_iter();
    candidates.filter(|c| c.likeness < Likeness::Found || !is_short).map(|c| c.sense.offer()).collect()
}

/// The place of the gloss in an [`Offer`].
const GLOSS: usize = 1;

/// Chooses the text of each row that is not settled.
fn choose(word: &Word, witnesses: impl Iterator<Item = Offer>, senses: &[Offer]) -> Offer {
    let settled = Annotation::ALL.map(|row| match word.annotation(row) {
        Cell::Settled(text) => Some(text),
        _ => None,
    });
    let mut chosen: Offer = [const { None }; 4];
    let mut is_from_song = false;
    for offer in witnesses {
        if agrees(&offer, &settled) && agrees(&offer, &chosen) {
            complete(&mut chosen, &offer);
            is_from_song = true;
        }
    }
    if !is_from_song {
        chosen = Annotation::ALL.map(|row| match word.annotation(row) {
            Cell::Draft(text) => Some(text),
            _ => None,
        });
    }
    for offer in senses {
        if agrees(offer, &settled) && agrees(offer, &chosen) {
            complete(&mut chosen, offer);
        }
    }
    chosen
}

/// Tells whether an offer contradicts no row that has a text already.
fn agrees(offer: &Offer, texts: &Offer) -> bool {
    offer.iter().zip(texts).all(|(offered, text)| match (offered, text) {
        (Some(offered), Some(text)) => offered == text,
        _ => true,
    })
}

fn complete(chosen: &mut Offer, offer: &Offer) {
    for (text, offered) in chosen.iter_mut().zip(offer) {
        if text.is_none() {
            text.clone_from(offered);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sense;
    use super::*;
    use crate::song::{LineAt, Tag, WordAt, apply, fixture::song_of_lines as song};

    fn settle(song: &mut Song, line: usize, word: usize, gloss: &str) {
        apply(song, &Edit::settle(WordAt { section: 0, line, word }, Annotation::Gloss, gloss)).unwrap();
    }

    /// The glosses of a line after filling; drafts with a tilde.
    fn filled(song: &Song, lexicon: &Lexicon, line: usize) -> String {
        let mut song = song.clone();
        if let Some(edit) = fill(&song, lexicon).edit {
            apply(&mut song, &edit).unwrap();
        }
        assert_eq!(fill(&song, lexicon).edit, None, "filling twice changes nothing");
        let show = |w: &Word| match &w.gloss {
            Cell::Blank => "-".to_owned(),
            Cell::Draft(gloss) => format!("~{gloss}"),
            Cell::Settled(gloss) => gloss.clone(),
        };
        song.line(LineAt { section: 0, line }).unwrap().words.iter().map(show).collect::<Vec<_>>().join(" ")
    }

    fn sense(gloss: &str, tag: &str) -> Sense {
        Sense { tag: Some(Tag::parse(tag)), ..Sense::new(gloss) }
    }

    #[test]
    fn the_song_speaks_before_the_lexicon() {
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("sol", Sense::new("sun"));
        let mut song = song(&["sol", "o sol"]);
        assert_eq!(filled(&song, &lexicon, 1), "- ~sun");
        settle(&mut song, 0, 0, "only");
        assert_eq!(filled(&song, &lexicon, 1), "- ~only");
    }

    #[test]
    fn an_identical_line_speaks_before_other_lines() {
        let mut song = song(&["la la", "la vedo", "La vedo"]);
        for (line, word, gloss) in [(0, 0, "the"), (0, 1, "the"), (1, 0, "her"), (1, 1, "I-see")] {
            settle(&mut song, line, word, gloss);
        }
        assert_eq!(filled(&song, &Lexicon::default(), 2), "~her ~I-see");
    }

    #[test]
    fn settled_cells_choose_the_sense() {
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("sol", sense("sun", "NOUN.M.SG"));
        lexicon.add("sol", sense("only", "ADV"));
        let mut song = song(&["sol", "sol"]);
        settle(&mut song, 0, 0, "only");
        settle(&mut song, 1, 0, "soil");
        let edit = fill(&song, &lexicon).edit.unwrap();
        apply(&mut song, &edit).unwrap();
        let tag = |line| song.word(WordAt { section: 0, line, word: 0 }).unwrap().tag.value().map(Tag::to_string);
        assert_eq!(tag(0).as_deref(), Some("ADV"));
        assert_eq!(tag(1), None, "a sense that contradicts the singer says nothing about the tag");
    }

    #[test]
    fn a_draft_stays_when_the_lexicon_changes_but_follows_the_song() {
        let mut song = song(&["sol", "sol"]);
        let at = WordAt { section: 0, line: 0, word: 0 };
        let cell = Cell::Draft("soil".into());
        apply(&mut song, &Edit::SetCell { at, row: Annotation::Gloss, cell }).unwrap();
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("sol", Sense::new("sun"));
        assert_eq!(filled(&song, &lexicon, 0), "~soil");
        settle(&mut song, 1, 0, "only");
        assert_eq!(filled(&song, &lexicon, 0), "~only");
    }

    #[test]
    fn accents_that_were_left_out_are_supplied_but_short_words_are_not_guessed() {
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("perché", Sense::new("because"));
        lexicon.add("si", Sense::new("itself"));
        assert_eq!(filled(&song(&["perche sì"]), &lexicon, 0), "~because -");
    }

    #[test]
    fn what_is_not_known_is_listed_once() {
        let song = song(&["o notte o notte", "…"]);
        assert_eq!(fill(&song, &Lexicon::default()).unknown, ["o", "notte"]);
    }
}
