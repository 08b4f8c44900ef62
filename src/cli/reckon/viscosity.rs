//! `loopleaf reckon viscosity`: an oil at a temperature, its index, class and grade; two oils mixed.

use clap::Args;

use super::No;
use super::input::{Oil, OilOptions, WARM, joined, measured, share, si};
use super::view::{Answer, HOT_OIL, Refusal, Value, celsius, percent, share_said, sig};
use crate::quantity::Kind;
use crate::trade::density::dynamic_viscosity;
use crate::trade::viscosity::{
    Edition, IsoClass, Mark, blend, engine_oil_grades, iso_class, saybolt_universal, viscosity_index,
};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon viscosity 80 C --fluid vg-32
  loopleaf reckon viscosity 60 C --point 46 mm2/s ± 1 % at 40 C --point 6.8 mm2/s ± 1 % at 100 C
  loopleaf reckon viscosity 40 C --fluid vg-46 --mixed-with vg-15 --share 10 %";

const QUESTION: &str = "viscosity";
/// 40 and 100 °C, K.
const COOL: f64 = 313.15;
const HOT: f64 = 373.15;

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The temperature, perhaps with what it is uncertain by: 60 C ± 0.5 C
    #[arg(required = true, num_args = 1.., value_name = "TEMPERATURE", allow_negative_numbers = true)]
    temperature: Vec<String>,
    #[command(flatten)]
    oil: OilOptions,
    /// Another shipped fluid that is mixed into this one
    #[arg(long, value_name = "NAME", requires = "share")]
    mixed_with: Option<String>,
    /// How much of the mixture is the other fluid, by volume
    #[arg(long, num_args = 1.., value_name = "SHARE", requires = "mixed_with")]
    share: Vec<String>,
}

pub(super) fn answer(options: &Options) -> Result<Answer, No> {
    let temperature = measured("the temperature", &joined(&options.temperature), Kind::Temperature)?;
    let oil = options.oil.oil()?;
    match &options.mixed_with {
        None => alone(&oil, temperature.si(), temperature.half, &temperature.said),
        Some(other) => {
            let part = share("the share of the other fluid", &joined(&options.share))?;
            mixed(&oil, &Oil::by_name(other)?, part, temperature.si(), &temperature.said)
        }
    }
}

fn alone(oil: &Oil, kelvin: f64, half: Option<f64>, said: &str) -> Result<Answer, No> {
    let (nu, stretch) = oil.viscosity_at(kelvin)?;
    let temperature = si::temperature(kelvin);
    let mut kinematic = Value::new("kinematic viscosity", nu * 1e6, "mm²/s", 4);
    let mut uncertain = String::new();
    if half.is_some() || oil.uncertain {
        let u =
            oil.curve.viscosity_uncertainty(temperature, si::interval(half.unwrap_or(0.0) / 2.0)).map_err(unusual)?;
        let expanded = 2.0 * u.value * 1e6;
        uncertain = format!(" ± {}", sig(expanded, 2));
        kinematic = kinematic.between(nu * 1e6 - expanded, nu * 1e6 + expanded, "k = 2:", 4);
    }
    let mut answer = Answer::new(
        QUESTION,
        format!("{}{uncertain} mm²/s: {} at {}", sig(nu * 1e6, 4), oil.called(), celsius(kelvin)),
    )
    .value(kinematic);
    if let Some(rho) = oil.density_at(kelvin) {
        let rho = rho?;
        let mu = dynamic_viscosity(si::viscosity(nu), si::density(rho)).map_err(unusual)?;
        answer = answer
            .value(Value::new("dynamic viscosity", mu.value * 1e3, "mPa·s", 4))
            .value(Value::new("density", rho, "kg/m³", 4));
    }
    if let Ok(seconds) = saybolt_universal(si::viscosity(nu), temperature) {
        answer = answer.value(Value::new("Saybolt Universal there", seconds.value, "SUS", 4));
    }
    let sensitivity = oil.curve.sensitivity_at(temperature).map_err(unusual)?;
    answer = answer.value(Value::new("change there", sensitivity.value * 100.0, "% per K", 2));
    answer = oil.relation(oil.basis(answer.used("temperature", said)));
    answer = classes(answer, oil)?;
    if oil.density_at(kelvin).is_some() {
        answer = oil
            .density_formula(answer)
            .formula("dynamic viscosity = kinematic viscosity × density, both at the temperature", "definition");
    }
    if half.is_some() || oil.uncertain {
        answer = answer.formula(
            "the ± of points and temperature carried through the line to first order, each taken as k = 2",
            "JCGM 100:2008",
        );
    }
    answer = answer
        .limit("An engine-oil grade has other requirements besides the viscosity at 100 °C; grades 8, 12 and 16 are from memory.");
    Ok(warm(stretch.tell(answer), oil, kelvin))
}

