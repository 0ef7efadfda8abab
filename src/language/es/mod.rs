//! Spanish.

use super::{Language, Position, apostrophes};
use crate::text::fold::comparison_key;

/// Spanish, with the elisions of old verse.
pub struct Spanish;

impl Language for Spanish {
    fn tag(&self) -> &'static str {
        "es"
    }

    fn name(&self) -> &'static str {
        "Spanish"
    }

    fn hyphen_is_spelling(&self) -> bool {
        false
    }

    /// Old texts elide *de*, *el* or *la*, and *que* (*d’amor*).
    fn cuts(&self, run: &str, _position: Position) -> Vec<usize> {
        let divides =
            |(before, _): &(usize, usize)| matches!(comparison_key(&run[..*before]).as_str(), "d" | "l" | "qu");
        apostrophes(run).into_iter().take(1).filter(divides).map(|(_, after)| after).collect()
    }

    /// Popular song writes *para*, *todo*, *nada* as *pa’*, *to’*, *na’*.
    fn loses_its_end(&self, word: &str) -> bool {
        matches!(word, "pa" | "to" | "na" | "ca")
    }
}
