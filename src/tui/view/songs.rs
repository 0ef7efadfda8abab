//! The list of songs.

use super::{dialog, draw_keys, draw_too_small, is_too_small, put};
use crate::text::cluster::{pad, shorten};
use crate::tui::songs::{Entry, Songs};
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;

/// Draws the list.
pub(in crate::tui) fn draw_songs(frame: &mut Frame, songs: &Songs, theme: &Theme) {
    let window = frame.area();
    if is_too_small(window) {
        return draw_too_small(frame, window);
    }
    put(frame, window, 0, 0, &format!("Songs in {}", songs.folder.display()), theme.heading);
    put(frame, window, 0, 1, &format!("› {}", songs.filter.text()), theme.text);
    let list = Rect { y: window.y + 3, height: window.height.saturating_sub(4), ..window };
    let entries = songs.passing();
    let height = usize::from(list.height);
    let first = songs.chosen.saturating_sub(height.saturating_sub(1));
    for (row, (n, entry)) in entries.iter().enumerate().skip(first).take(height).enumerate() {
        let is_chosen = n == songs.chosen;
        let style = match (is_chosen, &entry.trouble) {
            (true, _) => theme.chosen,
            (false, Some(_)) => theme.error,
            (false, None) => theme.text,
        };
        let mark = if is_chosen { "›" } else { " " };
        put(frame, list, 0, row as u16, &format!("{mark} {}", row_text(entry, usize::from(list.width))), style);
    }
    if songs.entries.is_empty() {
        put(frame, list, 2, 0, "No songs here yet. Esc opens the commands: start a new song.", theme.text);
        put(frame, list, 2, 1, "Or leave, and write the demo songs with: undersong demo", theme.faint);
    } else if entries.is_empty() {
        put(frame, list, 2, 0, "No song is called like this", theme.faint);
    }
    let keys = Rect { y: window.bottom().saturating_sub(1), height: 1, ..window };
    match &songs.message {
        Some(message) => put(frame, keys, 0, 0, message, theme.bar),
        None => draw_keys(frame, keys, &songs.keymap, songs.context(), theme),
    }
    match &songs.dialog {
        Some(open) => dialog::draw(frame, window, open, theme),
        // The cursor stands on the chosen song, where a magnifier or a screen reader looks for it.
        None => frame.set_cursor_position((list.x, list.y + (songs.chosen - first.min(songs.chosen)) as u16)),
    }
}

fn row_text(entry: &Entry, width: usize) -> String {
    if let Some(trouble) = &entry.trouble {
        let name = entry.path.file_name().unwrap_or_default().to_string_lossy();
        return format!("{name}: {trouble}");
    }
    let progress = format!("{}/{}", entry.n_settled, entry.n_words);
    let rest = format!("{:<4}{:>9}  {}", entry.language, progress, pad(&entry.last_work, 14));
    let room = width.saturating_sub(rest.len() + 4);
    let (title, composer) = (room * 3 / 5, room - room * 3 / 5);
    let cell = |text: &str, cells: usize| pad(&shorten(text, cells.saturating_sub(1), "…"), cells);
    format!("{}{}{rest}", cell(&entry.title, title), cell(&entry.composer, composer))
}
