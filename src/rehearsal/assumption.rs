//! What a rehearsal rests on, each with where it comes from.

use serde::Serialize;

use super::course::Course;
use super::say;
use crate::plan::{Model, Plan};
use crate::quantity::{Quantity, Unit};

/// One thing that is assumed.
#[derive(Debug, Clone, Serialize)]
pub struct Assumption {
    /// Of what: a model's name, or `the bench`.
    pub of: String,
    pub says: String,
    pub mark: String,
}

const BENCH: &str = "the bench";

/// Numbers of the packs that a rehearsal uses: name, built-in number, its unit, and what is said with it.
const NUMBERS: &[(&str, &str, &str, &str)] = &[
    ("expectation-doubt", "25", "%", "an expected restriction or capacity may be off by {}"),
    (
        "assumed-scatter",
        "5",
        "%",
        "specimens of one model scatter by {} (standard deviation), where a model says nothing else",
    ),
    (
        "assumed-viscous-share",
        "50",
        "%",
        "{} or more of a clean specimen's pressure is viscous, where a model says nothing else",
    ),
    (
        "assumed-efficiency-least",
        "50",
        "%",
        "a specimen catches at least {} of any size, where a model says nothing else",
    ),
    ("assumed-efficiency-most", "99", "%", "and at most {}"),
    ("system-volume", "5", "%", "the oil in the circuit is what its route says, within {}"),
    ("room-temperature", "20", "°C", "the room, and the oil before it is heated, are at {}"),
    ("heat-loss", "20", "W/K", "the rig loses {} to the room"),
    ("usual-mounting", "10", "min", "mounting a specimen usually takes {}"),
    ("usual-weighing", "5", "min", "weighing a dose usually takes {}"),
    ("usual-fluid-change", "45", "min", "a change of fluid usually takes {}, drying left out"),
    ("usual-bottle", "60", "s", "a bottle usually takes {}"),
    ("longest-day", "9", "h", "no run begins that would likely end later than {} into the day"),
    ("stock-factor", "130", "%", "of dust, {} of the most that may be used is to be there"),
    ("wanted-difference", "10", "%", "a difference of {} is one to act on"),
    ("waste-container", "60", "L", "waste oil goes into containers of {}, filled to nine tenths"),
];

/// What no pack says: it is built into the arithmetic.
const BUILT_IN: &[(&str, &str)] = &[
    ("hands take from half to twice their usual time", "common practice"),
    ("heating takes from one to two times what the oil's heat and the heater's power give", "from memory"),
    ("oil: 870 kg/m³ and 2000 J/(kg K), for heat and for the loss in lines", "from memory"),
    (
        "the pressure rises with the dust between a straight line and a curve that has three quarters of the dust at half the rise",
        "from memory",
    ),
    (
        "all specimens and instruments vary by themselves from run to run; what is common to all runs is counted too, on the safe side",
        "common practice",
    ),
    (
        "a wait of 3 h or more stands alone, and other runs go on meanwhile; what follows it comes on another day",
        "common practice",
    ),
    ("no bench work on Saturdays and Sundays", "common practice"),
];

pub(super) fn assumptions(plan: &Plan, courses: &[Course<'_>]) -> Vec<Assumption> {
    let mut found: Vec<Assumption> = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for course in courses {
        if seen.contains(&course.model) {
            continue;
        }
        seen.push(course.model);
        if let Some(model) = plan.campaign.models.get(course.model) {
            found.extend(of_model(model));
        }
    }
    for (name, number, unit, says) in NUMBERS {
        let built_in = Unit::parse(unit).ok().and_then(|unit| Quantity::new(number, unit).ok());
        let (value, mark) = match (plan.rules.look_up(name), built_in) {
            (Some(found), _) => (found.value.to_string(), format!("{}, threshold `{name}`", say::mark(&found.mark))),
            (None, Some(built_in)) => (built_in.to_string(), format!("built in; no pack sets `{name}`")),
            (None, None) => continue,
        };
        found.push(Assumption { of: BENCH.to_owned(), says: says.replace("{}", &value), mark });
    }
    let built_in = BUILT_IN.iter().map(|(says, mark)| (*says, *mark));
    found.extend(built_in.map(|(says, mark)| Assumption {
        of: BENCH.to_owned(),
        says: says.to_owned(),
        mark: format!("{mark}, built in"),
    }));
    found
}

fn of_model(model: &Model) -> Vec<Assumption> {
    let one = |says: String, mark| Assumption { of: model.name.clone(), says, mark: say::mark(mark) };
    let mut found = Vec::new();
    if let Some(said) = &model.expects.restriction {
        let value = &said.value;
        let share = value.viscous.as_ref().map_or(String::new(), |share| format!(", {share} of it viscous"));
        let says = format!("restriction {} at {} in {}{share}", value.pressure, value.flow, value.viscosity);
        found.push(one(says, &said.mark));
    }
    for said in &model.expects.captures {
        found.push(one(format!("catches {} at {} in one pass", said.value.0, said.value.1), &said.mark));
    }
    if let Some(said) = &model.expects.capacity {
        found.push(one(format!("holds {} when the largest rise is reached", said.value), &said.mark));
    }
    if let Some(said) = &model.expects.scatter {
        found.push(one(format!("scatters by {} from specimen to specimen", said.value), &said.mark));
    }
    if found.is_empty() {
        found.push(Assumption {
            of: model.name.clone(),
            says: "nothing is expected of it; see the packs' numbers below".to_owned(),
            mark: "write `expect …` in its block for a narrower prediction".to_owned(),
        });
    }
    found
}
