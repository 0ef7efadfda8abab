//! Dialogs: a line that asks, a list that filters, a text to read. Each lies over the panes until it is answered or closed.

use super::field::Field;
use super::keys::{Action, Context};
use crate::text::fold::finding_key;
use std::path::PathBuf;

/// What lies over the panes.
#[derive(Clone, Debug)]
pub enum Dialog {
    /// Asks for a line of text.
    Prompt(Prompt),
    /// Offers a list that filters as one types.
    Picker(Picker),
    /// Shows a text.
    Reader(Reader),
}

/// A line that asks for a text.
#[derive(Clone, Debug)]
pub struct Prompt {
    /// What is asked for, and what the answer does.
    pub asks: Asks,
    /// The question.
    pub title: String,
    /// A hint under the line.
    pub hint: String,
    /// The answer so far.
    pub field: Field,
}

/// What a prompt asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// The text of something that an action sets.
    For(Action),
    /// The name of a new file for the song at an index of the list.
    FileName {
        /// What is done with the name.
        action: Action,
        /// The song, among those that pass the filter.
        song: usize,
    },
}

/// A list that filters as one types.
#[derive(Clone, Debug)]
pub struct Picker {
    /// The heading.
    pub title: String,
    /// All items.
    pub items: Vec<Item>,
    /// What was typed to filter them.
    pub filter: Field,
    /// Place of the chosen item among those that pass the filter.
    pub chosen: usize,
}

/// An item of a list.
#[derive(Clone, Debug)]
pub struct Item {
    /// What it is.
    pub label: String,
    /// What stands at the right: keys, or a place.
    pub detail: String,
    /// What choosing it does.
    pub choice: Choice,
}

/// What choosing an item does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Carries out an action.
    Act(Action),
    /// Opens a song at a line, counted from 0 through the song.
    #[expect(missing_docs, reason = "the names say it")]
    Open { path: PathBuf, line: usize },
    /// Inserts a large text that was pasted.
    Paste(String),
    /// Does nothing.
    Nothing,
}

/// A text to read.
#[derive(Clone, Debug)]
pub struct Reader {
    /// The heading.
    pub title: String,
    /// The lines.
    pub lines: Vec<String>,
    /// The first line that is shown.
    pub top: usize,
    /// The help topic that is shown, if it is one.
    pub topic: Option<usize>,
}

impl Dialog {
    /// Returns where keys are pressed while the dialog is open.
    pub fn context(&self) -> Context {
        match self {
            Dialog::Prompt(_) => Context::Prompt,
            Dialog::Picker(_) => Context::Picker,
            Dialog::Reader(_) => Context::Reader,
        }
    }
}

impl Picker {
    /// Makes a list with the first item chosen.
    pub fn new(title: impl Into<String>, items: Vec<Item>) -> Picker {
        Picker { title: title.into(), items, filter: Field::default(), chosen: 0 }
    }

    /// Returns the items that pass the filter: each typed word begins a word of label or detail.
    pub fn passing(&self) -> Vec<&Item> {
        let typed = finding_key(self.filter.text());
        let wanted: Vec<&str> = typed.split_whitespace().collect();
        let passes = |item: &&Item| {
            let text = finding_key(&format!("{} {}", item.label, item.detail));
            let begins = |w: &&str| text.match_indices(*w).any(|(at, _)| !text[..at].ends_with(char::is_alphanumeric));
            wanted.iter().all(begins)
        };
        self.items.iter().filter(passes).collect()
    }

    /// Returns what choosing the chosen item does.
    pub fn choice(&self) -> Option<Choice> {
        self.passing().get(self.chosen).map(|item| item.choice.clone())
    }

    /// Edits the filter or moves the choice; actions that mean nothing here do nothing.
    pub fn update(&mut self, action: Action, page: usize) {
        let last = self.passing().len().saturating_sub(1);
        match action {
            Action::Up => self.chosen = self.chosen.saturating_sub(1),
            Action::Down => self.chosen = (self.chosen + 1).min(last),
            Action::PageUp => self.chosen = self.chosen.saturating_sub(page),
            Action::PageDown => self.chosen = (self.chosen + page).min(last),
            Action::Start => self.chosen = 0,
            Action::End => self.chosen = last,
            Action::DeleteBack => {
                self.filter.delete_back();
                self.chosen = 0;
            }
            _ => {}
        }
    }

    /// Types into the filter.
    pub fn insert(&mut self, typed: &str) {
        self.filter.insert(typed);
        self.chosen = 0;
    }
}

impl Reader {
    /// Scrolls; actions that mean nothing here do nothing.
    pub fn update(&mut self, action: Action, page: usize) {
        let last = self.lines.len().saturating_sub(page.max(1));
        self.top = match action {
            Action::Up => self.top.saturating_sub(1),
            Action::Down => (self.top + 1).min(last),
            Action::PageUp => self.top.saturating_sub(page),
            Action::PageDown => (self.top + page).min(last),
            Action::Start | Action::FirstLine => 0,
            Action::End | Action::LastLine => last,
            _ => self.top,
        };
    }
}

/// Edits the text of a field; returns whether the action was one of editing.
pub(super) fn edit_field(field: &mut Field, action: Action) -> bool {
    match action {
        Action::Left => drop(field.left()),
        Action::Right => drop(field.right()),
        Action::Start => field.start(),
        Action::End => field.end(),
        Action::DeleteBack => drop(field.delete_back()),
        Action::Delete => drop(field.delete()),
        _ => return false,
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_filters_by_the_beginnings_of_words() {
        let item = |label: &str| Item { label: label.into(), detail: String::new(), choice: Choice::Nothing };
        let mut picker = Picker::new("", vec![item("Split the word"), item("Split section"), item("Édith")]);
        picker.insert("sp sec");
        assert_eq!(picker.passing().iter().map(|i| i.label.as_str()).collect::<Vec<_>>(), ["Split section"]);
        picker.filter = Field::new("ed");
        assert_eq!(picker.passing().len(), 1);
    }
}
