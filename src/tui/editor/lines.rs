//! Work on the text: lines, sections, words that part and join, what stands beside a line, the notes.

use super::{Editor, Effect, Focus};
use crate::import::{paste, words};
use crate::song::{Bars, Detail, Edit, Line, LinePart, Note, Section, WordAt, apply, change_text};
use crate::text::clean;
use crate::tui::dialog::{Asks, Prompt};
use crate::tui::keys::Action;
use crate::tui::prose::Prose;
use std::path::PathBuf;

impl Editor {
    /// Opens the prompt of an action that asks for a text; returns whether the action is one.
    pub(super) fn ask_for(&mut self, action: Action) -> bool {
        let line = self.song().line(self.cursor.line()).cloned().unwrap_or_default();
        let section = self.song().section(self.cursor.section).cloned().unwrap_or_default();
        let word = self.word().cloned().unwrap_or_default();
        let has_line = !self.lines.is_empty();
        if let Some(detail) = detail_of(action) {
            let text = self.song().details.get(detail).to_owned();
            self.prompt(action, super::super::keys::binding(action).help, "", &text);
            return true;
        }
        let (title, hint, text) = match action {
            Action::GoTo => ("Go to", "12 is a line, b12 a bar, s2 a section", String::new()),
            Action::Find => {
                ("Find", "in words, glosses, translation and notes; accents do not matter", self.found.clone())
            }
            Action::Print => (
                "Print into the file",
                "ending in .txt for paper, in .md for Markdown",
                self.file.path().with_extension("txt").display().to_string(),
            ),
            Action::InsertLine => ("New line", "you can also paste several lines", String::new()),
            Action::AddPrompt => ("New question", "", String::new()),
            Action::RenamePrompt => {
                let prompt = self.song().notes.get(self.note).map(|n| n.prompt.clone()).unwrap_or_default();
                ("Question", "", prompt)
            }
            _ if !has_line => return false,
            Action::EditText => ("Text of the line", "words that stay keep what stands under them", line.text()),
            Action::EditBars => ("Bars", "12 or 12-15", line.bars.map(|b| b.to_string()).unwrap_or_default()),
            Action::EditDirection => ("Stage direction before the line", "", line.direction),
            Action::EditCue => ("What you hear before you enter", "", line.cue),
            Action::EditIntention => ("What you want with the line", "", line.intention),
            Action::EditHeading => ("Heading of the section", "", section.heading),
            Action::EditSpeaker => ("Who sings the section", "", section.speaker),
            Action::EditWordNote => ("Note on the word", "", word.note.replace('\n', " ")),
            Action::SplitWord => {
                ("Split the word", "move the cursor to where the new word begins, then Enter", word.form)
            }
            _ => return false,
        };
        self.prompt(action, title, hint, &text);
        true
    }

    /// Does what the answer to a prompt asks for.
    pub(super) fn answer(&mut self, prompt: &Prompt) -> Vec<Effect> {
        let Asks::For(action) = prompt.asks else { return Vec::new() };
        let text = clean::line(prompt.field.text());
        let at = self.cursor.line();
        let word_at = self.cursor;
        let line_text = |part| Edit::SetLineText { at, part, text: text.clone() };
        let edit = match action {
            Action::GoTo => {
                self.go_to(&text);
                return Vec::new();
            }
            Action::Find => {
                self.find(&text);
                return Vec::new();
            }
            Action::Print => return vec![Effect::Print(PathBuf::from(prompt.field.text().trim()))],
            Action::EditText => match change_text(self.song(), at, &words(self.language(), &text)) {
                Some(edit) => edit,
                None => return Vec::new(),
            },
            Action::InsertLine => {
                self.insert_text(&text);
                return Vec::new();
            }
            Action::SplitWord => Edit::SplitWord { at: word_at, byte: prompt.field.cursor() },
            Action::EditBars => match (text.is_empty(), text.parse::<Bars>()) {
                (true, _) => Edit::SetBars { at, bars: None },
                (_, Ok(bars)) => Edit::SetBars { at, bars: Some(bars) },
                (_, Err(())) => {
                    self.tell_error(format!("“{text}” is no bar number: write 12 or 12-15"));
                    return Vec::new();
                }
            },
            Action::EditDirection => line_text(LinePart::Direction),
            Action::EditCue => line_text(LinePart::Cue),
            Action::EditIntention => line_text(LinePart::Intention),
            Action::EditHeading => Edit::SetHeading { section: at.section, text },
            Action::EditSpeaker => Edit::SetSpeaker { section: at.section, text },
            Action::EditWordNote => Edit::SetWordNote { at: word_at, text },
            Action::AddPrompt => {
                let note = self.song().notes.len();
                if self.make(Edit::InsertNote { note, value: Note { prompt: text, text: String::new() } }) {
                    self.note = note;
                    self.focus_on(Focus::Notes);
                }
                return Vec::new();
            }
            Action::RenamePrompt => match self.song().notes.get(self.note) {
                Some(note) => Edit::SetNote { note: self.note, value: Note { prompt: text, text: note.text.clone() } },
                None => return Vec::new(),
            },
            action => match detail_of(action) {
                Some(detail) => Edit::SetDetail { detail, text },
                None => return Vec::new(),
            },
        };
        // An answer that changes nothing is no step to be undone.
        let mut after = self.song().clone();
        if apply(&mut after, &edit).is_err() || after != *self.song() {
            self.make(edit);
        }
        Vec::new()
    }

