//! `loopleaf reckon cold`: a differential pressure carried from hot oil to cold, and the flow at which the by-pass opens.

use clap::Args;

use super::No;
use super::input::{OilOptions, WARM, joined, number_and_unit, quantity, shares, si};
use super::view::{Answer, HOT_OIL, PRESSURE, Refusal, Value, sig, sig_down, span, trimmed};
use crate::quantity::{Dimension, Kind};
use crate::trade::hydraulics::{Fluid, Reading, Restriction, Share, Terms, cold_from_hot};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon cold 12 kPa --hot 10 mm2/s --cold 500 mm2/s
  loopleaf reckon cold 12 kPa --hot 74 C --cold 20 C --fluid vg-32 --share 0.8 to 0.9
  loopleaf reckon cold 12 kPa --hot 9 mPa.s --cold 440 mPa.s --flow 40 L/min --by-pass 22 psi";

const QUESTION: &str = "cold";
/// Of the viscous share where nothing is known. Common practice.
const UNKNOWN: (f64, f64) = (0.5, 1.0);

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The differential pressure measured with hot oil
    #[arg(required = true, num_args = 1.., value_name = "PRESSURE")]
    pressure: Vec<String>,
    /// The hot oil: its viscosity, or its temperature with --fluid or --point
    #[arg(long, num_args = 1.., required = true, value_name = "VISCOSITY or TEMPERATURE", allow_negative_numbers = true)]
    hot: Vec<String>,
    /// The cold oil
    #[arg(long, num_args = 1.., required = true, value_name = "VISCOSITY or TEMPERATURE", allow_negative_numbers = true)]
    cold: Vec<String>,
    /// Viscous share of the hot differential pressure, from a flow sweep: 0.8, or 0.7 to 0.9 (unknown: 0.5 to 1)
    #[arg(long, num_args = 1.., value_name = "SHARE")]
    share: Vec<String>,
    /// The flow at which it was measured
    #[arg(long, num_args = 1.., value_name = "FLOW")]
    flow: Vec<String>,
    /// The pressure at which the by-pass opens
    #[arg(long, num_args = 1.., value_name = "PRESSURE", requires = "flow")]
    by_pass: Vec<String>,
    #[command(flatten)]
    oil: OilOptions,
}

