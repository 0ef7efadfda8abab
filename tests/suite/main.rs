//! Whole-program tests: what a singer, a file system and the published standards expect of the program.
//!
//! One binary, so that it is built and linked once; a module a subject.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod world;

mod bad_input;
mod commands;
mod editor;
mod kills;
mod laws;
mod pty;
mod published;
mod strategies;
mod texts;
mod tidy;
