//! The `loopleaf` command.
fn main() {}
