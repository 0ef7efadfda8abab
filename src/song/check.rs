//! Findings: what is missing in a song, or does not fit together.
//!
//! An incomplete song is no error. [`check`] never fails; it lists what a singer would want to see to before the coaching.

use super::{Annotation, Cell, LineAt, Song, Tag, Word, WordAt};
use crate::text::fold::comparison_key;
use std::collections::HashMap;
use std::fmt;

/// One thing that is missing or odd, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The part of the song that it concerns.
    pub place: Place,
    /// What is the matter.
    pub problem: Problem,
}

/// The part of a song that a finding concerns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Place {
    Song,
    /// A situation note, by its index.
    Note(usize),
    Line(LineAt),
    Word(WordAt),
}

/// What is the matter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// The song has no words.
    NoText,
    /// There are no situation notes.
    NoNotes,
    /// A situation note has no answer; holds the prompt.
    Unanswered(String),
    /// A line has no free translation.
    NoTranslation,
    /// A cell that every word needs is blank.
    Blank(Annotation),
    /// A cell holds a draft that the singer has not confirmed.
    Draft(Annotation),
    /// The tag is not in the project's vocabulary.
    UnknownTag(String),
    /// A gloss of one word holds a space (Leipzig Glossing Rule 2: one word, one gloss).
    GlossHasSpace(String),
    /// Form and gloss are divided into different morphemes (Leipzig Glossing Rules 2, 9 and 10).
    #[expect(missing_docs, reason = "the names say it")]
    MorphemesDiffer { form: String, gloss: String },
    /// The same form with the same tag and lemma has another gloss elsewhere, and no note tells why.
    #[expect(missing_docs, reason = "the names say it")]
    GlossedOtherwise { gloss: String, elsewhere: String, at: WordAt },
    /// Words of a line are linked with nothing: the link number stands only once.
    LoneLink(u8),
    /// The word is to be asked about; holds the singer's remark.
    Ask(String),
}

/// What a hyphen inside a written form means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hyphen {
    /// Spelling, as in French *peut-être*: it needs no counterpart in the gloss.
    Spelling,
    /// A border between morphemes: form and gloss have the same number.
    MorphemeBorder,
}

/// Lists what is missing or odd in a song, in the order of its parts.
pub fn check(song: &Song, hyphen: Hyphen) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut add = |place, problem| findings.push(Finding { place, problem });
    if song.words().next().is_none() {
        add(Place::Song, Problem::NoText);
    }
    if song.notes.is_empty() {
        add(Place::Song, Problem::NoNotes);
    }
    for (idx, note) in song.notes.iter().enumerate().filter(|(_, note)| note.text.trim().is_empty()) {
        add(Place::Note(idx), Problem::Unanswered(note.prompt.clone()));
    }
    let otherwise = glossed_otherwise(song);
    for (at, line) in song.lines() {
        for (idx, word) in line.words.iter().enumerate() {
            let at = at.word(idx);
            check_word(word, hyphen, |problem| add(Place::Word(at), problem));
            if let Some(problem) = otherwise.get(&at) {
                add(Place::Word(at), problem.clone());
            }
            if let Some(link) = word.link
                && line.words.iter().filter(|w| w.link == Some(link)).count() == 1
            {
                add(Place::Word(at), Problem::LoneLink(link.get()));
            }
        }
        if line.translation.trim().is_empty() && line.words.iter().any(Word::is_glossable) {
            add(Place::Line(at), Problem::NoTranslation);
        }
    }
    findings
}

fn check_word(word: &Word, hyphen: Hyphen, mut add: impl FnMut(Problem)) {
    if word.is_glossable() {
        for row in [Annotation::Gloss, Annotation::Tag] {
            if word.annotation(row).is_blank() {
                add(Problem::Blank(row));
            }
        }
    }
    for row in Annotation::ALL.into_iter().filter(|row| word.is_draft(*row)) {
        add(Problem::Draft(row));
    }
    if let Some(Tag::Free(text)) = word.tag.value() {
        add(Problem::UnknownTag(text.clone()));
    }
    let gloss = word.gloss.text();
    if gloss.contains(char::is_whitespace) && !word.form.contains(char::is_whitespace) {
        add(Problem::GlossHasSpace(gloss.to_owned()));
    } else if !gloss.is_empty() && !is_divided_alike(&word.form, gloss, hyphen) {
        add(Problem::MorphemesDiffer { form: word.form.clone(), gloss: gloss.to_owned() });
    }
    if word.ask {
        add(Problem::Ask(word.note.clone()));
    }
}

