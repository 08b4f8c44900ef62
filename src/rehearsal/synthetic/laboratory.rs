//! A made-up file of a laboratory: what it would report of the bottles that made-up records say were drawn.

use csv::WriterBuilder;

use super::Character;
use super::bench::lasting;
use super::chance::Chance;
use crate::foresight::{Drawn, bottles};
use crate::plan::accuracy_half_width;
use crate::plan::{Counts, Holds, LabTest, Laboratory, Measures, Plan, ResultsFile, Run, Test, Wants, bottle_labels};
use crate::record::{Column, DecimalMark, Instant, Record, Value, plain};
use crate::trade::cleanliness::iso4406::Code;
use crate::trade::counting::Concentration;

/// Scatter of a laboratory from bottle to bottle, as a share. From memory.
const SCATTER: f64 = 0.05;
/// s that a bottle is filled before or after the time that is written down. From memory.
const MOMENT: f64 = 3.0;

/// The file of a campaign's laboratory, laid out as the plan says, as CSV text that says that it is invented. Every bottle that
/// the records say was drawn has a row: the counts that the doses lead to, a clean background on top, the chance of counting
/// and the laboratory's scatter. Its specimens are those of [`Character::typical`]. The same plan, records and seed give the
/// same text; empty where the plan has no layout.
pub fn laboratory_csv(plan: &Plan, records: &[Record], seed: u64) -> String {
    laboratory_csv_of(plan, records, seed, &|run| Character::typical(plan, run, seed))
}

/// The same of specimens whose nature is given by run.
///
/// What is in a bottle is what physics puts there: each size class decays in the tank by its own share caught,
/// n(t) = n₀ exp(−E Q t/V), from the moment when the flow is sent through the specimen to that at which the bottle is drawn, and
/// behind the specimen a share 1 − E of it arrives. The classes' shares are those by which, of what is in the tank at first,
/// [`Character::captures`] is caught from each size up.
pub fn laboratory_csv_of(plan: &Plan, records: &[Record], seed: u64, nature: &dyn Fn(&Run) -> Character) -> String {
    let found = plan.laboratories.values().find_map(|laboratory| {
        let test = laboratory.tests.values().find(|test| !test.sizes.is_empty())?;
        Some((laboratory, laboratory.results.as_ref()?, test))
    });
    let Some((laboratory, layout, test)) = found else { return String::new() };
    let mut rows = vec![layout.columns.iter().map(|column| column.heading.clone()).collect::<Vec<_>>()];
    if layout.unit_row {
        let unit = |holds: &Holds| match holds {
            Holds::CountAt(_) if counts(layout, test).basis.contains("100") => "1/100 mL",
            Holds::CountAt(_) => "1/mL",
            Holds::Gravimetric => "mg/L",
            Holds::CountedVolume => "mL",
            _ => "",
        };
        rows.push(layout.columns.iter().map(|column| unit(&column.holds).to_owned()).collect());
    }
    for run in &plan.runs {
        let Some(of) = plan.test_of(run) else { continue };
        let labels = bottle_labels(run, of);
        let character = nature(run);
        // One bottle's truth is its twin's too.
        for drawn in bottles(plan, run) {
            let Some(label) = labels.get(&drawn.reading.path) else { continue };
            let Some(time) = drawn_at(records, &run.code, &drawn.reading.path) else { continue };
            if drawn.bottle.tests.is_empty() {
                continue;
            }
            let mut chance = Chance::new(seed, &format!("laboratory {label}"));
            // Both bottles of a pair come from one dose.
            let mut dose = Chance::new(seed, &format!("dose {} {:?} {}", run.code, drawn.step.round, drawn.step.stage));
            let shed = (0.06 * dose.scatter()).exp();
            let turnovers = Moment { plan, test: of, run, records, seed }.turnovers(&drawn, time, &mut chance);
            let truth = truth(&drawn, turnovers, test, shed, &character, &mut chance);
            let mut names = vec![label.clone()];
            if drawn.bottle.twin {
                names.push(format!("{label}T"));
            }
            for name in names {
                let sample = Sample::counted(&drawn, test, &truth, &mut chance);
                rows.push(sample.row(&name, time, (laboratory, layout, test), &drawn, &mut chance));
            }
        }
    }
    if let Some(prefix) = &layout.blanks {
        let blank = |holds: &Holds| match holds {
            Holds::Label => format!("{prefix}-1"),
            Holds::CountAt(size) => {
                let scale = if counts(layout, test).basis.contains("100") { 100.0 } else { 1.0 };
                plain(scale * 0.3 * (10e-6 / size.si()).powi(2), 2)
            }
            Holds::Method => layout.method.clone().unwrap_or_default(),
            _ => String::new(),
        };
        rows.push(layout.columns.iter().map(|column| mark(&blank(&column.holds), layout)).collect());
    }
    let separator = u8::try_from(layout.separator).unwrap_or(b',');
    let mut writer = WriterBuilder::new().delimiter(separator).flexible(true).from_writer(Vec::new());
    // Writing to memory does not fail; were it to, the file would end early rather than be wrong.
    let mut written = writer
        .write_record([format!("Invented results, made by a rehearsal from seed {seed}. Nothing here was measured.")])
        .is_ok();
    for row in rows {
        written = written && writer.write_record(row).is_ok();
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn counts(layout: &ResultsFile, test: &LabTest) -> Counts {
    layout.counts.clone().or_else(|| test.counts.clone()).unwrap_or(Counts {
        cumulative: true,
        basis: "per mL".to_owned(),
        dilution_applied: Some(true),
    })
}

/// When a bottle was drawn or something done, where the records say so.
fn drawn_at(records: &[Record], run: &str, path: &str) -> Option<Instant> {
    let mut rows = records.iter().flat_map(|record| &record.rows).rev();
    let row = rows.find(|row| row.text(Column::Run) == run && row.text(Column::Reading) == path)?;
    row.time().filter(|_| !row.text(Column::Value).is_empty())
}

/// What was written for a reading.
fn row<'a>(records: &'a [Record], run: &str, path: &str) -> Option<&'a str> {
    let mut rows = records.iter().flat_map(|record| &record.rows).rev();
    let row = rows.find(|row| row.text(Column::Run) == run && row.text(Column::Reading) == path)?;
    Some(row.text(Column::Value)).filter(|text| !text.is_empty())
}

