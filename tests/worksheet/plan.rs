//! A plan built by hand, large enough to fill pages: two tests, blind specimens, a loop of many doses.

use indexmap::IndexMap;
use loopleaf::plan::*;
use loopleaf::quantity::{Quantity, Unit, Window};
use loopleaf::source::{SourceId, Span};

fn q(text: &str) -> Quantity {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let unit = if unit.is_empty() { Unit::none() } else { Unit::parse(unit).unwrap() };
    Quantity::new(number, unit).unwrap()
}

fn origin() -> Origin {
    Origin { source: SourceId(0), span: Span::new(0, 0) }
}

fn marked<T>(value: T) -> Marked<T> {
    Marked { value, mark: Mark::FromMemory, origin: origin() }
}

fn bounds(low: &str, high: &str) -> Bounds {
    let (low, high) = (q(low), q(high));
    Bounds { window: Window::between(low.si(), high.si()), low: Some(low), high: Some(high) }
}

fn instrument(
    name: &str,
    title: &str,
    measures: Measures,
    range: (&str, &str),
    resolution: &str,
    place: &str,
) -> Instrument {
    let resolution = q(resolution);
    Instrument {
        name: name.into(),
        title: title.into(),
        measures,
        range: bounds(range.0, range.1),
        decimals: resolution.decimals(),
        unit: resolution.unit.clone(),
        accuracy: Accuracy::WorstOf(vec![Accuracy::OfSpan(0.0025), Accuracy::Absolute(resolution.clone())]),
        resolution,
        calibration: Some(Calibration { on: "2026-06-02".into(), valid_until: "2027-06-02".into(), certificate: None }),
        calibration_written: true,
        indicator_only: None,
        place: Some(place.into()),
        tap_height: None,
        viscosity_range: None,
        largest_load: None,
        serial: Some("invented 0417".into()),
        is_role: false,
        origin: origin(),
    }
}

fn part(name: &str, title: &str) -> Part {
    Part {
        name: name.into(),
        title: title.into(),
        rating: Some(q("1000 kPa")),
        at_most: None,
        burst: None,
        volume: None,
        line: None,
        origin: origin(),
    }
}

/// Puts steps together: numbers, paths, stages.
struct Unfold {
    stages: Vec<Stage>,
    steps: Vec<Step>,
    round: Option<(usize, u32)>,
}

impl Unfold {
    fn stage(&mut self, name: &str, title: &str, fluid: &str) {
        let at = self.steps.len();
        self.stages.push(Stage {
            name: name.into(),
            title: title.into(),
            fluid: Some(fluid.into()),
            tare: None,
            tare_for: None,
            blank: None,
            logs: Vec::new(),
            first_step: at,
            end_step: at,
            origin: origin(),
        });
    }

    fn step(&mut self, name: &str, action: Action, wants: Vec<(&str, &str, Wants)>, hazards: &[Hazard]) {
        let stage = self.stages.len() - 1;
        let head = self.stages[stage].name.clone();
        let path = match self.round {
            Some((_, round)) => format!("{head}/batch/{round}/{name}"),
            None => format!("{head}/{name}"),
        };
        let readings = wants
            .into_iter()
            .map(|(part, label, wants)| Reading {
                path: if part.is_empty() { path.clone() } else { format!("{path}/{part}") },
                name: if part.is_empty() { name.rsplit('/').next().unwrap().into() } else { part.into() },
                label: label.into(),
                wants,
                origin: origin(),
            })
            .collect();
        self.steps.push(Step {
            number: u32::try_from(self.steps.len()).unwrap() + 1,
            path,
            stage,
            action,
            readings,
            round: self.round,
            hazards: hazards.to_vec(),
            origin: origin(),
        });
        self.stages[stage].end_step = self.steps.len();
    }
}

fn number(measures: Measures, instrument: &str, unit: &str, decimals: usize) -> Numeric {
    Numeric {
        measures,
        instrument: Some(instrument.into()),
        unit: Unit::parse(unit).unwrap(),
        decimals,
        window: None,
        target: None,
        expect: None,
        stop: None,
        baseline: None,
        role: None,
    }
}

