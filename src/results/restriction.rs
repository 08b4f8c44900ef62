//! Restriction: a flow sweep becomes the element's own curve, at the viscosity that the plan is about.
//!
//! Every reading is taken at its own flow Q and temperature, hence at its own viscosity μ = ν ρ. The housing's readings give
//! ΔP = a μ Q + b ρ Q² by least squares; that curve, at each reading's Q, μ and ρ, is taken off, and the same form is fitted
//! to what is left. Readings weigh by 1/s², s² = (half the last digit)² + (1 % of what the curve expects)²: set flow and
//! temperature scatter in proportion. What the curve expects, and not what was read: a reading that is far too low would
//! otherwise weigh most of all (Carroll and Ruppert, Transformation and Weighting in Regression, 1988, from memory). So the curve
//! is fitted three times: by 1/Q², and twice by what the fit before expects. A reading that lies too far from the curve of all
//! others is named in a remark. Results are values of the fitted curve at the planned flow and the reference μ and ρ, with
//!
//! - the scatter about both curves (their covariance, scaled by the residuals; t with their degrees of freedom);
//! - the gauge: its limits at the reading, anew after each zeroing, so once for the sweep and once for the tare; a part in
//!   proportion to the reading stays and counts on the net value;
//! - the flow meter: ∂ΔP/∂ln Q times its limits, and the thermometer: the viscous part times d ln ν/dT times its limits. Both
//!   err alike in every run and cancel in a difference.
//!
//! Not counted: the doubt of the oil's measured viscosities, for the plan gives none.

use super::estimate::{Estimate, Outcome, Source};
use super::model::{CurveFit, Knee, RestrictionResult, SweepPoint};
use super::oil::Oil;
use super::sheet::{Sheet, missing};
use crate::audit::{log::Slot, measure};
use crate::plan::{Action, Measures, Numeric, Stage, accuracy_limits};
use crate::quantity::Unit;
use crate::trade::{distribution::student_two_sided, regression};

/// The share of a reading by which set flow and temperature make it scatter: a weight, not a result. Common practice.
const IN_PROPORTION: f64 = 0.01;

/// The share of sweeps in which chance alone may name a reading as straying.
const STRAYS: f64 = 0.001;

/// Every sweep of a run that is not itself a tare.
pub(crate) fn restrictions(sheet: &Sheet<'_>) -> Vec<RestrictionResult> {
    let stages = sheet.log.test.stages.iter().enumerate();
    stages.filter(|(_, stage)| stage.tare_for.is_none()).filter_map(|(place, _)| of_stage(sheet, place)).collect()
}

/// What a stage holds the oil at, and the oil.
struct Held {
    oil: Oil,
    fluid: String,
    /// K.
    temperature: f64,
}

fn held(sheet: &Sheet<'_>, place: usize) -> Option<Held> {
    let stage = sheet.log.test.stages.get(place)?;
    let steps = sheet.log.test.steps.get(stage.first_step..stage.end_step)?;
    let hold = steps.iter().find_map(|step| match &step.action {
        Action::HoldViscosity(hold) => Some((Some(hold.fluid.clone()), hold.temperature)),
        Action::HoldTemperature(setting) => Some((None, setting.target.as_ref()?.si())),
        _ => None,
    });
    let (named, temperature) = hold?;
    let fluid = named.or_else(|| stage.fluid.clone())?;
    let oil = Oil::new(sheet.plan.fluids.get(&fluid)?)?;
    Some(Held { oil, fluid, temperature })
}

/// Readings of a sweep, and the gauge and meters that they were read with.
struct Sweep<'a> {
    points: Vec<SweepPoint>,
    gauge: &'a Numeric,
    meter: Option<&'a Numeric>,
    probe: Option<&'a Numeric>,
    /// Flows that the plan asks for, rising, each once.
    planned: Vec<f64>,
    /// Readings that the plan asks for and that are not there or may not be used.
    missing: usize,
}

