//! One binary for all tests.

mod properties;
mod published;
