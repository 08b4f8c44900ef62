//! Pictures of a rehearsal, drawn by ourselves: black on white, every line labelled where it runs, every interval visible.

mod counts;

mod days;

mod level;

mod pressure;

pub(super) use counts::counts;
pub(super) use days::timeline;
pub(super) use level::level;
pub(super) use pressure::pressure;
