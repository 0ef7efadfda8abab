//! `undersong demo`: the demo repertoire.

use super::Outcome;
use super::report::{Trouble, path_text, print_json, say};
use crate::lexicon::learn;
use crate::store::{Failure, LexiconFolder, Paths, read_song, write_new};
use serde::Serialize;
use std::path::PathBuf;

/// Write the demo repertoire: eight invented songs in six languages
///
/// The songs are in different stages of work, from a fresh text to one that is ready for the stand. Their lexicon is kept beside them
/// and stays apart from yours.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder to write to; made if it does not exist
    #[arg(default_value = "undersong-demo")]
    folder: PathBuf,
    /// Print the result as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// The songs of the demo repertoire: names and contents of the files.
pub(crate) const SONGS: [(&str, &str); 8] = [
    ("brume.yaml", include_str!("../../demo/brume.yaml")),
    ("das-erste-licht.yaml", include_str!("../../demo/das-erste-licht.yaml")),
    ("die-stille-see.yaml", include_str!("../../demo/die-stille-see.yaml")),
    ("farera.yaml", include_str!("../../demo/farera.yaml")),
    ("lumen-super-aquas.yaml", include_str!("../../demo/lumen-super-aquas.yaml")),
    ("notte-di-ventalba.yaml", include_str!("../../demo/notte-di-ventalba.yaml")),
    ("ogni-mayaka.yaml", include_str!("../../demo/ogni-mayaka.yaml")),
    ("recitativo-di-oreste.yaml", include_str!("../../demo/recitativo-di-oreste.yaml")),
];

#[derive(Serialize)]
struct Written {
    folder: String,
    songs: Vec<String>,
    senses: usize,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let folder = &args.folder;
    let lexica = folder.join(LexiconFolder::BESIDE_SONGS);
    std::fs::create_dir_all(&lexica).map_err(|source| Failure::Write { path: folder.clone(), source })?;
    let paths: Vec<PathBuf> = SONGS.iter().map(|(name, _)| folder.join(name)).collect();
    if let Some(path) = paths.iter().find(|path| path.exists()) {
        return Err(Failure::Exists { path: path.clone() }.into());
    }
    for (path, (_, content)) in paths.iter().zip(SONGS) {
        write_new(path, content.as_bytes())?;
    }
    let mut n_senses = 0;
    let lexica = LexiconFolder::for_songs_in(folder, &Paths { config: folder.clone(), data: folder.clone() });
    for path in &paths {
        let (song, _) = read_song(path)?;
        let mut guard = lexica.open(&song.details.language, &song.details.gloss_language)?;
        let learned = learn(&mut guard.lexicon, &song);
        n_senses += learned.n_senses;
        if learned.is_changed {
            guard.save()?;
        }
    }
    if args.json {
        let songs = paths.iter().map(|p| path_text(p)).collect();
        print_json(&Written { folder: path_text(folder), songs, senses: n_senses })?;
        return Ok(Outcome::Fine);
    }
    let folder = folder.display();
    say(&format!("{} songs are in {folder}. Try:", SONGS.len()));
    say(&format!("  undersong print {folder}/notte-di-ventalba.yaml"));
    say(&format!("  undersong fill {folder}/die-stille-see.yaml"));
    say(&format!("  undersong check {folder}/recitativo-di-oreste.yaml"));
    Ok(Outcome::Fine)
}
