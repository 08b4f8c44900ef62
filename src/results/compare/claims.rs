//! What packages promise, beside what was measured: met, not met, or cannot be said.

use super::words;
use crate::plan::{Action, Bounds, Claim, Model, Plan, ResultKey, ResultKind, same_basis, same_size, size_words};
use crate::quantity::{Dimension, Quantity, Unit};
use crate::results::estimate::Outcome;
use crate::results::model::{ClaimCheck, ClaimEach, Entry, Measurand, Met};

/// Every claim of every model, and the opening pressure of its by-pass.
pub(crate) fn claims(plan: &Plan, keys: &[ResultKey], measurands: &[Measurand]) -> Vec<ClaimCheck> {
    let measured: Vec<(&ResultKey, &Measurand)> = keys.iter().zip(measurands).collect();
    let mut held = Vec::new();
    for model in plan.campaign.models.values() {
        held.extend(model.claims.iter().map(|claim| hold(plan, model, claim, &measured)));
        if let Some(opens) = &model.bypass_opens {
            held.push(opening(plan, model, &opens.value, &measured));
        }
    }
    held
}

fn hold(plan: &Plan, model: &Model, claim: &Claim, measured: &[(&ResultKey, &Measurand)]) -> ClaimCheck {
    let said = written(claim);
    let Some(bounds) = &claim.bounds else {
        let why = match &claim.text {
            Some(text) if text.contains(|c: char| c.is_ascii_digit()) => format!(
                "`{text}` is quoted as words: it does not say by which counter's calibration, with which dust or at which flow, and nothing can be held against it"
            ),
            Some(text) => format!("`{text}` names no number that could be measured"),
            None => "the package gives no number".to_owned(),
        };
        return cannot(model, said, Vec::new(), why);
    };
    let found = match &claim.size {
        Some(size) => {
            promised_share(claim, bounds).and_then(|promise| Ok((promise, captures(plan, model, size, measured)?)))
        }
        None => of_kind(model, claim, bounds, measured).map(|found| (Promise::as_written(bounds), found)),
    };
    match found {
        Ok((promise, found)) => judge(model, said, &found, |outcome, unit| within(outcome, &promise, unit)),
        Err(why) => cannot(model, said, codes(plan, model), why),
    }
}

/// What a package promises, as it can be held against what was measured.
struct Promise {
    low: Option<f64>,
    high: Option<f64>,
    words: String,
}

impl Promise {
    fn as_written(bounds: &Bounds) -> Promise {
        let words = match (&bounds.low, &bounds.high) {
            (Some(low), Some(high)) => format!("the promised {low} to {high}"),
            (Some(low), None) => format!("the promised least of {low}"),
            (None, Some(high)) => format!("the promised most of {high}"),
            (None, None) => "the promise".to_owned(),
        };
        Promise { low: bounds.window.low, high: bounds.window.high, words }
    }
}

/// The share caught that is promised at a size. A filtration ratio β (particles before the filter by those behind it) is a share
/// of 1 − 1/β (ISO 16889:2022, from memory); why there is none otherwise.
fn promised_share(claim: &Claim, bounds: &Bounds) -> Result<Promise, String> {
    let ends = || [&bounds.low, &bounds.high].into_iter().flatten();
    if let Some(end) = ends().find(|end| end.unit.dimension != Dimension::NONE) {
        return Err(format!("{end} is neither a share caught nor a filtration ratio, and only those have a size"));
    }
    let mut promise = Promise::as_written(bounds);
    if claim.name.split('-').any(|word| matches!(word, "beta" | "ratio")) {
        if let Some(end) = ends().find(|end| end.si() < 1.0) {
            return Err(format!("{end} is no filtration ratio: it is 1 where nothing is caught, and never less"));
        }
        let share = |ratio: f64| 1.0 - 1.0 / ratio;
        (promise.low, promise.high) = (promise.low.map(share), promise.high.map(share));
        let shares: Vec<String> =
            [promise.low, promise.high].into_iter().flatten().map(|share| format!("{:.2} %", 100.0 * share)).collect();
        promise.words.push_str(&format!(" (a ratio; {} caught)", shares.join(" to ")));
    } else if let Some(end) = ends().find(|end| end.si() > 1.0) {
        return Err(format!(
            "{end} is more than all particles: a share is written with %, and a filtration ratio as `claims beta …`"
        ));
    }
    Ok(promise)
}

/// The claim as the plan quotes it.
fn written(claim: &Claim) -> String {
    let bounds = match &claim.bounds {
        Some(Bounds { low: Some(low), high: Some(high), .. }) => format!("{low} to {high}"),
        Some(Bounds { low: Some(low), high: None, .. }) => format!("at least {low}"),
        Some(Bounds { low: None, high: Some(high), .. }) => format!("at most {high}"),
        _ => claim.text.clone().unwrap_or_default(),
    };
    let size = claim.size.as_ref().map_or_else(String::new, |size| format!(" at {size}"));
    format!("{} {bounds}{size}", claim.name)
}

