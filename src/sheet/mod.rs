//! Sheets: what is printed of a song, and how each format prints it.
//!
//! [`compose`] decides what a sheet shows; [`markdown`], [`aligned`] and [`text()`](text()) turn that into characters. No renderer looks at the song
//! itself, so that all formats say the same.
//!
//! Text in a [`Sheet`] is safe to print: what a terminal might obey has been made visible.

mod compose;
mod grid;
mod markdown;
mod text;

pub use compose::{CellText, LineBlock, Options, Part, Remark, Row, Sheet, SheetColumn, compose};
pub use markdown::{aligned, markdown};
pub use text::{Paper, text};