/// When a bottle was really drawn.
struct Moment<'a> {
    plan: &'a Plan,
    test: &'a Test,
    run: &'a Run,
    records: &'a [Record],
    seed: u64,
}

impl Moment<'_> {
    /// How often the tank went through the specimen between the beginning of the pass and the bottle; 0 where it did not.
    fn turnovers(&self, drawn: &Drawn<'_>, time: Instant, chance: &mut Chance) -> f64 {
        let off = chance.between(-MOMENT, MOMENT);
        let Some((pass, oil)) = drawn.pass.as_ref().zip(drawn.oil) else { return 0.0 };
        let began = pass.step.readings.iter().rev().find_map(|r| drawn_at(self.records, &self.run.code, &r.path));
        let Some((began, flow)) = began.zip(self.flow(drawn)) else { return 0.0 };
        // The circuit holds a little more or less than was measured, in every run alike.
        let share = Chance::new(self.seed, "volume of the circuit").between(-1.0, 1.0);
        let middle = f64::midpoint(oil.low, oil.high);
        let volume = middle + share * (oil.high - middle);
        let passed = (time.seconds - began.seconds) as f64 + off;
        if volume > 0.0 { (flow * passed / volume).max(0.0) } else { 0.0 }
    }

    /// The flow that was set and read last before, less what the meter is off.
    fn flow(&self, drawn: &Drawn<'_>) -> Option<f64> {
        let steps = self.test.steps.iter().take_while(|step| step.number < drawn.step.number);
        let readings = steps.flat_map(|step| &step.readings).collect::<Vec<_>>().into_iter().rev();
        let read = readings.filter_map(|reading| match &reading.wants {
            Wants::Number(numeric) if numeric.measures == Measures::Flow => {
                let row = row(self.records, &self.run.code, &reading.path)?;
                let Value::Number(number) = Value::parse(row, DecimalMark::Point) else { return None };
                Some((numeric, numeric.unit.to_si(number.value)))
            }
            _ => None,
        });
        let (numeric, shown) = read.into_iter().next().map_or((None, drawn.flow?), |(n, shown)| (Some(n), shown));
        let instrument = numeric.and_then(|n| self.plan.instruments.get(n.instrument.as_ref()?)).filter(|i| !i.is_role);
        let off = instrument.and_then(|i| Some(lasting(self.seed, &i.name) * accuracy_half_width(i, shown)?));
        Some(shown - off.filter(|off| off.is_finite()).unwrap_or(0.0)).filter(|flow| *flow > 0.0)
    }
}

