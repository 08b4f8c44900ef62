//! Results by hand, one of everything that a report has to show.

use loopleaf::audit::evidence::{self, Standing};
use loopleaf::diagnostic::{Code, Diagnostic, Severity};
use loopleaf::plan::Plan;
use loopleaf::quantity::Unit;
use loopleaf::report::{self, InputFile, KeyOpened, Page};
use loopleaf::results::*;
use loopleaf::source::{SourceId, Sources};
use loopleaf::trade::confidence::Interval;

use crate::results::bench::{self, done};

/// What a report is made from, owned.
#[derive(Clone)]
pub(super) struct Kit {
    pub(super) plan: Plan,
    pub(super) sources: Sources,
    pub(super) results: Results,
    pub(super) standings: Vec<Standing>,
    pub(super) key: Option<KeyOpened>,
    pub(super) files: Vec<InputFile>,
}

impl Kit {
    pub(super) fn page(&self) -> Page {
        report::page(&report::Input {
            plan: &self.plan,
            results: &self.results,
            standings: &self.standings,
            plan_findings: &[],
            sources: &self.sources,
            files: &self.files,
            key: self.key.as_ref(),
            date: "2026-11-25",
            command: "loopleaf report . --date 2026-11-25",
            replaces: None,
        })
        .unwrap()
    }

    pub(super) fn html(&self) -> String {
        report::html(&self.page()).unwrap().replace('\u{a0}', " ")
    }

    /// The same with the key opened on the results as they are.
    pub(super) fn opened(&self) -> Kit {
        let key = KeyOpened::new(&self.plan, &self.results, &self.files, "MO", "2026-11-20 09:00:00").unwrap();
        Kit { key: Some(key), ..self.clone() }
    }
}

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap()
}

fn known(value: f64, half: f64) -> Outcome {
    let gauge = Source::within("gauge `dp-low`", half).shared("dp-low");
    Outcome::Known(Estimate::new(value, vec![gauge, Source::scatter("scatter about the curve", half / 4.0, 8.0)]))
}

fn share(value: f64, low: f64, high: f64) -> Outcome {
    Outcome::Known(Estimate::with_interval(value, (high - low) / 4.0, Interval { low, high }, Vec::new()))
}

fn run(plan: &Plan, at: usize) -> RunResults {
    done(&plan.runs[at])
}

fn sweep(steepness: f64) -> RestrictionResult {
    let flows = [16.0, 22.0, 28.0, 34.0, 40.0].map(|flow| flow / 60_000.0);
    let point = |flow: f64, rising: bool| SweepPoint {
        path: "warm-sweep/dp".to_owned(),
        planned: flow,
        rising,
        flow,
        temperature: 320.0,
        viscosity: 12.3e-6,
        density: 850.0,
        gross: steepness * flow + 500.0,
        tare: Some(500.0),
        net: steepness * flow,
        at_reference: steepness * flow,
        used: flow < 39.0 / 60_000.0,
    };
    RestrictionResult {
        stage: "warm-sweep".to_owned(),
        title: "The filter, warm".to_owned(),
        fluid: "bench-oil-15".to_owned(),
        viscosity: 12.3e-6,
        density: 850.0,
        unit: unit("kPa"),
        flow_unit: unit("L/min"),
        lost: 0,
        points: flows.iter().flat_map(|flow| [point(*flow, true), point(*flow, false)]).collect(),
        fit: Some(CurveFit {
            viscous: steepness / (12.3e-6 * 850.0),
            inertial: 0.0,
            covariance: [1e10, 0.0, 1e6],
            scatter: 40.0,
            degrees_of_freedom: 6,
            flows: (flows[0], flows[4]),
        }),
        tare: None,
        at: flows.iter().map(|flow| (*flow, known(steepness * flow, 300.0))).collect(),
        knee: Some(Knee { flow: flows[3], pressure: steepness * flows[3] }),
        net: true,
        tare_lost: false,
        remarks: vec!["The curve breaks off: a by-pass opens".to_owned()],
    }
}

fn loading(capacity: Outcome) -> LoadingResult {
    let point = |round: u32| LoadPoint {
        path: format!("loading/batch-{round}/dp"),
        stage: "loading".to_owned(),
        round,
        mass: f64::from(round) * 1.5e-3,
        mass_doubt: 2e-6,
        gross: 20_000.0,
        pressure: 20_000.0,
        rise: f64::from(round * round) * 900.0,
    };
    LoadingResult {
        unit: unit("kPa"),
        mass_unit: unit("g"),
        terminal: 70_000.0,
        baseline: Some(20_000.0),
        points: (1..=9).map(point).collect(),
        capacity,
        between: Some((12e-3, 13.5e-3)),
        ledger: DustLedger {
            lines: vec![LedgerLine { what: "weighed out in 9 doses".to_owned(), mass: 13.5e-3, doubt: 1e-5 }],
            away: Vec::new(),
            given: known(13.5e-3, 2e-5),
            retained: known(13.1e-3, 4e-5),
            gain: known(13.0e-3, 2e-4),
            closure: known(1e-4, 2e-4),
            closes: Some(true),
        },
        stepped_back: false,
        remarks: Vec::new(),
    }
}

