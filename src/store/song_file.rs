//! A song that is being worked on: the song, its history, its journal, its lock and its file.
//!
//! | moment | on the disk |
//! | --- | --- |
//! | [`SongFile::make`] returns | the edit is in the journal |
//! | [`SongFile::save`] returns | the song file holds it, the former file is the backup, the journal is gone |
//! | killed at any moment | the next [`SongFile::open`] makes the journal's edits again and says so |

use super::decode::{read_utf8, utf8};
use super::journal::{Journal, Record};
use super::lock::Lock;
use super::save::{Backup, remove_leftovers, resolve_links, write_atomically, write_new_for};
use super::{Failure, yaml};
use crate::song::{Edit, History, Moved, Song, WordAt, apply};
use sha2::{Digest, Sha256};
use std::fmt;
use std::path::{Path, PathBuf};

/// The largest song file that is read, in bytes: a hundred times a long opera role.
const MOST: u64 = 64_000_000;

/// A song open for work.
#[derive(Debug)]
pub struct SongFile {
    path: PathBuf,
    song: Song,
    history: History,
    /// Comment lines at the head of the file, kept as they are.
    head_comment: String,
    /// Content of the file as it was read or written last.
    content: String,
    journal: Option<Journal>,
    _lock: Lock,
}

/// Something that happened while a song was opened and that the singer should know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Notice {
    /// Edits that had not been saved when the program last ended were made again.
    Recovered(usize),
    /// The file was changed by something else meanwhile; the unsaved work stands in a file of its own.
    KeptBeside(PathBuf),
    /// The journal could not be read to its end and was kept.
    DamagedJournal(PathBuf),
    /// The folder does not keep locks, so that a second window would not be noticed.
    NoLock,
    /// The program does not know the language; plain rules apply.
    UnknownLanguage(String),
}

impl SongFile {
    /// Opens a song for work and recovers what an earlier session did not save.
    ///
    /// # Errors
    /// [`Failure`] if the file cannot be read or is open elsewhere.
    pub fn open(path: &Path) -> Result<(SongFile, Vec<Notice>), Failure> {
        let path = resolve_links(path)?;
        let lock = match Lock::take(&path) {
            // A folder without the file, or one that does not exist, is told as that.
            Err(Failure::Write { .. }) if !path.exists() => return Err(Failure::Missing { path }),
            lock => lock?,
        };
        remove_leftovers(&path);
        let content = read_utf8(&path, MOST)?;
        let song = yaml::song_from_yaml(&path, &content)?;
        let mut notices = Vec::new();
        if !lock.is_kept() {
            notices.push(Notice::NoLock);
        }
        if crate::language::by_tag(&song.details.language).is_none() {
            notices.push(Notice::UnknownLanguage(song.details.language.clone()));
        }
        let head_comment = head_comment(&content).to_owned();
        let history = History::at_saved_song();
        let mut file = SongFile { path, song, history, head_comment, content, journal: None, _lock: lock };
        file.recover(&mut notices)?;
        Ok((file, notices))
    }

    /// Returns the song as it stands.
    pub fn song(&self) -> &Song {
        &self.song
    }

    /// Returns the path of the file, symbolic links followed.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Tells whether the song differs from the file.
    pub fn is_changed(&self) -> bool {
        self.history.is_changed()
    }

    /// Carries out an edit; when this returns, it survives whatever happens.
    ///
    /// # Errors
    /// [`Failure`] if the edit is refused or cannot be written to the journal; the song is then as it was.
    pub fn make(&mut self, edit: Edit, place: Option<WordAt>) -> Result<(), Failure> {
        self.history.make(&mut self.song, edit.clone(), place)?;
        if let Err(failure) = self.record(&edit) {
            self.history.undo(&mut self.song);
            return Err(failure);
        }
        Ok(())
    }

    /// Takes the last edit back; `None` when there is none.
    ///
    /// # Errors
    /// [`Failure`] if that cannot be written to the journal; the song is then as it was.
    pub fn undo(&mut self) -> Result<Option<Moved>, Failure> {
        let Some(moved) = self.history.undo(&mut self.song) else { return Ok(None) };
        if let Err(failure) = self.record(&moved.edit) {
            self.history.redo(&mut self.song);
            return Err(failure);
        }
        Ok(Some(moved))
    }

    /// Makes the edit again that was taken back last; `None` when there is none.
    ///
    /// # Errors
    /// [`Failure`] if that cannot be written to the journal; the song is then as it was.
    pub fn redo(&mut self) -> Result<Option<Moved>, Failure> {
        let Some(moved) = self.history.redo(&mut self.song) else { return Ok(None) };
        if let Err(failure) = self.record(&moved.edit) {
            self.history.undo(&mut self.song);
            return Err(failure);
        }
        Ok(Some(moved))
    }

    /// Saves the song if it differs from the file.
    ///
    /// # Errors
    /// [`Failure`] if the file was changed by something else or cannot be written; the journal still holds every edit.
    pub fn save(&mut self) -> Result<(), Failure> {
        if !self.is_changed() && self.journal.is_none() {
            return Ok(());
        }
        let content = format!("{}{}", self.head_comment, yaml::song_to_yaml(&self.song));
        match read_utf8(&self.path, MOST) {
            // A save that failed after its last step has left what it was to write.
            Ok(on_disk) if on_disk != self.content && on_disk != content => {
                return Err(Failure::ChangedOnDisk { path: self.path.clone() });
            }
            // A file that was removed meanwhile has nothing that could be overwritten.
            Ok(_) | Err(Failure::Missing { .. }) => {}
            Err(failure) => return Err(failure),
        }
        if let Some(journal) = &mut self.journal {
            journal.announce_save(&digest(&content))?;
        }
        write_atomically(&self.path, content.as_bytes(), Backup::Keep)?;
        self.content = content;
        self.history.mark_saved();
        match self.journal.take() {
            Some(journal) => journal.end(),
            None => Ok(()),
        }
    }

