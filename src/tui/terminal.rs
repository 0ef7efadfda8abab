//! The terminal: set up, and restored on every way out.
//!
//! One guard owns raw mode, the alternate screen, pasting and the mouse. It is undone at the end, on a panic, on a signal and before
//! suspending, and never twice.

use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::cursor::{SetCursorStyle, Show};
use ratatui::crossterm::event::{DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use ratatui::crossterm::{execute, queue};
use std::io::{self, Stdout, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether the terminal is set up; the first to clear it restores the terminal.
static IS_SET_UP: AtomicBool = AtomicBool::new(false);

/// The terminal while the editor has it.
pub(super) struct Screen {
    terminal: Terminal<CrosstermBackend<Stdout>>,
    has_mouse: bool,
}

impl Screen {
    /// Takes the terminal over.
    pub(super) fn set_up() -> io::Result<Screen> {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            restore();
            before(panic);
        }));
        enter()?;
        Ok(Screen { terminal: Terminal::new(CrosstermBackend::new(io::stdout()))?, has_mouse: false })
    }

    /// Draws a frame; the terminal shows it whole.
    pub(super) fn draw(&mut self, draw: impl FnOnce(&mut ratatui::Frame)) -> io::Result<()> {
        queue!(io::stdout(), BeginSynchronizedUpdate)?;
        self.terminal.draw(draw)?;
        execute!(io::stdout(), EndSynchronizedUpdate)
    }

    /// Forgets what is on the screen, so that the next frame draws all of it.
    pub(super) fn clear(&mut self) -> io::Result<()> {
        // The library's own way asks the terminal where its cursor is, and some never answer.
        execute!(io::stdout(), Clear(ClearType::All))?;
        self.terminal = Terminal::new(CrosstermBackend::new(io::stdout()))?;
        Ok(())
    }

    /// Takes the mouse, or gives it back to the terminal; returns whether the program has it now.
    pub(super) fn toggle_mouse(&mut self) -> io::Result<bool> {
        self.has_mouse = !self.has_mouse;
        if self.has_mouse {
            execute!(io::stdout(), EnableMouseCapture)?;
        } else {
            execute!(io::stdout(), DisableMouseCapture)?;
        }
        Ok(self.has_mouse)
    }

    /// Stops the program until the shell continues it.
    #[cfg(unix)]
    pub(super) fn suspend(&mut self) -> io::Result<()> {
        restore();
        signal_hook::low_level::raise(signal_hook::consts::SIGSTOP)?;
        enter()?;
        if self.has_mouse {
            execute!(io::stdout(), EnableMouseCapture)?;
        }
        self.clear()
    }

    #[cfg(not(unix))]
    pub(super) fn suspend(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        restore();
    }
}

fn enter() -> io::Result<()> {
    enable_raw_mode()?;
    IS_SET_UP.store(true, Ordering::SeqCst);
    execute!(io::stdout(), EnterAlternateScreen)?;
    // A Windows terminal delivers a paste as keys whether it is asked or not.
    if cfg!(not(windows)) {
        execute!(io::stdout(), EnableBracketedPaste)?;
    }
    Ok(())
}

/// Gives the terminal back as it was. Called on every way out; the second call does nothing.
pub(super) fn restore() {
    if !IS_SET_UP.swap(false, Ordering::SeqCst) {
        return;
    }
    // If this fails there is no terminal left to restore.
    let _ = execute!(
        io::stdout(),
        DisableMouseCapture,
        DisableBracketedPaste,
        SetCursorStyle::DefaultUserShape,
        LeaveAlternateScreen,
        Show
    );
    let _ = disable_raw_mode();
    let _ = io::stdout().flush();
}