/// The borders that divide a form into morphemes, in order: hyphen, clitic border, reduplication, infix brackets.
///
/// Leipzig Glossing Rules (2015 revision): rule 2 (hyphens and equals signs agree in number), 9 (angle brackets), 10 (tilde).
fn borders(form: &str, hyphen: Hyphen) -> Vec<char> {
    form.chars().filter(|c| matches!(c, '=' | '~' | '<') || (*c == '-' && hyphen == Hyphen::MorphemeBorder)).collect()
}

/// Tells whether a gloss is divided as its form is.
///
/// A form without borders may have any gloss, and where a form has no hyphen, those of its gloss only join English words (rule 4).
fn is_divided_alike(form: &str, gloss: &str, hyphen: Hyphen) -> bool {
    let of_form = borders(form, hyphen);
    let hyphen_in_gloss = if of_form.contains(&'-') { Hyphen::MorphemeBorder } else { Hyphen::Spelling };
    of_form.is_empty()
        || (of_form == borders(gloss, hyphen_in_gloss) && is_infix_closed(form) == is_infix_closed(gloss))
}

/// Tells whether the bracket of the last infix closes again. A closing bracket alone is no infix (rule 4E: `2DU>3SG`).
fn is_infix_closed(text: &str) -> bool {
    text.rfind('<').is_none_or(|open| text[open..].contains('>'))
}

/// Finds, for each form with the same tag and lemma, the words whose gloss is not that of the first such word.
fn glossed_otherwise(song: &Song) -> HashMap<WordAt, Problem> {
    let mut first: HashMap<(String, Option<&Tag>, &str), (WordAt, &str)> = HashMap::new();
    let mut found = HashMap::new();
    for (at, word) in song.words() {
        let gloss = match &word.gloss {
            Cell::Blank => continue,
            Cell::Draft(gloss) | Cell::Settled(gloss) => gloss.as_str(),
        };
        let key = (comparison_key(&word.form), word.tag.value(), word.lemma.text());
        let (first_at, elsewhere) = *first.entry(key).or_insert((at, gloss));
        let has_reason = !word.note.is_empty() || song.word(first_at).is_some_and(|w| !w.note.is_empty());
        if gloss != elsewhere && !has_reason {
            let (gloss, elsewhere) = (gloss.to_owned(), elsewhere.to_owned());
            found.insert(at, Problem::GlossedOtherwise { gloss, elsewhere, at: first_at });
        }
    }
    found
}

