//! undersong.
pub mod import;
pub mod language;
pub mod layout;
pub mod lexicon;
pub mod sheet;
pub mod song;
#[cfg(feature = "app")]
pub mod store;
pub mod text;
