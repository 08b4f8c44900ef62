//! What the plan asks for, step by step and reading by reading.

use super::super::Given;
use super::super::table::{Table, link, number, row, text, truth, whole};
use super::super::ucum;
use super::units::Units;
use super::word;
use crate::plan::{Action, Step, Wants, bottle_labels};

pub(super) fn tables(given: &Given<'_>, units: &mut Units) -> Vec<Table> {
    vec![steps(given), readings(given, units), bottles(given)]
}

fn steps(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "steps",
        "Steps",
        "The numbered steps of each test, the same for every specimen.",
        &["test", "step"],
        vec![
            text("test", "Test", "").required(),
            whole("step", "Step", "Number on the worksheet").required().at_least(1.0),
            text("path", "Path", "Its name for good").required(),
            text("stage", "Stage", "").required(),
            text("tare", "Tare", "The stage whose differential pressures are taken off this stage's"),
            text("blank", "Blank", "clean or dusty, where the stage is run without a specimen"),
            truth("is_tare", "Tare itself", "Whether the stage measures housing and adaptor without the element"),
            text("does", "Does", "What is done").required(),
            text("loop", "Loop", "Of doses, where it belongs to one"),
            whole("round", "Round", "Of the loop, from 1").at_least(1.0),
            number("flow", "m3/s", "Flow", "That is set or held"),
            truth("rising", "Rising", "Of a sweep: whether the flow goes up"),
            number("mass", "kg", "Mass", "Of a dose, as planned"),
            number("leak", "m3/s", "Leak", "Of a by-pass: the flow at which it counts as open"),
            number("depth", "m", "Depth", "Of a bubble point: the liquid over the element"),
            text("fluid", "Fluid", "That the step holds or uses"),
            number("viscosity", "m2/s", "Viscosity", "That is held"),
            number("temperature", "K", "Temperature", "That is held: as written, or the one that gives the viscosity"),
        ],
    )
    .links(&[link(&["test"], "tests", &["test"]), link(&["fluid"], "fluids", &["fluid"])]);
    for test in &given.plan.tests {
        for step in &test.steps {
            let stage = test.stages.get(step.stage);
            let set = Set::of(step, stage.and_then(|stage| stage.fluid.as_deref()));
            let batch = step.round.and_then(|(batch, _)| test.batches.get(batch));
            let fluid = set.fluid.filter(|fluid| given.plan.fluids.contains_key(*fluid));
            table.rows.push(row![
                &test.name,
                step.number,
                &step.path,
                stage.map(|stage| stage.name.as_str()),
                stage.and_then(|stage| stage.tare.as_deref()),
                stage.and_then(|stage| stage.blank.as_deref()),
                stage.is_some_and(|stage| stage.tare_for.is_some()),
                word(&step.action),
                batch.map(|batch| batch.path.as_str()),
                step.round.map(|(_, round)| round),
                set.flow,
                set.rising,
                set.mass,
                set.leak,
                set.depth,
                fluid,
                set.viscosity,
                set.temperature
            ]);
        }
    }
    table
}

/// What a step sets.
#[derive(Default)]
struct Set<'a> {
    flow: Option<f64>,
    rising: bool,
    mass: Option<f64>,
    leak: Option<f64>,
    depth: Option<f64>,
    fluid: Option<&'a str>,
    viscosity: Option<f64>,
    temperature: Option<f64>,
}

impl<'a> Set<'a> {
    fn of(step: &'a Step, stage_fluid: Option<&'a str>) -> Set<'a> {
        let none = Set::default();
        match &step.action {
            Action::SetFlow { setting, rising } => {
                Set { flow: setting.target.as_ref().map(|target| target.si()), rising: *rising, ..none }
            }
            Action::HoldFlow(setting) => Set { flow: setting.target.as_ref().map(|target| target.si()), ..none },
            Action::HoldViscosity(hold) => Set {
                fluid: Some(&hold.fluid),
                viscosity: Some(hold.target),
                temperature: Some(hold.temperature),
                ..none
            },
            Action::HoldTemperature(setting) => {
                Set { fluid: stage_fluid, temperature: setting.target.as_ref().map(|target| target.si()), ..none }
            }
            Action::Dose { mass, .. } => Set { mass: mass.target.as_ref().map(|target| target.si()), ..none },
            Action::BypassFlow { flow, leak } => Set { flow: Some(flow.si()), leak: Some(leak.si()), ..none },
            Action::BubblePoint { fluid, depth, .. } => Set { fluid: Some(fluid), depth: Some(depth.si()), ..none },
            Action::AntiDrain { fluid, .. } => Set { fluid: Some(fluid), ..none },
            Action::UseFluid { fluid } => Set { fluid: Some(fluid), ..none },
            _ => none,
        }
    }
}

