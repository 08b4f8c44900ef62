//! deviations
