//! Differential pressure against flow: it rises, it comes back the same way, and it is a viscous and an inertial part.

use indexmap::IndexMap;
use uom::si::{pressure::pascal, volume_rate::cubic_meter_per_second};

use super::{accuracy, flow_at, is_blamed};
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{Finding, at_slot};
use crate::diagnostic::Code;
use crate::plan::{Measures, Numeric};
use crate::quantity::si::{Pressure, VolumeRate};
use crate::record::Column;
use crate::trade::hydraulics::{Reading, Restriction, Terms};

/// One reading of a sweep.
#[derive(Clone, Copy)]
struct Point {
    place: usize,
    flow: f64,
    pressure: f64,
    /// Pa: accuracy and the last digit.
    doubt: f64,
    rising: bool,
}

/// Part of a value by which honest readings of one condition still differ.
const SCATTER: f64 = 0.12;

/// The sweeps of a run by their place in the plan and the name of the reading.
fn sweeps(log: &Log<'_>) -> IndexMap<(String, String), Vec<Point>> {
    let mut found: IndexMap<(String, String), Vec<Point>> = IndexMap::new();
    for (place, slot) in log.slots.iter().enumerate() {
        let path = &slot.reading.path;
        let Some((prefix, _)) = path.split_once("/rising/").or_else(|| path.split_once("/falling/")) else { continue };
        let Some(numeric) = pressure_drop(slot) else { continue };
        let (Some(pressure), Some((flow, rising))) = (slot.si(), flow_at(log, place)) else { continue };
        let doubt = doubt(log, numeric, pressure);
        let points = found.entry((prefix.to_owned(), slot.reading.name.clone())).or_default();
        points.push(Point { place, flow, pressure, doubt, rising });
    }
    found
}

/// A differential pressure that is measured.
fn pressure_drop<'a>(slot: &Slot<'a>) -> Option<&'a Numeric> {
    slot.numeric().filter(|n| n.measures == Measures::DifferentialPressure && n.window.is_none() && !slot.dropped)
}

fn doubt(log: &Log<'_>, numeric: &Numeric, si: f64) -> f64 {
    measure::instrument(log.plan, numeric)
        .filter(|instrument| !instrument.is_role)
        .map_or(0.0, |instrument| accuracy(instrument, si) + instrument.resolution.si_difference().abs())
}

pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    let sweeps = sweeps(log);
    for points in sweeps.values() {
        let doubted = |point: &Point| log.slots.get(point.place).is_none_or(|slot| is_blamed(slot, found));
        // A value that the other direction confirms was not miswritten: the bench did it.
        let confirmed = |point: &Point| {
            points.iter().any(|other| {
                other.rising != point.rising
                    && (other.flow / point.flow - 1.0).abs() < 0.05
                    && (other.pressure / point.pressure - 1.0).abs() < SCATTER
            })
        };
        let good: Vec<Point> = points.iter().filter(|p| !doubted(p) || confirmed(p)).copied().collect();
        let explained: Vec<Point> = points.iter().filter(|p| doubted(p) && confirmed(p)).copied().collect();
        let before = found.len();
        flat(log, points, found);
        if found.len() == before {
            falls(log, &good, found);
        }
        if found.len() == before {
            legs(log, &good, found);
        }
        if found.len() == before {
            knee(log, &good, found);
        }
        if found.len() == before && good.len() == points.len() {
            curve(log, &good, found);
        }
        if found.len() > before {
            forget(log, &explained, before, found);
        }
    }
    tares(log, &sweeps, found);
    inlet(log, found);
}

/// Takes back that single values do not fit, where what the whole sweep shows says why.
fn forget(log: &Log<'_>, explained: &[Point], before: usize, found: &mut Vec<Finding>) {
    let mut index = 0;
    found.retain(|finding| {
        index += 1;
        let alone = finding.code == Code::DoesNotFit && index <= before;
        let is_one = || {
            explained
                .iter()
                .filter_map(|point| log.slots.get(point.place))
                .any(|slot| is_blamed(slot, std::slice::from_ref(finding)))
        };
        !(alone && is_one())
    });
}

/// A leg by rising flow.
fn leg(points: &[Point], rising: bool) -> Vec<Point> {
    let mut leg: Vec<Point> = points.iter().filter(|point| point.rising == rising).copied().collect();
    leg.sort_by(|one, other| one.flow.total_cmp(&other.flow));
    leg
}

struct Said {
    unit: crate::quantity::Unit,
}

impl Said {
    fn of(log: &Log<'_>, place: usize) -> Option<Said> {
        Some(Said { unit: log.slots.get(place)?.numeric()?.unit.clone() })
    }

    fn pressure(&self, si: f64) -> String {
        measure::amount(&self.unit, si)
    }
}

