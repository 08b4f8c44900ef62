//! `loopleaf reckon temperature`: the set-point for a viscosity, its window, and the distance from the flash point.

use clap::Args;

use super::No;
use super::input::{FLASH_MARGIN, POUR_MARGIN, Stretch, WARM, split_target, viscosity_si, viscosity_tolerance};
use super::input::{Oil, OilOptions, joined, quantity, si};
use super::view::{Answer, Refusal, Value, both_scales, celsius, kelvins, percent, sig, sig_up, span};
use crate::quantity::{Kind, Quantity, Unit, Window, inward};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon temperature 15 mm2/s within 3 % --fluid vg-32
  loopleaf reckon temperature 24 mm2/s     every shipped fluid, flash points side by side
  loopleaf reckon temperature 100 SUS --point 32 mm2/s at 40 C --point 5.4 mm2/s at 100 C";

const QUESTION: &str = "temperature";
/// What is taken where no tolerance is given; common practice is 3 to 5 %.
const USUAL: &str = "3 %";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The viscosity wanted, and how far it may be off: 15 mm2/s within 3 % (3 % where nothing is said)
    #[arg(required = true, num_args = 1.., value_name = "VISCOSITY")]
    target: Vec<String>,
    #[command(flatten)]
    oil: OilOptions,
}

/// What is wanted: a viscosity, how far off, and at which temperature its Saybolt seconds are meant.
struct Wanted {
    quantity: Quantity,
    tolerance: String,
    given: bool,
    /// K; of Saybolt seconds only.
    saybolt_at: Option<f64>,
}

/// A set-point with its window, in K and m²/s.
struct Found {
    viscosity: f64,
    tolerance: f64,
    set_point: f64,
    coldest: f64,
    hottest: f64,
    /// Per K, below zero.
    sensitivity: f64,
    stretch: Stretch,
}

pub(super) fn answer(options: &Options) -> Result<Answer, No> {
    let wanted = wanted(&joined(&options.target))?;
    if options.oil.is_given() { one(&wanted, &options.oil.oil()?) } else { every(&wanted) }
}

fn wanted(text: &str) -> Result<Wanted, Refusal> {
    let (target, tolerance) = split_target(text);
    let (target, at) = match super::input::at(&target) {
        Some((target, at)) => (target, Some(quantity("the temperature of the viscosity", &at, Kind::Temperature)?)),
        None => (target, None),
    };
    let viscosity = quantity("the viscosity", &target, Kind::KinematicViscosity)?;
    if viscosity.unit.is_linear()
        && let Some(at) = &at
    {
        return Err(Refusal::new(
            format!("`{text}` already says at which temperature"),
            "the temperature is what is asked for",
            format!(
                "write `{viscosity}` alone; to ask how thick an oil is at {at}, use `loopleaf reckon viscosity {at}`"
            ),
        ));
    }
    Ok(Wanted {
        quantity: viscosity,
        given: tolerance.is_some(),
        tolerance: tolerance.unwrap_or_else(|| USUAL.to_owned()),
        saybolt_at: at.map(|at| at.si()),
    })
}

/// The set-point of an oil. Saybolt seconds without a temperature are those at the set-point itself.
fn find(wanted: &Wanted, oil: &Oil) -> Result<Found, Refusal> {
    let at = |viscosity: f64| {
        oil.curve.temperature_for(si::viscosity(viscosity)).map_err(|error| {
            Refusal::new(
                error,
                "no temperature gives this oil such a viscosity",
                "take a thicker or a thinner oil, or check the number and its unit",
            )
        })
    };
    let mut viscosity = viscosity_si(&wanted.quantity, wanted.saybolt_at.unwrap_or(310.928))?;
    if !wanted.quantity.unit.is_linear() && wanted.saybolt_at.is_none() {
        // The scale moves by 0.01 % per K, so this settles at once.
        for _ in 0..8 {
            viscosity = viscosity_si(&wanted.quantity, at(viscosity)?.value.value)?;
        }
    }
    let tolerance = viscosity_tolerance(&wanted.tolerance, &wanted.quantity, viscosity)?;
    let window = oil.curve.window(si::viscosity(viscosity), si::viscosity(tolerance)).map_err(|error| {
        Refusal::new(
            error,
            "a window as wide as the viscosity itself holds nothing",
            format!("write `{} within {USUAL}`", wanted.quantity),
        )
    })?;
    let set_point = window.set_point.value.value;
    let stretch = oil.stretched(window.set_point.reach, set_point)?;
    let sensitivity = oil.curve.sensitivity_at(window.set_point.value).map_err(|error| {
        Refusal::new(
            error,
            "how tight a temperature must be held follows from the slope there",
            "ask for a viscosity nearer to the points",
        )
    })?;
    Ok(Found {
        viscosity,
        tolerance,
        set_point,
        coldest: window.coldest.value.value,
        hottest: window.hottest.value.value,
        sensitivity: sensitivity.value,
        stretch,
    })
}

