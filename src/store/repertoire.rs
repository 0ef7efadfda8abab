//! The repertoire: the songs in a folder.

use super::{Failure, read_song};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Lists the song files in a folder, by name; hidden files are companions of songs and do not count.
///
/// # Errors
/// [`Failure`] if the folder cannot be read.
pub fn song_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let entries = std::fs::read_dir(folder).map_err(|e| Failure::reading(folder, e))?;
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(|e| Failure::reading(folder, e))?.path();
        let is_hidden = path.file_name().is_none_or(|n| n.to_string_lossy().starts_with('.'));
        let is_yaml = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("yaml") || e.eq_ignore_ascii_case("yml"));
        if is_yaml && !is_hidden && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Returns the titles of the songs in a folder by their keys, as far as they can be read.
pub fn names_of_songs(folder: &Path) -> BTreeMap<String, String> {
    let files = song_files(folder).unwrap_or_default();
    files.iter().filter_map(|f| read_song(f).ok()).map(|(song, _)| (song.key(), song.details.title)).collect()
}