fn flow_text(log: &Log<'_>, flow: f64) -> String {
    let unit = log.slots.iter().filter_map(Slot::numeric).find(|n| n.measures == Measures::Flow).map(|n| &n.unit);
    unit.map_or_else(|| format!("{flow} m³/s"), |unit| measure::amount(unit, flow))
}

/// A finding at a point, with another point as its second cell.
fn at(log: &Log<'_>, point: &Point, other: Option<&Point>, code: Code, message: String, help: &str) -> Option<Finding> {
    let slot = log.slots.get(point.place)?;
    let mut finding = at_slot(log, slot, Column::Value, code, message, "written");
    if let Some(row) = other.and_then(|other| log.slots.get(other.place)?.current()) {
        finding = finding.also(row.record.source, row.cell(Column::Value).span, "compared with this");
    }
    Some(finding.help(help))
}

fn falls(log: &Log<'_>, points: &[Point], found: &mut Vec<Finding>) {
    for rising in [true, false] {
        let leg = leg(points, rising);
        for pair in leg.windows(2) {
            let [low, high] = pair else { continue };
            let play = 2.0 * low.doubt + 0.03 * low.pressure;
            if high.flow < 1.05 * low.flow || high.pressure >= low.pressure - play {
                continue;
            }
            // The one that the other leg contradicts is the one to look at.
            let away = |point: &Point| {
                let twin = points.iter().find(|o| o.rising != rising && (o.flow / point.flow - 1.0).abs() < 0.05);
                twin.map_or(0.0, |twin| (point.pressure / twin.pressure - 1.0).abs())
            };
            let (point, other) = if away(low) > away(high) { (low, high) } else { (high, low) };
            let Some(said) = Said::of(log, point.place) else { continue };
            let message = format!(
                "run {}: {} at {}, and {} at {}: it falls by {} where the gauges leave room for {}",
                log.run.code,
                said.pressure(low.pressure),
                flow_text(log, low.flow),
                said.pressure(high.pressure),
                flow_text(log, high.flow),
                said.pressure(low.pressure - high.pressure),
                said.pressure(play)
            );
            let help = "Compare both with the sheet. If both were read so, say in the note what was seen; a by-pass that opens, or air, makes the flows from here on unfit for a restriction.";
            found.extend(at(log, point, Some(other), Code::FallsWithFlow, message, help));
            return;
        }
    }
}

fn legs(log: &Log<'_>, points: &[Point], found: &mut Vec<Finding>) {
    let (up, down) = (leg(points, true), leg(points, false));
    let mut apart: Vec<(&Point, &Point, f64)> = Vec::new();
    for one in &up {
        let Some(other) = down.iter().find(|other| (other.flow / one.flow - 1.0).abs() < 0.05) else { continue };
        let room = one.doubt.max(other.doubt) + SCATTER * one.pressure.abs().max(other.pressure.abs());
        // The flow itself was a little different.
        let room = room + 2.0 * (other.flow / one.flow - 1.0).abs() * one.pressure.abs();
        if (one.pressure - other.pressure).abs() > room {
            apart.push((one, other, room));
        }
    }
    let Some((one, other, room)) = apart.first() else { return };
    let Some(said) = Said::of(log, one.place) else { return };
    // Of two that disagree the one farther from the rest is named.
    let rest = |out: &Point| {
        let kept: Vec<Point> = points.iter().filter(|point| point.place != out.place).copied().collect();
        fit(&kept).map_or(f64::INFINITY, |curve| worst(&curve, &kept).map_or(0.0, |(_, share, _)| share))
    };
    let (point, against) = if rest(one) <= rest(other) { (*one, *other) } else { (*other, *one) };
    let more = if apart.len() > 1 { format!(", and so at {} more flows", apart.len() - 1) } else { String::new() };
    let message = format!(
        "run {}: at {} the flow's two directions give {} and {}{more}; honest readings stay within {}",
        log.run.code,
        flow_text(log, one.flow),
        said.pressure(one.pressure),
        said.pressure(other.pressure),
        said.pressure(*room)
    );
    let help = "Look at the temperatures of both, at the zero afterwards, and at the sheet. If both stand, the difference between the directions is part of the result's uncertainty.";
    found.extend(at(log, point, Some(against), Code::LegsDisagree, message, help));
}