/// The window in °C, ends rounded to the inside.
fn window(found: &Found) -> String {
    let unit = Unit::parse("°C").unwrap_or_else(|_| Unit::none());
    match inward(&Window::between(found.coldest, found.hottest), &unit, 1, false) {
        (Some(low), Some(high)) => format!("{} to {high}", low.number),
        _ => String::new(),
    }
}

fn one(wanted: &Wanted, oil: &Oil) -> Result<Answer, No> {
    let found = find(wanted, oil)?;
    safe(&found, oil)?;
    let mm2 = |si: f64| sig(si * 1e6, 4);
    let said = if wanted.quantity.unit.is_linear() {
        wanted.quantity.to_string()
    } else {
        format!("{} ({} mm²/s)", wanted.quantity, mm2(found.viscosity))
    };
    let mut answer = Answer::new(
        QUESTION,
        format!("{} gives {said} with {}; keep it from {}", celsius(found.set_point), oil.called(), window(&found)),
    );
    let (below, above) = (found.set_point - found.coldest, found.hottest - found.set_point);
    let mut set_point = Value::new("set-point", found.set_point - 273.15, "°C", 4);
    set_point.text = both_scales(found.set_point);
    answer = answer.value(set_point);
    let mut permitted = Value::said(
        "permitted window",
        format!("{}, that is -{} and +{}", window(&found), kelvins(below), kelvins(above)),
    );
    permitted.low = Some(super::view::tidy(found.coldest - 273.15));
    permitted.high = Some(super::view::tidy(found.hottest - 273.15));
    permitted.unit = "°C".to_owned();
    answer = answer
        .value(permitted)
        .value(Value::said(
            "viscosity in it",
            format!(
                "{} (± {})",
                span((found.viscosity - found.tolerance) * 1e6, (found.viscosity + found.tolerance) * 1e6, "mm²/s", 4),
                wanted.tolerance
            ),
        ))
        .value(Value::new("sensitivity", found.sensitivity * 100.0, "% per K", 2));
    if let Some(u) = oil.temperature_uncertainty(found.viscosity) {
        let expanded = 2.0 * u.value;
        answer = answer
            .value(Value::new("set-point known to ±", expanded, "K", 2).and(" (k = 2, from the ± of the points)"));
        if expanded >= below.min(above) {
            answer = answer.warn(format!(
                "the set-point is known to ± {} only, no better than the window of ± {}: have the oil measured more closely",
                kelvins(expanded),
                kelvins(below.min(above))
            ));
        }
    }
    answer = fire_and_cold(answer, &found, oil);
    if !wanted.given {
        answer = answer.used("tolerance", format!("± {USUAL}, since none was given (common practice: 3 to 5 %)"));
    }
    answer = answer.used("viscosity wanted", said);
    answer = oil.basis(answer);
    answer = oil.relation(answer).formula(
        "window: the temperatures at which the same line gives the viscosity plus and minus its tolerance",
        "derived from ASTM D341, without linearisation",
    );
    if !wanted.quantity.unit.is_linear() {
        answer = answer.formula("Saybolt seconds to mm²/s by iteration, at the temperature", "ASTM D2161");
    }
    Ok(found.stretch.tell(answer))
}

/// Flash and pour point beside the window.
fn fire_and_cold(mut answer: Answer, found: &Found, oil: &Oil) -> Answer {
    match &oil.flash {
        Some((flash, said)) => {
            answer = answer.value(
                Value::new("below the flash point by", flash - found.hottest, "K", 3)
                    .and(&format!("  at the window's hot end; flash point {said}")),
            );
        }
        None if found.hottest >= WARM => {
            answer = answer.warn("the flash point of this oil is not known: add it from the safety sheet with `--flash`, before the heater goes on");
        }
        None => {}
    }
    if let Some((pour, said)) = &oil.pour
        && found.coldest < pour + POUR_MARGIN
    {
        answer = answer.warn(format!(
            "{} is within {POUR_MARGIN:.0} K of the pour point, {said}: the oil may not flow as a liquid",
            celsius(found.coldest)
        ));
    }
    if found.hottest >= WARM {
        answer = answer.caution(super::view::HOT_OIL);
    }
    answer
}

