//! The editor without a terminal: screens, typing, work on the text.
//!
//! Most tests are a triple of song, keys and song, in the notation of `notation`, with the cursor drawn in it.

mod notation;
mod panes;
mod screens;
mod stage;
mod text;
mod typing;
mod ways;