fn setting(target: &str, half: f64) -> Setting {
    let target = q(target);
    let centre = target.si();
    Setting { window: Window::around(centre, half * target.unit.to_si_difference(1.0)), target: Some(target) }
}

fn flow_box(setting: &Setting) -> Wants {
    Wants::Number(Numeric {
        window: Some(setting.window),
        target: setting.target.clone(),
        ..number(Measures::Flow, "turbine", "L/min", 1)
    })
}

fn dp_box() -> Wants {
    let expect = Window::between(5000.0, 90_000.0);
    let stop = Window::at_most(250_000.0);
    Wants::Number(Numeric {
        expect: Some(expect),
        stop: Some(stop),
        ..number(Measures::DifferentialPressure, "dp-high", "kPa", 1)
    })
}

fn temperature_box(window: Window) -> Wants {
    Wants::Number(Numeric { window: Some(window), ..number(Measures::Temperature, "inlet-probe", "°C", 1) })
}

fn dwell(least: &str) -> Dwell {
    Dwell { least: q(least), most: None, until: None }
}

fn bottle(tests: &str) -> Wants {
    Wants::Bottle(Bottle {
        sampler: "downstream".into(),
        volume: q("120 mL"),
        material: None,
        flush: Some(q("250 mL")),
        flush_ends: None,
        cleaner_than: Some((q("10 per mL"), q("10 µm(c)"))),
        tests: vec![tests.into()],
        dilution: Some(10),
        delay: None,
        second_bottle: false,
        twin: true,
        paired_with: None,
    })
}

fn restriction() -> Test {
    let mut u = Unfold { stages: Vec::new(), steps: Vec::new(), round: None };
    let hot = [Hazard::HotOil, Hazard::Pressure];
    u.stage("warm-sweep", "Restriction, warm-engine viscosity", "vg-32");
    let route = Action::TakeRoute {
        route: "through-specimen".into(),
        opens: vec!["inlet-valve".into(), "outlet-valve".into()],
        closes: vec!["bypass-valve".into(), "polisher-valve".into()],
    };
    u.step("route", route, vec![("", "valves as drawn", Wants::Tick)], &[]);
    u.step("note", Action::Note { text: "Use the same adaptor for all specimens".into() }, vec![], &[]);
    u.step("caution", Action::Caution { text: "The can is hot".into() }, vec![], &hot);
    u.step("start", Action::Switch { what: "pump".into(), on: true }, vec![], &[Hazard::Pressure]);
    u.step("circulate", Action::Circulate(dwell("10 min")), vec![], &[]);
    let temperatures = Window::between(346.03, 348.27);
    let hold = ViscosityHold {
        fluid: "vg-32".into(),
        target: 10e-6,
        window: Window::between(9.5e-6, 10.5e-6),
        said: "10.0 mm²/s within 5 %, like multigrade-30 at 95 °C".into(),
        temperature: 347.15,
        temperatures,
        unit: Unit::parse("°C").unwrap(),
    };
    u.step(
        "hold-viscosity",
        Action::HoldViscosity(hold),
        vec![("", "oil temperature", temperature_box(temperatures))],
        &hot,
    );
    let zero = Wants::Number(Numeric {
        window: Some(Window::around(0.0, 200.0)),
        ..number(Measures::DifferentialPressure, "dp-low", "kPa", 2)
    });
    u.step(
        "zero",
        Action::Zero { instrument: "dp-low".into(), within: q("0.2 kPa") },
        vec![("", "zero of dp-low", zero)],
        &[],
    );
    u.step(
        "relief",
        Action::HoldPoint { text: "A second person has seen the relief setting".into() },
        vec![("", "relief setting seen", Wants::Tick)],
        &[],
    );
    for (at, flow) in ["10.0 L/min", "20.0 L/min", "30.0 L/min", "40.0 L/min", "50.0 L/min"].iter().enumerate() {
        let set = setting(flow, 0.02 * q(flow).value);
        let name = format!("{}-l-min", [10, 20, 30, 40, 50][at]);
        u.step(
            &format!("{name}/flow"),
            Action::SetFlow { setting: set.clone(), rising: true },
            vec![("", "flow", flow_box(&set))],
            &hot,
        );
        let settle = Dwell {
            least: q("60 s"),
            most: Some(q("10 min")),
            until: Some(Drift { reading: "dp".into(), less_than: q("1 %"), within: q("30 s") }),
        };
        u.step(&format!("{name}/settle"), Action::Settle(settle), vec![], &hot);
        u.step(&format!("{name}/dp"), Action::Read, vec![("", "differential pressure", dp_box())], &hot);
    }
    u.step("vent", Action::Vent, vec![("", "gauge at zero", Wants::Tick)], &[Hazard::Pressure]);
    u.stage("teardown", "What the can looks like inside", "vg-32");
    u.step(
        "teardown",
        Action::Observe,
        vec![
            ("leak", "leak at the seam", Wants::Choice(vec!["none".into(), "weeping".into(), "dripping".into()])),
            ("pleats", "number of pleats", Wants::Count),
            ("seam", "the end seam", Wants::Text),
            ("picture", "pleats, clean side, with scale", Wants::Photograph),
        ],
        &[Hazard::Cutting],
    );
    test("restriction", "Restriction at two viscosities", u, Vec::new())
}

