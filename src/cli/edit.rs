//! `undersong` and `undersong FILE`: the list of songs and the editor.

use super::Outcome;
use super::find::repertoire;
use super::report::Trouble;
use crate::store::Failure;
use crate::tui::{Start, Stopped, run as run_editor};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// Opens the editor on a song, or the list of the songs in a folder.
pub(super) fn run(path: Option<&Path>) -> Result<Outcome, Trouble> {
    let is_dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
    if is_dumb || !std::io::stdin().is_terminal() || !std::io::stdout().is_terminal() {
        return Err(Trouble::request(
            "the editor needs a terminal that it can draw on",
            "use the commands instead: `undersong help` lists them",
        ));
    }
    let start = match path {
        None => Start::Songs(repertoire(None)?),
        Some(path) if path.is_dir() => Start::Songs(path.to_owned()),
        Some(path) if !path.exists() => return Err(Failure::Missing { path: PathBuf::from(path) }.into()),
        Some(path) => Start::Song(path.to_owned()),
    };
    match run_editor(start) {
        Ok(()) => Ok(Outcome::Fine),
        Err(Stopped::File(failure)) => Err(failure.into()),
        Err(Stopped::Terminal(error)) => Err(Trouble::Output(error)),
    }
}
