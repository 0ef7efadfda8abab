//! Changing the text of a line without losing the work on the words that stay.
//!
//! Old and new words are aligned like the lines of two versions of a file, so that words that stay, or that were merely
//! respelt, keep what stands under them; a word that moved takes its annotations along.

use super::{Edit, LineAt, Song, Word};
use crate::text::{self, cluster::clusters, fold};

/// Returns the edit that gives a line new words and keeps the annotations of the words that stay; `None` if there is no such
/// line or nothing changes.
///
/// A word that is spelt otherwise but recognisable keeps its annotations as drafts.
pub fn change_text(song: &Song, at: LineAt, new: &[Word]) -> Option<Edit> {
    let old = &song.line(at)?.words;
    let words = keep_annotations(old, new);
    (*old != words).then(|| Edit::ReplaceWords { at: at.word(0), remove: old.len(), words })
}

/// Returns the new words with the annotations that the old words had.
pub fn keep_annotations(old: &[Word], new: &[Word]) -> Vec<Word> {
    let mut words = new.to_vec();
    let mut is_taken = vec![false; old.len()];
    let mut is_given = vec![false; new.len()];
    for (o, n, likeness) in align(old, new) {
        give(&old[o], &mut words[n], likeness);
        (is_taken[o], is_given[n]) = (true, true);
    }
    // Words that changed their order.
    for n in 0..new.len() {
        let moved = (0..old.len()).find(|o| !is_taken[*o] && !is_given[n] && likeness(&old[*o], &new[n]) == SAME);
        if let Some(o) = moved {
            give(&old[o], &mut words[n], SAME);
            (is_taken[o], is_given[n]) = (true, true);
        }
    }
    words
}

/// Each likeness weighs more than all lesser ones of a line together, so that no word that stays is given up for two that resemble
/// others.
const SAME: u64 = 1_000_000_000_000;
const SAME_BUT_FOR_CASE: u64 = 100_000_000;
const SAME_BUT_FOR_ACCENTS: u64 = 10_000;
const RESPELT: u64 = 1;

fn give(old: &Word, new: &mut Word, likeness: u64) {
    let Word { sound, gloss, tag, lemma, link, ask, note, .. } = old.clone();
    (new.link, new.ask, new.note) = (link, ask, note);
    if likeness >= SAME_BUT_FOR_CASE {
        (new.sound, new.gloss, new.tag, new.lemma) = (sound, gloss, tag, lemma);
    } else {
        (new.sound, new.gloss) = (sound.into_draft(), gloss.into_draft());
        (new.tag, new.lemma) = (tag.into_draft(), lemma.into_draft());
    }
}

/// Pairs old and new words in order so that the sum of their likenesses is greatest (the recurrence of Needleman and Wunsch,
/// 1970, without gap costs). Takes time and memory in proportion to the product of the lengths.
fn align(old: &[Word], new: &[Word]) -> Vec<(usize, usize, u64)> {
    let width = new.len() + 1;
    let mut best = vec![0u64; (old.len() + 1) * width];
    let likenesses: Vec<u64> = old.iter().flat_map(|o| new.iter().map(move |n| likeness(o, n))).collect();
    for o in (0..old.len()).rev() {
        for n in (0..new.len()).rev() {
            let paired = match likenesses[o * new.len() + n] {
                0 => 0,
                alike => alike + best[(o + 1) * width + n + 1],
            };
            best[o * width + n] = paired.max(best[(o + 1) * width + n]).max(best[o * width + n + 1]);
        }
    }
    let (mut o, mut n, mut pairs) = (0, 0, Vec::new());
    while o < old.len() && n < new.len() {
        let alike = likenesses[o * new.len() + n];
        let here = best[o * width + n];
        if alike > 0 && here == alike + best[(o + 1) * width + n + 1] {
            pairs.push((o, n, alike));
            (o, n) = (o + 1, n + 1);
        } else if here == best[(o + 1) * width + n] {
            o += 1;
        } else {
            n += 1;
        }
    }
    pairs
}

fn likeness(old: &Word, new: &Word) -> u64 {
    if old.form == new.form {
        return SAME;
    }
    let [a, b] = [&old.form, &new.form].map(|form| fold::comparison_key(form));
    if a == b {
        return SAME_BUT_FOR_CASE;
    }
    let [a, b] = [&a, &b].map(|form| fold::finding_key(form));
    if a == b {
        return SAME_BUT_FOR_ACCENTS;
    }
    if is_respelling(&a, &b) { RESPELT } else { 0 }
}

/// Tells whether two forms of four letters or more differ in at most a quarter of their letters.
fn is_respelling(a: &str, b: &str) -> bool {
    let [a, b]: [Vec<&str>; 2] = [a, b].map(|s| clusters(s).collect());
    let longer = a.len().max(b.len());
    if a.len().min(b.len()) < 3 || longer < 4 || a.len().abs_diff(b.len()) * 4 > longer || longer > 100 {
        return false;
    }
    text::distance(&a, &b) * 4 <= longer
}

#[cfg(test)]
mod tests {
    use super::super::Cell;
    use super::*;
    use proptest::prelude::*;

    fn words(text: &str) -> Vec<Word> {
        text.split(' ').map(Word::new).collect()
    }

    /// Words glossed with their own letters in capitals.
    fn glossed(text: &str) -> Vec<Word> {
        words(text).into_iter().map(|w| Word { gloss: Cell::Settled(w.form.to_uppercase()), ..w }).collect()
    }

    fn glosses(words: &[Word]) -> String {
        let show = |w: &Word| match &w.gloss {
            Cell::Blank => "-".to_owned(),
            Cell::Draft(gloss) => format!("~{gloss}"),
            Cell::Settled(gloss) => gloss.clone(),
        };
        words.iter().map(show).collect::<Vec<_>>().join(" ")
    }

    fn check(old: &str, new: &str, kept: &str) {
        assert_eq!(glosses(&keep_annotations(&glossed(old), &words(new))), kept);
    }

    #[test]
    fn words_that_stay_keep_their_glosses() {
        check("o dolce notte", "o dolce e cara notte", "O DOLCE - - NOTTE");
        check("o dolce notte", "dolce", "DOLCE");
        check("o dolce notte", "Dolce notte", "DOLCE NOTTE");
        check("la la la", "la la", "LA LA");
    }

    #[test]
    fn respelt_words_become_drafts() {
        check("piu fulgida", "più fulgide", "~PIU ~FULGIDA");
        check("mar", "sol", "-");
    }

    #[test]
    fn words_that_change_places_take_their_glosses_along() {
        check("dolce notte", "notte dolce", "NOTTE DOLCE");
    }

    proptest! {
        #[test]
        fn unchanged_text_changes_nothing(text in "[a-d]{1,3}( [a-d]{1,3}){0,8}") {
            prop_assert_eq!(keep_annotations(&glossed(&text), &words(&text)), glossed(&text));
        }

        #[test]
        fn inserting_a_word_keeps_all_glosses(text in "[a-d]{1,3}( [a-d]{1,3}){0,8}", at in 0usize..9) {
            let mut new = words(&text);
            new.insert(at.min(new.len()), Word::new("zzzzz"));
            let kept = keep_annotations(&glossed(&text), &new);
            prop_assert_eq!(kept.iter().filter(|w| !w.gloss.is_blank()).count(), new.len() - 1);
        }
    }
}
