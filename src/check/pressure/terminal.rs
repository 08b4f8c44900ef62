//! Terminal pressures against by-pass, collapse, limits, and what the gauge can tell.

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, finding, instruments};
use crate::diagnostic::Code;
use crate::foresight::models;
use crate::plan::{Batch, Mark, Model, Plan, Run, Test};

/// Terminal pressures against by-pass, collapse and limits.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    if test.batches.is_empty() {
        return;
    }
    let models = models(plan, runs);
    let bypass = say::rule(plan, "bypass-use", 0.75);
    let collapse = say::rule(plan, "collapse-use", 0.5);
    for (index, batch) in test.batches.iter().enumerate() {
        let terminal = &batch.terminal;
        let rise = if batch.baseline.is_some() { "a rise of " } else { "" };
        let opens = models.iter().filter_map(|m| m.bypass_opens.as_ref().map(|opens| (m, opens)));
        if let Some((model, opens)) = opens.min_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()))
            && above(terminal.si(), opens.value.si() * bypass.value)
        {
            let share = say::percent(terminal.si() / opens.value.si(), Round::Near);
            let allowed = say::point(opens.value.si() * bypass.value, &terminal.unit, Round::Down);
            findings.add(
                finding(
                    Code::TerminalBeyondBypass,
                    format!("{rise}{terminal} is {share} of the pressure at which the by-pass of `{}` opens", model.name),
                    batch.origin,
                    "the loop ends here",
                )
                .and(opens.origin, format!("opens at {}{}", opens.value, marked(&opens.mark)))
                .and_maybe(bypass.origin, "the rule that sets the share")
                .help(format!(
                    "end the loop at {allowed} or less, {} of the opening pressure (a share published in a trade summary of ISO 4548-12), or block the valve and say so with `departure \"by-pass blocked\"` and a `confirm`",
                    say::percent(bypass.value, Round::Near)
                )),
            );
        }
        let strength = models.iter().filter_map(|m| m.collapse.as_ref().map(|c| (m, c)));
        if let Some((model, strength)) = strength.min_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()))
            && above(terminal.si(), strength.value.si() * collapse.value)
        {
            let allowed = say::point(strength.value.si() * collapse.value, &terminal.unit, Round::Down);
            findings.add(
                finding(
                    Code::TerminalBeyondStrength,
                    format!(
                        "{rise}{terminal} is more than {} of what the element of `{}` stands",
                        say::percent(collapse.value, Round::Near),
                        model.name
                    ),
                    batch.origin,
                    "the loop ends here",
                )
                .and(strength.origin, format!("collapses at {}{}", strength.value, marked(&strength.mark)))
                .and_maybe(collapse.origin, "the rule that sets the share")
                .help(format!("end the loop at {allowed} or less, or ask the maker for the collapse pressure")),
            );
        }
        unknown_strength(&models, batch, findings);
        in_the_noise(plan, test, index, batch, findings);
        if let Some(limit) = &test.limits.differential_pressure
            && above(terminal.si(), limit.si())
        {
            findings.add(
                finding(
                    Code::AboveLimit,
                    format!("the loop goes on to {rise}{terminal}, but this protocol stops the run above {limit}"),
                    batch.origin,
                    "the loop ends here",
                )
                .and(
                    test.limits.origin("differential pressure at most").unwrap_or(test.origin),
                    "above this the run is stopped",
                )
                .help(format!("end the loop below {limit}, or raise the limit as far as the filter allows")),
            );
        }
    }
}

/// A loop to a pressure that nobody knows the element to stand.
fn unknown_strength(models: &[&Model], batch: &Batch, findings: &mut Findings) {
    let Some(model) = models.iter().find(|model| model.collapse.is_none()) else { return };
    findings.add(
        finding(
            Code::TerminalBeyondStrength,
            format!("nobody has said at which pressure the element of `{}` collapses", model.name),
            batch.origin,
            format!("the loop goes on to {}", batch.terminal),
        )
        .and(model.origin, "this model has no `collapse` line")
        .help(format!(
            "ask the maker and write `collapse …`; {} or more would allow this end",
            say::difference(batch.terminal.si_difference() * 2.0, &batch.terminal.unit, Round::Up)
        )),
    );
}

/// A terminal pressure that is hardly more than what the gauge may be wrong by.
fn in_the_noise(plan: &Plan, test: &Test, index: usize, batch: &Batch, findings: &mut Findings) {
    let Some(gauge) = instruments::gauge_of(plan, test, index, &batch.reading) else { return };
    let terminal = batch.terminal.si_difference();
    let span = gauge.range.window.width();
    let Some(within) = instruments::uncertainty(&gauge.accuracy, terminal, span) else { return };
    // A rise is the difference of two readings, each as wrong as the other.
    let within = if batch.baseline.is_some() { within * std::f64::consts::SQRT_2 } else { within };
    let times = say::rule(plan, "terminal-certainty", 3.0);
    if !below(terminal, times.value * within) {
        return;
    }
    let unit = &batch.terminal.unit;
    findings.add(
        finding(
            Code::TerminalInNoise,
            format!(
                "the loop ends at {}, and `{}` may be wrong by {} there",
                batch.terminal,
                gauge.name,
                say::difference(within, unit, Round::Near)
            ),
            batch.origin,
            "this end",
        )
        .and(gauge.origin, "its accuracy")
        .and_maybe(times.origin, "the rule that says how many times as much it has to be")
        .help(format!(
            "end the loop at {} or more, or read with a gauge that is true to {}",
            say::difference(times.value * within, unit, Round::Up),
            say::difference(terminal / times.value / std::f64::consts::SQRT_2, unit, Round::Down)
        )),
    );
}

fn marked(mark: &Mark) -> &'static str {
    match mark {
        Mark::FromMemory => ", from memory",
        _ => "",
    }
}
