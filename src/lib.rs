//! Loopleaf: a declarative language for an independent liquid-filter bench, its checker and its runner.
//!
//! The folders stand in the order in which data meets them:
//!
//! | folder | in → out |
//! |---|---|
//! | [`source`] | files → text, spans |
//! | [`diagnostic`] | codes, places, help; renderers |
//! | [`quantity`] | dimensions, units, scales |
//! | [`trade`] | the physics and statistics of the trade |
//! | [`syntax`] | text → tree; tree → text |
//! | [`plan`] | tree → names bound, set-points derived, steps unfolded |
//! | [`worksheet`] | plan → view → pages |

pub mod source;

pub mod diagnostic;

pub mod quantity;

pub mod trade;

pub mod syntax;

pub mod plan;

pub mod worksheet;

pub mod cli;
