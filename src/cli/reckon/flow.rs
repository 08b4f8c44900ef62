//! `loopleaf reckon flow`: Reynolds number, velocity, what a line loses, and what is left at the pump's inlet.

use clap::Args;

use super::No;
use super::input::{OilOptions, WARM, joined, measured, quantity, si};
use super::view::{Answer, HOT_OIL, Refusal, Value, celsius, sig, span};
use crate::quantity::Kind;
use crate::trade::hydraulics::{Pipe, Regime, hydrostatic_head, inlet_pressure, line_loss, mean_velocity};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon flow 40 L/min --bore 20 mm --viscosity 32 mm2/s --length 1 m
  loopleaf reckon flow 20 L/min --bore 19 mm --length 1 m --viscosity 500 mm2/s --suction
  loopleaf reckon flow 40 L/min --bore 20 mm --fluid vg-32 --temperature 40 C";

const QUESTION: &str = "flow";
/// Taken where no density is given: a mineral oil, kg/m³.
const USUAL_DENSITY: f64 = 870.0;
/// A loss before the pump that common practice keeps below, Pa.
const SUCTION_GOOD: f64 = 20_000.0;
const SUCTION_LIMIT: f64 = 30_000.0;
/// The standard atmosphere, Pa.
const ATMOSPHERE: f64 = 101_325.0;

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The flow
    #[arg(required = true, num_args = 1.., value_name = "FLOW")]
    flow: Vec<String>,
    /// Inner diameter of the line
    #[arg(long, num_args = 1.., required = true, value_name = "LENGTH")]
    bore: Vec<String>,
    /// Length of the straight line
    #[arg(long, num_args = 1.., value_name = "LENGTH")]
    length: Vec<String>,
    /// Kinematic viscosity; or an oil and its temperature
    #[arg(long, num_args = 1.., value_name = "VISCOSITY", conflicts_with = "temperature")]
    viscosity: Vec<String>,
    /// Temperature of the oil that is named by --fluid or --point
    #[arg(long, num_args = 1.., value_name = "TEMPERATURE", allow_negative_numbers = true)]
    temperature: Vec<String>,
    /// Height of the wall's roughness; drawn tube and hose count as smooth
    #[arg(long, num_args = 1.., value_name = "LENGTH")]
    roughness: Vec<String>,
    /// The line stands before the pump: say what is left at its inlet
    #[arg(long)]
    suction: bool,
    /// How high the oil stands above the pump (below it: negative)
    #[arg(long, num_args = 1.., value_name = "LENGTH", requires = "suction", allow_negative_numbers = true)]
    head: Vec<String>,
    #[command(flatten)]
    oil: OilOptions,
}

/// What flows: m²/s, kg/m³, the answer's lines on it, and whether it is hot.
struct Fluid {
    viscosity: f64,
    density: f64,
    hot: bool,
}

pub(super) fn answer(options: &Options) -> Result<Answer, No> {
    let flow = measured("the flow", &joined(&options.flow), Kind::Flow)?;
    let bore = quantity("the bore", &joined(&options.bore), Kind::Length)?;
    if bore.si() <= 0.0 {
        return Err(Refusal::new(
            format!("the bore is {bore}"),
            "nothing flows through nothing",
            "write the inner diameter, as in `--bore 20 mm`",
        )
        .into());
    }
    let length = match joined(&options.length).as_str() {
        "" if options.suction => {
            return Err(Refusal::new(
                "the suction line has no length",
                "what is lost before the pump goes with it",
                "add it, as in `--length 1 m`",
            )
            .into());
        }
        "" => None,
        text => Some(quantity("the length", text, Kind::Length)?),
    };
    let roughness = match joined(&options.roughness).as_str() {
        "" => 0.0,
        text => quantity("the roughness", text, Kind::Length)?.si(),
    };
    let basis = Answer::new(QUESTION, "").used("flow", flow.said.clone()).used("bore", bore.to_string());
    let (fluid, basis) = fluid(options, basis)?;
    let pipe = Pipe {
        bore: si::length(bore.si()),
        length: si::length(length.as_ref().map_or(1.0, |length| length.si())),
        roughness: si::length(roughness),
    };
    let (viscosity, density) = (si::viscosity(fluid.viscosity), si::density(fluid.density));
    let loss = line_loss(&pipe, si::flow(flow.si()), viscosity, density).map_err(unusual)?;
    let velocity = mean_velocity(si::flow(flow.si()), pipe.bore).map_err(unusual)?.value;
    let reynolds = loss.reynolds.value;
    let (regime, meaning) = match loss.regime {
        Regime::Laminar => ("laminar", "nothing mixes across the line: a sampling point needs a mixer before it"),
        Regime::Transitional => ("between laminar and turbulent", "unsteady: either loss may be seen, and it may jump"),
        Regime::Turbulent => ("turbulent", "well mixed across the line"),
    };
    let (lowest, highest) = (loss.lowest.value / 1e3, loss.highest.value / 1e3);
    let lost = if highest - lowest > 1e-6 * highest {
        span(lowest, highest, "kPa", 3)
    } else {
        format!("{} kPa", sig(lowest, 3))
    };
    let per = length.as_ref().map_or("per metre".to_owned(), |length| format!("over {length}"));
    let mut answer = Answer {
        answer: format!("Re {}, {regime}; {} m/s; {lost} lost {per}", sig(reynolds, 3), sig(velocity, 3)),
        ..basis
    };
    let mut number = Value::new("Reynolds number", reynolds, "", 4);
    if flow.relative() > 0.0 {
        number =
            number.between(reynolds * (1.0 - flow.relative()), reynolds * (1.0 + flow.relative()), "by the flow:", 4);
    }
    answer = answer.value(number.and(&format!("  {regime}: {meaning}"))).value(Value::new(
        "mean velocity",
        velocity,
        "m/s",
        3,
    ));
    let mut value = Value::new(format!("lost {per}"), f64::midpoint(lowest, highest), "kPa", 3);
    if highest - lowest > 1e-6 * highest {
        value = value.between(lowest, highest, "laminar or turbulent:", 3);
    }
    answer = answer.value(value);
    if let Some(length) = &length {
        answer = answer.used("length", length.to_string());
    }
    if options.suction {
        answer = suction(answer, options, highest * 1e3, fluid.density)?;
    }
    answer = answer
        .formula("Re = v D/ν = 21 220.66 Q/(D ν) in L/min, mm, mm²/s", "definition")
        .formula(
            "loss = f (L/D) ρ v²/2;  laminar f = 64/Re, that is 128 μ L Q/(π D⁴);  turbulent f by Colebrook",
            "Darcy–Weisbach, Hagen–Poiseuille, Colebrook (1939); laminar to 2300 and turbulent from 4000: common practice",
        )
        .limit("A straight round line with fully developed flow: bends, fittings, valves and the strainer come on top, and in thick oil they lose several times what a table of K values says.");
    Ok(if fluid.hot { answer.caution(HOT_OIL) } else { answer })
}

