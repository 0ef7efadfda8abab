//! The key table: every action with its keys, its label for the key row, and its line of help.
//!
//! From this one table follow what keys do, the last row of the screen, the list of commands, the help, and the manual. Every action can
//! also be reached through the list of commands, so that none hangs on a key that a terminal may swallow.

use super::key::Key;
use std::collections::BTreeMap;

/// Something that a key or the list of commands can bring about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the table below says what each does")]
pub enum Action {
    Accept,
    NextRow,
    PreviousRow,
    Left,
    Right,
    Up,
    Down,
    Start,
    End,
    PageUp,
    PageDown,
    FirstLine,
    LastLine,
    TakeBack,
    DeleteBack,
    Delete,
    Commands,
    Help,
    Undo,
    Redo,
    NextBlank,
    NextDraft,
    NextAsk,
    GoTo,
    Find,
    FindNext,
    Uses,
    ToggleAsk,
    EditWordNote,
    Link,
    SettleLine,
    Fill,
    FollowLine,
    EditText,
    SplitWord,
    JoinWords,
    InsertLine,
    RemoveLine,
    LineUp,
    LineDown,
    EditBars,
    EditDirection,
    EditCue,
    EditIntention,
    EditHeading,
    EditSpeaker,
    SplitSection,
    JoinSections,
    RemoveSection,
    SectionUp,
    SectionDown,
    EditTitle,
    EditTranslatedTitle,
    EditWork,
    EditComposer,
    EditPoet,
    EditTranslator,
    EditSource,
    EditRights,
    ToSheet,
    ToTranslation,
    ToNotes,
    AddPrompt,
    RenamePrompt,
    RemovePrompt,
    PromptUp,
    PromptDown,
    ShowSound,
    ShowTag,
    ShowLemma,
    Roomy,
    WordsOnly,
    HideGloss,
    Preview,
    Print,
    Save,
    Mouse,
    Redraw,
    Suspend,
    Leave,
    NewSong,
    CopySong,
    RenameSong,
    ArchiveSong,
}

/// Where a key is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Context {
    /// On a cell of the sheet.
    Sheet,
    /// In the pane of the free translation.
    Translation,
    /// In the pane of the situation notes.
    Notes,
    /// In a line that asks for a text.
    Prompt,
    /// In a list that filters as one types.
    Picker,
    /// In a text that can only be read.
    Reader,
    /// In the list of songs.
    Songs,
}

/// The help topics, one screen each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Topic {
    Glossing,
    Moving,
    Text,
    Panes,
    View,
    Song,
}

/// A row of the key table.
#[derive(Debug)]
pub struct Binding {
    /// What it does.
    pub action: Action,
    /// The stable name, for the settings file.
    pub name: &'static str,
    /// The keys, the first of which the key row shows.
    pub keys: &'static [&'static str],
    /// Where the keys work.
    pub contexts: &'static [Context],
    /// The help topic.
    pub topic: Topic,
    /// A word or two for the key row.
    pub label: &'static str,
    /// A line of help.
    pub help: &'static str,
}

use Action as A;
use Context::{Notes, Picker, Prompt, Reader, Sheet, Songs, Translation};

const PANES: &[Context] = &[Sheet, Translation, Notes];
const EVERYWHERE: &[Context] = &[Sheet, Translation, Notes, Songs];
const ALL: &[Context] = &[Sheet, Translation, Notes, Prompt, Picker, Reader, Songs];

const fn row(
    action: Action,
    name: &'static str,
    keys: &'static [&'static str],
    contexts: &'static [Context],
    topic: Topic,
    label: &'static str,
    help: &'static str,
) -> Binding {
    Binding { action, name, keys, contexts, topic, label, help }
}

