//! `undersong completions`, `undersong manual`, and what is said when no command is given.

use super::Outcome;
use super::args::Arguments;
use super::report::{Trouble, print_text};
use clap::CommandFactory;

/// Print completions for a shell
///
/// For example: undersong completions bash > /etc/bash_completion.d/undersong
#[derive(Debug, clap::Args)]
pub(super) struct CompletionArgs {
    /// Shell
    shell: clap_complete::Shell,
}

pub(super) fn completions(args: &CompletionArgs) -> Result<Outcome, Trouble> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, &mut Arguments::command(), "undersong", &mut out);
    print_text(&String::from_utf8_lossy(&out))?;
    Ok(Outcome::Fine)
}

/// Prints the manual: the page of the program, then those of its commands.
pub(super) fn manual() -> Result<Outcome, Trouble> {
    let mut command = Arguments::command();
    command.build();
    let mut out = Vec::new();
    pages(&command, &mut out)?;
    print_text(&String::from_utf8_lossy(&out))?;
    Ok(Outcome::Fine)
}

fn pages(command: &clap::Command, out: &mut Vec<u8>) -> std::io::Result<()> {
    clap_mangen::Man::new(command.clone()).render(out)?;
    command.get_subcommands().filter(|sub| sub.get_name() != "help").try_for_each(|sub| pages(sub, out))
}

const WELCOME: &str = "\
undersong: gloss a song text word by word, and print it for the music stand

To look around, write the demo songs and print one:
  undersong demo my-demo
  undersong print my-demo/notte-di-ventalba.yaml

To begin with a song of your own, save its text in a file:
  undersong new song.yaml --lang it --title \"Title\" --text text.txt
  undersong fill song.yaml      drafts what your lexicon knows
  undersong check song.yaml     says what is still missing
  undersong print song.yaml     prints the sheet

undersong help lists all commands; undersong help COMMAND explains one.
";

/// Tells whether somebody sits before a terminal.
pub(super) fn is_on_terminal() -> bool {
    use std::io::IsTerminal;
    std::io::stdin().is_terminal() && std::io::stdout().is_terminal()
}

pub(super) fn welcome() -> Result<Outcome, Trouble> {
    print_text(WELCOME)?;
    Ok(Outcome::Fine)
}