fn sweep<'a>(sheet: &Sheet<'a>, place: usize, held: &Held) -> Option<Sweep<'a>> {
    let slots: Vec<&Slot<'a>> = sheet.stage(place).map(|(_, slot)| slot).collect();
    let flows = slots.iter().filter_map(|slot| match &slot.step.action {
        Action::SetFlow { setting, rising } => {
            Some((group(&slot.reading.path), setting.target.as_ref()?.si(), *rising))
        }
        _ => None,
    });
    let flows: Vec<(&str, f64, bool)> = flows.collect();
    if flows.is_empty() {
        return None;
    }
    let (mut points, mut planned, mut missing) = (Vec::new(), Vec::new(), 0);
    let (mut gauge, mut meter, mut probe) = (None, None, None);
    for slot in &slots {
        let Some(numeric) = pressure(slot) else { continue };
        let of = group(&slot.reading.path);
        let Some((_, target, rising)) = flows.iter().find(|(group, _, _)| *group == of) else { continue };
        gauge = gauge.or(Some(numeric));
        planned.push(*target);
        let beside = |what: Measures| {
            let near = slots.iter().filter(|other| Sheet::measures(other, what));
            // Beside it, or the last one before it where the oil was brought to its temperature once for all.
            near.clone()
                .find(|other| group(&other.reading.path) == of)
                .or_else(|| near.take_while(|other| other.step_index <= slot.step_index).last())
                .copied()
        };
        let (flow, temperature) = (beside(Measures::Flow), beside(Measures::Temperature));
        meter = meter.or(flow.and_then(Slot::numeric));
        probe = probe.or(temperature.and_then(Slot::numeric));
        let read = |slot: Option<&Slot<'a>>| slot.and_then(|slot| sheet.si(slot));
        let point =
            read(Some(*slot)).zip(read(flow)).zip(read(temperature)).and_then(|((gross, flow), temperature)| {
                Some(SweepPoint {
                    path: slot.reading.path.clone(),
                    planned: *target,
                    rising: *rising,
                    flow: Some(flow).filter(|flow| *flow > 0.0)?,
                    temperature,
                    viscosity: held.oil.viscosity(temperature)?,
                    density: held.oil.density(temperature),
                    gross,
                    tare: None,
                    net: gross,
                    at_reference: gross,
                    used: true,
                })
            });
        match point {
            Some(point) => points.push(point),
            None => missing += 1,
        }
    }
    planned.sort_by(f64::total_cmp);
    planned.dedup_by(|one, other| (*one / *other - 1.0).abs() < 1e-6);
    Some(Sweep { points, gauge: gauge?, meter, probe, planned, missing })
}

/// The part of a path that names the flow: `warm-sweep/rising/28-l-min`.
fn group(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(place, _)| place)
}

fn pressure<'a>(slot: &Slot<'a>) -> Option<&'a Numeric> {
    let numeric = slot.numeric().filter(|numeric| numeric.measures == Measures::DifferentialPressure)?;
    (!matches!(slot.step.action, Action::Zero { .. })).then_some(numeric)
}

fn of_stage(sheet: &Sheet<'_>, place: usize) -> Option<RestrictionResult> {
    let stage = sheet.log.test.stages.get(place)?;
    let held = held(sheet, place)?;
    let mut sweep = sweep(sheet, place, &held)?;
    let (viscosity, density) = (held.oil.viscosity(held.temperature)?, held.oil.density(held.temperature));
    let mut remarks = Vec::new();
    if sweep.missing > 0 {
        remarks.push(missing(sweep.missing, sweep.missing + sweep.points.len(), "readings"));
    }
    if !held.oil.weighed {
        remarks.push("No density of the oil is given; 870 kg/m³ was taken, which no pressure depends on.".to_owned());
    }
    let housing = tare(sheet, stage, &mut remarks);
    if let Some((fit, _)) = &housing {
        for point in &mut sweep.points {
            let tare = fit.of(point);
            point.tare = Some(tare);
            point.net = point.gross - tare;
        }
    }
    let knee = knee(&sweep.points, half_digit(sheet, sweep.gauge));
    if let Some(knee) = &knee {
        for point in sweep.points.iter_mut().filter(|point| point.planned > knee.flow * 1.001) {
            point.used = false;
        }
        remarks
            .push("The curve breaks off where the by-pass opens; readings beyond are shown and not used.".to_owned());
    }
    let fit = fit(&sweep.points, half_digit(sheet, sweep.gauge)).map(|fitted| {
        remarks.extend(straying(&fitted, &sweep.gauge.unit));
        fitted.curve
    });
    if let Some(fit) = &fit {
        let dynamic = viscosity * density;
        for point in &mut sweep.points {
            point.at_reference = point.net + fit.pressure(point.planned, dynamic, density) - fit.of(point);
        }
    }
    let reference = Reference { held: &held, viscosity, density };
    let at =
        |flow: &f64| (*flow, at_flow(sheet, &sweep, *flow, fit.as_ref(), housing.as_ref(), knee.as_ref(), &reference));
    let at = sweep.planned.iter().map(at).collect();
    let flow_unit = sweep.meter.map_or_else(|| Unit::parse("L/min").ok(), |n| Some(n.unit.clone()))?;
    Some(RestrictionResult {
        stage: stage.name.clone(),
        title: stage.title.clone(),
        fluid: held.fluid.clone(),
        viscosity,
        density,
        unit: sweep.gauge.unit.clone(),
        flow_unit,
        at,
        fit,
        net: housing.is_some(),
        tare_lost: stage.tare.is_some() && housing.is_none(),
        tare: housing.map(|(fit, _)| fit),
        knee,
        points: sweep.points,
        lost: sweep.missing,
        remarks,
    })
}

