//! Strategies: songs, edits and texts that favour what a careless program trips over.
//!
//! [`song`] makes any song that could stand in a file, [`edit`] any edit of it, sensible or not. They are boxed, since a
//! strategy for a whole song would not fit the stack otherwise. Nothing here checks anything but that they reach what they
//! promise.

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use std::num::NonZeroU8;
use undersong::song::{
    Annotation, Bars, Cell, Detail, Details, Edit, Line, LineAt, LinePart, Note, Section, Song, Tag, Word, WordAt,
};
use undersong::text::clean::storable;

/// Texts that mean something to YAML or Markdown when they stand alone or at the start of a text.
#[rustfmt::skip]
const WHOLE: [&str; 37] = [
    "night", "no", "~", "null", "1.10", "true", "0x1F", "1e3", ".inf", "12:30", "2001-01-01", "<<", "=", "- x",
    "? x", ": ", "# x", "x #", "{}", "[]", "{a: b}", "\"", "'", "&a", "*a", "!t", "|", ">", "%", "@", "---",
    "...", "```", ":--", "1. x", " x ", "    x",
];

/// Pieces of which other texts are made: letters of several scripts and widths, marks, apostrophes, invisible characters,
/// punctuation.
#[rustfmt::skip]
const PIECES: [&str; 88] = [
    "a", "notte", "Ä", "è", "ß", "愛", "愛してる", "ｱ", "любо\u{301}вь", "мой", "ё", "각", "\u{1100}", "\u{1161}",
    "ن", "ाि", "e\u{301}", "\u{301}", "\u{323}", "\u{20dd}", "ː", "t\u{361}ʃ", "👩\u{200d}👩\u{200d}👧", "🇮🇹", "🇮",
    "☺\u{fe0f}", "\u{fe0f}", "1\u{fe0f}\u{20e3}", "\u{200d}", "\u{200c}", "\u{200b}", "\u{feff}", "\u{ad}",
    "\u{202e}", "\u{2028}", "\u{fffe}", "\u{e000}", "\u{10ffff}", "\u{1b}[31m", "\u{7f}", "\u{85}", "\t", " ",
    "  ", "\u{a0}", "\u{202f}", "\u{3000}", "'", "’", "‘", "ʼ", "´", "`", "``", "-", "\u{2011}", "—", "…", ".",
    ", ", ": ", ":", " #", "#", "\"", "{", "}", "[", "]", "(", ")", "|", "\\", "\\|", "/", "*", "**", "_", "~",
    "~~", "<", ">", "<b>", "&amp;", "&#124;", "$", "!", "12",
];

/// Words longer than any page is wide.
const LONG: [&str; 2] = [
    "precipitevolissimevolmente-precipitevolissimevolmente-precipitevolissimevolmente-precipitevolissimevolmente",
    "愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛愛",
];

/// Forms that come back in a song, some of them alike but for capitals, accents or the shape of an apostrophe.
const FORMS: [&str; 14] =
    ["la", "La", "là", "l’", "L'", "e", "è", "E", "notte", "notti", "sol", "Мой", "愛", "la notte"];

/// Glosses that come back in a song.
const GLOSSES: [&str; 6] = ["the", "her", "night", "and", "I-see", "NOT"];

/// Tags and pieces of tags, known and unknown.
const TAG_PIECES: [&str; 22] = [
    "NOUN", "VERB", "PRON", "DET", "ADP", "F", "M", "SG", "PL", "1", "3", "3SG", "1PL", "PRS", "PST", "IND", "PTCP",
    "POSS", "DEF", "NEG", "REFL", "n. f.",
];

fn owned(texts: &'static [&'static str]) -> impl Strategy<Value = String> + Clone {
    select(texts).prop_map(str::to_owned)
}

/// Any text, as a keyboard or a file may bring it.
///
/// A piece is two numbers instead of a choice among strategies, since choices would make most of the run time.
fn raw() -> impl Strategy<Value = String> {
    (0usize..7, vec((0u8..32, 0u32..0x11_0000), 1..6)).prop_map(|(kind, numbers)| match kind {
        0..3 => WHOLE[numbers[0].1 as usize % WHOLE.len()].to_owned(),
        _ => numbers.into_iter().map(|(kind, number)| piece(kind, number)).collect(),
    })
}

