//! Edits: the one way in which a song changes.
//!
//! An [`Edit`] says what was meant. [`apply`] carries it out and returns the edit that takes it back; an edit that makes no
//! sense is [`Refused`] and leaves the song as it was. Editor, commands, recovery journal and undo all pass through here.
//!
//! ```
//! use undersong::song::{Annotation, Cell, Edit, Line, Section, Song, Word, WordAt, apply};
//! let line = Line { words: vec![Word::new("notte")], ..Line::default() };
//! let mut song = Song { sections: vec![Section { lines: vec![line], ..Section::default() }], ..Song::default() };
//! let before = song.clone();
//! let edit = Edit::SetCell { at: WordAt::default(), row: Annotation::Gloss, cell: Cell::Settled("night".into()) };
//! let inverse = apply(&mut song, &edit).unwrap();
//! assert_eq!(song.sections[0].lines[0].words[0].gloss.text(), "night");
//! apply(&mut song, &inverse).unwrap();
//! assert_eq!(song, before);
//! ```
//!
//! It does not decide what to change: `align`, `repeats` and the lexicon's `fill` make edits, and `History` remembers them.

use super::{Annotation, Bars, Cell, Detail, Line, LineAt, Note, Section, Song, Word, WordAt, text_of};
use crate::text;
use serde::{Deserialize, Serialize};
use std::num::NonZeroU8;
use thiserror::Error;

/// One change to a song, as a value that can be stored, carried out and taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Edit {
    /// Several changes, carried out in order and taken back as one.
    All(Vec<Edit>),
    /// Changes a title, name, language or right.
    #[expect(missing_docs, reason = "the names say it")]
    SetDetail { detail: Detail, text: String },
    /// Puts a situation note before the one at `note`, or last.
    #[expect(missing_docs, reason = "the names say it")]
    InsertNote { note: usize, value: Note },
    /// Takes a situation note out.
    #[expect(missing_docs, reason = "the names say it")]
    RemoveNote { note: usize },
    /// Moves a situation note so that it ends up at `to`.
    #[expect(missing_docs, reason = "the names say it")]
    MoveNote { note: usize, to: usize },
    /// Changes prompt or answer of a situation note.
    #[expect(missing_docs, reason = "the names say it")]
    SetNote { note: usize, value: Note },
    /// Puts a section before the one at `section`, or last.
    #[expect(missing_docs, reason = "the names say it")]
    InsertSection { section: usize, value: Section },
    /// Takes a section out with its lines.
    #[expect(missing_docs, reason = "the names say it")]
    RemoveSection { section: usize },
    /// Moves a section so that it ends up at `to`.
    #[expect(missing_docs, reason = "the names say it")]
    MoveSection { section: usize, to: usize },
    /// Changes the heading of a section.
    #[expect(missing_docs, reason = "the names say it")]
    SetHeading { section: usize, text: String },
    /// Changes the speaker of a section.
    #[expect(missing_docs, reason = "the names say it")]
    SetSpeaker { section: usize, text: String },
    /// Begins a new section, without heading or speaker, with the line at the place.
    #[expect(missing_docs, reason = "the names say it")]
    SplitSection { at: LineAt },
    /// Appends the lines of the next section to a section; the next one's heading and speaker go.
    #[expect(missing_docs, reason = "the names say it")]
    JoinSections { section: usize },
    /// Puts a line before the one at the place, or last in the section.
    #[expect(missing_docs, reason = "the names say it")]
    InsertLine { at: LineAt, value: Line },
    /// Takes a line out.
    #[expect(missing_docs, reason = "the names say it")]
    RemoveLine { at: LineAt },
    /// Moves a line so that it ends up at `to`, in the same or another section.
    #[expect(missing_docs, reason = "the names say it")]
    MoveLine { at: LineAt, to: LineAt },
    /// Changes one of the texts of a line.
    #[expect(missing_docs, reason = "the names say it")]
    SetLineText { at: LineAt, part: LinePart, text: String },
    /// Sets or clears the bars of a line.
    #[expect(missing_docs, reason = "the names say it")]
    SetBars { at: LineAt, bars: Option<Bars> },
    /// Puts other words in place of `remove` words from the place on.
    #[expect(missing_docs, reason = "the names say it")]
    ReplaceWords { at: WordAt, remove: usize, words: Vec<Word> },
    /// Splits a word in two before the byte `byte` of its form; its annotations stay with the first part, as drafts.
    #[expect(missing_docs, reason = "the names say it")]
    SplitWord { at: WordAt, byte: usize },
    /// Makes one column of `count` words; glosses are joined by hyphens, other annotations by spaces.
    #[expect(missing_docs, reason = "the names say it")]
    JoinWords { at: WordAt, count: usize },
    /// Changes the written form, its punctuation or its join, and keeps what stands under it.
    #[expect(missing_docs, reason = "the names say it")]
    SetWritten { at: WordAt, lead: String, form: String, trail: String, is_joined: bool },
    /// Fills, settles or blanks a cell.
    #[expect(missing_docs, reason = "the names say it")]
    SetCell { at: WordAt, row: Annotation, cell: Cell<String> },
    /// Gives a word a link number, or takes it away.
    #[expect(missing_docs, reason = "the names say it")]
    SetLink { at: WordAt, link: Option<NonZeroU8> },
    /// Sets or clears the ask flag.
    #[expect(missing_docs, reason = "the names say it")]
    SetAsk { at: WordAt, ask: bool },
    /// Changes the singer's remark on a word.
    #[expect(missing_docs, reason = "the names say it")]
    SetWordNote { at: WordAt, text: String },
}

