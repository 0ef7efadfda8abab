//! The state of the list of songs, and what keys do to it.

use super::dialog::{Asks, Choice, Dialog, Item, Picker, Prompt, Reader, edit_field};
use super::field::Field;
use super::key::Key;
use super::keys::{Action, Context, Keymap, TABLE};
use crate::language::ALL;
use crate::text::fold::finding_key;
use std::path::PathBuf;

/// A song of the list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Entry {
    pub path: PathBuf,
    pub title: String,
    pub composer: String,
    pub language: String,
    pub n_settled: usize,
    pub n_words: usize,
    /// How long ago the file was changed, in words.
    pub last_work: String,
    /// Why the song cannot be opened, if so.
    pub trouble: Option<String>,
}

/// Something that reaches beyond the state of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum SongsEffect {
    Open(PathBuf),
    Make { name: String, language: String },
    Copy { song: PathBuf, name: String },
    Rename { song: PathBuf, name: String },
    Archive(PathBuf),
    ToggleMouse,
    Redraw,
    Suspend,
    Leave,
}

/// The list of songs.
#[derive(Clone, Debug)]
pub struct Songs {
    pub(super) folder: PathBuf,
    pub(super) entries: Vec<Entry>,
    pub(super) filter: Field,
    pub(super) chosen: usize,
    pub(super) dialog: Option<Dialog>,
    pub(super) message: Option<String>,
    pub(super) keymap: Keymap,
    /// The name of the song that is being made, while its language is asked for.
    new_name: String,
}

impl Songs {
    /// Makes the list.
    pub fn new(folder: PathBuf, entries: Vec<Entry>, keymap: Keymap) -> Songs {
        let (filter, new_name) = (Field::default(), String::new());
        Songs { folder, entries, filter, chosen: 0, dialog: None, message: None, keymap, new_name }
    }

    /// Returns the songs that pass the filter.
    pub fn passing(&self) -> Vec<&Entry> {
        let typed = finding_key(self.filter.text());
        let wanted: Vec<&str> = typed.split_whitespace().collect();
        let passes = |entry: &&Entry| {
            let name = entry.path.file_name().unwrap_or_default().to_string_lossy();
            let text = finding_key(&format!("{} {} {} {name}", entry.title, entry.composer, entry.language));
            wanted.iter().all(|w| text.contains(w))
        };
        self.entries.iter().filter(passes).collect()
    }

    /// Puts another list in place, and keeps the choice as well as it goes.
    pub fn refresh(&mut self, entries: Vec<Entry>) {
        self.entries = entries;
        self.chosen = self.chosen.min(self.passing().len().saturating_sub(1));
    }

    /// Returns where keys are pressed.
    pub fn context(&self) -> Context {
        self.dialog.as_ref().map_or(Context::Songs, Dialog::context)
    }

    /// Does what a key means.
    pub fn key(&mut self, key: Key) -> Vec<SongsEffect> {
        self.message = None;
        match (self.keymap.resolve(key, self.context()), key.text()) {
            (Some(action), _) => self.act(action),
            (None, Some(c)) => {
                self.type_text(c.encode_utf8(&mut [0; 4]));
                Vec::new()
            }
            (None, None) => Vec::new(),
        }
    }

    /// Types a text into the filter or the dialog.
    pub fn type_text(&mut self, typed: &str) {
        match &mut self.dialog {
            Some(Dialog::Prompt(prompt)) => prompt.field.insert(typed),
            Some(Dialog::Picker(picker)) => picker.insert(typed),
            Some(Dialog::Reader(_)) => {}
            None => {
                self.filter.insert(typed);
                self.chosen = 0;
            }
        }
    }

    fn act(&mut self, action: Action) -> Vec<SongsEffect> {
        const PAGE: usize = 10;
        if action == Action::Leave {
            return vec![SongsEffect::Leave];
        }
        match &mut self.dialog {
            None => return self.act_in_list(action),
            Some(_) if action == Action::TakeBack => self.dialog = None,
            Some(Dialog::Prompt(prompt)) => {
                if action == Action::Accept {
                    let prompt = prompt.clone();
                    self.dialog = None;
                    return self.answer(&prompt);
                }
                edit_field(&mut prompt.field, action);
            }
            Some(Dialog::Picker(picker)) => {
                if action == Action::Accept {
                    let choice = picker.choice();
                    let label = picker.passing().get(picker.chosen).map(|i| i.detail.clone()).unwrap_or_default();
                    self.dialog = None;
                    return self.choose(choice, label);
                }
                picker.update(action, PAGE);
            }
            Some(Dialog::Reader(reader)) => match action {
                Action::Accept => self.dialog = None,
                action => reader.update(action, PAGE),
            },
        }
        Vec::new()
    }

