//! The data package: its structure, its keys, its units, its silence while models are hidden; and, where a Python with the
//! readers is at hand (`LOOPLEAF_PYTHON`), what independent readers of the standard and an independent computation say of it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use loopleaf::audit;
use loopleaf::audit::evidence::{self, Standing, hash};
use loopleaf::package::{self, Given, InputFile, InputKind};
use loopleaf::record;
use loopleaf::record::laboratory;
use loopleaf::results::{self, Input, Results};
use loopleaf::source::SourceId;
use serde_json::Value;

use super::bench::{Bench, campaign, made_up, thinned};

const EXAMPLES: [&str; 2] = ["ferry-generator-sets", "snow-plough-returns"];

/// A campaign with everything that a package is made from.
struct Made {
    bench: Bench,
    standings: Vec<Standing>,
    results: Results,
    inputs: Vec<InputFile>,
}

impl Made {
    fn new(bench: Bench, inputs: Vec<InputFile>, answers: &str) -> Made {
        let mut findings = audit::run(&bench.plan, &bench.records);
        findings.extend(audit::laboratory(&bench.plan, &bench.records, &bench.laboratory));
        let (answers, _) = evidence::answers(SourceId(0), answers);
        let (standings, _) = evidence::standings(&bench.plan, &bench.records, findings, SourceId(0), &answers);
        let input =
            Input { plan: &bench.plan, records: &bench.records, laboratory: &bench.laboratory, standings: &standings };
        let results = results::results(&input);
        Made { bench, standings, results, inputs }
    }

    fn files(&self, models_open: bool) -> BTreeMap<String, Vec<u8>> {
        let given = Given {
            plan: &self.bench.plan,
            records: &self.bench.records,
            laboratory: &self.bench.laboratory,
            standings: &self.standings,
            results: &self.results,
            sources: &self.bench.sources,
            inputs: &self.inputs,
            models_open,
            licence: None,
            secrets: package::Secrets::of(&self.bench.plan),
        };
        package::files(&given).into_iter().collect()
    }
}

fn input(shown: &str, path: &str, kind: InputKind, bytes: &[u8]) -> InputFile {
    InputFile { shown: shown.to_owned(), path: path.to_owned(), kind, bytes: bytes.to_vec() }
}

/// An example as it is shipped, with its planted departures and their answers.
fn shipped(folder: &str) -> Made {
    shipped_but(folder, |text| text)
}

/// The same with the laboratory's files changed.
fn shipped_but(folder: &str, change: impl Fn(String) -> String) -> Made {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(folder);
    let (plan, sources) = campaign(folder);
    let mut bench = Bench { plan, sources, records: Vec::new(), laboratory: Vec::new(), truth: BTreeMap::new() };
    let (mut inputs, mut answers) = (plan_files(folder), String::new());
    for (inside, kind) in [("records", InputKind::Record), ("laboratory", InputKind::Laboratory)] {
        let mut paths: Vec<PathBuf> =
            std::fs::read_dir(root.join(inside)).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        for path in paths.into_iter().filter(|path| path.extension().is_some_and(|end| end == "csv")) {
            let name = format!("{inside}/{}", path.file_name().unwrap().to_str().unwrap());
            if name == "records/answers.csv" {
                answers = std::fs::read_to_string(&path).unwrap();
                inputs.push(input(&name, &name, InputKind::Answers, answers.as_bytes()));
                continue;
            }
            let mut bytes = std::fs::read(&path).unwrap();
            if kind == InputKind::Laboratory {
                bytes = change(String::from_utf8(bytes).unwrap()).into_bytes();
            }
            if kind == InputKind::Record {
                bench.records.extend(record::read::file(&name, &bytes, &mut bench.sources).value);
            } else {
                let laboratories = bench.plan.laboratories.values();
                bench.laboratory.extend(laboratory::file(&name, &bytes, laboratories, &mut bench.sources).value);
            }
            inputs.push(input(&name, &name, kind, &bytes));
        }
    }
    Made::new(bench, inputs, &answers)
}

fn plan_files(folder: &str) -> Vec<InputFile> {
    let (_, sources) = campaign(folder);
    sources
        .iter()
        .map(|(_, source)| {
            let path = format!("plan/{}", source.name.rsplit_once("examples/").map_or(&*source.name, |(_, name)| name));
            input(&source.name, &path, InputKind::Plan, source.text.as_bytes())
        })
        .collect()
}

/// A campaign whose every run conforms, made up from a seed.
fn conforming(folder: &str) -> Made {
    let bench = made_up(folder, 20_261_125, |_, character| character);
    Made::new(bench, plan_files(folder), "")
}

/// A table of the package: its schema, its heading, its rows.
struct Table {
    resource: Value,
    rows: Vec<BTreeMap<String, String>>,
}

