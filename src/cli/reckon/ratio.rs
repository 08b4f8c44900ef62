//! `loopleaf reckon ratio`: filtration ratio and efficiency from raw counts.

use clap::Args;

use super::input::{bare, count, joined, quantity, share, si};
use super::view::{Answer, Refusal, Value, efficiency, nines, share_said, sig, sig_down};
use crate::quantity::Kind;
use crate::trade::confidence::Confidence;
use crate::trade::counting::Counted;
use crate::trade::ratio::{BackgroundPair, RatioInterval, filtration_ratio, interval, lower_bound, net_ratio};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon ratio 1000 10
  loopleaf reckon ratio 5210 0 --volume 10 mL --volume-down 25 mL --dilution 20
  loopleaf reckon ratio 1000 30 --background-up 12 --background-down 9";

const QUESTION: &str = "ratio";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// Particles really counted upstream, at and above one size
    #[arg(value_name = "UPSTREAM")]
    up: String,
    /// Particles really counted downstream
    #[arg(value_name = "DOWNSTREAM")]
    down: String,
    /// Volume counted, of the liquid that was in the counter; both sides alike unless --volume-down says otherwise
    #[arg(long, num_args = 1.., value_name = "VOLUME")]
    volume: Vec<String>,
    /// Volume counted downstream
    #[arg(long, num_args = 1.., value_name = "VOLUME", requires = "volume")]
    volume_down: Vec<String>,
    /// The upstream sample was diluted: total volume over sample volume
    #[arg(long, value_name = "FACTOR")]
    dilution: Option<String>,
    /// The downstream sample was diluted
    #[arg(long, value_name = "FACTOR")]
    dilution_down: Option<String>,
    /// Particles counted in the background before the dose, upstream, in the same volume
    #[arg(long, value_name = "COUNT", requires = "background_down")]
    background_up: Option<String>,
    /// The same downstream
    #[arg(long, value_name = "COUNT", requires = "background_up")]
    background_down: Option<String>,
    /// How sure the interval is
    #[arg(long, num_args = 1.., value_name = "SHARE", default_value = "95 %")]
    confidence: Vec<String>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let (up, down) = (count("the upstream count", &options.up)?, count("the downstream count", &options.down)?);
    let volume = volume("the volume", &options.volume)?;
    let volume_down = if options.volume_down.is_empty() {
        volume
    } else {
        self::volume("the downstream volume", &options.volume_down)?
    };
    let dilutions = (factor(options.dilution.as_deref())?, factor(options.dilution_down.as_deref())?);
    // Of a diluted sample, so much of the sample itself was counted.
    let counted = |particles: u64, volume: f64, dilution: f64| {
        Counted::new(particles, si::volume(volume / dilution)).map_err(unusual)
    };
    let (counted_up, counted_down) = (counted(up, volume, dilutions.0)?, counted(down, volume_down, dilutions.1)?);
    let confidence = Confidence::new(share("the confidence", &joined(&options.confidence))?).map_err(|error| {
        Refusal::new(error, "a statement that is quite sure says nothing", "write for example `--confidence 95 %`")
    })?;
    let answer = match (&options.background_up, &options.background_down) {
        (Some(background_up), Some(background_down)) => {
            let background =
                |text: &str, volume: f64, dilution: f64| counted(count("the background", text)?, volume, dilution);
            let up = BackgroundPair { sample: counted_up, background: background(background_up, volume, dilutions.0)? };
            let down = BackgroundPair {
                sample: counted_down,
                background: background(background_down, volume_down, dilutions.1)?,
            };
            net(up, down, confidence)?.used(
                "background",
                format!("{background_up} upstream, {background_down} downstream, in the same volumes"),
            )
        }
        _ => gross(counted_up, counted_down, confidence)?,
    };
    let mut answer = answer.used("counted", format!("{up} upstream, {down} downstream"));
    if !options.volume.is_empty() {
        answer = answer.used(
            "volumes",
            format!("{} mL upstream, {} mL downstream", sig(volume * 1e6, 4), sig(volume_down * 1e6, 4)),
        );
    } else {
        answer = answer.used("volumes", "taken as equal, since none was given");
    }
    if dilutions != (1.0, 1.0) {
        answer = answer.used("dilution", format!("{} upstream, {} downstream", dilutions.0, dilutions.1));
    }
    Ok(answer
        .limit("Counting alone is in the interval: not the mixing, the bottle, the counter's size setting or a decaying challenge.")
        .limit("Several pairs of one test: add their counts, or average the counts; never average ratios (58 % too high on ordinary data)."))
}

fn gross(up: Counted, down: Counted, confidence: Confidence) -> Result<Answer, Refusal> {
    let sure = share_said(confidence.probability());
    let formula = |answer: Answer| {
        answer
            .formula(
                "β = (upstream count/volume)/(downstream count/volume);  E = 1 − 1/β",
                "ISO 16889 (relations in public text)",
            )
            .formula(
                "exact limits: the upstream share of all particles as a binomial share, turned back into a ratio",
                "Przyborowski and Wilenski (1940); Clopper and Pearson (1934)",
            )
    };
    if up.count > 0 && down.count == 0 {
        let bound = lower_bound(up, down, confidence).map_err(unusual)?;
        let answer = at_least(bound, &format!("one-sided, {sure}"), "none was counted downstream");
        return Ok(formula(answer).limit(
            "With nothing downstream there is no value, only this bound. A larger volume downstream raises it; nothing makes it infinite.",
        ));
    }
    let beta = filtration_ratio(up, down).map_err(unusual)?;
    let RatioInterval { low, high } = interval(up, down, confidence).map_err(unusual)?;
    let mut answer = between(beta, low, high.unwrap_or(f64::INFINITY), &format!("{sure}, counting alone"), &sure);
    if down.count < 20 {
        answer = answer.limit(format!(
            "{} particles downstream carry this ratio: count a larger volume to narrow it.",
            down.count
        ));
    }
    Ok(formula(answer))
}

