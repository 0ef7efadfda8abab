//! Undo and redo: the edits of a session in the order in which they were made.
//!
//! ```
//! use undersong::song::{Detail, Edit, History, Song};
//! let (mut song, mut history) = (Song::default(), History::default());
//! let edit = Edit::SetDetail { detail: Detail::Title, text: "Brume".into() };
//! history.make(&mut song, edit, None).unwrap();
//! history.undo(&mut song);
//! assert_eq!(song.details.title, "");
//! history.redo(&mut song);
//! assert_eq!(song.details.title, "Brume");
//! ```
//!
//! It holds at most [`History::LIMIT`] steps and forgets the oldest first. It does not write to the journal and knows no clock.

use super::{Edit, Refused, Song, WordAt, apply};
use std::collections::VecDeque;

/// The steps that can be taken back, and those that can be made again.
#[derive(Clone, Debug, Default)]
pub struct History {
    steps: VecDeque<Step>,
    /// How many of the steps are in force; those after it can be made again.
    in_force: usize,
    /// How many steps were in force at the last save, unless that state has been lost.
    saved: Option<usize>,
}

#[derive(Clone, Debug)]
struct Step {
    edit: Edit,
    inverse: Edit,
    place: Option<WordAt>,
}

/// A step that was just taken back or made again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The edit that was carried out on the song, for the journal.
    pub edit: Edit,
    /// Where the singer was when the edit was first made.
    pub place: Option<WordAt>,
}

impl History {
    /// The number of steps that are remembered.
    pub const LIMIT: usize = 10_000;

    /// Starts a history at a song that is saved.
    pub fn at_saved_song() -> History {
        History { saved: Some(0), ..History::default() }
    }

    /// Carries out an edit and remembers it; whatever had been undone can no longer be made again.
    ///
    /// # Errors
    /// As [`apply`]; song and history are then as they were.
    pub fn make(&mut self, song: &mut Song, edit: Edit, place: Option<WordAt>) -> Result<(), Refused> {
        let inverse = apply(song, &edit)?;
        self.steps.truncate(self.in_force);
        self.saved = self.saved.filter(|saved| *saved <= self.in_force);
        self.steps.push_back(Step { edit, inverse, place });
        self.in_force += 1;
        if self.steps.len() > History::LIMIT {
            self.steps.pop_front();
            self.in_force -= 1;
            self.saved = self.saved.and_then(|saved| saved.checked_sub(1));
        }
        Ok(())
    }

    /// Takes the last step back; `None` when there is none.
    pub fn undo(&mut self, song: &mut Song) -> Option<Moved> {
        let step = self.steps.get(self.in_force.checked_sub(1)?)?;
        apply(song, &step.inverse).expect("the song is in the state that the step left");
        self.in_force -= 1;
        Some(Moved { edit: step.inverse.clone(), place: step.place })
    }

    /// Makes the step again that was taken back last; `None` when there is none.
    pub fn redo(&mut self, song: &mut Song) -> Option<Moved> {
        let step = self.steps.get(self.in_force)?;
        apply(song, &step.edit).expect("the song is in the state before the step");
        self.in_force += 1;
        Some(Moved { edit: step.edit.clone(), place: step.place })
    }

    /// Notes that the song as it stands has been saved.
    pub fn mark_saved(&mut self) {
        self.saved = Some(self.in_force);
    }

    /// Tells whether the song differs from the one that was saved last.
    pub fn is_changed(&self) -> bool {
        self.saved != Some(self.in_force)
    }
}
