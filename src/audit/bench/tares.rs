//! The tare of one run beside those of the others: a housing restricts the same whatever stood in it before.

use indexmap::IndexMap;

use super::{accuracy, is_blamed};
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{Finding, at_slot};
use crate::diagnostic::Code;
use crate::plan::Measures;
use crate::record::Column;
use crate::trade::descriptive::{median, median_absolute_deviation};

/// Part by which the tares of two runs differ when the housing is taken apart and the oil warmed anew, from memory.
const ROOM: f64 = 0.15;

/// The tare of a run: its readings by their paths.
struct Tare<'a> {
    run: usize,
    model: Option<&'a str>,
    readings: IndexMap<&'a str, Read>,
}

#[derive(Clone, Copy)]
struct Read {
    place: usize,
    si: f64,
    /// Pa: what the gauge may be off.
    doubt: f64,
}

/// How far the tare of a run is from those of others: in the median of its readings, relative.
struct Straying {
    by: f64,
    /// The least that the gauges and the bench explain.
    room: f64,
    /// Where the median lies, and what the others have there.
    path: String,
    others: f64,
}

pub(super) fn findings(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    // By test and stage.
    let mut stages: IndexMap<(usize, &str), Vec<Tare<'_>>> = IndexMap::new();
    for (run, log) in logs.iter().enumerate() {
        let specimen = log.plan.campaign.specimens.get(&log.run.specimen);
        let model = specimen.and_then(|specimen| specimen.model.as_deref());
        for (place, stage) in log.test.stages.iter().enumerate().filter(|(_, stage)| stage.tare_for.is_some()) {
            let readings: IndexMap<&str, Read> = log
                .slots
                .iter()
                .enumerate()
                .filter_map(|(at, slot)| read(log, at, slot, found))
                .filter(|(_, read)| log.slots.get(read.place).is_some_and(|slot| slot.step.stage == place))
                .collect();
            if readings.len() >= 3 && !is_told(log, place, found) {
                stages.entry((log.run.test, stage.name.as_str())).or_default().push(Tare { run, model, readings });
            }
        }
    }
    for tares in stages.values() {
        found.extend(tares.iter().filter_map(|tare| told(logs, tare, &straying(tare, &like(tares, tare))?)));
    }
}

/// Whether a tare was found on no curve, or above what it is to be taken from: the same is not told twice, and others are not
/// held against it.
fn is_told(log: &Log<'_>, stage: usize, found: &[Finding]) -> bool {
    let told = |finding: &&Finding| matches!(finding.code, Code::CurveDoesNotFit | Code::TareAboveReading);
    let places: Vec<_> = found.iter().filter(told).flat_map(|finding| &finding.places).collect();
    let rows = log.slots.iter().filter(|slot| slot.step.stage == stage).filter_map(Slot::current);
    rows.map(|row| (row.record.source, row.cell(Column::Value).span))
        .any(|(source, span)| places.iter().any(|place| place.source == source && place.span == span))
}

fn read<'a>(log: &Log<'a>, place: usize, slot: &Slot<'a>, found: &[Finding]) -> Option<(&'a str, Read)> {
    let numeric = slot.numeric().filter(|n| n.measures == Measures::DifferentialPressure && n.window.is_none())?;
    let with_flow = slot.reading.path.contains("/rising/") || slot.reading.path.contains("/falling/");
    let si = slot.si().filter(|_| with_flow && !slot.dropped && !is_blamed(slot, found))?;
    let instrument = measure::instrument(log.plan, numeric).filter(|instrument| !instrument.is_role);
    let doubt = instrument.map_or(0.0, |one| accuracy(one, si) + one.resolution.si_difference().abs());
    Some((slot.reading.path.as_str(), Read { place, si, doubt }))
}

/// The tares that this one is held against: all others, where those of several models agree that the model hardly matters; else
/// those of its model, since an emptied can has holes of its own.
fn like<'t, 'a>(tares: &'t [Tare<'a>], tare: &Tare<'_>) -> Vec<&'t Tare<'a>> {
    let others: Vec<&Tare<'_>> = tares.iter().filter(|other| other.run != tare.run).collect();
    let several = others.iter().any(|other| other.model != others.first().and_then(|first| first.model));
    let agree = others.len() >= 3
        && others.iter().enumerate().all(|(at, one)| {
            let rest: Vec<&Tare<'_>> =
                others.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, other)| *other).collect();
            straying(one, &rest).is_none()
        });
    let of_model = tare.model.is_none() || !several;
    others.into_iter().filter(|other| agree && several || of_model || other.model == tare.model).collect()
}

fn straying(tare: &Tare<'_>, others: &[&Tare<'_>]) -> Option<Straying> {
    let mut away: Vec<(f64, f64, &str, f64)> = Vec::new();
    for (path, read) in &tare.readings {
        let there: Vec<Read> = others.iter().filter_map(|other| other.readings.get(path).copied()).collect();
        let values: Vec<f64> = there.iter().map(|read| read.si).collect();
        let (Ok(middle), Ok(spread)) = (median(&values), median_absolute_deviation(&values)) else { continue };
        let doubt = there.iter().map(|read| read.doubt).fold(read.doubt, f64::max);
        if middle <= 0.0 {
            continue;
        }
        // Each gauge is zeroed anew for its sweep, so both may be off. 1.4826: a median deviation in standard deviations.
        let room = ROOM + (2.0 * doubt + 5.0 * 1.4826 * spread) / middle;
        away.push((read.si / middle - 1.0, room, path, middle));
    }
    away.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (by, room, path, others) = *away.get(away.len() / 2).filter(|_| away.len() >= 3)?;
    (by.abs() > room).then(|| Straying { by, room, path: path.to_owned(), others })
}

fn told(logs: &[Log<'_>], tare: &Tare<'_>, straying: &Straying) -> Option<Finding> {
    let log = logs.get(tare.run)?;
    let slot = log.slots.get(tare.readings.get(straying.path.as_str())?.place)?;
    let unit = &slot.numeric()?.unit;
    let message = format!(
        "run {}, step {}: the tare reads {} where other runs have {}; the median of its {} readings is {:+.0} % off, and {:.0} % can be explained",
        log.run.code,
        slot.step.number,
        measure::amount(unit, slot.si()?),
        measure::amount(unit, straying.others),
        tare.readings.len(),
        100.0 * straying.by,
        100.0 * straying.room,
    );
    let help = "Look at the sheet, at the valves of the gauge, and at what was mounted: same adaptor, same oil, same temperature? Until it is explained, what the element takes is not known in this run.";
    Some(at_slot(log, slot, Column::Value, Code::TareStrays, message, "the median one").help(help))
}