/// Names one of the texts of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "see the fields of `Line`")]
pub enum LinePart {
    Direction,
    Cue,
    Intention,
    Translation,
}

/// Why an edit was not carried out.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Refused {
    /// There is no such situation note.
    #[error("there is no situation note {}", .0.saturating_add(1))]
    NoNote(usize),
    /// There is no such section.
    #[error("there is no section {}", .0.saturating_add(1))]
    NoSection(usize),
    /// There is no such line.
    #[error("there is no {0}")]
    NoLine(LineAt),
    /// There is no such word.
    #[error("there is no {0}")]
    NoWord(WordAt),
    /// A text holds control characters or is not in Unicode normal form C.
    #[error("the text holds control characters or is not in normal form: {0:?}")]
    NotClean(String),
    /// A text that stands on one line holds a line end.
    #[error("this text must be a single line: {0:?}")]
    NotOneLine(String),
    /// A cell that holds no text, or spaces around it.
    #[error("what stands under a word needs a text without spaces around it")]
    NoCellText,
    /// A written form without text, or with a space at an end.
    #[error("a word needs a written form without spaces around it")]
    NoForm,
    /// A word can only be split between two letters.
    #[error("{0} cannot be split there")]
    NoSplit(WordAt),
    /// Joining needs two words or more of one line.
    #[error("joining takes at least two words of one line, from {0} on")]
    NoJoin(WordAt),
}

impl Edit {
    /// Returns the edit that fills a cell with a text that the singer confirms.
    pub fn settle(at: WordAt, row: Annotation, text: impl Into<String>) -> Edit {
        Edit::SetCell { at, row, cell: Cell::Settled(text.into()) }
    }

    /// Returns the edit that confirms whatever the program filled in under a word, or `None` where nothing is to confirm.
    pub fn settle_word(at: WordAt, word: &Word) -> Option<Edit> {
        let drafts = Annotation::ALL.into_iter().filter_map(|row| match word.annotation(row) {
            Cell::Draft(text) => Some(Edit::settle(at, row, text)),
            _ => None,
        });
        let drafts: Vec<Edit> = drafts.collect();
        (!drafts.is_empty()).then_some(Edit::All(drafts))
    }
}

