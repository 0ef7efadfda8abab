//! Real public-domain texts through the whole program, without losing a character.