    /// Carries out an action on lines, sections or notes that asks for nothing; returns whether it was one.
    pub(super) fn change_lines(&mut self, action: Action) -> bool {
        let at = self.cursor.line();
        let section = at.section;
        let edit = match action {
            Action::Fill => {
                self.fill();
                return true;
            }
            Action::JoinWords => Edit::JoinWords { at: self.cursor, count: 2 },
            Action::RemoveLine => Edit::RemoveLine { at },
            Action::LineUp | Action::LineDown => {
                self.move_line(action == Action::LineUp);
                return true;
            }
            Action::SplitSection if at.line > 0 => Edit::SplitSection { at },
            Action::JoinSections if section > 0 => Edit::JoinSections { section: section - 1 },
            Action::RemoveSection => Edit::RemoveSection { section },
            Action::SectionUp if section > 0 => Edit::MoveSection { section, to: section - 1 },
            Action::SectionDown if section + 1 < self.song().sections.len() => {
                Edit::MoveSection { section, to: section + 1 }
            }
            Action::RemovePrompt => Edit::RemoveNote { note: self.note },
            Action::PromptUp if self.note > 0 => Edit::MoveNote { note: self.note, to: self.note - 1 },
            Action::PromptDown if self.note + 1 < self.song().notes.len() => {
                Edit::MoveNote { note: self.note, to: self.note + 1 }
            }
            Action::SplitSection | Action::JoinSections | Action::SectionUp | Action::SectionDown => {
                self.tell("There is nothing to do here".to_owned());
                return true;
            }
            Action::PromptUp | Action::PromptDown => return true,
            _ => return false,
        };
        self.commit_typing();
        self.commit_prose();
        let note = match edit {
            Edit::MoveNote { to, .. } => to,
            _ => self.note,
        };
        // Where the word under the cursor stands afterwards.
        let cursor = match edit {
            Edit::MoveSection { to, .. } => WordAt { section: to, ..self.cursor },
            Edit::SplitSection { .. } => WordAt { section: section + 1, line: 0, ..self.cursor },
            Edit::JoinSections { section } => {
                let n_lines = self.song().section(section).map_or(0, |s| s.lines.len());
                WordAt { section, line: n_lines + self.cursor.line, ..self.cursor }
            }
            _ => self.cursor,
        };
        if self.make(edit) {
            (self.cursor, self.note) = (cursor, note);
            self.refresh_text();
            self.refresh_candidates();
            self.load_prose();
        }
        true
    }

    /// Moves the line, over the border of its section if it stands there.
    fn move_line(&mut self, up: bool) {
        self.commit_typing();
        let at = self.cursor.line();
        let n_lines = |section: usize| self.song().section(section).map(|s| s.lines.len());
        let to = match (up, n_lines(at.section)) {
            (true, _) if at.line > 0 => Some((at.section, at.line - 1)),
            (true, _) => at.section.checked_sub(1).and_then(|s| Some((s, n_lines(s)?))),
            (false, Some(n)) if at.line + 1 < n => Some((at.section, at.line + 1)),
            (false, _) => n_lines(at.section + 1).map(|_| (at.section + 1, 0)),
        };
        let Some((section, line)) = to else { return };
        let to = crate::song::LineAt { section, line };
        let word = self.cursor.word;
        if self.make(Edit::MoveLine { at, to }) {
            self.cursor = to.word(word);
            self.refresh_text();
            self.refresh_candidates();
        }
    }