fn fluid(options: &Options, answer: Answer) -> Result<(Fluid, Answer), No> {
    let typed = joined(&options.oil.density);
    if !options.viscosity.is_empty() {
        let viscosity = quantity("the viscosity", &joined(&options.viscosity), Kind::KinematicViscosity)?;
        if !viscosity.unit.is_linear() {
            return Err(Refusal::new(
                "the viscosity is in Saybolt seconds, which need a temperature",
                "they mean another viscosity at each temperature",
                format!("ask `loopleaf reckon units {viscosity} at 100 F` and write the answer in mm2/s"),
            )
            .into());
        }
        let (density, said) = match typed.as_str() {
            "" => (USUAL_DENSITY, format!("{USUAL_DENSITY:.0} kg/m³, a usual mineral oil, since none was given")),
            text => {
                let text = super::input::at(text).map_or(text.to_owned(), |(density, _)| density);
                let density = quantity("the density", &text, Kind::Density)?;
                (density.si(), density.to_string())
            }
        };
        let answer = answer.used("viscosity", viscosity.to_string()).used("density", said);
        return Ok((Fluid { viscosity: viscosity.si(), density, hot: false }, answer));
    }
    if options.temperature.is_empty() || !options.oil.is_given() {
        return Err(Refusal::new(
            "the viscosity is not given",
            "whether a flow is laminar, and what it loses, goes with the viscosity",
            "add `--viscosity 32 mm2/s`, or an oil and its temperature: `--fluid vg-32 --temperature 40 C`",
        )
        .into());
    }
    let temperature = quantity("the temperature", &joined(&options.temperature), Kind::Temperature)?;
    let oil = options.oil.oil()?;
    let (nu, stretch) = oil.viscosity_at(temperature.si())?;
    let density = match oil.density_at(temperature.si()) {
        Some(density) => density?,
        None => USUAL_DENSITY,
    };
    let answer = answer.used("temperature", temperature.to_string()).used(
        "viscosity there",
        format!("{} mm²/s, {} at {}", sig(nu * 1e6, 4), oil.called(), celsius(temperature.si())),
    );
    let answer = if oil.density_at(temperature.si()).is_none() {
        answer.used("density", format!("{USUAL_DENSITY:.0} kg/m³, a usual mineral oil, since none was given"))
    } else {
        oil.density_formula(answer)
    };
    let answer = stretch.tell(oil.relation(oil.basis(answer)));
    Ok((Fluid { viscosity: nu, density, hot: temperature.si() >= WARM }, answer))
}

/// What is left at the pump's inlet, under the standard atmosphere.
fn suction(mut answer: Answer, options: &Options, loss: f64, density: f64) -> Result<Answer, Refusal> {
    let head = match joined(&options.head).as_str() {
        "" => 0.0,
        text => {
            let height = quantity("the head", text, Kind::Length)?;
            answer = answer.used("oil above the pump", height.to_string());
            hydrostatic_head(si::length(height.si()), si::density(density)).map_err(unusual)?.value
        }
    };
    let left = inlet_pressure(si::pressure(ATMOSPHERE), si::pressure(head), si::pressure(loss)).map_err(|_| {
        Refusal::new(
            format!(
                "the line would lose {} kPa, and only {} kPa push the oil into the pump",
                sig(loss / 1e3, 3),
                sig((ATMOSPHERE + head) / 1e3, 3)
            ),
            "a pump that is starved cavitates: it rattles, loses flow and sheds metal into the oil",
            "warm the oil, go slower, or take a wider line: in laminar flow twice the bore loses a sixteenth",
        )
    })?;
    answer = answer.value(Value::new("left at the pump's inlet", left.value / 1e3, "kPa absolute", 4));
    if loss > SUCTION_GOOD {
        let word = if loss > SUCTION_LIMIT { "beyond" } else { "at the edge of" };
        answer = answer.warn(format!("{} kPa before the pump is {word} what common practice allows (20 to 30 kPa): it may cavitate; warm the oil, go slower or take a wider line", sig(loss / 1e3, 3)));
    }
    Ok(answer
        .formula(
            "inlet pressure = air over the oil + ρ g h − loss",
            "Bernoulli, velocities neglected; 20 to 30 kPa of loss: common practice",
        )
        .limit(
            "Air at 101.325 kPa over the oil; at 1000 m of height there are 12 kPa less. The strainer comes on top.",
        ))
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(
        error,
        "a line's loss follows from flow, bore, viscosity and density, all above zero",
        "check each number and its unit",
    )
}