impl Problem {
    /// Returns the name of the kind of problem, for programs to read.
    pub fn code(&self) -> &'static str {
        match self {
            Problem::NoText => "no-text",
            Problem::NoNotes => "no-notes",
            Problem::Unanswered(_) => "unanswered",
            Problem::NoTranslation => "no-translation",
            Problem::Blank(_) => "blank",
            Problem::Draft(_) => "draft",
            Problem::UnknownTag(_) => "unknown-tag",
            Problem::GlossHasSpace(_) => "gloss-has-space",
            Problem::MorphemesDiffer { .. } => "morphemes-differ",
            Problem::GlossedOtherwise { .. } => "glossed-otherwise",
            Problem::LoneLink(_) => "lone-link",
            Problem::Ask(_) => "ask",
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::NoText => write!(f, "the song has no words yet"),
            Problem::NoNotes => write!(f, "there are no situation notes"),
            Problem::Unanswered(prompt) => write!(f, "no answer to “{prompt}”"),
            Problem::NoTranslation => write!(f, "no free translation"),
            Problem::Blank(row) => write!(f, "no {}", row.name()),
            Problem::Draft(row) => write!(f, "the {} is a draft", row.name()),
            Problem::UnknownTag(tag) => write!(f, "“{tag}” is no known tag"),
            Problem::GlossHasSpace(gloss) => {
                write!(
                    f,
                    "the gloss “{gloss}” holds a space: join its words with hyphens, or make the words one phrase"
                )
            }
            Problem::MorphemesDiffer { form, gloss } => {
                write!(f, "“{form}” and its gloss “{gloss}” are divided into different parts")
            }
            Problem::GlossedOtherwise { gloss, elsewhere, at } => {
                write!(f, "glossed “{gloss}” here and “{elsewhere}” in {at}: make them alike, or say why in a note")
            }
            Problem::LoneLink(link) => write!(f, "link {link} stands only once in the line"),
            Problem::Ask(note) if note.is_empty() => write!(f, "to be asked"),
            Problem::Ask(note) => write!(f, "to be asked: {note}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Line, Section};
    use super::*;

    fn problems(words: Vec<Word>, hyphen: Hyphen) -> Vec<&'static str> {
        let line = Line { translation: "…".into(), words, ..Line::default() };
        let section = Section { lines: vec![line], ..Section::default() };
        let note = super::super::Note { prompt: "Who?".into(), text: "I".into() };
        let song = Song { notes: vec![note], sections: vec![section], ..Song::default() };
        check(&song, hyphen).into_iter().map(|f| f.problem.code()).collect()
    }

    fn word(form: &str, gloss: &str, tag: &str) -> Word {
        let mut word = Word::new(form);
        word.set_annotation(Annotation::Gloss, Cell::Settled(gloss.into()));
        word.set_annotation(Annotation::Tag, Cell::Settled(tag.into()));
        word
    }

    #[test]
    fn a_finished_word_has_no_findings() {
        assert_eq!(problems(vec![word("pleurait", "he-was-weeping", "VERB.3SG.IMPF.IND")], Hyphen::Spelling), [""; 0]);
        assert_eq!(problems(vec![word("…", "", "")], Hyphen::Spelling), [""; 0]);
    }

    #[test]
    fn each_problem_is_found() {
        assert_eq!(problems(vec![Word::new("notte")], Hyphen::Spelling), ["blank", "blank"]);
        assert_eq!(problems(vec![word("notte", "night", "n. f.")], Hyphen::Spelling), ["unknown-tag"]);
        assert_eq!(problems(vec![word("notte", "the night", "NOUN")], Hyphen::Spelling), ["gloss-has-space"]);
        assert_eq!(problems(vec![word("tout à coup", "all of a sudden", "ADV")], Hyphen::Spelling), [""; 0]);
        let two = vec![word("la", "the", "DET"), word("La", "her", "DET")];
        assert_eq!(problems(two, Hyphen::Spelling), ["glossed-otherwise"]);
        let asked = Word { ask: true, ..word("la", "the", "DET") };
        assert_eq!(problems(vec![asked], Hyphen::Spelling), ["ask"]);
        let linked = Word { link: std::num::NonZeroU8::new(1), ..word("la", "the", "DET") };
        assert_eq!(problems(vec![linked], Hyphen::Spelling), ["lone-link"]);
    }

    #[test]
    fn another_gloss_with_a_reason_is_fine() {
        let noted = Word { note: "here the pronoun".into(), ..word("la", "her", "DET") };
        assert_eq!(problems(vec![word("la", "the", "DET"), noted], Hyphen::Spelling), [""; 0]);
        assert_eq!(problems(vec![word("la", "the", "DET"), word("la", "her", "PRON")], Hyphen::Spelling), [""; 0]);
    }

    #[test]
    fn a_hyphen_is_a_border_only_where_spelling_does_not_use_it() {
        assert_eq!(problems(vec![word("peut-être", "perhaps", "ADV")], Hyphen::Spelling), [""; 0]);
        assert_eq!(problems(vec![word("insul-arum", "island", "NOUN")], Hyphen::MorphemeBorder), ["morphemes-differ"]);
        assert_eq!(problems(vec![word("insul-arum", "island-GEN.PL", "NOUN")], Hyphen::MorphemeBorder), [""; 0]);
        assert_eq!(problems(vec![word("n=an", "him", "PRON")], Hyphen::Spelling), ["morphemes-differ"]);
    }
}