/// Two pieces in thirty-two are any character at all, one is a long word.
fn piece(kind: u8, number: u32) -> String {
    let idx = number as usize;
    match kind {
        0..29 => PIECES[idx % PIECES.len()].to_owned(),
        29 => LONG[idx % LONG.len()].to_owned(),
        // Surrogates are no characters.
        _ => char::from_u32(number).unwrap_or_default().to_string(),
    }
}

/// A text of one line that may stand in a song; never empty, though it may be blank.
pub fn text() -> BoxedStrategy<String> {
    raw().prop_map(one_line).boxed()
}

fn one_line(text: String) -> String {
    storable(&text.replace('\n', " "))
}

/// A text that is empty more often than not.
fn rare_text() -> BoxedStrategy<String> {
    (0usize..5, raw()).prop_map(|(kind, text)| if kind < 3 { String::new() } else { one_line(text) }).boxed()
}

/// A text of several lines, of one, or of none.
fn prose() -> BoxedStrategy<String> {
    vec(rare_text(), 0..4).prop_map(|lines| lines.join("\n")).boxed()
}

/// A text that an edit must refuse now and then.
fn doubtful_text() -> BoxedStrategy<String> {
    const WRONG: [&str; 6] = ["a\nb", "e\u{301}", "\u{1b}[2J", "\u{202e}", "\r", "\u{85}"];
    (0usize..54, raw())
        .prop_map(|(kind, text)| match kind {
            0..36 => one_line(text),
            36..48 => String::new(),
            kind => WRONG[kind - 48].to_owned(),
        })
        .boxed()
}

/// A written form: not empty, no space around it.
pub fn form() -> BoxedStrategy<String> {
    (0usize..2 * FORMS.len(), raw())
        .prop_map(|(known, text)| FORMS.get(known).map_or_else(|| trimmed(one_line(text)), |form| (*form).to_owned()))
        .boxed()
}

/// A list that may be empty, but seldom is.
fn some<T: std::fmt::Debug + 'static>(items: BoxedStrategy<T>, most: usize) -> impl Strategy<Value = Vec<T>> {
    (0usize..10, vec(items, 1..=most)).prop_map(|(kind, items)| if kind == 9 { Vec::new() } else { items })
}

/// What stands in a cell: like a form, with no space around it.
fn cell_text() -> impl Strategy<Value = String> {
    raw().prop_map(|text| trimmed(one_line(text)))
}

fn trimmed(text: String) -> String {
    Some(text.trim().to_owned()).filter(|text| !text.is_empty()).unwrap_or("…".into())
}

fn cell_of(text: impl Strategy<Value = String>) -> impl Strategy<Value = Cell<String>> {
    (0..3, text).prop_map(|(kind, text)| match kind {
        0 => Cell::Blank,
        1 => Cell::Draft(text),
        _ => Cell::Settled(text),
    })
}

fn gloss() -> impl Strategy<Value = String> {
    (0usize..GLOSSES.len() * 3 / 2, raw()).prop_map(|(known, text)| {
        GLOSSES.get(known).map_or_else(|| trimmed(one_line(text)), |gloss| (*gloss).to_owned())
    })
}

fn tag_text() -> BoxedStrategy<String> {
    (0usize..4, vec(0usize..TAG_PIECES.len(), 1..5), raw())
        .prop_map(|(kind, pieces, text)| {
            let between = [".", " ", ", "].get(kind);
            let pieces: Vec<&str> = pieces.into_iter().map(|idx| TAG_PIECES[idx]).collect();
            between.map_or_else(|| trimmed(one_line(text)), |between| pieces.join(between))
        })
        .boxed()
}