/// A ratio that has an interval.
fn between(beta: f64, low: f64, high: f64, how: &str, sure: &str) -> Answer {
    let ratio = format!("β = {} (between {} and {}; {how})", sig(beta, 3), sig(low, 3), sig(high, 3));
    let decimals = nines(if high.is_finite() { high } else { beta });
    let value = Value::new("filtration ratio β", beta, "", 3).between(low, high, &format!("{sure}:"), 3);
    if beta < 1.0 {
        return Answer::new(QUESTION, format!("{ratio}: more particles leave than enter"))
            .warn("more downstream than upstream: the two may be swapped, or the filter, a valve or a bottle sheds; an efficiency says nothing here")
            .value(value);
    }
    let share = |ratio: f64| (1.0 - 1.0 / ratio) * 100.0;
    let mut part = Value::new("efficiency E", share(beta), "%", 4).between(share(low), share(high), "", 4);
    part.text = format!(
        "{}  ({sure}: {} to {})",
        efficiency(beta, decimals),
        efficiency(low, decimals),
        efficiency(high, decimals)
    );
    let answer = Answer::new(QUESTION, format!("{ratio}, E = {}", efficiency(beta, decimals))).value(value).value(part);
    if low <= 1.0 { answer.warn(NOTHING_SHOWN) } else { answer }
}

/// A ratio that has a lower bound only.
fn at_least(bound: f64, how: &str, why: &str) -> Answer {
    let mut value = Value::new("β at least", bound, "", 3);
    value.text = sig_down(bound, 3);
    value.low = value.value;
    let ratio = format!("β is more than {}", sig_down(bound, 3));
    if bound <= 1.0 {
        return Answer::new(QUESTION, format!("{ratio} ({how}): {why}")).warn(NOTHING_SHOWN).value(value);
    }
    let mut share = Value::new("E at least", (1.0 - 1.0 / bound) * 100.0, "%", 4);
    share.text = efficiency(bound, nines(bound));
    share.low = share.value;
    Answer::new(QUESTION, format!("{ratio} and E more than {} ({how}): {why}", efficiency(bound, nines(bound))))
        .value(value)
        .value(share)
}

const NOTHING_SHOWN: &str =
    "the interval reaches 1: these counts do not show that the filter removes anything at this size";

fn net(up: BackgroundPair, down: BackgroundPair, confidence: Confidence) -> Result<Answer, Refusal> {
    let sure = share_said(confidence.probability());
    let (beta, RatioInterval { low, high }) = net_ratio(up, down, confidence).map_err(|error| {
        Refusal::new(
            error,
            "a background that is as large as the count leaves nothing to make a ratio of",
            "check that sample and background belong together, clean the rig further, or give a larger dose",
        )
    })?;
    let answer = match (beta, high) {
        (Some(beta), Some(high)) => between(beta, low, high, &format!("{sure}, background taken off"), &sure),
        (beta, _) => {
            let value = beta.map_or(String::new(), |beta| format!("; by the numbers alone it is {}", sig(beta, 3)));
            at_least(low, &sure, &format!("downstream is not told from its background{value}"))
        }
    };
    Ok(answer
        .formula("β = (upstream − background)/(downstream − background), by volume;  E = 1 − 1/β", "ISO 16889 (relations in public text)")
        .formula(
            "limits of each net count from the exact limits of both its counts; the ratio between their ends, with half the error each",
            "Zou and Donner (2008); Bonferroni; no standard's clause",
        ))
}

fn volume(name: &str, words: &[String]) -> Result<f64, Refusal> {
    if words.is_empty() {
        return Ok(1e-6);
    }
    let volume = quantity(name, &joined(words), Kind::Volume)?.si();
    if volume > 0.0 {
        return Ok(volume);
    }
    Err(Refusal::new(
        format!("{name} is not above zero"),
        "a count is what was seen in a volume",
        "write the volume that passed the sensor, as in `--volume 10 mL`",
    ))
}

fn factor(text: Option<&str>) -> Result<f64, Refusal> {
    let Some(text) = text else { return Ok(1.0) };
    let value = bare("the dilution", text, "20")?;
    if (1.0..=1e6).contains(&value) {
        return Ok(value);
    }
    Err(Refusal::new(
        format!("the dilution is {text}"),
        "it is the total volume over that of the sample, so 1 or more",
        format!(
            "for 5 mL of sample made up to 100 mL write `--dilution 20`{}",
            if value > 0.0 && value < 1.0 {
                format!("; {text} turned over is {}", sig(1.0 / value, 4))
            } else {
                String::new()
            }
        ),
    ))
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(
        error,
        "a ratio compares particles upstream with those downstream",
        "check which count is which; with nothing upstream take a finer size or a larger dose",
    )
}