fn tables(files: &BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Table> {
    let descriptor: Value = serde_json::from_slice(&files["datapackage.json"]).unwrap();
    let mut tables = BTreeMap::new();
    let mut described: BTreeSet<String> = BTreeSet::from(["datapackage.json".to_owned()]);
    for resource in descriptor["resources"].as_array().unwrap() {
        let path = resource["path"].as_str().unwrap();
        let bytes = files.get(path).unwrap_or_else(|| panic!("no file {path}"));
        assert_eq!(resource["hash"], format!("sha256:{}", hash(bytes)), "{path}");
        assert_eq!(resource["bytes"], bytes.len(), "{path}");
        assert!(described.insert(path.to_owned()), "{path} twice");
        if resource["type"] != "table" {
            continue;
        }
        let mut reader = csv::Reader::from_reader(&bytes[..]);
        let heading: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let fields = resource["schema"]["fields"].as_array().unwrap();
        let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
        assert_eq!(heading, names, "{path}");
        let rows = reader
            .records()
            .map(|row| heading.iter().cloned().zip(row.unwrap().iter().map(str::to_owned)).collect())
            .collect();
        tables.insert(resource["name"].as_str().unwrap().to_owned(), Table { resource: resource.clone(), rows });
    }
    assert_eq!(described, files.keys().cloned().collect(), "every file is described");
    tables
}

fn strings(value: &Value) -> Vec<&str> {
    value.as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect()
}

fn cells<'r>(row: &'r BTreeMap<String, String>, fields: &[&str]) -> Vec<&'r str> {
    fields.iter().map(|field| row[*field].as_str()).collect()
}

/// Types, constraints and keys hold.
fn holds_together(tables: &BTreeMap<String, Table>) {
    for (name, table) in tables {
        let schema = &table.resource["schema"];
        assert_eq!(table.resource["rows"], table.rows.len(), "{name}");
        for field in schema["fields"].as_array().unwrap() {
            let column = field["name"].as_str().unwrap();
            let constraints = &field["constraints"];
            assert!(!field["title"].as_str().unwrap().is_empty(), "{name}.{column} has no title");
            for row in &table.rows {
                let cell = row[column].as_str();
                if cell.is_empty() {
                    assert!(constraints["required"] != true, "{name}.{column} is empty in {row:?}");
                    continue;
                }
                let fits = match field["type"].as_str().unwrap() {
                    "integer" => cell.parse::<i64>().is_ok(),
                    "number" => cell.parse::<f64>().is_ok_and(f64::is_finite),
                    "boolean" => matches!(cell, "true" | "false"),
                    "date" => record::day_number(cell).is_some(),
                    "datetime" => record::Instant::parse(cell).is_some() && cell.contains('T'),
                    _ => true,
                };
                assert!(fits, "{name}.{column}: {cell}");
                if let Some(least) = constraints["minimum"].as_f64() {
                    assert!(cell.parse::<f64>().unwrap() >= least, "{name}.{column}: {cell}");
                }
                if let Some(most) = constraints["maximum"].as_f64() {
                    assert!(cell.parse::<f64>().unwrap() <= most, "{name}.{column}: {cell}");
                }
                if let Some(words) = constraints["enum"].as_array() {
                    assert!(words.iter().any(|word| word == cell), "{name}.{column}: {cell}");
                }
            }
        }
        let key = strings(&schema["primaryKey"]);
        let mut seen = BTreeSet::new();
        for row in &table.rows {
            assert!(seen.insert(cells(row, &key)), "{name}: {:?} twice", cells(row, &key));
        }
        for link in schema["foreignKeys"].as_array().into_iter().flatten() {
            let (from, to) = (strings(&link["fields"]), strings(&link["reference"]["fields"]));
            let there = link["reference"]["resource"].as_str().unwrap();
            let known: BTreeSet<Vec<&str>> = tables[there].rows.iter().map(|row| cells(row, &to)).collect();
            for row in &table.rows {
                let here = cells(row, &from);
                let empty = here.iter().all(|cell| cell.is_empty());
                assert!(empty || known.contains(&here), "{name} {from:?} {here:?} is not in {there} {to:?}");
            }
        }
    }
}

#[test]
fn tables_hold_together() {
    for folder in EXAMPLES {
        for made in [shipped(folder), conforming(folder)] {
            for open in [false, true] {
                holds_together(&tables(&made.files(open)));
            }
        }
    }
}

#[test]
fn every_recorded_cell_is_there_and_si_is_value_times_factor() {
    for folder in EXAMPLES {
        let made = shipped(folder);
        let tables = tables(&made.files(false));
        let recorded: usize =
            made.bench.records.iter().flat_map(|record| &record.rows).filter(|row| row.is_filled()).count();
        assert_eq!(tables["readings"].rows.len() + tables["unplaced"].rows.len(), recorded);
        let units: BTreeMap<&str, &BTreeMap<String, String>> =
            tables["units"].rows.iter().map(|row| (row["unit"].as_str(), row)).collect();
        let number = |text: &str| text.parse::<f64>().unwrap();
        let mut compared = 0;
        for row in tables["readings"].rows.iter().filter(|row| !row["si"].is_empty()) {
            let unit = units[row["unit"].as_str()];
            let si = (number(&row["number"]) + number(&unit["offset"])) * number(&unit["factor"]);
            assert!((si - number(&row["si"])).abs() <= 1e-12 * si.abs(), "{row:?}");
            assert_eq!(unit["si_unit"], row["si_unit"], "{row:?}");
            compared += 1;
        }
        assert!(compared > 500, "{compared}");
        // Barred cells are told, and not used.
        let barred = tables["readings"].rows.iter().filter(|row| !row["finding"].is_empty());
        let barred: Vec<_> = barred.collect();
        assert!(!barred.is_empty() && barred.iter().all(|row| row["used"] == "false"));
    }
}

