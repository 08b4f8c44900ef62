//! forms
