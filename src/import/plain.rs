//! Plain text as it is pasted: stanzas, speakers, stage directions, bar numbers and refrains are recognised by their looks.
//!
//! What is not recognised is a verse line. Nothing is dropped but white space, verse numbers and the marks that set off what was
//! recognised, and for each guess there is a [`Remark`] that the commands print.

use super::margin::{self, Kind, Margin};
use super::words;
use crate::language::Language;
use crate::song::{Bars, Line, Section};
use crate::text;
use std::collections::HashMap;
use std::fmt;

/// A pasted text as sections, and what was understood of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pasted {
    /// Stanzas and speeches in order.
    pub sections: Vec<Section>,
    /// What was recognised and how often.
    pub remarks: Vec<Remark>,
}

/// Something that was recognised in a pasted text, with the number of places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Remark {
    Headings(usize),
    Speakers(usize),
    Directions(usize),
    BarNumbers(usize),
    /// Numbers that count the verse lines of an edition; they are left out.
    VerseNumbers(usize),
}

/// Reads a pasted text in a language.
pub fn paste(language: &dyn Language, text: &str) -> Pasted {
    let text = text::clean::pasted(text);
    let lines = paragraphs(&text);
    let numbers = Numbers::of(&lines);
    let names = Names::of(&lines);
    let mut reader = Reader::new(language);
    for (idx, line) in lines.iter().enumerate() {
        let starts_paragraph = idx == 0 || lines[idx - 1].is_empty();
        reader.read(line, starts_paragraph, numbers.get(idx), &names);
    }
    reader.finish(&numbers)
}

/// The lines of a text, blank ones empty; where every line stands alone, the blank lines between them do not count.
fn paragraphs(text: &str) -> Vec<&str> {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let full = lines.iter().filter(|l| !l.is_empty()).count();
    let is_double_spaced = full > 3 && !lines.windows(2).any(|pair| !pair[0].is_empty() && !pair[1].is_empty());
    if !is_double_spaced {
        return lines;
    }
    // One blank line is only spacing; two or more still part stanzas.
    let mut kept = Vec::new();
    let mut n_blank = 0;
    for line in lines {
        if line.is_empty() {
            n_blank += 1;
            continue;
        }
        if n_blank > 1 {
            kept.push("");
        }
        n_blank = 0;
        kept.push(line);
    }
    kept
}

/// The numbers in the margins of a text, and what they count.
struct Numbers<'a> {
    by_line: HashMap<usize, Margin<'a>>,
    are_verse_numbers: bool,
}

