//! Typing on a cell: what is typed, what is offered for it, and how it is settled.

use super::{Editor, Effect};
use crate::language::ipa_from_xsampa;
use crate::lexicon::{Sense, fill};
use crate::song::{Annotation, Cell, Edit, LineAt, Tag, Word, WordAt, follow, follow_line};
use crate::text::fold::finding_key;
use crate::tui::dialog::edit_field;
use crate::tui::field::Field;
use crate::tui::keys::Action;

/// A cell that is being typed on.
#[derive(Clone, Debug)]
pub struct Typing {
    /// What stands in the cell.
    pub field: Field,
    /// What was typed before an offer was chosen; offers are narrowed by it.
    typed: String,
    /// The chosen offer.
    pub chosen: Option<usize>,
}

/// A text that is offered for the cell under the cursor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offered {
    /// The text.
    pub text: String,
    /// The candidate whose other cells come with it.
    pub candidate: Option<usize>,
}

impl Editor {
    /// Types on the cell under the cursor. In a gloss a space joins words by a hyphen; a digit on an untouched gloss chooses a candidate.
    pub(super) fn type_into_cell(&mut self, typed: &str) {
        if self.word().is_none() {
            self.tell("This line has no words: change its text, or paste one".to_owned());
            return;
        }
        let is_gloss = self.row == Annotation::Gloss;
        if is_gloss && self.typing.is_none() && self.choose_by_number(typed) {
            return;
        }
        // A space alone begins nothing.
        if self.typing.is_none() && typed.trim().is_empty() {
            return;
        }
        let typing = self.typing.get_or_insert_with(|| Typing::of(""));
        let typed = if typed.chars().nth(1).is_some() { typed.trim() } else { typed };
        let typed = if is_gloss {
            typed.trim_matches(['\n', '\r']).replace([' ', '\n', '\r', '\t'], "-")
        } else {
            typed.to_owned()
        };
        let is_idle = typing.field.text().is_empty() && (typed == "-" || typed == " ");
        if !is_idle {
            typing.field.insert(&typed);
        }
        typing.retype();
    }

    fn choose_by_number(&mut self, typed: &str) -> bool {
        let number = typed.parse::<usize>().ok().filter(|n| (1..=9).contains(n) && typed.len() == 1);
        let Some(candidate) = number.and_then(|n| self.candidates.get(n - 1)) else { return false };
        let mut typing = Typing::of(&candidate.sense.gloss);
        typing.typed.clear();
        typing.chosen = number.map(|n| n - 1);
        self.typing = Some(typing);
        true
    }

    /// Lists what is offered for the cell under the cursor, narrowed by what was typed.
    pub fn offers(&self) -> Vec<Offered> {
        let typed = self.typing.as_ref().map(|t| t.typed.as_str()).unwrap_or_default();
        let key = finding_key(typed);
        let mut offers: Vec<Offered> = Vec::new();
        for (idx, candidate) in self.candidates.iter().enumerate() {
            let sense = &candidate.sense;
            let text = match self.row {
                Annotation::Gloss => sense.gloss.clone(),
                Annotation::Tag => sense.tag.as_ref().map(Tag::to_string).unwrap_or_default(),
                Annotation::Sound => sense.sound.clone(),
                Annotation::Lemma => sense.lemma.clone(),
            };
            let is_new = self.row == Annotation::Gloss || !offers.iter().any(|o| o.text == text);
            if !text.is_empty() && is_new && finding_key(&text).starts_with(&key) {
                let candidate = (self.row == Annotation::Gloss).then_some(idx);
                offers.push(Offered { text, candidate });
            }
        }
        if self.row == Annotation::Tag && self.typing.is_some() {
            for text in Tag::completions(typed) {
                if !offers.iter().any(|o| o.text == text) {
                    offers.push(Offered { text, candidate: None });
                }
            }
        }
        offers
    }

