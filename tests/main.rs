//! One binary for all tests.

mod published;
