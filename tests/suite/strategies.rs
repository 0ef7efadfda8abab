//! Strategies: songs, edits and texts that favour what a careless program trips over.
//!
//! [`song`] makes any song that could stand in a file, [`edit`] any edit of it, sensible or not. Nothing here checks anything but that
//! the strategies reach what they promise.

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use std::num::NonZeroU8;
use undersong::song::{
    Annotation, Bars, Cell, Detail, Details, Edit, Line, LineAt, LinePart, Note, Section, Song, Tag, Word, WordAt,
};
use undersong::text::clean::storable;

/// Texts that mean something to YAML or Markdown when they stand alone or at the start of a text.
const WHOLE: [&str; 36] = [
    "night", "no", "~", "null", "1.10", "true", "0x1F", "1e3", ".inf", "12:30", "2001-01-01", "<<", "=", "- x", "? x", ": ", "# x",
    "x #", "{}", "[]", "{a: b}", "\"", "'", "&a", "*a", "!t", "|", ">", "%", "@", "---", "...", ":--", "1. x", " x ", "    x",
];

/// Pieces of which other texts are made: letters of several scripts and widths, marks, apostrophes, invisible characters, punctuation.
const PIECES: [&str; 88] = [
    "a", "notte", "Ä", "è", "ß", "愛", "愛してる", "ｱ", "любо\u{301}вь", "мой", "ё", "각", "\u{1100}", "\u{1161}", "ن", "ाि", "e\u{301}",
    "\u{301}", "\u{323}", "\u{20dd}", "ː", "t\u{361}ʃ", "👩\u{200d}👩\u{200d}👧", "🇮🇹", "🇮", "☺\u{fe0f}", "\u{fe0f}", "1\u{fe0f}\u{20e3}",
    "\u{200d}", "\u{200c}", "\u{200b}", "\u{feff}", "\u{ad}", "\u{202e}", "\u{2028}", "\u{fffe}", "\u{e000}", "\u{10ffff}", "\u{1b}[31m",
    "\u{7f}", "\u{85}", "\t", " ", "  ", "\u{a0}", "\u{202f}", "\u{3000}", "'", "’", "‘", "ʼ", "´", "`", "``", "-", "\u{2011}", "—", "…",
    ".", ", ", ": ", ":", " #", "#", "\"", "{", "}", "[", "]", "(", ")", "|", "\\", "\\|", "/", "*", "**", "_", "~", "~~", "<", ">", "<b>",
    "&amp;", "&#124;", "$", "!", "12",
];

/// Words longer than any page is wide.
const LONG: [&str; 2] = [
    "precipitevolissimevolmente-precipitevolissimevolmente-precipitevolissimevolmente-precipitevolissimevolmente",
    "愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛",
];

/// Forms that come back in a song, some of them alike but for capitals, accents or the shape of an apostrophe.
pub const FORMS: [&str; 14] = ["la", "La", "là", "l’", "L'", "e", "è", "E", "notte", "notti", "sol", "Мой", "愛", "la notte"];

/// Glosses that come back in a song.
const GLOSSES: [&str; 6] = ["the", "her", "night", "and", "I-see", "NOT"];

/// Tags and pieces of tags, known and unknown.
const TAG_PIECES: [&str; 22] = [
    "NOUN", "VERB", "PRON", "DET", "ADP", "F", "M", "SG", "PL", "1", "3", "3SG", "1PL", "PRS", "PST", "IND", "PTCP", "POSS", "DEF", "NEG",
    "REFL", "n. f.",
];

fn owned(texts: &'static [&'static str]) -> impl Strategy<Value = String> + Clone {
    select(texts).prop_map(str::to_owned)
}

/// Any text, as a keyboard or a file may bring it.
fn raw() -> impl Strategy<Value = String> {
    let any_char = any::<char>().prop_map(String::from);
    let piece = prop_oneof![20 => owned(&PIECES), 1 => any_char, 1 => owned(&LONG)];
    prop_oneof![3 => owned(&WHOLE), 4 => vec(piece, 1..6).prop_map(|pieces| pieces.concat())]
}

/// A text of one line that may stand in a song; never empty, though it may be blank.
pub fn text() -> impl Strategy<Value = String> {
    raw().prop_map(|text| storable(&text.replace('\n', " ")))
}

/// A text that is empty more often than not.
fn rare_text() -> impl Strategy<Value = String> {
    prop_oneof![3 => Just(String::new()), 2 => text()]
}

/// A text of several lines.
fn prose() -> impl Strategy<Value = String> {
    let line = prop_oneof![1 => Just(String::new()), 3 => text()];
    prop_oneof![1 => Just(String::new()), 2 => text(), 2 => vec(line, 2..5).prop_map(|lines| lines.join("\n"))]
}

