//! Instruments and laboratories.

use indexmap::IndexMap;

use crate::diagnostic::{Code, Diagnostic};
use crate::plan::library::Declaration;
use crate::plan::model::{Accuracy, Bounds, Calibration, Instrument, LabTest, Laboratory, Measures, Origin};
use crate::plan::read::Context;
use crate::quantity::{Kind, Quantity, Window};
use crate::syntax::tree::{AccuracyOf, Part, Statement};

impl Measures {
    /// The kind of quantity that such an instrument reads.
    pub fn kind(self) -> Kind {
        match self {
            Measures::DifferentialPressure => Kind::DifferentialPressure,
            Measures::GaugePressure => Kind::GaugePressure,
            Measures::AbsolutePressure => Kind::AbsolutePressure,
            Measures::Temperature => Kind::Temperature,
            Measures::Flow => Kind::Flow,
            Measures::Mass => Kind::Mass,
            Measures::Volume => Kind::Volume,
            Measures::Time => Kind::Time,
            Measures::Length => Kind::Length,
            Measures::Torque => Kind::Torque,
            Measures::Speed => Kind::Speed,
            Measures::Viscosity => Kind::KinematicViscosity,
            Measures::ParticleCount => Kind::CountConcentration,
            Measures::Conductivity => Kind::Conductivity,
        }
    }
}

pub(super) fn read_instrument(declaration: &Declaration<'_>, context: &Context<'_>) -> Option<Instrument> {
    let block = &declaration.statement.block;
    let measures = block.iter().find(|s| s.key() == "measures").and_then(|s| context.measures(s, "quantity"))?;
    let kind = measures.kind();
    let (mut range, mut resolution, mut accuracy, mut calibration) = (None, None, None, None);
    let (mut indicator_only, mut place, mut tap_height, mut viscosity_range) = (None, None, None, None);
    let (mut largest_load, mut serial) = (None, None);
    for s in block {
        match s.key() {
            "range" => range = context.bounds_as(s, "range", kind),
            "resolution" => resolution = context.quantity_as(s, "resolution", kind.difference()),
            "accuracy" => accuracy = read_accuracy(s, kind, context),
            "calibrated on" => calibration = read_calibration(s, context),
            "indicator only" => indicator_only = context.text(s, "reason"),
            "at" => place = context.text(s, "place"),
            "tap height difference" => tap_height = context.quantity(s, "height"),
            "good for viscosity" => viscosity_range = context.bounds(s, "range"),
            "largest load" => largest_load = context.quantity_as(s, "load", kind),
            "serial" => serial = context.text(s, "serial"),
            _ => {}
        }
    }
    let Some(((range, resolution), accuracy)) = range.zip(resolution).zip(accuracy) else {
        // What is missing has been said; steps that read with it are no fault of their own.
        return Some(stand_in(&declaration.name, measures, context.origin(declaration.name_span)));
    };
    // The scale is read in the unit in which its range is written: a resolution in kelvin belongs to a scale in °C.
    let unit = range.high.as_ref().or(range.low.as_ref()).map_or_else(|| resolution.unit.clone(), |q| q.unit.clone());
    Some(Instrument {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        measures,
        decimals: resolution.decimals(),
        range,
        resolution,
        unit,
        accuracy,
        calibration,
        calibration_written: block.iter().any(|s| s.key() == "calibrated on"),
        indicator_only,
        place,
        tap_height,
        viscosity_range,
        largest_load,
        serial,
        is_role: false,
        origin: context.origin(declaration.name_span),
    })
}

fn read_calibration(s: &Statement, context: &Context<'_>) -> Option<Calibration> {
    let (on, valid_until) = (context.date(s, "date")?, context.date(s, "until")?);
    if valid_until < on {
        context.notes.add(
            Diagnostic::new(
                Code::WindowInsideOut,
                format!("this calibration ends on {valid_until}, before it begins on {on}"),
            )
            .at(context.source, s.head, "these two dates")
            .why("There is no day on which it would hold.")
            .help(format!("write `calibrated on {valid_until}, valid until {on}`, or correct the wrong one")),
        );
        return None;
    }
    Some(Calibration { on, valid_until, certificate: context.text(s, "certificate") })
}