impl<'a> Numbers<'a> {
    /// Numbers count if they rise; those without a mark only if there are several, those after one space only if most lines have one.
    fn of(lines: &[&'a str]) -> Numbers<'a> {
        let candidates: Vec<(usize, Margin<'a>)> = lines
            .iter()
            .enumerate()
            .filter_map(|(idx, line)| Some((idx, margin::find(line).filter(|m| !m.text.is_empty())?)))
            .collect();
        let n_full = lines.iter().filter(|l| !l.is_empty()).count();
        let n_spaced = candidates.iter().filter(|(_, m)| m.kind == Kind::Space).count();
        let n_unmarked = candidates.iter().filter(|(_, m)| m.kind != Kind::Marked).count();
        let spaced_count = n_spaced >= 2 && n_spaced * 2 > n_full;
        let kept: Vec<(usize, Margin<'a>)> = candidates
            .into_iter()
            .filter(|(_, m)| match m.kind {
                Kind::Marked => true,
                Kind::Gap => n_unmarked >= 2 || n_full == 1,
                Kind::Space => spaced_count,
            })
            .collect();
        let rises = kept.is_sorted_by(|(_, a), (_, b)| a.number.first() < b.number.first());
        let are_verse_numbers = kept.len() >= 2
            && kept.iter().all(|(idx, m)| {
                let ordinal = lines[..=*idx].iter().filter(|l| !l.is_empty()).count();
                m.kind == Kind::Gap && m.number.first() == m.number.last() && m.number.first() as usize == ordinal
            });
        Numbers { by_line: if rises { kept.into_iter().collect() } else { HashMap::new() }, are_verse_numbers }
    }

    fn get(&self, idx: usize) -> Option<(&'a str, Option<Bars>)> {
        let margin = self.by_line.get(&idx)?;
        Some((margin.text, (!self.are_verse_numbers).then_some(margin.number)))
    }
}

/// The names of speakers in a text.
struct Names {
    capitals_mean_names: bool,
    /// How often each beginning of a line before a colon occurs.
    before_colon: HashMap<String, usize>,
}

impl Names {
    fn of(lines: &[&str]) -> Names {
        let full: Vec<&&str> = lines.iter().filter(|l| !l.is_empty()).collect();
        let n_capital = full.iter().filter(|l| is_in_capitals(l)).count();
        let mut before_colon = HashMap::new();
        for name in full.iter().filter_map(|l| l.split_once(':')).map(|(name, _)| name) {
            *before_colon.entry(name.to_owned()).or_insert(0) += 1;
        }
        Names { capitals_mean_names: n_capital * 2 <= full.len(), before_colon }
    }

    /// Splits a line that begins with a speaker: name, direction after the name, what is sung.
    ///
    /// A name in capitals stands alone or before a colon; one in small letters stands before a colon more than once, or alone
    /// with a colon where a paragraph begins.
    fn split<'a>(&self, line: &'a str, starts_paragraph: bool) -> Option<(&'a str, &'a str, &'a str)> {
        let (before, sung) = match line.split_once(':') {
            Some((before, sung)) => (before.trim_end(), Some(sung.trim_start())),
            None => (line, None),
        };
        let (name, direction) = match before.split_once(['(', '[']) {
            Some((name, rest)) => (name.trim_end(), rest.trim_end_matches([')', ']', '.', ' '])),
            None => (before, ""),
        };
        let name = name.trim_end_matches(['.', ',', ' ']);
        if name.is_empty() || name.split_whitespace().count() > 5 {
            return None;
        }
        let in_capitals = self.capitals_mean_names && is_in_capitals(name);
        let n_uses = self.before_colon.get(before).copied().unwrap_or(0);
        let is_name = match sung {
            None => in_capitals && !line.ends_with(['!', '?', ',', ';', '…']),
            Some("") => in_capitals || (is_capitalised(name) && (starts_paragraph || n_uses > 1)),
            Some(_) => in_capitals || (is_capitalised(name) && n_uses > 1),
        };
        is_name.then(|| (name, direction, sung.unwrap_or_default()))
    }
}

/// Two letters or more, none of them small but in the little words that join names.
fn is_in_capitals(text: &str) -> bool {
    let before_bracket = text.split(['(', '[', ':']).next().unwrap_or_default();
    let names = before_bracket.split_whitespace().filter(|w| !NAME_JOINS.contains(w));
    let letters: Vec<char> = names.flat_map(str::chars).filter(|c| c.is_alphabetic()).collect();
    letters.len() >= 2 && letters.into_iter().all(char::is_uppercase)
}

/// Little words between the names of several speakers, and within names.
const NAME_JOINS: [&str; 12] = ["e", "ed", "et", "und", "y", "and", "и", "di", "de", "von", "la", "le"];

/// Every word begins with a capital, but for the little words that join names.
fn is_capitalised(name: &str) -> bool {
    name.split_whitespace().all(|w| w.starts_with(char::is_uppercase) || NAME_JOINS.contains(&w))
        && name.starts_with(char::is_uppercase)
}

/// Words for a refrain or a part of a chant that stand as headings, as comparison keys.
const REFRAINS: [&str; 17] = [
    "refrain",
    "ritornello",
    "rit",
    "ref",
    "refr",
    "kehrreim",
    "chorus",
    "coro",
    "chor",
    "chœur",
    "estribillo",
    "припев",
    "antiphona",
    "ant",
    "responsorium",
    "couplet",
    "strophe",
];

/// Words with which the heading of a scene or number begins in a libretto, as comparison keys.
const SCENES: [&str; 24] = [
    "scena",
    "atto",
    "scène",
    "acte",
    "szene",
    "auftritt",
    "akt",
    "aufzug",
    "scene",
    "act",
    "escena",
    "acto",
    "сцена",
    "действие",
    "картина",
    "aria",
    "arie",
    "recitativo",
    "rezitativ",
    "récitatif",
    "duetto",
    "cavatina",
    "romanze",
    "lied",
];

/// Splits a line that begins with a heading: the heading, what is sung in the same line.
///
/// A refrain mark stands alone or before a colon; the heading of a scene is that word alone, or with a number, or in capitals.
fn split_heading(line: &str) -> Option<(&str, &str)> {
    let end = line.find([':', '.']).unwrap_or(line.len());
    let (mark, rest) = line.split_at(end);
    let sung = rest.trim_start_matches([':', '.']).trim_start();
    let has_mark = line.contains(':') || sung.is_empty();
    if has_mark && REFRAINS.contains(&text::fold::comparison_key(mark).as_str()) {
        return Some((mark, sung));
    }
    let heading = line.trim_end_matches(['.', ':']);
    let mut parts = heading.split_whitespace();
    let first = text::fold::comparison_key(parts.next()?);
    let is_number = |p: &str| margin::stanza(p).is_some();
    let has_number = parts.clone().count() == 1 && parts.clone().all(is_number);
    let is_alone = parts.next().is_none();
    let is_heading = SCENES.contains(&first.as_str()) && (is_alone || has_number || is_in_capitals(heading));
    is_heading.then_some((heading, ""))
}

/// Returns the stage direction in a line that is nothing else: in square brackets, or in round ones unless it is sung aside.
///
/// What is sung aside ends as a verse ends, in a comma or a mark of feeling; a direction ends in a full stop or nothing.
fn direction(line: &str) -> Option<&str> {
    let inner = line.strip_prefix('[').and_then(|l| l.strip_suffix(']'));
    let round = || line.strip_prefix('(').and_then(|l| l.strip_suffix(')'));
    let is_aside = |l: &str| l.starts_with(char::is_uppercase) && l.ends_with(['!', '?', ',', ';', ':', '…']);
    inner.or_else(|| round().filter(|l| !is_aside(l))).filter(|l| !l.contains(['(', ')', '[', ']']))
}

struct Reader<'a> {
    language: &'a dyn Language,
    sections: Vec<Section>,
    current: Section,
    /// A stage direction that waits for its line.
    direction: String,
    n_headings: usize,
    n_speakers: usize,
    n_directions: usize,
    n_bars: usize,
}

impl<'a> Reader<'a> {
    fn new(language: &'a dyn Language) -> Reader<'a> {
        Reader {
            language,
            sections: Vec::new(),
            current: Section::default(),
            direction: String::new(),
            n_headings: 0,
            n_speakers: 0,
            n_directions: 0,
            n_bars: 0,
        }
    }

    fn read(&mut self, line: &str, starts_paragraph: bool, number: Option<(&str, Option<Bars>)>, names: &Names) {
        if line.is_empty() {
            if !self.current.lines.is_empty() {
                self.end_section();
            }
            return;
        }
        let (line, bars) = number.unwrap_or((line, None));
        if starts_paragraph
            && bars.is_none()
            && let Some((heading, rest)) = margin::stanza(line)
        {
            self.begin_heading(heading);
            self.push_sung(rest, None);
        } else if let Some((heading, rest)) = split_heading(line) {
            self.begin_heading(heading);
            self.push_sung(rest, bars);
        } else if let Some(direction) = direction(line) {
            self.add_direction(direction);
        } else if let Some((name, direction, sung)) = names.split(line, starts_paragraph) {
            self.begin_section();
            self.current.speaker = text::clean::line(name);
            self.n_speakers += 1;
            if !direction.is_empty() {
                self.add_direction(direction);
            }
            self.push_sung(sung, bars);
        } else {
            self.push_sung(line, bars);
        }
    }

    fn begin_heading(&mut self, heading: &str) {
        self.begin_section();
        self.current.heading = text::clean::line(heading);
        self.n_headings += 1;
    }

    fn add_direction(&mut self, direction: &str) {
        if !self.direction.is_empty() {
            self.direction.push(' ');
        }
        self.direction.push_str(&text::clean::line(direction));
        self.n_directions += 1;
    }

    fn push_sung(&mut self, text: &str, bars: Option<Bars>) {
        if text.is_empty() {
            return;
        }
        self.n_bars += usize::from(bars.is_some());
        let direction = std::mem::take(&mut self.direction);
        self.current.lines.push(Line { bars, direction, words: words(self.language, text), ..Line::default() });
    }

    /// Ends the section unless nothing but a heading stands in it, to which a speaker may yet come.
    fn begin_section(&mut self) {
        if !self.current.lines.is_empty() || !self.current.speaker.is_empty() {
            self.end_section();
        }
    }

    fn end_section(&mut self) {
        if !self.direction.is_empty() {
            let direction = std::mem::take(&mut self.direction);
            self.current.lines.push(Line { direction, ..Line::default() });
        }
        let section = std::mem::take(&mut self.current);
        if section != Section::default() {
            self.sections.push(section);
        }
    }

    fn finish(mut self, numbers: &Numbers) -> Pasted {
        self.end_section();
        let n_verse_numbers = if numbers.are_verse_numbers { numbers.by_line.len() } else { 0 };
        let remarks = [
            (self.n_headings, Remark::Headings(self.n_headings)),
            (self.n_speakers, Remark::Speakers(self.n_speakers)),
            (self.n_directions, Remark::Directions(self.n_directions)),
            (self.n_bars, Remark::BarNumbers(self.n_bars)),
            (n_verse_numbers, Remark::VerseNumbers(n_verse_numbers)),
        ];
        let remarks = remarks.into_iter().filter(|(n, _)| *n > 0).map(|(_, remark)| remark).collect();
        Pasted { sections: self.sections, remarks }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::Headings(n) => write!(f, "headings and stanza numbers: {n}"),
            Remark::Speakers(n) => write!(f, "speakers: {n}"),
            Remark::Directions(n) => write!(f, "stage directions: {n}"),
            Remark::BarNumbers(n) => write!(f, "bar numbers: {n}"),
            Remark::VerseNumbers(n) => write!(f, "verse numbers, left out: {n}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::by_tag;
    use proptest::prelude::*;

    /// Draws what was read: `## heading`, `@ speaker`, `(direction)`, `bars|`, verse lines; sections parted by a blank line.
    fn drawn(text: &str) -> String {
        let mut sections = Vec::new();
        for section in paste(by_tag("it").unwrap(), text).sections {
            let mut lines = Vec::new();
            if !section.heading.is_empty() {
                lines.push(format!("## {}", section.heading));
            }
            if !section.speaker.is_empty() {
                lines.push(format!("@ {}", section.speaker));
            }
            for line in section.lines {
                if !line.direction.is_empty() {
                    lines.push(format!("({})", line.direction));
                }
                if !line.words.is_empty() {
                    let bars = line.bars.map(|b| format!("{b}|")).unwrap_or_default();
                    lines.push(bars + &line.text());
                }
            }
            sections.push(lines.join("\n"));
        }
        sections.join("\n\n")
    }

    #[test]
    fn stanzas_with_numbers_and_a_refrain() {
        let text = "1. O notte \r\nche culli\t\r\n\r\n2\r\nUn'ala\r\n\r\nRefrain:\r\nVeglia\r\n\r\nRit.: Veglia ancor";
        assert_eq!(
            drawn(text),
            "## 1\nO notte\nche culli\n\n## 2\nUn'ala\n\n## Refrain\nVeglia\n\n## Rit\nVeglia ancor"
        );
    }

    #[test]
    fn speakers_and_directions() {
        let text = "ORESTE (entrando)\nArde la luce!\n(pausa)\nTre notti\nLIVIA: Chi giunge?\n(Chi mi parla!)\n[parte]";
        let expected =
            "@ ORESTE\n(entrando)\nArde la luce!\n(pausa)\nTre notti\n\n@ LIVIA\nChi giunge?\n(Chi mi parla!)\n(parte)";
        assert_eq!(drawn(text), expected);
    }

    #[test]
    fn names_in_small_letters_need_more_than_one_use() {
        let text = "Livia: Chi giunge?\nOreste: Io.\nLivia: Taci.";
        assert_eq!(drawn(text), "@ Livia\nChi giunge?\nOreste: Io.\n\n@ Livia\nTaci.");
        assert_eq!(drawn("Amore: dolce cosa\ne pena"), "Amore: dolce cosa\ne pena");
        assert_eq!(drawn("Livia:\nChi giunge?"), "@ Livia\nChi giunge?");
    }

    #[test]
    fn a_text_all_in_capitals_has_no_speakers() {
        assert_eq!(drawn("O NOTTE\nCHE CULLI"), "O NOTTE\nCHE CULLI");
    }

    #[test]
    fn bars_and_verse_numbers() {
        assert_eq!(drawn("5  O notte\n9  che culli"), "5|O notte\n9|che culli");
        assert_eq!(drawn("[5] O notte\nche culli"), "5|O notte\nche culli");
        assert_eq!(drawn("a\nO notte  2\nc\nche culli  4"), "a\nO notte\nc\nche culli");
        assert_eq!(drawn("3 volte dissi"), "3 volte dissi");
        assert_eq!(drawn("9  O notte\n5  che culli"), "9 O notte\n5 che culli");
    }

    #[test]
    fn scenes_are_headings_and_bars_stand_before_speakers() {
        let text = "SCENA II\n\n[5] MARTA: Chi sei?\nSono io.\nLIVIA e MARTA\nAh!\n";
        assert_eq!(drawn(text), "## SCENA II\n@ MARTA\n5|Chi sei?\nSono io.\n\n@ LIVIA e MARTA\nAh!");
        assert_eq!(drawn("Aria del faro e del mare\ndi notte"), "Aria del faro e del mare\ndi notte");
    }

    #[test]
    fn double_spaced_text_is_one_stanza() {
        assert_eq!(drawn("a\n\nb\n\nc\n\nd\n\n\ne"), "a\nb\nc\nd\n\ne");
    }

    proptest! {
        #[test]
        fn no_letter_is_lost(text in "(([A-Za-zàé]{1,6}[ ,.!?:'’()\\[\\]]{1,2}){0,5}\\n{1,2}){0,8}") {
            let letters = |s: &str| s.chars().filter(|c| c.is_alphabetic()).collect::<String>();
            prop_assert_eq!(letters(&drawn(&text)), letters(&text));
        }

        #[test]
        fn any_text_is_read(text in any::<String>()) {
            paste(by_tag("fr").unwrap(), &text);
        }
    }
}
