//! damaged
