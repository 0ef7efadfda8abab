//! What a sheet shows of a song.

use crate::song::{Annotation, Line, Section, Song, Style, Tag, Word};
use crate::text::clean::shown;
use serde::{Deserialize, Serialize};

/// What stands in one row of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[expect(missing_docs, reason = "the names say it")]
pub enum Row {
    Word,
    Sound,
    Gloss,
    Tag,
    Lemma,
}

/// What is asked of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// The rows in the order in which they stand. Rows in which a song has nothing are left out.
    pub rows: Vec<Row>,
    /// How tags are written.
    pub tag_style: Style,
}

impl Default for Options {
    fn default() -> Options {
        Options { rows: vec![Row::Word, Row::Sound, Row::Gloss, Row::Tag], tag_style: Style::Short }
    }
}

/// A composed sheet: every text in its place, nothing measured yet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Title in the language of the song.
    pub title: String,
    /// Title in the singer's language, if there is one.
    pub translated_title: String,
    /// Larger work, composer, poet, translator, source, each with its label; only those that are known.
    pub credits: Vec<(&'static str, String)>,
    /// Situation notes that have an answer.
    pub notes: Vec<(String, String)>,
    /// The rows of the sheet in order.
    pub rows: Vec<Row>,
    /// Headings and lines in order.
    pub parts: Vec<Part>,
    /// Notes on words, numbered through the song.
    pub remarks: Vec<Remark>,
    /// Explanations of the marks that the sheet uses.
    pub legend: Vec<&'static str>,
}

/// A heading or a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// The beginning of a section; either text may be empty.
    #[expect(missing_docs, reason = "the names say it")]
    Heading { heading: String, speaker: String },
    /// A verse line.
    Line(LineBlock),
}

/// A verse line with all that belongs to it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "as in `song::Line`")]
pub struct LineBlock {
    pub bars: String,
    pub direction: String,
    pub cue: String,
    pub intention: String,
    pub translation: String,
    pub columns: Vec<SheetColumn>,
}

/// One word with its rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetColumn {
    /// One cell a row of the sheet.
    pub cells: Vec<CellText>,
    /// Whether the word is joined to the next.
    pub is_joined: bool,
}

/// The text of a cell with its marks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CellText {
    /// The text with the marks that belong to it.
    pub text: String,
    /// Whether the program put it there and the singer has not confirmed it.
    pub is_draft: bool,
}

/// A numbered note on a word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Number, from 1.
    pub number: usize,
    /// The written form.
    pub form: String,
    /// The singer's note.
    pub note: String,
}

/// Stands before a draft; the sheet says so.
const DRAFT_MARK: char = '~';
/// Stands after a word that is to be asked about.
const ASK_MARK: &str = "[?]";

const DRAFT_LEGEND: &str = "~ draft, not yet confirmed";
const ASK_LEGEND: &str = "[?] to be asked at the next coaching";
const LINK_LEGEND: &str = "₁ words with the same small number belong together";

/// Composes a sheet of a song.
pub fn compose(song: &Song, options: &Options) -> Sheet {
    let rows = options.rows.iter().copied().filter(|row| has_row(song, *row)).collect();
    let details = &song.details;
    let mut sheet = Sheet {
        title: shown(&details.title).into_owned(),
        translated_title: shown(&details.translated_title).into_owned(),
        credits: [
            ("from", &details.work),
            ("music", &details.composer),
            ("words", &details.poet),
            ("translation", &details.translator),
            ("source", &details.source),
        ]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(label, text)| (label, shown(text).into_owned()))
        .collect(),
        notes: (song.notes.iter())
            .filter(|note| !note.text.trim().is_empty())
            .map(|note| (shown(&note.prompt).into_owned(), shown(&note.text).into_owned()))
            .collect(),
        rows,
        ..Sheet::default()
    };
    for section in &song.sections {
        compose_section(&mut sheet, section, options.tag_style);
    }
    let words = || song.words().map(|(_, w)| w);
    let legend = [
        (words().any(|w| sheet.rows.iter().any(|row| is_draft(w, *row))), DRAFT_LEGEND),
        (words().any(|w| w.ask), ASK_LEGEND),
        (words().any(|w| w.link.is_some()), LINK_LEGEND),
    ];
    sheet.legend = legend.into_iter().filter(|(is_used, _)| *is_used).map(|(_, text)| text).collect();
    sheet
}

fn compose_section(sheet: &mut Sheet, section: &Section, style: Style) {
    let heading = shown(&section.heading).into_owned();
    let speaker = shown(&section.speaker).into_owned();
    // Without heading or speaker a section is still set off from the one before it.
    if !sheet.parts.is_empty() || !heading.is_empty() || !speaker.is_empty() {
        sheet.parts.push(Part::Heading { heading, speaker });
    }
    for line in &section.lines {
        let block = compose_line(sheet, line, style);
        sheet.parts.push(Part::Line(block));
    }
}

fn compose_line(sheet: &mut Sheet, line: &Line, style: Style) -> LineBlock {
    let columns = line.words.iter().map(|word| compose_word(sheet, word, style)).collect();
    LineBlock {
        bars: line.bars.map(|bars| bars.to_string()).unwrap_or_default(),
        direction: shown(&line.direction).into_owned(),
        cue: shown(&line.cue).into_owned(),
        intention: shown(&line.intention).into_owned(),
        translation: shown(&line.translation).into_owned(),
        columns,
    }
}

