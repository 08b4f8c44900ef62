//! What valves, seals and seams did: by-pass opening, anti-drain leakage, bubble point, burst, torques; and what was seen.

use uom::si::length::meter as metre;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::pascal;

use super::estimate::{Estimate, Outcome, Source};
use super::model::{Better, MechanicalResult, Observation};
use super::sheet::{Sheet, missing};
use crate::audit::log::Slot;
use crate::plan::{Action, Measures, Numeric, Stage, Wants};
use crate::quantity::si::{Length, MassDensity};
use crate::record::Column;
use crate::trade::confidence::Interval;
use crate::trade::hydraulics::hydrostatic_head;

/// Half width of a flow that was set and not read, as a share.
const SET_ONLY: f64 = 0.05;

/// The mechanical results of a run, stage by stage.
pub(crate) fn mechanics(sheet: &Sheet<'_>) -> Vec<MechanicalResult> {
    if sheet.log.last.is_none() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (place, stage) in sheet.log.test.stages.iter().enumerate() {
        let slots: Vec<&Slot<'_>> = sheet.stage(place).map(|(_, slot)| slot).filter(|slot| !slot.dropped).collect();
        found.extend(by_pass(sheet, stage, &slots));
        found.extend(drain_back(sheet, stage, &slots));
        found.extend(bubbles(sheet, stage, &slots));
        found.extend(burst(sheet, stage, &slots));
        found.extend(torques(sheet, stage, &slots));
    }
    found
}

/// What was looked at, counted, measured or photographed, in the order of the plan.
pub(crate) fn observations(sheet: &Sheet<'_>) -> Vec<Observation> {
    let looks = sheet.log.slots.iter().filter(|slot| matches!(slot.step.action, Action::Observe | Action::Photograph));
    looks
        .filter(|slot| slot.is_recorded() && sheet.barred(&slot.reading.path).is_none())
        .filter_map(|slot| {
            let row = slot.current()?;
            let value = row.text(Column::Value).trim();
            let unit = if slot.numeric().is_some() { row.text(Column::Unit).trim() } else { "" };
            Some(Observation {
                path: slot.reading.path.clone(),
                label: slot.reading.label.clone(),
                written: if unit.is_empty() { value.to_owned() } else { format!("{value} {unit}") },
                photograph: matches!(slot.reading.wants, Wants::Photograph),
            })
        })
        .collect()
}

fn result(key: String, title: &str, numeric: &Numeric, better: Better, outcome: Outcome) -> MechanicalResult {
    MechanicalResult {
        key,
        title: title.to_owned(),
        unit: numeric.unit.clone(),
        better,
        outcome,
        values: Vec::new(),
        curve: Vec::new(),
        remarks: Vec::new(),
    }
}

/// Numbers of these slots that may be used, by path.
fn values(sheet: &Sheet<'_>, slots: &[&Slot<'_>]) -> Vec<(String, f64)> {
    slots.iter().filter_map(|slot| Some((slot.reading.path.clone(), sheet.si(slot)?))).collect()
}

/// What an instrument may be off at a value, and its last digit.
fn reading(sheet: &Sheet<'_>, numeric: &Numeric, value: f64) -> Vec<Source> {
    let name = numeric.instrument.clone().unwrap_or_default();
    let mut sources = Vec::new();
    if let Some(limits) = sheet.limits(numeric, value).filter(|limits| *limits > 0.0) {
        sources.push(Source::within(name.clone(), limits).shared(name.clone()));
    }
    sources.push(Source::within(format!("last digit of {name}"), sheet.half_digit(numeric)));
    sources
}

