//! The editor without a terminal: screens, typing, work on the text, a singer who glosses a song, and whatever random keys do.
//!
//! Most tests are a triple of song, keys and song, in the notation of `notation`, with the cursor drawn in it.

mod notation;
mod panes;
mod random;
mod screens;
mod singer;
mod stage;
mod text;
mod typing;
mod ways;
