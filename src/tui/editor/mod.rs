//! The state of the editor on one song, and what keys do to it.
//!
//! [`Editor::key`] resolves a key to an action and carries it out; whatever reaches beyond the state comes back as an [`Effect`]. The song
//! changes only through `Edit`, which the song file writes to its journal before it counts.

mod candidates;
mod going;
mod lines;
mod typing;

pub use candidates::{Candidate, Source};
pub use typing::Typing;

use super::dialog::{Asks, Choice, Dialog, Item, Picker, Prompt, Reader, edit_field};
use super::field::Field;
use super::key::Key;
use super::keys::{Action, Context, Keymap, TABLE, Topic};
use super::prose::Prose;
use crate::language::{Language, by_tag_or_plain};
use crate::lexicon::Lexicon;
use crate::song::{Annotation, Edit, LineAt, Song, Word, WordAt};
use crate::store::{Notice, SongFile};
use candidates::FormIndex;
use std::path::PathBuf;

/// Something that reaches beyond the state of the editor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Save the song, and let the lexicon learn from it.
    Save,
    /// Print the sheet into a file.
    Print(PathBuf),
    /// Find where else in the repertoire a form stands.
    FindUses(String),
    /// Open a song, at a line counted through it.
    #[expect(missing_docs, reason = "the names say it")]
    Open { path: PathBuf, line: usize },
    /// Give the mouse to the program or back to the terminal.
    ToggleMouse,
    /// Draw the screen afresh.
    Redraw,
    /// Stop until the shell continues the program.
    Suspend,
    /// Save and go back to the list of songs, or leave the program where there is none.
    Leave,
}

/// The pane in which keys are pressed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Focus {
    #[default]
    Sheet,
    Translation,
    Notes,
}

/// What the sheet pane shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Shown {
    pub sound: bool,
    pub tag: bool,
    pub lemma: bool,
    /// A blank row between lines.
    pub is_roomy: bool,
    pub words_only: bool,
    pub hides_gloss: bool,
}

/// A message to the singer, until the next key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// The text, one line.
    pub text: String,
    /// Whether something went wrong.
    pub is_error: bool,
}

/// The editor on one song.
#[derive(Debug)]
pub struct Editor {
    pub(super) file: SongFile,
    pub(super) lexicon: Lexicon,
    pub(super) keymap: Keymap,
    /// The word under the cursor; word 0 in a line without words.
    pub(super) cursor: WordAt,
    pub(super) row: Annotation,
    pub(super) typing: Option<Typing>,
    pub(super) focus: Focus,
    /// What is being written in the pane of translation or notes.
    pub(super) prose: Option<Prose>,
    /// The situation note that is current.
    pub(super) note: usize,
    pub(super) dialog: Option<Dialog>,
    pub(super) shown: Shown,
    pub(super) message: Option<Message>,
    /// The first line on the screen, counted through the song.
    pub(super) top: usize,
    /// Lines that a screen holds, about: how far a page key moves.
    pub(super) page: usize,
    /// Every line of the song in order.
    pub(super) lines: Vec<LineAt>,
    pub(super) candidates: Vec<Candidate>,
    index: FormIndex,
    found: String,
}

/// A text of this size is not inserted without being asked for, in bytes.
const LARGE_PASTE: usize = 5_000_000;

impl Editor {
    /// Opens the editor on a song, at the first word that is not settled.
    pub fn new(file: SongFile, lexicon: Lexicon, keymap: Keymap, notices: &[Notice]) -> Editor {
        let mut editor = Editor {
            file,
            lexicon,
            keymap,
            cursor: WordAt::default(),
            row: Annotation::Gloss,
            typing: None,
            focus: Focus::Sheet,
            prose: None,
            note: 0,
            dialog: None,
            shown: Shown {
                sound: false,
                tag: true,
                lemma: false,
                is_roomy: true,
                words_only: false,
                hides_gloss: false,
            },
            message: None,
            top: 0,
            page: 5,
            lines: Vec::new(),
            candidates: Vec::new(),
            index: FormIndex::default(),
            found: String::new(),
        };
        let has_sound = editor.song().words().any(|(_, w)| !w.sound.is_blank());
        editor.shown.sound = has_sound;
        editor.refresh_text();
        if editor.is_unsettled(editor.cursor) || !editor.go_to_next(Editor::is_unsettled) {
            editor.refresh_candidates();
        }
        if !notices.is_empty() {
            let text = notices.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
            editor.tell(text);
        }
        if editor.lines.is_empty() {
            editor.tell("Paste the text of the song, or open the list of commands with Esc".to_owned());
        }
        editor
    }

