//! The document: a song and its parts, as values.

use super::Tag;
use serde::{Deserialize, Serialize};
use std::num::NonZeroU8;

/// One piece: an aria, a Lied, a mélodie, a motet, a recitative.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Song {
    /// What names the song for the lexicon, whatever the file is called; empty in a file written by hand. See [`Song::key`].
    pub id: String,
    /// Titles, names, languages and rights.
    pub details: Details,
    /// Situation notes in the singer's order.
    pub notes: Vec<Note>,
    /// Stanzas, refrains, recitatives in the order in which they are sung.
    pub sections: Vec<Section>,
}

/// What stands above a song; every text may be empty.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Details {
    /// Title in the language of the song.
    pub title: String,
    /// Title in the singer's language.
    pub translated_title: String,
    /// The larger work: opera and act, cycle and number.
    pub work: String,
    /// Composer, with dates if the singer wants them printed.
    pub composer: String,
    /// Poet or librettist.
    pub poet: String,
    /// Who made the free translation.
    pub translator: String,
    /// Language of the text, a BCP 47 tag.
    pub language: String,
    /// Language of glosses and translation, a BCP 47 tag.
    pub gloss_language: String,
    /// Edition from which the text was taken.
    pub source: String,
    /// Who must be asked before text or translation is printed for an audience.
    pub rights: String,
}

/// Names one of the [`Details`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "see the fields of `Details`")]
pub enum Detail {
    Title,
    TranslatedTitle,
    Work,
    Composer,
    Poet,
    Translator,
    Language,
    GlossLanguage,
    Source,
    Rights,
}

/// One question of the situation and the singer's answer.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// The question, one line.
    pub prompt: String,
    /// The answer, possibly of several lines; empty while unanswered.
    pub text: String,
}

/// A stanza, a refrain, a recitative, a part of a scene.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Section {
    /// Heading or stanza number as printed.
    pub heading: String,
    /// Who sings.
    pub speaker: String,
    /// Verse lines.
    pub lines: Vec<Line>,
}

/// One verse line. A line without words holds a stage direction that stands at the end of a section.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// Bars in which the line is sung.
    pub bars: Option<Bars>,
    /// Stage direction that stands before the words.
    pub direction: String,
    /// What the singer hears or sees before entering.
    pub cue: String,
    /// What the singer wants to do to the other with this line.
    pub intention: String,
    /// Free translation.
    pub translation: String,
    /// Columns of the sheet.
    pub words: Vec<Word>,
}

/// A bar or a range of bars, counted as in the score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Bars {
    first: u32,
    last: u32,
}

/// One column of the sheet: a written form, or a phrase glossed as one, and what stands under it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Word {
    /// Punctuation before the form, for example `«` or `¿`.
    pub lead: String,
    /// The written form without punctuation; a phrase holds spaces.
    pub form: String,
    /// Punctuation after the form, with the space before it where the text has one (` —`).
    pub trail: String,
    /// Whether no space separates the word from the next (`l’` + `amore`).
    pub is_joined: bool,
    /// Words of one line with the same number belong together although they stand apart.
    pub link: Option<NonZeroU8>,
    /// Sound in IPA, where it is not what the program derives.
    pub sound: Cell<String>,
    /// Literal meaning, one word or several joined by hyphens or periods.
    pub gloss: Cell<String>,
    /// Part of speech and inflection.
    pub tag: Cell<Tag>,
    /// Dictionary form.
    pub lemma: Cell<String>,
    /// Whether the word is to be asked about at the next coaching.
    pub ask: bool,
    /// The singer's remark on the word.
    pub note: String,
}

/// What stands in one row under a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[expect(missing_docs, reason = "see the fields of `Word`")]
pub enum Annotation {
    Sound,
    Gloss,
    Tag,
    Lemma,
}

/// The content of one row under a word, and who put it there.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cell<T> {
    /// Nothing yet.
    #[default]
    Blank,
    /// Filled in by the program.
    Draft(T),
    /// Confirmed by the singer.
    Settled(T),
}

impl Song {
    /// Returns what the lexicon knows the song by: its id, or composer and title where it has none.
    pub fn key(&self) -> String {
        if !self.id.is_empty() {
            return self.id.clone();
        }
        let name = format!("{} {}", self.details.composer, self.details.title);
        crate::text::fold::finding_key(&name)
            .split(|c: char| !c.is_alphanumeric())
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join("-")
    }

