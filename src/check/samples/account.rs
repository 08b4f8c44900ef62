//! What bottles take: oil out of the tank, dust out of the account, bottles off the shelf; and what is drawn twice.

use indexmap::IndexMap;

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::{Pair, drawn, in_step};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Bottle, Origin, Plan, Test};
use crate::quantity::Quantity;

/// How many bottles one sampling takes off the shelf.
fn bottles(bottle: &Bottle) -> u32 {
    1 + u32::from(bottle.twin) + u32::from(bottle.second_bottle)
}

/// Oil and dust that leave the circuit through sampling valves in one run; volumes in m³.
#[derive(Default)]
pub(in crate::check) struct Account<'p> {
    /// Since the tank was last filled.
    taken: f64,
    most: f64,
    /// The largest circuit that was sampled.
    oil: f64,
    /// Flushed while dust was in the oil, and nothing says where to.
    unsaid: f64,
    first_unsaid: Option<(&'p Quantity, Origin)>,
    first: Option<(&'p Quantity, Origin)>,
    /// The level in the tank, as it was last held, and where it fell lowest.
    level: Option<f64>,
    lowest: Option<(f64, Origin)>,
}

impl<'p> Account<'p> {
    pub(super) fn step(&mut self, moment: &Moment<'_, 'p>, findings: &mut Findings) {
        match &moment.step.action {
            Action::HoldLevel(setting) => {
                self.taken = 0.0;
                self.level = setting.target.as_ref().map(|level| level.si());
            }
            Action::ChangeFluid(_) => {
                self.taken = 0.0;
                self.level = None;
            }
            // Dust brings oil with it.
            Action::Dose { carrier, .. } | Action::Condition { carrier, .. } => {
                self.level = self.level.map(|level| level + carrier.si());
            }
            Action::RinseInjector { times, volume } => {
                self.level = self.level.map(|level| level + f64::from(*times) * volume.si());
            }
            _ => {}
        }
        let fill = super::fill(moment.plan).value;
        for (_, bottle) in in_step(moment.step) {
            let returned = bottle.flush_ends.as_deref() == Some("returned");
            let flush = bottle.flush.as_ref().filter(|_| !returned).map_or(0.0, |flush| flush.si());
            let taken = f64::from(bottles(bottle)) * bottle.volume.si() * fill + flush;
            self.taken += taken;
            self.most = self.most.max(self.taken);
            self.oil = self.oil.max(moment.before.oil().map_or(0.0, |oil| oil.middle()));
            self.first.get_or_insert((&bottle.volume, moment.step.origin));
            if let Some(level) = &mut self.level {
                *level -= taken;
                if self.lowest.is_none_or(|(lowest, _)| *level < lowest) {
                    self.lowest = Some((*level, moment.step.origin));
                }
            }
            if let Some(flush) = bottle.flush.as_ref().filter(|_| bottle.flush_ends.is_none())
                && moment.before.loop_dust.is_some()
                && !matches!(moment.step.action, Action::CleanUp(_))
            {
                self.unsaid += flush.si();
                self.first_unsaid.get_or_insert((flush, moment.step.origin));
            }
        }
        // A level below what must stay is said once, at the bottle that takes it there.
        if let Some((lowest, at)) = self.lowest.take() {
            self.low(moment, lowest, at, findings);
        }
    }

    fn low(&self, moment: &Moment<'_, 'p>, lowest: f64, at: Origin, findings: &mut Findings) {
        let rig = &moment.plan.rig;
        let limits = [moment.test.limits.reservoir_volume.as_ref(), rig.reservoir_holds.low.as_ref()];
        let Some(limit) = limits.into_iter().flatten().max_by(|a, b| a.si().total_cmp(&b.si())) else { return };
        if !below(lowest, limit.si()) {
            return;
        }
        findings.add(
            finding(
                Code::DrainedBySampling,
                format!("bottles and flushes take the tank below the {limit} that must stay in it"),
                at,
                format!("{} are left after this bottle", say::point(lowest, &limit.unit, Round::Near)),
            )
            .and(rig.reservoir.origin, "the tank")
            .severity(Severity::Error)
            .help("write `flush …, returned`, take smaller or fewer bottles, or write `hold level …` before, with oil that has been cleaned"),
        );
    }

    /// What was taken altogether, against what there was.
    pub(in crate::check) fn end(&self, plan: &Plan, test: &Test, findings: &mut Findings) {
        if self.oil <= 0.0 {
            return;
        }
        self.drained(plan, test, findings);
        self.unaccounted(plan, findings);
    }

    fn drained(&self, plan: &Plan, test: &Test, findings: &mut Findings) {
        let warning = say::rule(plan, "withdrawn-warning", 0.05);
        let limit = say::rule(plan, "withdrawn-limit", 0.15);
        let share = self.most / self.oil;
        let Some((volume, at)) = self.first.filter(|_| above(share, warning.value)) else { return };
        let grave = above(share, limit.value);
        let holds = &plan.rig.reservoir_holds;
        let unit = holds.high.as_ref().or(holds.low.as_ref()).map_or(&volume.unit, |q| &q.unit);
        findings.add(
            finding(
                Code::DrainedBySampling,
                format!(
                    "bottles and flushes of one run of `{}` take {} of {}, {} of the oil",
                    test.name,
                    say::point(self.most, unit, Round::Near),
                    say::point(self.oil, unit, Round::Near),
                    say::percent(share, Round::Near)
                ),
                at,
                "the first bottle",
            )
            .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that says how much is too much")
            .severity(if grave { Severity::Error } else { Severity::Warning })
            .help(format!(
                "write `flush …, returned`, draw fewer or smaller bottles, or write `hold level …` in between; {} would be little enough",
                say::point(self.oil * warning.value, unit, Round::Down)
            )),
        );
    }

    fn unaccounted(&self, plan: &Plan, findings: &mut Findings) {
        let limit = say::rule(plan, "unaccounted-flush", 0.01);
        let Some((flush, at)) = self.first_unsaid.filter(|_| above(self.unsaid, limit.value * self.oil)) else {
            return;
        };
        findings.add(
            finding(
                Code::FlushUnaccounted,
                format!(
                    "{} of dusty oil are flushed in one run, {} of the circuit, and nothing says where they go",
                    say::point(self.unsaid, &flush.unit, Round::Near),
                    say::percent(self.unsaid / self.oil, Round::Near)
                ),
                at,
                "the first of these flushes",
            )
            .and_maybe(limit.origin, "the rule that says how much matters")
            .help(format!("write `flush {flush}, returned` where it goes back to the tank, or `flush {flush}, collected` where it is measured and taken off the account")),
        );
    }
}

/// Bottles at hand, and bottles drawn twice, over all runs.
pub(super) fn stock(plan: &Plan, findings: &mut Findings) {
    let mut runs = vec![0_u32; plan.tests.len()];
    for run in &plan.runs {
        if let Some(count) = runs.get_mut(run.test) {
            *count += 1;
        }
    }
    // By volume in µL, so that 120 mL and 0.12 L are one.
    let mut needs: IndexMap<u64, (u32, &Quantity, Origin)> = IndexMap::new();
    let (mut counted, mut twins, mut first) = (0_u32, 0_u32, None);
    for (test, runs) in plan.tests.iter().zip(&runs) {
        for (_, reading, bottle) in drawn(test) {
            let key = (bottle.volume.si() * 1e9).round() as u64;
            let need = needs.entry(key).or_insert((0, &bottle.volume, reading.origin));
            need.0 += bottles(bottle) * runs;
            if !bottle.tests.is_empty() {
                counted += runs;
                twins += u32::from(bottle.twin) * runs;
                first.get_or_insert(reading.origin);
            }
        }
    }
    short(plan, &needs, findings);
    let share = say::rule(plan, "twin-share", 0.05);
    let fewest = say::rule(plan, "twins-from", 10.0);
    let Some(first) = first.filter(|_| f64::from(counted) >= fewest.value) else { return };
    let wanted = (f64::from(counted) * share.value).ceil().max(1.0);
    if f64::from(twins) >= f64::from(counted) * share.value && twins > 0 {
        return;
    }
    findings.add(
        finding(
            Code::NoTwins,
            format!(
                "of {counted} bottles that are counted, {} drawn twice",
                match twins {
                    0 => "none is".to_owned(),
                    1 => "one is".to_owned(),
                    more => format!("{more} are"),
                }
            ),
            first,
            "the first of them",
        )
        .and_maybe(share.origin, "the rule that says how many")
        .help(format!("write `, with twin` after the name of a bottle, so that at least {wanted} of the {counted} have one: `sample … name, with twin {{ … }}`")),
    );
}

fn short(plan: &Plan, needs: &IndexMap<u64, (u32, &Quantity, Origin)>, findings: &mut Findings) {
    let Some(at) = plan.campaign.places.bottles else { return };
    for (volume, (count, written, drawn)) in needs {
        let there: u32 = plan
            .campaign
            .bottles
            .iter()
            .filter(|(_, quantity)| (quantity.si() * 1e9).round() as u64 == *volume)
            .map(|(count, _)| *count)
            .sum();
        if there >= *count {
            continue;
        }
        let have = if there == 0 { "there are none".to_owned() } else { format!("there are {there}") };
        findings.add(
            finding(
                Code::BottlesShort,
                format!("the runs take {count} bottles of {written}, twins and bottles to keep among them, and {have}"),
                at,
                "bottles at hand",
            )
            .and(*drawn, format!("bottles of {written} are drawn here"))
            .help(format!(
                "order {} more of the same lot and cleanliness, then write `bottles {count} of {written}`",
                count - there
            )),
        );
    }
}

/// Nothing left to count again.
pub(super) fn kept(plan: &Plan, test: &Test, pairs: &[Pair<'_>], findings: &mut Findings) {
    let fewest = say::rule(plan, "kept-from", 4.0);
    if (pairs.len() as f64) < fewest.value || drawn(test).any(|(_, _, bottle)| bottle.second_bottle || bottle.twin) {
        return;
    }
    let Some(pair) = pairs.iter().find(|pair| !pair.first.3.tests.is_empty()) else { return };
    findings.add(
        finding(
            Code::NothingKept,
            format!(
                "{} pairs of bottles go to the laboratory from one run of `{}`, and none is kept",
                pairs.len(),
                test.name
            ),
            pair.first.2.origin,
            "one of them",
        )
        .help("write `keep a second bottle` in the two bottles of one pair at least"),
    );
}
