//! What the state looks like: functions of state and size that draw into a frame and change nothing.

mod card;
mod dialog;
mod sheet;
mod side;
mod songs;

pub(super) use sheet::{LineRows, line_rows};
pub(super) use songs::draw_songs;

use super::editor::{Editor, Focus};
use super::keys::{Action, Context, Keymap, binding};
use super::theme::Theme;
use crate::text::{clean, cluster};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// The narrowest and lowest window in which the editor can be used.
pub(super) const SMALLEST: (u16, u16) = (40, 12);

/// The places of the panes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Panes {
    title: Rect,
    pub(super) sheet: Rect,
    translation: Option<Rect>,
    notes: Option<Rect>,
    card: Rect,
    keys: Rect,
}

impl Panes {
    /// Divides a window.
    ///
    /// From 100 columns on both side panes are there, from 70 on one of them; in a narrower window the pane in which one writes
    /// takes the lower half of the sheet.
    pub(super) fn of(window: Rect, focus: Focus) -> Panes {
        let row = |y, height| Rect { y, height, ..window };
        let card_height = match window.height {
            0..=17 => 3,
            18..=27 => 6,
            28..=45 => 8,
            _ => 11,
        };
        let body_height = window.height.saturating_sub(card_height + 2);
        let body = row(window.y + 1, body_height);
        let card = row(window.y + 1 + body_height, card_height);
        let mut panes = Panes {
            title: row(window.y, 1),
            sheet: body,
            translation: None,
            notes: None,
            card,
            keys: row(window.y + window.height.saturating_sub(1), 1),
        };
        let is_writing = focus != Focus::Sheet;
        if window.width >= 70 {
            let side_width = if window.width >= 100 { window.width * 2 / 5 } else { window.width * 3 / 8 };
            panes.sheet.width = window.width - side_width - 1;
            let side = Rect { x: window.x + window.width - side_width, width: side_width, ..body };
            if window.width >= 100 {
                let half = side.height / 2;
                panes.translation = Some(Rect { height: half, ..side });
                panes.notes = Some(Rect { y: side.y + half, height: side.height - half, ..side });
            } else if focus == Focus::Notes {
                panes.notes = Some(side);
            } else {
                panes.translation = Some(side);
            }
        } else if is_writing {
            let half = body.height / 2;
            panes.sheet.height = half;
            let lower = Rect { y: body.y + half, height: body.height - half, ..body };
            match focus {
                Focus::Notes => panes.notes = Some(lower),
                _ => panes.translation = Some(lower),
            }
        }
        panes
    }
}

/// Draws the editor.
pub(super) fn draw_editor(frame: &mut Frame, editor: &Editor, theme: &Theme) {
    let window = frame.area();
    if is_too_small(window) {
        return draw_too_small(frame, window);
    }
    let panes = Panes::of(window, editor.focus);
    draw_title(frame, panes.title, editor, theme);
    sheet::draw(frame, panes.sheet, editor, theme);
    if let Some(area) = panes.translation {
        side::draw_translation(frame, area, editor, theme);
    }
    if let Some(area) = panes.notes {
        side::draw_notes(frame, area, editor, theme);
    }
    card::draw(frame, panes.card, editor, theme);
    match &editor.message {
        Some(message) => {
            let style = if message.is_error { theme.error } else { theme.bar };
            put(frame, panes.keys, 0, 0, &message.text, style);
        }
        None => draw_keys(frame, panes.keys, &editor.keymap, editor.context(), theme),
    }
    if let Some(open) = &editor.dialog {
        dialog::draw(frame, window, open, theme);
    }
}

/// Tells whether a window is too small to work in.
pub(super) fn is_too_small(window: Rect) -> bool {
    window.width < SMALLEST.0 || window.height < SMALLEST.1
}

pub(super) fn draw_too_small(frame: &mut Frame, window: Rect) {
    let (width, height) = SMALLEST;
    for (row, text) in
        ["Too small a window.", &format!("{width} × {height} is needed."), "Nothing is lost."].iter().enumerate()
    {
        put(frame, window, 0, row as u16, text, Style::new());
    }
}

/// Draws the account of a song that cannot be opened, and what can be done.
pub(super) fn draw_broken(frame: &mut Frame, account: &[String], picker: &super::dialog::Picker, theme: &Theme) {
    let window = frame.area();
    let width = usize::from(window.width).max(1);
    let rows: Vec<String> = account
        .iter()
        .flat_map(|line| if line.is_empty() { vec![String::new()] } else { cluster::wrap(&clean::shown(line), width) })
        .collect();
    for (row, text) in rows.iter().enumerate() {
        put(frame, window, 0, row as u16, text, if row == 0 { theme.error } else { theme.text });
    }
    let start = rows.len() as u16 + 1;
    for (n, item) in picker.passing().iter().enumerate() {
        let is_chosen = n == picker.chosen;
        let mark = if is_chosen { "›" } else { " " };
        put(
            frame,
            window,
            0,
            start + n as u16,
            &format!("{mark} {}", item.label),
            if is_chosen { theme.chosen } else { theme.text },
        );
    }
    let row = (start + picker.chosen as u16).min(window.height.saturating_sub(1));
    frame.set_cursor_position((window.x, window.y + row));
}

