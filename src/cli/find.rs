//! `undersong find`: where a word or phrase stands in the repertoire.

use super::Outcome;
use super::report::{Trouble, path_text, print_json, print_line, say};
use crate::song::search;
use crate::store::{Paths, Settings, read_song, song_files};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Find a word or phrase in all songs
///
/// Looks in the texts, lemmas, glosses, translations and notes. Accents and capitals do not matter; a part of a word finds the words that
/// begin with it. The exit status is 1 if nothing is found.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What to find
    text: String,
    /// Folder of songs; otherwise the repertoire of the settings, or the current folder
    #[arg(long = "in", value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// Print each place as a line of JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Serialize)]
struct Row<'a> {
    file: String,
    title: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    section: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    part: &'static str,
    text: &'a str,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let folder = repertoire(args.folder.as_deref())?;
    let mut outcome = Outcome::Found;
    for file in song_files(&folder)? {
        let song = match read_song(&file) {
            Ok((song, _)) => song,
            Err(failure) => {
                say(&format!("note: {} was passed over: {failure}", file.display()));
                continue;
            }
        };
        let title = song.details.title.as_str();
        for hit in search(&song, &args.text) {
            outcome = Outcome::Fine;
            if args.json {
                let (section, line) = (hit.at.map(|at| at.section + 1), hit.at.map(|at| at.line + 1));
                print_json(&Row {
                    file: path_text(&file),
                    title,
                    section,
                    line,
                    part: hit.part.name(),
                    text: &hit.text,
                })?;
            } else {
                let place = hit.at.map(|at| format!(", {at}")).unwrap_or_default();
                print_line(&format!("{}{place}, {}: {}", file.display(), hit.part.name(), hit.text))?;
            }
        }
    }
    if outcome == Outcome::Found && !args.json {
        say(&format!("“{}” was not found in {}", args.text, folder.display()));
    }
    Ok(outcome)
}

/// The folder of songs: the one named, else that of the settings, else the current one.
pub(super) fn repertoire(named: Option<&Path>) -> Result<PathBuf, Trouble> {
    match named {
        Some(folder) => Ok(folder.to_owned()),
        None => Ok(Settings::read(&Paths::find()?)?.repertoire.unwrap_or_else(|| PathBuf::from("."))),
    }
}
