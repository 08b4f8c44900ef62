//! Loading: dust given against differential pressure, the capacity at the terminal rise, and where the dust went.
//!
//! A reading p after a round, at flow Q and viscosity μ, is brought to the planned Q₀ and μ₀: of the clean pressure p₀ the part
//! s is viscous, the dust's share of the pressure is wholly so (a cake is flowed through slowly), hence
//!
//! p₀ = p_clean / (s·m·q + (1 − s)·q²), rise = (p − p₀·(s·m·q + (1 − s)·q²)) / (m·q), with m = μ/μ₀ and q = Q/Q₀.
//!
//! s = 3/4 is taken, between the half and the whole that are found on such elements (common practice), which matters only as
//! far as m and q leave one. Where flow or temperature was not recorded the reading stays as it is, and a remark says so.
//!
//! The capacity is the dust given at the terminal rise, interpolated in a straight line between the rounds on either side,
//! m = m₁ + f·dose, f = (rise_t − rise₁)/(rise₂ − rise₁). Its doubt:
//!
//! - the scatter of the pressures: the residual of a second-degree curve through up to nine rounds about the terminal one,
//!   in ln(rise) against mass, times dose·√((1 − f)² + f²)/(rise₂ − rise₁); t with its degrees of freedom;
//! - the curve between the two rounds: half the distance to the same interpolation in ln(rise), anywhere within;
//! - the gauge, at its limits for the rise; the balance: each weighing by difference rounds twice, u = step·√2/√12 (or
//!   √(2n)/√12 steps for n of them), and its limits in proportion to what was weighed.

use super::estimate::{Estimate, Outcome, Source};
use super::model::{DustLedger, LedgerLine, LoadPoint, LoadingResult};
use super::oil::Oil;
use super::removal::SCATTER;
use super::sheet::Sheet;
use crate::audit::log::Slot;
use crate::plan::{Action, Batch, Measures, Numeric, Wants, accuracy_limits};
use crate::trade::confidence::Interval;
use crate::trade::regression;

/// The viscous part of a clean element's differential pressure. Common practice.
const VISCOUS_SHARE: f64 = 0.75;
/// How far short of the terminal rise a last round may lie, and the curve still be drawn on to it.
const JUST_SHORT: f64 = 0.04;
/// Rounds that the scatter of the pressures is taken from.
const ABOUT: usize = 9;

/// The loading of a run, where its test gives dust until a differential pressure.
pub(crate) fn loading(sheet: &Sheet<'_>) -> Option<LoadingResult> {
    let test = sheet.log.test;
    // The loop that goes farthest decides; those before it are the way there.
    let last = test.batches.iter().max_by(|one, other| one.terminal.si().total_cmp(&other.terminal.si()))?;
    let alike = |batch: &&Batch| batch.reading == last.reading && batch.baseline == last.baseline;
    if !test.batches.iter().any(|batch| alike(&batch)) {
        return None;
    }
    let mut remarks = Vec::new();
    let mut way = Way::follow(sheet, last, &mut remarks)?;
    way.remarks(&mut remarks);
    let terminal = last.terminal.si();
    let (capacity, between) = way.capacity(sheet, terminal, &mut remarks);
    let ledger = ledger(sheet, &way);
    let stepped_back = way.stepped_back();
    if stepped_back {
        remarks
            .push("The differential pressure stepped back after a dose: a by-pass that opens, or a tear.".to_owned());
    }
    Some(LoadingResult {
        unit: way.gauge.unit.clone(),
        mass_unit: way.balance.unit.clone(),
        terminal,
        baseline: way.baseline,
        points: way.points,
        capacity,
        between,
        ledger,
        stepped_back,
        remarks,
    })
}

/// The rounds of a run, and what was weighed.
struct Way<'a> {
    points: Vec<LoadPoint>,
    baseline: Option<f64>,
    gauge: &'a Numeric,
    balance: &'a Numeric,
    /// kg, in the order in which they were given, and kg found again in the boat.
    doses: Vec<f64>,
    left: Vec<f64>,
    /// Where the account of the dust breaks off: nothing after it is known.
    lost: Option<Lost>,
    /// Rounds whose flow or temperature is not known.
    as_read: usize,
}

/// Why no dust is counted any further.
enum Lost {
    /// The mass of a dose is missing or in doubt; its path.
    Dose(String),
    /// The loop before this dose ended early, and why is not settled: doses may not have been written down.
    Before(String),
}

impl Lost {
    fn words(&self) -> String {
        match self {
            Lost::Dose(path) => format!("the dose `{path}` is missing or not used"),
            Lost::Before(path) => {
                format!("doses may be missing before `{path}`: those before it ended early, and nobody has said why")
            }
        }
    }
}