/// Every action.
#[rustfmt::skip]
pub static TABLE: &[Binding] = &[
    row(A::Accept, "accept", &["enter"], ALL, Topic::Glossing, "accept", "Settle the cell, or the whole word if nothing was typed, and go to the next word"),
    row(A::NextRow, "next-row", &["tab"], &[Sheet, Translation, Notes], Topic::Glossing, "next row", "Settle what was typed and go on: gloss, tag, sound, lemma; in the notes, to the next question"),
    row(A::PreviousRow, "previous-row", &["shift-tab"], &[Sheet, Translation, Notes], Topic::Glossing, "row before", "The same, backwards"),
    row(A::TakeBack, "take-back", &["esc"], ALL, Topic::Glossing, "take back", "Take back what was typed into the cell; otherwise open the list of commands"),
    row(A::DeleteBack, "delete-back", &["backspace"], ALL, Topic::Glossing, "delete", "Delete the letter before the cursor"),
    row(A::Delete, "delete", &["delete"], ALL, Topic::Glossing, "blank", "Delete the letter at the cursor; on a cell, blank it"),
    row(A::ToggleAsk, "toggle-ask", &["ctrl-a"], &[Sheet], Topic::Glossing, "ask", "Flag the word: to be asked at the next coaching"),
    row(A::EditWordNote, "edit-word-note", &[], &[Sheet], Topic::Glossing, "note", "Write a note on the word"),
    row(A::Link, "link", &[], &[Sheet], Topic::Glossing, "link", "Give the word the next link number of its line; words with the same number belong together"),
    row(A::SettleLine, "settle-line", &["ctrl-space"], &[Sheet], Topic::Glossing, "settle line", "Settle all drafts of the line"),
    row(A::FollowLine, "follow-line", &[], &[Sheet], Topic::Glossing, "follow line", "Draft all identical lines after this one"),
    row(A::Fill, "fill", &[], PANES, Topic::Glossing, "fill", "Draft every blank cell that song or lexicon know"),
    row(A::Undo, "undo", &["ctrl-u"], PANES, Topic::Glossing, "undo", "Take the last change back, in whatever pane it was made"),
    row(A::Redo, "redo", &["ctrl-r"], PANES, Topic::Glossing, "redo", "Make the change again that was taken back"),

    row(A::Left, "left", &["left"], ALL, Topic::Moving, "", "To the word before; in a text, to the letter before"),
    row(A::Right, "right", &["right"], ALL, Topic::Moving, "", "To the next word; in a text, to the next letter"),
    row(A::Up, "up", &["up"], ALL, Topic::Moving, "", "To the line above; among candidates, to the one above"),
    row(A::Down, "down", &["down"], ALL, Topic::Moving, "", "To the line below; while typing, to the next candidate"),
    row(A::Start, "start", &["home"], ALL, Topic::Moving, "", "To the first word of the line"),
    row(A::End, "end", &["end"], ALL, Topic::Moving, "", "To the last word of the line"),
    row(A::PageUp, "page-up", &["page-up"], ALL, Topic::Moving, "", "A screen up"),
    row(A::PageDown, "page-down", &["page-down"], ALL, Topic::Moving, "", "A screen down"),
    row(A::FirstLine, "first-line", &["ctrl-home"], PANES, Topic::Moving, "", "To the first line of the song"),
    row(A::LastLine, "last-line", &["ctrl-end"], PANES, Topic::Moving, "", "To the last line of the song"),
    row(A::NextBlank, "next-blank", &["ctrl-n"], PANES, Topic::Moving, "next blank", "To the next word without a gloss"),
    row(A::NextDraft, "next-draft", &["ctrl-d"], PANES, Topic::Moving, "next draft", "To the next word with a draft"),
    row(A::NextAsk, "next-ask", &[], PANES, Topic::Moving, "next ask", "To the next word that is to be asked about"),
    row(A::GoTo, "go-to", &["ctrl-g"], PANES, Topic::Moving, "go to", "To a line, a bar (b12) or a section (s2)"),
    row(A::Find, "find", &["ctrl-f"], PANES, Topic::Moving, "find", "Find a text in original, glosses, translation and notes"),
    row(A::FindNext, "find-next", &[], PANES, Topic::Moving, "find next", "Find the same text again"),
    row(A::Uses, "uses", &[], &[Sheet], Topic::Moving, "uses", "Where else in the repertoire the word stands; opens that song"),

    row(A::EditText, "edit-text", &["ctrl-e"], PANES, Topic::Text, "edit text", "Change the text of the line; words that stay keep their glosses"),
    row(A::SplitWord, "split-word", &[], &[Sheet], Topic::Text, "split", "Split the word in two"),
    row(A::JoinWords, "join-words", &[], &[Sheet], Topic::Text, "join", "Make one column of the word and the next: a phrase glossed as one"),
    row(A::InsertLine, "insert-line", &[], PANES, Topic::Text, "insert line", "Write new lines below this one"),
    row(A::RemoveLine, "remove-line", &[], PANES, Topic::Text, "remove line", "Take the line out"),
    row(A::LineUp, "line-up", &["ctrl-up"], &[Sheet], Topic::Text, "line up", "Move the line up"),
    row(A::LineDown, "line-down", &["ctrl-down"], &[Sheet], Topic::Text, "line down", "Move the line down"),
    row(A::EditBars, "edit-bars", &["ctrl-b"], PANES, Topic::Text, "bars", "Set the bars of the line"),
    row(A::EditDirection, "edit-direction", &[], PANES, Topic::Text, "direction", "Set the stage direction before the line"),
    row(A::EditCue, "edit-cue", &[], PANES, Topic::Text, "cue", "Set what you hear before you enter"),
    row(A::EditIntention, "edit-intention", &[], PANES, Topic::Text, "intention", "Set what you want with the line"),
    row(A::EditHeading, "edit-heading", &[], PANES, Topic::Text, "heading", "Set the heading of the section"),
    row(A::EditSpeaker, "edit-speaker", &[], PANES, Topic::Text, "speaker", "Set who sings the section"),
    row(A::SplitSection, "split-section", &[], PANES, Topic::Text, "split section", "Begin a new section with the line"),
    row(A::JoinSections, "join-sections", &[], PANES, Topic::Text, "join sections", "Join the section to the one before it"),
    row(A::RemoveSection, "remove-section", &[], PANES, Topic::Text, "remove section", "Take the section out with its lines"),
    row(A::SectionUp, "section-up", &[], PANES, Topic::Text, "section up", "Move the section up"),
    row(A::SectionDown, "section-down", &[], PANES, Topic::Text, "section down", "Move the section down"),

    row(A::ToTranslation, "to-translation", &["ctrl-right", "ctrl-t"], &[Sheet, Notes], Topic::Panes, "translation", "To the free translation of the line"),
    row(A::ToNotes, "to-notes", &["ctrl-o"], &[Sheet, Translation], Topic::Panes, "notes", "To the situation notes"),
    row(A::ToSheet, "to-sheet", &["ctrl-left", "ctrl-w"], &[Translation, Notes], Topic::Panes, "sheet", "Back to the words"),
    row(A::AddPrompt, "add-prompt", &[], PANES, Topic::Panes, "add question", "Add a question to the situation notes"),
    row(A::RenamePrompt, "rename-prompt", &[], &[Notes], Topic::Panes, "rename", "Put the question in other words"),
    row(A::RemovePrompt, "remove-prompt", &[], &[Notes], Topic::Panes, "remove", "Take the question out with its answer"),
    row(A::PromptUp, "prompt-up", &["ctrl-up"], &[Notes], Topic::Panes, "move up", "Move the question up"),
    row(A::PromptDown, "prompt-down", &["ctrl-down"], &[Notes], Topic::Panes, "move down", "Move the question down"),

    row(A::ShowSound, "show-sound", &[], PANES, Topic::View, "sound row", "Show or hide the row of sounds"),
    row(A::ShowTag, "show-tag", &[], PANES, Topic::View, "tag row", "Show or hide the row of tags"),
    row(A::ShowLemma, "show-lemma", &[], PANES, Topic::View, "lemma row", "Show or hide the row of dictionary forms"),
    row(A::Roomy, "roomy", &[], PANES, Topic::View, "roomy", "More or less space between the lines"),
    row(A::WordsOnly, "words-only", &[], PANES, Topic::View, "words only", "Only the words, to read aloud; again to see all rows"),
    row(A::HideGloss, "hide-gloss", &[], PANES, Topic::View, "hide gloss", "Hide the glosses, to test yourself; again to see them"),
    row(A::Preview, "preview", &["ctrl-p"], PANES, Topic::View, "preview", "The printed sheet as it will be"),
    row(A::Mouse, "mouse", &[], EVERYWHERE, Topic::View, "mouse", "Let the mouse click and scroll, or give it back to the terminal for selecting"),
    row(A::Redraw, "redraw", &["ctrl-l"], EVERYWHERE, Topic::View, "redraw", "Draw the screen afresh"),

    row(A::EditTitle, "edit-title", &[], PANES, Topic::Song, "title", "Set the title"),
    row(A::EditTranslatedTitle, "edit-translated-title", &[], PANES, Topic::Song, "translated title", "Set the title in your language"),
    row(A::EditWork, "edit-work", &[], PANES, Topic::Song, "work", "Set the opera or cycle"),
    row(A::EditComposer, "edit-composer", &[], PANES, Topic::Song, "composer", "Set the composer"),
    row(A::EditPoet, "edit-poet", &[], PANES, Topic::Song, "poet", "Set the poet"),
    row(A::EditTranslator, "edit-translator", &[], PANES, Topic::Song, "translator", "Set the translator"),
    row(A::EditSource, "edit-source", &[], PANES, Topic::Song, "source", "Set the edition of the text"),
    row(A::EditRights, "edit-rights", &[], PANES, Topic::Song, "rights", "Set who must be asked before it is printed for an audience"),
    row(A::Print, "print", &[], PANES, Topic::Song, "print", "Print the sheet into a file"),
    row(A::Save, "save", &["ctrl-s"], PANES, Topic::Song, "save", "Save now; it is done by itself as well"),
    row(A::NewSong, "new-song", &["ctrl-n"], &[Songs], Topic::Song, "new", "Start a song; paste its text when it is open"),
    row(A::CopySong, "copy-song", &[], &[Songs], Topic::Song, "copy", "Copy the song under another name"),
    row(A::RenameSong, "rename-song", &[], &[Songs], Topic::Song, "rename", "Give the file another name"),
    row(A::ArchiveSong, "archive-song", &[], &[Songs], Topic::Song, "archive", "Move the song into the folder archive; nothing is deleted"),
    row(A::Commands, "commands", &["f2", "ctrl-k"], EVERYWHERE, Topic::Song, "commands", "List all commands with their keys"),
    row(A::Help, "help", &["f1"], ALL, Topic::Song, "help", "Explain the keys, a topic a screen"),
    row(A::Suspend, "suspend", &["ctrl-z"], EVERYWHERE, Topic::Song, "suspend", "Back to the shell for a while; fg brings you back"),
    row(A::Leave, "leave", &["ctrl-q", "ctrl-c"], ALL, Topic::Song, "leave", "Leave; everything is saved"),
];

