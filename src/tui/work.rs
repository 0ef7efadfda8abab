//! What the program is working on, and the effects on files: opening, saving, learning, printing, the list of songs.

use super::dialog::{Choice, Item, Picker};
use super::editor::{Editor, Effect};
use super::key::Key;
use super::keys::{Action, Context, Keymap};
use super::songs::{Entry, Songs, SongsEffect};
use super::theme::Theme;
use super::{Start, mouse, prepare, view};
use crate::lexicon::learn;
use crate::sheet::{Options, Paper, compose, markdown, text};
use crate::song::{Details, Note, Song};
use crate::store::{
    Backup, Failure, LexiconFolder, Paths, Settings, SongFile, backup_path, new_id, read_song, song_files,
    song_to_yaml, write_atomically, write_new,
};
use crate::text::fold::comparison_key;
use ratatui::Frame;
use ratatui::crossterm::event::MouseEvent;
use ratatui::layout::Rect;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What the event loop does next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flow {
    Go,
    Redraw,
    Suspend,
    ToggleMouse,
    Leave,
}

/// The screen that is open.
enum Screen {
    Songs(Songs),
    Song(Box<Editor>),
    /// A song that cannot be opened: what is wrong, and what can be done.
    Broken {
        path: PathBuf,
        account: Vec<String>,
        picker: Picker,
    },
}

/// What the program is working on.
pub(super) struct Work {
    screen: Screen,
    /// The folder of the list to which leaving a song leads.
    folder: Option<PathBuf>,
    paths: Paths,
    settings: Settings,
    keymap: Keymap,
    theme: Theme,
    window: Rect,
}

impl Work {
    pub(super) fn begin(start: Start) -> Result<Work, Failure> {
        let paths = Paths::find()?;
        let settings = Settings::read(&paths)?;
        let (keymap, mistakes) = Keymap::with_own(&settings.keys);
        let has_colour = std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        let (screen, folder) = match start {
            Start::Songs(folder) => {
                let entries = list(&folder)?;
                (Screen::Songs(Songs::new(folder.clone(), entries, keymap.clone())), Some(folder))
            }
            Start::Song(path) => (open(&path, &paths, &keymap), None),
        };
        let mut work =
            Work { screen, folder, paths, settings, keymap, theme: Theme::new(has_colour), window: Rect::default() };
        if let Some(mistake) = mistakes.first() {
            work.tell(&format!("Settings, keys: {mistake:?}"));
        }
        Ok(work)
    }

    pub(super) fn prepare(&mut self, window: Rect) {
        self.window = window;
        if let Screen::Song(editor) = &mut self.screen {
            prepare(editor, window);
        }
    }

    pub(super) fn draw(&self, frame: &mut Frame) {
        match &self.screen {
            Screen::Songs(songs) => view::draw_songs(frame, songs, &self.theme),
            Screen::Song(editor) => view::draw_editor(frame, editor, &self.theme),
            Screen::Broken { account, picker, .. } => view::draw_broken(frame, account, picker, &self.theme),
        }
    }

    pub(super) fn tell(&mut self, message: &str) {
        match &mut self.screen {
            Screen::Songs(songs) => songs.message = Some(message.to_owned()),
            Screen::Song(editor) => editor.tell(message.to_owned()),
            Screen::Broken { .. } => {}
        }
    }

    pub(super) fn key(&mut self, key: Key) -> Flow {
        match &mut self.screen {
            Screen::Songs(songs) => {
                let effects = songs.key(key);
                self.perform_all(effects, Work::perform_in_list)
            }
            Screen::Song(editor) => {
                let effects = editor.key(key);
                self.perform_all(effects, Work::perform)
            }
            Screen::Broken { .. } => self.key_on_broken(key),
        }
    }

    pub(super) fn paste(&mut self, text: &str) {
        match &mut self.screen {
            Screen::Songs(songs) => songs.type_text(text.lines().next().unwrap_or_default()),
            Screen::Song(editor) => editor.paste(text),
            Screen::Broken { .. } => {}
        }
    }

    pub(super) fn mouse(&mut self, event: MouseEvent) -> Flow {
        if let Screen::Song(editor) = &mut self.screen {
            mouse(editor, self.window, &event);
        }
        Flow::Go
    }

    /// After a pause: saves, and notices what others did to the file. Returns whether the screen has changed.
    pub(super) fn pause(&mut self) -> bool {
        let Screen::Song(editor) = &mut self.screen else { return false };
        editor.pause();
        if editor.file().is_changed() {
            self.save();
            return true;
        }
        if editor.file().is_changed_on_disk() {
            editor.settle_all();
            self.take_over_from_disk();
            return true;
        }
        false
    }