/// One of the two oils: mPa·s-like viscosity and density in SI (both may be relative), and the temperature.
struct Side {
    viscosity: f64,
    density: f64,
    kelvin: Option<f64>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, No> {
    let pressure = quantity("the differential pressure", &joined(&options.pressure), Kind::DifferentialPressure)?;
    if pressure.si() <= 0.0 {
        return Err(Refusal::new(
            format!("the differential pressure is {pressure}"),
            "nothing follows from a restriction that costs nothing",
            "write what the gauge showed, less its zero and the tare, as in `12 kPa`",
        )
        .into());
    }
    let basis = Answer::new(QUESTION, "").used("hot differential pressure", pressure.to_string());
    let (hot, basis) = side("the hot oil", &joined(&options.hot), options, basis)?;
    let (cold, basis) = side("the cold oil", &joined(&options.cold), options, basis)?;
    if cold.viscosity < hot.viscosity {
        return Err(Refusal::new(
            format!("the cold oil is thinner than the hot one, by {} times", sig(hot.viscosity / cold.viscosity, 3)),
            "cold oil is thicker: the two were probably exchanged",
            format!("write `--hot {} --cold {}`", joined(&options.cold), joined(&options.hot)),
        )
        .into());
    }
    let known = !options.share.is_empty();
    let (least, most) = if known { shares("the viscous share", &joined(&options.share))? } else { UNKNOWN };
    let fluid = |side: &Side| Fluid { viscosity: si::dynamic(side.viscosity), density: si::density(side.density) };
    let (hot_fluid, cold_fluid) = (fluid(&hot), fluid(&cold));
    let found = cold_from_hot(
        si::pressure(pressure.si()),
        &hot_fluid,
        &cold_fluid,
        Share::Between(si::part(least), si::part(most)),
    )
    .map_err(unusual)?;
    let unit = &pressure.unit;
    let (low, high) = (unit.from_si(found.lowest.value), unit.from_si(found.highest.value));
    let one = high - low <= 1e-9 * high;
    let times = cold.viscosity / hot.viscosity;
    let shown = if one { format!("{} {unit}", sig(low, 3)) } else { span(low, high, &unit.text, 3) };
    let mut answer = Answer {
        answer: format!("{shown} cold, from {pressure} hot: the oil is {} times thicker", sig(times, 3)),
        ..basis
    };
    let mut value = Value::new("cold differential pressure", f64::midpoint(low, high), &unit.text, 3);
    if !one {
        value = value.between(low, high, "by the viscous share:", 3);
    }
    answer = answer.value(value).value(Value::new("cold over hot, viscosity", times, "", 3));
    if !options.by_pass.is_empty() {
        answer = by_pass(
            answer,
            options,
            (pressure.si(), found.lowest.value, found.highest.value),
            (least, most),
            (&hot_fluid, &cold_fluid),
        )?;
    }
    let share =
        if least == most { trimmed(least, 3) } else { format!("{} to {}", trimmed(least, 3), trimmed(most, 3)) };
    answer = answer
        .used("viscous share", if known { share } else { format!("{share}, since none was given (common practice for filters in oil)") })
        .formula("cold = hot × [s μ_cold/μ_hot + (1 − s) ρ_cold/ρ_hot] at the same flow, s the viscous share of the hot one", "derived from ΔP = k₁ μ Q + k₂ ρ Q² (ISO 3968 restriction curves, common practice)")
        .limit("Same flow, by-pass shut, nothing gives way. A prediction above the by-pass setting says that the by-pass will be measured, not the element.")
        .limit("The oil warms itself: at 500 kPa by 0.3 K in each pass. A thick stand-in oil is no real cold start.");
    if [&hot, &cold].into_iter().filter_map(|side| side.kelvin).any(|kelvin| kelvin >= WARM) {
        answer = answer.caution(HOT_OIL);
    }
    Ok(answer.caution(PRESSURE))
}

/// An oil by its viscosity, or by its temperature.
fn side(name: &str, text: &str, options: &Options, mut answer: Answer) -> Result<(Side, Answer), No> {
    let read = match number_and_unit(name, text) {
        Ok(read) if read.unit.text.is_empty() => Err(Refusal::new(
            format!("{name} is `{text}`, without a unit"),
            "a viscosity and a temperature are told apart by their unit",
            format!("write `{text} mm2/s` or `{text} C`"),
        )),
        Ok(read) => Ok(read),
        // `C` alone means two units until a temperature is wanted.
        Err(refusal) => quantity(name, text, Kind::Temperature).map_err(|_| refusal),
    }?;
    if read.unit.dimension == Dimension::TEMPERATURE {
        let kelvin = read.si();
        let oil = options.oil.oil()?;
        let (nu, stretch) = oil.viscosity_at(kelvin)?;
        let density = match oil.density_at(kelvin) {
            Some(density) => density?,
            None => 1.0,
        };
        answer = answer
            .used(name.trim_start_matches("the "), format!("{read}: {} mm²/s, {}", sig(nu * 1e6, 4), oil.called()));
        if oil.density_at(kelvin).is_none() && name == "the hot oil" {
            answer = answer.limit("The density is taken as equal hot and cold, since none is known: 3 to 4 % too little in the part that does not go with viscosity.");
        }
        if name == "the hot oil" {
            answer = oil.relation(oil.basis(answer));
        }
        return Ok((Side { viscosity: nu * density, density, kelvin: Some(kelvin) }, stretch.tell(answer)));
    }
    let viscosity = match read.unit.dimension {
        Dimension::KINEMATIC_VISCOSITY => quantity(name, text, Kind::KinematicViscosity)?,
        _ => quantity(name, text, Kind::DynamicViscosity)?,
    };
    if !viscosity.unit.is_linear() || viscosity.si() <= 0.0 {
        return Err(Refusal::new(
            format!("{name} is {viscosity}"),
            "only a viscosity above zero, in mm²/s or mPa·s, can be compared with another",
            "write it as in `--hot 10 mm2/s`; Saybolt seconds by `loopleaf reckon units` first",
        )
        .into());
    }
    if name == "the cold oil" {
        answer = answer.limit("The density is taken as equal hot and cold, since only viscosities were given: 3 to 4 % too little in the part that does not go with viscosity.");
    }
    answer = answer.used(name.trim_start_matches("the "), viscosity.to_string());
    // Both sides in one kind: the density, taken as equal, cancels.
    let other = joined(if name == "the hot oil" { &options.cold } else { &options.hot });
    let other = number_and_unit("the other oil", &other).ok();
    if other.as_ref().is_none_or(|other| other.unit.dimension != viscosity.unit.dimension) {
        let shown = other.map_or("another way".to_owned(), |other| format!("`{other}`"));
        return Err(Refusal::new(
            format!("one oil is given as `{viscosity}`, the other as {shown}"),
            "mm²/s and mPa·s differ by the density, 10 to 15 % for oil, and a temperature is no viscosity",
            format!(
                "give both in one unit, as in `--hot 10 {0} --cold 500 {0}`, or both as temperatures",
                viscosity.unit
            ),
        )
        .into());
    }
    Ok((Side { viscosity: viscosity.si(), density: 1.0, kelvin: None }, answer))
}

/// Where the by-pass opens on the cold curve.
fn by_pass(
    mut answer: Answer,
    options: &Options,
    (hot_pressure, lowest, highest): (f64, f64, f64),
    (least, most): (f64, f64),
    (hot, cold): (&Fluid, &Fluid),
) -> Result<Answer, Refusal> {
    let flow = quantity("the flow", &joined(&options.flow), Kind::Flow)?;
    let setting = quantity("the by-pass setting", &joined(&options.by_pass), Kind::DifferentialPressure)?;
    if flow.si() <= 0.0 || setting.si() <= 0.0 {
        return Err(Refusal::new(
            "flow and by-pass setting must be above zero",
            "the knee lies where the curve reaches the setting",
            "check both numbers",
        ));
    }
    let knee = |share: f64| -> Result<f64, Refusal> {
        // Two points of the curve ΔP = k₁ Q + k₂ Q² with this viscous share at the measured flow.
        let reading = |part: f64| Reading {
            flow: si::flow(flow.si() * part),
            pressure: si::pressure(hot_pressure * (share * part + (1.0 - share) * part * part)),
        };
        let terms = if share > 1.0 - 1e-9 { Terms::Viscous } else { Terms::ViscousInertial };
        let curve = Restriction::fit(&[reading(0.5), reading(1.0)], terms).map_err(unusual)?;
        let (knee, _) =
            curve.with_fluid(hot, cold).and_then(|curve| curve.flow_at(si::pressure(setting.si()))).map_err(unusual)?;
        Ok(knee.value)
    };
    let (one, other) = (knee(least)?, knee(most)?);
    let unit = &flow.unit;
    let (low, high) = (unit.from_si(one.min(other)), unit.from_si(one.max(other)));
    let mut value = Value::new("by-pass opens cold at", f64::midpoint(low, high), &unit.text, 3);
    let same = high - low <= 1e-6 * high;
    if !same {
        value = value.between(low, high, "by the viscous share:", 3);
    }
    answer = answer.value(value).used("flow", flow.to_string()).used("by-pass opens at", setting.to_string());
    if high > flow.value * (1.0 + 1e-9) {
        answer = answer.limit(format!(
            "The by-pass would open above {flow}, the highest flow that was measured: there the curve is stretched."
        ));
    }
    let where_to = if same { format!("{} {unit}", sig(low, 3)) } else { span(low, high, &unit.text, 3) };
    if lowest > setting.si() {
        answer.answer += &format!("; the by-pass ({setting}) opens at {where_to} already");
        answer = answer.warn(format!(
            "at {flow} the by-pass is open: the gauge will show the by-pass, not the element; stay below {} {unit}",
            sig_down(low, 2)
        ));
    } else if highest > setting.si() {
        answer.answer += &format!("; the by-pass ({setting}) may open, from {} {unit} on", sig(low, 3));
        answer = answer.warn(format!(
            "at {flow} the by-pass may be open: find the viscous share by a flow sweep, or stay below {} {unit}",
            sig_down(low, 2)
        ));
    } else {
        answer.answer += &format!("; the by-pass ({setting}) stays shut at {flow}");
    }
    Ok(answer.formula(
        "knee: the flow at which k₁ Q + k₂ Q², with the cold oil's viscosity and density, reaches the setting",
        "the same form, solved for the flow",
    ))
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(
        error,
        "a prediction follows from pressure, viscosities and share, all above zero",
        "check each number and its unit",
    )
}
