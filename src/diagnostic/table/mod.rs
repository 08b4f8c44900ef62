//! The table of all codes: variant, identifier, severity, title in plain words, why it matters.
//!
//! An identifier is never used again for something else. Add a line at the end of its family. The table is one list, written in
//! four files: each adds its part to what it is given and hands on to the next.

mod bench;
mod method;
mod record;
mod writing;

use super::code::codes;
use bench::bench;
use method::method;
use record::record;
use writing::writing;

/// Lets each part add its codes, then makes the enum of all.
macro_rules! gather {
    ([] $($all:tt)*) => { codes! { $($all)* } };
    ([$first:ident $($rest:ident)*] $($before:tt)*) => { $first! { [$($rest)*] $($before)* } };
}

gather! { [writing bench method record] }
