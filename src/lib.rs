//! undersong.
pub mod song;
pub mod text;