fn read_accuracy(s: &Statement, kind: Kind, context: &Context<'_>) -> Option<Accuracy> {
    let Some(Part::Accuracy(terms, _)) = s.part("accuracy") else { return None };
    let read = |term: &crate::syntax::tree::AccuracyTerm| -> Option<Accuracy> {
        let evaluator = context.evaluator();
        Some(match term.of {
            Some(AccuracyOf::Span) => Accuracy::OfSpan(evaluator.quantity(&term.value, Kind::Fraction)?.si()),
            Some(AccuracyOf::Reading) => Accuracy::OfReading(evaluator.quantity(&term.value, Kind::Fraction)?.si()),
            None => Accuracy::Absolute(evaluator.quantity(&term.value, kind.difference())?),
        })
    };
    let mut all: Vec<Accuracy> = terms.iter().map(read).collect::<Option<_>>()?;
    if all.len() == 1 { all.pop() } else { Some(Accuracy::WorstOf(all)) }
}

pub(super) fn read_laboratory(declaration: &Declaration<'_>, context: &Context<'_>) -> Laboratory {
    let mut laboratory = Laboratory {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        tests: IndexMap::new(),
        turnaround: None,
        ships_within: None,
        results: None,
        origin: context.origin(declaration.name_span),
    };
    for s in &declaration.statement.block {
        match s.key() {
            "test" => {
                let test = read_lab_test(s, context);
                laboratory.tests.insert(test.name.clone(), test);
            }
            "turnaround" => laboratory.turnaround = context.quantity(s, "time"),
            "ships within" => laboratory.ships_within = context.quantity(s, "time"),
            "results file" => laboratory.results = Some(super::results::read_results(s, context)),
            _ => {}
        }
    }
    laboratory
}

fn read_lab_test(statement: &Statement, context: &Context<'_>) -> LabTest {
    let mut test = LabTest {
        name: context.text(statement, "name").unwrap_or_default(),
        title: context.text(statement, "title").unwrap_or_default(),
        sizes: Vec::new(),
        counts: None,
        counted_volume: None,
        smallest_bottle: None,
        coincidence_limit: None,
        reports_code: false,
        fields: Vec::new(),
        calibrated_to: None,
        before_counting: Vec::new(),
        price: None,
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        match s.key() {
            "sizes" => test.sizes = context.list(s, "sizes"),
            "counts" => test.counts = Some(super::results::read_counts(s, context)),
            "counted volume" => test.counted_volume = context.quantity(s, "volume").zip(context.integer(s, "repeats")),
            "smallest bottle" => test.smallest_bottle = context.quantity(s, "volume"),
            "coincidence limit" => {
                test.coincidence_limit = context.quantity(s, "limit").map(|q| context.marked(s, q));
            }
            "calibrated to" => test.calibrated_to = context.text(s, "standard"),
            "before counting" => test.before_counting.extend(context.text(s, "treatment")),
            "reports cleanliness code" => test.reports_code = true,
            "field" => test.fields.extend(context.text(s, "name").zip(context.text(s, "kind"))),
            "price" => test.price = context.quantity(s, "price"),
            _ => {}
        }
    }
    test
}

/// An instrument of which only its task is known: a role of a protocol, or one whose declaration has a fault.
pub(crate) fn stand_in(name: &str, measures: Measures, origin: Origin) -> Instrument {
    let unit = measures.kind().usual_unit();
    let one = Quantity { number: "1".to_owned(), value: 1.0, unit: unit.clone() };
    Instrument {
        name: name.to_owned(),
        title: name.to_owned(),
        measures,
        range: Bounds { low: None, high: None, window: Window { low: None, high: None } },
        resolution: one.clone(),
        decimals: 1,
        unit,
        accuracy: Accuracy::Absolute(one),
        calibration: None,
        calibration_written: false,
        indicator_only: None,
        place: None,
        tap_height: None,
        viscosity_range: None,
        largest_load: None,
        serial: None,
        is_role: true,
        origin,
    }
}
