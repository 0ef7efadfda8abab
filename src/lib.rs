//! undersong.
pub mod text;
