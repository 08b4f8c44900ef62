//! A made-up file of a laboratory: what it would report of the bottles that made-up records say were drawn.

use csv::WriterBuilder;

use super::Character;
use super::chance::Chance;
use super::tank::{Tank, drawn_at};
use crate::foresight::{Drawn, bottles};
use crate::plan::{Counts, Holds, LabTest, Laboratory, Plan, ResultsFile, Run, bottle_labels};
use crate::record::{DecimalMark, Instant, Record, plain};
use crate::trade::cleanliness::iso4406::Code;
use crate::trade::counting::Concentration;

/// Scatter of a laboratory from bottle to bottle, as a share. From memory.
const SCATTER: f64 = 0.05;

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
        let all = bottles(plan, run);
        let inside = Tank { plan, test: of, run, records, seed, character: &character }.bottles(&all, test);
        // One bottle's truth is its twin's too.
        for drawn in all {
            let Some(label) = labels.get(&drawn.reading.path) else { continue };
            let Some(time) = drawn_at(records, &run.code, &drawn.reading.path) else { continue };
            if drawn.bottle.tests.is_empty() {
                continue;
            }
            let mut chance = Chance::new(seed, &format!("laboratory {label}"));
            let ground = chance.between(40.0, 75.0);
            let dust = inside.get(drawn.reading.path.as_str());
            let truth: Vec<f64> = test
                .sizes
                .iter()
                .enumerate()
                .map(|(place, size)| {
                    let dust = dust.and_then(|dust| dust.get(place)).copied().unwrap_or(0.0);
                    ground * (4e-6 / size.si()).powi(3) + dust
                })
                .collect();
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
