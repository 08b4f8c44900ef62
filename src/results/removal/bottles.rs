//! The bottles of a run: when each was drawn, and what the laboratory's sensor saw in it.

use crate::foresight::{Drawn, bottles};
use crate::plan::{Counts, Holds, LabTest, bottle_labels};
use crate::record::laboratory::{LabFile, LabResult};
use crate::record::{Instant, Value};

use super::super::sheet::Sheet;
use super::share::Tally;

/// A counted bottle of a run, its twin's count with it.
pub(super) struct Bottle<'a> {
    pub(super) drawn: Drawn<'a>,
    pub(super) label: String,
    /// Whether the record says that it was drawn.
    pub(super) recorded: bool,
    pub(super) time: Option<Instant>,
    /// By size: m, words, and the particles seen or why there are none.
    pub(super) counts: Vec<Size>,
    /// Why nothing of it is used.
    pub(super) barred: Option<String>,
}

pub(super) struct Size {
    pub(super) size: f64,
    pub(super) words: String,
    pub(super) seen: Result<Tally, String>,
}

impl Bottle<'_> {
    /// What was seen from a size up.
    pub(super) fn at(&self, size: f64) -> Result<Tally, String> {
        if let Some(why) = &self.barred {
            return Err(why.clone());
        }
        let found = self.counts.iter().find(|count| same(count.size, size));
        found
            .map_or_else(|| Err(format!("bottle {} has no count at this size", self.label)), |count| count.seen.clone())
    }
}

/// Whether two sizes are one.
pub(super) fn same(one: f64, other: f64) -> bool {
    (one / other - 1.0).abs() < 0.01
}

/// The bottles of a run that a laboratory counts, in the order in which they are drawn.
pub(super) fn of_run<'a>(sheet: &Sheet<'a>) -> Vec<Bottle<'a>> {
    let labels = bottle_labels(sheet.log.run, sheet.log.test);
    let counting = |drawn: &Drawn<'_>| {
        let tests = sheet.plan.laboratories.values().flat_map(|laboratory| &laboratory.tests);
        let mut counted = tests.filter(|(_, test)| !test.sizes.is_empty());
        counted.any(|(name, _)| drawn.bottle.tests.contains(name))
    };
    let all = bottles(sheet.plan, sheet.log.run).into_iter().filter(counting);
    all.filter_map(|drawn| of_bottle(sheet, labels.get(&drawn.reading.path)?.clone(), drawn)).collect()
}

fn of_bottle<'a>(sheet: &Sheet<'a>, label: String, drawn: Drawn<'a>) -> Option<Bottle<'a>> {
    let slot = sheet.log.find_exactly(&drawn.reading.path)?;
    let recorded = slot.current().is_some_and(|row| !matches!(row.value(), Value::Empty | Value::NotDone));
    let mut bottle = Bottle { time: slot.time(), drawn, label, recorded, counts: Vec::new(), barred: None };
    if let Some((code, why)) = sheet.barred(&bottle.drawn.reading.path) {
        bottle.barred = Some(format!("bottle {} is not used ({code}: {why})", bottle.label));
        return Some(bottle);
    }
    match sheet.reported(&bottle.label) {
        Ok((file, result)) => bottle.counts = sizes(sheet, file, result, &bottle),
        Err(why) => bottle.barred = Some(why),
    }
    if bottle.barred.is_none()
        && bottle.drawn.bottle.twin
        && let Ok((file, result)) = sheet.reported(&format!("{}T", bottle.label))
    {
        let twin = sizes(sheet, file, result, &bottle);
        for count in &mut bottle.counts {
            let other =
                twin.iter().find(|other| same(other.size, count.size)).and_then(|other| other.seen.as_ref().ok());
            if let (Ok(seen), Some(other)) = (&mut count.seen, other) {
                seen.count += other.count;
                seen.volume += other.volume;
                seen.bottles += other.bottles;
            }
        }
    }
    Some(bottle)
}

