//! One binary for all tests.
#![expect(clippy::unwrap_used, clippy::panic, reason = "helpers of tests fail by panicking, as tests do")]

mod commands;

mod coverage;

mod coverage_record;

mod diagnostic;

mod difference;

mod docs;

mod errors;

mod fingerprint;

mod foresight;

mod format;

mod found;

mod laboratory;

mod language;

mod layering;

mod logger;

mod properties;

mod published;

mod quantity;

mod reckon;

mod report;

mod recorded;

mod results;

mod robust;

mod seeded;

mod shipped;

mod what_if;

mod worksheet;
