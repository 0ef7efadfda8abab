//! undersong.
pub mod import;
pub mod language;
pub mod lexicon;
pub mod song;
pub mod text;