fn codes(plan: &Plan, model: &Model) -> Vec<String> {
    let specimens = plan.campaign.specimens.values();
    specimens.filter(|one| one.model.as_ref() == Some(&model.name)).map(|one| one.code.clone()).collect()
}

fn cannot(model: &Model, claim: String, specimens: Vec<String>, words: String) -> ClaimCheck {
    ClaimCheck {
        model: model.name.clone(),
        claim,
        specimens,
        verdict: Met::CannotBeSaid,
        words,
        each: Vec::new(),
        rests_on: Vec::new(),
    }
}

type Found<'m> = Vec<(&'m Measurand, Vec<&'m Entry>)>;

fn of_model<'m>(model: &Model, measurand: &'m Measurand) -> Option<(&'m Measurand, Vec<&'m Entry>)> {
    let entries = measurand.entries.iter();
    let entries: Vec<&Entry> = entries.filter(|entry| entry.model.as_ref() == Some(&model.name)).collect();
    (!entries.is_empty()).then_some((measurand, entries))
}

/// Shares caught at the claim's size, told by the same calibration; why there is none otherwise.
fn captures<'m>(
    plan: &Plan,
    model: &Model,
    size: &Quantity,
    measured: &[(&ResultKey, &'m Measurand)],
) -> Result<Found<'m>, String> {
    let mut counted: Vec<&Quantity> = Vec::new();
    let mut found = Vec::new();
    for (key, measurand) in measured {
        let ResultKind::Capture { size: at } = &key.kind else { continue };
        let Some(entries) = of_model(model, measurand) else { continue };
        counted.push(at);
        if same_size(at, size) {
            found.push(entries);
        }
    }
    if !found.is_empty() {
        return Ok(found);
    }
    if counted.is_empty() {
        let tested = codes(plan, model);
        return Err(if tested.is_empty() {
            "no specimen of it is in the register".to_owned()
        } else {
            format!("no particles were counted before and behind {}", words::list(&tested))
        });
    }
    let sizes = words::list(&counted.iter().map(|size| size_words(size)).collect::<Vec<_>>());
    if counted.iter().all(|at| !same_basis(&at.unit, &size.unit)) {
        return Err(format!(
            "it is promised at {size}, and particles were counted at {sizes}: another calibration of the counter, so that equal numbers mean other particles"
        ));
    }
    Err(format!("it is promised at {size}, and particles were counted at {sizes}; nothing is read in between"))
}

/// Measurands that a claim without a size can be about.
fn of_kind<'m>(
    model: &Model,
    claim: &Claim,
    bounds: &Bounds,
    measured: &[(&ResultKey, &'m Measurand)],
) -> Result<Found<'m>, String> {
    let ends = || [&bounds.low, &bounds.high].into_iter().flatten();
    if let Some(end) = ends().find(|end| end.si_difference() < 0.0) {
        return Err(format!("{end} is less than nothing: look at what the package says"));
    }
    let dimension = ends().map(|end| end.unit.dimension).next();
    let is = |wanted: Dimension| dimension == Some(wanted);
    if is(Dimension::MASS) {
        let held = ["held", "retain", "retained", "holds"].iter().any(|word| claim.name.contains(word));
        let wanted = if held { ResultKind::Retained } else { ResultKind::Capacity };
        let found = measured.iter().filter(|(key, _)| key.kind == wanted);
        return Ok(found.filter_map(|(_, measurand)| of_model(model, measurand)).collect());
    }
    if is(Dimension::PRESSURE) {
        return Err("the package gives a pressure without the flow and the viscosity at which it is meant".to_owned());
    }
    if is(Dimension::NONE) {
        return Err("the package gives a share without the size from which on particles count".to_owned());
    }
    Err("nothing of this kind was measured".to_owned())
}

/// When the by-pass opens, against the pressure that the maker gives.
fn opening(plan: &Plan, model: &Model, opens: &Quantity, measured: &[(&ResultKey, &Measurand)]) -> ClaimCheck {
    let claim = format!("by-pass opens at {opens}");
    let bypass = |key: &ResultKey| {
        let ResultKind::Mechanical { name } = &key.kind else { return false };
        let Some(test) = plan.tests.get(key.test) else { return false };
        let steps = test.steps.iter().filter(|step| matches!(step.action, Action::BypassFlow { .. }));
        let mut stages = steps.filter_map(|step| test.stages.get(step.stage));
        stages.any(|stage| stage.name == *name)
    };
    let found: Found<'_> = measured
        .iter()
        .filter(|(key, measurand)| bypass(key) && measurand.unit.dimension == Dimension::PRESSURE)
        .filter_map(|(_, measurand)| of_model(model, measurand))
        .collect();
    let si = opens.si_difference();
    let (low, high) = as_rounded(opens);
    judge(model, claim, &found, |outcome, unit| match outcome {
        Outcome::Known(known) if known.interval.high >= low && known.interval.low <= high => (
            Met::CannotBeSaid,
            format!("{}, which agrees with {opens} as that is rounded", words::estimate(known, unit)),
        ),
        Outcome::Known(known) => {
            let way = if known.value > si { "later" } else { "earlier" };
            (Met::NotMet, format!("{}, {way} than the {opens} of its maker", words::estimate(known, unit)))
        }
        Outcome::AtLeast { bound, .. } if *bound > high => {
            (Met::NotMet, format!("{}, later than the {opens} of its maker", words::outcome(outcome, unit)))
        }
        Outcome::AtMost { bound, .. } if *bound < low => {
            (Met::NotMet, format!("{}, earlier than the {opens} of its maker", words::outcome(outcome, unit)))
        }
        other => (Met::CannotBeSaid, unsaid(other, unit)),
    })
}

