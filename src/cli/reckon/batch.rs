//! `loopleaf reckon batch`: what is left of a dose, when a sample still means something, and what a counter would see.

use clap::Args;

use super::No;
use super::input::{Measured, grade, joined, measured, quantity, shares, si};
use super::view::{Answer, DUST, Refusal, Value, percent, sig};
use crate::quantity::Kind;
use crate::trade::loop_balance::Loop;

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon batch 0.8 g --volume 20 L --flow 10 L/min --efficiency 90 %
  loopleaf reckon batch 0.2 g ± 1 % --volume 20 L --flow 10 L/min --efficiency 80 to 95 %
  loopleaf reckon batch 200 mg --volume 20 L --flow 10 L/min --efficiency 90 % --dust a3-medium";

const QUESTION: &str = "batch";
/// A sample between these parts of τ still shows the challenge. Common practice.
const EARLIEST: f64 = 0.3;
const LATEST: f64 = 1.0;
/// Both bottles of a pair within this part of τ. Common practice.
const PAIR: f64 = 0.2;
/// Turnovers until a tank is mixed. From memory.
const MIXING: f64 = 3.0;
/// A time constant in which a pair of bottles is hardly filled, s.
const SHORT: f64 = 60.0;
/// Sizes that counters report, µm.
const SIZES: [f64; 6] = [4.0, 6.0, 10.0, 14.0, 20.0, 30.0];
/// Many bottle counters see two particles as one from here on, per mL. From memory.
const CROWDED: f64 = 10_000.0;

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The dust that was put in
    #[arg(required = true, num_args = 1.., value_name = "DOSE")]
    dose: Vec<String>,
    /// Oil in circulation
    #[arg(long, num_args = 1.., required = true, value_name = "VOLUME")]
    volume: Vec<String>,
    /// Flow through the filter under test
    #[arg(long, num_args = 1.., required = true, value_name = "FLOW")]
    flow: Vec<String>,
    /// Its single-pass efficiency, expected: 90 %, or 80 % to 95 %
    #[arg(long, num_args = 1.., required = true, value_name = "SHARE")]
    efficiency: Vec<String>,
    /// How much is left after this time
    #[arg(long, num_args = 1.., value_name = "TIME")]
    after: Vec<String>,
    /// The dust, for the particles it brings: a1-ultrafine, a2-fine, a3-medium, a4-coarse
    #[arg(long, value_name = "NAME")]
    dust: Option<String>,
}

struct Batch {
    dose: Measured,
    volume: Measured,
    flow: Measured,
    /// The middle of what is expected.
    efficiency: f64,
}

impl Batch {
    fn circuit(&self, efficiency: f64) -> Result<Loop, Refusal> {
        Loop::new(si::volume(self.volume.si()), si::flow(self.flow.si()), si::part(efficiency)).map_err(unusual)
    }

    fn level(&self, seconds: f64) -> Result<f64, Refusal> {
        let level = self.circuit(self.efficiency)?.after_batch(si::mass(self.dose.si()), si::time(seconds));
        Ok(level.map_err(unusual)?.value)
    }
}