#[test]
fn the_same_campaign_gives_the_same_bytes() {
    let made = shipped("ferry-generator-sets");
    let (one, other) = (made.files(true), shipped("ferry-generator-sets").files(true));
    for (path, bytes) in &one {
        assert!(other[path] == *bytes, "{path} differs");
        assert!(!bytes.is_empty(), "{path} is empty");
    }
    assert_eq!(one.len(), other.len());
}

#[test]
fn models_stay_hidden_until_the_key_is_opened() {
    for folder in EXAMPLES {
        let made = shipped(folder);
        let campaign = &made.bench.plan.campaign;
        assert!(campaign.blind);
        let names = campaign.models.values().flat_map(|model| [model.name.clone(), model.title.clone()]);
        let bought = campaign.specimens.values().flat_map(|specimen| [specimen.lot.clone(), specimen.bought.clone()]);
        let secrets: Vec<String> = names.chain(bought.flatten()).map(|secret| secret.to_lowercase()).collect();
        let hidden = made.files(false);
        for (path, bytes) in &hidden {
            let text = String::from_utf8_lossy(bytes).to_lowercase();
            for secret in &secrets {
                assert!(!text.contains(secret.as_str()), "{path} tells `{secret}`");
            }
        }
        assert!(!hidden.keys().any(|path| path.ends_with(".leaf")), "the plan's texts tell models");
        let (hidden, open) = (tables(&hidden), tables(&made.files(true)));
        assert!(hidden["models"].rows.is_empty());
        assert_eq!(open["models"].rows.len(), campaign.models.len());
        assert!(open["specimens"].rows.iter().all(|row| !row["model"].is_empty()));
        // The hash that was fixed beforehand is that of the file which comes with the key.
        let fixed = |tables: &BTreeMap<String, Table>| -> BTreeMap<String, String> {
            tables["inputs"].rows.iter().map(|row| (row["file"].clone(), row["sha256"].clone())).collect()
        };
        assert_eq!(fixed(&hidden), fixed(&open));
        assert!(made.files(true).keys().any(|path| path.ends_with("campaign.leaf")));
    }
}

#[test]
fn every_known_result_has_its_budget() {
    let tables = tables(&conforming("ferry-generator-sets").files(true));
    let with: BTreeSet<&str> = tables["budgets"].rows.iter().map(|row| row["estimate"].as_str()).collect();
    let known: Vec<_> = tables["estimates"].rows.iter().filter(|row| row["outcome"] == "known").collect();
    assert!(known.len() > 50, "{}", known.len());
    for row in known {
        assert!(with.contains(row["estimate"].as_str()) || row["standard"] == "0.0", "{row:?}");
    }
}

/// Writes the packages of both examples, for readers that are not ours.
fn written() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("packages");
    let _gone = std::fs::remove_dir_all(&folder);
    for example in EXAMPLES {
        let mut several = vec![(shipped(example), "shipped"), (conforming(example), "conforming")];
        if example == "ferry-generator-sets" {
            several.push((shipped_but(example, |text| thinned(&text)), "pairs-apart"));
        }
        for (made, name) in several {
            for (path, bytes) in made.files(true) {
                let target = folder.join(format!("{example}-{name}")).join(path);
                std::fs::create_dir_all(target.parent().unwrap()).unwrap();
                std::fs::write(target, bytes).unwrap();
            }
        }
    }
    folder
}

/// `.ci/run` sets `LOOPLEAF_PYTHON`; without it the packages are written and only our own tests look at them.
#[test]
#[expect(clippy::print_stdout, reason = "what independent readers say is the evidence")]
fn independent_readers_agree() {
    let folder = written();
    let Some(python) = std::env::var_os("LOOPLEAF_PYTHON") else {
        println!("LOOPLEAF_PYTHON is not set: {} is not read by others", folder.display());
        return;
    };
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut packages: Vec<PathBuf> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    packages.sort();
    for script in ["tests/package/validate.py", "tests/recompute/recompute.py"] {
        let mut command = Command::new(&python);
        command.env("PYTHONDONTWRITEBYTECODE", "1").arg(root.join(script)).args(&packages);
        let output = command.output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout);
        println!("{said}");
        assert!(output.status.success(), "{script}:\n{said}\n{}", String::from_utf8_lossy(&output.stderr));
    }
}
