//! Pictures of a rehearsal, drawn by ourselves: black on white, every line labelled where it runs, every interval visible.

mod canvas;

mod counts;

mod days;

mod level;

mod pressure;

mod scale;

pub(super) use counts::counts;
pub(super) use days::timeline;
pub(super) use level::level;
pub(super) use pressure::pressure;
