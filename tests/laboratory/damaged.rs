//! Files that came damaged.
