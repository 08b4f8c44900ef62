//! `loopleaf reckon clean`: turnovers and minutes of a polishing filter.

use clap::Args;

use super::input::{joined, measured, range, shares, si};
use super::view::{Answer, Refusal, Value, percent, sig};
use crate::quantity::{Dimension, Kind};
use crate::trade::loop_balance::Loop;
use crate::trade::ratio::efficiency_from_ratio;

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon clean 20000 to 100 per mL --volume 20 L --flow 40 L/min --efficiency 98 %
  loopleaf reckon clean 10 to 0.1 mg/L --volume 25 L --flow 30 L/min --beta 75
  loopleaf reckon clean 500 to 50 per mL --volume 20 L --flow 40 L/min --beta 75 --floor 5 per mL";

const QUESTION: &str = "clean";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// From what, and down to what: counts per volume at one size, or dust per volume
    #[arg(required = true, num_args = 1.., value_name = "DIRTY to CLEAN")]
    levels: Vec<String>,
    /// Oil in circulation
    #[arg(long, num_args = 1.., required = true, value_name = "VOLUME")]
    volume: Vec<String>,
    /// Flow through the polishing filter
    #[arg(long, num_args = 1.., required = true, value_name = "FLOW")]
    flow: Vec<String>,
    /// Single-pass efficiency of the polishing filter at that size: 98 %, or 90 % to 98 %
    #[arg(long, num_args = 1.., value_name = "SHARE", required_unless_present = "beta")]
    efficiency: Vec<String>,
    /// Or its filtration ratio
    #[arg(long, value_name = "RATIO", conflicts_with = "efficiency")]
    beta: Option<f64>,
    /// The level that dust from air, wear and dead legs holds the loop at, as found by a blank
    #[arg(long, num_args = 1.., value_name = "LEVEL")]
    floor: Vec<String>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let (target, start) = levels(&joined(&options.levels))?;
    let volume = measured("the volume", &joined(&options.volume), Kind::Volume)?;
    let flow = measured("the flow", &joined(&options.flow), Kind::Flow)?;
    let (least, most, said) = efficiencies(options)?;
    let floor = match joined(&options.floor).as_str() {
        "" => 0.0,
        text => {
            let floor = super::input::number_and_unit("the floor", text)?;
            if floor.unit.dimension != start.unit.dimension {
                return Err(Refusal::new(
                    format!("the floor `{text}` and the levels measure different things"),
                    "the blank tells how clean this loop can be, in the same terms as the levels",
                    format!("write it like the levels, as in `--floor 40 {}`", start.unit),
                ));
            }
            floor.si()
        }
    };
    if floor >= target.si() {
        return Err(Refusal::new(
            format!("the floor lies at or above {target}"),
            "the loop never becomes cleaner than what its dead legs, air and wear give back",
            "find where the dust comes from (dead legs, breather, valve), or aim above the floor",
        ));
    }
    let remaining = (target.si() - floor) / (start.si() - floor);
    let of = |efficiency: f64| -> Result<(f64, f64, f64), Refusal> {
        let circuit = Loop::new(si::volume(volume.si()), si::flow(flow.si()), si::part(efficiency)).map_err(unusual)?;
        let turnovers = circuit.turnovers_to_clean(si::part(remaining)).map_err(unusual)?;
        let time = circuit.time_to_clean(si::part(remaining)).map_err(unusual)?;
        Ok((turnovers.value, time.value, circuit.turnover_time().value))
    };
    // The weaker filter takes longer.
    let ((slow, slow_time, turnover), (quick, quick_time, _)) = (of(least)?, of(most)?);
    let known = least == most;
    let minutes = |seconds: f64| sig(seconds / 60.0, 3);
    let headline = if known {
        format!("{} turnovers, {} min at {}, from {start} to {target}", sig(slow, 3), minutes(slow_time), flow.quantity)
    } else {
        format!(
            "{} to {} turnovers, {} to {} min at {}, from {start} to {target}",
            sig(quick, 3),
            sig(slow, 3),
            minutes(quick_time),
            minutes(slow_time),
            flow.quantity
        )
    };
    let relative = volume.relative().hypot(flow.relative());
    let ends = (quick_time / 60.0 * (1.0 - relative), slow_time / 60.0 * (1.0 + relative));
    let middle = |a: f64, b: f64| f64::midpoint(a, b);
    let mut turnovers = Value::new("turnovers", middle(quick, slow), "", 3);
    let mut time = Value::new("time", middle(quick_time, slow_time) / 60.0, "min", 3);
    if !known {
        turnovers = turnovers.between(quick, slow, "by the efficiency:", 3);
    }
    if !known || relative > 0.0 {
        time = time.between(ends.0, ends.1, "by what is known of volume, flow and efficiency:", 3);
    }
    Ok(Answer::new(QUESTION, headline)
        .value(turnovers)
        .value(time)
        .value(Value::new("one turnover", turnover / 60.0, "min", 3))
        .value(Value::said("what may remain", percent(remaining, 2)))
        .used("from", start.to_string())
        .used("to", target.to_string())
        .used("volume", volume.said)
        .used("flow", flow.said)
        .used("efficiency, single pass", said)
        .used("floor", if floor > 0.0 { joined(&options.floor) } else { "none given: taken as zero".to_owned() })
        .formula("turnovers = ln[(C₀ − floor)/(C − floor)]/E;  minutes = turnovers × V/Q", "mass balance of a mixed tank; common practice")
        .limit("The tank is taken as mixed well; dead legs empty slowly and put dust back: exercise every valve, and let a count decide, not the clock.")
        .limit("E is that at the smallest size that counts. A polishing filter that is full, torn or coarser than that size cleans nothing."))
}