    /// Carries out an action on the sheet.
    pub(super) fn act_in_sheet(&mut self, action: Action) {
        match action {
            Action::Accept => self.accept(),
            Action::NextRow => self.walk_rows(1),
            Action::PreviousRow => self.walk_rows(-1),
            Action::TakeBack => self.take_back(),
            Action::Up | Action::Down if self.typing.is_some() => self.choose_offer(action),
            Action::Left | Action::Right if self.typing.is_some() => self.move_in_cell(action),
            Action::Start | Action::End if self.typing.is_some() => self.edit_cell(action),
            Action::DeleteBack => self.edit_cell(action),
            Action::Delete if self.typing.is_some() => self.edit_cell(action),
            Action::Delete => self.blank_cell(),
            Action::ToggleAsk => self.toggle_ask(),
            Action::Link => self.link(),
            Action::SettleLine => self.settle_line(),
            Action::FollowLine => self.follow_line(),
            action => self.move_by(action),
        }
    }

    /// Settles the cell, or the word where nothing was typed, and goes to the next word that is not settled.
    fn accept(&mut self) {
        let was_typing = self.typing.is_some();
        if was_typing {
            if !self.commit_typing() {
                return;
            }
        } else if let Some(edit) = self.settling(self.cursor)
            && !self.make(edit)
        {
            return;
        }
        self.row = Annotation::Gloss;
        let line = self.cursor.line();
        let line_is_done = self.song().line(line).is_some_and(|l| l.words.iter().all(|w| !needs_work(w)));
        if line_is_done && let Some(edit) = follow_line(self.song(), line) {
            self.make(edit);
            self.tell("The identical lines are drafted after this one".to_owned());
        }
        if !self.go_to_next(Editor::is_unsettled) {
            if self.word().is_some_and(needs_work) {
                self.move_by(Action::Right);
            } else {
                self.tell("Every word has a settled gloss".to_owned());
            }
        }
    }

    /// The edit that settles a word as it stands, or after the first candidate where it has no gloss; with the drafts that follow.
    fn settling(&self, at: WordAt) -> Option<Edit> {
        let word = self.song().word(at)?;
        let mut edits = match Edit::settle_word(at, word) {
            Some(Edit::All(edits)) => edits,
            Some(edit) => vec![edit],
            None if word.gloss.is_blank() => settle_sense(at, &self.candidates.first()?.sense),
            None => return None,
        };
        edits.extend(self.following(at, word, &edits));
        Some(Edit::All(edits))
    }

    /// The edits that draft identical words after a word on which some edits are about to be made.
    fn following(&self, at: WordAt, word: &Word, edits: &[Edit]) -> Vec<Edit> {
        let mut after = word.clone();
        for edit in edits {
            if let Edit::SetCell { row, cell, .. } = edit {
                after.set_annotation(*row, cell.clone());
            }
        }
        if !after.gloss.is_settled() {
            return Vec::new();
        }
        let others: Vec<WordAt> = self.index.places(word).iter().copied().filter(|other| *other != at).collect();
        follow(self.song(), &others, &after)
    }

    /// Settles what was typed; returns whether that went well. Without typing there is nothing to do, which is well too.
    pub(super) fn commit_typing(&mut self) -> bool {
        let Some(typing) = self.typing.take() else { return true };
        let at = self.cursor;
        let Some(word) = self.song().word(at) else { return true };
        let text = typing.field.text().trim();
        let text = if self.row == Annotation::Sound { ipa_from_xsampa(text) } else { text.to_owned() };
        let text = if self.row == Annotation::Tag { Tag::parse(&text).to_string() } else { text };
        let chosen = typing.chosen.and_then(|n| {
            let offers = self.offers_for(&typing);
            offers.get(n).filter(|o| o.text == text).and_then(|o| o.candidate)
        });
        let mut edits = match chosen.and_then(|n| self.candidates.get(n)) {
            Some(candidate) => settle_sense(at, &candidate.sense),
            None if text.is_empty() => vec![Edit::SetCell { at, row: self.row, cell: Cell::Blank }],
            None => vec![Edit::settle(at, self.row, text)],
        };
        let is_change = |edit: &Edit| matches!(edit, Edit::SetCell { row, cell, .. } if word.annotation(*row) != *cell);
        edits.retain(is_change);
        if edits.is_empty() {
            return true;
        }
        edits.extend(self.following(at, word, &edits));
        let is_made = self.make(Edit::All(edits));
        if !is_made {
            self.typing = Some(typing);
        }
        is_made
    }

