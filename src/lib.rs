//! undersong: interlinear song texts for singers.
//!
//! The map, in the order of the data flow. A module uses only modules above it.

pub mod import;
pub mod language; // what a written line is made of, by language
pub mod layout; // columns, rows, pages, by any metric
pub mod lexicon; // senses: look-up, learning, filling
pub mod sheet; // what is printed, and how each format prints it
pub mod song; // the document, its edits, history, findings
pub mod text; // strings: normal form, folding, clusters, widths, cleaning // pasted text to sections and words

#[cfg(feature = "app")]
pub mod cli;
#[cfg(feature = "app")]
pub mod store; // files: YAML, saves, journal, locks, lexica // one file a command
