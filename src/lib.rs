//! Loopleaf: a small declarative language for the test sequence of an independent liquid-filter bench.
//!
//! The folders stand in the order in which data meets them; each may know only those the table names.
//!
//! | folder | in → out | may know |
//! |---|---|---|
//! | [`source`] | files → text, spans | nothing |
//! | [`diagnostic`] | codes, places, help; renderers | source |
//! | [`quantity`] | numbers and words → dimensions, units, scales, windows | nothing |
//! | [`trade`] | the physics and statistics of the trade | quantity |
//! | [`plan`] | tree → names bound, set-points derived, steps unfolded | quantity, source |
//! | [`rehearsal`] | plan → what a run would be like | plan, record |
//! | [`record`] | plan ↔ record | plan |
//! | [`audit`] | plan + record → findings | plan, record |

pub mod source;

pub mod diagnostic;

pub mod quantity;

pub mod trade;

pub mod plan;

pub mod record;

pub mod rehearsal;

pub mod audit;