    /// The offers as they were while an offer was being chosen.
    fn offers_for(&self, typing: &Typing) -> Vec<Offered> {
        let key = finding_key(&typing.typed);
        if self.row != Annotation::Gloss {
            return Vec::new();
        }
        let offered =
            |(idx, c): (usize, &super::Candidate)| Offered { text: c.sense.gloss.clone(), candidate: Some(idx) };
        self.candidates.iter().enumerate().map(offered).filter(|o| finding_key(&o.text).starts_with(&key)).collect()
    }

    /// Takes back what was typed; redo brings it again. Without typing, opens the list of commands.
    fn take_back(&mut self) {
        let Some(typing) = self.typing.clone() else { return self.show_commands() };
        let before = self.word().map(|w| w.annotation(self.row));
        if before.is_some_and(|cell| cell.text() != typing.field.text()) && !typing.field.text().is_empty() {
            self.commit_typing();
            // Undone at once, so that what was typed can be had again.
            let moved = self.file.undo();
            self.after_move(moved, "");
        }
        self.typing = None;
    }

    fn walk_rows(&mut self, step: isize) {
        if !self.commit_typing() {
            return;
        }
        const ROWS: [Annotation; 4] = [Annotation::Gloss, Annotation::Tag, Annotation::Sound, Annotation::Lemma];
        let at = ROWS.iter().position(|row| *row == self.row).unwrap_or_default();
        self.row = ROWS[(at as isize + step).rem_euclid(4) as usize];
    }

    /// Chooses the next or the former offer and puts it into the cell.
    fn choose_offer(&mut self, action: Action) {
        let offers = self.offers();
        let Some(typing) = &mut self.typing else { return };
        typing.chosen = match (action, typing.chosen) {
            (Action::Down, None) => (!offers.is_empty()).then_some(0),
            (Action::Down, Some(n)) => Some((n + 1).min(offers.len().saturating_sub(1))),
            (_, Some(n)) => n.checked_sub(1),
            (_, None) => None,
        };
        let text = typing.chosen.and_then(|n| offers.get(n)).map_or(typing.typed.as_str(), |o| o.text.as_str());
        typing.field = Field::new(text);
    }

    /// Moves in the text; beyond its end it takes the rest of the first offer, and beyond its start it goes to the word before.
    fn move_in_cell(&mut self, action: Action) {
        let first = self.offers().into_iter().next();
        let Some(typing) = &mut self.typing else { return };
        let moved = if action == Action::Left { typing.field.left() } else { typing.field.right() };
        if moved {
            return;
        }
        let is_start_of = |o: &Offered| o.text.len() > typing.typed.len() && o.text.starts_with(&typing.typed);
        match first.filter(is_start_of) {
            Some(offered) if action == Action::Right && typing.chosen.is_none() && !typing.typed.is_empty() => {
                typing.field = Field::new(&offered.text);
                typing.chosen = Some(0);
            }
            _ => {
                if self.commit_typing() {
                    self.move_by(action);
                }
            }
        }
    }

    /// Edits the text of the cell; on an untouched cell, what stands there.
    fn edit_cell(&mut self, action: Action) {
        let Some(word) = self.word() else { return };
        let text = word.annotation(self.row).text().to_owned();
        let typing = self.typing.get_or_insert_with(|| Typing::of(&text));
        edit_field(&mut typing.field, action);
        if matches!(action, Action::DeleteBack | Action::Delete) {
            typing.retype();
        }
    }

