//! What stands on the bench, read from its declarations.

mod instrument;

mod liquid;

mod results;

mod rig;

mod rules;

use indexmap::IndexMap;

use super::library::{Declaration, Library, Sort};
use super::model::{Dust, Fluid, Instrument, Laboratory};
use super::read::{Bound, Context, Notes};

pub(crate) use instrument::stand_in;
pub(crate) use rig::read_rig;
pub(crate) use rules::{HouseRule, read_rules};

/// Everything declared that a campaign may use.
#[derive(Debug, Default)]
pub(crate) struct Bench {
    pub(crate) fluids: IndexMap<String, Fluid>,
    pub(crate) dusts: IndexMap<String, Dust>,
    pub(crate) instruments: IndexMap<String, Instrument>,
    pub(crate) laboratories: IndexMap<String, Laboratory>,
}

impl Bench {
    pub(crate) fn read(library: &Library<'_>, notes: &Notes) -> Bench {
        let nothing = IndexMap::new();
        let context = |d: &Declaration<'_>| Context { source: d.source, library, notes, bound: &nothing };
        let mut bench = Bench::default();
        for d in library.of(Sort::Fluid) {
            bench.fluids.insert(d.name.clone(), liquid::read_fluid(d, &context(d)));
        }
        for d in library.of(Sort::Dust) {
            if let Some(dust) = liquid::read_dust(d, &context(d)) {
                bench.dusts.insert(d.name.clone(), dust);
            }
        }
        for d in library.of(Sort::Instrument) {
            if let Some(instrument) = instrument::read_instrument(d, &context(d)) {
                bench.instruments.insert(d.name.clone(), instrument);
            }
        }
        for d in library.of(Sort::Laboratory) {
            bench.laboratories.insert(d.name.clone(), instrument::read_laboratory(d, &context(d)));
        }
        bench
    }
}

/// No parameters: the surroundings of a declaration.
pub(crate) fn unbound() -> IndexMap<String, Bound> {
    IndexMap::new()
}
