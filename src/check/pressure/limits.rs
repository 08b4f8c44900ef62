//! What stops a run: whether it can come to that, whether somebody would see it, and whether it is said at all.

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Diagnostic};
use crate::foresight::models;
use crate::plan::{Action, Instrument, Measures, Origin, Plan, Run, Test, Wants};
use crate::quantity::Quantity;

const LINE: &str = "line pressure at most";
const DIFFERENCE: &str = "differential pressure at most";
const LEVEL: &str = "reservoir volume at least";
const HEAT: &str = "fluid temperature at most";

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    line(plan, test, findings);
    difference(plan, runs, test, findings);
    level(plan, test, findings);
    missing(plan, runs, test, findings);
}

/// The instruments of a kind that a test reads.
fn gauges<'p>(plan: &'p Plan, test: &'p Test, measures: Measures) -> Vec<&'p Instrument> {
    let mut gauges: Vec<&Instrument> = Vec::new();
    for reading in test.steps.iter().flat_map(|step| &step.readings) {
        let Wants::Number(numeric) = &reading.wants else { continue };
        let named = numeric.instrument.as_ref().filter(|_| numeric.measures == measures);
        if let Some(gauge) = named.and_then(|name| plan.instruments.get(name))
            && !gauge.is_role
            && !gauges.iter().any(|known| known.name == gauge.name)
        {
            gauges.push(gauge);
        }
    }
    gauges
}

/// The gauge that reads furthest, and to where.
fn furthest<'p>(gauges: &[&'p Instrument]) -> Option<(&'p Instrument, &'p Quantity)> {
    let ends = gauges.iter().filter_map(|gauge| gauge.range.high.as_ref().map(|high| (*gauge, high)));
    ends.max_by(|a, b| a.1.si().total_cmp(&b.1.si()))
}

fn idle(message: String, test: &Test, statement: &str, role: &'static str) -> Diagnostic {
    finding(Code::LimitIdle, message, test.limits.origin(statement).unwrap_or(test.origin), role)
}

fn line(plan: &Plan, test: &Test, findings: &mut Findings) {
    let Some(limit) = &test.limits.line_pressure else { return };
    let relief = &plan.rig.relief;
    let share = say::rule(plan, "relief-use", 0.85);
    if relief.set.si() > 0.0 && !below(limit.si(), relief.set.si()) {
        let allowed = say::point(relief.set.si() * share.value, &limit.unit, Round::Down);
        findings.add(
            idle(
                format!(
                    "this protocol stops the run above {limit}, but the relief valve opens at {} already",
                    relief.set
                ),
                test,
                LINE,
                "this limit",
            )
            .and(relief.origin, format!("set at {}", relief.set))
            .and_maybe(share.origin, "the rule that says how near to its setting a relief valve may work")
            .why("The oil would leave through the relief valve, the flow would be short, and nobody would be told to stop.")
            .help(format!("write `line pressure at most {allowed}` or less")),
        );
        return;
    }
    if let Some((gauge, high)) = furthest(&gauges(plan, test, Measures::GaugePressure))
        && above(limit.si(), high.si())
    {
        findings.add(
            idle(
                format!("this protocol stops the run above {limit}, but `{}` reads to {high} only", gauge.name),
                test,
                LINE,
                "this limit is never seen",
            )
            .and(gauge.origin, format!("reads to {high}"))
            .help(format!("write `line pressure at most {high}` or less, or read with a gauge that shows {limit}")),
        );
    }
}

