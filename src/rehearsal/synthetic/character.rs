//! What a made-up specimen and its bench are like.

use super::chance::Chance;
use crate::plan::{Plan, Run};
use crate::record::Instant;

/// The nature of a specimen, and who tests it when.
#[derive(Debug, Clone, PartialEq)]
pub struct Character {
    /// Restriction that grows with viscosity and flow: Pa per (m³/s · m²/s).
    pub laminar: f64,
    /// Restriction that grows with the square of the flow: Pa per (m³/s)².
    pub inertial: f64,
    /// Restriction of adaptor and housing alone: Pa per (m³/s)².
    pub housing: f64,
    /// Dust that lifts the differential pressure by the plan's last terminal rise, kg.
    pub capacity: f64,
    /// How sharply the loading curve bends upwards; 0 is a straight line.
    pub bend: f64,
    /// Relative scatter of what is measured.
    pub scatter: f64,
    /// Initials of those who write.
    pub hands: Vec<String>,
    /// When the first step begins.
    pub begins: Instant,
    /// How much time everything that is not a wait takes, 1 for a practised bench.
    pub pace: f64,
}

impl Character {
    /// A plausible specimen for a run: specimens of one model are alike, models differ, and a heavy batch of dust meets a
    /// filter that can hold about ten of them.
    pub fn typical(plan: &Plan, run: &Run, seed: u64) -> Character {
        let specimen = plan.campaign.specimens.get(&run.specimen);
        let model = specimen.and_then(|specimen| specimen.model.as_deref()).unwrap_or(&run.specimen);
        let mut kind = Chance::new(seed, &format!("model {model}"));
        let mut piece = Chance::new(seed, &format!("specimen {}", run.specimen));
        let mut day = Chance::new(seed, &format!("day {}", run.code));
        let flow = largest_flow(plan, run);
        let viscosity = 20e-6;
        let lowest = lowest_dp(plan, run);
        let at_full_flow = 0.9 * lowest.unwrap_or(15_000.0) * kind.between(0.7, 1.3) * (1.0 + 0.03 * piece.scatter());
        let share = kind.between(0.55, 0.75);
        let dose = largest_dose(plan, run);
        let hands: Vec<String> = plan.campaign.people.keys().cloned().collect();
        let order = plan.runs.iter().position(|other| other.code == run.code).unwrap_or(0);
        let first_day = plan.campaign.starts.as_deref().and_then(crate::record::day_number).unwrap_or(20_711);
        let days = i64::try_from(order).unwrap_or(0);
        let minutes = day.between(0.0, 40.0).round();
        #[expect(clippy::cast_possible_truncation, reason = "minutes of a morning")]
        let seconds = (first_day + days) * 86_400 + 8 * 3600 + 60 * minutes as i64;
        Character {
            laminar: at_full_flow * share / (flow * viscosity),
            inertial: at_full_flow * (1.0 - share) / (flow * flow),
            housing: 0.1 * lowest.unwrap_or(15_000.0) / (flow * flow),
            capacity: dose * kind.between(6.0, 12.0) * (1.0 + 0.04 * piece.scatter()),
            bend: kind.between(1.2, 2.4),
            scatter: 0.006,
            hands: if hands.is_empty() { vec!["XX".to_owned()] } else { hands },
            begins: Instant { seconds, grain: 1 },
            pace: 1.0,
        }
    }
}

fn largest_flow(plan: &Plan, run: &Run) -> f64 {
    use crate::plan::Action;
    let steps = plan.test_of(run).map(|test| test.steps.as_slice()).unwrap_or_default();
    let flows = steps.iter().filter_map(|step| match &step.action {
        Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
            setting.target.as_ref().map(|target| target.si())
        }
        _ => None,
    });
    let largest = flows.fold(0.0, f64::max);
    if largest > 0.0 { largest } else { 40e-3 / 60.0 }
}

fn largest_dose(plan: &Plan, run: &Run) -> f64 {
    use crate::plan::Action;
    let steps = plan.test_of(run).map(|test| test.steps.as_slice()).unwrap_or_default();
    let doses = steps.iter().filter_map(|step| match &step.action {
        Action::Dose { mass, .. } => mass.target.as_ref().map(|target| target.si()),
        _ => None,
    });
    let largest = doses.fold(0.0, f64::max);
    if largest > 0.0 { largest } else { 1e-3 }
}

/// A clean differential pressure that the plan leaves room for: a sixth of the tightest upper bound on one.
fn lowest_dp(plan: &Plan, run: &Run) -> Option<f64> {
    use crate::plan::{Measures, Wants};
    let readings = plan.test_of(run)?.steps.iter().flat_map(|step| &step.readings);
    let bounds = readings.filter_map(|reading| match &reading.wants {
        Wants::Number(numeric) if numeric.measures == Measures::DifferentialPressure && numeric.window.is_none() => {
            let range =
                plan.instruments.get(numeric.instrument.as_ref()?).and_then(|instrument| instrument.range.window.high);
            let open =
                numeric.expect.filter(|expect| expect.low.is_none_or(|low| low <= 0.0)).and_then(|expect| expect.high);
            let both = numeric
                .expect
                .and_then(|expect| Some((expect.low.filter(|low| *low > 0.0)? * expect.high?).sqrt() * 6.0));
            both.or(open).or(range)
        }
        _ => None,
    });
    bounds.reduce(f64::min).map(|bound| bound / 6.0)
}