/// Which key does what, with the singer's own choices.
#[derive(Clone, Debug, Default)]
pub struct Keymap {
    /// Keys by action name that take the place of those of the table.
    own: BTreeMap<String, Vec<Key>>,
}

/// A mistake in the singer's choice of keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeyMistake {
    /// No action has this name.
    NoAction(String),
    /// No key has this name.
    NoKey(String),
}

impl Keymap {
    /// Takes the singer's keys by action name; what cannot be understood is told and left as it was.
    pub fn with_own(own: &BTreeMap<String, Vec<String>>) -> (Keymap, Vec<KeyMistake>) {
        let (mut keymap, mut mistakes) = (Keymap::default(), Vec::new());
        for (name, keys) in own {
            if !TABLE.iter().any(|b| b.name == name) {
                mistakes.push(KeyMistake::NoAction(name.clone()));
                continue;
            }
            let mut parsed = Vec::new();
            for key in keys {
                match key.parse() {
                    Ok(key) => parsed.push(key),
                    Err(()) => mistakes.push(KeyMistake::NoKey(key.clone())),
                }
            }
            keymap.own.insert(name.clone(), parsed);
        }
        (keymap, mistakes)
    }

    /// Returns the keys of an action.
    pub fn keys(&self, binding: &Binding) -> Vec<Key> {
        match self.own.get(binding.name) {
            Some(own) => own.clone(),
            None => binding.keys.iter().filter_map(|key| key.parse().ok()).collect(),
        }
    }

