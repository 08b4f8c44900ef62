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

pub mod source;

pub mod diagnostic;

pub mod quantity;

pub mod trade;

pub mod plan;

pub mod worksheet;