fn removal() -> RemovalResult {
    let size = |micrometres: f64, efficiency: Outcome, few: bool| SizeResult {
        size: micrometres * 1e-6,
        words: format!("{micrometres} µm(c)"),
        up: 1234,
        down: if few { 0 } else { 321 },
        up_background: 12.0,
        down_background: 3.4,
        up_volume: 7.5e-5,
        down_volume: 7.5e-5,
        steps: None,
        ratio: Outcome::AtLeast { bound: 33.0, why: "nothing was counted downstream".to_owned() },
        efficiency,
        few,
    };
    let bound = Outcome::AtLeast { bound: 0.9987, why: "nothing was counted downstream".to_owned() };
    RemovalResult {
        design: Design::MixedBatch,
        claims: "The share caught in one pass.".to_owned(),
        pairs: vec![Pair {
            stage: "loading".to_owned(),
            round: Some(1),
            up: "R08-07-3".to_owned(),
            down: "R08-06-V".to_owned(),
            up_after: Some(27.0),
            down_after: None,
            turnover: Some(44.0),
            sizes: vec![size(10.0, share(0.9, 0.85, 0.93), false)],
        }],
        pooled: vec![
            size(4.0, share(0.55, 0.5, 0.6), false),
            size(10.0, share(0.9, 0.85, 0.93), false),
            size(21.0, bound, true),
            size(38.0, Outcome::unsaid("nothing was counted at all"), true),
        ],
        remarks: Vec::new(),
    }
}

fn measurand(key: &str, title: &str, unit_text: &str, better: Better, values: &[(&str, Outcome)]) -> Measurand {
    let entry = |(specimen, outcome): &(&str, Outcome)| Entry {
        specimen: (*specimen).to_owned(),
        model: None,
        reference: *specimen == "W2",
        runs: vec!["R01".to_owned()],
        outcome: outcome.clone(),
        corrected: None,
        remark: None,
    };
    let with_value: Vec<(&str, &Estimate)> =
        values.iter().filter_map(|(specimen, outcome)| Some((*specimen, outcome.known()?))).collect();
    let mut comparison = Comparison {
        basis: "Of these specimens, not of their models.".to_owned(),
        groups: with_value.iter().map(|(specimen, known)| ((*specimen).to_owned(), known.value)).collect(),
        members: with_value.iter().map(|(specimen, _)| vec![(*specimen).to_owned()]).collect(),
        letters: ["a", "ab", "b", "c"].iter().take(with_value.len()).map(|letters| (*letters).to_owned()).collect(),
        error: 0.05,
        resolvable: Some(with_value.first().map_or(1.0, |(_, known)| known.standard * 3.0)),
        ..Comparison::default()
    };
    if let [(_, first), (_, second), ..] = with_value.as_slice() {
        let difference = first.less(second);
        let family = (difference.interval.low, difference.interval.high);
        comparison.pairs.push(PairDifference {
            first: 0,
            second: 1,
            difference,
            family,
            p_value: 0.2,
            differs: false,
            against_reference: false,
        });
    }
    Measurand {
        key: key.to_owned(),
        title: title.to_owned(),
        test: 0,
        unit: unit(unit_text),
        better,
        entries: values.iter().map(entry).collect(),
        comparison,
    }
}

