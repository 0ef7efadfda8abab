//! The editor on a stage: a song in a folder of its own, keys pressed by name, screens drawn without a terminal.

use super::notation;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::{Buffer, CellWidth};
use ratatui::style::{Color, Modifier, Style};
use std::fmt::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use undersong::lexicon::Lexicon;
use undersong::song::{Song, WordAt};
use undersong::store::{SongFile, song_to_yaml};
use undersong::tui::{Code, Context, Editor, Effect, Key, Keymap, TABLE, Theme, draw};

/// An editor with the folder that holds its song.
pub struct Stage {
    pub editor: Editor,
    /// The keys that were pressed.
    pub n_keys: usize,
    folder: TempDir,
}

impl Stage {
    /// Opens a song in the notation of these tests, with an empty lexicon and the cursor where it is drawn.
    pub fn of(notation: &str) -> Stage {
        Stage::with_lexicon(notation, Lexicon::new("it", "en"))
    }

    pub fn with_lexicon(notation: &str, lexicon: Lexicon) -> Stage {
        let (song, cursor) = notation::read(notation);
        let mut stage = Stage::with_song(&song, lexicon);
        stage.go_to(cursor);
        stage
    }

    pub fn with_song(song: &Song, lexicon: Lexicon) -> Stage {
        let folder = folder();
        let path = folder.path().join("song.yaml");
        std::fs::write(&path, song_to_yaml(song)).unwrap();
        Stage::open(folder, &path, lexicon)
    }

    /// Opens a copy of a demo song.
    pub fn demo(name: &str) -> Stage {
        Stage::demo_with_lexicon(name, Lexicon::default())
    }

    pub fn demo_with_lexicon(name: &str, lexicon: Lexicon) -> Stage {
        let folder = folder();
        let path = folder.path().join(format!("{name}.yaml"));
        std::fs::copy(demo_path(name), &path).unwrap();
        Stage::open(folder, &path, lexicon)
    }

    fn open(folder: TempDir, path: &Path, lexicon: Lexicon) -> Stage {
        let (file, notices) = SongFile::open(path).unwrap();
        let editor = Editor::new(file, lexicon, Keymap::default(), &notices);
        Stage { editor, n_keys: 0, folder }
    }

    pub fn song(&self) -> &Song {
        self.editor.song()
    }

    /// The place of the word under the cursor.
    pub fn cursor(&self) -> Option<WordAt> {
        let here = self.editor.word()?;
        self.song().words().find(|(_, word)| std::ptr::eq(*word, here)).map(|(at, _)| at)
    }

    /// Moves the cursor to a word.
    pub fn go_to(&mut self, at: WordAt) {
        let line = self.song().lines().position(|(line, _)| line == at.line()).unwrap_or_default();
        self.editor.go_to_line_number(line);
        for _ in 0..at.word {
            self.editor.key("right".parse().unwrap());
        }
    }

    /// Presses keys: a word names a key (`enter`, `ctrl-u`, `n`), a text in quotation marks of either kind is typed letter
    /// by letter, and `:split-word` chooses the command of that name from the list of commands.
    pub fn press(&mut self, keys: &str) -> Vec<Effect> {
        let mut effects = Vec::new();
        let mut rest = keys.trim_start();
        while let Some(first) = rest.chars().next() {
            let end = match first {
                '\'' | '"' => rest[1..].find(first).expect("a text ends with the mark with which it begins") + 2,
                _ => rest.find(char::is_whitespace).unwrap_or(rest.len()),
            };
            let word = &rest[..end];
            match first {
                '\'' | '"' => word[1..end - 1].chars().for_each(|c| effects.extend(self.type_letter(c))),
                ':' => effects.extend(self.choose_command(&word[1..])),
                _ => effects.extend(self.key(word.parse().unwrap_or_else(|()| panic!("no key is called {word}")))),
            }
            rest = rest[end..].trim_start();
        }
        effects
    }

    fn key(&mut self, key: Key) -> Vec<Effect> {
        self.n_keys += 1;
        self.editor.key(key)
    }

    fn type_letter(&mut self, letter: char) -> Vec<Effect> {
        self.key(Key::plain(Code::Char(letter)))
    }

    fn choose_command(&mut self, name: &str) -> Vec<Effect> {
        let command = TABLE.iter().find(|b| b.name == name).unwrap_or_else(|| panic!("no command is called {name}"));
        self.press("f2");
        assert_eq!(self.editor.context(), Context::Picker, "the list of commands is open");
        for letter in format!("{}: {}", command.label, command.help).chars() {
            self.type_letter(letter);
        }
        self.press("enter")
    }

    /// Draws the screen at a size.
    pub fn screen(&mut self, width: u16, height: u16) -> Screen {
        Screen::of(&mut self.editor, width, height, &Theme::new(true))
    }

    /// What the last row of the screen says.
    pub fn message(&mut self) -> String {
        self.screen(200, 60).rows.last().unwrap().clone()
    }

    /// What stands in the cell under the cursor, as the screen shows it.
    pub fn cell(&mut self) -> String {
        let screen = self.screen(200, 60);
        let sheet = 1..screen.card();
        let runs = screen.runs.iter().filter(|r| sheet.contains(&usize::from(r.row)));
        let cells: Vec<&str> =
            runs.filter(|r| r.style.add_modifier.contains(Modifier::REVERSED)).map(|r| r.text.trim_end()).collect();
        cells.concat()
    }

