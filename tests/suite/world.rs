//! A sealed world for running the program: folders of its own, no colour, nothing of the user's environment.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A folder with songs, settings and lexica of its own; removed when dropped.
pub struct World {
    folder: tempfile::TempDir,
}

/// What a command printed and how it ended.
#[derive(Debug)]
pub struct Ran {
    pub stdout: String,
    pub stderr: String,
    pub status: i32,
}

impl World {
    pub fn new() -> World {
        World { folder: tempfile::tempdir().unwrap() }
    }

    /// The folder in which commands run.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.path().join(name)
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.file(name);
        std::fs::write(&path, content).unwrap();
        path
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.file(name)).unwrap()
    }

    /// The program, to be run in the folder.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_undersong"));
        command
            .args(args)
            .current_dir(self.path())
            .env_clear()
            .env("NO_COLOR", "1")
            .env("UNDERSONG_CONFIG_DIR", self.file("home/config"))
            .env("UNDERSONG_DATA_DIR", self.file("home/data"));
        command
    }

    pub fn run(&self, args: &[&str]) -> Ran {
        self.run_with(args, "")
    }

    /// Runs a command with a text on standard input.
    pub fn run_with(&self, args: &[&str], input: impl AsRef<[u8]>) -> Ran {
        let mut command = self.command(args);
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut stdin = child.stdin.take().unwrap();
        // A program that does not read its input closes it; that is its right.
        let _ = stdin.write_all(input.as_ref());
        drop(stdin);
        let output = child.wait_with_output().unwrap();
        Ran {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            status: output.status.code().unwrap_or(-1),
        }
    }

    /// Runs a command that must succeed; returns its standard output.
    pub fn ok(&self, args: &[&str]) -> String {
        let ran = self.run(args);
        assert_eq!(ran.status, 0, "{args:?}: {ran:#?}");
        ran.stdout
    }
}

impl std::fmt::Display for Ran {
    /// All that a user sees, for snapshots.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.stdout)?;
        if !self.stderr.is_empty() {
            write!(f, "--- stderr\n{}", self.stderr)?;
        }
        if self.status != 0 {
            writeln!(f, "--- exit status {}", self.status)?;
        }
        Ok(())
    }
}
