//! Finding one's way: moving through words and lines, to what is left to do, to a place, to a text.

use super::{Editor, Focus};
use crate::song::{LineAt, Word, WordAt, search};
use crate::tui::keys::Action;

impl Editor {
    /// Moves from word to word and from line to line.
    pub(super) fn move_by(&mut self, action: Action) {
        self.commit_typing();
        let n_words = self.song().line(self.cursor.line()).map_or(0, |l| l.words.len());
        match action {
            Action::Left if self.cursor.word > 0 => self.cursor.word -= 1,
            Action::Left => self.move_lines(-1, |n_words| n_words.saturating_sub(1)),
            Action::Right if self.cursor.word + 1 < n_words => self.cursor.word += 1,
            Action::Right => self.move_lines(1, |_| 0),
            Action::Up => self.move_to_line_at(-1),
            Action::Down => self.move_to_line_at(1),
            Action::PageUp => self.move_to_line_at(-(self.page as isize)),
            Action::PageDown => self.move_to_line_at(self.page as isize),
            Action::Start => self.cursor.word = 0,
            Action::End => self.cursor.word = n_words.saturating_sub(1),
            _ => return,
        }
        self.after_moving();
    }

    /// Moves some lines on and keeps the place in the line as well as it goes.
    fn move_to_line_at(&mut self, step: isize) {
        let word = self.cursor.word;
        self.move_lines(step, |n_words| word.min(n_words.saturating_sub(1)));
    }

    fn move_lines(&mut self, step: isize, word: impl FnOnce(usize) -> usize) {
        let here = self.line_idx();
        let there = here.saturating_add_signed(step).min(self.lines.len().saturating_sub(1));
        if there != here {
            self.go_to_line(there, word);
        }
    }

    fn go_to_line(&mut self, idx: usize, word: impl FnOnce(usize) -> usize) {
        if let Some(at) = self.lines.get(idx).copied() {
            let n_words = self.song().line(at).map_or(0, |l| l.words.len());
            self.cursor = at.word(word(n_words));
        }
    }

    /// Goes to a line counted from 0 through the song.
    pub fn go_to_line_number(&mut self, idx: usize) {
        self.go_to_line(idx.min(self.lines.len().saturating_sub(1)), |_| 0);
        self.after_moving();
    }

    /// After the cursor has moved: new candidates, the pane of the translation in step.
    pub(in crate::tui) fn after_moving(&mut self) {
        self.refresh_candidates();
        if self.focus == Focus::Translation {
            self.load_prose();
        }
    }

    /// Carries out an action of finding one's way; returns whether it was one.
    pub(super) fn go(&mut self, action: Action) -> bool {
        let unglossed =
            |e: &Editor, at: WordAt| e.song().word(at).is_some_and(|w| w.is_glossable() && w.gloss.is_blank());
        match action {
            Action::FirstLine => self.move_first_or_last(0),
            Action::LastLine => self.move_first_or_last(self.lines.len().saturating_sub(1)),
            Action::NextBlank => self.go_or_tell(unglossed, "Every word has a gloss"),
            Action::NextDraft => {
                self.go_or_tell(|e, at| e.song().word(at).is_some_and(Word::has_draft), "There is no draft");
            }
            Action::NextAsk => {
                self.go_or_tell(|e, at| e.song().word(at).is_some_and(|w| w.ask), "Nothing is to be asked");
            }
            Action::FindNext if !self.found.is_empty() => self.find_next(),
            _ => return false,
        }
        true
    }

    fn move_first_or_last(&mut self, idx: usize) {
        self.commit_typing();
        self.commit_prose();
        self.go_to_line_number(idx);
    }

    fn go_or_tell(&mut self, wanted: impl Fn(&Editor, WordAt) -> bool, nothing: &str) {
        self.commit_typing();
        self.commit_prose();
        if !self.go_to_next(wanted) {
            self.tell(nothing.to_owned());
        } else {
            self.focus = Focus::Sheet;
            self.prose = None;
        }
    }

    /// Goes to the next word that is wanted, from the start again after the end; returns whether there is one other than this.
    pub(super) fn go_to_next(&mut self, wanted: impl Fn(&Editor, WordAt) -> bool) -> bool {
        let here = self.line_idx();
        let n_lines = self.lines.len();
        for step in 0..=n_lines {
            let Some(at) = self.lines.get((here + step) % n_lines.max(1)).copied() else { return false };
            let n_words = self.song().line(at).map_or(0, |l| l.words.len());
            // In the line of the cursor first what stands after it, at the very end what stands before it.
            let words = match step {
                0 => self.cursor.word + 1..n_words,
                n if n == n_lines => 0..self.cursor.word.min(n_words),
                _ => 0..n_words,
            };
            if let Some(word) = words.into_iter().find(|word| wanted(self, at.word(*word))) {
                self.cursor = at.word(word);
                self.after_moving();
                return true;
            }
        }
        false
    }

    /// Goes to a line (`12`), a bar (`b12`) or a section (`s2`).
    pub(super) fn go_to(&mut self, place: &str) {
        let place = place.trim().to_lowercase();
        let number = |text: &str| text.trim_start_matches(['.', ' ']).parse::<usize>().ok().filter(|n| *n > 0);
        let idx = if let Some(bar) = place.strip_prefix('b').and_then(number) {
            let bars_of = |at: &LineAt| self.song().line(*at).and_then(|l| l.bars);
            // The line that holds the bar, else the last that begins before it.
            let begins_before = |at: &LineAt| bars_of(at).is_some_and(|b| b.first() as usize <= bar);
            self.lines.iter().rposition(begins_before)
        } else if let Some(section) = place.strip_prefix('s').and_then(number) {
            self.lines.iter().position(|at| at.section + 1 == section)
        } else {
            number(&place).map(|n| n - 1).filter(|n| *n < self.lines.len())
        };
        match idx {
            Some(idx) => self.go_to_line_number(idx),
            None => self.tell_error(format!("There is no place “{place}”: a line is 12, a bar b12, a section s2")),
        }
    }

    /// Finds a text from the cursor on.
    pub(super) fn find(&mut self, text: &str) {
        self.found = text.to_owned();
        self.find_next();
    }

    fn find_next(&mut self) {
        let hits = search(self.song(), &self.found);
        let here = self.cursor.line();
        let in_lines: Vec<LineAt> = hits.iter().filter_map(|h| h.at).collect();
        let n_notes = hits.len() - in_lines.len();
        match in_lines.iter().find(|at| **at > here).or(in_lines.first()).copied() {
            Some(at) => {
                let idx = self.lines.binary_search(&at).unwrap_or_default();
                self.go_to_line_number(idx);
                self.tell(format!("“{}” stands in {} places of the song", self.found, hits.len()));
            }
            None if n_notes > 0 => {
                self.focus_on(Focus::Notes);
                self.tell(format!("“{}” stands in the notes", self.found));
            }
            None => self.tell(format!("“{}” was not found", self.found)),
        }
    }
}