/// Carries out an edit and returns the edit that takes it back.
///
/// # Errors
/// [`Refused`] if a place does not exist or a text may not stand there; the song is then as it was.
pub fn apply(song: &mut Song, edit: &Edit) -> Result<Edit, Refused> {
    match edit {
        Edit::All(edits) => apply_all(song, edits),
        Edit::SetDetail { detail, text } => {
            let text = one_line(text)?;
            let old = std::mem::replace(song.details.get_mut(*detail), text);
            Ok(Edit::SetDetail { detail: *detail, text: old })
        }
        Edit::InsertNote { note, value } => {
            check_note(value)?;
            insert(&mut song.notes, *note, value.clone()).ok_or(Refused::NoNote(*note))?;
            Ok(Edit::RemoveNote { note: *note })
        }
        Edit::RemoveNote { note } => {
            let value = remove(&mut song.notes, *note).ok_or(Refused::NoNote(*note))?;
            Ok(Edit::InsertNote { note: *note, value })
        }
        Edit::MoveNote { note, to } => {
            relocate(&mut song.notes, *note, *to).ok_or(Refused::NoNote((*note).max(*to)))?;
            Ok(Edit::MoveNote { note: *to, to: *note })
        }
        Edit::SetNote { note, value } => {
            check_note(value)?;
            let place = song.notes.get_mut(*note).ok_or(Refused::NoNote(*note))?;
            Ok(Edit::SetNote { note: *note, value: std::mem::replace(place, value.clone()) })
        }
        Edit::InsertSection { .. }
        | Edit::RemoveSection { .. }
        | Edit::MoveSection { .. }
        | Edit::SetHeading { .. }
        | Edit::SetSpeaker { .. }
        | Edit::SplitSection { .. }
        | Edit::JoinSections { .. } => apply_to_sections(song, edit),
        Edit::InsertLine { .. }
        | Edit::RemoveLine { .. }
        | Edit::MoveLine { .. }
        | Edit::SetLineText { .. }
        | Edit::SetBars { .. } => apply_to_lines(song, edit),
        Edit::ReplaceWords { .. }
        | Edit::SplitWord { .. }
        | Edit::JoinWords { .. }
        | Edit::SetWritten { .. }
        | Edit::SetCell { .. }
        | Edit::SetLink { .. }
        | Edit::SetAsk { .. }
        | Edit::SetWordNote { .. } => apply_to_words(song, edit),
    }
}

fn apply_all(song: &mut Song, edits: &[Edit]) -> Result<Edit, Refused> {
    let mut inverses = Vec::with_capacity(edits.len());
    for edit in edits {
        match apply(song, edit) {
            Ok(inverse) => inverses.push(inverse),
            Err(refused) => {
                for inverse in inverses.iter().rev() {
                    apply(song, inverse).expect("the inverse of an edit just carried out is never refused");
                }
                return Err(refused);
            }
        }
    }
    inverses.reverse();
    Ok(Edit::All(inverses))
}