/// What a reading is brought to.
struct Nominal {
    /// m³/s, and the oil with m²/s.
    flow: Option<f64>,
    oil: Option<(Oil, f64)>,
}

impl Nominal {
    /// m and q at a reading; `None` where either is not known.
    fn ratios(&self, flow: Option<f64>, temperature: Option<f64>) -> Option<(f64, f64)> {
        let (oil, viscosity) = self.oil.as_ref()?;
        let m = oil.viscosity(temperature?)? / viscosity;
        let q = flow? / self.flow?;
        (m > 0.5 && m < 2.0 && q > 0.5 && q < 2.0).then_some((m, q))
    }
}

fn clean_factor((m, q): (f64, f64)) -> f64 {
    VISCOUS_SHARE * m * q + (1.0 - VISCOUS_SHARE) * q * q
}

impl<'a> Way<'a> {
    fn follow(sheet: &Sheet<'a>, last: &Batch, remarks: &mut Vec<String>) -> Option<Way<'a>> {
        let log = &sheet.log;
        let nominal = nominal(sheet);
        let near = |place: usize, what: Measures| {
            let slot = log.slots.get(place)?;
            let round = slot.step.round;
            let same = |other: &&Slot<'a>| {
                Sheet::measures(other, what)
                    && other.step.stage == slot.step.stage
                    && other.step.round == round
                    && other.numeric().is_some_and(|numeric| numeric.window.is_some())
            };
            log.slots.iter().take(place).rev().find(same).and_then(|found| sheet.si(found))
        };
        let baseline_place = last.baseline.as_deref().and_then(|path| {
            log.slots.iter().position(|slot| slot.reading.path == path).or_else(|| {
                let name = path.rsplit('/').next().unwrap_or(path);
                log.slots.iter().position(|slot| slot.reading.name == name)
            })
        });
        let read_baseline = baseline_place.and_then(|place| sheet.si(log.slots.get(place)?));
        let clean = match (&last.baseline, read_baseline) {
            (Some(_), Some(p)) => {
                let place = baseline_place.unwrap_or(0);
                let ratios = nominal.ratios(near(place, Measures::Flow), near(place, Measures::Temperature));
                Some(p / ratios.map_or(1.0, clean_factor))
            }
            (None, _) => Some(0.0),
            (Some(_), None) => None,
        };
        if clean.is_none() {
            remarks.push(
                "The clean differential pressure is missing or not used: no rise can be counted from it.".to_owned(),
            );
        }
        let (mut gauge, mut balance) = (None, None);
        let (mut points, mut doses, mut left) = (Vec::new(), Vec::new(), Vec::new());
        let (mut mass, mut lost, mut as_read) = (0.0, None, 0);
        let mut ended_early = false;
        for (place, slot) in log.slots.iter().enumerate() {
            ended_early |= sheet.ended_early(&slot.reading.path);
            if slot.dropped || log.is_left_out(slot.step) {
                continue;
            }
            let of_dose = matches!(slot.step.action, Action::Dose { .. }) && Sheet::measures(slot, Measures::Mass);
            if of_dose && let Some(numeric) = slot.numeric() {
                balance = balance.or(Some(numeric));
                let what = if numeric.window.is_some() { &mut doses } else { &mut left };
                let sign = if numeric.window.is_some() { 1.0 } else { -1.0 };
                if ended_early && slot.is_recorded() {
                    lost = lost.or(Some(Lost::Before(slot.reading.path.clone())));
                }
                match sheet.si(slot) {
                    Some(weighed) => {
                        mass += sign * weighed;
                        what.push(weighed);
                    }
                    None if log.is_open(place) => {}
                    // What stays in the boat is small; its loss is said, and does not end the account.
                    None if sign < 0.0 => {}
                    None => lost = lost.or(Some(Lost::Dose(slot.reading.path.clone()))),
                }
            }
            let batch = slot.step.round.and_then(|(batch, _)| log.test.batches.get(batch));
            let Some(batch) = batch.filter(|b| b.reading == last.reading && b.baseline == last.baseline) else {
                continue;
            };
            if slot.reading.name != batch.reading {
                continue;
            }
            gauge = gauge.or(slot.numeric());
            let (Some(gross), Some(clean), None) = (sheet.si(slot), clean, &lost) else { continue };
            let ratios = nominal.ratios(near(place, Measures::Flow), near(place, Measures::Temperature));
            as_read += usize::from(ratios.is_none());
            let (m, q) = ratios.unwrap_or((1.0, 1.0));
            let rise = (gross - clean * clean_factor((m, q))) / (m * q);
            let stage = log.test.stages.get(slot.step.stage).map_or("", |stage| stage.name.as_str());
            points.push(LoadPoint {
                path: slot.reading.path.clone(),
                stage: stage.to_owned(),
                round: slot.step.round.map_or(0, |(_, round)| round),
                mass,
                mass_doubt: 0.0,
                gross,
                pressure: clean + rise,
                rise,
            });
        }
        Some(Way { points, baseline: clean, gauge: gauge?, balance: balance?, doses, left, lost, as_read })
    }

