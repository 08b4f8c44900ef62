//! Loopleaf: a declarative language for an independent liquid-filter bench, its checker and its runner.
//!
//! The folders stand in the order in which data meets them. A test reads the imports and holds them against the last column;
//! `source`, `diagnostic` and `quantity` are open to every later stage.
//!
//! | folder | in → out | may know |
//! |---|---|---|
//! | [`source`] | files → text, spans | – |
//! | [`diagnostic`] | codes, places, help; renderers for people, plain text, JSON, SARIF | source |
//! | [`quantity`] | dimensions, units, scales, windows | – |
//! | [`trade`] | the physics and statistics of the trade, pure functions | quantity |
//! | [`syntax`] | text → tree; tree → text | source, diagnostic, quantity |
//! | [`plan`] | tree → names bound, set-points derived, steps unfolded; paths, fingerprint | syntax, trade |
//! | [`foresight`] | plan → the state of the bench between its steps | plan, trade |
//! | [`check`] | plan → diagnostics, one file a family, on the state of the bench | plan, trade, foresight |
//! | [`difference`] | two plans and their findings → what changed | plan, check |
//! | [`picture`] | shapes → SVG | – |
//! | `typeset` (feature `pdf`) | a template and its data → PDF | – |
//! | [`rehearsal`] | plan → time, needs, predicted readings; invented records | plan, trade, foresight, record, picture |
//! | [`worksheet`] | plan → view → pages | plan, record (labels), typeset |
//! | [`record`] | plan ↔ record: blank forms, readers | plan |
//! | [`audit`] | plan + record → findings | plan, record, trade |
//! | [`logger`] | plan + record + a logger's file, row by row → findings | plan, record |
//! | [`results`] | plan + records + standings → numbers with their doubt, comparisons, answers | plan, record, audit, trade |
//! | [`package`] | plan + records + results → tables that anyone can open, check and compute from | plan, record, audit, results |
//! | [`overview`] | plan + states + findings → the page that says how a campaign stands | plan, audit |
//! | [`report`] | plan + results + standings → the report, as HTML, PDF and text | plan, record, audit, results, picture, typeset |
//! | [`cli`] | a thin shell | everything; nothing knows it |

pub mod source;

pub mod diagnostic;

pub mod quantity;

pub mod trade;

pub mod syntax;

pub mod plan;

pub mod foresight;

pub mod check;

pub mod difference;

pub mod picture;

#[cfg(feature = "pdf")]
pub mod typeset;

pub mod rehearsal;

pub mod worksheet;

pub mod record;

pub mod audit;

pub mod logger;

pub mod results;

pub mod package;

pub mod overview;

pub mod report;

pub mod cli;
