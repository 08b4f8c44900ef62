//! The bench between the steps of a plan, carried out on paper: valves, oil, heat, pressure, solvent, dust, time.
//!
//! A step is a function from state to state. Most of what a master technician would object to is a predicate on a state or on
//! a transition, and what a rehearsal predicts is read off the same states.

mod state;

pub(crate) use state::{State, burns, polishing_valves};