    fn remarks(&mut self, remarks: &mut Vec<String>) {
        if self.as_read > 0 {
            remarks.push(format!(
                "{} of {} differential pressures stand as read: flow or temperature beside them is not known.",
                self.as_read,
                self.points.len()
            ));
        }
        if let Some(lost) = &self.lost {
            remarks.push(format!("No dust is counted from some dose on: {}.", lost.words()));
        }
    }

    /// What weighing leaves in doubt of a mass of so many doses.
    fn weighing(&self, sheet: &Sheet<'_>, mass: f64, doses: usize) -> Vec<Source> {
        let Some(name) = &self.balance.instrument else { return Vec::new() };
        let Some(instrument) = sheet.plan.instruments.get(name) else { return Vec::new() };
        let step = instrument.resolution.si_difference();
        // Boat and dust, and boat again where what was left is weighed.
        let weighings = if self.left.is_empty() { 2.0 } else { 3.0 };
        let mut sources = vec![Source::normal(
            format!("last digit of balance {name}"),
            step * (weighings * doses as f64 / 12.0).sqrt(),
        )];
        let each = if doses > 0 { mass / doses as f64 } else { mass };
        if let Some(limits) = accuracy_limits(instrument, each) {
            let half = (limits.offset + limits.gain) * doses as f64;
            sources.push(Source::within(format!("balance {name}"), half).shared(name.clone()));
        }
        sources
    }

    fn capacity(
        &mut self,
        sheet: &Sheet<'_>,
        terminal: f64,
        remarks: &mut Vec<String>,
    ) -> (Outcome, Option<(f64, f64)>) {
        for place in 0..self.points.len() {
            let mass = self.points.get(place).map_or(0.0, |point| point.mass);
            let doubt = self.weighing(sheet, mass, place + 1).iter().fold(0.0_f64, |sum, s| sum.hypot(s.contribution));
            if let Some(point) = self.points.get_mut(place) {
                point.mass_doubt = doubt;
            }
        }
        let reached = self.points.iter().position(|point| point.rise >= terminal);
        // The bench stops by what it reads; brought to the planned flow and viscosity the last round may lie just short.
        let short = self.points.len().checked_sub(1).filter(|last| {
            *last > 0 && self.points.get(*last).is_some_and(|point| point.rise >= terminal * (1.0 - JUST_SHORT))
        });
        if let (None, Some(last)) = (reached, short)
            && let Some(point) = self.points.get(last)
        {
            remarks.push(format!(
                "Brought to the planned flow and viscosity the last round lies {:.1} % short of the terminal rise; the capacity is drawn on along the last two rounds.",
                (1.0 - point.rise / terminal) * 100.0
            ));
        }
        let Some(place) = reached.or(short) else {
            let Some(last) = self.points.last() else {
                return (Outcome::unsaid("no round with dust and differential pressure can be used"), None);
            };
            match &self.lost {
                Some(Lost::Dose(_)) => {
                    return (Outcome::unsaid("a dose is missing or not used before the terminal rise"), None);
                }
                Some(before) => return (Outcome::unsaid(before.words()), None),
                None => {}
            }
            let sources = self.weighing(sheet, last.mass, self.doses.len());
            let estimate = Estimate::new(last.mass, sources);
            let why = "the terminal rise was not reached".to_owned();
            return (Outcome::AtLeast { bound: estimate.interval.low, why }, None);
        };
        let start = LoadPoint {
            path: String::new(),
            stage: String::new(),
            round: 0,
            mass: 0.0,
            mass_doubt: 0.0,
            gross: 0.0,
            pressure: 0.0,
            rise: 0.0,
        };
        let before = place.checked_sub(1).and_then(|place| self.points.get(place)).unwrap_or(&start).clone();
        let Some(after) = self.points.get(place) else { return (Outcome::unsaid("no terminal round"), None) };
        let (dose, step) = (after.mass - before.mass, after.rise - before.rise);
        if step <= 0.0 || dose <= 0.0 {
            return (Outcome::unsaid("the differential pressure did not rise over the last dose"), None);
        }
        let part = (terminal - before.rise) / step;
        let value = before.mass + part * dose;
        let mut sources = Vec::new();
        match scatter(&self.points, place) {
            // Residuals of ln(rise): shares of the rise.
            Some((share, freedom)) => {
                let pressure = ((1.0 - part) * before.rise).hypot(part * after.rise) * share;
                sources.push(Source::scatter("scatter of the differential pressures", dose * pressure / step, freedom));
            }
            None => {
                remarks.push(
                    "Too few rounds to see how the pressures scatter: the interval is only that of the two rounds."
                        .to_owned(),
                );
                let between = Estimate::with_interval(
                    value,
                    dose / 12_f64.sqrt(),
                    Interval { low: before.mass, high: after.mass.max(value) },
                    vec![Source::within("between the two rounds", dose / 2.0)],
                );
                return (Outcome::Known(between), Some((before.mass, after.mass)));
            }
        }
        if before.rise > 0.0 {
            let by_log = (terminal / before.rise).ln() / (after.rise / before.rise).ln();
            sources.push(Source::within("the curve between two rounds", dose * (by_log - part).abs() / 2.0));
        }
        if let Some(limit) = sheet.limits(self.gauge, terminal + self.baseline.unwrap_or(0.0)) {
            let name = self.gauge.instrument.clone().unwrap_or_default();
            sources.push(Source::within(format!("gauge {name}"), dose * limit / step));
        }
        sources.extend(self.weighing(sheet, value, place + 1));
        (Outcome::Known(Estimate::new(value, sources)), reached.map(|_| (before.mass, after.mass)))
    }