/// A text that an edit must refuse as often as not.
fn doubtful_text() -> impl Strategy<Value = String> {
    let wrong = owned(&["a\nb", "e\u{301}", "\u{1b}[2J", "\u{202e}", "\r", "\u{85}"]);
    prop_oneof![6 => text(), 2 => Just(String::new()), 1 => wrong]
}

/// A written form: not empty, no space around it.
pub fn form() -> impl Strategy<Value = String> {
    let trimmed = |text: String| Some(text.trim().to_owned()).filter(|form| !form.is_empty()).unwrap_or("…".into());
    prop_oneof![5 => owned(&FORMS), 4 => text().prop_map(trimmed)]
}

fn cell_of(text: impl Strategy<Value = String>) -> impl Strategy<Value = Cell<String>> {
    (0..3, text).prop_map(|(kind, text)| match kind {
        0 => Cell::Blank,
        1 => Cell::Draft(text),
        _ => Cell::Settled(text),
    })
}

fn gloss() -> impl Strategy<Value = String> {
    prop_oneof![2 => owned(&GLOSSES), 1 => text()]
}

fn tag_text() -> impl Strategy<Value = String> {
    let pieces = (vec(owned(&TAG_PIECES), 1..5), select(&[".", " ", ", "][..]));
    prop_oneof![3 => pieces.prop_map(|(pieces, between)| pieces.join(between)), 1 => text()]
}

/// A word; three words in eleven are linked, asked about or noted.
pub fn word() -> impl Strategy<Value = Word> {
    let written = (rare_text(), form(), rare_text(), any::<bool>());
    let link = prop_oneof![4 => Just(None), 1 => any::<u8>().prop_map(NonZeroU8::new)];
    let tag = tag_text().prop_map(|text| if text.trim().is_empty() { "X".to_owned() } else { text });
    let rare_note = prop_oneof![3 => Just(String::new()), 1 => prose()];
    let cells = (cell_of(text()), cell_of(gloss()), cell_of(tag), cell_of(text()));
    (written, cells, link, any::<bool>(), rare_note).prop_map(|(written, cells, link, ask, note)| {
        let (lead, form, trail, is_joined) = written;
        let (sound, gloss, tag, lemma) = cells;
        let tag = tag.map(|text| Tag::parse(&text));
        Word { lead, form, trail, is_joined, link, sound, gloss, tag, lemma, ask, note }
    })
}

pub fn bars() -> impl Strategy<Value = Option<Bars>> {
    let few = (0u32..200, 0u32..9).prop_map(|(first, more)| Bars::new(first, first + more));
    let many = (any::<u32>(), any::<u32>()).prop_map(|(a, b)| Bars::new(a.min(b), a.max(b)));
    prop_oneof![5 => Just(None), 4 => few, 1 => many]
}

pub fn line() -> impl Strategy<Value = Line> {
    let texts = (rare_text(), rare_text(), rare_text(), rare_text());
    (bars(), texts, vec(word(), 0..6)).prop_map(|(bars, (direction, cue, intention, translation), words)| Line {
        bars,
        direction,
        cue,
        intention,
        translation,
        words,
    })
}

/// A section; its first line may come back at its end, as yet without annotations.
pub fn section() -> impl Strategy<Value = Section> {
    (rare_text(), rare_text(), vec(line(), 0..4), any::<bool>()).prop_map(|(heading, speaker, mut lines, comes_back)| {
        if let Some(first) = lines.first().filter(|_| comes_back) {
            let words = first.words.iter().map(|w| Word { is_joined: w.is_joined, ..Word::new(&*w.form) }).collect();
            lines.push(Line { words, ..Line::default() });
        }
        Section { heading, speaker, lines }
    })
}

fn note() -> impl Strategy<Value = Note> {
    (text(), prose()).prop_map(|(prompt, text)| Note { prompt, text })
}

fn language() -> impl Strategy<Value = String> {
    prop_oneof![4 => owned(&["it", "de", "fr", "la", "es", "ru", "en", "it-CH", "tlh", ""]), 1 => text()]
}

/// Any song that could stand in a file.
pub fn song() -> impl Strategy<Value = Song> {
    let details = (vec(rare_text(), 8), language(), language()).prop_map(|(texts, language, gloss_language)| {
        let [title, translated_title, work, composer, poet, translator, source, rights] =
            texts.try_into().expect("eight texts");
        Details {
            title,
            translated_title,
            work,
            composer,
            poet,
            translator,
            language,
            gloss_language,
            source,
            rights,
        }
    });
    let parts = (rare_text(), details, vec(note(), 0..3), vec(section(), 0..4));
    parts.prop_map(|(id, details, notes, sections)| Song { id, details, notes, sections })
}

