//! Keys: our own, so that nothing above the terminal knows the backend's.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use std::fmt;
use std::str::FromStr;

/// A key as it is pressed, with the control key or without.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    /// The key itself.
    pub code: Code,
    /// Whether the control key is held.
    pub is_control: bool,
}

/// The key itself. Shift is part of a character and of [`Code::BackTab`], and is not told apart elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names are those on the keyboard")]
pub enum Code {
    Char(char),
    Enter,
    Tab,
    BackTab,
    Escape,
    Backspace,
    Delete,
    Left,
    Right,
    Up,
    Down,
    Home,
    End,
    PageUp,
    PageDown,
    F(u8),
}

impl Key {
    /// Makes a key without the control key.
    pub fn plain(code: Code) -> Key {
        Key { code, is_control: false }
    }

    /// Takes a key from the terminal; `None` for releases and for keys that the program has no use for.
    ///
    /// A character with Alt, or with Control and Alt together, is text: that is how many keyboards compose letters.
    pub fn from_event(event: &KeyEvent) -> Option<Key> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let code = match event.code {
            // Many terminals send this for the backspace key.
            KeyCode::Char('h') if event.modifiers == KeyModifiers::CONTROL => Code::Backspace,
            KeyCode::Char(c) => Code::Char(c),
            KeyCode::Enter => Code::Enter,
            KeyCode::Tab => Code::Tab,
            KeyCode::BackTab => Code::BackTab,
            KeyCode::Esc => Code::Escape,
            KeyCode::Backspace => Code::Backspace,
            KeyCode::Delete => Code::Delete,
            KeyCode::Left => Code::Left,
            KeyCode::Right => Code::Right,
            KeyCode::Up => Code::Up,
            KeyCode::Down => Code::Down,
            KeyCode::Home => Code::Home,
            KeyCode::End => Code::End,
            KeyCode::PageUp => Code::PageUp,
            KeyCode::PageDown => Code::PageDown,
            KeyCode::F(n) => Code::F(n),
            _ => return None,
        };
        let has = |modifier| event.modifiers.contains(modifier);
        let is_composed = has(KeyModifiers::ALT) && matches!(code, Code::Char(_));
        let is_control = has(KeyModifiers::CONTROL) && !is_composed && code != Code::Backspace;
        Some(Key { code, is_control }.on_latin_keyboard())
    }

    /// Returns the text that the key types, if it is a character and no command.
    pub fn text(self) -> Option<char> {
        match self.code {
            Code::Char(c) if !self.is_control && !c.is_control() => Some(c),
            _ => None,
        }
    }

    /// With the control key, a letter of the Russian keyboard is the letter at the same place of the English one.
    fn on_latin_keyboard(self) -> Key {
        const RUSSIAN: &str = "йцукенгшщзхъфывапролджэячсмитьбю";
        const ENGLISH: &str = "qwertyuiop[]asdfghjkl;'zxcvbnm,.";
        match self.code {
            Code::Char(c) if self.is_control => {
                let small = c.to_lowercase().next().unwrap_or(c);
                let same_place = RUSSIAN.chars().position(|r| r == small).and_then(|at| ENGLISH.chars().nth(at));
                Key { code: Code::Char(same_place.unwrap_or(small)), ..self }
            }
            _ => self,
        }
    }
}

const NAMES: [(&str, Code); 14] = [
    ("enter", Code::Enter),
    ("tab", Code::Tab),
    ("shift-tab", Code::BackTab),
    ("esc", Code::Escape),
    ("backspace", Code::Backspace),
    ("delete", Code::Delete),
    ("left", Code::Left),
    ("right", Code::Right),
    ("up", Code::Up),
    ("down", Code::Down),
    ("home", Code::Home),
    ("end", Code::End),
    ("page-up", Code::PageUp),
    ("page-down", Code::PageDown),
];

impl fmt::Display for Key {
    /// Writes the name that the settings file uses, for example `ctrl-u` or `page-up`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_control {
            f.write_str("ctrl-")?;
        }
        match self.code {
            Code::Char(' ') => f.write_str("space"),
            Code::Char(c) => write!(f, "{c}"),
            Code::F(n) => write!(f, "f{n}"),
            code => f.write_str(NAMES.iter().find(|(_, named)| *named == code).map_or("", |(name, _)| name)),
        }
    }
}

impl FromStr for Key {
    type Err = ();

    fn from_str(name: &str) -> Result<Key, ()> {
        let lower = name.to_lowercase();
        let (is_control, rest) = lower.strip_prefix("ctrl-").map_or((false, lower.as_str()), |rest| (true, rest));
        let code = if let Some((_, code)) = NAMES.iter().find(|(named, _)| *named == rest) {
            *code
        } else if rest == "space" {
            Code::Char(' ')
        } else if let Some(n) = rest.strip_prefix('f').and_then(|n| n.parse().ok()).filter(|n| (1..=24).contains(n)) {
            Code::F(n)
        } else {
            let mut chars = rest.chars();
            let c = chars.next().ok_or(())?;
            if chars.next().is_some() {
                return Err(());
            }
            Code::Char(c)
        };
        Ok(Key { code, is_control })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read_back() {
        for name in ["enter", "shift-tab", "ctrl-u", "ctrl-right", "f1", "f12", "space", "ctrl-space", "f", "page-down"]
        {
            assert_eq!(name.parse::<Key>().unwrap().to_string(), name);
        }
        for wrong in ["", "ctrl-", "f0", "f99", "alt-x", "ab"] {
            assert!(wrong.parse::<Key>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn composed_letters_are_text() {
        let event = |c, modifiers| Key::from_event(&KeyEvent::new(KeyCode::Char(c), modifiers)).unwrap();
        assert_eq!(event('@', KeyModifiers::CONTROL | KeyModifiers::ALT).text(), Some('@'));
        assert_eq!(event('é', KeyModifiers::ALT).text(), Some('é'));
        assert_eq!(event('u', KeyModifiers::CONTROL).text(), None);
    }

    #[test]
    fn commands_work_on_the_russian_keyboard() {
        let event = KeyEvent::new(KeyCode::Char('Г'), KeyModifiers::CONTROL);
        assert_eq!(Key::from_event(&event).unwrap().to_string(), "ctrl-u");
        let typed = KeyEvent::new(KeyCode::Char('г'), KeyModifiers::NONE);
        assert_eq!(Key::from_event(&typed).unwrap().text(), Some('г'));
    }
}
