//! Commands: one file each, results to standard output, messages to standard error.
//!
//! The exit status is 0 if all is well, 1 if a command found something wrong, 2 if it could not do what was asked. No command asks a
//! question.

mod args;
mod check;
mod demo;
mod fill;
mod find;
mod lexicon;
mod new;
mod print;
mod report;
mod shell;

use args::{Arguments, Command};
use clap::{Parser, error::ErrorKind};
use report::Trouble;
use std::process::ExitCode;

/// How a command ended that did what was asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    Fine,
    /// It found something wrong, or nothing where something was looked for.
    Found,
}

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        // Help and version are results; clap prints them as the terminal likes.
        Err(answer) if !answer.use_stderr() => answer.exit(),
        Err(error) => {
            let trouble = match std::env::args_os().nth(1).filter(|first| std::path::Path::new(first).exists()) {
                Some(song) if error.kind() == ErrorKind::InvalidSubcommand => Trouble::request(
                    format!("{} is a file, and this version has no editor to open it in", song.display()),
                    "undersong print FILE prints the song, fill and check work on it; change it in a text editor",
                ),
                _ => Trouble::Usage(error),
            };
            trouble.print(std::env::args_os().any(|arg| arg == "--json"));
            return ExitCode::from(2);
        }
    };
    let wants_json = arguments.command.as_ref().is_some_and(Command::wants_json);
    match dispatch(arguments) {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::Found) => ExitCode::from(1),
        // Whoever reads our output has had enough of it.
        Err(trouble) if trouble.is_broken_pipe() => ExitCode::SUCCESS,
        Err(trouble) => {
            trouble.print(wants_json);
            ExitCode::from(2)
        }
    }
}

fn dispatch(arguments: Arguments) -> Result<Outcome, Trouble> {
    match arguments.command {
        Some(Command::Demo(args)) => demo::run(&args),
        Some(Command::New(args)) => new::run(&args),
        Some(Command::Fill(args)) => fill::run(&args),
        Some(Command::Check(args)) => check::run(&args),
        Some(Command::Print(args)) => print::run(&args),
        Some(Command::Find(args)) => find::run(&args),
        Some(Command::Lexicon(args)) => lexicon::run(&args),
        Some(Command::Completions(args)) => shell::completions(&args),
        Some(Command::Manual) => shell::manual(),
        None => shell::welcome(),
    }
}