fn knee(log: &Log<'_>, points: &[Point], found: &mut Vec<Finding>) {
    let leg = leg(points, true);
    if leg.len() < 4 {
        return;
    }
    let slope = |pair: &[Point]| match pair {
        [low, high] if low.pressure > 5.0 * low.doubt && high.flow > 1.1 * low.flow => {
            Some((high.pressure / low.pressure).ln() / (high.flow / low.flow).ln())
        }
        _ => None,
    };
    let slopes: Vec<(usize, f64)> =
        leg.windows(2).enumerate().filter_map(|(index, pair)| Some((index, slope(pair)?))).collect();
    let Some(from) = slopes.iter().position(|(_, slope)| *slope < 0.5) else { return };
    let (before, after) = slopes.split_at(from);
    let was_steep = !before.is_empty() && before.iter().all(|(_, slope)| *slope >= 0.85);
    if !was_steep || after.len() < 2 || after.iter().any(|(_, slope)| *slope >= 0.5) {
        return;
    }
    let (Some((index, flat)), Some((_, steep))) = (after.first(), before.last()) else { return };
    let (Some(point), Some(next)) = (leg.get(*index), leg.get(index + 1)) else { return };
    let message = format!(
        "run {}: up to {} the differential pressure grows with the flow to the power {steep:.2}, beyond it to the power {flat:.2}",
        log.run.code,
        flow_text(log, point.flow)
    );
    let help = "Look for a by-pass that opens at this differential pressure. If it did, only the flows below belong to the medium.";
    found.extend(at(log, next, Some(point), Code::Knee, message, help));
}

fn fit(points: &[Point]) -> Option<Restriction> {
    let readings: Vec<Reading> = points
        .iter()
        .map(|point| Reading {
            flow: VolumeRate::new::<cubic_meter_per_second>(point.flow),
            pressure: Pressure::new::<pascal>(point.pressure),
        })
        .collect();
    Restriction::fit(&readings, Terms::ViscousInertial).ok()
}

/// The point farthest from a curve, in what is left to it; with that share, and the curve's pressure there.
fn worst<'p>(curve: &Restriction, points: &'p [Point]) -> Option<(&'p Point, f64, f64)> {
    points
        .iter()
        .filter_map(|point| {
            let (at, _) = curve.pressure_at(VolumeRate::new::<cubic_meter_per_second>(point.flow)).ok()?;
            let at = at.get::<pascal>();
            Some((point, (point.pressure - at).abs() / (3.0 * point.doubt + SCATTER * at.abs()).max(1e-9), at))
        })
        .max_by(|one, other| one.1.total_cmp(&other.1))
}

/// The same number at every flow: a valve of the gauge was shut, or it was read once.
fn flat(log: &Log<'_>, points: &[Point], found: &mut Vec<Finding>) {
    let Some(first) = points.first().filter(|_| points.len() >= 4) else { return };
    let low = points.iter().map(|point| point.flow).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|point| point.flow).fold(0.0, f64::max);
    #[expect(clippy::float_cmp, reason = "the same digits")]
    let same = points.iter().all(|point| point.pressure == first.pressure);
    if !same || high < 1.4 * low {
        return;
    }
    let Some(said) = Said::of(log, first.place) else { return };
    let message = format!(
        "run {}: all {} readings from {} to {} are {}",
        log.run.code,
        points.len(),
        flow_text(log, low),
        flow_text(log, high),
        said.pressure(first.pressure)
    );
    let help = "Look at the sheet and at the valves of the gauge. Where what is restricted is less than the gauge can show, say so in the answer.";
    found.extend(at(log, first, points.last(), Code::CurveDoesNotFit, message, help));
}

fn curve(log: &Log<'_>, points: &[Point], found: &mut Vec<Finding>) {
    let mut flows: Vec<f64> = points.iter().map(|point| point.flow).collect();
    flows.sort_by(f64::total_cmp);
    flows.dedup_by(|one, other| (*one / *other - 1.0).abs() < 0.05);
    if flows.len() < 4 || points.len() < 5 {
        return;
    }
    let Some(curve) = fit(points) else { return };
    let Some((point, share, at_curve)) = worst(&curve, points) else { return };
    let Some(said) = Said::of(log, point.place) else { return };
    if share > 1.0 {
        let message = format!(
            "run {}: {} at {}, where the curve through all {} readings has {}",
            log.run.code,
            said.pressure(point.pressure),
            flow_text(log, point.flow),
            points.len(),
            said.pressure(at_curve)
        );
        let help = "Compare the readings with the sheet. If they stand, something changed while the flow did: oil, temperature, air.";
        found.extend(at(log, point, None, Code::CurveDoesNotFit, message, help));
        return;
    }
    // A share of the square below zero, beyond what scatter does: the curve bends the wrong way.
    let Some([_, _, variance]) = curve.covariance() else { return };
    let highest = points.iter().map(|point| point.pressure).fold(0.0, f64::max);
    let Some(last) = points.iter().max_by(|one, other| one.flow.total_cmp(&other.flow)) else { return };
    let bent = curve.inertial_coefficient() * last.flow * last.flow;
    if curve.inertial_coefficient() < -4.0 * variance.max(0.0).sqrt() && bent < -(SCATTER * highest + 3.0 * last.doubt)
    {
        let message = format!(
            "run {}: the readings bend downwards with the flow: the part that grows with its square comes out at {} at {}",
            log.run.code,
            said.pressure(bent),
            flow_text(log, last.flow)
        );
        let help = "A by-pass that opens slowly does this, and so does a meter outside its viscosities. Look at both before the restriction is reported.";
        found.extend(at(log, last, None, Code::CurveDoesNotFit, message, help));
    }
}

