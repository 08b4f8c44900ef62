//! One run's cells as results may use them.

use indexmap::IndexMap;

use super::model::{Course, LeftOut};
use crate::audit::evidence::{LEFT_OUT, Standing};
use crate::audit::log::{ByRun, Log, Slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Measures, Numeric, Plan, Run, Wants, accuracy_half_width, same_label};
use crate::record::laboratory::{LabFile, LabResult};
use crate::record::{Column, Record};

/// What results are made from.
pub struct Input<'a> {
    pub plan: &'a Plan,
    pub records: &'a [Record],
    pub laboratory: &'a [LabFile],
    /// Every finding of the audit with its answer, where it has one.
    pub standings: &'a [Standing],
}

/// A run's readings, and which of them may not be used.
pub(crate) struct Sheet<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) log: Log<'a>,
    pub(crate) laboratory: &'a [LabFile],
    /// By path of the reading: code and title of the open finding.
    barred: IndexMap<&'a str, (&'static str, &'a str)>,
    /// The same by name of a stage all of whose readings are in doubt, and of the run as a whole.
    barred_stages: IndexMap<&'a str, (&'static str, &'a str)>,
    barred_run: Option<(&'static str, &'a str)>,
    /// The same of rows of the laboratory's files: source and line.
    barred_results: IndexMap<(crate::source::SourceId, u32), (&'static str, &'a str)>,
    /// Readings after which doses ended early, and why is not settled.
    ended_early: Vec<&'a str>,
    set_aside: Option<String>,
}

/// How far a departure reaches beyond the cell at which it is found.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reach {
    Cell,
    Stage,
    Run,
}

/// Whose run it is, by which plan, and whether its record is its own, is asked of the whole run; whether a sweep can be, of the
/// whole sweep.
fn reach(code: Code) -> Reach {
    match code {
        Code::WrongFingerprint
        | Code::WrongSpecimen
        | Code::TwoRecords
        | Code::SealBroken
        | Code::BlockCopied
        | Code::OutsideCampaign
        | Code::RunsOverlap => Reach::Run,
        Code::CurveDoesNotFit
        | Code::TareAboveReading
        | Code::TareStrays
        | Code::StageInAnotherUnit
        | Code::LegCopied => Reach::Stage,
        _ => Reach::Cell,
    }
}

/// Whether a finding points at a record of the run, be it second.
fn touches(standing: &Standing, records: &[Record], run: &str) -> bool {
    let of_run = |record: &&Record| record.rows.first().is_some_and(|row| row.text(Column::Run) == run);
    standing
        .finding
        .places
        .iter()
        .any(|place| records.iter().filter(of_run).any(|record| record.source == place.source))
}

/// What no answer brings back.
const OFF_THE_SCALE: &str = "its instrument can't show it, whoever accepts it";

/// Whether a reading lies beyond what its instrument can show by more than a twentieth of the range.
fn is_off_the_scale(plan: &Plan, slot: &Slot<'_>) -> bool {
    let read_with = slot.current().map(|row| row.text(Column::Instrument)).filter(|name| !name.is_empty());
    let planned = slot.numeric().and_then(|numeric| numeric.instrument.as_deref());
    let named = read_with.filter(|name| plan.instruments.contains_key(*name)).or(planned);
    let instrument = named.and_then(|name| plan.instruments.get(name)).filter(|instrument| !instrument.is_role);
    let (Some(instrument), Some(si)) = (instrument, slot.si()) else { return false };
    let window = instrument.range.window;
    let (low, high) = (window.low.unwrap_or(f64::NEG_INFINITY), window.high.unwrap_or(f64::INFINITY));
    let room = if (high - low).is_finite() { 0.05 * (high - low) } else { 0.05 * high.abs().min(low.abs()) };
    si < low - room || si > high + room
}

fn stage_of(path: &str) -> &str {
    path.split_once('/').map_or(path, |(stage, _)| stage)
}