    /// Returns every line with its place, in order.
    pub fn lines(&self) -> impl Iterator<Item = (super::LineAt, &Line)> {
        self.sections.iter().enumerate().flat_map(|(section, s)| {
            s.lines.iter().enumerate().map(move |(line, l)| (super::LineAt { section, line }, l))
        })
    }

    /// Returns every word with its place, in order.
    pub fn words(&self) -> impl Iterator<Item = (super::WordAt, &Word)> {
        self.lines().flat_map(|(at, line)| line.words.iter().enumerate().map(move |(word, w)| (at.word(word), w)))
    }
}

impl Details {
    /// Returns one of the details.
    pub fn get(&self, detail: Detail) -> &str {
        match detail {
            Detail::Title => &self.title,
            Detail::TranslatedTitle => &self.translated_title,
            Detail::Work => &self.work,
            Detail::Composer => &self.composer,
            Detail::Poet => &self.poet,
            Detail::Translator => &self.translator,
            Detail::Language => &self.language,
            Detail::GlossLanguage => &self.gloss_language,
            Detail::Source => &self.source,
            Detail::Rights => &self.rights,
        }
    }

    pub(super) fn get_mut(&mut self, detail: Detail) -> &mut String {
        match detail {
            Detail::Title => &mut self.title,
            Detail::TranslatedTitle => &mut self.translated_title,
            Detail::Work => &mut self.work,
            Detail::Composer => &mut self.composer,
            Detail::Poet => &mut self.poet,
            Detail::Translator => &mut self.translator,
            Detail::Language => &mut self.language,
            Detail::GlossLanguage => &mut self.gloss_language,
            Detail::Source => &mut self.source,
            Detail::Rights => &mut self.rights,
        }
    }
}

impl Line {
    /// Returns the text of the line as it is written: forms with their punctuation and the spaces between them.
    pub fn text(&self) -> String {
        text_of(&self.words)
    }
}

/// Returns the text of a run of words, without a space at its end.
pub fn text_of(words: &[Word]) -> String {
    let mut text = String::new();
    for (idx, word) in words.iter().enumerate() {
        text.push_str(&word.lead);
        text.push_str(&word.form);
        text.push_str(&word.trail);
        if !word.is_joined && idx + 1 < words.len() {
            text.push(' ');
        }
    }
    text
}

impl Bars {
    /// Makes a range; `None` unless `first <= last`.
    pub fn new(first: u32, last: u32) -> Option<Bars> {
        (first <= last).then_some(Bars { first, last })
    }

    /// Returns the bar in which the line begins.
    pub fn first(self) -> u32 {
        self.first
    }

    /// Returns the bar in which the line ends.
    pub fn last(self) -> u32 {
        self.last
    }
}

impl std::fmt::Display for Bars {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.first == self.last { write!(f, "{}", self.first) } else { write!(f, "{}-{}", self.first, self.last) }
    }
}

impl std::str::FromStr for Bars {
    type Err = ();

    /// Reads `12` or `12-15`, with a hyphen or an en dash.
    fn from_str(text: &str) -> Result<Bars, ()> {
        let mut numbers = text.split(['-', '–']).map(|n| n.trim().parse::<u32>());
        let first = numbers.next().and_then(Result::ok).ok_or(())?;
        let last = numbers.next().map_or(Ok(first), |n| n.map_err(|_| ()))?;
        if numbers.next().is_some() { Err(()) } else { Bars::new(first, last).ok_or(()) }
    }
}

impl Word {
    /// Makes a word without punctuation or annotations.
    pub fn new(form: impl Into<String>) -> Word {
        Word { form: form.into(), ..Word::default() }
    }

    /// Tells whether there is anything to gloss: the form holds a letter or a digit.
    pub fn is_glossable(&self) -> bool {
        self.form.chars().any(char::is_alphanumeric)
    }

    /// Tells whether the singer has confirmed the word: it has a settled gloss and no draft.
    pub fn is_settled(&self) -> bool {
        matches!(self.gloss, Cell::Settled(_)) && !self.has_draft()
    }

    /// Tells whether the program filled in a cell that the singer has not confirmed.
    pub fn has_draft(&self) -> bool {
        Annotation::ALL.into_iter().any(|row| self.is_draft(row))
    }

