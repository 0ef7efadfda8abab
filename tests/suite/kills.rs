//! The program killed at any moment: every confirmed edit is there, no file is half written.