    fn stepped_back(&self) -> bool {
        let share = scatter(&self.points, self.points.len().saturating_sub(1)).map_or(0.01, |(share, _)| share);
        self.points.windows(2).any(|pair| match pair {
            [before, after] => after.rise < before.rise * (1.0 - 6.0 * share.max(0.004)) && before.rise > 0.0,
            _ => false,
        })
    }
}

/// Standard deviation of the rises about a smooth curve through the rounds near one, as a share, and its degrees of freedom.
fn scatter(points: &[LoadPoint], place: usize) -> Option<(f64, f64)> {
    let end = (place + 3).min(points.len());
    let near = points.get(end.saturating_sub(ABOUT)..end)?;
    let near: Vec<&LoadPoint> = near.iter().filter(|point| point.rise > 0.0).collect();
    if near.len() < 5 {
        return None;
    }
    let middle = near.iter().map(|point| point.mass).sum::<f64>() / near.len() as f64;
    let x: Vec<f64> = near.iter().map(|point| point.mass / middle - 1.0).collect();
    let y: Vec<f64> = near.iter().map(|point| point.rise.ln()).collect();
    let fit = regression::polynomial(&x, &y, 2).ok()?;
    Some((fit.residual_sd, fit.degrees_of_freedom as f64)).filter(|(share, _)| share.is_finite())
}

fn nominal(sheet: &Sheet<'_>) -> Nominal {
    let in_rounds = sheet.log.test.steps.iter().filter(|step| step.round.is_some());
    let mut nominal = Nominal { flow: None, oil: None };
    for step in in_rounds {
        match &step.action {
            Action::HoldFlow(setting) => nominal.flow = setting.target.as_ref().map(|target| target.si()),
            Action::HoldViscosity(hold) => {
                let oil = sheet.plan.fluids.get(&hold.fluid).and_then(Oil::new);
                nominal.oil = oil.map(|oil| (oil, hold.target));
            }
            _ => {}
        }
    }
    nominal
}

