//! `undersong fill`: drafts for blank cells.

use super::Outcome;
use super::report::{Trouble, count, path_text, print_json, say, say_notices};
use crate::lexicon::{fill, learn};
use crate::store::{LexiconFolder, Paths, SongFile};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Draft every blank cell for which a sense is known
///
/// First the lexicon learns the words that are settled in the song, then each word is drafted from an identical line, from the same word
/// elsewhere in the song, or from the lexicon. Settled cells are never touched.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Song file
    file: PathBuf,
    /// Say what would be drafted, and change nothing
    #[arg(long)]
    dry_run: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Serialize)]
struct Done {
    file: String,
    learnt: usize,
    drafted: usize,
    translations: usize,
    unknown: Vec<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let (mut file, notices) = SongFile::open(&args.file)?;
    say_notices(&notices);
    let folder = file.path().parent().unwrap_or(Path::new(".")).to_owned();
    let lexica = LexiconFolder::for_songs_in(&folder, &Paths::find()?);
    let details = &file.song().details;
    let (language, gloss_language) = (details.language.clone(), details.gloss_language.clone());
    let (learned, filled) = if args.dry_run {
        let mut lexicon = lexica.read(&language, &gloss_language)?;
        (learn(&mut lexicon, file.song()), fill(file.song(), &lexicon))
    } else {
        let mut guard = lexica.open(&language, &gloss_language)?;
        let learned = learn(&mut guard.lexicon, file.song());
        if learned.is_changed {
            guard.save()?;
        }
        (learned, fill(file.song(), &guard.lexicon))
    };
    if let Some(edit) = filled.edit.filter(|_| !args.dry_run) {
        file.make(edit, None)?;
        file.save()?;
    }
    if args.json {
        print_json(&Done {
            file: path_text(&args.file),
            learnt: learned.n_senses,
            drafted: filled.n_cells,
            translations: filled.n_translations,
            unknown: filled.unknown,
        })?;
        return Ok(Outcome::Fine);
    }
    let would = if args.dry_run { "would be drafted" } else { "drafted" };
    say(&format!("{}: {} {would}", args.file.display(), count(filled.n_cells, "cell", "cells")));
    if filled.n_translations > 0 {
        say(&format!("  translations taken over from identical lines: {}", filled.n_translations));
    }
    if filled.unknown.is_empty() {
        say("  every word has a gloss");
    } else {
        let words = count(filled.unknown.len(), "word", "words");
        say(&format!("  {words} without a gloss: {}", filled.unknown.join(", ")));
    }
    Ok(Outcome::Fine)
}
