//! What a plan leads to: each result that its specimens can be compared by, under the name that a question may use.

use super::model::{Action, Measures, Plan, Stage, Step, Test, Wants};
use crate::quantity::{Mark, Quantity, Unit};

/// A result that a plan leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultKey {
    /// `TEST/STAGE`, `TEST/STAGE/opening`, `TEST/capacity`, `TEST/retained`, `TEST/capture at SIZE`, `TEST/STAGE/READING`.
    pub key: String,
    /// Index into [`Plan::tests`].
    pub test: usize,
    pub kind: ResultKind,
}

/// What sort of result it is.
#[derive(Debug, Clone, PartialEq)]
pub enum ResultKind {
    /// The sweep of a stage, at its highest flow.
    Restriction { stage: String },
    /// The flow at which the curve of a sweep breaks off because a by-pass opens.
    Opening { stage: String },
    /// Dust given until the terminal rise.
    Capacity,
    /// Dust that the specimen holds then.
    Retained,
    /// Share caught at a size and above.
    Capture { size: Quantity },
    /// By-pass, anti-drain valve, bubble point, burst, torque: the stage, and the reading where it is one.
    Mechanical { name: String },
}

/// Every result of a plan, test by test, in the order of the stages; captures by rising size.
pub fn result_keys(plan: &Plan) -> Vec<ResultKey> {
    let of_test = |(index, test)| {
        let kinds = kinds(plan, test).into_iter();
        kinds.map(move |kind| ResultKey { key: key(test, &kind), test: index, kind })
    };
    plan.tests.iter().enumerate().flat_map(of_test).collect()
}

/// The name of a result of a test.
fn key(test: &Test, kind: &ResultKind) -> String {
    let name = &test.name;
    match kind {
        ResultKind::Restriction { stage } => format!("{name}/{stage}"),
        ResultKind::Opening { stage } => format!("{name}/{stage}/opening"),
        ResultKind::Capacity => format!("{name}/capacity"),
        ResultKind::Retained => format!("{name}/retained"),
        ResultKind::Capture { size } => capture_key(name, size),
        ResultKind::Mechanical { name: mechanical } => format!("{name}/{mechanical}"),
    }
}

/// `TEST/capture at SIZE`: alike however the size was written.
fn capture_key(test: &str, size: &Quantity) -> String {
    format!("{test}/capture at {}", size_words(size))
}

/// A size in µm, with its calibration: `10 µm(c)`.
pub(crate) fn size_words(size: &Quantity) -> String {
    let basis = size.unit.text.find('(').and_then(|at| size.unit.text.get(at..)).unwrap_or("");
    let micrometres = (size.si() * 1e9).round() / 1e3;
    format!("{micrometres} µm{basis}")
}

/// Whether two sizes are the same on the same calibration.
pub(crate) fn same_size(one: &Quantity, other: &Quantity) -> bool {
    same_basis(&one.unit, &other.unit) && (one.si() - other.si()).abs() <= 1e-9 * one.si().abs()
}

/// Whether two sizes stand on the same calibration.
pub(crate) fn same_basis(one: &Unit, other: &Unit) -> bool {
    match (one.mark, other.mark) {
        (Mark::Basis(one), Mark::Basis(other)) => one == other,
        (Mark::Basis(_), _) | (_, Mark::Basis(_)) => false,
        _ => true,
    }
}

fn kinds(plan: &Plan, test: &Test) -> Vec<ResultKind> {
    let mut kinds = Vec::new();
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        let name = || stage.name.clone();
        if is_sweep(test, stage, steps) {
            kinds.push(ResultKind::Restriction { stage: name() });
            kinds.push(ResultKind::Opening { stage: name() });
        }
        let mechanical = |step: &Step| {
            matches!(
                step.action,
                Action::BypassFlow { .. }
                    | Action::AntiDrain { .. }
                    | Action::BubblePoint { .. }
                    | Action::Burst { .. }
            )
        };
        if steps.iter().any(mechanical) {
            kinds.push(ResultKind::Mechanical { name: name() });
        }
        for reading in steps.iter().flat_map(|step| &step.readings) {
            let Wants::Number(numeric) = &reading.wants else { continue };
            let torque = ResultKind::Mechanical { name: format!("{}/{}", stage.name, reading.name) };
            if numeric.measures == Measures::Torque && !kinds.contains(&torque) {
                kinds.push(torque);
            }
        }
    }
    if !test.batches.is_empty() {
        kinds.extend([ResultKind::Capacity, ResultKind::Retained]);
    }
    kinds.extend(sizes(plan, test).into_iter().map(|size| ResultKind::Capture { size }));
    kinds
}

/// A stage that reads differential pressures at several flows, and is no tare of another.
fn is_sweep(test: &Test, stage: &Stage, steps: &[Step]) -> bool {
    let tare = stage.tare_for.is_some() || test.stages.iter().any(|other| other.tare.as_ref() == Some(&stage.name));
    let sweeps = steps.iter().any(|step| matches!(step.action, Action::SetFlow { .. }));
    let reads = steps.iter().flat_map(|step| &step.readings).any(|reading| {
        matches!(&reading.wants, Wants::Number(numeric) if numeric.measures == Measures::DifferentialPressure)
    });
    !tare && sweeps && reads
}

/// The sizes at which pairs of bottles of a test are counted, by rising size; none where it gives no dust.
fn sizes(plan: &Plan, test: &Test) -> Vec<Quantity> {
    let dosed = test.steps.iter().any(|step| matches!(step.action, Action::Dose { .. } | Action::Inject { .. }));
    let bottles = test.steps.iter().flat_map(|step| &step.readings).filter_map(|reading| match &reading.wants {
        Wants::Bottle(bottle) if bottle.paired_with.is_some() => Some(bottle),
        _ => None,
    });
    let mut sizes: Vec<Quantity> = Vec::new();
    for asked in bottles.filter(|_| dosed).flat_map(|bottle| &bottle.tests) {
        let tests = plan.laboratories.values().filter_map(|laboratory| laboratory.tests.get(asked));
        for size in tests.flat_map(|test| &test.sizes) {
            if !sizes.iter().any(|known| same_size(known, size)) {
                sizes.push(size.clone());
            }
        }
    }
    sizes.sort_by(|one, other| one.si().total_cmp(&other.si()));
    sizes
}