fn draw_title(frame: &mut Frame, area: Rect, editor: &Editor, theme: &Theme) {
    let details = &editor.song().details;
    let composer = if details.composer.is_empty() { String::new() } else { format!(" · {}", details.composer) };
    let (n_settled, n_words) = editor.progress();
    let is_unsaved = editor.file.is_changed() || editor.typing.is_some() || editor.is_prose_changed();
    let state = format!("{n_settled}/{n_words} settled · {}", if is_unsaved { "not saved yet" } else { "saved" });
    let room = usize::from(area.width).saturating_sub(cluster::width(&state) + 2);
    put(
        frame,
        area,
        0,
        0,
        &cluster::shorten(&clean::shown(&format!("{}{composer}", details.title)), room, "…"),
        theme.heading,
    );
    put(frame, area, area.width.saturating_sub(cluster::width(&state) as u16), 0, &state, theme.faint);
}

/// The keys that matter where the cursor is, as many as fit.
fn draw_keys(frame: &mut Frame, area: Rect, keymap: &Keymap, context: Context, theme: &Theme) {
    use Action as A;
    let actions: &[Action] = match context {
        Context::Sheet => &[
            A::Accept,
            A::NextRow,
            A::TakeBack,
            A::Help,
            A::Leave,
            A::Undo,
            A::SettleLine,
            A::ToTranslation,
            A::ToNotes,
            A::ToggleAsk,
            A::Preview,
        ],
        Context::Translation => &[A::Accept, A::ToSheet, A::ToNotes, A::Undo, A::TakeBack, A::Leave],
        Context::Notes => &[A::NextRow, A::ToSheet, A::ToTranslation, A::Undo, A::TakeBack, A::Leave],
        Context::Prompt | Context::Picker => &[A::Accept, A::TakeBack],
        Context::Reader => &[A::TakeBack],
        Context::Songs => &[A::Accept, A::NewSong, A::Commands, A::Leave],
    };
    let mut spans = Vec::new();
    let mut used = 0;
    for action in actions {
        let row = binding(*action);
        let Some(key) = keymap.keys(row).into_iter().next() else { continue };
        let label = match (context, action) {
            (Context::Prompt | Context::Picker | Context::Reader, A::TakeBack) => "close",
            (Context::Prompt, A::Accept) => "set",
            (Context::Picker, A::Accept) => "choose",
            (Context::Songs, A::Accept) => "open",
            (_, A::TakeBack) => "commands",
            (Context::Translation, A::Accept) => "next line",
            (Context::Notes, A::NextRow) => "next question",
            _ => row.label,
        };
        let text = (format!(" {key} "), format!("{label} "));
        used += cluster::width(&text.0) + cluster::width(&text.1) + 1;
        if used > usize::from(area.width) {
            break;
        }
        spans.extend([Span::styled(text.0, theme.chosen), Span::styled(format!(" {}", text.1), theme.text)]);
    }
    frame.buffer_mut().set_line(area.x, area.y, &Line::from(spans), area.width);
}

/// Writes a text at a place in an area, cut at its border; whatever a terminal might obey is made visible.
pub(super) fn put(frame: &mut Frame, area: Rect, x: u16, y: u16, text: &str, style: Style) {
    if y >= area.height || x >= area.width {
        return;
    }
    let room = usize::from(area.width - x);
    let text = cluster::shorten(&clean::shown(text), room, "…");
    frame.buffer_mut().set_stringn(area.x + x, area.y + y, text, room, style);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn panes_fill_the_window_without_overlap() {
        for (width, height) in [(40, 12), (60, 20), (80, 24), (120, 40), (200, 60)] {
            for focus in [Focus::Sheet, Focus::Translation, Focus::Notes] {
                let window = Rect::new(0, 0, width, height);
                let panes = Panes::of(window, focus);
                let all = [
                    Some(panes.title),
                    Some(panes.sheet),
                    panes.translation,
                    panes.notes,
                    Some(panes.card),
                    Some(panes.keys),
                ];
                let all: Vec<Rect> = all.into_iter().flatten().collect();
                for (n, a) in all.iter().enumerate() {
                    assert_eq!(a.intersection(window), *a);
                    for b in &all[n + 1..] {
                        assert!(a.intersection(*b).is_empty(), "{a} {b}");
                    }
                }
                assert!(panes.sheet.height >= 3);
            }
        }
    }
}