    /// Before the program ends: everything that was typed is settled and saved.
    pub(super) fn end(&mut self) {
        if let Screen::Song(editor) = &mut self.screen {
            editor.settle_all();
            self.save();
        }
    }

    fn perform_all<E>(&mut self, effects: Vec<E>, perform: impl Fn(&mut Work, E) -> Flow) -> Flow {
        effects.into_iter().map(|effect| perform(self, effect)).find(|flow| *flow != Flow::Go).unwrap_or(Flow::Go)
    }

    fn perform(&mut self, effect: Effect) -> Flow {
        match effect {
            Effect::Save => {
                self.save();
            }
            Effect::Print(path) => self.print(&path),
            Effect::FindUses(form) => self.find_uses(&form),
            Effect::Open { path, line } => {
                self.save();
                self.screen = open(&path, &self.paths, &self.keymap);
                if let Screen::Song(editor) = &mut self.screen {
                    editor.go_to_line_number(line);
                }
            }
            Effect::ToggleMouse => return Flow::ToggleMouse,
            Effect::Redraw => return Flow::Redraw,
            Effect::Suspend => {
                self.save();
                return Flow::Suspend;
            }
            Effect::Leave => {
                if !self.save() {
                    return Flow::Go;
                }
                match self.folder.clone() {
                    Some(folder) => self.show_list(folder),
                    None => return Flow::Leave,
                }
            }
        }
        Flow::Go
    }

    /// Saves the song and lets the lexicon learn; returns whether the song is safe.
    fn save(&mut self) -> bool {
        let Screen::Song(editor) = &mut self.screen else { return true };
        match editor.file_mut().save() {
            Ok(()) => {}
            Err(Failure::ChangedOnDisk { .. }) => {
                self.take_over_from_disk();
                return true;
            }
            Err(failure) => {
                editor.tell_error(tell(&failure));
                return false;
            }
        }
        let folder = editor.file().path().parent().unwrap_or(Path::new(".")).to_owned();
        let details = &editor.song().details;
        let lexica = LexiconFolder::for_songs_in(&folder, &self.paths);
        let learned = lexica.open(&details.language, &details.gloss_language).and_then(|mut guard| {
            if learn(&mut guard.lexicon, editor.song()).is_changed {
                guard.save()?;
                return Ok(Some(guard.lexicon.clone()));
            }
            Ok(None)
        });
        match learned {
            Ok(Some(lexicon)) => editor.lexicon = lexicon,
            Ok(None) => {}
            // The song is saved; the lexicon learns the next time.
            Err(failure) => editor.tell_error(tell(&failure)),
        }
        true
    }

    /// The file was changed by another program: its version is opened, ours is kept beside it if it differs.
    fn take_over_from_disk(&mut self) {
        let Screen::Song(editor) = &mut self.screen else { return };
        match editor.file_mut().take_over_from_disk() {
            Ok(kept) => {
                editor.after_reload();
                editor.tell(match kept {
                    Some(path) => format!(
                        "The file was changed elsewhere and opened afresh; your version is in {}",
                        path.display()
                    ),
                    None => "The file was changed elsewhere and opened afresh".to_owned(),
                });
            }
            Err(failure) => editor.tell_error(tell(&failure)),
        }
    }

    fn print(&mut self, path: &Path) {
        let Screen::Song(editor) = &mut self.screen else { return };
        let options = Options {
            rows: self.settings.rows.clone().unwrap_or_else(|| Options::default().rows),
            tag_style: self.settings.tag_style.unwrap_or_default(),
            ..Options::default()
        };
        let sheet = compose(editor.song(), &options);
        let is_markdown = path.extension().is_some_and(|e| e == "md");
        let printed = if is_markdown { markdown(&sheet) } else { text(&sheet, Paper::A4) };
        match write_atomically(path, printed.as_bytes(), Backup::None) {
            Ok(()) => editor.tell(format!("Printed into {}", path.display())),
            Err(failure) => editor.tell_error(tell(&failure)),
        }
    }

    fn find_uses(&mut self, form: &str) {
        let Screen::Song(editor) = &mut self.screen else { return };
        let here = editor.file().path().to_owned();
        let files = song_files(here.parent().unwrap_or(Path::new("."))).unwrap_or_default();
        let key = comparison_key(form);
        let mut items = Vec::new();
        for path in files.into_iter().filter(|f| *f != here) {
            let Ok((song, _)) = read_song(&path) else { continue };
            if song.details.language != editor.song().details.language {
                continue;
            }
            for (line, (_, of_song)) in song.lines().enumerate() {
                for word in of_song.words.iter().filter(|w| comparison_key(&w.form) == key) {
                    let gloss = if word.gloss.is_blank() { "no gloss" } else { word.gloss.text() };
                    items.push(Item {
                        label: format!("{}: {}", song.details.title, of_song.text()),
                        detail: gloss.to_owned(),
                        choice: Choice::Open { path: path.clone(), line },
                    });
                }
            }
        }
        editor.show_uses(form, items);
    }