/// The loading test, with so many rounds.
fn loading(cap: u32) -> Test {
    let mut u = Unfold { stages: Vec::new(), steps: Vec::new(), round: None };
    let hot = [Hazard::HotOil, Hazard::Pressure, Hazard::Dust];
    u.stage("loading", "Dust to terminal rise", "vg-32");
    let set = setting("40.0 L/min", 0.8);
    u.step("hold-flow", Action::HoldFlow(set.clone()), vec![("", "flow", flow_box(&set))], &hot);
    u.step("clean-dp", Action::Read, vec![("", "clean differential pressure", dp_box())], &hot);
    u.step("before-dust", Action::Sample, vec![("", "before dust", bottle("particle-count"))], &hot);
    for round in 1..=cap {
        u.round = Some((0, round));
        let mass = setting("0.800 g", 0.010);
        let weighed = Wants::Number(Numeric {
            window: Some(mass.window),
            target: mass.target.clone(),
            ..number(Measures::Mass, "balance", "g", 3)
        });
        let preparation = Preparation {
            dry: true,
            tumble: Some(q("2 min")),
            shake: Some(q("30 s")),
            ultrasonic: Some((q("60 s"), Some(q("50 °C")))),
            stir: Some("until injected".into()),
            inject: Some((setting("200 mL/min", 20.0), None)),
            rinse: Some((2, q("50 mL"))),
            weigh_empty_boat: true,
        };
        let dose = Action::Dose {
            mass,
            dust: "medium".into(),
            carrier: q("400 mL"),
            carrier_fluid: "vg-32".into(),
            preparation,
        };
        let boat = || Wants::Number(number(Measures::Mass, "balance", "g", 3));
        u.step(
            "dose",
            dose,
            vec![("boat", "boat before", boat()), ("gross", "boat with dust", boat()), ("net", "dust, net", weighed)],
            &[Hazard::Dust],
        );
        let feed = setting("200 mL/min", 20.0);
        let injected = Wants::Number(Numeric {
            window: Some(feed.window),
            target: feed.target.clone(),
            ..number(Measures::Flow, "feed-meter", "mL/min", 0)
        });
        u.step("inject", Action::Inject { flow: feed, feed: None }, vec![("", "injection flow", injected)], &hot);
        u.step("wait", Action::Wait(dwell("4 min")), vec![], &hot);
        u.step("dp", Action::Read, vec![("", "differential pressure", dp_box())], &hot);
        u.step("flow", Action::Read, vec![("", "flow", flow_box(&set))], &hot);
        u.step(
            "temperature",
            Action::Read,
            vec![("", "oil temperature", temperature_box(Window::between(346.03, 348.27)))],
            &hot,
        );
        if round % 5 == 0 {
            u.step("downstream", Action::Sample, vec![("", "downstream", bottle("particle-count"))], &hot);
        }
    }
    u.round = None;
    u.step("stop", Action::Switch { what: "pump".into(), on: false }, vec![], &[]);
    let batch = Batch {
        path: "loading/batch".into(),
        cap,
        reading: "dp".into(),
        across_element: false,
        terminal: q("70 kPa"),
        baseline: Some("clean-dp".into()),
        overshoot: Some(0.05),
        mass_cap: Some(q("40 g")),
        time_cap: None,
        origin: origin(),
    };
    test("loading", "Dust to terminal rise", u, vec![batch])
}