/// Particles per mL from each size up that are really in the bottle.
fn truth(
    drawn: &Drawn<'_>,
    turnovers: f64,
    test: &LabTest,
    shed: f64,
    character: &Character,
    chance: &mut Chance,
) -> Vec<f64> {
    let ground = chance.between(40.0, 75.0);
    let sizes: Vec<f64> = test.sizes.iter().map(|size| size.si()).collect();
    let there = drawn.pass.as_ref().map_or(&drawn.expected, |pass| &pass.challenge);
    let at_first = |size: f64| {
        let expected = there.iter().find(|(at, _)| (at / size - 1.0).abs() < 1e-6).and_then(|(_, span)| *span);
        let dust = expected.filter(|_| drawn.dusty).map_or(0.0, |span| (span.low.max(0.0) * span.high).sqrt());
        dust * 1e-6 * shed
    };
    let mut dust = vec![0.0; sizes.len()];
    let mut above = 0.0;
    for (place, size) in sizes.iter().enumerate().rev() {
        let first = at_first(*size);
        let next = sizes.get(place + 1).map(|next| (at_first(*next), character.captures(*next)));
        let (next, next_share) = next.unwrap_or((0.0, 1.0));
        let class = (first - next).max(0.0);
        let passed = first * (1.0 - character.captures(*size)) - next * (1.0 - next_share);
        let let_through = if class > 0.0 && drawn.mounted { (passed / class).clamp(0.0, 1.0) } else { 1.0 };
        let left = class * (-(1.0 - let_through) * turnovers).exp();
        above += if drawn.behind { left * let_through } else { left };
        if let Some(slot) = dust.get_mut(place) {
            *slot = above;
        }
    }
    sizes.iter().zip(dust).map(|(size, dust)| ground * (4e-6 / size).powi(3) + dust).collect()
}

/// One bottle, counted.
struct Sample {
    /// Particles seen from each size up.
    raw: Vec<u64>,
    dilution: f64,
    /// mL.
    volume: f64,
}

impl Sample {
    fn counted(drawn: &Drawn<'_>, test: &LabTest, truth: &[f64], chance: &mut Chance) -> Sample {
        let dilution = f64::from(drawn.bottle.dilution.unwrap_or(1).max(1));
        let volume = test.counted_volume.as_ref().map_or(30.0, |(each, times)| each.si() * 1e6 * f64::from(*times));
        let hand = (SCATTER * chance.scatter()).exp();
        let mut raw = vec![0; truth.len()];
        let mut above = 0;
        for (place, count) in truth.iter().enumerate().rev() {
            let next = truth.get(place + 1).copied().unwrap_or(0.0);
            above += chance.counted((count - next).max(0.0) * hand * volume / dilution);
            if let Some(slot) = raw.get_mut(place) {
                *slot = above;
            }
        }
        Sample { raw, dilution, volume }
    }

