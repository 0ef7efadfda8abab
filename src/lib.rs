//! undersong: interlinear song texts for singers.
//!
//! The map, in the order of the data flow. A module uses only modules above it.
//!
//! | module | owns |
//! | --- | --- |
//! | [`text`] | strings: normal form, folding, clusters, widths, cleaning |
//! | [`song`] | the document, its edits, history, findings |
//! | [`language`] | what a written line is made of, by language |
//! | [`lexicon`] | senses: look-up, learning, filling |
//! | [`layout`] | columns, rows, pages, by any metric |
//! | [`sheet`] | what is printed, and how each format prints it |
//! | [`import`] | pasted text to sections and words |
//! | [`store`] | files: YAML, saves, journal, locks, lexica |
//! | [`tui`] | the editor: states, keys, panes |
//! | [`cli`] | the commands, one file each |

#[cfg(feature = "app")]
pub mod cli;
pub mod import;
pub mod language;
pub mod layout;
pub mod lexicon;
pub mod sheet;
pub mod song;
#[cfg(feature = "app")]
pub mod store;
pub mod text;
#[cfg(feature = "app")]
pub mod tui;