    fn perform_in_list(&mut self, effect: SongsEffect) -> Flow {
        let Some(folder) = self.folder.clone() else { return Flow::Leave };
        let file = |name: &str| folder.join(format!("{}.yaml", name.trim_end_matches(".yaml")));
        let done = match effect {
            SongsEffect::Open(path) => {
                self.screen = open(&path, &self.paths, &self.keymap);
                return Flow::Go;
            }
            SongsEffect::Make { name, language } => {
                let path = file(&name);
                let made = self.make_song(&path, &name, &language);
                if made.is_ok() {
                    self.screen = open(&path, &self.paths, &self.keymap);
                    return Flow::Go;
                }
                made
            }
            SongsEffect::Copy { song, name } => copy_song(&song, &file(&name)),
            SongsEffect::Rename { song, name } => move_song(&song, &file(&name)),
            SongsEffect::Archive(song) => archive(&folder, &song),
            SongsEffect::ToggleMouse => return Flow::ToggleMouse,
            SongsEffect::Redraw => return Flow::Redraw,
            SongsEffect::Suspend => return Flow::Suspend,
            SongsEffect::Leave => return Flow::Leave,
        };
        if let Screen::Songs(songs) = &mut self.screen {
            match list(&folder) {
                Ok(entries) => songs.refresh(entries),
                Err(failure) => songs.message = Some(tell(&failure)),
            }
            if let Err(failure) = done {
                songs.message = Some(tell(&failure));
            }
        }
        Flow::Go
    }

    fn make_song(&self, path: &Path, name: &str, language: &str) -> Result<(), Failure> {
        let gloss_language = self.settings.gloss_language.clone().unwrap_or_else(|| "en".to_owned());
        let details =
            Details { title: name.to_owned(), language: language.to_owned(), gloss_language, ..Details::default() };
        let notes = crate::import::SITUATION_PROMPTS.map(|p| Note { prompt: p.to_owned(), text: String::new() });
        let song = Song { id: new_id(path), details, notes: notes.into(), sections: Vec::new() };
        write_new(path, song_to_yaml(&song).as_bytes())
    }

    fn show_list(&mut self, folder: PathBuf) {
        let (entries, message) = match list(&folder) {
            Ok(entries) => (entries, None),
            Err(failure) => (Vec::new(), Some(tell(&failure))),
        };
        let mut songs = Songs::new(folder, entries, self.keymap.clone());
        songs.message = message;
        self.screen = Screen::Songs(songs);
    }

    fn key_on_broken(&mut self, key: Key) -> Flow {
        let Screen::Broken { path, picker, .. } = &mut self.screen else { return Flow::Go };
        let path = path.clone();
        match self.keymap.resolve(key, Context::Picker) {
            Some(Action::Accept) => match picker.choice() {
                Some(Choice::Act(Action::Undo)) => {
                    let restored = restore_backup(&path);
                    self.screen = match restored {
                        Ok(()) => open(&path, &self.paths, &self.keymap),
                        Err(failure) => broken(&path, &failure),
                    };
                    Flow::Go
                }
                _ => self.leave_broken(),
            },
            Some(Action::TakeBack | Action::Leave) => self.leave_broken(),
            Some(action) => {
                picker.update(action, 5);
                Flow::Go
            }
            None => Flow::Go,
        }
    }

    fn leave_broken(&mut self) -> Flow {
        match self.folder.clone() {
            Some(folder) => {
                self.show_list(folder);
                Flow::Go
            }
            None => Flow::Leave,
        }
    }
}

/// Opens a song, or the screen that says why it cannot be opened.
fn open(path: &Path, paths: &Paths, keymap: &Keymap) -> Screen {
    let opened = SongFile::open(path).and_then(|(file, notices)| {
        let folder = file.path().parent().unwrap_or(Path::new(".")).to_owned();
        let details = &file.song().details;
        let lexica = LexiconFolder::for_songs_in(&folder, paths);
        let lexicon = lexica.read(&details.language, &details.gloss_language)?;
        Ok(Editor::new(file, lexicon, keymap.clone(), &notices))
    });
    match opened {
        Ok(editor) => Screen::Song(Box::new(editor)),
        Err(failure) => broken(path, &failure),
    }
}