    /// Inserts a text as lines below the current one; one that has sections of its own, as sections.
    pub(super) fn insert_text(&mut self, text: &str) {
        let pasted = paste(self.language(), text);
        let at = self.cursor.line();
        let is_plain = |s: &Section| s.heading.is_empty() && s.speaker.is_empty();
        let has_lines = !self.lines.is_empty();
        let n_lines: usize = pasted.sections.iter().map(|s| s.lines.len()).sum();
        let (edits, cursor): (Vec<Edit>, WordAt) = match pasted.sections.as_slice() {
            [] => return,
            [only] if has_lines && is_plain(only) => {
                let insert = |(n, value): (usize, &Line)| Edit::InsertLine {
                    at: crate::song::LineAt { line: at.line + 1 + n, ..at },
                    value: value.clone(),
                };
                let first = WordAt { section: at.section, line: at.line + 1, word: 0 };
                (only.lines.iter().enumerate().map(insert).collect(), first)
            }
            sections => {
                let start = if self.song().sections.is_empty() { 0 } else { at.section + 1 };
                let insert =
                    |(n, value): (usize, &Section)| Edit::InsertSection { section: start + n, value: value.clone() };
                (sections.iter().enumerate().map(insert).collect(), WordAt { section: start, line: 0, word: 0 })
            }
        };
        if self.make(Edit::All(edits)) {
            self.cursor = cursor;
            self.refresh_text();
            self.after_moving();
            self.tell(format!("{n_lines} lines inserted; undo takes them back"));
        }
    }

    // What is written in the panes of translation and notes.

    /// Types into the translation or the answer.
    pub(super) fn write(&mut self, typed: &str, may_have_lines: bool) {
        if let Some(prose) = self.prose_mut() {
            prose.insert(typed, may_have_lines);
        }
    }

    pub(super) fn prose_mut(&mut self) -> Option<&mut Prose> {
        self.prose.as_mut()
    }

    /// Takes the text of the current line or note into the pane.
    pub(super) fn load_prose(&mut self) {
        let text = match self.focus {
            Focus::Sheet => None,
            Focus::Translation => self.song().line(self.cursor.line()).map(|l| l.translation.clone()),
            Focus::Notes => self.song().notes.get(self.note).map(|n| n.text.clone()),
        };
        self.prose = text.as_deref().map(Prose::new);
    }

    /// Returns what the pane held when it was loaded.
    fn text_before(&self) -> &str {
        match self.focus {
            Focus::Sheet => "",
            Focus::Translation => self.song().line(self.cursor.line()).map_or("", |l| &l.translation),
            Focus::Notes => self.song().notes.get(self.note).map_or("", |n| &n.text),
        }
    }

    /// Tells whether something was written that is not in the song yet.
    pub(in crate::tui) fn is_prose_changed(&self) -> bool {
        self.prose.as_ref().is_some_and(|p| p.text() != self.text_before())
    }

    /// Makes what was written one edit.
    pub(super) fn commit_prose(&mut self) {
        if !self.is_prose_changed() {
            return;
        }
        let text = self.prose.as_ref().map(Prose::text).unwrap_or_default();
        let edit = match self.focus {
            Focus::Sheet => return,
            Focus::Translation => {
                let text = text.replace('\n', " ");
                Edit::SetLineText { at: self.cursor.line(), part: LinePart::Translation, text }
            }
            Focus::Notes => match self.song().notes.get(self.note) {
                Some(note) => Edit::SetNote { note: self.note, value: Note { prompt: note.prompt.clone(), text } },
                None => return,
            },
        };
        self.make(edit);
    }

    /// Goes to another line of the translation, or another note; what was written stays.
    pub(super) fn step_in_prose(&mut self, step: isize) {
        self.commit_prose();
        match self.focus {
            Focus::Sheet => {}
            Focus::Translation => {
                let there = self.line_idx().saturating_add_signed(step);
                self.go_to_line_number(there);
            }
            Focus::Notes => {
                let last = self.song().notes.len().saturating_sub(1);
                self.note = self.note.saturating_add_signed(step).min(last);
                self.load_prose();
            }
        }
    }
}

fn detail_of(action: Action) -> Option<Detail> {
    Some(match action {
        Action::EditTitle => Detail::Title,
        Action::EditTranslatedTitle => Detail::TranslatedTitle,
        Action::EditWork => Detail::Work,
        Action::EditComposer => Detail::Composer,
        Action::EditPoet => Detail::Poet,
        Action::EditTranslator => Detail::Translator,
        Action::EditSource => Detail::Source,
        Action::EditRights => Detail::Rights,
        _ => return None,
    })
}
