//! The repertoire: the songs in a folder.

use super::{Failure, read_song};
use crate::text::fold::finding_key;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// Lists the song files in a folder, by name.
///
/// # Errors
/// [`Failure`] if the folder cannot be read.
pub fn song_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    yaml_files(folder)
}

/// Lists the YAML files in a folder, by name; hidden files are companions of others and do not count.
pub(super) fn yaml_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let entries = std::fs::read_dir(folder).map_err(|e| match e.kind() {
        std::io::ErrorKind::NotFound => Failure::MissingFolder { path: folder.to_owned() },
        _ => Failure::reading(folder, e),
    })?;
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

/// Makes the id of a new song: the name of its file, and digits that no other song has.
pub fn new_id(file: &Path) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let name = finding_key(&stem);
    let parts: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty()).collect();
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    let moment = now.as_nanos() ^ (u128::from(std::process::id()) << 64);
    let digits = Sha256::digest(moment.to_le_bytes())[..4].iter().map(|b| format!("{b:02x}")).collect::<String>();
    format!("{}-{digits}", if parts.is_empty() { "song".to_owned() } else { parts.join("-") })
}

/// Returns the titles of the songs in a folder by their keys, as far as they can be read.
pub fn names_of_songs(folder: &Path) -> BTreeMap<String, String> {
    let files = song_files(folder).unwrap_or_default();
    files.iter().filter_map(|f| read_song(f).ok()).map(|(song, _)| (song.key(), song.details.title)).collect()
}