/// The mean of repeats: their scatter as Student has it, the instrument alike in all of them.
fn mean(sheet: &Sheet<'_>, numeric: &Numeric, values: &[(String, f64)], remarks: &mut Vec<String>) -> Option<Estimate> {
    let count = values.len() as f64;
    if values.is_empty() {
        return None;
    }
    let mean = values.iter().map(|(_, value)| value).sum::<f64>() / count;
    let mut sources = reading(sheet, numeric, mean);
    if values.len() > 1 {
        let squares: f64 = values.iter().map(|(_, value)| (value - mean).powi(2)).sum();
        let standard = (squares / (count - 1.0) / count).sqrt();
        if standard > 0.0 {
            sources.insert(0, Source::scatter("scatter of the repeats", standard, count - 1.0));
        }
    } else {
        remarks.push("One reading: how far repeats lie apart is not known.".to_owned());
    }
    Some(Estimate::new(mean, sources))
}

const NOTHING: &str = "nothing was recorded that can be used";

fn group(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(place, _)| place)
}

/// The differential pressure at which the leak reaches the flow that counts as open.
fn by_pass(sheet: &Sheet<'_>, stage: &Stage, slots: &[&Slot<'_>]) -> Option<MechanicalResult> {
    let legs: Vec<(&str, f64, f64)> = slots
        .iter()
        .filter_map(|slot| match &slot.step.action {
            Action::BypassFlow { flow, leak } => Some((group(&slot.reading.path), flow.si(), leak.si())),
            _ => None,
        })
        .collect();
    let (_, _, leak) = *legs.first()?;
    let mut numbers: Option<(&Numeric, Option<&Numeric>)> = None;
    let (mut points, mut lost, mut unread) = (Vec::new(), 0, 0);
    for (of, planned, _) in &legs {
        let beside = |what: Measures| {
            let own = slots.iter().filter(|slot| group(&slot.reading.path) == *of);
            own.copied().find(|slot| Sheet::measures(slot, what))
        };
        let Some(gauge) = beside(Measures::DifferentialPressure) else { continue };
        let meter = beside(Measures::Flow);
        if let Some(numeric) = gauge.numeric() {
            numbers.get_or_insert((numeric, meter.and_then(Slot::numeric)));
        }
        let flow = meter.and_then(|meter| sheet.si(meter));
        match sheet.si(gauge) {
            Some(pressure) => {
                unread += usize::from(flow.is_none());
                points.push((gauge.reading.path.clone(), flow.unwrap_or(*planned), pressure));
            }
            None => lost += 1,
        }
    }
    let (gauge, meter) = numbers?;
    points.sort_by(|one, other| one.1.total_cmp(&other.1));
    let flow_doubt = |flow: f64| {
        meter.filter(|_| unread == 0).and_then(|meter| sheet.limits(meter, flow)).unwrap_or(SET_ONLY * flow)
    };
    let rough = roughness(&points, leak - flow_doubt(leak).min(0.02 * leak));
    let outcome = opening(&points, leak, flow_doubt(leak), rough, |pressure, slope| {
        let name = meter.and_then(|meter| meter.instrument.clone()).unwrap_or_default();
        let mut sources = reading(sheet, gauge, pressure);
        sources.push(Source::within(format!("flow {name}"), slope * flow_doubt(leak)).shared(name));
        sources
    });
    let mut found = result(stage.name.clone(), &stage.title, gauge, Better::Neither, outcome);
    if lost > 0 {
        found.remarks.push(missing(lost, lost + points.len(), "readings"));
    }
    if unread > 0 {
        found.remarks.push(format!(
            "At {unread} {} the flow was set and not read; it was taken as planned.",
            if unread == 1 { "setting" } else { "settings" }
        ));
    }
    if rough.is_none() && found.outcome.known().is_some() {
        found.remarks.push(
            "Too few flows with the valve open to see how single readings scatter: that is not in the interval."
                .to_owned(),
        );
    }
    let once = points.windows(2).all(|pair| matches!(pair, [one, next] if next.1 > 1.02 * one.1));
    if once && found.outcome.known().is_some() {
        found.remarks.push(
            "Each flow was set once: whether the valve opens at the same pressure a second time was not tested."
                .to_owned(),
        );
    }
    found.curve = points.iter().map(|(_, flow, pressure)| (*flow, *pressure)).collect();
    found.values = points.into_iter().map(|(path, _, pressure)| (path, pressure)).collect();
    Some(found)
}

