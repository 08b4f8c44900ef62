//! One binary for all tests.
#![expect(clippy::unwrap_used, clippy::panic, reason = "helpers of tests fail by panicking, as tests do")]

mod diagnostic;

mod errors;

mod layering;

mod properties;

mod published;

mod quantity;

mod recorded;

mod robust;

mod worksheet;
