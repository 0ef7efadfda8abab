//! The lexicon: every sense that the singer has settled, remembered for the next song.
//!
//! [`Lexicon`] holds the senses of one language pair. [`learn`] takes them from a song, [`Lexicon::look_up`] finds them, [`fill`]
//! makes the edit that drafts the blank cells of another song.
//!
//! ```
//! use undersong::lexicon::{Lexicon, Sense};
//! let mut lexicon = Lexicon::new("it", "en");
//! lexicon.add("notte", Sense::new("night"));
//! assert_eq!(lexicon.look_up("Notte")[0].sense.gloss, "night");
//! ```
//!
//! It works on loaded data and knows no files; `store` reads and writes it.

mod fill;
mod learn;
mod sense;
mod user;

pub use fill::{Filled, fill};
pub use learn::{Learned, learn};
pub use sense::Sense;
pub use user::{Candidate, Entry, Lexicon, Likeness, Recorded};