    /// Finds what a key does in a context.
    pub fn resolve(&self, key: Key, context: Context) -> Option<Action> {
        let works = |b: &&Binding| b.contexts.contains(&context) && self.keys(b).contains(&key);
        // The singer's own keys come before those of the table that they may displace.
        let own = TABLE.iter().filter(|b| self.own.contains_key(b.name)).find(works);
        own.or_else(|| TABLE.iter().filter(|b| !self.own.contains_key(b.name)).find(works)).map(|b| b.action)
    }
}

/// Returns the row of an action.
pub fn binding(action: Action) -> &'static Binding {
    TABLE.iter().find(|b| b.action == action).expect("every action has a row: see the test")
}

impl Topic {
    /// Every topic in the order of the help.
    pub const ALL: [Topic; 6] = [Topic::Glossing, Topic::Moving, Topic::Text, Topic::Panes, Topic::View, Topic::Song];

    /// Returns the heading of the topic.
    pub fn heading(self) -> &'static str {
        match self {
            Topic::Glossing => "Glossing",
            Topic::Moving => "Finding your way",
            Topic::Text => "The text of the song",
            Topic::Panes => "Translation and situation notes",
            Topic::View => "What is shown",
            Topic::Song => "The song and the program",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn names_and_actions_stand_once_and_have_help() {
        let (mut names, mut actions) = (HashSet::new(), HashSet::new());
        for b in TABLE {
            assert!(names.insert(b.name), "{}", b.name);
            assert!(actions.insert(b.action), "{}", b.name);
            assert!(!b.help.is_empty() && !b.help.ends_with('.'), "{}", b.name);
        }
    }

    #[test]
    fn no_context_binds_a_key_twice() {
        let mut seen = HashSet::new();
        for b in TABLE {
            for key in b.keys {
                let key: Key = key.parse().unwrap();
                for context in b.contexts {
                    assert!(seen.insert((key, format!("{context:?}"))), "{key} in {context:?}");
                }
            }
        }
    }

    #[test]
    fn own_keys_displace_those_of_the_table() {
        let own = BTreeMap::from([("undo".to_owned(), vec!["ctrl-r".to_owned(), "alt-x".to_owned()])]);
        let (keymap, mistakes) = Keymap::with_own(&own);
        assert_eq!(keymap.resolve("ctrl-r".parse().unwrap(), Context::Sheet), Some(Action::Undo));
        assert_eq!(keymap.resolve("ctrl-u".parse().unwrap(), Context::Sheet), None);
        assert_eq!(mistakes, [KeyMistake::NoKey("alt-x".to_owned())]);
    }
}
