//! Secondary views: what dust costs, per price, per area of the medium, per volume of the can.

use crate::plan::{Model, Plan, ResultKey, ResultKind};
use crate::quantity::{Quantity, Unit};
use crate::results::estimate::Outcome;
use crate::results::model::{Measurand, PerUnit};

/// What a model says of itself.
type Divisor = fn(&Model) -> Option<&Quantity>;

/// Dust given and held, per unit of what the models say of themselves. A view is there only where two specimens have it.
pub(crate) fn views(plan: &Plan, keys: &[ResultKey], measurands: &[Measurand]) -> Vec<PerUnit> {
    let of_dust =
        keys.iter().zip(measurands).filter(|(key, _)| matches!(key.kind, ResultKind::Capacity | ResultKind::Retained));
    let divisors: [(&str, Divisor); 3] = [
        ("price", |model| model.price.as_ref()),
        ("media area", |model| model.media_area.as_ref()),
        ("can volume", |model| model.can_volume.as_ref()),
    ];
    let all = of_dust.flat_map(|(_, measurand)| divisors.iter().map(move |(per, of)| (measurand, *per, *of)));
    all.filter_map(|(measurand, per, of)| view(plan, measurand, per, of)).collect()
}

fn view(plan: &Plan, measurand: &Measurand, per: &str, of: Divisor) -> Option<PerUnit> {
    let divisors: Vec<(&str, &Outcome, &Quantity)> = measurand
        .entries
        .iter()
        .filter_map(|entry| {
            let model = plan.campaign.models.get(entry.model.as_ref()?)?;
            Some((entry.specimen.as_str(), &entry.outcome, of(model)?))
        })
        .collect();
    // Prices in two currencies are not compared: the one that most are given in is.
    let like = |unit: &Unit| divisors.iter().filter(|(_, _, divisor)| divisor.convert(unit, true).is_ok()).count();
    let units = divisors.iter().map(|(_, _, divisor)| &divisor.unit);
    let unit = units.rev().max_by_key(|unit| like(unit))?.clone();
    let mut entries = Vec::new();
    for (specimen, outcome, divisor) in divisors {
        let Ok(value) = divisor.convert(&unit, true) else {
            let why = format!("its {per} is in {}, and those of the others in {}", divisor.unit.text, unit.text);
            entries.push((specimen.to_owned(), Outcome::unsaid(why)));
            continue;
        };
        // Nothing is divided by nothing.
        if !(value > 0.0 && value.is_finite()) {
            continue;
        }
        let factor = measurand.unit.from_si_difference(1.0) / value;
        let scaled = match outcome {
            Outcome::Known(known) => Outcome::Known(known.scaled(factor)),
            Outcome::AtLeast { bound, why } => Outcome::AtLeast { bound: bound * factor, why: why.clone() },
            Outcome::AtMost { bound, why } => Outcome::AtMost { bound: bound * factor, why: why.clone() },
            Outcome::Unsaid { .. } => continue,
        };
        entries.push((specimen.to_owned(), scaled));
    }
    let said = entries.iter().filter(|(_, outcome)| !matches!(outcome, Outcome::Unsaid { .. })).count();
    (said >= 2).then(|| PerUnit {
        measurand: measurand.key.clone(),
        per: per.to_owned(),
        unit: format!("{} per {}", measurand.unit.text, unit.text),
        entries,
    })
}
