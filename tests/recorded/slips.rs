//! slips
