//! The journal: every confirmed edit is on the disk before it counts as made.
//!
//! A line each, in JSON. The first names the state of the song on which the edits build, and holds that state itself, so that nothing is
//! lost even if the song file is changed by something else. A save is announced with the digest of what it will write; the journal is
//! removed when the song file is in place.
//!
//! ```text
//! {"journal":1,"digest":"9f86…","song":"format: 1\n…"}
//! {"edit":{"set-ask":{"at":{…},"ask":true}}}
//! {"saving":"60303a…"}
//! ```

use super::Failure;
use super::decode::read_bytes;
use super::save::{beside, sync_folder};
use crate::song::Edit;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The most that is read of a journal, in bytes.
const MOST: u64 = 1_000_000_000;

/// A journal that is being written.
#[derive(Debug)]
pub(super) struct Journal {
    path: PathBuf,
    file: File,
}

/// What a journal says.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Record {
    /// Digest of the song file on which the edits build.
    pub(super) digest: String,
    /// Content of that file.
    pub(super) song: String,
    /// The edits in order.
    pub(super) edits: Vec<Edit>,
    /// Saves that were begun: the digest of what was to be written, and how many edits it contains.
    pub(super) saves: Vec<(String, usize)>,
    /// Whether a line could not be read; what came after it is not in the record.
    pub(super) is_damaged: bool,
    /// Length of the part that could be read, in bytes.
    length: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Entry<'a> {
    #[serde(borrow)]
    Edit(Cow<'a, Edit>),
    Saving(Cow<'a, str>),
}

#[derive(Serialize, Deserialize)]
struct Head<'a> {
    journal: u32,
    digest: Cow<'a, str>,
    song: Cow<'a, str>,
}

impl Journal {
    /// Returns where the journal of a song is kept.
    pub(super) fn path_for(song: &Path) -> PathBuf {
        beside(song, ".journal")
    }

    /// Begins the journal of a song whose file holds `content`.
    pub(super) fn begin(song: &Path, digest: &str, content: &str) -> Result<Journal, Failure> {
        let path = Journal::path_for(song);
        let begin = || {
            let file = File::options().write(true).create_new(true).open(&path)?;
            let mut journal = Journal { path: path.clone(), file };
            let head = Head { journal: 1, digest: digest.into(), song: content.into() };
            if let Err(error) = journal.append(&head).and_then(|()| sync_folder(&path)) {
                // Half a journal would stand in the way of the next attempt.
                let _ = fs::remove_file(&path);
                return Err(error);
            }
            Ok(journal)
        };
        begin().map_err(|e| Failure::writing(song, e))
    }

    /// Goes on with a journal that an earlier session left, after the part of it that could be read.
    pub(super) fn go_on(song: &Path, record: &Record) -> Result<Journal, Failure> {
        let path = Journal::path_for(song);
        let open = || {
            let mut file = File::options().write(true).open(&path)?;
            file.set_len(record.length)?;
            io::Seek::seek(&mut file, io::SeekFrom::End(0))?;
            Ok(Journal { path: path.clone(), file })
        };
        open().map_err(|e| Failure::writing(song, e))
    }

    /// Writes an edit; when this returns, it is on the disk.
    pub(super) fn record(&mut self, edit: &Edit) -> Result<(), Failure> {
        self.append(&Entry::Edit(Cow::Borrowed(edit))).map_err(|e| Failure::writing(&self.path, e))
    }

    /// Announces that a file with this digest is about to be put in place.
    pub(super) fn announce_save(&mut self, digest: &str) -> Result<(), Failure> {
        self.append(&Entry::Saving(digest.into())).map_err(|e| Failure::writing(&self.path, e))
    }

    /// Removes the journal after a save.
    pub(super) fn end(self) -> Result<(), Failure> {
        fs::remove_file(&self.path).and_then(|()| sync_folder(&self.path)).map_err(|e| Failure::writing(&self.path, e))
    }

    /// Writes a line and forces it to the disk. What a failed write has left is cut off, so that the next line stands alone.
    fn append(&mut self, entry: &impl Serialize) -> io::Result<()> {
        let mut line = serde_json::to_vec(entry)?;
        line.push(b'\n');
        let length = self.file.metadata()?.len();
        let written = self.file.write_all(&line).and_then(|()| self.file.sync_data());
        if written.is_err() {
            let _ = self.file.set_len(length);
            let _ = io::Seek::seek(&mut self.file, io::SeekFrom::Start(length));
        }
        written
    }
}

