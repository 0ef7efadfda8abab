//! What things look like: roles, not colours, chosen once for the terminal.
//!
//! No meaning is carried by colour alone: drafts have their mark and stand in italics, the word under the cursor is underlined, its cell
//! reversed. Colours are the terminal's own sixteen on its own background, so that they suit light and dark ones; with `NO_COLOR` there
//! is none at all.

use ratatui::style::{Color, Modifier, Style};

/// The styles of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Plain text.
    pub text: Style,
    /// Titles, headings, names of panes.
    pub heading: Style,
    /// What is of less weight: labels, bar numbers, hints.
    pub faint: Style,
    /// The written form.
    pub word: Style,
    /// A cell that the singer has confirmed.
    pub settled: Style,
    /// A cell that the program filled in.
    pub draft: Style,
    /// A word that is to be asked about.
    pub ask: Style,
    /// The word under the cursor.
    pub current_word: Style,
    /// The cell under the cursor.
    pub current_cell: Style,
    /// The chosen row of a list.
    pub chosen: Style,
    /// The title row and the key row.
    pub bar: Style,
    /// What went wrong.
    pub error: Style,
}

impl Theme {
    /// Makes the styles, with colours or without.
    pub fn new(has_colour: bool) -> Theme {
        let colour = |style: Style, colour: Color| if has_colour { style.fg(colour) } else { style };
        let with = |modifier| Style::new().add_modifier(modifier);
        Theme {
            text: Style::new(),
            heading: colour(with(Modifier::BOLD), Color::Cyan),
            faint: with(Modifier::DIM),
            word: with(Modifier::BOLD),
            settled: Style::new(),
            draft: colour(with(Modifier::ITALIC), Color::Yellow),
            ask: colour(with(Modifier::BOLD), Color::Magenta),
            current_word: with(Modifier::UNDERLINED),
            current_cell: with(Modifier::REVERSED),
            chosen: with(Modifier::REVERSED),
            bar: with(Modifier::BOLD),
            error: colour(with(Modifier::BOLD), Color::Red),
        }
    }
}