fn readings(given: &Given<'_>, units: &mut Units) -> Table {
    let mut table = Table::new(
        "planned_readings",
        "What is to be written down",
        "Every reading that a test asks for, by its path. Windows are in SI, by si_unit.",
        &["test", "reading"],
        vec![
            text("test", "Test", "").required(),
            text("reading", "Reading", "Path: its name in every record").required(),
            whole("step", "Step", "").required().at_least(1.0),
            text("stage", "Stage", "").required(),
            text("point", "Point", "The path without its last part: readings of one moment share it"),
            text("label", "What", "In a few words"),
            text("wants", "Wants", "number, tick, choice, count, text, photograph or bottle").required(),
            text("measures", "Measures", "Of a number: what"),
            text("instrument", "Instrument", "That it is to be read with"),
            text("unit", "Unit", "UCUM code of the unit that it is to be written in"),
            text("si_unit", "SI unit", "UCUM code"),
            whole("decimals", "Decimals", "That it is to be written with").at_least(0.0),
            number(
                "half_digit",
                "",
                "Half a digit",
                "Half of the last digit that it is written with, or of the instrument's step if that is coarser; SI",
            ),
            number("low", "", "Low", "Of the window in which it must lie"),
            number("high", "", "High", "Of the window in which it must lie"),
            number("expected_low", "", "Expected low", "Of what is plausible"),
            number("expected_high", "", "Expected high", "Of what is plausible"),
            text("baseline", "Baseline", "Path or name of the reading that it is counted from"),
        ],
    )
    .links(&[link(&["test", "step"], "steps", &["test", "step"]), link(&["unit"], "units", &["unit"])]);
    for test in &given.plan.tests {
        for step in &test.steps {
            let stage = test.stages.get(step.stage).map(|stage| stage.name.as_str());
            for reading in &step.readings {
                let numeric = match &reading.wants {
                    Wants::Number(numeric) => Some(numeric),
                    _ => None,
                };
                let instrument = numeric.and_then(|numeric| given.plan.instruments.get(numeric.instrument.as_ref()?));
                let half = numeric.map(|numeric| {
                    let step = instrument.map_or(0.0, |instrument| instrument.resolution.si_difference());
                    let digit = 10_f64.powi(-i32::try_from(numeric.decimals).unwrap_or(0));
                    step.max(numeric.unit.to_si_difference(digit)) / 2.0
                });
                let window = numeric.and_then(|numeric| numeric.window);
                let expect = numeric.and_then(|numeric| numeric.expect);
                table.rows.push(row![
                    &test.name,
                    &reading.path,
                    step.number,
                    stage,
                    reading.path.rsplit_once('/').map(|(point, _)| point),
                    &reading.label,
                    word(&reading.wants),
                    numeric.map(|numeric| numeric.measures.words()),
                    numeric.and_then(|numeric| numeric.instrument.as_deref()),
                    numeric.and_then(|numeric| units.code(&numeric.unit)),
                    numeric.and_then(|numeric| ucum::coherent(&numeric.unit)),
                    numeric.map(|numeric| numeric.decimals),
                    half,
                    window.and_then(|window| window.low),
                    window.and_then(|window| window.high),
                    expect.and_then(|window| window.low),
                    expect.and_then(|window| window.high),
                    numeric.and_then(|numeric| numeric.baseline.as_deref())
                ]);
            }
        }
    }
    table
}

fn bottles(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "bottles",
        "Bottles",
        "Samples that the plan asks for in each run, by the label printed for them.",
        &["bottle"],
        vec![
            text("bottle", "Bottle", "Label").required(),
            text("run", "Run", "").required(),
            text("reading", "Reading", "Path of the reading that draws it").required(),
            text("sampler", "Sampler", "Where it is drawn").required(),
            text("sits", "Sits", "upstream, downstream, tank or elsewhere"),
            number("volume", "m3", "Volume", "As planned"),
            whole("dilution", "Dilution", "Asked of the laboratory: 10 for 1 in 10").at_least(1.0),
            number("delay", "s", "Delay", "After the bottle that it is paired with"),
            text("paired_with", "Paired with", "Reading that draws its partner"),
            truth("twin", "Twin", "Whether a second bottle is drawn with it and counted too; its label ends in T"),
            whole("round", "Round", "Of its loop").at_least(1.0),
        ],
    )
    .links(&[link(&["run"], "runs", &["run"])]);
    for run in &given.plan.runs {
        let Some(test) = given.plan.test_of(run) else { continue };
        let labels = bottle_labels(run, test);
        for step in &test.steps {
            for reading in &step.readings {
                let Wants::Bottle(bottle) = &reading.wants else { continue };
                let sampler = given.plan.rig.samplers.get(&bottle.sampler);
                table.rows.push(row![
                    labels.get(&reading.path).map(String::as_str),
                    &run.code,
                    &reading.path,
                    &bottle.sampler,
                    sampler.map(|sampler| sampler.sits.as_str()),
                    bottle.volume.si(),
                    bottle.dilution,
                    bottle.delay.as_ref().map(|delay| delay.si()),
                    bottle.paired_with.as_deref(),
                    bottle.twin,
                    step.round.map(|(_, round)| round)
                ]);
            }
        }
    }
    table
}