/// A word; some are linked, asked about or noted.
pub fn word() -> BoxedStrategy<Word> {
    let written = (rare_text(), form(), rare_text(), any::<bool>());
    let marks = (any::<u8>(), any::<bool>(), 0usize..4, prose());
    let cells = (cell_of(cell_text()), cell_of(gloss()), cell_of(tag_text()), cell_of(cell_text()));
    (written, cells, marks)
        .prop_map(|(written, cells, marks)| {
            let (lead, form, trail, is_joined) = written;
            let (sound, gloss, tag, lemma) = cells;
            let (link, ask, kind, note) = marks;
            let link = NonZeroU8::new(match link {
                0..60 => link % 4,
                60..252 => 0,
                252.. => link,
            });
            let note = if kind == 0 { note } else { String::new() };
            let tag = tag.map(|text| Tag::parse(&text));
            Word { lead, form, trail, is_joined, link, sound, gloss, tag, lemma, ask, note }
        })
        .boxed()
}

fn bars() -> impl Strategy<Value = Option<Bars>> {
    (0..10, any::<u32>(), any::<u32>()).prop_map(|(kind, a, b)| match kind {
        0..5 => None,
        5..9 => Bars::new(a % 200, a % 200 + b % 9),
        _ => Bars::new(a.min(b), a.max(b)),
    })
}

fn line() -> BoxedStrategy<Line> {
    let texts = (rare_text(), rare_text(), rare_text(), rare_text());
    (bars(), texts, some(word(), 5))
        .prop_map(|(bars, (direction, cue, intention, translation), words)| Line {
            bars,
            direction,
            cue,
            intention,
            translation,
            words,
        })
        .boxed()
}

/// A section; its first line may come back at its end, as yet without annotations.
fn section() -> BoxedStrategy<Section> {
    (rare_text(), rare_text(), some(line(), 3), any::<bool>())
        .prop_map(|(heading, speaker, mut lines, comes_back)| {
            if let Some(first) = lines.first().filter(|_| comes_back) {
                let words =
                    first.words.iter().map(|w| Word { is_joined: w.is_joined, ..Word::new(&*w.form) }).collect();
                lines.push(Line { words, ..Line::default() });
            }
            Section { heading, speaker, lines }
        })
        .boxed()
}

fn note() -> BoxedStrategy<Note> {
    (text(), prose()).prop_map(|(prompt, text)| Note { prompt, text }).boxed()
}

fn language() -> impl Strategy<Value = String> {
    prop_oneof![9 => owned(&["it", "de", "fr", "la", "es", "ru", "en", "it-CH", "tlh", ""]), 1 => text()]
}

/// Any song that could stand in a file.
pub fn song() -> BoxedStrategy<Song> {
    let details = (vec(rare_text(), 8), language(), language()).prop_map(|(texts, language, gloss_language)| {
        let [title, translated_title, work, composer, poet, translator, source, rights] =
            texts.try_into().expect("eight texts");
        Details { title, translated_title, work, composer, poet, translator, language, gloss_language, source, rights }
    });
    let parts = (rare_text(), details, some(note(), 2), some(section(), 3));
    parts.prop_map(|(id, details, notes, sections)| Song { id, details, notes, sections }).boxed()
}

/// An index that is often there, and now and then as wrong as can be.
fn idx() -> impl Strategy<Value = usize> {
    prop_oneof![12 => 0usize..2, 5 => 2usize..6, 1 => Just(usize::MAX)]
}

fn line_at() -> impl Strategy<Value = LineAt> {
    (idx(), idx()).prop_map(|(section, line)| LineAt { section, line })
}

fn word_at() -> impl Strategy<Value = WordAt> {
    (line_at(), idx()).prop_map(|(line, word)| line.word(word))
}

/// A word with a text that an edit must refuse now and then.
fn doubtful_word() -> BoxedStrategy<Word> {
    let spoilt = (word(), doubtful_text(), 0..6).prop_map(|(word, text, part)| match part {
        0 => Word { lead: text, ..word },
        1 => Word { form: text, ..word },
        2 => Word { trail: text, ..word },
        3 => Word { note: text, ..word },
        4 if !text.is_empty() => Word { lemma: Cell::Draft(text), ..word },
        _ => word,
    });
    prop_oneof![2 => word(), 1 => spoilt].boxed()
}

