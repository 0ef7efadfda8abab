//! Import: what singers have already, read into a song.
//!
//! Text comes in as `&str`; decoding bytes and reading files is the business of `store`.

mod margin;
mod plain;

pub use plain::{Pasted, Remark, paste};

use crate::language::{Language, tokens};
use crate::song::Word;

/// Makes the words of a line of text, without annotations.
pub fn words(language: &dyn Language, text: &str) -> Vec<Word> {
    let word = |t: crate::language::Token| Word {
        lead: t.lead,
        form: t.form,
        trail: t.trail,
        is_joined: t.is_joined,
        ..Word::default()
    };
    tokens(language, text).into_iter().map(word).collect()
}

/// The prompts of the situation that a new song starts with: the questions that an actor asks of a scene, common practice.
pub const SITUATION_PROMPTS: [&str; 10] = [
    "Who is singing?",
    "To whom?",
    "Where?",
    "When?",
    "What happened before?",
    "What happens after?",
    "What do they want?",
    "What stands in the way?",
    "How do they go about it?",
    "Who else is there?",
];
