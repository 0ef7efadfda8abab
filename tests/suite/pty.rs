//! The editor in a real pseudo-terminal: what a singer sees, and what is left when the terminal goes.