/// Where the dust went, as far as it was written down.
fn ledger(sheet: &Sheet<'_>, way: &Way<'_>) -> DustLedger {
    let mut lines = Vec::new();
    let sum: f64 = way.doses.iter().sum();
    let weighing = way.weighing(sheet, sum, way.doses.len());
    let doubt = |sources: &[Source]| sources.iter().fold(0.0_f64, |sum, source| sum.hypot(source.contribution));
    lines.push(LedgerLine {
        what: format!("weighed out in {} doses", way.doses.len()),
        mass: sum,
        doubt: doubt(&weighing),
    });
    let left: f64 = way.left.iter().sum();
    if !way.left.is_empty() {
        let what = format!("left in the boat, {} times", way.left.len());
        lines.push(LedgerLine { what, mass: -left, doubt: 0.0 });
    }
    let given = match &way.lost {
        None if !way.doses.is_empty() => Outcome::Known(Estimate::new(sum - left, weighing.clone())),
        None => Outcome::unsaid("no dose is recorded"),
        Some(lost) => Outcome::unsaid(lost.words()),
    };
    let mut away = Vec::new();
    let (mut drawn, mut drawn_squares) = (0.0, 0.0_f64);
    let (mut bottles, mut unknown) = (0, 0);
    for slot in &sheet.log.slots {
        let Wants::Bottle(bottle) = &slot.reading.wants else { continue };
        if slot.is_recorded() && slot.step.round.is_some() {
            bottles += bottle.pieces();
            match gravimetric(sheet, slot) {
                Some(concentration) => {
                    let each = concentration * bottle.volume.si();
                    drawn += each * f64::from(bottle.pieces());
                    drawn_squares += each * each * f64::from(bottle.pieces());
                }
                None => unknown += bottle.pieces(),
            }
        }
    }
    let scatter = sheet.plan.rules.number("laboratory-scatter").unwrap_or(SCATTER);
    let drawn_doubt = scatter * drawn_squares.sqrt();
    if bottles > unknown {
        let what = match unknown {
            0 => format!("taken with {bottles} bottles, by the laboratory's mass"),
            _ => format!("taken with {bottles} bottles, by the laboratory's mass; {unknown} of them without one"),
        };
        away.push(LedgerLine { what, mass: -drawn, doubt: drawn_doubt });
    }
    // Rather too little is taken off: nobody has looked what is still in the oil.
    let retained = match &given {
        Outcome::Known(estimate) => Outcome::AtMost {
            bound: estimate.interval.high - (drawn - 2.0 * drawn_doubt).max(0.0),
            why: match unknown {
                0 => "what is still in the oil is not known".to_owned(),
                _ => "what is still in the oil, and in bottles whose dust was not weighed, is not known".to_owned(),
            },
        },
        other => other.clone(),
    };
    let not_taken = given.known().filter(|_| unknown == 0).map(|given| {
        let mut sources = given.sources.clone();
        if drawn_doubt > 0.0 {
            sources.push(Source::normal("the laboratory's masses, from bottle to bottle", drawn_doubt));
        }
        Estimate::new(given.value - drawn, sources)
    });
    let gain = gain(sheet);
    let closure = match (not_taken, gain.known()) {
        (Some(not_taken), Some(gain)) => Outcome::Known(not_taken.less(gain)),
        (None, Some(_)) if unknown > 0 => {
            Outcome::unsaid("the dust in some bottles was not weighed: the account cannot be closed")
        }
        (None, Some(_)) => Outcome::unsaid("what was given is not known: the account cannot be closed"),
        _ => Outcome::unsaid("the specimen was not weighed clean and loaded: the account cannot be closed"),
    };
    let closes = closure.known().map(|estimate| estimate.interval.contains(0.0));
    DustLedger { lines, given, away, retained, gain, closure, closes }
}

/// kg/m³ of dust in a bottle, where the laboratory weighed it.
fn gravimetric(sheet: &Sheet<'_>, slot: &Slot<'_>) -> Option<f64> {
    use crate::plan::Holds;
    let label = slot.current()?.text(crate::record::Column::Value);
    let (file, result) = sheet.reported(label).ok()?;
    // mg/L.
    file.number(result, &Holds::Gravimetric).filter(|mass| *mass >= 0.0).map(|mass| mass * 1e-3)
}

/// What the specimen gained between its first and its last weighing, where dust was given between them.
fn gain(sheet: &Sheet<'_>) -> Outcome {
    let weighed: Vec<(usize, &Slot<'_>)> = sheet
        .log
        .slots
        .iter()
        .enumerate()
        .filter(|(_, slot)| matches!(slot.step.action, Action::Weigh) && Sheet::measures(slot, Measures::Mass))
        .collect();
    let none = || Outcome::unsaid("the specimen was not weighed before and after");
    let ([(from, first), ..], [.., (to, last)]) = (weighed.as_slice(), weighed.as_slice()) else { return none() };
    let dosed = sheet.log.slots.iter().enumerate().any(|(place, slot)| {
        place > *from && place < *to && matches!(slot.step.action, Action::Dose { .. }) && slot.is_recorded()
    });
    let (true, Some(before), Some(after), Some(numeric)) = (dosed, sheet.si(first), sheet.si(last), first.numeric())
    else {
        return none();
    };
    let step = 2.0 * sheet.half_digit(numeric);
    let sources = vec![Source::normal("last digit of the balance, twice", step * (2.0_f64 / 12.0).sqrt())];
    Outcome::Known(Estimate::new(after - before, sources))
}
