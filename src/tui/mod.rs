//! The editor in the terminal: a shell around pure states.
//!
//! [`Editor`] and [`Songs`] are states that keys change; what reaches beyond them comes back as effects. This file reads events, lets the
//! state change, performs the effects and draws. `keys.rs` is the table of all keys.

mod dialog;
mod editor;
mod field;
mod key;
mod keys;
mod prose;
mod songs;
mod terminal;
mod theme;
mod view;
mod work;

pub use dialog::{Choice, Dialog, Item, Picker, Prompt, Reader};
pub use editor::{Candidate, Editor, Effect, Focus, Message, Shown, Source};
pub use field::Field;
pub use key::{Code, Key};
pub use keys::{Action, Binding, Context, KeyMistake, Keymap, TABLE, Topic};
pub use prose::Prose;
pub use songs::{Entry, Songs, SongsEffect};
pub use theme::Theme;

use crate::store::Failure;
use ratatui::Frame;
use ratatui::crossterm::event::{self, Event, MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::Rect;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use terminal::Screen;
use work::{Flow, Work};

/// What the editor opens with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Start {
    /// The list of the songs in a folder.
    Songs(PathBuf),
    /// One song.
    Song(PathBuf),
}

/// Why the editor could not run.
#[derive(Debug, thiserror::Error)]
pub enum Stopped {
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] Failure),
    /// The terminal could not be read or written.
    #[error("the terminal failed")]
    Terminal(#[from] std::io::Error),
}

/// The editor is left alone for this long before it saves by itself.
const PAUSE: Duration = Duration::from_secs(2);

/// Runs the editor until it is left.
///
/// # Errors
/// [`Stopped`] if the terminal fails, or a file at the very start.
pub fn run(start: Start) -> Result<(), Stopped> {
    let signals = Signals::listen()?;
    let mut work = Work::begin(start)?;
    let mut screen = Screen::set_up()?;
    let mut last_key = Instant::now();
    let mut needs_frame = true;
    loop {
        if needs_frame {
            screen.draw(|frame| {
                work.prepare(frame.area());
                work.draw(frame);
            })?;
            needs_frame = false;
        }
        if signals.should_end() {
            work.end();
            return Ok(());
        }
        if signals.was_continued() {
            screen.clear()?;
            needs_frame = true;
        }
        let mut flow = Flow::Go;
        if event::poll(Duration::from_millis(250))? {
            // All that has arrived is done before the next frame.
            while flow == Flow::Go {
                flow = match event::read()? {
                    Event::Key(event) => Key::from_event(&event).map_or(Flow::Go, |key| work.key(key)),
                    Event::Paste(text) => {
                        work.paste(&text);
                        Flow::Go
                    }
                    Event::Mouse(mouse) => work.mouse(mouse),
                    Event::Resize(..) => Flow::Redraw,
                    _ => Flow::Go,
                };
                if !event::poll(Duration::ZERO)? {
                    break;
                }
            }
            last_key = Instant::now();
            needs_frame = true;
        } else if last_key.elapsed() > PAUSE {
            needs_frame = work.pause();
            last_key = Instant::now();
        }
        match flow {
            Flow::Go => {}
            Flow::Redraw => screen.clear()?,
            Flow::Suspend => screen.suspend()?,
            Flow::ToggleMouse => {
                let has_mouse = screen.toggle_mouse()?;
                work.tell(if has_mouse { "The mouse clicks and scrolls here" } else { "The mouse selects text again" });
            }
            Flow::Leave => {
                work.end();
                return Ok(());
            }
        }
    }
}

/// Draws an editor into a frame, as the program does: for tests and benches.
pub fn draw(frame: &mut Frame, editor: &mut Editor, theme: &Theme) {
    prepare(editor, frame.area());
    view::draw_editor(frame, editor, theme);
}

