//! Plain rules, for a language that the program does not know.

use super::{Language, Position};

/// Words are what stands between spaces; a hyphen marks a border between morphemes.
pub struct Plain;

impl Language for Plain {
    /// The tag for a language that is not determined (BCP 47, RFC 5646, section 4.1).
    fn tag(&self) -> &'static str {
        "und"
    }

    fn name(&self) -> &'static str {
        "an unknown language"
    }

    fn hyphen_is_spelling(&self) -> bool {
        false
    }

    fn cuts(&self, _run: &str, _position: Position) -> Vec<usize> {
        Vec::new()
    }
}
