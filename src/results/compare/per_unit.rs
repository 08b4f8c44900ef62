//! Secondary views: what dust costs, per price, per area of the medium, per volume of the can.

use crate::plan::{Model, Plan, ResultKey, ResultKind};
use crate::quantity::Quantity;
use crate::results::estimate::Outcome;
use crate::results::model::{Measurand, PerUnit};

/// Dust given and held, per unit of what the models say of themselves. A view is there only where two specimens have it.
pub(crate) fn views(plan: &Plan, keys: &[ResultKey], measurands: &[Measurand]) -> Vec<PerUnit> {
    let of_dust =
        keys.iter().zip(measurands).filter(|(key, _)| matches!(key.kind, ResultKind::Capacity | ResultKind::Retained));
    let divisors: [(&str, fn(&Model) -> Option<&Quantity>); 3] = [
        ("price", |model| model.price.as_ref()),
        ("media area", |model| model.media_area.as_ref()),
        ("can volume", |model| model.can_volume.as_ref()),
    ];
    let all = of_dust.flat_map(|(_, measurand)| divisors.iter().map(move |(per, of)| (measurand, *per, *of)));
    all.filter_map(|(measurand, per, of)| view(plan, measurand, per, of)).collect()
}

fn view(plan: &Plan, measurand: &Measurand, per: &str, of: fn(&Model) -> Option<&Quantity>) -> Option<PerUnit> {
    let divisors: Vec<(&str, &Outcome, &Quantity)> = measurand
        .entries
        .iter()
        .filter_map(|entry| {
            let model = plan.campaign.models.get(entry.model.as_ref()?)?;
            Some((entry.specimen.as_str(), &entry.outcome, of(model)?))
        })
        .collect();
    let unit = divisors.first()?.2.unit.clone();
    let mut entries = Vec::new();
    for (specimen, outcome, divisor) in divisors {
        // Prices in two currencies are not compared, and nothing is divided by nothing.
        let Ok(value) = divisor.convert(&unit, true) else { continue };
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
    (entries.len() >= 2).then(|| PerUnit {
        measurand: measurand.key.clone(),
        per: per.to_owned(),
        unit: format!("{} per {}", measurand.unit.text, unit.text),
        entries,
    })
}