    /// Returns the song.
    pub fn song(&self) -> &Song {
        self.file.song()
    }

    /// Returns the song file.
    pub fn file(&self) -> &SongFile {
        &self.file
    }

    /// After the song was read afresh from its file.
    pub(super) fn after_reload(&mut self) {
        self.typing = None;
        self.refresh_text();
        self.refresh_candidates();
        self.load_prose();
    }

    /// Returns the song file for saving.
    pub fn file_mut(&mut self) -> &mut SongFile {
        &mut self.file
    }

    /// Returns where keys are pressed.
    pub fn context(&self) -> Context {
        match (&self.dialog, self.focus) {
            (Some(dialog), _) => dialog.context(),
            (None, Focus::Sheet) => Context::Sheet,
            (None, Focus::Translation) => Context::Translation,
            (None, Focus::Notes) => Context::Notes,
        }
    }

    /// Does what a key means where it is pressed.
    pub fn key(&mut self, key: Key) -> Vec<Effect> {
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

    /// Carries out an action.
    pub fn act(&mut self, action: Action) -> Vec<Effect> {
        if let Some(effects) = self.act_in_dialog(action) {
            return effects;
        }
        if let Some(effects) = self.act_anywhere(action) {
            return effects;
        }
        match self.focus {
            Focus::Sheet => self.act_in_sheet(action),
            Focus::Translation | Focus::Notes => self.act_in_prose(action),
        }
        Vec::new()
    }

    /// Types a text where the cursor is.
    fn type_text(&mut self, typed: &str) {
        match &mut self.dialog {
            Some(Dialog::Prompt(prompt)) => prompt.field.insert(typed),
            Some(Dialog::Picker(picker)) => picker.insert(typed),
            Some(Dialog::Reader(_)) => {}
            None => match self.focus {
                Focus::Sheet => self.type_into_cell(typed),
                Focus::Translation => self.write(typed, false),
                Focus::Notes => self.write(typed, true),
            },
        }
    }

    /// Inserts a pasted text: into what is being written, or as new lines of the song.
    pub fn paste(&mut self, pasted: &str) {
        self.message = None;
        if pasted.len() > LARGE_PASTE && self.dialog.is_none() {
            let item = |label: String, choice| Item { label, detail: String::new(), choice };
            let size = pasted.len() / 1_000_000;
            let items = vec![
                item("Do not insert it".to_owned(), Choice::Nothing),
                item(format!("Insert all {size} MB"), Choice::Paste(pasted.to_owned())),
            ];
            self.dialog = Some(Dialog::Picker(Picker::new("That is a very large text", items)));
            return;
        }
        self.insert_pasted(pasted);
    }

    fn insert_pasted(&mut self, pasted: &str) {
        let is_for_song = self.dialog.is_none() && self.focus == Focus::Sheet && self.typing.is_none();
        let has_lines = pasted.trim_end().contains(['\n', '\r']);
        if is_for_song && (has_lines || self.lines.is_empty()) {
            self.insert_text(pasted);
        } else {
            self.type_text(pasted);
        }
    }

    /// Commits what is being written, when the program is left alone for a while or is about to save.
    pub fn pause(&mut self) {
        if self.dialog.is_none() {
            self.commit_prose();
        }
    }

    /// Before the program ends or the file is read afresh: whatever is being typed or written is settled.
    pub fn settle_all(&mut self) {
        self.dialog = None;
        self.commit_typing();
        self.commit_prose();
    }

    /// Tells the singer something until the next key.
    pub fn tell(&mut self, text: String) {
        self.message = Some(Message { text, is_error: false });
    }

    /// Tells the singer what went wrong.
    pub fn tell_error(&mut self, text: String) {
        self.message = Some(Message { text, is_error: true });
    }

    /// Shows the places in other songs where a word stands.
    pub fn show_uses(&mut self, form: &str, items: Vec<Item>) {
        if items.is_empty() {
            self.tell(format!("No other song of the folder has “{form}”"));
        } else {
            self.dialog = Some(Dialog::Picker(Picker::new(format!("“{form}” in other songs"), items)));
        }
    }

    fn act_in_dialog(&mut self, action: Action) -> Option<Vec<Effect>> {
        let page = self.page.max(5) * 2;
        match self.dialog.as_mut()? {
            _ if matches!(action, Action::Leave) => return None,
            _ if matches!(action, Action::TakeBack) => self.dialog = None,
            Dialog::Prompt(prompt) => {
                if action == Action::Accept {
                    let prompt = prompt.clone();
                    self.dialog = None;
                    return Some(self.answer(&prompt));
                }
                edit_field(&mut prompt.field, action);
            }
            Dialog::Picker(picker) => {
                if action == Action::Accept {
                    let choice = picker.choice();
                    self.dialog = None;
                    return Some(choice.map_or_else(Vec::new, |choice| self.choose(choice)));
                }
                picker.update(action, page);
            }
            Dialog::Reader(reader) => match (action, reader.topic) {
                (Action::Accept, _) => self.dialog = None,
                (Action::Left, Some(topic)) => self.show_help(topic.checked_sub(1).unwrap_or(Topic::ALL.len() - 1)),
                (Action::Right | Action::Help, Some(topic)) => self.show_help((topic + 1) % Topic::ALL.len()),
                _ => reader.update(action, page),
            },
        }
        Some(Vec::new())
    }

    fn choose(&mut self, choice: Choice) -> Vec<Effect> {
        match choice {
            Choice::Act(action) => self.act(action),
            Choice::Open { path, line } => vec![Effect::Open { path, line }],
            Choice::Paste(text) => {
                self.insert_pasted(&text);
                Vec::new()
            }
            Choice::Nothing => Vec::new(),
        }
    }

    /// Actions that mean the same in every pane.
    fn act_anywhere(&mut self, action: Action) -> Option<Vec<Effect>> {
        match action {
            Action::Undo => self.undo(),
            Action::Redo => self.redo(),
            Action::Commands => self.show_commands(),
            Action::Help => self.show_help(0),
            Action::ToSheet => self.focus_on(Focus::Sheet),
            Action::ToTranslation => self.focus_on(Focus::Translation),
            Action::ToNotes => self.focus_on(Focus::Notes),
            Action::ShowSound => self.shown.sound = !self.shown.sound,
            Action::ShowTag => self.shown.tag = !self.shown.tag,
            Action::ShowLemma => self.shown.lemma = !self.shown.lemma,
            Action::Roomy => self.shown.is_roomy = !self.shown.is_roomy,
            Action::WordsOnly => self.shown.words_only = !self.shown.words_only,
            Action::HideGloss => self.shown.hides_gloss = !self.shown.hides_gloss,
            Action::Preview => self.preview(),
            Action::Save => return Some(self.committed(Effect::Save)),
            Action::Suspend => return Some(self.committed(Effect::Suspend)),
            Action::Leave => {
                self.dialog = None;
                return Some(self.committed(Effect::Leave));
            }
            Action::Redraw => return Some(vec![Effect::Redraw]),
            Action::Mouse => return Some(vec![Effect::ToggleMouse]),
            Action::Uses => {
                return Some(self.word().map(|w| Effect::FindUses(w.form.clone())).into_iter().collect());
            }
            action if self.go(action) || self.ask_for(action) || self.change_lines(action) => {}
            _ => return None,
        }
        Some(Vec::new())
    }

    /// Settles what is being typed or written, and then lets an effect happen.
    fn committed(&mut self, effect: Effect) -> Vec<Effect> {
        self.commit_typing();
        self.commit_prose();
        vec![effect]
    }

    fn act_in_prose(&mut self, action: Action) {
        let is_notes = self.focus == Focus::Notes;
        match action {
            Action::TakeBack => {
                if self.is_prose_changed() {
                    self.commit_prose();
                } else {
                    self.show_commands();
                }
            }
            Action::Accept if is_notes => self.write("\n", true),
            Action::Accept | Action::NextRow if !is_notes => self.step_in_prose(1),
            Action::NextRow => self.step_in_prose(1),
            Action::PreviousRow => self.step_in_prose(-1),
            Action::PageUp => self.step_in_prose(-(self.page as isize)),
            Action::PageDown => self.step_in_prose(self.page as isize),
            Action::Up if !self.prose_mut().is_some_and(Prose::up) => self.step_in_prose(-1),
            Action::Down if !self.prose_mut().is_some_and(Prose::down) => self.step_in_prose(1),
            action => {
                if let Some(prose) = self.prose_mut() {
                    match action {
                        Action::Left => prose.left(),
                        Action::Right => prose.right(),
                        Action::Start => prose.start(),
                        Action::End => prose.end(),
                        Action::DeleteBack => prose.delete_back(),
                        Action::Delete => prose.delete(),
                        _ => {}
                    }
                }
            }
        }
    }

    /// Changes to another pane; what was written stays.
    pub(super) fn focus_on(&mut self, focus: Focus) {
        self.commit_typing();
        self.commit_prose();
        self.focus = focus;
        self.load_prose();
    }

    fn show_commands(&mut self) {
        let context = self.context();
        let item = |b: &super::keys::Binding| Item {
            label: format!("{}: {}", b.label, b.help),
            detail: self.keymap.keys(b).iter().map(Key::to_string).collect::<Vec<_>>().join(", "),
            choice: Choice::Act(b.action),
        };
        let is_command = |b: &&super::keys::Binding| b.contexts.contains(&context) && !b.label.is_empty();
        let items = TABLE.iter().filter(is_command).filter(|b| b.action != Action::Commands).map(item).collect();
        self.dialog = Some(Dialog::Picker(Picker::new("Commands: type to filter, Enter to choose", items)));
    }

    fn show_help(&mut self, topic: usize) {
        let heading = Topic::ALL[topic].heading();
        let rows = TABLE.iter().filter(|b| b.topic == Topic::ALL[topic]).map(|b| {
            let keys = self.keymap.keys(b).iter().map(Key::to_string).collect::<Vec<_>>().join(", ");
            format!("{keys:<20} {}", b.help)
        });
        let mut lines: Vec<String> = rows.collect();
        if topic == 0 {
            let first_steps = [
                "Type the meaning of the word under the cursor and press Enter. The word is settled and the next one is",
                "under the cursor. A word that you know from another song is filled in already, marked with ~: Enter",
                "settles it. Tab goes on to tag, sound and lemma. Esc opens the list of all commands.",
                "",
            ];
            lines.splice(0..0, first_steps.map(str::to_owned));
        }
        let title = format!("Help {}/{}: {heading}   (right: next topic, Esc: close)", topic + 1, Topic::ALL.len());
        self.dialog = Some(Dialog::Reader(Reader { title, lines, top: 0, topic: Some(topic) }));
    }

    fn preview(&mut self) {
        self.commit_typing();
        self.commit_prose();
        let sheet = crate::sheet::compose(self.song(), &crate::sheet::Options::default());
        let text = crate::sheet::text(&sheet, crate::sheet::Paper::A4);
        let lines =
            text.replace('\u{c}', "· · · · · · · next page · · · · · · ·\n").lines().map(str::to_owned).collect();
        let title = "The printed sheet   (Esc: close)".to_owned();
        self.dialog = Some(Dialog::Reader(Reader { title, lines, top: 0, topic: None }));
    }

    /// Opens a prompt with a text in it.
    pub(super) fn prompt(&mut self, action: Action, title: &str, hint: &str, text: &str) {
        self.commit_typing();
        self.commit_prose();
        let (title, hint) = (title.to_owned(), hint.to_owned());
        self.dialog = Some(Dialog::Prompt(Prompt { asks: Asks::For(action), title, hint, field: Field::new(text) }));
    }

    /// Carries out an edit, or tells why not; returns whether it was carried out.
    pub(super) fn make(&mut self, edit: Edit) -> bool {
        let changes_text = changes_text(&edit);
        match self.file.make(edit, Some(self.cursor)) {
            Ok(()) => {
                if changes_text {
                    self.refresh_text();
                }
                self.refresh_candidates();
                true
            }
            Err(crate::store::Failure::Refused { source }) => {
                self.tell_error(format!("Not possible: {source}"));
                false
            }
            Err(failure) => {
                let help = failure.help().map(|help| format!(": {help}")).unwrap_or_default();
                self.tell_error(format!("{failure}{help}"));
                false
            }
        }
    }

    fn undo(&mut self) {
        self.commit_typing();
        self.commit_prose();
        let moved = self.file.undo();
        self.after_move(moved, "Nothing to undo");
    }

    fn redo(&mut self) {
        self.commit_typing();
        self.commit_prose();
        let moved = self.file.redo();
        self.after_move(moved, "Nothing to redo");
    }

    fn after_move(&mut self, moved: Result<Option<crate::song::Moved>, crate::store::Failure>, nothing: &str) {
        match moved {
            Ok(Some(moved)) => {
                if let Some(place) = moved.place {
                    self.cursor = place;
                }
                self.refresh_text();
                self.refresh_candidates();
                self.load_prose();
            }
            Ok(None) => self.tell(nothing.to_owned()),
            Err(failure) => self.tell_error(failure.to_string()),
        }
    }

    /// Finds the lines and forms of the song afresh, and brings the cursor back into the text.
    fn refresh_text(&mut self) {
        self.lines = self.file.song().lines().map(|(at, _)| at).collect();
        self.index = FormIndex::of(self.file.song());
        self.note = self.note.min(self.song().notes.len().saturating_sub(1));
        if self.song().line(self.cursor.line()).is_none() {
            let before = self.lines.iter().rev().find(|at| **at <= self.cursor.line()).or(self.lines.first());
            self.cursor = before.copied().unwrap_or_default().word(0);
        }
        let n_words = self.song().line(self.cursor.line()).map_or(0, |l| l.words.len());
        self.cursor.word = self.cursor.word.min(n_words.saturating_sub(1));
        self.top = self.top.min(self.lines.len().saturating_sub(1));
    }

    fn refresh_candidates(&mut self) {
        let word = self.file.song().word(self.cursor);
        self.candidates = word.map_or_else(Vec::new, |word| {
            candidates::of(self.file.song(), &self.index, (self.cursor, word), &self.lexicon)
        });
    }

    /// Returns the word under the cursor.
    pub fn word(&self) -> Option<&Word> {
        self.song().word(self.cursor)
    }

    /// Returns the language of the song.
    pub(super) fn language(&self) -> &'static dyn Language {
        by_tag_or_plain(&self.song().details.language)
    }

    /// Returns the place of the current line among all lines.
    pub(super) fn line_idx(&self) -> usize {
        self.lines.binary_search(&self.cursor.line()).unwrap_or_else(|next| next.saturating_sub(1))
    }

    /// Returns how many words are settled, and how many there are.
    pub fn progress(&self) -> (usize, usize) {
        let glossable = || self.song().words().filter(|(_, w)| w.is_glossable());
        (glossable().filter(|(_, w)| w.is_settled()).count(), glossable().count())
    }
}

/// Tells whether an edit changes more than the content of cells and flags, so that lines and forms must be found afresh.
fn changes_text(edit: &Edit) -> bool {
    match edit {
        Edit::All(edits) => edits.iter().any(changes_text),
        Edit::SetDetail { .. }
        | Edit::SetHeading { .. }
        | Edit::SetSpeaker { .. }
        | Edit::SetLineText { .. }
        | Edit::SetBars { .. }
        | Edit::SetCell { .. }
        | Edit::SetLink { .. }
        | Edit::SetAsk { .. }
        | Edit::SetWordNote { .. } => false,
        _ => true,
    }
}