fn apply_to_sections(song: &mut Song, edit: &Edit) -> Result<Edit, Refused> {
    match edit {
        Edit::InsertSection { section, value } => {
            check_section(value)?;
            insert(&mut song.sections, *section, value.clone()).ok_or(Refused::NoSection(*section))?;
            Ok(Edit::RemoveSection { section: *section })
        }
        Edit::RemoveSection { section } => {
            let value = remove(&mut song.sections, *section).ok_or(Refused::NoSection(*section))?;
            Ok(Edit::InsertSection { section: *section, value })
        }
        Edit::MoveSection { section, to } => {
            relocate(&mut song.sections, *section, *to).ok_or(Refused::NoSection((*section).max(*to)))?;
            Ok(Edit::MoveSection { section: *to, to: *section })
        }
        Edit::SetHeading { section, text } => {
            let text = one_line(text)?;
            let old = std::mem::replace(&mut section_mut(song, *section)?.heading, text);
            Ok(Edit::SetHeading { section: *section, text: old })
        }
        Edit::SetSpeaker { section, text } => {
            let text = one_line(text)?;
            let old = std::mem::replace(&mut section_mut(song, *section)?.speaker, text);
            Ok(Edit::SetSpeaker { section: *section, text: old })
        }
        Edit::SplitSection { at } => {
            let lines = &mut section_mut(song, at.section)?.lines;
            if at.line > lines.len() {
                return Err(Refused::NoLine(*at));
            }
            let lines = lines.split_off(at.line);
            song.sections.insert(at.section + 1, Section { lines, ..Section::default() });
            Ok(Edit::JoinSections { section: at.section })
        }
        Edit::JoinSections { section } => {
            let next = section.checked_add(1).ok_or(Refused::NoSection(*section))?;
            let joined = remove(&mut song.sections, next).ok_or(Refused::NoSection(next))?;
            let lines = &mut section_mut(song, *section)?.lines;
            let at = LineAt { section: *section, line: lines.len() };
            lines.extend(joined.lines);
            Ok(Edit::All(vec![
                Edit::SplitSection { at },
                Edit::SetHeading { section: next, text: joined.heading },
                Edit::SetSpeaker { section: next, text: joined.speaker },
            ]))
        }
        _ => unreachable!("dispatched by `apply`"),
    }
}

fn apply_to_lines(song: &mut Song, edit: &Edit) -> Result<Edit, Refused> {
    match edit {
        Edit::InsertLine { at, value } => {
            check_line(value)?;
            insert(&mut section_mut(song, at.section)?.lines, at.line, value.clone()).ok_or(Refused::NoLine(*at))?;
            Ok(Edit::RemoveLine { at: *at })
        }
        Edit::RemoveLine { at } => {
            let value = remove(&mut section_mut(song, at.section)?.lines, at.line).ok_or(Refused::NoLine(*at))?;
            Ok(Edit::InsertLine { at: *at, value })
        }
        Edit::MoveLine { at, to } => {
            song.line(*at).ok_or(Refused::NoLine(*at))?;
            let n_lines_without = section_mut(song, to.section)?.lines.len() - usize::from(at.section == to.section);
            if to.line > n_lines_without {
                return Err(Refused::NoLine(*to));
            }
            let line = song.sections[at.section].lines.remove(at.line);
            song.sections[to.section].lines.insert(to.line, line);
            Ok(Edit::MoveLine { at: *to, to: *at })
        }
        Edit::SetLineText { at, part, text } => {
            let text = one_line(text)?;
            let line = line_mut(song, *at)?;
            let place = match part {
                LinePart::Direction => &mut line.direction,
                LinePart::Cue => &mut line.cue,
                LinePart::Intention => &mut line.intention,
                LinePart::Translation => &mut line.translation,
            };
            Ok(Edit::SetLineText { at: *at, part: *part, text: std::mem::replace(place, text) })
        }
        Edit::SetBars { at, bars } => {
            let old = std::mem::replace(&mut line_mut(song, *at)?.bars, *bars);
            Ok(Edit::SetBars { at: *at, bars: old })
        }
        _ => unreachable!("dispatched by `apply`"),
    }
}

