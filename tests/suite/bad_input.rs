//! Files that are not what they should be: one clear message, exit status 2, nothing lost.
