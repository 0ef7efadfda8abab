//! `undersong check`: what is missing or inconsistent.

use super::Outcome;
use super::report::{Trouble, count, path_text, print_json, print_line, say_notices};
use crate::language::by_tag_or_plain;
use crate::song::{Finding, Hyphen, Place, Song, WordAt, check};
use crate::store::read_song;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// List what is missing or inconsistent in songs
///
/// Blank and draft cells, words glossed in different ways, glosses that do not match their words, unknown tags, missing translations and
/// answers, and what is to be asked. The exit status is 1 if there is anything.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Song files
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Print each finding as a line of JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Serialize)]
struct Row<'a> {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    section: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    word: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<usize>,
    problem: &'static str,
    message: String,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let mut outcome = Outcome::Fine;
    for path in &args.files {
        let (song, notices) = read_song(path)?;
        say_notices(&notices);
        let is_spelling = by_tag_or_plain(&song.details.language).hyphen_is_spelling();
        let findings = check(&song, if is_spelling { Hyphen::Spelling } else { Hyphen::MorphemeBorder });
        if !findings.is_empty() {
            outcome = Outcome::Found;
        }
        if args.json {
            for finding in &findings {
                print_json(&row(path, &song, finding))?;
            }
        } else {
            print_findings(path, &song, &findings)?;
        }
    }
    Ok(outcome)
}

fn row<'a>(file: &Path, song: &'a Song, finding: &Finding) -> Row<'a> {
    let mut row = Row {
        file: path_text(file),
        section: None,
        line: None,
        word: None,
        form: None,
        note: None,
        problem: finding.problem.code(),
        message: finding.problem.to_string(),
    };
    match finding.place {
        Place::Song => {}
        Place::Note(note) => row.note = Some(note + 1),
        Place::Line(at) => (row.section, row.line) = (Some(at.section + 1), Some(at.line + 1)),
        Place::Word(at) => {
            (row.section, row.line, row.word) = (Some(at.section + 1), Some(at.line + 1), Some(at.word + 1));
            row.form = song.word(at).map(|w| w.form.as_str());
        }
    }
    row
}

/// Prints the findings of one song, those of a word in one line, and how many there are of each kind.
fn print_findings(path: &Path, song: &Song, findings: &[Finding]) -> Result<(), Trouble> {
    if findings.is_empty() {
        return print_line(&format!("{}: nothing is missing", path.display()));
    }
    print_line(&format!("{}:", path.display()))?;
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for same_place in findings.chunk_by(|a, b| a.place == b.place) {
        let messages: Vec<String> = same_place.iter().map(|f| f.problem.to_string()).collect();
        let messages = messages.join("; ");
        print_line(&match same_place[0].place {
            Place::Song => format!("  {messages}"),
            Place::Note(note) => format!("  situation note {}: {messages}", note + 1),
            Place::Line(at) => {
                let text = song.line(at).map(|l| l.text()).unwrap_or_default();
                format!("  {at}, “{text}”: {messages}")
            }
            Place::Word(at) => format!("  {at}, “{}”: {messages}", form(song, at)),
        })?;
        for finding in same_place {
            *kinds.entry(finding.problem.code()).or_default() += 1;
        }
    }
    let kinds: Vec<String> = kinds.into_iter().map(|(code, n)| format!("{n} {code}")).collect();
    print_line(&format!("  {} in all: {}", count(findings.len(), "finding", "findings"), kinds.join(", ")))
}

fn form(song: &Song, at: WordAt) -> &str {
    song.word(at).map_or("", |w| w.form.as_str())
}