/// Brings the line under the cursor into view, and notes how far a page key moves.
fn prepare(editor: &mut Editor, window: Rect) {
    if view::is_too_small(window) {
        return;
    }
    let sheet = view::Panes::of(window, editor.focus).sheet;
    let (width, height) = (usize::from(sheet.width), usize::from(sheet.height));
    let here = editor.line_idx();
    editor.top = editor.top.min(here);
    let rows = |idx: usize| view::line_rows(editor, idx, width, &Theme::new(false)).rows.len();
    if editor.lines.is_empty() {
        return;
    }
    let of_here = rows(here);
    let mut used = of_here;
    let mut first = here;
    while first > editor.top && used <= height {
        used += rows(first - 1);
        if used <= height {
            first -= 1;
        }
    }
    editor.top = editor.top.max(first);
    editor.page = (height / of_here.max(1)).max(1);
}

/// Finds the word at a place of the window, for the mouse.
fn word_at(editor: &Editor, window: Rect, mouse: &MouseEvent) -> Option<(usize, usize, Option<crate::sheet::Row>)> {
    let sheet = view::Panes::of(window, editor.focus).sheet;
    if !sheet.contains((mouse.column, mouse.row).into()) {
        return None;
    }
    let (x, mut y) = (usize::from(mouse.column - sheet.x), usize::from(mouse.row - sheet.y));
    for idx in editor.top..editor.lines.len() {
        let block: view::LineRows = view::line_rows(editor, idx, usize::from(sheet.width), &Theme::new(false));
        if y < block.rows.len() {
            let piece = block.rows[y].iter().rev().find(|p| p.word.is_some() && p.x <= x)?;
            return Some((idx, piece.word?, piece.row));
        }
        y -= block.rows.len();
    }
    None
}

/// Does what the mouse means on the sheet: a click goes to a cell, the wheel scrolls.
fn mouse(editor: &mut Editor, window: Rect, mouse: &MouseEvent) {
    match mouse.kind {
        MouseEventKind::ScrollUp => drop(editor.act(Action::Up)),
        MouseEventKind::ScrollDown => drop(editor.act(Action::Down)),
        MouseEventKind::Down(MouseButton::Left) if editor.dialog.is_none() => {
            if let Some((idx, word, row)) = word_at(editor, window, mouse) {
                editor.focus_on(Focus::Sheet);
                if let Some(at) = editor.lines.get(idx).copied() {
                    editor.go_to_line_number(idx);
                    editor.cursor = at.word(word);
                    editor.row = row.and_then(crate::sheet::Row::annotation).unwrap_or(editor.row);
                    editor.after_moving();
                }
            }
        }
        _ => {}
    }
}

/// What the system tells the program.
struct Signals;

static SHOULD_END: AtomicBool = AtomicBool::new(false);
static WAS_CONTINUED: AtomicBool = AtomicBool::new(false);

impl Signals {
    /// Listens in a thread of its own: a terminal that has gone may keep the event loop from ever noticing.
    #[cfg(unix)]
    fn listen() -> std::io::Result<Signals> {
        use signal_hook::consts::{SIGCONT, SIGHUP, SIGTERM};
        let mut signals = signal_hook::iterator::Signals::new([SIGHUP, SIGTERM, SIGCONT])?;
        std::thread::spawn(move || {
            for signal in signals.forever() {
                if signal == SIGCONT {
                    WAS_CONTINUED.store(true, Ordering::SeqCst);
                    continue;
                }
                SHOULD_END.store(true, Ordering::SeqCst);
                // The event loop saves and ends; if it hangs on a dead terminal, the journal holds every edit.
                std::thread::sleep(Duration::from_secs(2));
                terminal::restore();
                std::process::exit(128 + signal);
            }
        });
        Ok(Signals)
    }

    #[cfg(not(unix))]
    fn listen() -> std::io::Result<Signals> {
        Ok(Signals)
    }

    fn should_end(&self) -> bool {
        SHOULD_END.load(Ordering::SeqCst)
    }

    fn was_continued(&self) -> bool {
        WAS_CONTINUED.swap(false, Ordering::SeqCst)
    }
}
