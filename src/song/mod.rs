//! The document: a song as a value, and the edits that change it.
//!
//! [`Song`] holds [`Section`]s of [`Line`]s of [`Word`]s; a word has [`Cell`]s that are blank, drafted by the program or
//! settled by the singer. [`Edit`] and [`apply`] change it, [`History`] takes changes back, [`check`] finds what is missing.
//!
//! It does no I/O, knows no screen and no language; the only module of ours that it uses is `text`.

mod align;
mod check;
mod edit;
#[cfg(test)]
pub(crate) mod fixture;
mod history;
mod model;
mod place;
mod repeats;
mod search;
mod tag;

pub use align::{change_text, keep_annotations};
pub use check::{Finding, Hyphen, Place, Problem, check};
pub use edit::{Edit, LinePart, Refused, apply};
pub use history::{History, Moved};
pub use model::{Annotation, Bars, Cell, Detail, Details, Line, Note, Section, Song, Word, text_of};
pub use place::{LineAt, WordAt};
pub(crate) use repeats::{Offer, Witnesses, draft, follow_translation};
pub use repeats::{follow_line, follow_word};
pub use search::{Hit, SearchPart, search};
pub use tag::{Category, Feature, Known, Pos, Style, Tag, Ud, UnknownUd};