/// Interpolated between the last flow below the leak and the first that reaches it. Where between the two the valve lifts is
/// known only from the line between them: half the step counts as doubt, the less the nearer a reading lies.
fn opening(
    points: &[(String, f64, f64)],
    leak: f64,
    doubt: f64,
    rough: Option<(f64, f64)>,
    sources: impl Fn(f64, f64) -> Vec<Source>,
) -> Outcome {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return Outcome::unsaid(NOTHING) };
    let one_sided = |pressure: f64, up: bool| {
        let estimate = Estimate::new(pressure, sources(pressure, 0.0));
        if up { estimate.interval.high } else { estimate.interval.low.max(0.0) }
    };
    // A flow that is the leak as far as the meter can tell.
    let reached = points.iter().position(|(_, flow, _)| *flow >= leak - doubt.min(0.02 * leak));
    match reached {
        None => Outcome::AtLeast {
            bound: one_sided(points.iter().map(|(_, _, p)| *p).fold(last.2, f64::max), false),
            why: "it had not opened at the highest flow that was read".to_owned(),
        },
        Some(0) if first.1 > leak + doubt.max(0.02 * leak) => Outcome::AtMost {
            bound: one_sided(first.2, true),
            why: "it was open at the first flow that was read".to_owned(),
        },
        Some(place) => {
            let (low, high) = match (place.checked_sub(1).and_then(|below| points.get(below)), points.get(place)) {
                (Some(low), Some(high)) => (low, high),
                // The first flow is the leak itself; the next one tells how steep the curve is.
                _ => (first, points.get(1).unwrap_or(first)),
            };
            let width = high.1 - low.1;
            let slope = if width > 0.0 { (high.2 - low.2) / width } else { 0.0 };
            let pressure = low.2 + slope * (leak - low.1);
            let share = if width > 0.0 { ((leak - low.1) / width).clamp(0.0, 1.0) } else { 0.0 };
            let mut sources = sources(pressure, slope);
            if let Some((deviation, freedom)) = rough {
                let name = "scatter of single readings about a smooth curve";
                sources.push(Source::scatter(name, deviation * share.hypot(1.0 - share), freedom));
            }
            let between = (high.2 - low.2).abs() / 2.0 * (4.0 * share * (1.0 - share)).min(1.0);
            if between > 0.0 {
                sources.push(Source::within("the step between two flows", between));
            }
            let estimate = Estimate::new(pressure, sources);
            // No valve opens at no pressure.
            match estimate.interval.low > 0.0 {
                true => Outcome::Known(estimate),
                false => Outcome::unsaid(
                    "the readings scatter so much, or their steps are so wide, that it may have opened at no pressure at all",
                ),
            }
        }
    }
}

/// Departures from the line between the neighbours, of which at least so many are wanted.
const NEIGHBOURS: usize = 4;

/// Standard deviation of single readings about a smooth curve, and its degrees of freedom: from how far each reading with the valve open
/// (from a flow up) lies off the line between its two neighbours. Gasser, Sroka and Jennen-Steinmetz, *Biometrika* 73 (1986)
/// 625, from memory; neighbours' departures hang together, which leaves 18/35 of a degree each where the flows are even. A curve that
/// bends counts as scatter too.
fn roughness(points: &[(String, f64, f64)], from: f64) -> Option<(f64, f64)> {
    let open: Vec<(f64, f64)> = points.iter().filter(|point| point.1 >= from).map(|point| (point.1, point.2)).collect();
    let squares: Vec<f64> = open
        .windows(3)
        .filter_map(|three| match three {
            [(x0, y0), (x1, y1), (x2, y2)] if x0 < x1 && x1 < x2 => {
                let part = (x2 - x1) / (x2 - x0);
                let off = part * y0 + (1.0 - part) * y2 - y1;
                Some(off * off / (part * part + (1.0 - part) * (1.0 - part) + 1.0))
            }
            _ => None,
        })
        .collect();
    let count = squares.len() as f64;
    (squares.len() >= NEIGHBOURS).then(|| ((squares.iter().sum::<f64>() / count).sqrt(), count * 18.0 / 35.0))
}

