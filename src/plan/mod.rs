//! Tree to plan: files followed, names bound, quantities checked, set-points derived, steps unfolded and numbered.
//!
//! [`load()`] follows `use`; [`library`] knows every declared name; [`value`] gives expressions their meaning; [`declare`]
//! reads what stands on the bench; [`campaign`] binds protocols to it; [`unfold`] makes the numbered steps; `blind` knows what would tell a
//! model.

mod accuracy;

mod blind;

mod campaign;

mod change;

mod declare;

mod derive;

mod fingerprint;

mod house;

mod label;

mod library;

mod load;

mod logger;
mod mask;

pub mod model;

mod names;

mod order;

mod protocol;

mod read;

mod result_key;

mod sane;

mod unfold;

mod value;

pub(crate) use accuracy::{accuracy_half_width, accuracy_limits};
pub use blind::{TellingNames, telling_words};
pub use change::{Change, changes};
pub(crate) use derive::curve;
pub use fingerprint::check_character;
pub use label::{bottle_label, bottle_labels, is_label, same_label};
pub use load::{Loaded, load};
pub use mask::{HIDDEN, Mask};
pub use model::*;
pub use result_key::{ResultKey, ResultKind, result_keys};
pub(crate) use result_key::{same_basis, same_size, size_words};
pub(crate) use sane::is_fahrenheit;

use indexmap::IndexMap;

use crate::diagnostic::{Checked, Diagnostic};

/// Everything that one entry file gives: a plan for every campaign in it, and what was noticed on the way.
#[derive(Debug)]
pub struct Planned {
    pub plans: Vec<Plan>,
    /// What the entry file and those it uses declare, in words: `11 fluids, 2 protocols`.
    pub declared: String,
}

/// Binds what was loaded. Campaigns become plans; a protocol that no campaign of the file uses is unfolded with its defaults
/// and stand-in instruments, for the sake of its findings.
pub fn bind(loaded: &Loaded) -> Checked<Planned> {
    bind_changed(loaded, &[])
}

/// The same with some values put in place of written ones.
pub fn bind_changed(loaded: &Loaded, changed: &[Change]) -> Checked<Planned> {
    let notes = read::Notes::default();
    let mut library = library::Library::gather(loaded, &notes);
    library.changes = change::Changes::find(changed, &library, &notes);
    let library = library;
    names::check(loaded, &notes);
    let bench = declare::Bench::read(&library, &notes);
    let mut planned = Planned { plans: Vec::new(), declared: library.in_words() };
    for declaration in library.of(library::Sort::Campaign) {
        if let Some(plan) = campaign::bind(declaration, &library, &bench, &notes) {
            planned.plans.push(plan);
        }
    }
    for declaration in library.of(library::Sort::Protocol) {
        if !notes.is_used(&declaration.name) {
            protocol::read_alone(declaration, &library, &bench, &notes);
        }
    }
    library.changes.report_unused(loaded, &library, &notes);
    // A step that could not be read may be the one that uses a name.
    let whole = loaded.sound && !notes.has_errors();
    if whole {
        names::left_over(&library, &notes);
    }
    let mut diagnostics: Vec<Diagnostic> = notes.into_diagnostics();
    for plan in &mut planned.plans {
        plan.fingerprint = fingerprint::seal(plan);
    }
    dedup(&mut diagnostics);
    Checked { value: planned, diagnostics }
}

/// The fluids and dusts that files declare, by name.
#[derive(Debug)]
pub struct Stock {
    pub fluids: IndexMap<String, Fluid>,
    pub dusts: IndexMap<String, Dust>,
}

/// What is declared to stand in the store, without any campaign that uses it.
pub fn stock(loaded: &Loaded) -> Checked<Stock> {
    let notes = read::Notes::default();
    let library = library::Library::gather(loaded, &notes);
    let declare::Bench { fluids, dusts, .. } = declare::Bench::read(&library, &notes);
    Checked { value: Stock { fluids, dusts }, diagnostics: notes.into_diagnostics() }
}

/// The same protocol bound twice finds the same faults twice.
fn dedup(diagnostics: &mut Vec<Diagnostic>) {
    let mut seen: Vec<Diagnostic> = Vec::new();
    let mut keys = std::collections::HashSet::new();
    for finding in diagnostics.drain(..) {
        let place = finding.places.first().map(|p| (p.source, p.span));
        if keys.insert((finding.code, place, finding.message.clone())) {
            seen.push(finding);
        }
    }
    *diagnostics = seen;
}
