//! Russian.

use super::{Language, Position};

/// Russian: words are what stands between spaces; spelling joins nothing.
pub struct Russian;

impl Language for Russian {
    fn tag(&self) -> &'static str {
        "ru"
    }

    fn name(&self) -> &'static str {
        "Russian"
    }

    fn hyphen_is_spelling(&self) -> bool {
        true
    }

    fn cuts(&self, _run: &str, _position: Position) -> Vec<usize> {
        Vec::new()
    }
}