    fn act_in_list(&mut self, action: Action) -> Vec<SongsEffect> {
        let last = self.passing().len().saturating_sub(1);
        let path = self.passing().get(self.chosen).map(|e| e.path.clone());
        match action {
            Action::Accept => return path.map(SongsEffect::Open).into_iter().collect(),
            Action::Up => self.chosen = self.chosen.saturating_sub(1),
            Action::Down => self.chosen = (self.chosen + 1).min(last),
            Action::PageUp => self.chosen = self.chosen.saturating_sub(10),
            Action::PageDown => self.chosen = (self.chosen + 10).min(last),
            Action::Start => self.chosen = 0,
            Action::End => self.chosen = last,
            Action::DeleteBack => drop(self.filter.delete_back()),
            Action::TakeBack if !self.filter.text().is_empty() => self.filter = Field::default(),
            Action::TakeBack | Action::Commands => self.show_commands(),
            Action::Help => self.show_help(),
            Action::NewSong => self.ask(action, "Name of the new song", "a file of this name is made", ""),
            Action::CopySong | Action::RenameSong => {
                if let Some(path) = path {
                    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
                    self.ask(action, "Name of the file", "without .yaml", &stem);
                }
            }
            Action::ArchiveSong => return path.map(SongsEffect::Archive).into_iter().collect(),
            Action::Mouse => return vec![SongsEffect::ToggleMouse],
            Action::Redraw => return vec![SongsEffect::Redraw],
            Action::Suspend => return vec![SongsEffect::Suspend],
            _ => {}
        }
        Vec::new()
    }

    fn ask(&mut self, action: Action, title: &str, hint: &str, text: &str) {
        let asks = Asks::FileName { action, song: self.chosen };
        let (title, hint) = (title.to_owned(), hint.to_owned());
        self.dialog = Some(Dialog::Prompt(Prompt { asks, title, hint, field: Field::new(text) }));
    }

    fn answer(&mut self, prompt: &Prompt) -> Vec<SongsEffect> {
        let name = prompt.field.text().trim().to_owned();
        let Asks::FileName { action, song } = prompt.asks else { return Vec::new() };
        if name.is_empty() || name.contains(['/', '\\']) || name.starts_with('.') {
            self.message = Some("A name needs letters, and no slash in it".to_owned());
            return Vec::new();
        }
        let Some(song) = self.passing().get(song).map(|e| e.path.clone()).or(Some(PathBuf::new())) else {
            return Vec::new();
        };
        match action {
            Action::CopySong => vec![SongsEffect::Copy { song, name }],
            Action::RenameSong => vec![SongsEffect::Rename { song, name }],
            _ => {
                self.new_name = name;
                let item = |l: &&dyn crate::language::Language| Item {
                    label: l.name().to_owned(),
                    detail: l.tag().to_owned(),
                    choice: Choice::Nothing,
                };
                let items = ALL.iter().map(item).collect();
                self.dialog = Some(Dialog::Picker(Picker::new("Language of the text", items)));
                Vec::new()
            }
        }
    }

    fn choose(&mut self, choice: Option<Choice>, detail: String) -> Vec<SongsEffect> {
        match choice {
            Some(Choice::Act(action)) => self.act(action),
            Some(Choice::Nothing) => {
                vec![SongsEffect::Make { name: std::mem::take(&mut self.new_name), language: detail }]
            }
            _ => Vec::new(),
        }
    }

    fn show_commands(&mut self) {
        let item = |b: &super::keys::Binding| Item {
            label: format!("{}: {}", b.label, b.help),
            detail: self.keymap.keys(b).iter().map(Key::to_string).collect::<Vec<_>>().join(", "),
            choice: Choice::Act(b.action),
        };
        let is_command = |b: &&super::keys::Binding| {
            b.contexts.contains(&Context::Songs)
                && !b.label.is_empty()
                && !matches!(
                    b.action,
                    Action::Commands | Action::Accept | Action::TakeBack | Action::DeleteBack | Action::Delete
                )
        };
        let items = TABLE.iter().filter(is_command).map(item).collect();
        self.dialog = Some(Dialog::Picker(Picker::new("Commands: type to filter, Enter to choose", items)));
    }

    fn show_help(&mut self) {
        let lines = [
            "Type to filter the songs, arrows to choose one, Enter to open it.",
            "Esc opens the list of commands: new song, copy, rename, archive.",
            "A song that is archived is moved into the folder archive; nothing is deleted.",
        ];
        let lines = lines.map(str::to_owned).into();
        self.dialog =
            Some(Dialog::Reader(Reader { title: "The list of songs".to_owned(), lines, top: 0, topic: None }));
    }
}
