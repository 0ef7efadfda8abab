//! Files: songs and lexica as YAML, saved whole or not at all, with a journal of edits, a backup and a lock.
//!
//! [`SongFile`] is a song that is being worked on; [`read_song`] only looks at one. [`LexiconFolder`] finds the lexicon for a language
//! pair. Every way to fail is a [`Failure`], which names the file, the place and the remedy.
//!
//! Above this module nothing knows a path; it prints nothing and asks nothing.

mod decode;
mod failure;
mod journal;
mod lexica;
mod lock;
mod paths;
mod repertoire;
mod save;
mod settings;
mod song_file;
mod yaml;

pub use decode::{Decoded, Encoding, decode, read_text};
pub use failure::Failure;
pub use lexica::{LexiconFolder, LexiconGuard};
pub use paths::Paths;
pub use repertoire::{names_of_songs, new_id, song_files};
pub use save::{Backup, backup_path, write_atomically, write_new};
pub use settings::Settings;
pub use song_file::{Notice, SongFile, read_song, song_to_yaml};
