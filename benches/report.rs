//! How long a large campaign takes from its records to its report: `cargo bench --bench report`.
//!
//! The ferry example with fifty cans instead of six, every one of them through the sweeps and the loading, with records and a
//! laboratory's file made up from a seed. The whole process is timed: reading, check, audit, results, report.

#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot be set up has nothing to say")]

use std::fmt::Write;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use loopleaf::plan::{self, Action, Plan, Wants};
use loopleaf::record;
use loopleaf::rehearsal::{Character, laboratory_csv, synthetic_csv};
use loopleaf::source::{Memory, Sources};

const CANS: usize = 50;
const SEED: u64 = 20_261_125;

fn main() {
    let folder = std::env::temp_dir().join("loopleaf-bench-report");
    let _ = std::fs::remove_dir_all(&folder);
    let campaign = set_up(&folder);
    let mut sources = Sources::new();
    let mut files = Memory::new();
    for inside in ["protocols", "examples/ferry-generator-sets"] {
        for entry in std::fs::read_dir(folder.join(inside)).unwrap() {
            let path = entry.unwrap().path();
            let name = format!("{inside}/{}", path.file_name().unwrap().to_str().unwrap());
            files = files.with(name, std::fs::read(path).unwrap());
        }
    }
    let loaded = plan::load("examples/ferry-generator-sets/campaign.leaf", &files, &mut sources);
    let plan = loaded.then(|loaded| plan::bind(&loaded)).value.plans.into_iter().next().unwrap();
    let mut records = Vec::new();
    std::fs::create_dir_all(campaign.join("records")).unwrap();
    for run in &plan.runs {
        let csv = synthetic_csv(&plan, &run.code, SEED, &Character::typical(&plan, run, SEED));
        let name = format!("{}.csv", run.code);
        records.extend(record::read::file(&name, csv.as_bytes(), &mut sources).value);
        std::fs::write(campaign.join("records").join(name), csv).unwrap();
    }
    std::fs::create_dir_all(campaign.join("laboratory")).unwrap();
    std::fs::write(campaign.join("laboratory/results.csv"), laboratory_csv(&plan, &records, SEED)).unwrap();
    let rows: usize = records.iter().map(|record| record.rows.len()).sum();
    println!("{CANS} cans, {} runs, {rows} rows; {}", plan.runs.len(), asked(&plan));
    for (what, options) in
        [("all results, and the report as text", ["--plain"].as_slice()), ("with web page, PDF and package", &[])]
    {
        let mut best = Duration::MAX;
        for _ in 0..3 {
            let started = Instant::now();
            let done = Command::new(env!("CARGO_BIN_EXE_loopleaf"))
                .args(["report", "--output"])
                .arg(folder.join("out"))
                .args(options)
                .arg(&campaign)
                .output()
                .unwrap();
            let lasted = started.elapsed();
            assert!(done.status.code().is_some_and(|code| code <= 2), "{}", String::from_utf8_lossy(&done.stderr));
            best = best.min(lasted);
            let _ = std::fs::remove_dir_all(folder.join("out"));
        }
        println!("{what}: best of three {best:.2?}");
    }
    let _ = std::fs::remove_dir_all(&folder);
}

/// What one can goes through.
fn asked(plan: &Plan) -> String {
    let mut text = String::new();
    for test in &plan.tests {
        let flows = test.steps.iter().filter(|step| matches!(step.action, Action::SetFlow { .. })).count();
        let rounds: u32 = test.batches.iter().map(|batch| batch.cap).sum();
        let bottles = test.steps.iter().flat_map(|step| &step.readings);
        let bottles = bottles.filter(|reading| matches!(reading.wants, Wants::Bottle(_))).count();
        let _ = write!(text, "{}: {flows} flow steps, {rounds} rounds at most, {bottles} bottles; ", test.name);
    }
    text.trim_end_matches("; ").to_owned()
}

/// A copy of protocols and example with more cans.
fn set_up(folder: &Path) -> std::path::PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let campaign = folder.join("examples/ferry-generator-sets");
    for inside in ["protocols", "examples/ferry-generator-sets"] {
        std::fs::create_dir_all(folder.join(inside)).unwrap();
        for entry in std::fs::read_dir(root.join(inside)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|end| end == "leaf") {
                std::fs::copy(&path, folder.join(inside).join(path.file_name().unwrap())).unwrap();
            }
        }
    }
    let file = campaign.join("campaign.leaf");
    let text = std::fs::read_to_string(&file).unwrap();
    let codes: Vec<String> = (1..=CANS - 6).map(|number| format!("N{number:02}")).collect();
    let models = ["model-a", "model-b", "model-c", "model-d", "model-e"];
    let more: String = codes
        .iter()
        .zip(models.iter().cycle())
        .map(|(code, model)| format!("  specimen {code} of {model}, lot \"N-1\", bought \"2026-08-02 (invented)\"\n"))
        .collect();
    let text = text.replacen("  specimen K8 of", &format!("{more}\n  specimen K8 of"), 1);
    let listed = codes.join(", ");
    let text = text
        .replace("specimens [K7, M3, P9, R4, T6, W2]", &format!("specimens [K7, M3, P9, R4, T6, W2, {listed}]"))
        .replace("specimens [K7, M3, P9, R4, T6]\n", &format!("specimens [K7, M3, P9, R4, T6, {listed}]\n"));
    std::fs::write(file, text).unwrap();
    campaign
}