/// The housing's curve, and the gauge that it was read with.
fn tare<'a>(sheet: &Sheet<'a>, stage: &Stage, remarks: &mut Vec<String>) -> Option<(CurveFit, &'a Numeric)> {
    let Some(name) = &stage.tare else {
        remarks.push("No tare is taken off: these are pressures of element, housing and adaptor together.".to_owned());
        return None;
    };
    let place = sheet.log.test.stages.iter().position(|other| other.name == *name);
    let found = place.and_then(|place| {
        let held = held(sheet, place)?;
        let sweep = sweep(sheet, place, &held)?;
        let fitted = fit(&sweep.points, half_digit(sheet, sweep.gauge))?;
        remarks.extend(straying(&fitted, &sweep.gauge.unit));
        Some((fitted.curve, sweep.gauge))
    });
    if found.is_none() {
        remarks.push(format!(
            "Too few readings of the tare `{name}` can be used: these are pressures of element, housing and adaptor together."
        ));
    }
    found
}

/// A remark on each reading that strays from the curve of the others.
fn straying(fitted: &Fitted<'_>, unit: &Unit) -> Vec<String> {
    let others = fitted.used.len() - 1;
    let remark = |(point, off): (&SweepPoint, f64)| {
        format!(
            "`{}` ({}) is used and lies {} {} what the other {others} readings give: it bends the curve and widens its interval.",
            point.path,
            measure::amount(unit, point.gross),
            measure::difference(unit, off.abs()),
            if off < 0.0 { "below" } else { "above" }
        )
    };
    fitted.strays().into_iter().map(remark).collect()
}

fn half_digit(sheet: &Sheet<'_>, numeric: &Numeric) -> f64 {
    sheet.half_digit(numeric)
}

impl CurveFit {
    /// ΔP in Pa at a flow (m³/s), a dynamic viscosity (Pa·s) and a density (kg/m³).
    pub fn pressure(&self, flow: f64, viscosity: f64, density: f64) -> f64 {
        self.viscous * viscosity * flow + self.inertial * density * flow * flow
    }

    /// The same where a point was read.
    fn of(&self, point: &SweepPoint) -> f64 {
        self.pressure(point.flow, point.viscosity * point.density, point.density)
    }

    /// Its standard uncertainty there, from the scatter of the readings.
    pub fn doubt(&self, flow: f64, viscosity: f64, density: f64) -> f64 {
        let (x, y) = (viscosity * flow, density * flow * flow);
        let [aa, ab, bb] = self.covariance;
        (x * x * aa + 2.0 * x * y * ab + y * y * bb).max(0.0).sqrt()
    }
}

/// A fitted curve, and what it was fitted to.
struct Fitted<'a> {
    curve: CurveFit,
    used: Vec<&'a SweepPoint>,
    /// Of each point, in Pa: its standard deviation up to a common factor.
    weights: Vec<f64>,
    /// Residual standard deviation over `weights`.
    residual_sd: f64,
}

/// Weighted least squares through the readings that are used; `None` with fewer than four or at fewer than two flows.
fn fit(points: &[SweepPoint], half_digit: f64) -> Option<Fitted<'_>> {
    let used: Vec<&SweepPoint> = points.iter().filter(|point| point.used).collect();
    let flows = used.iter().map(|point| point.flow);
    let (low, high) = (flows.clone().fold(f64::INFINITY, f64::min), flows.fold(0.0, f64::max));
    if used.len() < 4 || high < 1.2 * low {
        return None;
    }
    let mut fitted = weighted(used.clone(), used.iter().map(|point| point.flow).collect())?;
    for _ in 0..2 {
        let expected = |point: &SweepPoint| fitted.curve.of(point) + point.tare.unwrap_or(0.0);
        let weight = |point: &&SweepPoint| half_digit.hypot(IN_PROPORTION * expected(point)).max(1e-9);
        let weights = used.iter().map(weight).collect();
        fitted = weighted(used.clone(), weights)?;
    }
    Some(fitted)
}