fn drain_back(sheet: &Sheet<'_>, stage: &Stage, slots: &[&Slot<'_>]) -> Option<MechanicalResult> {
    let own: Vec<&Slot<'_>> =
        slots.iter().copied().filter(|slot| matches!(slot.step.action, Action::AntiDrain { .. })).collect();
    let numeric = own.iter().find_map(|slot| slot.numeric())?;
    let values = values(sheet, &own);
    let mut remarks = Vec::new();
    let digit = sheet.half_digit(numeric);
    let outcome = match mean(sheet, numeric, &values, &mut remarks) {
        None => Outcome::unsaid(NOTHING),
        Some(_) if values.iter().all(|(_, value)| value.abs() < digit) => {
            Outcome::AtMost { bound: digit, why: "nothing was collected that the instrument shows".to_owned() }
        }
        Some(estimate) => {
            // No less than nothing runs out.
            let interval = Interval { low: estimate.interval.low.max(0.0), high: estimate.interval.high };
            Outcome::Known(Estimate { interval, ..estimate })
        }
    };
    let mut found = result(stage.name.clone(), &stage.title, numeric, Better::Low, outcome);
    if let Some(Action::AntiDrain { head, fluid, time }) = own.first().map(|slot| &slot.step.action) {
        found.remarks.push(format!("Collected in {time} under {head} of {fluid}."));
    }
    if values.len() < own.len() && !values.is_empty() {
        found.remarks.push(missing(own.len() - values.len(), own.len(), "repeats"));
    }
    found.remarks.extend(remarks);
    found.values = values;
    Some(found)
}

fn bubbles(sheet: &Sheet<'_>, stage: &Stage, slots: &[&Slot<'_>]) -> Option<MechanicalResult> {
    let own: Vec<&Slot<'_>> =
        slots.iter().copied().filter(|slot| matches!(slot.step.action, Action::BubblePoint { .. })).collect();
    let numeric = own.iter().find_map(|slot| slot.numeric())?;
    let Some(Action::BubblePoint { fluid, depth, .. }) = own.first().map(|slot| &slot.step.action) else { return None };
    let values = values(sheet, &own);
    let mut remarks = Vec::new();
    let density = sheet.plan.fluids.get(fluid).and_then(|fluid| fluid.density.as_ref()).map(|said| said.value.0.si());
    let head = density.and_then(|density| {
        let density = MassDensity::new::<kilogram_per_cubic_meter>(density);
        hydrostatic_head(Length::new::<metre>(depth.si()), density).ok().map(|head| head.get::<pascal>())
    });
    let net = mean(sheet, numeric, &values, &mut remarks).map(|gross| {
        let value = gross.value - head.unwrap_or(0.0);
        let mut sources = gross.sources;
        if let Some(head) = head {
            // A tenth of the depth: how a can is held in its bath.
            sources.push(Source::within("depth of immersion", 0.1 * head));
        }
        Estimate::new(value, sources)
    });
    let came = slots.iter().find(|slot| {
        matches!(slot.reading.wants, Wants::Choice(_))
            && slot.reading.name.contains("bubble")
            && slot.is_recorded()
            && sheet.barred(&slot.reading.path).is_none()
    });
    let came = came.and_then(|slot| slot.current()).map(|row| row.text(Column::Value).trim().to_lowercase());
    let at_least = |net: &Estimate, why: String| Outcome::AtLeast { bound: net.interval.low.max(0.0), why };
    let outcome = match (net, came.as_deref()) {
        (None, _) => Outcome::unsaid(NOTHING),
        (Some(net), _) if net.value <= 0.0 => {
            let _ = net;
            Outcome::unsaid("the liquid over the element takes up the whole pressure that was read")
        }
        (Some(net), Some("none")) => at_least(&net, "no bubble was seen up to this pressure".to_owned()),
        (Some(net), Some(place)) if !place.contains("element") && !place.contains("medium") => {
            at_least(&net, format!("the first bubbles came from the {place}; the element itself holds at least this"))
        }
        (Some(net), _) if head.is_none() => Outcome::AtMost {
            bound: net.interval.high,
            why: format!("the density of {fluid} is not known, so the liquid over the element is not taken off"),
        },
        (Some(net), _) => Outcome::Known(net),
    };
    let mut found = result(stage.name.clone(), &stage.title, numeric, Better::Neither, outcome);
    if let Some(head) = head {
        found.remarks.push(format!("The liquid over the element, {depth} of {fluid}, is taken off: {head:.0} Pa."));
    }
    match came {
        Some(place) => found.remarks.push(format!("First bubbles: {place}.")),
        None => found.remarks.push("Where the first bubbles came from was not written down.".to_owned()),
    }
    found.remarks.push("A bubble point says whether an element is made soundly; it is no rating.".to_owned());
    found.remarks.extend(remarks);
    found.values = values;
    Some(found)
}