impl Record {
    /// Reads the journal of a song; `None` if there is none, or one in which nothing had been confirmed yet.
    ///
    /// A last line that was cut off by a crash was never confirmed and is passed over.
    pub(super) fn read(song: &Path) -> Result<Option<Record>, Failure> {
        let path = Journal::path_for(song);
        match read_bytes(&path, MOST) {
            Ok(bytes) => Ok(Record::parse(&bytes)),
            Err(Failure::Missing { .. }) => Ok(None),
            Err(failure) => Err(failure),
        }
    }

    fn parse(bytes: &[u8]) -> Option<Record> {
        let mut lines = bytes.split_inclusive(|b| *b == b'\n').filter(|line| line.ends_with(b"\n"));
        let first = lines.next()?;
        let (digest, song) = match serde_json::from_slice(first) {
            Ok(Head { journal: 1, digest, song }) => (digest.into_owned(), song.into_owned()),
            _ => (String::new(), String::new()),
        };
        let is_damaged = digest.is_empty();
        let length = first.len() as u64;
        let mut record = Record { digest, song, edits: Vec::new(), saves: Vec::new(), is_damaged, length };
        for line in lines.take_while(|_| !is_damaged) {
            match serde_json::from_slice::<Entry<'_>>(line) {
                Ok(Entry::Edit(edit)) => record.edits.push(edit.into_owned()),
                Ok(Entry::Saving(digest)) => record.saves.push((digest.into_owned(), record.edits.len())),
                Err(_) => {
                    record.is_damaged = true;
                    break;
                }
            }
            record.length += line.len() as u64;
        }
        Some(record)
    }

    /// Returns the edits that a song file with this digest does not contain yet; `None` if the journal does not build on it.
    pub(super) fn edits_missing_in(&self, digest: &str) -> Option<&[Edit]> {
        let saved = self.saves.iter().rev().find(|(saved, _)| saved == digest);
        match saved {
            Some((_, n_edits)) => Some(&self.edits[*n_edits..]),
            None => (self.digest == digest).then_some(&self.edits[..]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::song::{Detail, Edit};

    fn title(text: &str) -> Edit {
        Edit::SetDetail { detail: Detail::Title, text: text.into() }
    }

    fn written(write: impl FnOnce(&mut Journal)) -> Vec<u8> {
        let folder = tempfile::tempdir().unwrap();
        let song = folder.path().join("song.yaml");
        write(&mut Journal::begin(&song, "d0", "title: A\n").unwrap());
        fs::read(Journal::path_for(&song)).unwrap()
    }

    #[test]
    fn what_is_recorded_is_read() {
        let bytes = written(|journal| {
            journal.record(&title("B")).unwrap();
            journal.announce_save("d1").unwrap();
            journal.record(&title("C")).unwrap();
        });
        let record = Record::parse(&bytes).unwrap();
        assert_eq!((record.song.as_str(), record.is_damaged), ("title: A\n", false));
        assert_eq!(record.edits_missing_in("d0"), Some(&[title("B"), title("C")][..]));
        assert_eq!(record.edits_missing_in("d1"), Some(&[title("C")][..]));
        assert_eq!(record.edits_missing_in("other"), None);
    }

    #[test]
    fn a_journal_cut_off_anywhere_gives_the_edits_before() {
        let bytes = written(|journal| {
            journal.record(&title("B")).unwrap();
            journal.record(&title("C")).unwrap();
        });
        let ends: Vec<usize> = (0..bytes.len()).filter(|n| bytes[*n] == b'\n').collect();
        for length in 0..=bytes.len() {
            let whole_lines = ends.iter().filter(|end| **end < length).count();
            match Record::parse(&bytes[..length]) {
                None => assert_eq!(whole_lines, 0),
                Some(record) => {
                    assert!(!record.is_damaged);
                    assert_eq!(record.edits.len() + 1, whole_lines);
                }
            }
        }
    }

    #[test]
    fn damage_in_the_middle_is_told() {
        let mut bytes = written(|journal| {
            journal.record(&title("B")).unwrap();
            journal.record(&title("C")).unwrap();
        });
        let second = bytes.iter().position(|b| *b == b'\n').unwrap() + 3;
        bytes[second] = b'#';
        let record = Record::parse(&bytes).unwrap();
        assert!(record.is_damaged && record.edits.is_empty());
    }
}