fn weighted(used: Vec<&SweepPoint>, weights: Vec<f64>) -> Option<Fitted<'_>> {
    let column = |of: &dyn Fn(&SweepPoint) -> f64| -> Vec<f64> {
        used.iter().zip(&weights).map(|(point, weight)| of(point) / weight).collect()
    };
    let viscous = column(&|point| point.viscosity * point.density * point.flow);
    let inertial = column(&|point| point.density * point.flow * point.flow);
    let found = regression::multiple_through_origin(&[&viscous, &inertial], &column(&|point| point.net)).ok()?;
    let [a, b] = found.coefficients.as_slice() else { return None };
    let cell = |row: usize, column: usize| found.covariance.get(row).and_then(|row| row.get(column)).copied();
    let flows = used.iter().map(|point| point.flow);
    let curve = CurveFit {
        viscous: *a,
        inertial: *b,
        covariance: [cell(0, 0)?, cell(0, 1)?, cell(1, 1)?],
        scatter: found.residual_sd * weights.iter().sum::<f64>() / weights.len() as f64,
        degrees_of_freedom: found.degrees_of_freedom,
        flows: (flows.clone().fold(f64::INFINITY, f64::min), flows.fold(0.0, f64::max)),
    };
    let finite = [curve.viscous, curve.inertial, curve.scatter].iter().all(|value| value.is_finite());
    finite.then_some(Fitted { curve, used, weights, residual_sd: found.residual_sd })
}

impl Fitted<'_> {
    /// Readings that lie further from the curve that the others give than chance would bring one of them in a thousand sweeps,
    /// with how far, in Pa. By the externally Studentized residual, its limit divided among all readings (Cook and Weisberg,
    /// Residuals and Influence in Regression, 1982, from memory). Domain: six readings or more.
    fn strays(&self) -> Vec<(&SweepPoint, f64)> {
        let readings = self.used.len();
        if readings < 6 || self.residual_sd <= 0.0 {
            return Vec::new();
        }
        let freedom = self.curve.degrees_of_freedom as f64;
        let stray = |(point, weight): (&&'_ SweepPoint, &f64)| {
            let off = (point.net - self.curve.of(point)) / weight / self.residual_sd;
            let (flow, dynamic) = (point.flow, point.viscosity * point.density);
            let leverage = (self.curve.doubt(flow, dynamic, point.density) / weight / self.residual_sd).powi(2);
            let rest = freedom * (1.0 - leverage) - off * off;
            let studentized = off.abs() * ((freedom - 1.0) / rest.max(f64::MIN_POSITIVE)).sqrt();
            let p = student_two_sided(studentized, freedom - 1.0).ok()?;
            (p * (readings as f64) < STRAYS).then(|| off * weight * self.residual_sd / (1.0 - leverage))
        };
        let each = self.used.iter().zip(&self.weights);
        each.filter_map(|(point, weight)| Some((*point, stray((point, weight))?))).collect()
    }
}

/// Where the differential pressure stops growing with the flow, over two flows or more of the rising leg.
fn knee(points: &[SweepPoint], half_digit: f64) -> Option<Knee> {
    let mut leg: Vec<&SweepPoint> = points.iter().filter(|point| point.rising).collect();
    leg.sort_by(|one, other| one.flow.total_cmp(&other.flow));
    let slope = |pair: &[&SweepPoint]| match pair {
        [low, high] if low.gross > 10.0 * half_digit && high.flow > 1.1 * low.flow => {
            Some((high.gross / low.gross).ln() / (high.flow / low.flow).ln())
        }
        _ => None,
    };
    let slopes: Vec<(usize, f64)> =
        leg.windows(2).enumerate().filter_map(|(place, pair)| Some((place, slope(pair)?))).collect();
    let from = slopes.iter().position(|(_, slope)| *slope < 0.5)?;
    let (before, after) = slopes.split_at(from);
    let steep = !before.is_empty() && before.iter().all(|(_, slope)| *slope >= 0.85);
    if !steep || after.len() < 2 || after.iter().any(|(_, slope)| *slope >= 0.5) {
        return None;
    }
    let last = leg.get(after.first()?.0)?;
    Some(Knee { flow: last.planned, pressure: last.gross })
}

