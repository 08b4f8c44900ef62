//! Calibrations: whether there is one, and whether it holds for the campaign.

use super::in_use;
use crate::check::say;
use crate::check::{Also, Findings, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Instrument, Plan};

/// Calibrations that end too early, and instruments that were never calibrated.
pub(in crate::check) fn calibrations(plan: &Plan, findings: &mut Findings) {
    let campaign = &plan.campaign;
    let slack = say::rule(plan, "calibration-slack", 7.0 * 86_400.0);
    for (name, used) in in_use(plan) {
        let Some(instrument) = plan.instruments.get(name) else { continue };
        decides(plan, instrument, findings);
        let Some(calibration) = &instrument.calibration else {
            // Dates that could not be read have been reported already.
            if instrument.indicator_only.is_none() && !instrument.calibration_written {
                findings.add(
                    finding(
                        Code::NeverCalibrated,
                        format!("`{name}` has no calibration, and is not called an indicator"),
                        instrument.origin,
                        "no `calibrated on` line",
                    )
                    .and(used, "read here")
                    .help("add its `calibrated on …, valid until …`, or `indicator only, \"…\"` with the reason"),
                );
            }
            continue;
        };
        if let Some(starts) = campaign.starts.as_ref().filter(|starts| calibration.on > **starts) {
            findings.add(
                finding(
                    Code::CalibrationBegins,
                    format!("`{name}` is calibrated on {}, after the campaign starts on {starts}", calibration.on),
                    instrument.origin,
                    format!("calibrated on {}", calibration.on),
                )
                .and(campaign.origin, format!("the campaign starts on {starts}"))
                .and(used, "read here")
                .help(format!("have it calibrated before {starts}, start the campaign later, or correct the date")),
            );
        }
        let (Some(end), word) = (campaign.ends.as_ref().or(campaign.starts.as_ref()), "ends") else { continue };
        let days = days_between(end, &calibration.valid_until);
        let slack_days = (slack.value / 86_400.0).round() as i64;
        let severity = match days {
            Some(days) if days < 0 => Severity::Error,
            Some(days) if days < slack_days => Severity::Warning,
            _ => continue,
        };
        let message = if severity == Severity::Error {
            format!("the calibration of `{name}` ends on {}, before the campaign does", calibration.valid_until)
        } else {
            format!(
                "the calibration of `{name}` ends on {}, less than {slack_days} days after the campaign",
                calibration.valid_until
            )
        };
        findings.add(
            finding(
                Code::CalibrationEnds,
                message,
                instrument.origin,
                format!("valid until {}", calibration.valid_until),
            )
            .and(campaign.origin, format!("the campaign {word} on {end}"))
            .and(used, "read here")
            .and_maybe(slack.origin.filter(|_| severity == Severity::Warning), "the rule that sets the days to spare")
            .severity(severity)
            .help(format!("have it calibrated to a date after {end}, or end the campaign earlier")),
        );
    }
}

/// An indicator by which something is held, or a loop is ended.
fn decides(plan: &Plan, instrument: &Instrument, findings: &mut Findings) {
    let Some(reason) = &instrument.indicator_only else { return };
    for test in &plan.tests {
        for step in &test.steps {
            if matches!(step.action, Action::Zero { .. }) {
                continue;
            }
            for (reading, numeric, name) in super::numbers(step) {
                if name != instrument.name {
                    continue;
                }
                let ends = step
                    .round
                    .and_then(|(index, _)| test.batches.get(index))
                    .is_some_and(|batch| batch.reading == reading.name);
                let what = if ends {
                    "a loop is ended by it"
                } else if numeric.window.is_some() {
                    "a set-point is held by it"
                } else {
                    continue;
                };
                findings.add(
                    finding(
                        Code::NeverCalibrated,
                        format!("`{name}` is an indicator only, and {what}"),
                        reading.origin,
                        "decided here",
                    )
                    .and(instrument.origin, format!("an indicator: {reason}"))
                    .severity(Severity::Warning)
                    .why("What is held or ended by it is known no better than the indicator is, and nobody knows how well that is.")
                    .help("name a calibrated instrument here, and keep the indicator for what only shows a trend"),
                );
                return;
            }
        }
    }
}

pub(in crate::check) fn days_between(from: &str, to: &str) -> Option<i64> {
    let (from, to) = (from.parse::<jiff::civil::Date>().ok()?, to.parse::<jiff::civil::Date>().ok()?);
    Some(from.until(to).ok()?.get_days().into())
}
