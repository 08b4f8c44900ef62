//! What a made-up specimen and its bench are like.

use super::chance::Chance;
use crate::plan::{Plan, Run};
use crate::quantity::Quantity;
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
    /// Share by weight of the dust that stays in the specimen at each pass.
    pub catch: f64,
    /// Share of the particles from a size (m) up that is caught in one pass, by rising size. See [`Character::captures`].
    pub caught: Vec<(f64, f64)>,
    /// How sharply the loading curve bends upwards; 0 is a straight line.
    pub bend: f64,
    /// Relative scatter of what is measured.
    pub scatter: f64,
    /// How tall this specimen stands in the readings that nothing here predicts, as a logarithm.
    pub habit: f64,
    /// Initials of those who write.
    pub hands: Vec<String>,
    /// When the first step begins.
    pub begins: Instant,
    /// How much time everything that is not a wait takes, 1 for a practised bench.
    pub pace: f64,
}

impl Character {
    /// A plausible specimen for a run: as the plan expects its model to be, give or take half the doubt about that, with
    /// the scatter that is expected from specimen to specimen. Where nothing is expected, models differ, specimens of one
    /// are alike, and a heavy batch of dust meets a filter that can hold about ten of them.
    pub fn typical(plan: &Plan, run: &Run, seed: u64) -> Character {
        let specimen = plan.campaign.specimens.get(&run.specimen);
        let named = specimen.and_then(|specimen| specimen.model.as_deref());
        let expects = named.and_then(|name| plan.campaign.models.get(name)).map(|model| &model.expects);
        let model = named.unwrap_or(&run.specimen);
        let mut kind = Chance::new(seed, &format!("model {model}"));
        let mut piece = Chance::new(seed, &format!("specimen {}", run.specimen));
        let mut day = Chance::new(seed, &format!("day {}", run.code));
        let flow = largest_flow(plan, run);
        let viscosity = 20e-6;
        let lowest = lowest_dp(plan, run);
        let at_full_flow = 0.9 * lowest.unwrap_or(15_000.0) * kind.between(0.7, 1.3) * (1.0 + 0.03 * piece.scatter());
        let share = kind.between(0.55, 0.75);
        let dose = largest_dose(plan, run);
        let said_scatter = expects.and_then(|e| e.scatter.as_ref()).map(|scatter| scatter.value.si_difference());
        let off = 0.25 * plan.rules.number("expectation-doubt").unwrap_or(0.25);
        let mut like = |expected: f64, usual: f64| {
            expected * (1.0 + off * kind.scatter()) * (1.0 + said_scatter.unwrap_or(usual) * piece.scatter())
        };
        let restriction = expects.and_then(|e| e.restriction.as_ref()).map(|said| {
            let (flow, viscosity) = (said.value.flow.si(), said.value.viscosity.si());
            let pressure = like(said.value.pressure.si_difference(), 0.03).max(1.0);
            let share = said.value.viscous.as_ref().map_or(share, Quantity::si_difference);
            (pressure * share / (flow * viscosity), pressure * (1.0 - share) / (flow * flow))
        });
        let laminar = at_full_flow * share / (flow * viscosity);
        let (laminar, inertial) = restriction.unwrap_or((laminar, at_full_flow * (1.0 - share) / (flow * flow)));
        let expected = expects.and_then(|e| e.capacity.as_ref()).map(|said| like(said.value.si(), 0.04).max(1e-6));
        let capacity = expected.unwrap_or_else(|| dose * kind.between(6.0, 12.0) * (1.0 + 0.04 * piece.scatter()));
        let caught = expects.into_iter().flat_map(|e| &e.captures).map(|said| said.value.0.si_difference());
        let mut stands: Vec<(f64, f64)> = expects
            .into_iter()
            .flat_map(|e| &e.captures)
            .map(|said| (said.value.1.si(), said.value.0.si_difference()))
            .filter(|(size, share)| *size > 0.0 && *share > 0.0 && *share < 1.0)
            .collect();
        stands.sort_by(|one, other| one.0.total_cmp(&other.0));
        if stands.is_empty() {
            let let_through = 8e-6 * (1.0 + 0.05 * Chance::new(seed, &format!("capture of {model}")).scatter());
            stands = [4e-6, 8e-6, 16e-6, 32e-6].map(|size| (size, -(-size / let_through).exp_m1())).to_vec();
        }
        // A specimen differs from its model in how much it lets through.
        let mut letting = Chance::new(seed, &format!("capture of {}", run.specimen));
        let own = 1.0 + said_scatter.unwrap_or(0.04).min(0.1) * letting.scatter();
        let stands = stands.into_iter().map(|(size, share)| (size, -((-share).ln_1p() * own).exp_m1())).collect();
        let hands: Vec<String> = plan.campaign.people.keys().cloned().collect();
        let order = plan.runs.iter().position(|other| other.code == run.code).unwrap_or(0);
        let first_day = plan.campaign.starts.as_deref().and_then(crate::record::day_number).unwrap_or(20_711);
        let days = i64::try_from(order).unwrap_or(0);
        let minutes = day.between(0.0, 40.0).round();
        #[expect(clippy::cast_possible_truncation, reason = "minutes of a morning")]
        let seconds = (first_day + days) * 86_400 + 8 * 3600 + 60 * minutes as i64;
        Character {
            laminar,
            inertial,
            housing: 0.1 * lowest.unwrap_or(15_000.0) / (flow * flow),
            capacity,
            catch: caught.reduce(f64::max).unwrap_or(0.9).clamp(0.2, 1.0),
            caught: stands,
            bend: kind.between(1.2, 2.4),
            scatter: 0.006,
            habit: 0.08 * Chance::new(seed, &format!("habit {}", run.specimen)).scatter(),
            hands: if hands.is_empty() { vec!["XX".to_owned()] } else { hands },
            begins: Instant { seconds, grain: 1 },
            pace: 1.0,
        }
    }

    /// The share of the particles from a size (m) up, as they are in the tank when the flow is sent through the specimen, that
    /// is caught in one pass: ln(1 − E) in straight lines over ln(size), the last of them carried on to either side. It never
    /// falls where the size grows.
    pub fn captures(&self, size: f64) -> f64 {
        let points: Vec<(f64, f64)> =
            self.caught.iter().map(|(size, share)| (size.ln(), (-share.clamp(0.0, 1.0 - 1e-9)).ln_1p())).collect();
        let x = size.ln();
        let line = |a: (f64, f64), b: (f64, f64)| a.1 + (x - a.0) / (b.0 - a.0) * (b.1 - a.1).min(0.0);
        let passed = match points.as_slice() {
            [] => 0.0,
            // One size says how much, not how it grows: as the square of the size.
            [only] => only.1 * (2.0 * (x - only.0)).exp(),
            [first, second, ..] if x <= first.0 => {
                // Below, in proportion to a power of the size: a straight line would promise a negative share.
                let steep = ((second.1 / first.1.min(-1e-9)).ln() / (second.0 - first.0)).max(0.5);
                first.1 * (steep * (x - first.0)).exp()
            }
            several => {
                let pair = several.windows(2).find(|pair| pair.get(1).is_none_or(|next| x <= next.0));
                match pair.or(several.windows(2).last()) {
                    Some([a, b]) => line(*a, *b),
                    _ => 0.0,
                }
            }
        };
        -passed.min(0.0).exp_m1()
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