pub(super) fn answer(options: &Options) -> Result<Answer, No> {
    let text = joined(&options.efficiency);
    let ends = shares("the efficiency", &text)?;
    let batch = Batch {
        dose: measured("the dose", &joined(&options.dose), Kind::Mass)?,
        volume: measured("the volume", &joined(&options.volume), Kind::Volume)?,
        flow: measured("the flow", &joined(&options.flow), Kind::Flow)?,
        efficiency: f64::midpoint(ends.0, ends.1),
    };
    let circuit = batch.circuit(batch.efficiency)?;
    let tau = circuit.time_constant().value;
    let turnover = circuit.turnover_time().value;
    let relative = batch.volume.relative().hypot(batch.flow.relative());
    // The quicker filter and the smaller turnover give the shorter τ.
    let short = turnover / ends.1 * (1.0 - relative);
    let long = turnover / ends.0 * (1.0 + relative);
    let start = batch.level(0.0)?;
    let milligrams = |si: f64| sig(si * 1e3, 3);
    let (first, last) = (EARLIEST * long, LATEST * short);
    let sampling = if first < last {
        format!("sample from {} to {} after switching over", time(first), time(last))
    } else {
        "no moment is right for every efficiency given: sample by a schedule and fit the decay".to_owned()
    };
    let mut answer =
        Answer::new(QUESTION, format!("{} mg/L at the start, τ = {}; {sampling}", milligrams(start), time(tau)));
    let known = ends.0 == ends.1 && relative == 0.0;
    let mut constant = Value::new("τ", tau, "s", 3);
    if !known {
        constant = constant.between(short, long, "by what is known of volume, flow and efficiency:", 3);
    }
    let mut at_start = Value::new("level at the start", start * 1e3, "mg/L", 3);
    let of_level = batch.dose.relative().hypot(batch.volume.relative());
    if of_level > 0.0 {
        at_start =
            at_start.between(start * 1e3 * (1.0 - of_level), start * 1e3 * (1.0 + of_level), "by dose and volume:", 3);
    }
    answer = answer
        .value(at_start)
        .value(constant)
        .value(Value::new("half-life", circuit.half_life().value, "s", 3))
        .value(Value::said("sample between", format!("{} and {}", time(first), time(last))))
        .value(Value::said("both bottles of a pair within", time(PAIR * tau)))
        .value(Value::said(
            "mix before that for",
            format!("{}, filter by-passed ({MIXING:.0} turnovers)", time(MIXING * turnover)),
        ));
    if first >= last {
        answer.values.retain(|value| value.name != "sample between");
    }
    if tau < SHORT {
        answer = answer.warn(format!(
            "τ is {}: two bottles are hardly filled before the challenge has gone; less flow or a larger volume gives more time",
            time(tau)
        ));
    }
    if let text @ [_, ..] = options.after.as_slice() {
        let after = quantity("the time", &joined(text), Kind::Time)?;
        let left = circuit.remaining(si::time(after.si())).map_err(unusual)?.value;
        let (fast, slow) = ((-after.si() / short).exp(), (-after.si() / long).exp());
        let mut value = Value::new(format!("left after {after}"), left * 100.0, "%", 3);
        if !known {
            value = value.between(fast * 100.0, slow * 100.0, "by volume, flow and efficiency:", 3);
        }
        answer = answer.value(value).value(Value::new("which is", batch.level(after.si())? * 1e3, "mg/L", 3));
        if after.si() > 3.0 * tau {
            answer = answer.warn(format!(
                "after {after} ({} τ) the challenge is gone: what a bottle shows then is the background",
                sig(after.si() / tau, 2)
            ));
        }
    }
    answer = table(answer, &batch, options, tau)?;
    answer = answer
        .used("dose", batch.dose.said.clone())
        .used("volume", batch.volume.said.clone())
        .used("flow", batch.flow.said.clone())
        .used("efficiency, single pass", if ends.0 == ends.1 { text } else { format!("{text}; the table takes {}", super::view::share_said(batch.efficiency)) })
        .formula("C(t) = (dose/V) e^(−t/τ),  τ = V/(Q E)", "mass balance of a mixed tank; common practice")
        .formula("sample from 0.3 τ to 1 τ, a pair within 0.2 τ: the challenge is still large, and the switch-over is past", "common practice, no source")
        .limit("The dose is mixed first, with the filter by-passed, for three turnovers or more (from memory); then the flow is switched over, and t counts from there.")
        .limit("Each size has its own E: fine dust stays longer than coarse, and τ at its size is V/(Q E) with that E.");
    Ok(answer.caution(DUST))
}

/// The course of the batch; with a dust, the counts as well.
fn table(mut answer: Answer, batch: &Batch, options: &Options, tau: f64) -> Result<Answer, No> {
    let moments = [0.0, 0.1, 0.3, 0.5, 1.0, 2.0, 3.0, 5.0];
    let grade = options.dust.as_deref().map(grade).transpose()?;
    let mut levels = Vec::new();
    for part in moments {
        levels.push((part, part * tau, batch.level(part * tau)?));
    }
    let Some(grade) = grade else {
        let rows = levels.iter().map(|(part, seconds, level)| {
            [format!("{part} τ"), time(*seconds), percent((-part).exp(), 3), sig(level * 1e3, 3)]
        });
        return Ok(answer.table(["at", "time", "left", "mg/L"], rows.collect()));
    };
    let mut rows = Vec::new();
    let mut most = 0.0_f64;
    for (part, seconds, level) in levels.iter().filter(|(part, ..)| [0.0, 0.3, 1.0, 3.0].contains(part)) {
        let mut row = [
            format!("{part} τ"),
            time(*seconds),
            sig(level * 1e3, 3),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ];
        for (cell, size) in row.iter_mut().skip(3).zip(SIZES) {
            let count = grade.per_millilitre(size * 1e-6, *level)?;
            most = most.max(count);
            *cell = sig(count, 2);
        }
        rows.push(row);
    }
    if most > CROWDED {
        answer = answer.warn(format!(
            "{} per mL at the finest size: many counters see two particles as one from about {} per mL on (from memory): dilute, and ask the laboratory for its limit",
            sig(most, 2),
            sig(CROWDED, 2)
        ));
    }
    Ok(answer
        .table(["at", "time", "mg/L", ">4 µm /mL", ">6 µm", ">10 µm", ">14 µm", ">20 µm", ">30 µm"], rows)
        .used("dust", format!("{}, sizes by volume measured by {}, middle of the limits; particle density {} kg/m³ (protocols/dusts.leaf)", grade.title, grade.method, sig(grade.density, 4)))
        .formula("particles = mass/density, in spheres, by the grade's size distribution", "geometry; the distribution as marked in protocols/dusts.leaf")
        .limit(format!("Counts of {} are right to a factor of two or so: particles are no spheres, a counter sees them otherwise, and one E is taken for every size.", grade.name)))
}

/// A time as a stop-watch shows it.
fn time(seconds: f64) -> String {
    match seconds {
        s if s < 100.0 => format!("{} s", sig(s, if s < 10.0 { 2 } else { 3 })),
        s if s < 6000.0 => format!("{} min", sig(s / 60.0, 3)),
        s => format!("{} h", sig(s / 3600.0, 3)),
    }
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(
        error,
        "what is left follows from dose, volume, flow and efficiency, all above zero",
        "check the number and its unit",
    )
}