/// The ferry campaign with results of every kind. People have written names of models where they shouldn't.
pub(super) fn kit() -> Kit {
    let (plan, sources) = bench::campaign("ferry-generator-sets");
    let mut runs: Vec<RunResults> = (0..plan.runs.len()).map(|at| run(&plan, at)).collect();
    for (at, steepness) in [(0, 2.4e7), (1, 3.1e7), (2, 2.2e7)] {
        runs[at].restrictions.push(sweep(steepness));
    }
    for run in runs.iter_mut().filter(|run| run.test == 1).take(2) {
        run.loading = Some(loading(known(12.6e-3, 6e-5)));
        run.removal = Some(removal());
    }
    let mechanic = runs.iter_mut().find(|run| run.test == 2).unwrap();
    mechanic.mechanics.push(MechanicalResult {
        key: "by-pass".to_owned(),
        title: "Opening of the by-pass valve".to_owned(),
        unit: unit("kPa"),
        better: Better::Neither,
        outcome: known(152_000.0, 2_000.0),
        values: vec![("by-pass/dp".to_owned(), 152_000.0)],
        curve: vec![(1e-5, 100_000.0), (3e-5, 152_000.0), (1e-4, 160_000.0)],
        remarks: vec!["like all of model-b".to_owned()],
    });
    mechanic.observations.push(Observation {
        path: "opened/medium".to_owned(),
        label: "the medium".to_owned(),
        written: "folds of the Can of the second maker stuck together, lot B-1180".to_owned(),
        photograph: false,
    });
    mechanic.observations.push(Observation {
        path: "opened/photograph".to_owned(),
        label: "photograph".to_owned(),
        written: "R13-a.jpg 1234abcd".to_owned(),
        photograph: true,
    });
    runs[3].set_aside = Some("run repeated: the hose of model-c's adaptor leaked (RL, 2026-10-06)".to_owned());
    runs[4].course = Course::BrokenOff;
    runs[5].course = Course::NotBegun;
    runs[2].left_out.push(LeftOut {
        reading: "warm-sweep/rising/28-l-min/dp".to_owned(),
        written: "1.2".to_owned(),
        code: "A103".to_owned(),
        why: "the value is outside `its window`".to_owned(),
    });
    let warm = [("M3", known(12_400.0, 300.0)), ("P9", known(9_000.0, 300.0)), ("W2", known(10_000.0, 300.0))];
    let held = [
        ("K7", known(14.6e-3, 6e-5)),
        ("M3", known(12.7e-3, 6e-5)),
        ("P9", Outcome::unsaid("a dose is missing")),
        ("R4", Outcome::AtLeast { bound: 9.94e-3, why: "the terminal rise was not reached".to_owned() }),
    ];
    let drift = Drift {
        measurand: "restriction/warm-sweep".to_owned(),
        specimen: "W2".to_owned(),
        runs: vec![("R01".to_owned(), 0, known(10_000.0, 300.0)), ("R07".to_owned(), 6, known(10_050.0, 300.0))],
        change: known(0.005, 0.03),
        seen: false,
        words: "The change is within its doubt.".to_owned(),
    };
    let results = Results {
        runs,
        measurands: vec![
            measurand("restriction/warm-sweep", "The filter, warm", "kPa", Better::Low, &warm),
            measurand("loading/capacity", "Dust given until the rise", "g", Better::High, &held),
        ],
        drifts: vec![drift],
        claims: vec![ClaimCheck {
            model: "model-d".to_owned(),
            claim: "filters finely".to_owned(),
            specimens: vec!["R4".to_owned()],
            verdict: Met::CannotBeSaid,
            words: "A promise without a number.".to_owned(),
            each: Vec::new(),
            rests_on: Vec::new(),
        }],
        answers: vec![Answer {
            question: plan.campaign.questions[0].clone(),
            sentences: vec!["P9, the Can of the third maker at 22.00 EUR, costs least: 9.0 kPa.".to_owned()],
            limits: vec!["Cold oil was not tested.".to_owned()],
            rests_on: vec!["restriction/warm-sweep".to_owned()],
        }],
        score: None,
        per_unit: vec![PerUnit {
            measurand: "loading/capacity".to_owned(),
            per: "price".to_owned(),
            unit: "g per EUR".to_owned(),
            entries: vec![("K7".to_owned(), known(0.98, 0.01)), ("M3".to_owned(), known(1.35, 0.01))],
        }],
    };
    let files = vec![InputFile { name: "records/R01.csv".to_owned(), what: "record", hash: "ab".repeat(32) }];
    Kit { plan, sources, results, standings: vec![answered()], key: None, files }
}

fn finding(code: Code, severity: Severity, message: &str) -> Standing {
    let finding = Diagnostic::new(code, message).severity(severity);
    Standing { finding, run: "R03".to_owned(), reading: String::new(), answer: None }
}

/// A major finding with its answer.
fn answered() -> Standing {
    let text = "code,run,reading,found,answer,by,when,why\nA103,R03,,outside,explained,RL,2026-10-07,the knob of model-e slipped\n";
    let (answers, _) = evidence::answers(SourceId(0), text);
    let answer: Option<evidence::Answer> = answers.into_iter().next();
    assert!(answer.is_some());
    Standing {
        answer,
        ..finding(Code::from_id("A103").unwrap(), Severity::Major, "run R03: `flow` is outside its window")
    }
}

/// A critical finding that nobody answered.
pub(super) fn open() -> Standing {
    finding(
        Code::from_id("A113").unwrap(),
        Severity::Critical,
        "run R03: 116.1 °C is beyond the limit of `main-relief`",
    )
}
