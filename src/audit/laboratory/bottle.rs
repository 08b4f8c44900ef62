//! The bottles that were drawn, beside what the laboratory says of them.

use indexmap::IndexMap;

use crate::audit::log::{Filled, Log};
use crate::foresight::{Drawn, bottles};
use crate::plan::{Counts, Holds, LabTest, Laboratory, Plan, bottle_labels, same_label};
use crate::record::laboratory::{LabFile, LabResult};
use crate::record::{Cell, Number, Side, Value};

/// A bottle of the plan.
pub(super) struct Known<'a> {
    pub(super) run: &'a str,
    pub(super) specimen: &'a str,
    pub(super) label: String,
    pub(super) drawn: Drawn<'a>,
    /// The row of the record in which it was drawn.
    pub(super) row: Option<Filled<'a>>,
    /// Whether anything was recorded of its run.
    pub(super) run_recorded: bool,
}

/// Which of the bottles that bear one label.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Which {
    First,
    Twin,
    Kept,
}

/// A result that belongs to a bottle.
pub(super) struct Seen<'a> {
    pub(super) file: &'a LabFile,
    pub(super) result: &'a LabResult,
    pub(super) known: usize,
    pub(super) which: Which,
    pub(super) spectrum: Spectrum<'a>,
}

/// Counts as particles per mL from a size up, with what is needed for their scatter.
#[derive(Clone)]
pub(super) struct Spectrum<'a> {
    pub(super) points: Vec<Point<'a>>,
    /// 10 for 1 to 10.
    pub(super) dilution: f64,
    /// mL counted of the diluted oil, all repeats together.
    pub(super) volume: Option<f64>,
}

#[derive(Clone, Copy)]
pub(super) struct Point<'a> {
    /// m.
    pub(super) size: f64,
    pub(super) words: &'a str,
    pub(super) cell: &'a Cell,
    /// As written.
    pub(super) written: f64,
    /// 1/mL, from this size up.
    pub(super) count: f64,
    /// Half of the last digit that was written, in the same terms.
    pub(super) rounding: f64,
}