fn broken(path: &Path, failure: &Failure) -> Screen {
    let mut account = vec![format!("{} cannot be opened.", path.display()), String::new(), failure.to_string()];
    account.extend(failure.place().map(|place| format!("at {place}")));
    account.extend(std::error::Error::source(failure).map(|cause| format!("because: {cause}")));
    account.extend(failure.help().map(|help| format!("help: {help}")));
    let mut items = Vec::new();
    let is_content = matches!(
        failure,
        Failure::Yaml { .. } | Failure::NotUtf8 { .. } | Failure::NotText { .. } | Failure::Empty { .. }
    );
    if is_content && backup_path(path).exists() {
        items.push(Item {
            label: "Put the backup in its place; the broken file is kept beside it".to_owned(),
            detail: String::new(),
            choice: Choice::Act(Action::Undo),
        });
    }
    items.push(Item { label: "Leave it as it is".to_owned(), detail: String::new(), choice: Choice::Nothing });
    Screen::Broken { path: path.to_owned(), account, picker: Picker::new("What now?", items) }
}

/// Puts the backup in the place of a song that cannot be read; that is kept under another name.
fn restore_backup(path: &Path) -> Result<(), Failure> {
    let write = |source| Failure::Write { path: path.to_owned(), source };
    let backup =
        std::fs::read(backup_path(path)).map_err(|source| Failure::Read { path: backup_path(path), source })?;
    let kept = free_name(path, "broken.yaml");
    std::fs::rename(path, kept).map_err(write)?;
    write_new(path, &backup)
}

fn copy_song(song: &Path, copy: &Path) -> Result<(), Failure> {
    let (mut content, _) = read_song(song)?;
    content.id = new_id(copy);
    write_new(copy, song_to_yaml(&content).as_bytes())
}

/// Moves a song with its backup and journal to another name that is free.
fn move_song(song: &Path, to: &Path) -> Result<(), Failure> {
    if to.exists() {
        return Err(Failure::Exists { path: to.to_owned() });
    }
    // Whoever has the song open would go on writing to the old name.
    drop(SongFile::open(song)?);
    std::fs::rename(song, to).map_err(|source| Failure::Write { path: song.to_owned(), source })?;
    let backup = backup_path(song);
    if backup.exists() {
        std::fs::rename(&backup, backup_path(to)).map_err(|source| Failure::Write { path: backup, source })?;
    }
    Ok(())
}

fn archive(folder: &Path, song: &Path) -> Result<(), Failure> {
    let archive = folder.join("archive");
    std::fs::create_dir_all(&archive).map_err(|source| Failure::Write { path: archive.clone(), source })?;
    let to = archive.join(song.file_name().unwrap_or_default());
    let to = if to.exists() { free_name(&to, "yaml") } else { to };
    move_song(song, &to)
}

fn free_name(path: &Path, suffix: &str) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut names = (1..).map(|n| path.with_file_name(format!("{stem}-{n}.{suffix}")));
    names.find(|p| !p.exists()).expect("some number is free")
}

fn list(folder: &Path) -> Result<Vec<Entry>, Failure> {
    Ok(song_files(folder)?.into_iter().map(entry).collect())
}

fn entry(path: PathBuf) -> Entry {
    let changed = std::fs::metadata(&path).and_then(|m| m.modified()).ok();
    let last_work = changed.and_then(|c| SystemTime::now().duration_since(c).ok()).map(|ago| in_words(ago.as_secs()));
    let mut entry = Entry { last_work: last_work.unwrap_or_default(), path, ..Entry::default() };
    match read_song(&entry.path) {
        Ok((song, _)) => {
            let glossable = || song.words().filter(|(_, w)| w.is_glossable());
            (entry.n_settled, entry.n_words) =
                (glossable().filter(|(_, w)| w.is_settled()).count(), glossable().count());
            entry.title = song.details.title;
            entry.composer = song.details.composer;
            entry.language = song.details.language;
        }
        Err(failure) => entry.trouble = Some(failure.to_string()),
    }
    entry
}

fn in_words(seconds: u64) -> String {
    let (number, unit) = match seconds {
        0..=119 => return "just now".to_owned(),
        120..=7_199 => (seconds / 60, "minutes"),
        7_200..=172_799 => (seconds / 3_600, "hours"),
        _ => (seconds / 86_400, "days"),
    };
    format!("{number} {unit} ago")
}

fn tell(failure: &Failure) -> String {
    let help = failure.help().map(|help| format!(": {help}")).unwrap_or_default();
    format!("{failure}{help}")
}