fn test(name: &str, title: &str, u: Unfold, batches: Vec<Batch>) -> Test {
    let mut hazards: Vec<Hazard> = u.steps.iter().flat_map(|step| step.hazards.clone()).collect();
    hazards.sort_unstable();
    hazards.dedup();
    Test {
        name: name.into(),
        title: title.into(),
        protocol: ProtocolHead {
            name: format!("{name}-protocol"),
            title: format!("{title}, protocol"),
            revision: 3,
            purpose:
                "Rank five spin-on filters by restriction, capture and dust capacity at the flow the engine needs."
                    .into(),
            leans_on: vec![Leaning {
                standard: "ISO 4548-12".into(),
                departures: vec![
                    (
                        "Dust enters in batches, not continuously.".into(),
                        Some("fine sizes see the filter several times".into()),
                    ),
                    ("Counts come from bottle samples, not from in-line counters.".into(), None),
                ],
                origin: origin(),
            }],
        },
        parameters: vec![("rated-flow".into(), "40 L/min".into()), ("terminal-rise".into(), "70 kPa".into())],
        limits: Limits {
            fluid_temperature: Some(q("95 °C")),
            line_pressure: Some(q("600 kPa gauge")),
            differential_pressure: Some(q("250 kPa")),
            reservoir_volume: Some(q("12 L")),
            said: Vec::new(),
            stop_if: vec!["anyone is unsure".into(), "smoke, or the smell of solvent".into(), "a leak".into()],
        },
        protection: vec![
            ("closed eye protection".into(), Hazard::Always),
            ("heat- and oil-proof gloves".into(), Hazard::HotOil),
        ],
        dosing: Some("recirculating batches".into()),
        reject_if: Vec::new(),
        on: None,
        order: Order::AsListed,
        stages: u.stages,
        steps: u.steps,
        batches,
        hazards,
        origin: origin(),
        asked: None,
    }
}

fn model(name: &str, title: &str) -> (String, Model) {
    let model = Model {
        name: name.into(),
        title: title.into(),
        price: None,
        rated_flow: None,
        bypass_opens: None,
        collapse: None,
        housing_rating: None,
        medium: None,
        media_area: None,
        can_volume: None,
        thread: None,
        claims: Vec::new(),
        expects: Expects::default(),
        origin: origin(),
    };
    (name.into(), model)
}

fn specimen(code: &str, model: &str) -> (String, Specimen) {
    let specimen = Specimen {
        code: code.into(),
        model: Some(model.into()),
        lot: Some("L-0417".into()),
        bought: Some("2026-08-02, chandler".into()),
        reference: false,
        origin: origin(),
    };
    (code.into(), specimen)
}