    fn row(
        &self,
        label: &str,
        drawn_at: Instant,
        (laboratory, layout, test): (&Laboratory, &ResultsFile, &LabTest),
        drawn: &Drawn<'_>,
        chance: &mut Chance,
    ) -> Vec<String> {
        let counts = counts(layout, test);
        let days = |seconds: f64| Instant { seconds: drawn_at.seconds + seconds as i64, grain: 1 };
        let ships = laboratory.ships_within.as_ref().map_or(86_400.0, |time| time.si());
        let received = days(0.6 * ships * chance.between(0.6, 1.0));
        let counted = Instant { seconds: received.seconds + 2 * 86_400, grain: 1 };
        let text = |holds: &Holds| match holds {
            Holds::Label => label.to_owned(),
            Holds::Code => self.code(test),
            Holds::CountAt(size) => self.printed(size.si(), test, &counts),
            Holds::CountedVolume => plain(self.volume, 0),
            Holds::Dilution => plain(self.dilution, 0),
            Holds::CountedOn => date(counted, layout.dates.as_deref()),
            Holds::ReceivedOn => date(received, layout.dates.as_deref()),
            Holds::Seal => "unbroken".to_owned(),
            Holds::Report => "invented-1".to_owned(),
            Holds::Method => layout.method.clone().unwrap_or_else(|| "invented".to_owned()),
            Holds::Calibration => test.calibrated_to.clone().unwrap_or_default(),
            Holds::Gravimetric => self.mass(test, drawn),
            Holds::Size | Holds::Count | Holds::Remarks => String::new(),
        };
        layout.columns.iter().map(|column| mark(&text(&column.holds), layout)).collect()
    }

    /// 1/mL of the bottle's oil, from the nth size up.
    fn concentration(&self, place: usize) -> f64 {
        self.raw.get(place).map_or(0.0, |raw| *raw as f64 * self.dilution / self.volume)
    }

    fn place(&self, size: f64, test: &LabTest) -> Option<usize> {
        test.sizes.iter().position(|counted| (counted.si() / size - 1.0).abs() < 1e-6)
    }

    fn printed(&self, size: f64, test: &LabTest, counts: &Counts) -> String {
        let Some(place) = self.place(size, test) else { return String::new() };
        let mut count = self.concentration(place);
        if !counts.cumulative {
            count -= self.concentration(place + 1);
        }
        if counts.basis.contains("100") {
            count *= 100.0;
        }
        if counts.dilution_applied == Some(false) {
            count /= self.dilution;
        }
        plain(
            count,
            if count >= 1000.0 {
                0
            } else if count >= 10.0 {
                1
            } else {
                2
            },
        )
    }

    fn code(&self, test: &LabTest) -> String {
        let at = |size: f64| {
            let place = self.place(size, test)?;
            Some((Concentration::per_millilitre(self.concentration(place)).ok()?, *self.raw.get(place)?))
        };
        match (at(4e-6), at(6e-6), at(14e-6)) {
            (Some(four), Some(six), Some(fourteen)) => Code::automatic([four, six, fourteen]).to_string(),
            _ => String::new(),
        }
    }

    /// mg/L of dust that would give the count at 6 µm.
    fn mass(&self, test: &LabTest, drawn: &Drawn<'_>) -> String {
        let per_mass =
            drawn.per_mass.iter().find(|(size, _)| (size / 6e-6 - 1.0).abs() < 0.01).map(|(_, number)| *number);
        let count = self.place(6e-6, test).map(|place| self.concentration(place));
        match (per_mass.filter(|_| drawn.dusty && !drawn.behind), count) {
            (Some(per_mass), Some(count)) if per_mass > 0.0 => plain(count * 1e6 / per_mass * 1e3, 2),
            _ => String::new(),
        }
    }
}

impl Chance {
    /// A Poisson number with this mean.
    fn counted(&mut self, mean: f64) -> u64 {
        if mean > 200.0 {
            return (mean + mean.sqrt() * self.scatter()).round().max(0.0) as u64;
        }
        let (limit, mut product, mut count) = ((-mean).exp(), self.unit(), 0);
        while product > limit {
            product *= self.unit();
            count += 1;
        }
        count
    }
}

/// Numbers with the file's decimal mark.
fn mark(text: &str, layout: &ResultsFile) -> String {
    let number = text.parse::<f64>().is_ok();
    if layout.decimal_comma && number {
        text.replace('.', &DecimalMark::Comma.character().to_string())
    } else {
        text.to_owned()
    }
}

fn date(instant: Instant, pattern: Option<&str>) -> String {
    let iso = instant.date();
    let mut parts = iso.split('-');
    let (year, month, day) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
    match pattern {
        Some(pattern) => pattern.replace("YYYY", year).replace("MM", month).replace("DD", day),
        None => iso,
    }
}
