//! Logger files.