fn burst(sheet: &Sheet<'_>, stage: &Stage, slots: &[&Slot<'_>]) -> Option<MechanicalResult> {
    let slot = slots.iter().copied().find(|slot| matches!(slot.step.action, Action::Burst { .. }))?;
    let Action::Burst { cap, .. } = &slot.step.action else { return None };
    let numeric = slot.numeric()?;
    let outcome = match sheet.si(slot) {
        None => Outcome::unsaid(NOTHING),
        Some(value) => {
            let estimate = Estimate::new(value, reading(sheet, numeric, value));
            if estimate.interval.high >= cap.si() {
                Outcome::AtLeast { bound: estimate.interval.low.max(0.0), why: "it was not raised further".to_owned() }
            } else {
                Outcome::Known(estimate)
            }
        }
    };
    let mut found = result(stage.name.clone(), &stage.title, numeric, Better::High, outcome);
    found.values = values(sheet, &[slot]);
    Some(found)
}

fn torques(sheet: &Sheet<'_>, stage: &Stage, slots: &[&Slot<'_>]) -> Vec<MechanicalResult> {
    let mut found: Vec<MechanicalResult> = Vec::new();
    let own: Vec<&Slot<'_>> = slots.iter().copied().filter(|slot| Sheet::measures(slot, Measures::Torque)).collect();
    let mut names: Vec<&str> = own.iter().map(|slot| slot.reading.name.as_str()).collect();
    names.dedup();
    for name in names {
        let same: Vec<&Slot<'_>> = own.iter().copied().filter(|slot| slot.reading.name == name).collect();
        let Some(numeric) = same.iter().find_map(|slot| slot.numeric()) else { continue };
        let values = values(sheet, &same);
        let mut remarks = Vec::new();
        let outcome =
            mean(sheet, numeric, &values, &mut remarks).map_or_else(|| Outcome::unsaid(NOTHING), Outcome::Known);
        let title = name.replace('-', " ");
        let title = title.chars().next().map_or_else(String::new, |first| {
            format!("{}{}", first.to_uppercase(), title.chars().skip(1).collect::<String>())
        });
        let key = format!("{}/{name}", stage.name);
        if found.iter().any(|known| known.key == key) {
            continue;
        }
        let mut torque = result(key, &title, numeric, Better::Neither, outcome);
        torque.remarks = remarks;
        torque.values = values;
        found.push(torque);
    }
    found
}