    fn record(&mut self, edit: &Edit) -> Result<(), Failure> {
        let journal = match &mut self.journal {
            Some(journal) => journal,
            none => none.insert(Journal::begin(&self.path, &digest(&self.content), &self.content)?),
        };
        journal.record(edit)
    }

    /// Makes the edits of a journal that was left behind, and saves.
    fn recover(&mut self, notices: &mut Vec<Notice>) -> Result<(), Failure> {
        let Some(record) = Record::read(&self.path)? else { return self.remove_journal() };
        let (mut song, mut n_recovered) = (self.song.clone(), 0);
        let missing = record.edits_missing_in(&digest(&self.content));
        for edit in missing.unwrap_or_default() {
            // An edit of this journal fits this song, unless the journal was tampered with; then the rest makes no sense.
            if apply(&mut song, edit).is_err() {
                break;
            }
            n_recovered += 1;
        }
        if record.is_damaged || missing.is_some_and(|edits| n_recovered < edits.len()) {
            let kept = free_path(&self.path, "journal");
            std::fs::copy(Journal::path_for(&self.path), &kept).map_err(|e| Failure::writing(&kept, e))?;
            notices.push(Notice::DamagedJournal(kept));
        }
        if missing.is_none() {
            let kept = keep_beside(&self.path, &record)?;
            notices.extend(kept.map(Notice::KeptBeside));
            return self.remove_journal();
        }
        if n_recovered > 0 {
            notices.push(Notice::Recovered(n_recovered));
            let content = format!("{}{}", self.head_comment, yaml::song_to_yaml(&song));
            // Announced like any save: a kill right after it must not look like another program's doing.
            Journal::go_on(&self.path, &record)?.announce_save(&digest(&content))?;
            write_atomically(&self.path, content.as_bytes(), Backup::Keep)?;
            (self.song, self.content) = (song, content);
        }
        self.remove_journal()
    }

    fn remove_journal(&self) -> Result<(), Failure> {
        let path = Journal::path_for(&self.path);
        match std::fs::remove_file(&path) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Failure::writing(&path, e)),
            _ => Ok(()),
        }
    }
}

/// Reads a song only to look at it: without a lock, with the edits of a journal if there is one.
///
/// # Errors
/// [`Failure`] if the file cannot be read or is no song.
pub fn read_song(path: &Path) -> Result<(Song, Vec<Notice>), Failure> {
    let content = read_utf8(path, MOST)?;
    let mut song = yaml::song_from_yaml(path, &content)?;
    let mut notices = Vec::new();
    if crate::language::by_tag(&song.details.language).is_none() {
        notices.push(Notice::UnknownLanguage(song.details.language.clone()));
    }
    let target = resolve_links(path)?;
    if let Some(record) = Record::read(&target)?
        && let Some(edits) = record.edits_missing_in(&digest(&content)).filter(|edits| !edits.is_empty())
    {
        let n_made = edits.iter().take_while(|edit| apply(&mut song, edit).is_ok()).count();
        notices.push(Notice::Recovered(n_made));
    }
    Ok((song, notices))
}

/// Writes a song as YAML, as it would be saved.
pub fn song_to_yaml(song: &Song) -> String {
    yaml::song_to_yaml(song)
}

/// Writes the song that a journal leads to into a file beside the changed one; `None` if the journal holds no edit.
fn keep_beside(path: &Path, record: &Record) -> Result<Option<PathBuf>, Failure> {
    if record.edits.is_empty() {
        return Ok(None);
    }
    let content = utf8(path, record.song.clone().into_bytes())?;
    let mut song = yaml::song_from_yaml(path, &content)?;
    for edit in &record.edits {
        if apply(&mut song, edit).is_err() {
            break;
        }
    }
    let kept = free_path(path, "recovered.yaml");
    let content = format!("{}{}", head_comment(&content), yaml::song_to_yaml(&song));
    write_new_for(path, &kept, content.as_bytes())?;
    Ok(Some(kept))
}

/// The first of `name.suffix`, `name-2.suffix` … that is free.
fn free_path(path: &Path, suffix: &str) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let numbered = (2..).map(|n| format!("{stem}-{n}.{suffix}"));
    let names = std::iter::once(format!("{stem}.{suffix}")).chain(numbered);
    let mut paths = names.map(|name| path.with_file_name(name));
    paths.find(|p| !p.exists()).expect("some number is free")
}

/// The comment lines and blank lines at the head of a document.
fn head_comment(content: &str) -> &str {
    let is_comment = |line: &&str| line.starts_with('#') || line.trim().is_empty();
    let length = content.split_inclusive('\n').take_while(is_comment).map(str::len).sum();
    &content[..length]
}

fn digest(content: &str) -> String {
    Sha256::digest(content).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Notice::Recovered(1) => write!(f, "one change that had not been saved was recovered"),
            Notice::Recovered(n) => write!(f, "{n} changes that had not been saved were recovered"),
            Notice::KeptBeside(path) => write!(
                f,
                "the file was changed by another program; the work that had not been saved is kept in {}",
                path.display()
            ),
            Notice::DamagedJournal(path) => {
                write!(f, "the journal of unsaved changes is damaged; it is kept in {}", path.display())
            }
            Notice::NoLock => write!(f, "this folder keeps no locks: do not open the song in a second window"),
            Notice::UnknownLanguage(tag) if tag.is_empty() => {
                write!(f, "the song names no language: plain rules apply")
            }
            Notice::UnknownLanguage(tag) => write!(f, "the language “{tag}” is not known: plain rules apply"),
        }
    }
}