impl<'a> Sheet<'a> {
    /// `None` where the plan has no test for the run.
    pub(crate) fn new(input: &Input<'a>, rows: &ByRun<'a>, run: &'a Run) -> Option<Sheet<'a>> {
        let log = Log::new(input.plan, run, rows)?;
        let mut barred = IndexMap::new();
        let mut barred_results = IndexMap::new();
        let (mut barred_stages, mut barred_run) = (IndexMap::new(), None);
        let (mut ended_early, mut set_aside) = (Vec::new(), None);
        for standing in input.standings {
            let mine = standing.run == run.code;
            if let Some(answer) = standing.answer.as_ref().filter(|answer| mine && answer.answer == "run repeated") {
                set_aside.get_or_insert(format!("run repeated: {} ({}, {})", answer.why, answer.by, answer.when));
            }
            let out = standing.answer.as_ref().is_some_and(|answer| answer.answer == LEFT_OUT);
            let open =
                standing.answer.is_none() && matches!(standing.finding.severity, Severity::Critical | Severity::Major);
            if !open && !out {
                continue;
            }
            let words =
                standing.answer.as_ref().map_or(standing.finding.message.as_str(), |answer| answer.why.as_str());
            let why = (standing.finding.code.id(), words);
            match reach(standing.finding.code) {
                Reach::Run if mine || touches(standing, input.records, &run.code) => {
                    barred_run.get_or_insert(why);
                }
                Reach::Stage if mine => {
                    barred_stages.entry(stage_of(&standing.reading)).or_insert(why);
                }
                _ => {}
            }
            if mine && standing.finding.code == Code::StoppedEarly {
                ended_early.push(standing.reading.as_str());
            }
            if mine && !standing.reading.is_empty() {
                barred.entry(standing.reading.as_str()).or_insert(why);
            }
            if let Some(place) = standing.finding.primary() {
                barred_results.entry((place.source, place.span.start)).or_insert(why);
            }
        }
        for slot in log.slots.iter().filter(|slot| is_off_the_scale(input.plan, slot)) {
            barred.entry(slot.reading.path.as_str()).or_insert((Code::OutsideRecordedRange.id(), OFF_THE_SCALE));
        }
        let laboratory = input.laboratory;
        Some(Sheet {
            plan: input.plan,
            log,
            laboratory,
            barred,
            barred_stages,
            barred_run,
            barred_results,
            ended_early,
            set_aside,
        })
    }

    /// The number that counts, in SI; `None` where nothing is recorded, or an open finding bars it.
    pub(crate) fn si(&self, slot: &Slot<'_>) -> Option<f64> {
        if self.barred(&slot.reading.path).is_some() {
            return None;
        }
        slot.si().filter(|si| si.is_finite())
    }

    /// Code and words of the open finding that keeps a reading from being used.
    pub(crate) fn barred(&self, path: &str) -> Option<(&'static str, &'a str)> {
        let stage = || self.barred_stages.get(stage_of(path));
        self.barred_run.or_else(|| self.barred.get(path).or_else(stage).copied())
    }

    /// Whether doses ended early at a reading, and nobody has said why: some may not have been written down.
    pub(crate) fn ended_early(&self, path: &str) -> bool {
        self.ended_early.contains(&path)
    }

    /// Code and words of what keeps a bottle's row in a file of the laboratory.
    pub(crate) fn barred_result(&self, file: &LabFile, result: &LabResult) -> Option<(&'static str, &'a str)> {
        let found = self.barred_results.iter();
        let mut found = found.filter(|((source, start), _)| {
            *source == file.source && result.span.start <= *start && *start <= result.span.end
        });
        found.next().map(|(_, why)| *why)
    }

    /// The laboratory's last row of a label that may be used; why there is none. A row that says the same as one that is barred is
    /// that row again, in a file that was kept twice.
    pub(crate) fn reported(&self, label: &str) -> Result<(&'a LabFile, &'a LabResult), String> {
        let rows = self.laboratory.iter().flat_map(|file| file.results.iter().map(move |result| (file, result)));
        let own: Vec<_> = rows.filter(|(_, result)| same_label(result.label(), label)).collect();
        let barred: Vec<_> =
            own.iter().filter_map(|(file, result)| Some((*result, self.barred_result(file, result)?))).collect();
        let usable = |(file, result): &&(&LabFile, &LabResult)| {
            self.barred_result(file, result).is_none() && !barred.iter().any(|(other, _)| other.says_the_same(result))
        };
        match own.iter().rfind(usable) {
            Some(row) => Ok(*row),
            None => Err(match barred.last() {
                Some((_, (code, why))) => format!("the count of bottle {label} is not used ({code}: {why})"),
                None => format!("the laboratory reports nothing of bottle {label}"),
            }),
        }
    }

    /// How far an instrument may be off at a value, half width in SI; `None` where the plan names none.
    pub(crate) fn limits(&self, numeric: &Numeric, value: f64) -> Option<f64> {
        let instrument = self.plan.instruments.get(numeric.instrument.as_ref()?)?;
        accuracy_half_width(instrument, value).filter(|half| half.is_finite())
    }

    /// Half of the last digit that a reading is written with, SI.
    pub(crate) fn half_digit(&self, numeric: &Numeric) -> f64 {
        let instrument = numeric.instrument.as_ref().and_then(|name| self.plan.instruments.get(name));
        let step = instrument.map_or(0.0, |instrument| instrument.resolution.si_difference());
        let written = numeric.unit.to_si_difference(10_f64.powi(-i32::try_from(numeric.decimals).unwrap_or(0)));
        step.max(written) / 2.0
    }

    /// Slots of a stage.
    pub(crate) fn stage(&self, stage: usize) -> impl Iterator<Item = (usize, &Slot<'a>)> {
        self.log.slots.iter().enumerate().filter(move |(_, slot)| slot.step.stage == stage)
    }

    /// Whether a slot reads this kind of thing.
    pub(crate) fn measures(slot: &Slot<'_>, what: Measures) -> bool {
        slot.numeric().is_some_and(|numeric| numeric.measures == what)
    }

    pub(crate) fn course(&self) -> Course {
        let Some(last) = self.log.last else { return Course::NotBegun };
        let open = self.log.slots.iter().enumerate().skip(last + 1);
        let mut open = open.filter(|(_, slot)| !slot.dropped && !matches!(slot.reading.wants, Wants::Text));
        if open.next().is_some() { Course::BrokenOff } else { Course::Complete }
    }

    pub(crate) fn date(&self) -> String {
        let times = self.log.slots.iter().filter_map(Slot::time);
        times.min_by_key(|time| time.seconds).map_or_else(String::new, |time| time.date())
    }

    pub(crate) fn set_aside(&self) -> Option<String> {
        self.set_aside.clone()
    }

    /// What was recorded and is not used.
    pub(crate) fn left_out(&self) -> Vec<LeftOut> {
        let recorded = self.log.slots.iter().filter(|slot| slot.is_recorded());
        recorded
            .filter_map(|slot| {
                let (code, why) = self.barred(&slot.reading.path)?;
                let written = slot.current().map_or("", |row| row.text(Column::Value));
                Some(LeftOut {
                    reading: slot.reading.path.clone(),
                    written: written.to_owned(),
                    code: code.to_owned(),
                    why: why.to_owned(),
                })
            })
            .collect()
    }
}

/// How many of the readings (or repeats) that a result stands on are not there.
pub(crate) fn missing(lost: usize, of: usize, what: &str) -> String {
    format!("{lost} of {of} {what} {} missing or not used.", if lost == 1 { "is" } else { "are" })
}