/// An index that is often there, and now and then as wrong as can be.
fn idx() -> impl Strategy<Value = usize> {
    prop_oneof![30 => 0usize..4, 3 => 4usize..9, 1 => Just(usize::MAX)]
}

fn line_at() -> impl Strategy<Value = LineAt> {
    (idx(), idx()).prop_map(|(section, line)| LineAt { section, line })
}

fn word_at() -> impl Strategy<Value = WordAt> {
    (line_at(), idx()).prop_map(|(line, word)| line.word(word))
}

/// A note, section, line or word with a text that an edit must refuse somewhere in it, as often as not.
fn doubtful_word() -> impl Strategy<Value = Word> {
    let spoilt = (word(), doubtful_text(), 0..6).prop_map(|(word, text, part)| match part {
        0 => Word { lead: text, ..word },
        1 => Word { form: text, ..word },
        2 => Word { trail: text, ..word },
        3 => Word { note: text, ..word },
        4 if !text.is_empty() => Word { lemma: Cell::Draft(text), ..word },
        _ => word,
    });
    prop_oneof![2 => word(), 1 => spoilt]
}

fn doubtful_line() -> impl Strategy<Value = Line> {
    let spoilt = (line(), doubtful_word()).prop_map(|(mut line, word)| {
        line.words.push(word);
        line
    });
    let with_text = (line(), doubtful_text()).prop_map(|(line, cue)| Line { cue, ..line });
    prop_oneof![2 => line(), 1 => spoilt, 1 => with_text]
}

fn detail() -> impl Strategy<Value = Detail> {
    use Detail::*;
    const ALL: [Detail; 10] =
        [Title, TranslatedTitle, Work, Composer, Poet, Translator, Language, GlossLanguage, Source, Rights];
    select(&ALL[..])
}

/// An edit that is not made of others.
fn single_edit() -> impl Strategy<Value = Edit> {
    use LinePart::*;
    let doubtful_note = (doubtful_text(), prose()).prop_map(|(prompt, text)| Note { prompt, text });
    let note_value = prop_oneof![2 => note(), 1 => doubtful_note].boxed();
    let of_song = prop_oneof![
        (detail(), doubtful_text()).prop_map(|(detail, text)| Edit::SetDetail { detail, text }),
        (idx(), note_value.clone()).prop_map(|(note, value)| Edit::InsertNote { note, value }),
        idx().prop_map(|note| Edit::RemoveNote { note }),
        (idx(), idx()).prop_map(|(note, to)| Edit::MoveNote { note, to }),
        (idx(), note_value).prop_map(|(note, value)| Edit::SetNote { note, value }),
    ];
    let section_value = (section(), doubtful_line()).prop_map(|(mut section, line)| {
        section.lines.push(line);
        section
    });
    let of_sections = prop_oneof![
        (idx(), section_value).prop_map(|(section, value)| Edit::InsertSection { section, value }),
        idx().prop_map(|section| Edit::RemoveSection { section }),
        (idx(), idx()).prop_map(|(section, to)| Edit::MoveSection { section, to }),
        (idx(), doubtful_text()).prop_map(|(section, text)| Edit::SetHeading { section, text }),
        (idx(), doubtful_text()).prop_map(|(section, text)| Edit::SetSpeaker { section, text }),
        line_at().prop_map(|at| Edit::SplitSection { at }),
        idx().prop_map(|section| Edit::JoinSections { section }),
    ];
    let part = select(&[Direction, Cue, Intention, Translation][..]);
    let of_lines = prop_oneof![
        (line_at(), doubtful_line()).prop_map(|(at, value)| Edit::InsertLine { at, value }),
        line_at().prop_map(|at| Edit::RemoveLine { at }),
        (line_at(), line_at()).prop_map(|(at, to)| Edit::MoveLine { at, to }),
        (line_at(), part, doubtful_text()).prop_map(|(at, part, text)| Edit::SetLineText { at, part, text }),
        (line_at(), bars()).prop_map(|(at, bars)| Edit::SetBars { at, bars }),
    ];
    let row = select(&Annotation::ALL[..]);
    let written = (doubtful_text(), prop_oneof![form(), doubtful_text()], doubtful_text(), any::<bool>());
    let note_text = prop_oneof![prose(), doubtful_text()];
    let of_words = prop_oneof![
        (word_at(), idx(), vec(doubtful_word(), 0..4)).prop_map(|(at, remove, words)| Edit::ReplaceWords {
            at,
            remove,
            words
        }),
        (word_at(), idx()).prop_map(|(at, byte)| Edit::SplitWord { at, byte }),
        (word_at(), idx()).prop_map(|(at, count)| Edit::JoinWords { at, count }),
        (word_at(), written).prop_map(|(at, (lead, form, trail, is_joined))| Edit::SetWritten {
            at,
            lead,
            form,
            trail,
            is_joined
        }),
        (word_at(), row, prop_oneof![cell_of(tag_text()), cell_of(doubtful_text())]).prop_map(|(at, row, cell)| {
            Edit::SetCell { at, row, cell }
        }),
        (word_at(), any::<u8>()).prop_map(|(at, link)| Edit::SetLink { at, link: NonZeroU8::new(link) }),
        (word_at(), any::<bool>()).prop_map(|(at, ask)| Edit::SetAsk { at, ask }),
        (word_at(), note_text).prop_map(|(at, text)| Edit::SetWordNote { at, text }),
    ];
    prop_oneof![5 => of_song, 7 => of_sections, 5 => of_lines, 12 => of_words]
}

