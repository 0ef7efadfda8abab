//! YAML: the one place that knows the notation of the files.
//!
//! Documents are read with limits on depth, aliases and nodes; an unknown key is refused by name, so that nothing in a file is ever
//! dropped. Texts come out in NFC without control characters.

mod lexicon;
mod song;

pub(super) use lexicon::{lexicon_from_yaml, lexicon_to_yaml};
pub(super) use song::{song_from_yaml, song_to_yaml};

use super::Failure;
use crate::text::clean::{shown, storable};
use serde::de::{DeserializeOwned, Error as _};
use serde::{Deserialize, Deserializer, Serialize};
use std::path::Path;

/// The format of the files that this version writes.
const FORMAT: u64 = 1;

/// Reads a document.
pub(super) fn parse<T: DeserializeOwned>(path: &Path, yaml: &str) -> Result<T, Failure> {
    let options = || {
        serde_saphyr::options! {
            budget: serde_saphyr::budget! {
                max_depth: 24,
                max_aliases: 1_000,
                max_anchors: 1_000,
                // One more than is allowed, so that a second document is told as what it is.
                max_documents: 2,
                max_nodes: 8_000_000,
                max_events: 30_000_000,
                max_total_scalar_bytes: 300_000_000,
            },
            with_snippet: false,
        }
    };
    serde_saphyr::from_str_with_options(yaml, options()).map_err(|error| {
        // A file of a later format has keys that this version does not know: say that, not which key.
        #[derive(Deserialize)]
        struct Header {
            format: Option<u64>,
        }
        let is_unknown_key = matches!(error.without_snippet(), serde_saphyr::Error::SerdeUnknownField { .. });
        match is_unknown_key.then(|| serde_saphyr::from_str_with_options::<Header>(yaml, options())) {
            Some(Ok(Header { format: Some(format) })) if format > FORMAT => {
                Failure::NewerFormat { path: path.to_owned(), format }
            }
            _ => failure(path, &error),
        }
    })
}

/// Writes a document: stable order, no folded lines.
fn print<T: Serialize>(document: &T) -> String {
    let options = serde_saphyr::ser_options! {
        min_fold_chars: usize::MAX,
        folded_wrap_chars: usize::MAX,
        compact_list_indent: true,
    };
    serde_saphyr::to_string_with_options(document, options)
        .expect("our documents hold only texts, numbers, lists and mappings")
}

fn failure(path: &Path, error: &serde_saphyr::Error) -> Failure {
    use serde_saphyr::Error;
    let error = error.without_snippet();
    let (line, column) = error.location().map_or((1, 1), |l| (l.line().max(1), l.column().max(1)));
    let (problem, remedy) = match error {
        Error::SerdeUnknownField { field, expected, .. } => (
            format!("the key `{}` is not known here", shown(field)),
            Some(match nearest(field, expected) {
                Some(near) => format!("write `{near}` if you meant that, or delete the line"),
                None => format!("known keys: {}", expected.join(", ")),
            }),
        ),
        Error::SerdeMissingField { field, .. } => {
            (format!("the key `{field}` is missing"), Some(format!("add a line with `{field}:`")))
        }
        Error::DuplicateMappingKey { key, .. } => (
            format!("the key `{}` stands twice", shown(key.as_deref().unwrap_or("?"))),
            Some("delete one of the two".to_owned()),
        ),
        Error::SerdeInvalidType { unexpected, expected, .. }
        | Error::SerdeInvalidValue { unexpected, expected, .. } => {
            (format!("found {}, expected {}", shown(unexpected), in_plain_words(expected)), None)
        }
        Error::Unexpected { expected, .. } => {
            (format!("expected {}", in_plain_words(expected)), Some(INDENTATION.to_owned()))
        }
        Error::InvalidScalar { ty, .. } => (format!("expected {}", in_plain_words(ty)), Some(INDENTATION.to_owned())),
        Error::InvalidBooleanStrict { .. } => ("expected true or false".to_owned(), None),
        Error::MultipleDocuments { .. } => (
            "a second document begins here".to_owned(),
            Some("delete the line `---` and what follows it, or put it into a file of its own".to_owned()),
        ),
        Error::Budget { .. } | Error::AliasReplayLimitExceeded { .. } | Error::AliasExpansionLimitExceeded { .. } => (
            "the file is nested or repeats itself more deeply than any song does".to_owned(),
            Some("this is hardly a song: check that it is the right file".to_owned()),
        ),
        Error::SerdeUnknownVariant { variant, expected, .. } => {
            (format!("found `{}`, expected one of: {}", shown(variant), expected.join(", ")), None)
        }
        Error::Message { msg, .. } => (shown(msg).into_owned(), None),
        other => {
            let message = other.to_string();
            let message = message.lines().next().unwrap_or_default().to_owned();
            (format!("not valid YAML: {}", shown(&message)), Some(INDENTATION.to_owned()))
        }
    };
    Failure::Yaml { path: path.to_owned(), line, column, problem, remedy }
}

/// The remedy where something of another kind was expected.
const INDENTATION: &str = "look at this line and the one before it: quotation marks, brackets, colons, indentation";

/// Names what was expected without the words of the parser.
fn in_plain_words(expected: &str) -> &str {
    match expected {
        "string scalar" | "string" | "a string" => "a text",
        "sequence start" | "sequence" | "a sequence" => "a list, each item after `- `",
        "mapping start" | "mapping" | "map" | "a map" => "keys with their values, `key: value`",
        "boolean" | "bool" | "a boolean" => "true or false",
        number
            if number.trim_start_matches("a nonzero ").starts_with(['u', 'i'])
                && number.ends_with(|c: char| c.is_ascii_digit()) =>
        {
            "a number"
        }
        other if other.starts_with("struct ") => "keys with their values, `key: value`",
        other => other,
    }
}

/// The known key that a mistyped one resembles: at most a third of its letters differ.
fn nearest<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    let distance = |key: &str| crate::text::edit_distance(typed, key);
    known
        .iter()
        .copied()
        .map(|key| (distance(key), key))
        .filter(|(d, key)| d * 3 <= key.len().max(3))
        .min()
        .map(|(_, key)| key)
}

/// Refuses a format that is not known; the place where files of older formats will be brought up to date.
fn check_format(path: &Path, format: Option<u64>) -> Result<(), Failure> {
    match format {
        None | Some(FORMAT) => Ok(()),
        Some(0) => {
            let problem = "found format 0, expected 1".to_owned();
            Err(Failure::Yaml { path: path.to_owned(), line: 1, column: 1, problem, remedy: None })
        }
        Some(format) => Err(Failure::NewerFormat { path: path.to_owned(), format }),
    }
}

/// A text on one line: a bare key is empty, line feeds are spaces.
fn line<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    Ok(prose(deserializer)?.replace('\n', " "))
}

/// A text of several lines.
fn prose<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    Ok(storable(&Option::<String>::deserialize(deserializer)?.unwrap_or_default()))
}

/// A text that must not be empty.
fn filled<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    let text = line(deserializer)?.trim().to_owned();
    if text.is_empty() { Err(D::Error::custom("expected a text, found nothing")) } else { Ok(text) }
}

fn is_false(value: &bool) -> bool {
    !value
}
