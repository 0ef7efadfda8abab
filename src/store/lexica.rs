//! Lexica on the disk: one file a language pair, in the data folder or beside the songs.

use super::decode::read_utf8;
use super::lock::Lock;
use super::repertoire::yaml_files;
use super::save::{Backup, remove_leftovers, write_atomically};
use super::{Failure, Paths, yaml};
use crate::lexicon::Lexicon;
use std::path::{Path, PathBuf};

/// The largest lexicon that is read, in bytes.
const MOST: u64 = 256_000_000;

/// The folder in which the lexica for some songs are kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LexiconFolder(PathBuf);

/// A lexicon that nobody else changes while it is held.
#[derive(Debug)]
pub struct LexiconGuard {
    /// The lexicon, to be changed at will.
    pub lexicon: Lexicon,
    path: PathBuf,
    _lock: Lock,
}

impl LexiconFolder {
    /// The name of a folder beside the songs that holds their lexica, so that a synced folder carries both.
    pub const BESIDE_SONGS: &'static str = "lexicon";

    /// Finds the folder for the songs in a folder: `lexicon` beside them if there is one, else the one in the data folder.
    pub fn for_songs_in(folder: &Path, paths: &Paths) -> LexiconFolder {
        let beside = folder.join(LexiconFolder::BESIDE_SONGS);
        LexiconFolder(if beside.is_dir() { beside } else { paths.data.join("lexicon") })
    }

    /// Returns the file of a language pair.
    pub fn file(&self, language: &str, gloss_language: &str) -> PathBuf {
        // Only letters, digits and hyphens of a tag come into a file name.
        let part = |tag: &str| {
            let kept: String = tag.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
            if kept.is_empty() { "und".to_owned() } else { kept.to_ascii_lowercase() }
        };
        self.0.join(format!("{}-{}.yaml", part(language), part(gloss_language)))
    }

    /// Reads every lexicon in the folder.
    ///
    /// # Errors
    /// [`Failure`] if the folder or one of the files cannot be read; a folder that does not exist holds none.
    pub fn read_all(&self) -> Result<Vec<Lexicon>, Failure> {
        match yaml_files(&self.0) {
            Ok(files) => files.iter().map(|f| yaml::lexicon_from_yaml(f, &read_utf8(f, MOST)?)).collect(),
            Err(Failure::MissingFolder { .. }) => Ok(Vec::new()),
            Err(failure) => Err(failure),
        }
    }

    /// Reads the lexicon of a language pair; an empty one where there is no file.
    ///
    /// # Errors
    /// [`Failure`] if the file cannot be read.
    pub fn read(&self, language: &str, gloss_language: &str) -> Result<Lexicon, Failure> {
        read(&self.file(language, gloss_language), language, gloss_language)
    }

    /// Opens the lexicon of a language pair for changes; waits a little for others who are saving it.
    ///
    /// # Errors
    /// [`Failure`] if it cannot be read, or is held by another process for long.
    pub fn open(&self, language: &str, gloss_language: &str) -> Result<LexiconGuard, Failure> {
        std::fs::create_dir_all(&self.0).map_err(|e| Failure::writing(&self.0, e))?;
        let path = self.file(language, gloss_language);
        let lock = Lock::wait_for(&path)?;
        remove_leftovers(&path);
        let lexicon = read(&path, language, gloss_language)?;
        Ok(LexiconGuard { lexicon, path, _lock: lock })
    }
}

impl LexiconGuard {
    /// Saves the lexicon.
    ///
    /// # Errors
    /// [`Failure`] if it cannot be written; the file is then as it was.
    pub fn save(&self) -> Result<(), Failure> {
        write_atomically(&self.path, yaml::lexicon_to_yaml(&self.lexicon).as_bytes(), Backup::Keep)
    }
}

fn read(path: &Path, language: &str, gloss_language: &str) -> Result<Lexicon, Failure> {
    let content = match read_utf8(path, MOST) {
        Ok(content) => content,
        Err(Failure::Missing { .. } | Failure::Empty { .. }) => return Ok(Lexicon::new(language, gloss_language)),
        Err(failure) => return Err(failure),
    };
    let lexicon = yaml::lexicon_from_yaml(path, &content)?;
    let pair = |language: &str, gloss_language: &str| format!("{language} to {gloss_language}").to_lowercase();
    let (asked, found) = (pair(language, gloss_language), pair(lexicon.language(), lexicon.gloss_language()));
    if asked == found {
        return Ok(lexicon);
    }
    let problem = format!("this is a lexicon from {found}, by its name it should be one from {asked}");
    let remedy = Some("rename the file, or correct `language` and `gloss_language` in it".to_owned());
    Err(Failure::Yaml { path: path.to_owned(), line: 1, column: 1, problem, remedy })
}