struct Reference<'a> {
    held: &'a Held,
    viscosity: f64,
    density: f64,
}

fn at_flow(
    sheet: &Sheet<'_>,
    sweep: &Sweep<'_>,
    flow: f64,
    fit: Option<&CurveFit>,
    housing: Option<&(CurveFit, &Numeric)>,
    knee: Option<&Knee>,
    reference: &Reference<'_>,
) -> Outcome {
    if knee.is_some_and(|knee| flow > knee.flow * 1.001) {
        return Outcome::unsaid("the by-pass opens below this flow");
    }
    let Some(fit) = fit else {
        let left = sweep.points.iter().filter(|point| point.used).count();
        return Outcome::unsaid(match left {
            0 => "no reading of the sweep can be used; four at two flows are needed".to_owned(),
            1 => "1 reading of the sweep can be used; four at two flows are needed".to_owned(),
            _ => format!("{left} readings of the sweep can be used; four at two flows are needed"),
        });
    };
    if flow > fit.flows.1 * 1.03 || flow < fit.flows.0 * 0.97 {
        return Outcome::unsaid("no reading at this end of the sweep can be used, and the curve is not drawn further");
    }
    let dynamic = reference.viscosity * reference.density;
    let value = fit.pressure(flow, dynamic, reference.density);
    let viscous = fit.viscous * dynamic * flow;
    let mut sources = vec![Source::scatter(
        "scatter of the readings about the curve",
        fit.doubt(flow, dynamic, reference.density),
        fit.degrees_of_freedom as f64,
    )];
    let tare = housing.map_or(0.0, |(tare, _)| tare.pressure(flow, dynamic, reference.density));
    gauges(sheet, (sweep.gauge, value + tare), housing.map(|(_, numeric)| (*numeric, tare)), &mut sources);
    if let Some((curve, _)) = housing {
        sources.push(Source::scatter(
            "scatter of the tare about its curve",
            curve.doubt(flow, dynamic, reference.density),
            curve.degrees_of_freedom as f64,
        ));
    }
    let inertial = value - viscous;
    if let Some(numeric) = sweep.meter
        && let Some(limit) = sheet.limits(numeric, flow)
    {
        let name = numeric.instrument.clone().unwrap_or_default();
        sources
            .push(Source::within(format!("flow meter {name}"), (viscous + 2.0 * inertial) * limit / flow).shared(name));
    }
    if let Some(numeric) = sweep.probe
        && let Some(limit) = sheet.limits(numeric, reference.held.temperature)
        && let Some(slope) = reference.held.oil.slope(reference.held.temperature)
    {
        let name = numeric.instrument.clone().unwrap_or_default();
        sources.push(Source::within(format!("thermometer {name}"), viscous * slope * limit).shared(name));
    }
    let found = Estimate::new(value, sources);
    if found.interval.high < 0.0 {
        return Outcome::unsaid("less than nothing is left when the tare is taken off: one of the two is wrong");
    }
    Outcome::Known(found)
}

/// The gauges of sweep and tare. Each is zeroed anew before its stage: what is left of its offset differs from stage to stage. A
/// gain stays, so that of one gauge counts on the difference.
fn gauges(sheet: &Sheet<'_>, sweep: (&Numeric, f64), tare: Option<(&Numeric, f64)>, sources: &mut Vec<Source>) {
    let limits = |(numeric, reading): (&Numeric, f64)| {
        let name = numeric.instrument.clone()?;
        let limits = accuracy_limits(sheet.plan.instruments.get(&name)?, reading)?;
        Some((name, limits))
    };
    let mut gains: Vec<(String, f64)> = Vec::new();
    for (read, whence, sign) in [(Some(sweep), "in the sweep", 1.0), (tare, "in the tare", -1.0)] {
        let Some((name, limits)) = read.and_then(limits) else { continue };
        if limits.offset > 0.0 {
            sources.push(Source::within(format!("gauge {name} {whence}"), limits.offset));
        }
        if limits.gain > 0.0 {
            match gains.iter_mut().find(|(known, _)| *known == name) {
                Some((_, gain)) => *gain += sign * limits.gain,
                None => gains.push((name, sign * limits.gain)),
            }
        }
    }
    let each = gains.into_iter();
    sources.extend(each.map(|(name, gain)| Source::within(format!("gauge {name}, in proportion"), gain).shared(name)));
}