/// What a figure without a tolerance may stand for, in SI: half of its last digit that is not a zero, on either side, and no more
/// than 5 % of it (common practice, no source).
fn as_rounded(figure: &Quantity) -> (f64, f64) {
    let si = figure.si_difference();
    let digits = figure.number.replace('.', "");
    let zeros = digits.len() - digits.trim_end_matches('0').len();
    let last = 10_f64.powi(i32::try_from(zeros).unwrap_or(0) - i32::try_from(figure.decimals()).unwrap_or(0));
    let half = if figure.value == 0.0 { 0.0 } else { (0.5 * last / figure.value.abs()).min(0.05) * si.abs() };
    (si - half, si + half)
}

/// One verdict over all measurands and specimens: one specimen that misses is enough to miss.
fn judge(
    model: &Model,
    claim: String,
    found: &Found<'_>,
    verdict: impl Fn(&Outcome, &Unit) -> (Met, String),
) -> ClaimCheck {
    let mut each: Vec<ClaimEach> = Vec::new();
    for (measurand, entries) in found {
        for entry in entries {
            let (verdict, words) = verdict(&entry.outcome, &measurand.unit);
            let (specimen, measurand) = (entry.specimen.clone(), measurand.key.clone());
            each.push(ClaimEach { specimen, measurand, verdict, words });
        }
    }
    let verdict = if each.iter().any(|one| one.verdict == Met::NotMet) {
        Met::NotMet
    } else if !each.is_empty() && each.iter().all(|one| one.verdict == Met::Met) {
        Met::Met
    } else {
        Met::CannotBeSaid
    };
    let mut specimens: Vec<String> = Vec::new();
    for one in &each {
        if !specimens.contains(&one.specimen) {
            specimens.push(one.specimen.clone());
        }
    }
    let words = match each.as_slice() {
        [] => "nothing of this kind was measured on it".to_owned(),
        all => all.iter().map(|one| format!("{}: {}", one.specimen, one.words)).collect::<Vec<_>>().join("; "),
    };
    let rests_on = found.iter().map(|(measurand, _)| measurand.key.clone()).collect();
    ClaimCheck { model: model.name.clone(), claim, specimens, verdict, words, each, rests_on }
}

/// Against a promise: met when the whole interval lies inside, not met when it lies wholly outside.
fn within(outcome: &Outcome, promise: &Promise, unit: &Unit) -> (Met, String) {
    let (low, high, promised) = (promise.low, promise.high, &promise.words);
    let measured = words::outcome(outcome, unit);
    // What may lie at either end; an end that is not known is open.
    let (from, to) = match outcome {
        Outcome::Known(known) => (Some(known.interval.low), Some(known.interval.high)),
        Outcome::AtLeast { bound, .. } => (Some(*bound), None),
        Outcome::AtMost { bound, .. } => (None, Some(*bound)),
        Outcome::Unsaid { .. } => return (Met::CannotBeSaid, unsaid(outcome, unit)),
    };
    let inside = low.is_none_or(|low| from.is_some_and(|from| from >= low))
        && high.is_none_or(|high| to.is_some_and(|to| to <= high));
    let outside = low.is_some_and(|low| to.is_some_and(|to| to < low))
        || high.is_some_and(|high| from.is_some_and(|from| from > high));
    let side = match (low, high) {
        (Some(_), None) => ("at or above", "below"),
        (None, Some(_)) => ("at or below", "above"),
        _ => ("within", "outside"),
    };
    if inside {
        (Met::Met, format!("{measured}, all of it {} {promised}", side.0))
    } else if outside {
        (Met::NotMet, format!("{measured}, all of it {} {promised}", side.1))
    } else {
        (Met::CannotBeSaid, format!("{measured}, which leaves open on which side of {promised} it lies"))
    }
}

fn unsaid(outcome: &Outcome, unit: &Unit) -> String {
    match outcome {
        Outcome::Unsaid { why } => format!("nothing can be said ({why})"),
        Outcome::AtLeast { why, .. } | Outcome::AtMost { why, .. } => {
            format!("{} ({why}), which does not decide it", words::outcome(outcome, unit))
        }
        Outcome::Known(_) => words::outcome(outcome, unit),
    }
}