fn apply_to_words(song: &mut Song, edit: &Edit) -> Result<Edit, Refused> {
    match edit {
        Edit::ReplaceWords { at, remove, words } => {
            words.iter().try_for_each(check_word)?;
            replace_words(song, *at, *remove, words.clone())
        }
        Edit::SplitWord { at, byte } => {
            let parts = split(word_mut(song, *at)?, *byte).ok_or(Refused::NoSplit(*at))?;
            replace_words(song, *at, 1, parts.into())
        }
        Edit::JoinWords { at, count } => {
            let words = &line_mut(song, at.line())?.words;
            let end = at.word.checked_add(*count).ok_or(Refused::NoJoin(*at))?;
            let joined = words.get(at.word..end).and_then(join).ok_or(Refused::NoJoin(*at))?;
            replace_words(song, *at, *count, vec![joined])
        }
        Edit::SetWritten { at, lead, form, trail, is_joined } => {
            check_written(lead, form, trail)?;
            let word = word_mut(song, *at)?;
            let old = Edit::SetWritten {
                at: *at,
                lead: std::mem::replace(&mut word.lead, lead.clone()),
                form: std::mem::replace(&mut word.form, form.clone()),
                trail: std::mem::replace(&mut word.trail, trail.clone()),
                is_joined: std::mem::replace(&mut word.is_joined, *is_joined),
            };
            Ok(old)
        }
        Edit::SetCell { at, row, cell } => {
            cell.value().map_or(Ok(()), |text| one_line(text).map(drop))?;
            let word = word_mut(song, *at)?;
            let old = word.annotation(*row);
            word.set_annotation(*row, cell.clone());
            Ok(Edit::SetCell { at: *at, row: *row, cell: old })
        }
        Edit::SetLink { at, link } => {
            let old = std::mem::replace(&mut word_mut(song, *at)?.link, *link);
            Ok(Edit::SetLink { at: *at, link: old })
        }
        Edit::SetAsk { at, ask } => {
            let old = std::mem::replace(&mut word_mut(song, *at)?.ask, *ask);
            Ok(Edit::SetAsk { at: *at, ask: old })
        }
        Edit::SetWordNote { at, text } => {
            let text = clean(text)?;
            let old = std::mem::replace(&mut word_mut(song, *at)?.note, text);
            Ok(Edit::SetWordNote { at: *at, text: old })
        }
        _ => unreachable!("dispatched by `apply`"),
    }
}

fn replace_words(song: &mut Song, at: WordAt, n_removed: usize, words: Vec<Word>) -> Result<Edit, Refused> {
    let line = &mut line_mut(song, at.line())?.words;
    let end = at.word.checked_add(n_removed).filter(|end| *end <= line.len()).ok_or(Refused::NoWord(at))?;
    let n_inserted = words.len();
    let old = line.splice(at.word..end, words).collect();
    Ok(Edit::ReplaceWords { at, remove: n_inserted, words: old })
}

/// Splits a word before a byte of its form: a space there is dropped, elsewhere the parts are joined.
fn split(word: &Word, byte: usize) -> Option<[Word; 2]> {
    let (head, tail) = word.form.split_at_checked(byte)?;
    let (head_form, tail_form) = (head.trim_end(), tail.trim_start());
    if head_form.is_empty()
        || tail_form.is_empty()
        || text::nfc(tail_form) != tail_form
        || begins_inside_cluster(word, byte)
    {
        return None;
    }
    let first = Word {
        form: head_form.to_owned(),
        trail: String::new(),
        is_joined: head_form.len() + tail_form.len() == word.form.len(),
        sound: word.sound.clone().into_draft(),
        gloss: word.gloss.clone().into_draft(),
        tag: word.tag.clone().into_draft(),
        lemma: word.lemma.clone().into_draft(),
        ..word.clone()
    };
    let second =
        Word { form: tail_form.to_owned(), trail: word.trail.clone(), is_joined: word.is_joined, ..Word::default() };
    Some([first, second])
}

fn begins_inside_cluster(word: &Word, byte: usize) -> bool {
    let mut at = 0;
    !text::cluster::clusters(&word.form).any(|cluster| {
        let starts = at == byte;
        at += cluster.len();
        starts
    })
}