fn rig() -> Rig {
    let valves = ["inlet-valve", "outlet-valve", "bypass-valve", "polisher-valve"];
    Rig {
        name: "workshop".into(),
        title: "Lube bench".into(),
        revision: 6,
        reservoir: part("tank", "Tank"),
        reservoir_holds: bounds("12 L", "30 L"),
        reservoir_wall: None,
        pump: part("main-pump", "Pump"),
        pump_delivers: bounds("5 L/min", "60 L/min"),
        pump_delivers_at: origin(),
        pump_slip: None,
        pump_drive: None,
        heater: None,
        relief: Relief {
            name: "main-relief".into(),
            set: q("600 kPa gauge"),
            proved_on: Some("2026-09-01".into()),
            proved_at: None,
            directly_after_pump: Some(true),
            origin: origin(),
        },
        parts: Vec::new(),
        valves: valves.iter().map(|name| ((*name).into(), part(name, "Ball valve"))).collect(),
        polisher: None,
        samplers: IndexMap::from([(
            "downstream".to_owned(),
            Sampler {
                name: "downstream".into(),
                title: "Sampling valve after the specimen".into(),
                sits: "downstream".into(),
                dead_volume: q("12 mL"),
                bore: None,
                origin: origin(),
            },
        )]),
        injector: None,
        routes: IndexMap::from([(
            "through-specimen".to_owned(),
            Route {
                name: "through-specimen".into(),
                title: "Reservoir, pump, specimen, reservoir".into(),
                opens: Vec::new(),
                closes: Vec::new(),
                through: Some("the specimen".into()),
                volume: None,
                origin: origin(),
            },
        )]),
        instruments: Vec::new(),
        seals: Vec::new(),
        hot_surfaces: Vec::new(),
        room_volume: None,
        solvent_work: None,
        origin: origin(),
    }
}

fn fluid() -> Fluid {
    Fluid {
        name: "vg-32".into(),
        title: "ISO VG 32 mineral oil".into(),
        kind: Some("mineral oil".into()),
        class: Some(marked("ISO VG 32".into())),
        viscosities: vec![marked(ViscosityPoint { viscosity: q("32.0 mm²/s"), si: 32e-6, temperature: q("40 °C") })],
        density: None,
        expansion: None,
        flash: Some(marked(FlashPoint { temperature: q("200 °C"), closed_cup: false })),
        pour: Some(marked(q("-12 °C"))),
        surface_tension: None,
        conductivity: None,
        cleanliness: None,
        seals: Vec::new(),
        additives: Vec::new(),
        hazards: vec!["hot oil".into()],
        supply: None,
        lot: Some("B-77".into()),
        price: None,
        origin: origin(),
    }
}

fn dust() -> Dust {
    Dust {
        name: "medium".into(),
        title: "Medium test dust".into(),
        grade: marked("ISO 12103-1 A3".into()),
        lot: Some("D-417".into()),
        certificate: Some("C-88".into()),
        density: None,
        drying: Some(marked(Drying {
            temperature: bounds("105 °C", "110 °C"),
            time: Some(q("2 h")),
            cooling: Some(q("30 min")),
        })),
        supply: Some(q("500 g")),
        price: None,
        hazards: vec!["silica".into()],
        sizes: None,
        origin: origin(),
    }
}

fn caution(name: &str, hazard: Hazard, text: &str) -> Caution {
    Caution { name: name.into(), hazard, text: text.into(), mark: Mark::CommonPractice }
}

