//! Laws that hold for any song.