    /// Tells whether the cell in this row is a draft.
    pub fn is_draft(&self, row: Annotation) -> bool {
        matches!(self.annotation(row), Cell::Draft(_))
    }

    /// Returns the cell of a row; a tag as text in the short style.
    pub fn annotation(&self, row: Annotation) -> Cell<String> {
        match row {
            Annotation::Sound => self.sound.clone(),
            Annotation::Gloss => self.gloss.clone(),
            Annotation::Tag => self.tag.as_ref().map(Tag::to_string),
            Annotation::Lemma => self.lemma.clone(),
        }
    }

    /// Puts a cell into a row, without the spaces around its text; without text it is blank. Text in the tag row is read as a tag.
    pub(crate) fn set_annotation(&mut self, row: Annotation, cell: Cell<String>) {
        let cell = match cell.map(|text| text.trim().to_owned()) {
            filled if filled.value().is_some_and(|text| !text.is_empty()) => filled,
            _ => Cell::Blank,
        };
        match row {
            Annotation::Sound => self.sound = cell,
            Annotation::Gloss => self.gloss = cell,
            Annotation::Tag => self.tag = cell.map(|text| Tag::parse(&text)),
            Annotation::Lemma => self.lemma = cell,
        }
    }
}

impl Annotation {
    /// The rows under a word in the order in which sheets print them.
    pub const ALL: [Annotation; 4] = [Annotation::Sound, Annotation::Gloss, Annotation::Tag, Annotation::Lemma];

    /// Returns the name of the row, in small letters.
    pub fn name(self) -> &'static str {
        match self {
            Annotation::Sound => "sound",
            Annotation::Gloss => "gloss",
            Annotation::Tag => "tag",
            Annotation::Lemma => "lemma",
        }
    }
}

impl<T> Cell<T> {
    /// Returns what stands in the cell.
    pub fn value(&self) -> Option<&T> {
        match self {
            Cell::Blank => None,
            Cell::Draft(value) | Cell::Settled(value) => Some(value),
        }
    }

    /// Tells whether nothing stands in the cell.
    pub fn is_blank(&self) -> bool {
        matches!(self, Cell::Blank)
    }

    /// Tells whether the singer has confirmed the cell.
    pub fn is_settled(&self) -> bool {
        matches!(self, Cell::Settled(_))
    }

    /// Returns the same cell with another content.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Cell<U> {
        match self {
            Cell::Blank => Cell::Blank,
            Cell::Draft(value) => Cell::Draft(f(value)),
            Cell::Settled(value) => Cell::Settled(f(value)),
        }
    }

    /// Returns a cell that borrows the content.
    pub fn as_ref(&self) -> Cell<&T> {
        match self {
            Cell::Blank => Cell::Blank,
            Cell::Draft(value) => Cell::Draft(value),
            Cell::Settled(value) => Cell::Settled(value),
        }
    }

    /// Returns the same content as a draft.
    pub fn into_draft(self) -> Cell<T> {
        match self {
            Cell::Settled(value) => Cell::Draft(value),
            other => other,
        }
    }
}

impl Cell<String> {
    /// Returns the text of the cell, empty where it is blank.
    pub fn text(&self) -> &str {
        self.value().map_or("", String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_has_spaces_where_words_are_not_joined() {
        let joined = Word { is_joined: true, ..Word::new("l’") };
        let words = vec![Word::new("Ah"), joined, Word { trail: "!".into(), ..Word::new("amore") }];
        assert_eq!(text_of(&words), "Ah l’amore!");
    }

    #[test]
    fn bars_are_read_and_printed() {
        for (text, printed) in [("12", "12"), ("12-15", "12-15"), ("3 – 4", "3-4"), ("7-7", "7")] {
            assert_eq!(text.parse::<Bars>().unwrap().to_string(), printed);
        }
        for wrong in ["", "a", "5-3", "1-2-3", "-3", "4294967296"] {
            assert!(wrong.parse::<Bars>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_song_without_id_goes_by_composer_and_title() {
        let mut song = Song::default();
        song.details.composer = "Odile Varennes-Marchal".into();
        song.details.title = "Brume d’été".into();
        assert_eq!(song.key(), "odile-varennes-marchal-brume-d-ete");
        song.id = "brume".into();
        assert_eq!(song.key(), "brume");
    }
}
