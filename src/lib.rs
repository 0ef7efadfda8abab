//! undersong.
pub mod language;
pub mod song;
pub mod text;
