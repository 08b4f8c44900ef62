//! How long a large campaign takes to be read, bound, unfolded and checked: `cargo bench --bench check`.
//!
//! A campaign of 2,000 and one of 20,000 lines, made here from a fixed pattern. Each time is the best of five.

#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

use std::fmt::Write;
use std::time::{Duration, Instant};

use loopleaf::check;
use loopleaf::source::{Memory, Sources};

const BENCH: &str = r#"
fluid oil "Bench oil (invented)" {
  viscosity 32.0 mm²/s at 40 °C, from memory
  viscosity 5.40 mm²/s at 100 °C, from memory
}
instrument dp "Differential pressure" { measures differential pressure; range 0 kPa to 100 kPa; resolution 0.1 kPa; accuracy 0.25 % of span }
instrument meter "Flow" { measures flow; range 5 L/min to 60 L/min; resolution 0.1 L/min; accuracy 1 % of reading }
instrument probe "Inlet" { measures temperature; range 0 °C to 120 °C; resolution 0.1 °C; accuracy 0.2 °C }
rig bench "Bench" {
  revision 1
  reservoir tank { holds 12 L to 30 L }
  pump gear { delivers 5 L/min to 60 L/min; rated 1000 kPa gauge }
  relief valve-r { set at 600 kPa gauge }
  route specimen "Through the specimen" { volume 20 L; through the specimen }
}
"#;

fn main() {
    for lines in [2_000, 20_000] {
        let text = campaign(lines);
        let written = text.lines().count();
        let (mut best, mut steps, mut found) = (Duration::MAX, 0, 0);
        for _ in 0..5 {
            let started = Instant::now();
            let mut sources = Sources::new();
            let loader = Memory::new().with("campaign.leaf", text.as_bytes());
            let checked = check::read("campaign.leaf", &loader, &mut sources);
            best = best.min(started.elapsed());
            steps = checked.value.plans.iter().flat_map(|p| &p.tests).map(|t| t.steps.len()).sum();
            found = checked.diagnostics.len();
        }
        println!("{written} lines, {} kB: {best:.1?} ({steps} steps, {found} findings)", text.len() / 1000);
    }
}

/// A campaign of about so many lines: stages of ten lines in protocols of a hundred stages, a test for each.
fn campaign(lines: usize) -> String {
    let mut text = BENCH.to_owned();
    let stages = lines / 11;
    let mut tests = String::new();
    for (index, first) in (0..stages).step_by(100).enumerate() {
        let _ = writeln!(
            text,
            "protocol p{index} \"Protocol {index}\" {{\n  revision 1\n  purpose \"A large plan.\"\n  needs route specimen"
        );
        for stage in first..(first + 100).min(stages) {
            let _ = writeln!(
                text,
                "  stage s{stage} \"Stage {stage}\" {{ # invented\n    fluid oil\n    route specimen\n    hold viscosity 15 mm²/s, within 5 %, on probe\n    sweep flow [10 L/min, 20 L/min], rising then falling, each within 2 %, on meter {{\n      settle 60 s until dp drifts less than 1 % in 30 s, at most 10 min\n      read dp with dp, expect 1 kPa to 60 kPa\n      read temperature with probe\n    }}\n    note \"next\"\n  }}"
            );
        }
        text.push_str("}\n");
        let _ = writeln!(tests, "  test t{index} \"Test {index}\", by p{index} {{ specimens [K1, K2] }}");
    }
    let _ = write!(
        text,
        "campaign big \"Big\" {{\n  invented \"all of it\"\n  rig bench\n  specimen K1\n  specimen K2\n{tests}}}\n"
    );
    text
}