/// The whole plan; the loading test has so many rounds.
pub(super) fn plan(cap: u32) -> Plan {
    let instruments = [
        instrument(
            "dp-low",
            "Differential pressure, low range",
            Measures::DifferentialPressure,
            ("-10 kPa", "10 kPa"),
            "0.01 kPa",
            "housing taps",
        ),
        instrument(
            "dp-high",
            "Differential pressure, high range",
            Measures::DifferentialPressure,
            ("0 kPa", "300 kPa"),
            "0.1 kPa",
            "housing taps",
        ),
        instrument("turbine", "Turbine meter", Measures::Flow, ("5 L/min", "60 L/min"), "0.1 L/min", "delivery line"),
        instrument("feed-meter", "Feed meter", Measures::Flow, ("50 mL/min", "400 mL/min"), "1 mL/min", "injector"),
        instrument(
            "inlet-probe",
            "Resistance probe",
            Measures::Temperature,
            ("0 °C", "120 °C"),
            "0.1 °C",
            "filter inlet",
        ),
        instrument("balance", "Balance", Measures::Mass, ("0 g", "620 g"), "0.001 g", "weighing room"),
    ];
    let runs = [(0, "K1"), (1, "K1"), (0, "K2"), (1, "K2")];
    Plan {
        campaign: Campaign {
            name: "ferry".into(),
            title: "Lube filters for the ferry's generator sets".into(),
            invented: Some("Every name and number here is made up.".into()),
            questions: vec!["Which filter restricts the warm engine least?".into()],
            asks: Vec::new(),
            starts: Some("2026-09-14".into()),
            ends: Some("2026-10-02".into()),
            people: IndexMap::from([(
                "AB".to_owned(),
                Person {
                    initials: "AB".into(),
                    name: "A. Brook (invented)".into(),
                    role: Some("operator".into()),
                    interests: Some("none".into()),
                    trained_on: Some("pressure work, silica dust".into()),
                    origin: origin(),
                },
            )]),
            models: IndexMap::from([
                model("model-a", "Secret can of the first maker"),
                model("model-b", "Secret can of the second maker"),
            ]),
            specimens: IndexMap::from([specimen("K1", "model-a"), specimen("K2", "model-b")]),
            blind: true,
            weights: Vec::new(),
            sent_every: None,
            bottles: Vec::new(),
            tell_apart: None,
            places: CampaignPlaces::default(),
            loggers: Vec::new(),
            origin: origin(),
        },
        rig: rig(),
        shelf: Vec::new(),
        fluids: IndexMap::from([("vg-32".to_owned(), fluid())]),
        dusts: IndexMap::from([("medium".to_owned(), dust())]),
        instruments: instruments.into_iter().map(|instrument| (instrument.name.clone(), instrument)).collect(),
        laboratories: IndexMap::new(),
        tests: vec![restriction(), loading(cap)],
        runs: runs
            .into_iter()
            .enumerate()
            .map(|(at, (test, specimen))| Run {
                code: format!("R{:02}", at + 1),
                test,
                specimen: specimen.into(),
                replicate: 1,
            })
            .collect(),
        rules: Rules {
            packs: vec![("house".into(), "Rules of this bench".into())],
            windows: IndexMap::new(),
            thresholds: IndexMap::new(),
            cautions: vec![
                caution(
                    "hot-oil",
                    Hazard::HotOil,
                    "Oil above about 60 °C burns skin in seconds and clings. Long sleeves, heat- and oil-proof gloves, closed eye protection. Lids and guards on.",
                ),
                caution(
                    "pressure",
                    Hazard::Pressure,
                    "Stop the pump, lock it off, open the vent, see the gauge at zero, wait, then open. Look for leaks with card, not fingers.",
                ),
                caution(
                    "silica",
                    Hazard::Dust,
                    "Fine test dust is mostly quartz and can be breathed deep. Enclosure or local exhaust; wet the dust early; no dry sweeping.",
                ),
                caution("solvent", Hazard::Solvent, "Never heat a rig that may hold solvent."),
                caution("alone", Hazard::Always, "Nobody works alone on hot or pressure days"),
            ],
            emergency: vec![
                "Burns: cool water, no creams.".into(),
                "Oil jet under the skin: hospital now; say “oil injection”.".into(),
            ],
            protection: vec![("ear protection".into(), Hazard::Always), ("acid gloves".into(), Hazard::Solvent)],
            waste: vec![WasteRoute { what: "dust".into(), route: "the bag marked dust, closed wet".into() }],
            house: Vec::new(),
            stop_if: Vec::new(),
            reject_if: Vec::new(),
            on_change: Vec::new(),
        },
        waivers: vec![
            Waiver {
                code: "L423".into(),
                reason: "zero only".into(),
                scope: String::new(),
                covers: None,
                origin: origin(),
            },
            Waiver {
                code: "L500".into(),
                reason: "other test's business".into(),
                scope: "elsewhere".into(),
                covers: None,
                origin: origin(),
            },
        ],

        changed: Vec::new(),
        fingerprint: Fingerprint { full: "0".repeat(64), short: "9F3C-74QX".into() },
    }
}