/// A line with a word or a text that an edit must refuse now and then.
fn doubtful_line() -> BoxedStrategy<Line> {
    let spoilt = (line(), doubtful_word()).prop_map(|(mut line, word)| {
        line.words.push(word);
        line
    });
    let with_text = (line(), doubtful_text()).prop_map(|(line, cue)| Line { cue, ..line });
    prop_oneof![2 => line(), 1 => spoilt, 1 => with_text].boxed()
}

fn detail() -> impl Strategy<Value = Detail> {
    use Detail::*;
    const ALL: [Detail; 10] =
        [Title, TranslatedTitle, Work, Composer, Poet, Translator, Language, GlossLanguage, Source, Rights];
    select(&ALL[..])
}

/// An edit that is not made of others.
fn single_edit() -> BoxedStrategy<Edit> {
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
    let words = vec(doubtful_word(), 0..4);
    let cell = prop_oneof![cell_of(tag_text()), cell_of(doubtful_text())];
    let of_words = prop_oneof![
        (word_at(), idx(), words).prop_map(|(at, remove, words)| Edit::ReplaceWords { at, remove, words }),
        (word_at(), idx()).prop_map(|(at, byte)| Edit::SplitWord { at, byte }),
        (word_at(), idx()).prop_map(|(at, count)| Edit::JoinWords { at, count }),
        (word_at(), written).prop_map(|(at, (lead, form, trail, is_joined))| Edit::SetWritten {
            at,
            lead,
            form,
            trail,
            is_joined
        }),
        (word_at(), row, cell).prop_map(|(at, row, cell)| Edit::SetCell { at, row, cell }),
        (word_at(), any::<u8>()).prop_map(|(at, link)| Edit::SetLink { at, link: NonZeroU8::new(link) }),
        (word_at(), any::<bool>()).prop_map(|(at, ask)| Edit::SetAsk { at, ask }),
        (word_at(), note_text).prop_map(|(at, text)| Edit::SetWordNote { at, text }),
    ];
    prop_oneof![5 => of_song, 7 => of_sections, 5 => of_lines, 12 => of_words].boxed()
}

/// Any edit, in valid places and others.
pub fn edit() -> BoxedStrategy<Edit> {
    let single = single_edit();
    let several = vec(single.clone(), 0..4).prop_map(Edit::All).boxed();
    let nested = vec(prop_oneof![single.clone(), several.clone()], 1..4).prop_map(Edit::All);
    prop_oneof![6 => single, 2 => several, 1 => nested].boxed()
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

mod tests {
    use super::*;
    use proptest::strategy::ValueTree;
    use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};
    use std::collections::BTreeMap;
    use undersong::song::apply;

    fn runner() -> TestRunner {
        TestRunner::new_with_rng(ProptestConfig::default(), TestRng::deterministic_rng(RngAlgorithm::XorShift))
    }

    /// The name of the variant of an edit.
    fn variant(edit: &Edit) -> String {
        format!("{edit:?}").split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default().to_owned()
    }

    /// Laws that hold for edits say nothing about a variant that is always refused, or never made.
    #[test]
    fn every_edit_is_made_and_each_is_accepted_and_refused() {
        let mut runner = runner();
        let (songs, edits) = (song(), single_edit());
        let mut n_accepted_and_refused: BTreeMap<String, [usize; 2]> = BTreeMap::new();
        for _ in 0..1_000 {
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
        let mut runner = runner();
        let songs = song();
        for _ in 0..100 {
            let Song { notes, sections, .. } = songs.new_tree(&mut runner).unwrap().current();
            let notes = notes.into_iter().map(|value| Edit::InsertNote { note: 0, value });
            let sections = sections.into_iter().map(|value| Edit::InsertSection { section: 0, value });
            apply(&mut Song::default(), &Edit::All(notes.chain(sections).collect())).unwrap();
        }
    }
}
