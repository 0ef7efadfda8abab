//! Dialogs, drawn over the panes.

use super::put;
use crate::text::cluster;
use crate::tui::dialog::{Dialog, Picker, Prompt, Reader};
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::widgets::{Block, Clear, Widget};

/// Draws a dialog.
pub(super) fn draw(frame: &mut Frame, window: Rect, dialog: &Dialog, theme: &Theme) {
    match dialog {
        Dialog::Prompt(prompt) => draw_prompt(frame, window, prompt, theme),
        Dialog::Picker(picker) => draw_picker(frame, window, picker, theme),
        Dialog::Reader(reader) => draw_reader(frame, window, reader, theme),
    }
}

/// Clears a box in the middle of the window, draws its border and title; returns what is inside.
fn open_box(frame: &mut Frame, window: Rect, width: u16, height: u16, title: &str, theme: &Theme) -> Rect {
    let (width, height) = (width.min(window.width), height.min(window.height.saturating_sub(1)));
    let area =
        Rect { x: window.x + (window.width - width) / 2, y: window.y + (window.height - height) / 3, width, height };
    Clear.render(area, frame.buffer_mut());
    let block = Block::bordered();
    let inner = block.inner(area);
    block.render(area, frame.buffer_mut());
    put(
        frame,
        Rect { height: 1, x: area.x + 2, width: area.width.saturating_sub(4), ..area },
        0,
        0,
        &format!(" {title} "),
        theme.heading,
    );
    inner
}

fn draw_prompt(frame: &mut Frame, window: Rect, prompt: &Prompt, theme: &Theme) {
    let inner = open_box(frame, window, 72, 4, &prompt.title, theme);
    let room = usize::from(inner.width.saturating_sub(1)).max(1);
    // The text moves to the left where the cursor would leave the box.
    let hidden = prompt.field.cursor_cells().saturating_sub(room);
    let shown = crate::text::clean::shown(prompt.field.text()).into_owned();
    let mut skipped = 0;
    let visible: String = cluster::clusters(&shown)
        .skip_while(|c| {
            let is_hidden = skipped < hidden;
            skipped += cluster::cluster_width(c);
            is_hidden
        })
        .collect();
    put(frame, inner, 0, 0, &visible, theme.text);
    put(frame, inner, 0, 1, &prompt.hint, theme.faint);
    frame.set_cursor_position((inner.x + (prompt.field.cursor_cells() - hidden) as u16, inner.y));
}

fn draw_picker(frame: &mut Frame, window: Rect, picker: &Picker, theme: &Theme) {
    let height = u16::try_from(picker.items.len() + 3).unwrap_or(u16::MAX).min(window.height * 4 / 5).max(5);
    let inner = open_box(frame, window, 100, height, &picker.title, theme);
    put(frame, inner, 0, 0, &format!("› {}", picker.filter.text()), theme.text);
    let list = Rect { y: inner.y + 1, height: inner.height.saturating_sub(1), ..inner };
    let items = picker.passing();
    let first = picker.chosen.saturating_sub(usize::from(list.height.saturating_sub(1)));
    for (row, (n, item)) in items.iter().enumerate().skip(first).take(usize::from(list.height)).enumerate() {
        let style = if n == picker.chosen { theme.chosen } else { theme.text };
        let detail_width = cluster::width(&item.detail) as u16;
        let label = cluster::pad(&cluster::shorten(&item.label, usize::from(list.width), "…"), usize::from(list.width));
        put(frame, list, 0, row as u16, &label, style);
        if detail_width > 0 {
            put(
                frame,
                list,
                list.width.saturating_sub(detail_width + 1),
                row as u16,
                &format!(" {}", item.detail),
                style,
            );
        }
    }
    if items.is_empty() {
        put(frame, list, 2, 0, "Nothing begins like this", theme.faint);
    }
    frame.set_cursor_position((inner.x + 2 + picker.filter.cursor_cells() as u16, inner.y));
}

fn draw_reader(frame: &mut Frame, window: Rect, reader: &Reader, theme: &Theme) {
    let inner = open_box(frame, window, 120, window.height, &reader.title, theme);
    for (row, line) in reader.lines.iter().skip(reader.top).take(usize::from(inner.height)).enumerate() {
        put(frame, inner, 0, row as u16, line, theme.text);
    }
    frame.set_cursor_position((inner.x, inner.y));
}
