//! One binary for all tests.
