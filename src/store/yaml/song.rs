//! The song document: keys in their order, absent where empty, a word a line.

use super::{check_format, filled, is_false, line, parse, print, prose};
use crate::song::{Annotation, Bars, Cell, Details, Line, Note, Section, Song, Tag, Word};
use crate::store::Failure;
use serde::de::{Error as _, SeqAccess, Unexpected, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_saphyr::{DoubleQuoted, FlowMap};
use std::fmt;
use std::num::NonZeroU8;
use std::path::Path;

/// Reads a song; `path` is only named in failures.
pub(in crate::store) fn song_from_yaml(path: &Path, yaml: &str) -> Result<Song, Failure> {
    let document: SongDocument = parse(path, yaml)?;
    check_format(path, document.format)?;
    Ok(document.into())
}

/// Writes a song. The same song always gives the same text.
pub(in crate::store) fn song_to_yaml(song: &Song) -> String {
    print(&SongDocument::from(song))
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SongDocument {
    #[serde(default)]
    format: Option<u64>,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    id: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    title: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    translated_title: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    work: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    composer: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    poet: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    translator: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    language: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    gloss_language: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    source: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    rights: String,
    #[serde(default, deserialize_with = "list", skip_serializing_if = "Vec::is_empty")]
    notes: Vec<NoteDocument>,
    #[serde(default, deserialize_with = "list", skip_serializing_if = "Vec::is_empty")]
    sections: Vec<SectionDocument>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NoteDocument {
    #[serde(default, deserialize_with = "line")]
    prompt: String,
    #[serde(default, deserialize_with = "prose", skip_serializing_if = "String::is_empty")]
    text: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SectionDocument {
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    heading: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    speaker: String,
    #[serde(default, deserialize_with = "list")]
    lines: Vec<LineDocument>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LineDocument {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bars: Option<BarsDocument>,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    direction: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    cue: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    intention: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    translation: String,
    #[serde(default, deserialize_with = "list")]
    words: Vec<FlowMap<WordDocument>>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WordDocument {
    #[serde(default, deserialize_with = "line", serialize_with = "quoted", skip_serializing_if = "String::is_empty")]
    lead: String,
    #[serde(deserialize_with = "filled")]
    word: String,
    #[serde(default, deserialize_with = "line", serialize_with = "quoted", skip_serializing_if = "String::is_empty")]
    trail: String,
    #[serde(default, skip_serializing_if = "is_false")]
    join: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    link: Option<NonZeroU8>,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    sound: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    gloss: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    tag: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    lemma: String,
    #[serde(default, skip_serializing_if = "Drafts::is_none")]
    draft: Drafts,
    #[serde(default, skip_serializing_if = "is_false")]
    ask: bool,
    #[serde(default, deserialize_with = "prose", skip_serializing_if = "String::is_empty")]
    note: String,
}

/// Which cells of a word are drafts.
#[derive(Default)]
enum Drafts {
    #[default]
    None,
    /// Every cell that is filled: `draft: true`.
    All,
    /// Some of them: `draft: [gloss, tag]`.
    Some(Vec<Annotation>),
}

/// `12` or `12-15`.
struct BarsDocument(Bars);

/// A list; a bare key is an empty one.
fn list<'de, D: Deserializer<'de>, T: Deserialize<'de>>(deserializer: D) -> Result<Vec<T>, D::Error> {
    Ok(Option::<Vec<T>>::deserialize(deserializer)?.unwrap_or_default())
}

impl Drafts {
    fn is_none(&self) -> bool {
        matches!(self, Drafts::None)
    }

    fn of(word: &Word) -> Drafts {
        let is_filled = |row: &Annotation| !word.annotation(*row).is_blank();
        let drafts: Vec<Annotation> = Annotation::ALL.into_iter().filter(|row| word.is_draft(*row)).collect();
        match drafts.len() {
            0 => Drafts::None,
            n if n == Annotation::ALL.iter().filter(|row| is_filled(row)).count() => Drafts::All,
            _ => Drafts::Some(drafts),
        }
    }

    fn cell<T>(&self, row: Annotation, value: Option<T>) -> Cell<T> {
        let is_draft = match self {
            Drafts::None => false,
            Drafts::All => true,
            Drafts::Some(rows) => rows.contains(&row),
        };
        match value {
            None => Cell::Blank,
            Some(value) if is_draft => Cell::Draft(value),
            Some(value) => Cell::Settled(value),
        }
    }
}

impl Serialize for Drafts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Drafts::None => serializer.serialize_bool(false),
            Drafts::All => serializer.serialize_bool(true),
            Drafts::Some(rows) => rows.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Drafts {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Drafts, D::Error> {
        struct DraftsVisitor;
        impl<'de> Visitor<'de> for DraftsVisitor {
            type Value = Drafts;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("`true`, or a list of sound, gloss, tag, lemma")
            }

            fn visit_bool<E: serde::de::Error>(self, all: bool) -> Result<Drafts, E> {
                Ok(if all { Drafts::All } else { Drafts::None })
            }

            fn visit_unit<E: serde::de::Error>(self) -> Result<Drafts, E> {
                Ok(Drafts::None)
            }

            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Drafts, E> {
                let row = Annotation::ALL.into_iter().find(|row| row.name() == text);
                row.map(|row| Drafts::Some(vec![row])).ok_or_else(|| E::invalid_value(Unexpected::Str(text), &self))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Drafts, A::Error> {
                let mut rows = Vec::new();
                while let Some(row) = list.next_element()? {
                    rows.push(row);
                }
                Ok(Drafts::Some(rows))
            }
        }
        deserializer.deserialize_any(DraftsVisitor)
    }
}

impl Serialize for BarsDocument {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.first() == self.0.last() {
            serializer.serialize_u32(self.0.first())
        } else {
            serializer.collect_str(&self.0)
        }
    }
}

impl<'de> Deserialize<'de> for BarsDocument {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<BarsDocument, D::Error> {
        let text = String::deserialize(deserializer)?;
        let expected = &"a bar number such as 12, or a range such as 12-15";
        text.parse().map(BarsDocument).map_err(|()| D::Error::invalid_value(Unexpected::Str(&text), expected))
    }
}

/// Punctuation always stands in double quotes, so that a reader sees where it begins and a no-break space is not lost.
fn quoted<S: Serializer>(text: &str, serializer: S) -> Result<S::Ok, S::Error> {
    DoubleQuoted(text).serialize(serializer)
}

fn filled_text(text: String) -> Option<String> {
    Some(text.trim().to_owned()).filter(|t| !t.is_empty())
}

impl From<WordDocument> for Word {
    fn from(d: WordDocument) -> Word {
        Word {
            lead: d.lead,
            form: d.word,
            trail: d.trail,
            is_joined: d.join,
            link: d.link,
            sound: d.draft.cell(Annotation::Sound, filled_text(d.sound)),
            gloss: d.draft.cell(Annotation::Gloss, filled_text(d.gloss)),
            tag: d.draft.cell(Annotation::Tag, filled_text(d.tag).map(|tag| Tag::parse(&tag))),
            lemma: d.draft.cell(Annotation::Lemma, filled_text(d.lemma)),
            ask: d.ask,
            note: d.note,
        }
    }
}

impl From<&Word> for WordDocument {
    fn from(w: &Word) -> WordDocument {
        let text = |row| w.annotation(row).value().cloned().unwrap_or_default();
        WordDocument {
            lead: w.lead.clone(),
            word: w.form.clone(),
            trail: w.trail.clone(),
            join: w.is_joined,
            link: w.link,
            sound: text(Annotation::Sound),
            gloss: text(Annotation::Gloss),
            tag: text(Annotation::Tag),
            lemma: text(Annotation::Lemma),
            draft: Drafts::of(w),
            ask: w.ask,
            note: w.note.clone(),
        }
    }
}

impl From<LineDocument> for Line {
    fn from(d: LineDocument) -> Line {
        Line {
            bars: d.bars.map(|b| b.0),
            direction: d.direction,
            cue: d.cue,
            intention: d.intention,
            translation: d.translation,
            words: d.words.into_iter().map(|w| w.0.into()).collect(),
        }
    }
}

impl From<&Line> for LineDocument {
    fn from(l: &Line) -> LineDocument {
        LineDocument {
            bars: l.bars.map(BarsDocument),
            direction: l.direction.clone(),
            cue: l.cue.clone(),
            intention: l.intention.clone(),
            translation: l.translation.clone(),
            words: l.words.iter().map(|w| FlowMap(w.into())).collect(),
        }
    }
}

impl From<SongDocument> for Song {
    fn from(d: SongDocument) -> Song {
        let details = Details {
            title: d.title,
            translated_title: d.translated_title,
            work: d.work,
            composer: d.composer,
            poet: d.poet,
            translator: d.translator,
            language: d.language,
            gloss_language: d.gloss_language,
            source: d.source,
            rights: d.rights,
        };
        let section = |s: SectionDocument| Section {
            heading: s.heading,
            speaker: s.speaker,
            lines: s.lines.into_iter().map(Line::from).collect(),
        };
        Song {
            id: d.id,
            details,
            notes: d.notes.into_iter().map(|n| Note { prompt: n.prompt, text: n.text }).collect(),
            sections: d.sections.into_iter().map(section).collect(),
        }
    }
}

impl From<&Song> for SongDocument {
    fn from(song: &Song) -> SongDocument {
        let d = song.details.clone();
        let section = |s: &Section| SectionDocument {
            heading: s.heading.clone(),
            speaker: s.speaker.clone(),
            lines: s.lines.iter().map(LineDocument::from).collect(),
        };
        SongDocument {
            format: Some(super::FORMAT),
            id: song.id.clone(),
            title: d.title,
            translated_title: d.translated_title,
            work: d.work,
            composer: d.composer,
            poet: d.poet,
            translator: d.translator,
            language: d.language,
            gloss_language: d.gloss_language,
            source: d.source,
            rights: d.rights,
            notes: song.notes.iter().map(|n| NoteDocument { prompt: n.prompt.clone(), text: n.text.clone() }).collect(),
            sections: song.sections.iter().map(section).collect(),
        }
    }
}
