//! Latin.

use super::{Language, Position};

/// Latin: words are what stands between spaces; spelling joins nothing.
pub struct Latin;

impl Language for Latin {
    fn tag(&self) -> &'static str {
        "la"
    }

    fn name(&self) -> &'static str {
        "Latin"
    }

    fn hyphen_is_spelling(&self) -> bool {
        false
    }

    fn cuts(&self, _run: &str, _position: Position) -> Vec<usize> {
        Vec::new()
    }
}