fn sizes(sheet: &Sheet<'_>, file: &LabFile, result: &LabResult, bottle: &Bottle<'_>) -> Vec<Size> {
    let laboratory = sheet.plan.laboratories.get(&file.laboratory);
    let test = laboratory.and_then(|laboratory| {
        let mut tests = laboratory.tests.values().filter(|test| !test.sizes.is_empty());
        tests.clone().find(|test| bottle.drawn.bottle.tests.contains(&test.name)).or_else(|| tests.next())
    });
    let scale = scale(file, result, &file.counts, bottle.drawn.bottle.dilution, test);
    let mut found: Vec<Size> = result
        .counts
        .iter()
        .map(|count| Size {
            size: count.size,
            words: count.words.clone(),
            seen: number(&count.value)
                .map_err(|what| format!("bottle {}: {what} at {}", bottle.label, count.words))
                .and_then(|number| {
                    scale.as_ref().map(|scale| (number, scale)).map_err(|why| format!("bottle {}: {why}", bottle.label))
                })
                .map(|(number, (each, volume))| Tally { count: whole(number * each), volume: *volume, bottles: 1 }),
        })
        .collect();
    found.sort_by(|one, other| one.size.total_cmp(&other.size));
    if !file.counts.cumulative {
        add_up(&mut found);
    }
    found
}

/// Intervals become sums from the size up; where one is missing, so are all sums that hold it.
fn add_up(sizes: &mut [Size]) {
    let mut above: Result<u64, String> = Ok(0);
    for size in sizes.iter_mut().rev() {
        above = match (&above, &size.seen) {
            (Ok(above), Ok(own)) => Ok(above + own.count),
            (Err(why), _) => Err(why.clone()),
            (_, Err(why)) => Err(why.clone()),
        };
        match (&above, &mut size.seen) {
            (Ok(sum), Ok(own)) => own.count = *sum,
            (Err(why), seen) => *seen = Err(why.clone()),
            _ => {}
        }
    }
}

/// Particles seen for each that is printed, and the undiluted oil that was counted, m³.
fn scale(
    file: &LabFile,
    result: &LabResult,
    counts: &Counts,
    planned: Option<u32>,
    test: Option<&LabTest>,
) -> Result<(f64, f64), String> {
    let written = file.number(result, &Holds::Dilution).filter(|factor| *factor >= 1.0);
    let dilution = written.unwrap_or_else(|| f64::from(planned.unwrap_or(1).max(1)));
    let asked =
        test.and_then(|test| test.counted_volume.as_ref()).map(|(each, times)| each.si() * 1e6 * f64::from(*times));
    let volume = file.number(result, &Holds::CountedVolume).or(asked).filter(|volume| *volume > 0.0);
    let Some(volume) = volume else { return Err("how much was counted is not known".to_owned()) };
    let mut each = if counts.basis.contains("100") { 0.01 * volume } else { volume };
    match counts.dilution_applied {
        Some(false) => {}
        Some(true) => each /= dilution,
        None if dilution > 1.0 => {
            return Err("nobody says whether the dilution is reckoned into the counts".to_owned());
        }
        None => {}
    }
    Ok((each, volume / dilution * 1e-6))
}

/// Particles are whole; a printed concentration is rounded.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 1e9")]
fn whole(seen: f64) -> u64 {
    seen.round().clamp(0.0, 1e9) as u64
}

/// The number of a cell; otherwise what stands there.
fn number(value: &Value) -> Result<f64, String> {
    match value {
        Value::Number(number) if number.value >= 0.0 && number.value.is_finite() => Ok(number.value),
        Value::Number(_) => Err("a negative count".to_owned()),
        Value::Empty => Err("no count".to_owned()),
        Value::NotDone => Err("not counted (ND)".to_owned()),
        Value::TooNumerous => Err("too many to count (TNTC)".to_owned()),
        Value::Censored(..) => Err("only a bound is given".to_owned()),
        Value::WithUnit(..) | Value::Text(_) => Err("no number".to_owned()),
    }
}
