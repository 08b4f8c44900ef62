//! `loopleaf reckon weigh`: a dose weighed by difference, and the smallest that is known well enough.

use clap::Args;

use super::input::{joined, quantity, share, si};
use super::view::{Answer, DUST, Refusal, Value, percent, share_said, sig, sig_up, span};
use crate::quantity::Kind;
use crate::trade::dust::weighing_uncertainty;

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon weigh 0.8 g --readability 0.001 g
  loopleaf reckon weigh 0.8 g --readability 0.01 g --repeatability 0.01 g
  loopleaf reckon weigh 200 mg --readability 1 mg --wanted 0.5 %";

const QUESTION: &str = "weigh";
/// Covers about 95 %.
const K: f64 = 2.0;

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The dose: full boat less empty boat
    #[arg(required = true, num_args = 1.., value_name = "DOSE")]
    dose: Vec<String>,
    /// The last step of the balance's display
    #[arg(long, num_args = 1.., required = true, value_name = "MASS")]
    readability: Vec<String>,
    /// Standard deviation of repeated weighings, from its data sheet or your own ten
    #[arg(long, num_args = 1.., value_name = "MASS")]
    repeatability: Vec<String>,
    /// How well a dose is to be known (k = 2)
    #[arg(long, num_args = 1.., value_name = "SHARE", default_value = "1 %")]
    wanted: Vec<String>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let dose = quantity("the dose", &joined(&options.dose), Kind::Mass)?;
    let readability = quantity("the readability", &joined(&options.readability), Kind::Mass)?;
    let repeatability = match joined(&options.repeatability).as_str() {
        "" => None,
        text => Some(quantity("the repeatability", text, Kind::Mass)?),
    };
    let wanted = share("what is wanted", &joined(&options.wanted))?;
    if dose.si() <= 0.0 || wanted <= 0.0 {
        return Err(Refusal::new(
            "the dose and what is wanted must be above zero",
            "nothing is known to a share of nothing",
            "write the dose as weighed, as in `0.8 g`",
        ));
    }
    let u = weighing_uncertainty(si::mass(readability.si()), si::mass(repeatability.as_ref().map_or(0.0, |s| s.si())))
        .map_err(|error| {
            Refusal::new(
                error,
                "the last step of the display is the least that a weighing can be off",
                "write it as in `--readability 0.001 g`",
            )
        })?;
    let unit = &dose.unit;
    let in_unit = |si: f64| unit.from_si(si);
    let expanded = K * u.value;
    let relative = expanded / dose.si();
    if relative >= 1.0 {
        return Err(Refusal::new(
            format!("{dose} is weighed to ± {} {unit}, no better than nothing", sig(in_unit(expanded), 2)),
            "such a dose may be twice what was meant, or none",
            format!("take a finer balance, or a dose of {} {unit} or more", sig_up(in_unit(expanded / wanted), 2)),
        ));
    }
    let smallest = expanded / wanted;
    let mut answer = Answer::new(
        QUESTION,
        format!(
            "{} ± {} {unit} (k = 2), that is {}; {} needs {} {unit} or more",
            dose.number,
            sig(in_unit(expanded), 2),
            percent(relative, 2),
            share_said(wanted),
            sig_up(in_unit(smallest), 2)
        ),
    );
    let mut value = Value::new("dose", dose.value, &unit.text, dose.number.len().clamp(2, 6));
    value.low = Some(super::view::tidy(in_unit(dose.si() - expanded)));
    value.high = Some(super::view::tidy(in_unit(dose.si() + expanded)));
    value.text = format!(
        "{dose}  (k = 2: {})",
        span(in_unit(dose.si() - expanded), in_unit(dose.si() + expanded), &unit.text, 4)
    );
    answer = answer
        .value(value)
        .value(
            Value::new("standard uncertainty", in_unit(u.value), &unit.text, 2)
                .and(&format!("  ({} of the dose)", percent(u.value / dose.si(), 2))),
        )
        .value(
            Value::new("expanded, k = 2", in_unit(expanded), &unit.text, 2)
                .and(&format!("  ({} of the dose)", percent(relative, 2))),
        )
        .value(
            Value::new(format!("smallest dose for {}", share_said(wanted)), in_unit(smallest), &unit.text, 2)
                .and(" (k = 2)"),
        );
    if relative > wanted {
        answer = answer.warn(format!(
            "this dose is known to {} only: weigh {} {unit} or more at once, or take a balance that reads to {} {unit}",
            percent(relative, 2),
            sig_up(in_unit(smallest), 2),
            sig(in_unit(readability.si() * wanted / relative), 1)
        ));
    }
    answer = answer.used("dose", dose.to_string()).used("readability", readability.to_string());
    answer = match &repeatability {
        Some(s) => answer.used("repeatability", s.to_string()),
        None => answer
            .used("repeatability", "none given: taken as zero")
            .limit("Without the balance's repeatability this is the least: on a bench with draughts it is often one to three steps of the display."),
    };
    Ok(answer
        .formula("u² = 2 (d²/12 + s²): two readings, each anywhere within its last step d, with repeatability s", "JCGM 100:2008 (rectangular distribution of a digital reading)")
        .limit("The balance's calibration falls out of a small difference. Dust left in the boat, on the spoon or in the air does not: weigh the boat back.")
        .caution(DUST))
}