/// No answer where the oil could be lit or does not flow.
fn safe(found: &Found, oil: &Oil) -> Result<(), Refusal> {
    if let Some((flash, said)) = &oil.flash {
        let margin = flash - found.hottest;
        if margin < FLASH_MARGIN {
            let place =
                if margin < 0.0 { format!("{:.1} K above", -margin) } else { format!("only {margin:.1} K below") };
            let allowed =
                oil.curve.viscosity_at(si::temperature(flash - FLASH_MARGIN)).map(|reached| reached.value.value * 1e6);
            // So thick that the thin end of the window keeps the margin as well.
            let thin_end = 1.0 - found.tolerance / found.viscosity;
            let thick = allowed.map(|nu| format!(", or hold {} mm²/s or more with this one", sig_up(nu / thin_end, 3)));
            let thick = thick.unwrap_or_default();
            return Err(Refusal::new(
                format!(
                    "{} would need {} up to {}, {place} its flash point of {said}",
                    oil.called(),
                    celsius(found.set_point),
                    celsius(found.hottest)
                ),
                format!(
                    "within {FLASH_MARGIN:.0} K of it the vapour over the oil can be lit by a spark or a heater (margin: common practice)"
                ),
                format!("ask without `--fluid` which oil has this viscosity at a lower temperature{thick}"),
            ));
        }
    }
    match &oil.pour {
        Some((pour, said)) if found.set_point < *pour => Err(Refusal::new(
            format!("{} would need {}, colder than its pour point of {said}", oil.called(), celsius(found.set_point)),
            "below it the oil sets, and neither pump nor formula works",
            "take a thicker oil at a higher temperature: ask without `--fluid`",
        )),
        _ => Ok(()),
    }
}

/// Every shipped oil that reaches the viscosity, coldest set-point first.
fn every(wanted: &Wanted) -> Result<Answer, No> {
    let mut rows = Vec::new();
    let mut left_out = Vec::new();
    for oil in Oil::all_shipped()? {
        match find(wanted, &oil).and_then(|found| safe(&found, &oil).map(|()| found)) {
            Ok(found) => rows.push((found, oil)),
            Err(refusal) => left_out.push(refusal.what),
        }
    }
    rows.sort_by(|(one, _), (other, _)| one.set_point.total_cmp(&other.set_point));
    let near_bench = |found: &Found| (found.set_point - WARM).abs();
    let Some((easiest, oil)) = rows.iter().min_by(|(one, _), (other, _)| near_bench(one).total_cmp(&near_bench(other)))
    else {
        return Err(Refusal::new(
            format!("no shipped fluid gives {} anywhere near where it was measured", wanted.quantity),
            "an oil is known between its measured points and a little beyond",
            "give an oil of your own by two points of its data sheet, with `--point … at …`",
        )
        .into());
    };
    let mut answer = Answer::new(
        QUESTION,
        format!(
            "{} shipped fluids give {}; {} at {} is the nearest to a comfortable bench (45 °C)",
            rows.len(),
            wanted.quantity,
            oil.called(),
            celsius(easiest.set_point)
        ),
    );
    let row = |(found, oil): &(Found, Oil)| {
        let far = match found.stretch {
            Stretch::None => "",
            Stretch::Near(_) => "near",
            Stretch::Far(_) => "far",
        };
        let margin = oil.flash.as_ref().map_or("unknown".to_owned(), |(flash, _)| kelvins(flash - found.hottest));
        let flash = oil.flash.as_ref().map_or("unknown".to_owned(), |(flash, _)| celsius(*flash));
        [
            oil.name.clone(),
            celsius(found.set_point),
            window(found),
            percent(found.sensitivity, 2).replace(" %", " %/K"),
            flash,
            margin,
            far.to_owned(),
        ]
    };
    answer = answer.table(
        ["fluid", "set-point", "permitted window", "change", "flash point", "below it by", "stretched"],
        rows.iter().map(row).collect(),
    );
    let hot = rows.iter().any(|(found, _)| found.hottest >= WARM);
    answer = answer
        .used("viscosity wanted", wanted.quantity.to_string())
        .used("tolerance", if wanted.given { wanted.tolerance.clone() } else { format!("± {USUAL}, since none was given (common practice: 3 to 5 %)") })
        .used("fluids", "protocols/fluids.leaf as shipped: typical values, each with its mark; most of them from memory")
        .formula(
            "log₁₀ log₁₀ (ν + 0.7 + small terms below 2 mm²/s) = A − B log₁₀ T, T in kelvin, through two points of each fluid",
            "ASTM D341; the small terms are from memory, confirmed against its published short form to 0.5 %",
        )
        .limit("stretched: the set-point lies up to 20 K (near) or 40 K (far) outside the measured points; beyond that a fluid is left out.")
        .limit(format!("Left out as well: whatever comes within {FLASH_MARGIN:.0} K of its flash point, falls below its pour point, or is a solvent."))
        .limit("Good enough to choose an oil by, not to test with: measure your own drum at two temperatures.");
    for what in left_out {
        answer = answer.limit(format!("Left out: {what}."));
    }
    Ok(if hot { answer.caution(super::view::HOT_OIL) } else { answer })
}