/// Index, class and grade from the viscosities at 40 and 100 °C.
fn classes(mut answer: Answer, oil: &Oil) -> Result<Answer, No> {
    let there = |kelvin: f64| oil.curve.viscosity_at(si::temperature(kelvin)).ok().map(|reached| reached.value);
    let (Some(at_40), Some(at_100)) = (there(COOL), there(HOT)) else { return Ok(answer) };
    if oil.stretched(reach(oil, COOL), COOL).is_err() || oil.stretched(reach(oil, HOT), HOT).is_err() {
        return Ok(answer
            .limit("Index, class and grade are left out: 40 °C or 100 °C lies too far outside the measured points."));
    }
    let from = format!("{} and {} mm²/s at 40 and 100 °C", sig(at_40.value * 1e6, 3), sig(at_100.value * 1e6, 3));
    if let Ok(index) = viscosity_index(at_40, at_100) {
        // Procedure A up to 100, B above; both give 100 where they meet.
        let procedure = if index <= 100.0 { "procedure A" } else { "procedure B" };
        answer = answer
            .value(Value::new("viscosity index", index.round(), "", 3).and(&format!("  ({procedure}, from {from})")))
            .formula(
                "A: 100 (L − U)/(L − H);  B, where U < H: 100 + (10ᴺ − 1)/0.00715, N = log(H/U)/log Y; L and H by the table for Y",
                "ASTM D2270, ISO 2909 (worked examples published); Y at 100 °C, U at 40 °C",
            );
    }
    let class = match iso_class(at_40).map_err(unusual)? {
        IsoClass::Grade(grade) => format!("ISO VG {}{}", grade.number, from_memory(grade.mark)),
        IsoClass::Between(below, above) => format!("none: between ISO VG {} and ISO VG {}", below.number, above.number),
        IsoClass::BelowAll => "none: thinner than ISO VG 2".to_owned(),
        IsoClass::AboveAll => "none: thicker than ISO VG 3200".to_owned(),
    };
    let grades = engine_oil_grades(at_100, Edition::January2015).map_err(unusual)?;
    let grades: Vec<String> =
        grades.iter().map(|grade| format!("SAE {}{}", grade.name, from_memory(grade.mark))).collect();
    let grades = if grades.is_empty() { "none of them".to_owned() } else { grades.join(" or ") };
    Ok(answer
        .value(Value::said("class at 40 °C", class))
        .value(Value::said("engine grade at 100 °C", format!("{grades}  (by this viscosity alone)")))
        .formula(
            "class: within 10 % of its midpoint at 40 °C; engine grade: by limits at 100 °C",
            "ISO 3448:1992; SAE J300, edition of 2015",
        ))
}

fn reach(oil: &Oil, kelvin: f64) -> crate::trade::viscosity::Reach {
    oil.curve
        .viscosity_at(si::temperature(kelvin))
        .map_or(crate::trade::viscosity::Reach::Measured, |reached| reached.reach)
}

fn from_memory(mark: Mark) -> &'static str {
    match mark {
        Mark::Published => "",
        Mark::FromMemory => " (from memory)",
    }
}

fn mixed(oil: &Oil, other: &Oil, part: f64, kelvin: f64, said: &str) -> Result<Answer, No> {
    if oil.solvent || other.solvent {
        return Err(Refusal::new(
            "one of the two is a solvent",
            "oil that holds solvent can be lit at room temperature, whatever its viscosity",
            "drain and dry the rig instead; a rig that may hold solvent stays cold",
        )
        .into());
    }
    let ((own, near), (theirs, _)) = (oil.viscosity_at(kelvin)?, other.viscosity_at(kelvin)?);
    let mixture = blend(si::viscosity(theirs), si::part(part), si::viscosity(own)).map_err(unusual)?.value;
    let change = mixture / own - 1.0;
    let answer = Answer::new(
        QUESTION,
        format!(
            "{} mm²/s at {}: {} with {} of {} in it, {} {} than without",
            sig(mixture * 1e6, 3),
            celsius(kelvin),
            oil.called(),
            share_said(part),
            other.called(),
            percent(change.abs(), 2),
            if change < 0.0 { "thinner" } else { "thicker" }
        ),
    )
    .value(Value::new("mixture", mixture * 1e6, "mm²/s", 3))
    .value(Value::new(format!("{} alone", oil.called()), own * 1e6, "mm²/s", 4))
    .value(Value::new(format!("{} alone", other.called()), theirs * 1e6, "mm²/s", 4))
    .used("temperature", said)
    .used("share of the other fluid", format!("{} by volume", share_said(part)));
    let answer = other.basis(oil.basis(answer));
    let answer = oil
        .relation(answer)
        .formula("log log of the mixture = share × log log of one + (1 − share) × log log of the other, at one temperature", "ASTM D7152 (double-log rule by volume), from memory; common practice")
        .limit("Good to a few per cent for mineral oils with one another, worse the further apart they are in kind or viscosity: measure the mixture.");
    let lower = [oil, other].iter().filter_map(|oil| oil.flash.as_ref()).map(|(kelvin, _)| *kelvin).reduce(f64::min);
    let answer = match lower {
        Some(flash) => answer
            .limit(format!("The flash point of a mixture lies near that of its lower part: take {}.", celsius(flash))),
        None => answer,
    };
    Ok(warm(near.tell(answer), oil, kelvin))
}

/// What heat adds.
fn warm(answer: Answer, oil: &Oil, kelvin: f64) -> Answer {
    let answer = match &oil.flash {
        Some((flash, said)) if kelvin > flash - super::input::FLASH_MARGIN => answer.warn(format!(
            "{} is within {:.0} K of the flash point, {said}: not on a bench",
            celsius(kelvin),
            super::input::FLASH_MARGIN
        )),
        _ => answer,
    };
    if kelvin >= WARM { answer.caution(HOT_OIL) } else { answer }
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(error, "outside its range a relation has no answer", "check the points of the oil and their units")
}
