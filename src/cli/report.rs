//! What is said to people: results, messages, troubles.

use crate::store::{Failure, Notice};
use crate::text::clean::shown;
use serde::Serialize;
use std::error::Error;
use std::io::{self, Write};
use std::path::Path;

/// Why a command could not do what was asked.
#[derive(Debug)]
pub(super) enum Trouble {
    /// A file could not be read or written.
    File(Failure),
    /// Standard output could not be written.
    Output(io::Error),
    /// The arguments ask for what cannot be.
    Request { problem: String, help: String },
    /// The arguments could not be understood.
    Usage(clap::Error),
}

impl Trouble {
    pub(super) fn request(problem: impl Into<String>, help: impl Into<String>) -> Trouble {
        Trouble::Request { problem: problem.into(), help: help.into() }
    }

    pub(super) fn is_broken_pipe(&self) -> bool {
        matches!(self, Trouble::Output(e) if e.kind() == io::ErrorKind::BrokenPipe)
    }

    /// Prints what was wrong, where, why, and what to do, to standard error.
    pub(super) fn print(&self, as_json: bool) {
        let account = self.account();
        // If standard error cannot be written either, there is nobody left to tell.
        let _ = if as_json {
            writeln!(io::stderr(), "{}", json(&account).unwrap_or_default())
        } else {
            write!(io::stderr(), "{}", account.text())
        };
    }

    fn account(&self) -> Account {
        match self {
            Trouble::File(failure) => Account {
                error: failure.to_string(),
                at: failure.place(),
                because: causes(failure),
                help: failure.help(),
            },
            Trouble::Output(error) => Account {
                error: "cannot write the result".to_owned(),
                at: None,
                because: vec![error.to_string()],
                help: None,
            },
            Trouble::Usage(error) => {
                let told = error.render().to_string();
                let told = told.trim_start_matches("error: ").trim_end();
                let (problem, help) = told.split_once("\n\n").unwrap_or((told, "undersong help lists the commands"));
                let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
                Account { error: problem.to_owned(), at: None, because: Vec::new(), help: Some(help) }
            }
            Trouble::Request { problem, help } => {
                Account { error: problem.clone(), at: None, because: Vec::new(), help: Some(help.clone()) }
            }
        }
    }
}

/// A trouble in the parts in which it is told.
#[derive(Serialize)]
struct Account {
    error: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    because: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<String>,
}

impl Account {
    fn text(&self) -> String {
        let mut text = format!("error: {}\n", shown(&self.error));
        let because = self.because.iter().map(|cause| ("because", cause));
        let rest =
            self.at.iter().map(|at| ("at", at)).chain(because).chain(self.help.iter().map(|help| ("help", help)));
        for (label, line) in rest {
            text.push_str(&format!("  {label}: {}\n", shown(line)));
        }
        text
    }
}

fn causes(error: &dyn Error) -> Vec<String> {
    let mut causes = Vec::new();
    let mut cause = error.source();
    while let Some(error) = cause {
        causes.push(error.to_string());
        cause = error.source();
    }
    causes
}

impl From<Failure> for Trouble {
    fn from(failure: Failure) -> Trouble {
        Trouble::File(failure)
    }
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Trouble {
        Trouble::Output(error)
    }
}

/// Prints text to standard output as it is; the caller has made it safe.
pub(super) fn print_text(text: &str) -> Result<(), Trouble> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

/// Prints a line to standard output.
pub(super) fn print_line(line: &str) -> Result<(), Trouble> {
    print_text(&format!("{}\n", shown(line)))
}

/// Prints a value to standard output as one line of JSON.
pub(super) fn print_json(value: &impl Serialize) -> Result<(), Trouble> {
    print_text(&format!("{}\n", json(value).map_err(|e| Trouble::Output(e.into()))?))
}

/// Writes a value as JSON in which whatever a terminal might obey is escaped; that can only stand within strings.
fn json(value: &impl Serialize) -> serde_json::Result<String> {
    let json = serde_json::to_string(value)?;
    let is_harmful = |c: char| c.is_control() || shown(c.encode_utf8(&mut [0; 4])).starts_with("<U+");
    if !json.chars().any(is_harmful) {
        return Ok(json);
    }
    let escape = |c: char| if is_harmful(c) { format!("\\u{:04x}", c as u32) } else { c.to_string() };
    Ok(json.chars().map(escape).collect())
}

/// Returns a path as text, for results; what is no text in it is replaced.
pub(super) fn path_text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// Prints a message to standard error.
pub(super) fn say(message: &str) {
    let _ = writeln!(io::stderr(), "{}", shown(message));
}

/// Prints what happened while a song was opened.
pub(super) fn say_notices(notices: &[Notice]) {
    for notice in notices {
        say(&format!("note: {notice}"));
    }
}

/// Returns a number with its noun.
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}
