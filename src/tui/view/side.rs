//! The panes beside the sheet: the free translation in step with it, and the situation notes.

use super::put;
use crate::text::cluster::wrap;
use crate::tui::editor::{Editor, Focus};
use crate::tui::prose::Prose;
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use unicode_segmentation::UnicodeSegmentation;

/// Draws the free translation, from the first line on the screen on.
pub(super) fn draw_translation(frame: &mut Frame, area: Rect, editor: &Editor, theme: &Theme) {
    put(frame, area, 0, 0, "Translation", theme.heading);
    let current = editor.line_idx();
    let width = usize::from(area.width.saturating_sub(2)).max(1);
    // The line in which one writes is always on the screen.
    let first = if current.saturating_sub(editor.top) > usize::from(area.height) / 2 {
        current.saturating_sub(2)
    } else {
        editor.top
    };
    let mut y = 1;
    for (idx, at) in editor.lines.iter().enumerate().skip(first) {
        if y >= area.height {
            return;
        }
        let Some(line) = editor.song().line(*at) else { continue };
        let is_current = idx == current;
        put(frame, area, 0, y, if is_current { "›" } else { " " }, theme.heading);
        match &editor.prose {
            Some(prose) if is_current && editor.focus == Focus::Translation => {
                y += draw_prose(frame, area, y, prose, width);
            }
            _ => {
                let rows = wrap(&line.translation, width);
                let style = if is_current { theme.word } else { theme.text };
                for row in &rows {
                    put(frame, area, 2, y, row, style);
                    y += 1;
                }
                if rows.is_empty() {
                    put(frame, area, 2, y, "·", theme.faint);
                    y += 1;
                }
            }
        }
    }
}

/// Draws the situation notes, the current one in view.
pub(super) fn draw_notes(frame: &mut Frame, area: Rect, editor: &Editor, theme: &Theme) {
    put(frame, area, 0, 0, "Situation", theme.heading);
    let width = usize::from(area.width.saturating_sub(2)).max(1);
    let has_focus = editor.focus == Focus::Notes;
    let first = if has_focus { editor.note.saturating_sub(usize::from(area.height / 6)) } else { 0 };
    let mut y = 1;
    for (idx, note) in editor.song().notes.iter().enumerate().skip(first) {
        if y >= area.height {
            return;
        }
        let is_current = has_focus && idx == editor.note;
        put(frame, area, 0, y, if is_current { "›" } else { " " }, theme.heading);
        put(frame, area, 2, y, &note.prompt, theme.faint);
        y += 1;
        match &editor.prose {
            Some(prose) if is_current => y += draw_prose(frame, area, y, prose, width),
            _ => {
                for row in wrap(&note.text, width) {
                    put(frame, area, 2, y, &row, theme.text);
                    y += 1;
                }
            }
        }
    }
    if editor.song().notes.is_empty() {
        put(frame, area, 2, 1, "Who sings, to whom, where, why?", theme.faint);
    }
}

/// Draws what is being written; returns the rows that it takes.
fn draw_prose(frame: &mut Frame, area: Rect, y: u16, prose: &Prose, width: usize) -> u16 {
    // One row more than the text takes: the cursor may stand behind a full row.
    let rows = u16::try_from(prose.n_rows(width) + 1).unwrap_or(u16::MAX).min(area.height.saturating_sub(y));
    if rows == 0 {
        return 0;
    }
    let place = Rect { x: area.x + 2, y: area.y + y, width: area.width.saturating_sub(2), height: rows };
    prose.area().render(place, frame.buffer_mut());
    let cursor = prose.area().screen_cursor();
    let (top, left) = prose.area().scroll_offset();
    let x = place.x + (cursor.col as u16).saturating_sub(left).min(place.width.saturating_sub(1));
    let y = place.y + (cursor.row as u16).saturating_sub(top).min(rows - 1);
    // The library draws the character under its cursor without its accents; put the whole cluster back.
    let position = prose.area().cursor();
    let line = prose.area().lines().get(position.0).map_or("", String::as_str);
    let byte = line.char_indices().nth(position.1).map_or(line.len(), |(at, _)| at);
    if let Some(cluster) = line[byte..].graphemes(true).next()
        && let Some(cell) = frame.buffer_mut().cell_mut((x, y))
        && !cluster.chars().any(char::is_control)
    {
        cell.set_symbol(cluster);
    }
    frame.set_cursor_position((x, y));
    rows
}