fn difference(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let Some(limit) = &test.limits.differential_pressure else { return };
    if let Some((gauge, high)) = furthest(&gauges(plan, test, Measures::DifferentialPressure))
        && above(limit.si_difference(), high.si_difference())
    {
        let allowed = say::difference(high.si_difference(), &limit.unit, Round::Down);
        findings.add(
            idle(
                format!(
                    "this protocol stops the run above {limit} across the filter, but `{}` reads to {high} only",
                    gauge.name
                ),
                test,
                DIFFERENCE,
                "this limit is never seen",
            )
            .and(gauge.origin, format!("reads to {high}, and no gauge of this protocol goes further"))
            .help(format!(
                "write `differential pressure at most {allowed}` or less, or read with a gauge that shows {limit}"
            )),
        );
        return;
    }
    let models = models(plan, runs);
    let strength = models.iter().filter_map(|model| model.collapse.as_ref().map(|collapse| (model, collapse)));
    if let Some((model, collapse)) = strength.min_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()))
        && above(limit.si_difference(), collapse.value.si_difference())
    {
        let share = say::rule(plan, "collapse-use", 0.5);
        let allowed = say::difference(collapse.value.si_difference() * share.value, &limit.unit, Round::Down);
        findings.add(
            idle(
                format!(
                    "this protocol stops the run above {limit} across the filter, but the element of `{}` collapses at {}",
                    model.name, collapse.value
                ),
                test,
                DIFFERENCE,
                "this limit comes too late",
            )
            .and(collapse.origin, format!("collapses at {}", collapse.value))
            .why("By the time that the run is stopped the element has given way and lets go of what it held.")
            .help(format!("write `differential pressure at most {allowed}` or less")),
        );
    }
}

fn level(plan: &Plan, test: &Test, findings: &mut Findings) {
    let Some(limit) = &test.limits.reservoir_volume else { return };
    let rig = &plan.rig;
    let covered = rig.heater.as_ref().and_then(|h| h.covered_above.as_ref().map(|v| (v, h.origin, true)));
    let holds = rig.reservoir_holds.low.as_ref().map(|v| (v, rig.reservoir.origin, false));
    let needed = holds.into_iter().chain(covered).max_by(|a, b| a.0.si().total_cmp(&b.0.si()));
    if let Some((needed, origin, heater)) = needed
        && below(limit.si(), needed.si())
    {
        let (what, role) = if heater {
            (format!("the heater is bare below {needed}"), format!("covered above {needed}"))
        } else {
            (format!("the reservoir is to hold {needed} at least"), format!("holds {needed} at least"))
        };
        findings.add(
            idle(format!("this protocol stops the run below {limit}, but {what}"), test, LEVEL, "this limit")
                .and(origin, role)
                .why("The pump draws air, and the heater may stand bare, before anybody is told to stop.")
                .help(format!("write `reservoir volume at least {}`", say::point(needed.si(), &limit.unit, Round::Up))),
        );
    } else if let Some(high) = rig.reservoir_holds.high.as_ref()
        && !below(limit.si(), high.si())
    {
        findings.add(
            idle(
                format!("this protocol stops the run below {limit}, and the reservoir holds {high} at most"),
                test,
                LEVEL,
                "the run would stop at once",
            )
            .and(rig.reservoir.origin, format!("holds {high} at most"))
            .help(match &rig.reservoir_holds.low {
                Some(low) => format!("write `reservoir volume at least {low}` or somewhat more"),
                None => format!("write a volume well below {high}"),
            }),
        );
    }
}