fn compose_word(sheet: &mut Sheet, word: &Word, style: Style) -> SheetColumn {
    let mut marks = String::new();
    if let Some(link) = word.link {
        marks.extend(small_digits(link.get().into(), '₀'));
    }
    if !word.note.is_empty() {
        let number = sheet.remarks.len() + 1;
        let (form, note) = (shown(&word.form).into_owned(), shown(&word.note).into_owned());
        sheet.remarks.push(Remark { number, form, note });
        marks.extend(superscript(number));
    }
    if word.ask {
        marks.push_str(ASK_MARK);
    }
    let written = format!("{}{}{marks}{}", shown(&word.lead), shown(&word.form), shown(&word.trail));
    let cells = sheet.rows.iter().map(|row| match row {
        Row::Word => CellText { text: written.clone(), is_draft: false },
        row => {
            let is_draft = is_draft(word, *row);
            let text = row_text(word, *row, style);
            let text = if is_draft { format!("{DRAFT_MARK}{}", shown(&text)) } else { shown(&text).into_owned() };
            CellText { text, is_draft }
        }
    });
    SheetColumn { cells: cells.collect(), is_joined: word.is_joined }
}

fn row_text(word: &Word, row: Row, style: Style) -> String {
    match row {
        Row::Word => word.form.clone(),
        Row::Sound => word.sound.text().to_owned(),
        Row::Gloss => word.gloss.text().to_owned(),
        Row::Tag => word.tag.value().map(|tag: &Tag| tag.print(style)).unwrap_or_default(),
        Row::Lemma => word.lemma.text().to_owned(),
    }
}

/// The written form and the gloss always have a row; the others only where the song has something to show.
fn has_row(song: &Song, row: Row) -> bool {
    match row {
        Row::Word | Row::Gloss => true,
        row => song.words().any(|(_, w)| row.annotation().is_some_and(|a| !w.annotation(a).is_blank())),
    }
}

fn is_draft(word: &Word, row: Row) -> bool {
    row.annotation().is_some_and(|a| word.is_draft(a))
}

fn small_digits(number: u32, zero: char) -> impl Iterator<Item = char> {
    let digits = number.to_string();
    digits.into_bytes().into_iter().filter_map(move |d| char::from_u32(zero as u32 + u32::from(d - b'0')))
}

fn superscript(number: usize) -> impl Iterator<Item = char> {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    number.to_string().into_bytes().into_iter().map(|d| DIGITS[usize::from(d - b'0')])
}

impl Row {
    /// Every row, in the order in which sheets print them.
    pub const ALL: [Row; 5] = [Row::Word, Row::Sound, Row::Gloss, Row::Tag, Row::Lemma];

    /// Returns the name of the row, in small letters.
    pub fn name(self) -> &'static str {
        self.annotation().map_or("word", Annotation::name)
    }

    /// Returns the annotation that the row shows; the row of written forms shows none.
    pub fn annotation(self) -> Option<Annotation> {
        match self {
            Row::Word => None,
            Row::Sound => Some(Annotation::Sound),
            Row::Gloss => Some(Annotation::Gloss),
            Row::Tag => Some(Annotation::Tag),
            Row::Lemma => Some(Annotation::Lemma),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::song::{Cell, Note};
    use std::num::NonZeroU8;

    fn sheet_of(words: Vec<Word>) -> Sheet {
        let line = Line { words, ..Line::default() };
        let song = Song { sections: vec![Section { lines: vec![line], ..Section::default() }], ..Song::default() };
        compose(&song, &Options::default())
    }

    fn texts(sheet: &Sheet) -> Vec<Vec<&str>> {
        let Some(Part::Line(line)) = sheet.parts.first() else { panic!("{sheet:?}") };
        line.columns.iter().map(|c| c.cells.iter().map(|c| c.text.as_str()).collect()).collect()
    }

    #[test]
    fn marks_of_a_word() {
        let word = Word {
            lead: "«".into(),
            trail: ",".into(),
            link: NonZeroU8::new(12),
            ask: true,
            note: "old form".into(),
            gloss: Cell::Draft("rises".into()),
            ..Word::new("steigt")
        };
        let sheet = sheet_of(vec![word]);
        assert_eq!(texts(&sheet), [["«steigt₁₂¹[?],", "~rises"]]);
        assert_eq!(sheet.remarks, [Remark { number: 1, form: "steigt".into(), note: "old form".into() }]);
        assert_eq!(sheet.legend, [DRAFT_LEGEND, ASK_LEGEND, LINK_LEGEND]);
    }

    #[test]
    fn rows_without_content_are_left_out() {
        let sheet = sheet_of(vec![Word::new("notte")]);
        assert_eq!(sheet.rows, [Row::Word, Row::Gloss]);
        assert!(sheet.legend.is_empty());
    }

    #[test]
    fn control_characters_are_made_visible() {
        let mut song = Song::default();
        song.details.title = "\u{1b}[2J".into();
        song.notes = vec![Note { prompt: "\u{7}".into(), text: "a\nb".into() }];
        let sheet = compose(&song, &Options::default());
        assert_eq!(sheet.title, "␛[2J");
        assert_eq!(sheet.notes, [("␇".into(), "a\nb".into())]);
    }
}
