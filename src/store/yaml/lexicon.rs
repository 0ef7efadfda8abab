//! The lexicon document: entries in the order of their forms, a sense a line.

use super::{check_format, filled, is_false, line, parse, print};
use crate::lexicon::{Lexicon, Recorded, Sense};
use crate::song::Tag;
use crate::store::Failure;
use serde::{Deserialize, Deserializer, Serialize};
use serde_saphyr::FlowMap;
use std::collections::BTreeMap;
use std::path::Path;

/// Reads a lexicon; `path` is only named in failures.
pub(in crate::store) fn lexicon_from_yaml(path: &Path, yaml: &str) -> Result<Lexicon, Failure> {
    let document: LexiconDocument = parse(path, yaml)?;
    check_format(path, document.format)?;
    let mut lexicon = Lexicon::new(&document.language, &document.gloss_language);
    for entry in document.entries {
        for FlowMap(sense) in entry.senses {
            lexicon.restore(&entry.form, sense.into());
        }
    }
    Ok(lexicon)
}

/// Writes a lexicon.
pub(in crate::store) fn lexicon_to_yaml(lexicon: &Lexicon) -> String {
    let entries = lexicon.entries().map(|(form, entry)| EntryDocument {
        form: form.to_owned(),
        senses: entry.senses.iter().map(|r| FlowMap(r.into())).collect(),
    });
    print(&LexiconDocument {
        format: Some(super::FORMAT),
        language: lexicon.language().to_owned(),
        gloss_language: lexicon.gloss_language().to_owned(),
        entries: entries.collect(),
    })
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LexiconDocument {
    #[serde(default)]
    format: Option<u64>,
    #[serde(deserialize_with = "line")]
    language: String,
    #[serde(deserialize_with = "line")]
    gloss_language: String,
    #[serde(default, deserialize_with = "list")]
    entries: Vec<EntryDocument>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EntryDocument {
    #[serde(deserialize_with = "filled")]
    form: String,
    senses: Vec<FlowMap<SenseDocument>>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SenseDocument {
    #[serde(deserialize_with = "filled")]
    gloss: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    tag: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    lemma: String,
    #[serde(default, deserialize_with = "line", skip_serializing_if = "String::is_empty")]
    sound: String,
    /// Added by hand: stays although no song uses it.
    #[serde(default, skip_serializing_if = "is_false")]
    added: bool,
    /// How often each song uses it.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    songs: BTreeMap<String, u32>,
}

fn list<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<EntryDocument>, D::Error> {
    Ok(Option::<Vec<EntryDocument>>::deserialize(deserializer)?.unwrap_or_default())
}

impl From<SenseDocument> for Recorded {
    fn from(d: SenseDocument) -> Recorded {
        let tag = (!d.tag.is_empty()).then(|| Tag::parse(&d.tag));
        // A sense that somebody wrote into the file without a song stays as if it had been added by a command.
        let is_added = d.added || d.songs.is_empty();
        Recorded { sense: Sense { gloss: d.gloss, tag, lemma: d.lemma, sound: d.sound }, songs: d.songs, is_added }
    }
}

impl From<&Recorded> for SenseDocument {
    fn from(r: &Recorded) -> SenseDocument {
        SenseDocument {
            gloss: r.sense.gloss.clone(),
            tag: r.sense.tag.as_ref().map(Tag::to_string).unwrap_or_default(),
            lemma: r.sense.lemma.clone(),
            sound: r.sense.sound.clone(),
            added: r.is_added,
            songs: r.songs.clone(),
        }
    }
}