/// A test that makes pressure or heat and has no limit for it. One that is less than a whole test, and has no limits at all, is
/// left alone.
fn missing(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let limits = &test.limits;
    let some = limits.fluid_temperature.is_some()
        || limits.line_pressure.is_some()
        || limits.differential_pressure.is_some()
        || limits.reservoir_volume.is_some();
    let first = |found: &dyn Fn(&Action) -> bool| test.steps.iter().find(|s| found(&s.action)).map(|s| s.origin);
    let pump = first(&|action| matches!(action, Action::Switch { what, on } if what == "pump" && *on));
    let route = first(&|action| matches!(action, Action::TakeRoute { .. }));
    let mount = first(&|action| matches!(action, Action::Mount { .. }));
    let flow = first(&|action| matches!(action, Action::SetFlow { .. } | Action::HoldFlow(_)));
    let whole = [pump, route, mount, flow].iter().all(Option::is_some);
    if !some && !whole {
        return;
    }
    let heats = first(&|action| matches!(action, Action::Switch { what, on } if what == "heater" && *on));
    let dp = || {
        let reads = |r: &&crate::plan::Reading| matches!(&r.wants, Wants::Number(n) if n.measures == Measures::DifferentialPressure);
        let read = test.steps.iter().filter(|s| matches!(s.action, Action::Read));
        read.flat_map(|s| &s.readings).find(reads).map(|r| r.origin)
    };
    let mut lacking: Vec<(&str, Origin, String)> = Vec::new();
    if let (Some(pump), None) = (pump, &limits.line_pressure) {
        let relief = &plan.rig.relief.set;
        let share = say::rule(plan, "relief-use", 0.85);
        let value = say::point(relief.si() * share.value, &relief.unit, Round::Down);
        lacking.push(("line pressure", pump, format!("{LINE} {value}")));
    }
    if let (Some(pump_or_read), None) = (pump.and_then(|_| dp()), &limits.differential_pressure) {
        lacking.push(("differential pressure", pump_or_read, format!("{DIFFERENCE} {}", proposed(plan, runs, test))));
    }
    if let (Some(heats), None) = (heats, &limits.fluid_temperature) {
        let value = plan.rig.heater.as_ref().and_then(|h| h.high_limit.as_ref()).map(|(limit, _)| limit.to_string());
        lacking.push(("oil temperature", heats, format!("{HEAT} {}", value.unwrap_or_else(|| "…".to_owned()))));
    }
    let Some((_, at, _)) = lacking.first() else { return };
    let names: Vec<&str> = lacking.iter().map(|(name, _, _)| *name).collect();
    let lines: Vec<&str> = lacking.iter().map(|(_, _, line)| line.as_str()).collect();
    findings.add(
        finding(
            Code::LimitMissing,
            format!("`{}` does not say at which {} the run is to be stopped", test.protocol.name, listed(&names)),
            *at,
            "reached from here on",
        )
        .and(test.origin, "this protocol")
        .help(format!("in the protocol's `limits` write `{}`, or less", lines.join("`, `"))),
    );
}

/// Half of what the weakest element stands, but no more than the gauges show.
fn proposed(plan: &Plan, runs: &[&Run], test: &Test) -> String {
    let share = say::rule(plan, "collapse-use", 0.5);
    let strengths = models(plan, runs).into_iter().filter_map(|m| m.collapse.as_ref());
    let weakest = strengths.map(|c| c.value.si_difference() * share.value).reduce(f64::min);
    match furthest(&gauges(plan, test, Measures::DifferentialPressure)) {
        Some((_, high)) => {
            let value = weakest.map_or(high.si_difference(), |weakest| weakest.min(high.si_difference()));
            say::difference(value, &high.unit, Round::Down)
        }
        None => "…".to_owned(),
    }
}

/// `a`, `a or b`, `a, b or c`.
fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}

/// What a step sets or expects against the protocol's limits.
pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let limits = &moment.test.limits;
    if let (Action::HoldBackPressure(setting), Some(limit)) = (&moment.step.action, &limits.line_pressure)
        && let Some(target) = &setting.target
        && above(target.si(), limit.si())
    {
        findings.add(
            finding(
                Code::AboveLimit,
                format!("a back pressure of {target} is above the limit of {limit}"),
                moment.step.origin,
                "this set-point",
            )
            .and(limits.origin(LINE).unwrap_or(moment.test.origin), "above this the run is stopped")
            .help(format!("hold {} or less", say::point(limit.si(), &target.unit, Round::Down))),
        );
    }
    for reading in &moment.step.readings {
        let Wants::Number(numeric) = &reading.wants else { continue };
        let expected = numeric.expect.and_then(|window| window.high);
        if let (Some(high), Some(stop)) = (expected, numeric.stop.and_then(|window| window.high))
            && above(high, stop)
        {
            let unit = &numeric.unit;
            let stop_said = say::point(stop, unit, Round::Near);
            let statement = match numeric.measures {
                Measures::Temperature => HEAT,
                Measures::GaugePressure => LINE,
                _ => DIFFERENCE,
            };
            findings.add(
                finding(
                    Code::AboveLimit,
                    format!(
                        "`{}` may read {}, but this protocol stops the run above {stop_said}",
                        reading.name,
                        say::point(high, unit, Round::Near),
                    ),
                    moment.step.origin,
                    "expected here",
                )
                .and(limits.origin(statement).unwrap_or(moment.test.origin), "above this the run is stopped")
                .help(format!("write `expect at most {}`", say::point(stop, unit, Round::Down))),
            );
        }
    }
}