/// The cleaner and the dirtier level; either may be typed first, for the way from dirty to clean is the only one there is.
fn levels(text: &str) -> Result<(crate::quantity::Quantity, crate::quantity::Quantity), Refusal> {
    let ends = range("the way from dirty to clean", text, None).or_else(|refusal| match text.split_once(" to ") {
        Some((from, to)) => {
            let unit_of_to = to.split_once(' ').map_or("", |(_, unit)| unit);
            let from_number = from.split(' ').next().unwrap_or(from);
            let to_number = to.split(' ').next().unwrap_or(to);
            let unit = from.split_once(' ').map_or(unit_of_to, |(_, unit)| unit);
            range("the way from dirty to clean", &format!("{to_number} to {from_number} {unit}"), None)
        }
        None => Err(refusal),
    })?;
    let (low, high) = ends;
    let dimension = high.unit.dimension;
    if ![Dimension::COUNT_CONCENTRATION, Dimension::DENSITY].contains(&dimension) || low.unit.dimension != dimension {
        return Err(Refusal::new(
            format!("`{text}` is no way from one level of dust to another"),
            "how long it takes follows from how many times cleaner the oil must become",
            "write for example `20000 to 100 per mL`, or `10 to 0.1 mg/L`",
        ));
    }
    if !(low.si() > 0.0 && low.si() < high.si()) {
        return Err(Refusal::new(
            format!("`{text}` ends at zero or where it began"),
            "nothing ever clears to zero: what is left halves and halves",
            "write the level that is clean enough for the next test, as in `20000 to 100 per mL`",
        ));
    }
    Ok((low, high))
}

fn efficiencies(options: &Options) -> Result<(f64, f64, String), Refusal> {
    if let Some(beta) = options.beta {
        let efficiency = efficiency_from_ratio(beta).ok().filter(|efficiency| *efficiency > 0.0).ok_or_else(|| {
            Refusal::new(
                format!("a filtration ratio of {beta} removes nothing"),
                "at 1 as many particles leave the filter as enter it",
                "write the ratio at the smallest size that counts, as in `--beta 75`",
            )
        })?;
        return Ok((
            efficiency,
            efficiency,
            format!("{} (β = {beta})", super::view::efficiency(beta, super::view::nines(beta))),
        ));
    }
    let text = joined(&options.efficiency);
    let (least, most) = shares("the efficiency", &text)?;
    Ok((least, most, text))
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(
        error,
        "the time follows from volume, flow and efficiency, all above zero",
        "check the number and its unit",
    )
}
