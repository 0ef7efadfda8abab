//! The commands and their options, from which help, completions and manual are made.

use super::{check, demo, fill, find, lexicon, new, print, shell};
use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// Gloss a song text word by word, and print it for the music stand
///
/// undersong holds the text side of a singer's preparation: every word of a song in a foreign language with its sound, its literal
/// meaning and its part of speech, a free translation and situation notes beside it, and a lexicon that remembers each word for
/// the next song.
#[derive(Debug, Parser)]
#[command(name = "undersong", version, max_term_width = 100, args_conflicts_with_subcommands = true)]
pub(super) struct Arguments {
    /// Song to open in the editor, or a folder of songs to choose from; otherwise the repertoire
    pub(super) song: Option<PathBuf>,
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Demo(demo::Args),
    New(new::Args),
    Fill(fill::Args),
    Check(check::Args),
    Print(print::Args),
    Find(find::Args),
    Lexicon(lexicon::Args),
    Completions(shell::CompletionArgs),
    /// Print the manual page
    ///
    /// For example: undersong manual > undersong.1
    Manual,
}

impl Command {
    /// Tells whether results, and so errors, are to be printed as JSON.
    pub(super) fn wants_json(&self) -> bool {
        match self {
            Command::New(args) => args.json,
            Command::Fill(args) => args.json,
            Command::Check(args) => args.json,
            Command::Find(args) => args.json,
            Command::Print(args) => args.json,
            Command::Lexicon(args) => args.wants_json(),
            Command::Demo(args) => args.json,
            Command::Completions(_) | Command::Manual => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound() {
        Arguments::command().debug_assert();
    }
}