    /// The name of the row in which the cursor is, as the card tells it.
    pub fn row(&mut self) -> String {
        let screen = self.screen(200, 60);
        screen.rows[screen.card() + 1].split(':').next().unwrap().to_owned()
    }

    /// The rows of the card under its head: what is offered.
    pub fn card(&mut self) -> Vec<String> {
        let screen = self.screen(200, 60);
        let rows = &screen.rows[screen.card() + 2..screen.rows.len() - 1];
        rows.iter().map(|row| row.trim().to_owned()).filter(|row| !row.is_empty()).collect()
    }

    /// The path of a file beside the song.
    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&notation::write(self.song(), self.cursor()))
    }
}

/// Opens the song before, presses keys, and compares with the song after.
#[track_caller]
pub fn check(before: &str, keys: &str, after: &str) {
    check_with(Stage::of(before), keys, after);
}

#[track_caller]
pub fn check_with(mut stage: Stage, keys: &str, after: &str) {
    let before = stage.to_string();
    stage.press(keys);
    let got = stage.to_string();
    assert!(got == after, "before:\n{before}\n\nkeys: {keys}\n\nexpected:\n{after}\n\ngot:\n{got}\n");
}

/// A new folder: in memory where the system has such a place, since every edit waits for the disk.
fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory).unwrap() } else { tempfile::tempdir().unwrap() }
}

pub fn demo_path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo").join(format!("{name}.yaml"))
}

/// A drawn screen.
pub struct Screen {
    /// The text of each row, without spaces at its end.
    pub rows: Vec<String>,
    /// Column and row of the text cursor, if it is shown.
    pub cursor: Option<(u16, u16)>,
    /// The pieces that do not stand in the plain style.
    pub runs: Vec<Run>,
    pub buffer: Buffer,
}

/// A piece of a row in one style that is not the plain one.
pub struct Run {
    pub row: u16,
    pub column: u16,
    pub text: String,
    pub style: Style,
}

impl Screen {
    pub fn of(editor: &mut Editor, width: u16, height: u16, theme: &Theme) -> Screen {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| draw(frame, editor, theme)).unwrap();
        let backend = terminal.backend();
        let position = backend.cursor_position();
        let cursor = backend.cursor_visible().then_some((position.x, position.y));
        let buffer = backend.buffer().clone();
        let mut screen = Screen { rows: Vec::new(), cursor, runs: Vec::new(), buffer };
        for y in 0..height {
            screen.read_row(y, width);
        }
        screen
    }

    fn read_row(&mut self, y: u16, width: u16) {
        let (mut row, mut x) = (String::new(), 0);
        let mut run: Option<Run> = None;
        while x < width {
            let cell = &self.buffer[(x, y)];
            row.push_str(cell.symbol());
            let style = cell.style();
            let is_plain = style.add_modifier.is_empty() && colour(style.fg).is_none() && colour(style.bg).is_none();
            match &mut run {
                Some(run) if run.style == style => run.text.push_str(cell.symbol()),
                _ => {
                    self.runs.extend(run.take());
                    run = (!is_plain).then(|| Run { row: y, column: x, text: cell.symbol().to_owned(), style });
                }
            }
            // A wide letter covers the cell after it.
            x += cell.cell_width().max(1);
        }
        self.runs.extend(run);
        self.rows.push(row.trim_end().to_owned());
    }

    pub fn text(&self) -> String {
        self.rows.join("\n")
    }

    /// The row of the rule above the card.
    pub fn card(&self) -> usize {
        let is_rule = |row: &String| !row.is_empty() && row.chars().all(|c| c == '─');
        self.rows.iter().position(is_rule).expect("a rule parts sheet and card")
    }

    /// The style runs that can be seen as a block of text: row and columns from 0, style, text.
    pub fn styles(&self) -> String {
        let mut block = String::new();
        let seen_on_blanks = Modifier::REVERSED | Modifier::UNDERLINED;
        let is_seen = |r: &&Run| !r.text.trim().is_empty() || r.style.add_modifier.intersects(seen_on_blanks);
        for run in self.runs.iter().filter(is_seen) {
            let end = usize::from(run.column) + undersong::text::cluster::width(&run.text) - 1;
            let mut names: Vec<String> =
                run.style.add_modifier.iter_names().map(|(name, _)| name.to_lowercase()).collect();
            names.extend(colour(run.style.fg).map(|c| c.to_string().to_lowercase()));
            names.extend(colour(run.style.bg).map(|c| format!("on {}", c.to_string().to_lowercase())));
            let _ = writeln!(block, "{:>2} {:>3}-{:<3} {:<26} {}", run.row, run.column, end, names.join(" "), run.text);
        }
        block
    }
}

impl fmt::Display for Screen {
    /// The screen for a snapshot: size and cursor, then the rows.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let area = self.buffer.area;
        let cursor = match self.cursor {
            Some((x, y)) => format!("cursor in column {x} of row {y}, on {:?}", self.buffer[(x, y)].symbol()),
            None => "no cursor".to_owned(),
        };
        writeln!(f, "{}x{}, {cursor}", area.width, area.height)?;
        self.rows.iter().try_for_each(|row| writeln!(f, "|{row}"))
    }
}

fn colour(colour: Option<Color>) -> Option<Color> {
    colour.filter(|c| *c != Color::Reset)
}
