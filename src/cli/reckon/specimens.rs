//! `loopleaf reckon specimens`: how many of a model it takes to see a difference, or what so many can show.

use clap::Args;

use super::input::{bare, joined, number_and_unit, share};
use super::view::{Answer, Refusal, Value, percent, share_said, sig, sig_up};
use crate::quantity::Quantity;
use crate::trade::comparison::{ComparisonError, power, smallest_difference, specimens_needed};
use crate::trade::confidence::Confidence;

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon specimens --see 10 % --spread 5 %
  loopleaf reckon specimens --have 3 --spread 5 % --models 6
  loopleaf reckon specimens --see 2 kPa --spread 1.1 kPa --models 4 --power 90 %";

const QUESTION: &str = "specimens";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The true difference between two models that is to be seen: 10 % of the mean, or in the unit of the reading
    #[arg(long, num_args = 1.., value_name = "DIFFERENCE", required_unless_present = "have")]
    see: Vec<String>,
    /// Specimens of each model that there are
    #[arg(long, value_name = "NUMBER", conflicts_with = "see")]
    have: Option<String>,
    /// Standard deviation between specimens of one model: in % of the mean, or in the unit of the reading
    #[arg(long, num_args = 1.., required = true, value_name = "SPREAD")]
    spread: Vec<String>,
    /// How many models are compared, each with each
    #[arg(long, value_name = "NUMBER", default_value = "2")]
    models: String,
    /// How sure a difference must be before it is called one, for all pairs together
    #[arg(long, num_args = 1.., value_name = "SHARE", default_value = "95 %")]
    confidence: Vec<String>,
    /// How often a difference that is there is to be seen
    #[arg(long, num_args = 1.., value_name = "SHARE", default_value = "80 %")]
    power: Vec<String>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let spread = number_and_unit("the spread", &joined(&options.spread))?;
    let models = whole("the number of models", &options.models, 2, 100)?;
    let wanted = share("the power", &joined(&options.power))?;
    let sure = share("the confidence", &joined(&options.confidence))?;
    let confidence = Confidence::new(sure).map_err(|error| {
        Refusal::new(error, "a statement that is quite sure is never made", "write for example `--confidence 95 %`")
    })?;
    let pairs = models * (models - 1) / 2;
    let each = confidence.shared_by(pairs);
    let answer = match &options.have {
        Some(have) => shown(whole("the number of specimens", have, 2, 100_000)?, &spread, models, each, wanted)?,
        None => needed(&joined(&options.see), &spread, models, each, wanted)?,
    };
    let compared = if pairs == 1 {
        "one pair".to_owned()
    } else {
        format!("{models} models, {pairs} pairs, each held to {}", percent(each.probability(), 4))
    };
    Ok(answer
        .used("spread between specimens of a model", format!("{spread} (standard deviation)"))
        .used("compared", compared)
        .used("confidence, all pairs together", share_said(sure))
        .used("power", format!("{}: so often is a difference of that size seen", share_said(wanted)))
        .formula(
            "two-sided t test of two means on the pooled spread; power by the non-central t law; the error shared among the pairs",
            "the non-central t law, textbook; Bonferroni (on the safe side)",
        )
        .limit("Whole specimens, drawn at random: readings repeated on one specimen do not count. Specimens of one carton may be more alike than those of another.")
        .limit("The spread must be that of one model, all of the bench's own scatter in it. From few specimens it is known badly itself: by chi-squared its 95 % ends lie a factor of 12 apart from 3 specimens, and of 2.7 from 10."))
}

fn needed(see: &str, spread: &Quantity, models: usize, confidence: Confidence, wanted: f64) -> Result<Answer, Refusal> {
    let difference = number_and_unit("the difference", see)?;
    alike(&difference, spread)?;
    let (delta, sd) = (difference.si_difference(), spread.si_difference());
    let n = specimens_needed(delta, sd, models, confidence, wanted).map_err(unusual)?;
    let seen = power(delta / sd, models, n, confidence).map_err(unusual)?;
    let fewer = if n > 2 { Some(power(delta / sd, models, n - 1, confidence).map_err(unusual)?) } else { None };
    let mut answer = Answer::new(
        QUESTION,
        format!("{n} specimens of each model show a difference of {difference}, {} times in 100", sig(seen * 100.0, 2)),
    )
    .value(Value::exact("specimens of each model", n as f64, "", 6).and(&format!("  ({} in all)", n * models)))
    .value(Value::new("seen with so many", seen * 100.0, "%", 3));
    if let Some(fewer) = fewer {
        answer = answer.value(Value::new(format!("with {} of each", n - 1), fewer * 100.0, "%", 3));
    }
    Ok(answer.used("difference", difference.to_string()))
}

fn shown(
    have: usize,
    spread: &Quantity,
    models: usize,
    confidence: Confidence,
    wanted: f64,
) -> Result<Answer, Refusal> {
    let sd = spread.si_difference();
    let least = smallest_difference(sd, models, have, confidence, wanted).map_err(unusual)?;
    let in_unit = least / sd * spread.value;
    let unit = &spread.unit;
    Ok(Answer::new(
        QUESTION,
        format!(
            "{have} specimens of each model show a difference of {} {unit} or more; smaller ones end as ties",
            sig_up(in_unit, 2)
        ),
    )
    .value(Value::new("smallest difference seen", in_unit, &unit.text, 3))
    .value(Value::new("in standard deviations", least / sd, "", 3))
    .used("specimens of each model", have.to_string()))
}

/// A difference and a spread, both in one unit or both in per cent of the mean.
fn alike(difference: &Quantity, spread: &Quantity) -> Result<(), Refusal> {
    let both = difference.unit.dimension == spread.unit.dimension
        && difference.unit.text.is_empty() == spread.unit.text.is_empty();
    if both {
        return Ok(());
    }
    Err(Refusal::new(
        format!("the difference is {difference} and the spread {spread}"),
        "how many specimens it takes follows from the one over the other",
        "write both in per cent of the mean, or both in the unit of the reading, as in `--see 2 kPa --spread 1.1 kPa`",
    ))
}

fn whole(name: &str, text: &str, least: usize, most: usize) -> Result<usize, Refusal> {
    let value = bare(name, text, "3")?;
    if value.fract() == 0.0 && value >= least as f64 && value <= most as f64 {
        return Ok(value as usize);
    }
    Err(Refusal::new(
        format!("{name} is {text}; it lies from {least} to {most}"),
        "with one specimen of a model nothing is known of its spread, and with one model there is nothing to compare",
        format!("write a whole number, as in `{}`", least.max(3)),
    ))
}

fn unusual(error: ComparisonError) -> Refusal {
    Refusal::new(
        error,
        "the smaller a difference beside the spread, the more specimens it takes, with its square",
        "check both numbers and their units; to see a smaller difference make the bench's own scatter smaller first",
    )
}