/// The housing alone, at the flows at which the assembly was read.
fn tares(log: &Log<'_>, sweeps: &IndexMap<(String, String), Vec<Point>>, found: &mut Vec<Finding>) {
    for points in sweeps.values() {
        let Some(stage) = points.first().and_then(|point| log.slots.get(point.place)).map(|slot| slot.step.stage)
        else {
            continue;
        };
        let Some(stage) = log.test.stages.get(stage) else { continue };
        let Some(tare) = stage.tare.as_deref() else { continue };
        let tares = sweeps.iter().filter(|((prefix, _), _)| prefix == tare).flat_map(|(_, points)| points);
        let tares: Vec<&Point> = tares.collect();
        for point in points {
            let Some(housing) =
                tares.iter().find(|o| o.rising == point.rising && (o.flow / point.flow - 1.0).abs() < 0.05)
            else {
                continue;
            };
            let blamed = |point: &Point| log.slots.get(point.place).is_some_and(|slot| is_blamed(slot, found));
            let room = point.doubt + housing.doubt;
            if blamed(point) || blamed(housing) || housing.pressure <= point.pressure + room {
                continue;
            }
            let Some(said) = Said::of(log, point.place) else { continue };
            let message = format!(
                "run {}: at {} housing and element restrict {}, the housing alone {}",
                log.run.code,
                flow_text(log, point.flow),
                said.pressure(point.pressure),
                said.pressure(housing.pressure)
            );
            let help = "Compare both with their sheets: same adaptor, same oil, same temperature? Until one of them is explained, nothing can be said of the element.";
            found.extend(at(log, point, Some(housing), Code::TareAboveReading, message, help));
            break;
        }
    }
}

/// The gauge before the specimen reads at least what is lost across it, less what stands behind.
fn inlet(log: &Log<'_>, found: &mut Vec<Finding>) {
    for (place, slot) in log.slots.iter().enumerate() {
        let Some(drop) = pressure_drop(slot).and(slot.si()) else { continue };
        let near = |words: [&str; 2]| {
            let around = log.slots.iter().enumerate().filter(|(other, _)| other.abs_diff(place) <= 4);
            around.map(|(_, other)| other).find(|other| {
                let gauge = other.numeric().is_some_and(|n| n.measures == Measures::GaugePressure);
                let same = other.step.stage == slot.step.stage && flow_of(other) == flow_of(slot);
                gauge && same && words.iter().any(|word| other.reading.name.contains(word))
            })
        };
        let Some(before) = near(["inlet", "upstream"]) else { continue };
        let behind = near(["outlet", "downstream"]);
        let (Some(numeric), Some(high)) = (before.numeric(), before.si()) else { continue };
        let low = behind.and_then(Slot::si);
        let slack = behind.and_then(Slot::numeric).zip(low).map_or(0.0, |(n, si)| doubt(log, n, si));
        let room =
            doubt(log, numeric, high) + slot.numeric().map_or(0.0, |n| doubt(log, n, drop)) + slack + 0.05 * drop.abs();
        let across = high - low.unwrap_or(0.0);
        let wrong = if low.is_some() { (across - drop).abs() > room } else { across < drop - room };
        if !wrong || is_blamed(slot, found) || is_blamed(before, found) {
            continue;
        }
        let unit = &numeric.unit;
        let message = match low {
            Some(low) => format!(
                "run {}, step {}: {} before and {} behind the specimen, but {} across it",
                log.run.code,
                slot.step.number,
                measure::amount(unit, high),
                measure::amount(unit, low),
                measure::difference(unit, drop)
            ),
            None => format!(
                "run {}, step {}: {} before the specimen, but {} lost across it",
                log.run.code,
                slot.step.number,
                measure::amount(unit, high),
                measure::difference(unit, drop)
            ),
        };
        let mut finding = at_slot(log, slot, Column::Value, Code::PressuresDisagree, message, "across the specimen");
        if let Some(row) = before.current() {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, "before it");
        }
        found.push(finding.help("Compare both with the sheet, and look at the units of both gauges."));
    }
}

/// The part of a path that names the flow.
fn flow_of<'a>(slot: &Slot<'a>) -> &'a str {
    slot.reading.path.rsplit_once('/').map_or("", |(place, _)| place)
}