    fn blank_cell(&mut self) {
        let (at, row) = (self.cursor, self.row);
        if self.word().is_some_and(|w| !w.annotation(row).is_blank()) {
            self.make(Edit::SetCell { at, row, cell: Cell::Blank });
        }
    }

    fn toggle_ask(&mut self) {
        self.commit_typing();
        let at = self.cursor;
        if let Some(ask) = self.word().map(|w| !w.ask) {
            self.make(Edit::SetAsk { at, ask });
        }
    }

    /// Links the word: with the lone linked word of its line, else under the next number; a linked word is unlinked.
    fn link(&mut self) {
        let at = self.cursor;
        let Some(line) = self.song().line(at.line()) else { return };
        let Some(word) = line.words.get(at.word) else { return };
        let number_of = |n| line.words.iter().filter(|w| w.link.is_some_and(|l| l.get() == n)).count();
        let link = match word.link {
            Some(_) => None,
            None => (1..=u8::MAX).find(|n| number_of(*n) < 2).and_then(std::num::NonZeroU8::new),
        };
        self.make(Edit::SetLink { at, link });
    }

    /// Settles all drafts of the line as one change, and goes to the next word that is not settled.
    fn settle_line(&mut self) {
        self.commit_typing();
        let at = self.cursor.line();
        let Some(line) = self.song().line(at) else { return };
        let words = line.words.iter().enumerate();
        let settle = |(idx, word): (usize, &Word)| {
            let Some(Edit::All(mut edits)) = Edit::settle_word(at.word(idx), word) else { return Vec::new() };
            edits.extend(self.following(at.word(idx), word, &edits).into_iter().filter(|e| !is_in_line(e, at)));
            edits
        };
        let edits: Vec<Edit> = words.flat_map(settle).collect();
        if edits.is_empty() {
            self.tell("No draft in this line".to_owned());
        } else if self.make(Edit::All(edits)) {
            self.row = Annotation::Gloss;
            self.go_to_next(Editor::is_unsettled);
        }
    }

    fn follow_line(&mut self) {
        self.commit_typing();
        match follow_line(self.song(), self.cursor.line()) {
            Some(edit) => drop(self.make(edit)),
            None => self.tell("No identical line takes anything from this one".to_owned()),
        }
    }

    /// Drafts every blank cell that song or lexicon know.
    pub(super) fn fill(&mut self) -> Vec<Effect> {
        self.commit_typing();
        let filled = fill(self.song(), &self.lexicon);
        match filled.edit {
            Some(edit) => {
                self.make(edit);
                self.tell(format!("{} cells drafted", filled.n_cells));
            }
            None => self.tell("Nothing more is known".to_owned()),
        }
        Vec::new()
    }

    /// Tells whether a word still needs a gloss or a confirmation.
    pub(super) fn is_unsettled(&self, at: WordAt) -> bool {
        self.song().word(at).is_some_and(needs_work)
    }
}

impl Typing {
    fn of(text: &str) -> Typing {
        Typing { field: Field::new(text), typed: text.to_owned(), chosen: None }
    }

    fn retype(&mut self) {
        self.typed = self.field.text().to_owned();
        self.chosen = None;
    }
}

/// Tells whether an edit fills a cell of a line.
fn is_in_line(edit: &Edit, line: LineAt) -> bool {
    matches!(edit, Edit::SetCell { at, .. } if at.line() == line)
}

fn needs_work(word: &Word) -> bool {
    word.is_glossable() && !word.is_settled()
}

/// The edits that settle a word after a sense; rows of which the sense says nothing stay as they are.
fn settle_sense(at: WordAt, sense: &Sense) -> Vec<Edit> {
    let texts = Annotation::ALL.into_iter().zip(sense.offer());
    texts.filter_map(|(row, text)| Some(Edit::settle(at, row, text?))).collect()
}