/// Every bottle of the campaign that a laboratory counts.
pub(super) fn known<'a>(plan: &'a Plan, logs: &[Log<'a>]) -> Vec<Known<'a>> {
    let mut found = Vec::new();
    // What is expected depends on the test and on what is expected of the model, and takes a walk through the whole test.
    let mut walked: IndexMap<(usize, String), Vec<Drawn<'a>>> = IndexMap::new();
    for run in &plan.runs {
        let Some(test) = plan.test_of(run) else { continue };
        let labels = bottle_labels(run, test);
        if labels.is_empty() {
            continue;
        }
        let log = logs.iter().find(|log| log.run.code == run.code);
        let model =
            plan.campaign.specimens.get(&run.specimen).and_then(|s| plan.campaign.models.get(s.model.as_ref()?));
        let nature = model.map_or(String::new(), |model| format!("{:?} {:?}", model.expects, model.claims));
        let drawn = walked.entry((run.test, nature)).or_insert_with(|| bottles(plan, run));
        for drawn in drawn.clone() {
            let Some(label) = labels.get(&drawn.reading.path).cloned() else { continue };
            let row = log
                .and_then(|log| log.find_exactly(&drawn.reading.path))
                .and_then(|slot| slot.current())
                .filter(|row| !matches!(row.value(), Value::Empty | Value::NotDone));
            let run_recorded = log.is_some_and(|log| log.last.is_some());
            found.push(Known { run: &run.code, specimen: &run.specimen, label, drawn, row, run_recorded });
        }
    }
    found
}

/// The bottle that bears a label, and which of those that do.
pub(super) fn find(known: &[Known<'_>], written: &str) -> Option<(usize, Which)> {
    let is = |label: &str| known.iter().position(|bottle| same_label(&bottle.label, label));
    if let Some(at) = is(written) {
        return Some((at, Which::First));
    }
    let bare = written.trim_end();
    let (rest, which) = match bare.char_indices().last()? {
        (at, 'T' | 't') => (bare.get(..at)?, Which::Twin),
        (at, 'K' | 'k') => (bare.get(..at)?, Which::Kept),
        _ => return None,
    };
    is(rest).map(|at| (at, which))
}

/// The laboratory's count that the file gives.
pub(super) fn lab<'a>(plan: &'a Plan, file: &LabFile) -> Option<(&'a Laboratory, &'a LabTest)> {
    let laboratory = plan.laboratories.get(&file.laboratory)?;
    laboratory.tests.values().find(|test| !test.sizes.is_empty()).map(|test| (laboratory, test))
}

/// A result as particles per mL, read as `counts` says.
pub(super) fn spectrum<'a>(
    file: &'a LabFile,
    result: &'a LabResult,
    counts: &Counts,
    planned: Option<u32>,
    test: Option<&LabTest>,
) -> Spectrum<'a> {
    let dilution = file
        .number(result, &Holds::Dilution)
        .filter(|factor| *factor >= 1.0)
        .unwrap_or_else(|| f64::from(planned.unwrap_or(1).max(1)));
    let asked =
        test.and_then(|test| test.counted_volume.as_ref()).map(|(each, times)| each.si() * 1e6 * f64::from(*times));
    let volume = file.number(result, &Holds::CountedVolume).or(asked).filter(|volume| *volume > 0.0);
    let mut scale = if counts.basis.contains("100") { 0.01 } else { 1.0 };
    if counts.dilution_applied == Some(false) {
        scale *= dilution;
    }
    let mut points: Vec<Point<'a>> = result
        .counts
        .iter()
        .filter_map(|count| {
            let number = number_of(&count.value)?;
            let rounding = 0.5 * 10_f64.powi(-i32::try_from(number.decimals).unwrap_or(0)) * scale;
            Some(Point {
                size: count.size,
                words: &count.words,
                cell: &count.cell,
                written: number.value,
                count: number.value * scale,
                rounding,
            })
        })
        .collect();
    if !counts.cumulative {
        let mut sum = 0.0;
        for point in points.iter_mut().rev() {
            sum += point.count;
            point.count = sum;
        }
    }
    Spectrum { points, dilution, volume }
}

/// The number, where the cell is one; a bound is none, but a marked count (`≥12`) is.
fn number_of(value: &Value) -> Option<Number> {
    match value {
        Value::Number(number) if number.value >= 0.0 => Some(*number),
        Value::Censored(Side::AtLeast, number) => Some(*number),
        _ => None,
    }
}

impl Spectrum<'_> {
    pub(super) fn at(&self, size: f64) -> Option<&Point<'_>> {
        self.points.iter().find(|point| (point.size / size - 1.0).abs() < 0.01)
    }

    /// Particles really counted for a point.
    pub(super) fn raw(&self, count: f64) -> Option<f64> {
        Some(count * self.volume? / self.dilution)
    }

    /// Standard deviation of a count, 1/mL: chance and a scatter that is a share of it.
    pub(super) fn spread(&self, count: f64, share: f64, rounding: f64) -> f64 {
        let chance = self.volume.map_or(0.0, |volume| count.max(self.dilution / volume) * self.dilution / volume);
        (chance + (share * count).powi(2) + rounding * rounding / 3.0).sqrt()
    }

    /// Whether a count rises where the size grows: the first such pair.
    pub(super) fn rises(&self) -> Option<(&Point<'_>, &Point<'_>)> {
        self.points.windows(2).find_map(|pair| match pair {
            [small, large] if large.count > small.count + small.rounding + large.rounding + 1e-9 => {
                Some((small, large))
            }
            _ => None,
        })
    }
}

/// A count as it is said: no more digits than mean something.
pub(super) fn number(value: f64) -> String {
    let decimals = if value >= 100.0 || value == value.round() {
        0
    } else if value >= 1.0 {
        1
    } else {
        3
    };
    crate::record::plain(value, decimals)
}
