//! Records that depart from their plan, and what the audit says of them.

mod bench;
mod beside;
mod conforming;
mod damaged;
mod deviations;
mod forms;
pub(crate) mod inject;
pub(crate) mod slips;
