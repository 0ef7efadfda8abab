//! The editor without a terminal: screens, typing, undo, and whatever random keys do.