/// Any edit, in valid places and others.
pub fn edit() -> impl Strategy<Value = Edit> {
    let single = single_edit().boxed();
    let several = vec(single.clone(), 0..4).prop_map(Edit::All).boxed();
    let nested = vec(prop_oneof![single.clone(), several.clone()], 1..4).prop_map(Edit::All);
    prop_oneof![6 => single, 2 => several, 1 => nested]
}

/// What a singer does at the keyboard.
#[derive(Clone, Debug)]
pub enum Step {
    Make(Edit),
    Undo,
    Redo,
    Save,
}

pub fn step() -> impl Strategy<Value = Step> {
    prop_oneof![6 => edit().prop_map(Step::Make), 3 => Just(Step::Undo), 2 => Just(Step::Redo), 1 => Just(Step::Save)]
}

/// A list with some of its items left out and others put in; tells for each item of the new list which old one it is.
pub fn changed<T: Clone + std::fmt::Debug>(
    old: Vec<T>,
    is_kept: &[bool],
    put_in: Vec<(Index, T)>,
) -> (Vec<T>, Vec<Option<usize>>) {
    let kept = old.into_iter().enumerate().filter(|(idx, _)| is_kept.get(*idx).copied().unwrap_or(true));
    let mut new: Vec<(Option<usize>, T)> = kept.map(|(idx, item)| (Some(idx), item)).collect();
    for (place, item) in put_in {
        new.insert(place.index(new.len() + 1), (None, item));
    }
    let (from, items) = new.into_iter().unzip();
    (items, from)
}

mod tests {
    use super::*;
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    use std::collections::BTreeMap;
    use undersong::song::apply;

    /// The name of the variant of an edit.
    fn variant(edit: &Edit) -> String {
        format!("{edit:?}").split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default().to_owned()
    }

    /// Laws that hold for edits say nothing about a variant that is always refused, or never made.
    #[test]
    fn every_edit_is_made_and_each_is_accepted_and_refused() {
        let mut runner = TestRunner::deterministic();
        let (songs, edits) = (song(), single_edit());
        let mut n_accepted_and_refused: BTreeMap<String, [usize; 2]> = BTreeMap::new();
        for _ in 0..3_000 {
            let mut song = songs.new_tree(&mut runner).unwrap().current();
            let edit = edits.new_tree(&mut runner).unwrap().current();
            let is_refused = apply(&mut song, &edit).is_err();
            n_accepted_and_refused.entry(variant(&edit)).or_default()[usize::from(is_refused)] += 1;
        }
        assert_eq!(n_accepted_and_refused.len(), 25, "{n_accepted_and_refused:?}");
        assert!(n_accepted_and_refused.values().flatten().all(|n| *n > 0), "{n_accepted_and_refused:?}");
    }

    /// Every part of a generated song is one that an edit accepts, so that no law is tested on songs that cannot be.
    #[test]
    fn songs_are_what_edits_can_make() {
        let mut runner = TestRunner::deterministic();
        let songs = song();
        for _ in 0..300 {
            let Song { notes, sections, .. } = songs.new_tree(&mut runner).unwrap().current();
            let notes = notes.into_iter().map(|value| Edit::InsertNote { note: 0, value });
            let sections = sections.into_iter().map(|value| Edit::InsertSection { section: 0, value });
            apply(&mut Song::default(), &Edit::All(notes.chain(sections).collect())).unwrap();
        }
    }
}
