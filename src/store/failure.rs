//! What can go wrong with files, told so that a singer knows what to do.

use crate::song::Refused;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a file could not be read or written.
#[derive(Debug, Error)]
#[expect(missing_docs, reason = "the fields are named after what they hold")]
pub enum Failure {
    /// There is no such file.
    #[error("there is no file {}", .path.display())]
    Missing { path: PathBuf },
    /// There is no such folder.
    #[error("there is no folder {}", .path.display())]
    MissingFolder { path: PathBuf },
    /// The operating system refused to read.
    #[error("cannot read {}", .path.display())]
    Read { path: PathBuf, source: io::Error },
    /// The operating system refused to write.
    #[error("cannot write {}", .path.display())]
    Write { path: PathBuf, source: io::Error },
    /// The file is marked as not to be written.
    #[error("{} is marked read-only", .path.display())]
    ReadOnly { path: PathBuf },
    /// A folder stands where a file is expected.
    #[error("{} is a folder", .path.display())]
    IsFolder { path: PathBuf },
    /// There is a file already where a new one is to be made.
    #[error("there is a file {} already", .path.display())]
    Exists { path: PathBuf },
    /// The file is larger than any song or lexicon.
    #[error("{} is larger than {} MB", .path.display(), .limit / 1_000_000)]
    TooLarge { path: PathBuf, limit: u64 },
    /// The file holds no text.
    #[error("{} is not a text file", .path.display())]
    NotText { path: PathBuf },
    /// A song or lexicon is not written in UTF-8.
    #[error("{} is not written in UTF-8", .path.display())]
    NotUtf8 { path: PathBuf, line: usize },
    /// The file is empty.
    #[error("{} is empty", .path.display())]
    Empty { path: PathBuf },
    /// The file is not valid YAML, or not what was expected.
    #[error("{problem}")]
    Yaml { path: PathBuf, line: u64, column: u64, problem: String, remedy: Option<String> },
    /// The file was written by a later version of the program.
    #[error("{} has format {format}, which this version does not know", .path.display())]
    NewerFormat { path: PathBuf, format: u64 },
    /// A song has another program, or another window of this one, working on it.
    #[error("{} is open in another window ({holder})", .path.display())]
    Locked { path: PathBuf, holder: String },
    /// The file was changed by something else since it was opened.
    #[error("{} was changed by another program since it was opened", .path.display())]
    ChangedOnDisk { path: PathBuf },
    /// An edit was refused.
    #[error("the change makes no sense here")]
    Refused {
        #[from]
        source: Refused,
    },
    /// No home folder is known.
    #[error("no folder for settings and lexica is known")]
    NoHome,
}

impl Failure {
    /// Tells what stands in the way of reading a file.
    pub(super) fn reading(path: &Path, source: io::Error) -> Failure {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::NotFound => Failure::Missing { path },
            io::ErrorKind::IsADirectory => Failure::IsFolder { path },
            _ => Failure::Read { path, source },
        }
    }

    /// Tells what stands in the way of writing a file.
    pub(super) fn writing(path: &Path, source: io::Error) -> Failure {
        Failure::Write { path: path.to_owned(), source }
    }

    /// Returns file, line and column that the failure concerns, as far as they are known.
    pub fn place(&self) -> Option<String> {
        match self {
            Failure::Yaml { path, line, column, .. } => Some(format!("{}:{line}:{column}", path.display())),
            Failure::NotUtf8 { path, line } => Some(format!("{}:{line}", path.display())),
            _ => None,
        }
    }

    /// Returns what the singer can do about it.
    pub fn help(&self) -> Option<String> {
        let help = match self {
            Failure::Missing { .. } => {
                "check the spelling of the name; `undersong new FILE --lang it` makes a new song"
            }
            Failure::MissingFolder { .. } => "check the spelling of the name",
            Failure::Read { source, .. } if source.kind() == io::ErrorKind::PermissionDenied => {
                "ask the owner of the file for the right to read it"
            }
            Failure::Read { .. } => "check that the disk is connected and in order",
            Failure::Write { source, .. } => match source.kind() {
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                    "the disk is full: make room and try again; the file is as it was before"
                }
                io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                    "the folder does not allow writing: choose another folder, or ask its owner"
                }
                io::ErrorKind::NotFound => "the folder does not exist: make it first",
                io::ErrorKind::FileTooLarge => {
                    "files of this size are not allowed here: raise the limit or choose another disk; the file is as it was before"
                }
                _ => "check that the disk is connected and in order; the file is as it was before",
            },
            Failure::ReadOnly { .. } => "allow writing to the file, or copy the song under another name",
            Failure::IsFolder { .. } => "name a song file in it",
            Failure::Exists { .. } => "choose another name; nothing was overwritten",
            Failure::TooLarge { .. } => "this is hardly a song: check that it is the right file",
            Failure::NotText { .. } => "this is hardly a song: check that it is the right file",
            Failure::NotUtf8 { .. } => "open it in a text editor and save it with the encoding UTF-8",
            Failure::Empty { .. } => "put the backup in its place, or start with `undersong new`",
            Failure::Yaml { remedy, .. } => return remedy.clone(),
            Failure::NewerFormat { .. } => "update undersong; the file was not changed",
            Failure::Locked { .. } => "close the song there first",
            Failure::ChangedOnDisk { .. } => "open the song again: your work will stand beside it in a file of its own",
            Failure::Refused { .. } => return None,
            Failure::NoHome => "set UNDERSONG_DATA_DIR and UNDERSONG_CONFIG_DIR to folders of your choice",
        };
        Some(help.to_owned())
    }
}