/// Makes one word of several; `None` for fewer than two.
fn join(words: &[Word]) -> Option<Word> {
    let ([first, ..], [.., last]) = (words, words) else { return None };
    if words.len() < 2 {
        return None;
    }
    let mut bare = words.to_vec();
    bare[0].lead.clear();
    bare[words.len() - 1].trail.clear();
    let annotation = |row, between: &str| {
        let cells: Vec<Cell<String>> = words.iter().map(|w| w.annotation(row)).filter(|c| !c.is_blank()).collect();
        match cells.as_slice() {
            [] => Cell::Blank,
            [only] => only.clone(),
            several => Cell::Draft(several.iter().map(Cell::text).collect::<Vec<_>>().join(between)),
        }
    };
    let mut joined = Word {
        lead: first.lead.clone(),
        // Side by side, a letter and an accent may become one.
        form: text::nfc(&text_of(&bare)),
        trail: last.trail.clone(),
        is_joined: last.is_joined,
        link: words.iter().find_map(|w| w.link),
        ask: words.iter().any(|w| w.ask),
        note: words.iter().map(|w| w.note.as_str()).filter(|n| !n.is_empty()).collect::<Vec<_>>().join("\n"),
        ..Word::default()
    };
    for row in Annotation::ALL {
        joined.set_annotation(row, annotation(row, if row == Annotation::Gloss { "-" } else { " " }));
    }
    Some(joined)
}

fn section_mut(song: &mut Song, section: usize) -> Result<&mut Section, Refused> {
    song.sections.get_mut(section).ok_or(Refused::NoSection(section))
}

fn line_mut(song: &mut Song, at: LineAt) -> Result<&mut Line, Refused> {
    section_mut(song, at.section)?.lines.get_mut(at.line).ok_or(Refused::NoLine(at))
}

fn word_mut(song: &mut Song, at: WordAt) -> Result<&mut Word, Refused> {
    line_mut(song, at.line())?.words.get_mut(at.word).ok_or(Refused::NoWord(at))
}

fn insert<T>(list: &mut Vec<T>, idx: usize, value: T) -> Option<()> {
    (idx <= list.len()).then(|| list.insert(idx, value))
}

fn remove<T>(list: &mut Vec<T>, idx: usize) -> Option<T> {
    (idx < list.len()).then(|| list.remove(idx))
}

fn relocate<T>(list: &mut Vec<T>, from: usize, to: usize) -> Option<()> {
    if from.max(to) >= list.len() {
        return None;
    }
    let value = list.remove(from);
    list.insert(to, value);
    Some(())
}

fn clean(text: &str) -> Result<String, Refused> {
    if text::clean::is_storable(text) { Ok(text.to_owned()) } else { Err(Refused::NotClean(text.to_owned())) }
}

fn one_line(text: &str) -> Result<String, Refused> {
    if text.contains('\n') { Err(Refused::NotOneLine(text.to_owned())) } else { clean(text) }
}

fn check_note(note: &Note) -> Result<(), Refused> {
    one_line(&note.prompt)?;
    clean(&note.text).map(drop)
}

fn check_section(section: &Section) -> Result<(), Refused> {
    one_line(&section.heading)?;
    one_line(&section.speaker)?;
    section.lines.iter().try_for_each(check_line)
}

fn check_line(line: &Line) -> Result<(), Refused> {
    for text in [&line.direction, &line.cue, &line.intention, &line.translation] {
        one_line(text)?;
    }
    line.words.iter().try_for_each(check_word)
}

fn check_word(word: &Word) -> Result<(), Refused> {
    check_written(&word.lead, &word.form, &word.trail)?;
    clean(&word.note)?;
    for row in Annotation::ALL {
        if let Some(text) = word.annotation(row).value() {
            one_line(text)?;
            if text.is_empty() || text.trim() != text {
                return Err(Refused::NoCellText);
            }
        }
    }
    Ok(())
}

fn check_written(lead: &str, form: &str, trail: &str) -> Result<(), Refused> {
    for text in [lead, form, trail] {
        one_line(text)?;
    }
    if form.is_empty() || form.trim() != form { Err(Refused::NoForm) } else { Ok(()) }
}
