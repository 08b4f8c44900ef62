//! Slips in records, answers and the laboratory's files, each made in a folder of its own: the report says so, and says less.

use std::fs;
use std::path::{Path, PathBuf};

use loopleaf::cli::Exit;

use super::command::{ferry, typed};
use crate::commands::call;
use crate::results::bench::thinned;

const COUNTS: &str = "laboratory/2026-11-02-invented.csv";
const ANSWERS: &str = "records/answers.csv";

fn said(folder: &Path) -> String {
    call(&typed(folder, &["loopleaf", "report", "FERRY", "--date", "2026-11-25", "--plain"])).0
}

/// The campaign with one file changed.
fn changed(name: &str, file: &str, change: impl Fn(&str) -> String) -> PathBuf {
    let folder = ferry(name, true);
    let path = folder.join(file);
    let old = fs::read_to_string(&path).unwrap();
    let new = change(&old);
    assert_ne!(old, new, "{name}");
    fs::write(path, new).unwrap();
    folder
}

/// Fills in the row that the audit prints for a finding: what is answered, by whom, when and why.
fn answer(folder: &Path, finding: &str, words: &str) {
    let (rows, ..) = call(&typed(folder, &["loopleaf", "audit", "FERRY", "--unanswered"]));
    let row = rows.lines().find(|row| row.starts_with(finding)).unwrap_or_else(|| panic!("{finding} is not in {rows}"));
    let row = row.strip_suffix(",,,,").unwrap();
    let answers = fs::read_to_string(folder.join(ANSWERS)).unwrap();
    fs::write(folder.join(ANSWERS), format!("{answers}{row},{words}\n")).unwrap();
}

/// One line of a text, changed.
fn line(text: &str, with: &str, change: impl Fn(&str) -> String) -> String {
    text.lines().map(|line| if line.contains(with) { change(line) } else { line.to_owned() } + "\n").collect()
}

fn value(line: &str, to: &str) -> String {
    let mut cells: Vec<&str> = line.split(',').collect();
    cells[7] = to;
    cells.join(",")
}

/// The sentence that ranks the share caught at 10 µm(c).
fn catching(report: &str) -> &str {
    let line = report.lines().find(|line| line.starts_with("Share caught at 10 µm(c)")).unwrap_or_default();
    line.split(". ").next().unwrap_or_default()
}

#[test]
fn a_bottle_whose_row_cannot_be_is_left_out_and_named() {
    let row = |change: &'static str, to: &'static str| {
        move |text: &str| line(text, "R08-07-3;", |line| line.replacen(change, to, 1))
    };
    let cut = |text: &str| line(text, "R08-07-3;", |line| line.split(';').take(12).collect::<Vec<_>>().join(";"));
    type Change = Box<dyn Fn(&str) -> String>;
    let slips: [(&str, &str, Change); 6] = [
        ("volume", "A195", Box::new(row(";75;10;", ";75000000;10;"))),
        ("mass", "less than nothing was weighed", Box::new(row(";38,55;", ";-4;"))),
        ("dilution", "the dilution reads ‘0’", Box::new(row(";75;10;", ";75;0;"))),
        ("no-volume", "the counted volume reads ‘-’", Box::new(row(";75;10;", ";-;10;"))),
        ("empty", "nothing stands at 14 µm(c)", Box::new(row(";823,7;", ";;"))),
        ("cut", "breaks off after 12 of 19 cells", Box::new(cut)),
    ];
    for (name, words, change) in slips {
        let report = said(&changed(&format!("slip-{name}"), COUNTS, change));
        assert!(report.contains(words), "{name}: not told");
        assert!(report.contains("P9 (R08): 2 pairs of bottles together"), "{name}: {}", catching(&report));
    }
}

#[test]
fn a_unit_row_that_contradicts_the_layout_takes_its_columns_out() {
    let report = said(&changed("unit-of-counts", COUNTS, |text| text.replace("1/mL", "1/100 mL")));
    let told: Vec<&str> = report.lines().filter(|line| line.contains("its unit is ‘1/100 mL’")).collect();
    assert!(told.iter().any(|line| line.contains("! A181") && line.contains("‘>=38um(c)’")), "{told:?}");
    assert!(!report.contains("pairs of bottles together"));
    let report = said(&changed("unit-of-mass", COUNTS, |text| text.replacen("mg/L", "g/L", 1)));
    assert!(report.contains("its unit is ‘g/L’, and it is read in mg/L"), "not told");
}

/// A unit that the layout names is reckoned with: the same file in g/L gives the same ledger.
#[test]
fn a_unit_of_the_layout_is_reckoned_with() {
    let plain = said(&ferry("unit-plain", true));
    let folder = changed("unit-of-layout", COUNTS, |text| {
        let column = |line: &str| {
            let mut cells: Vec<String> = line.split(';').map(str::to_owned).collect();
            if let Some(mass) = cells.get_mut(17).filter(|cell| !cell.is_empty()) {
                *mass = match mass.replace(',', ".").parse::<f64>() {
                    Ok(number) => format!("{:.6}", number / 1000.0).replace('.', ","),
                    Err(_) => mass.replace("mg/L", "g/L"),
                };
            }
            cells.join(";") + "\n"
        };
        text.lines().map(column).collect()
    });
    let campaign = folder.join("campaign.leaf");
    let plan = fs::read_to_string(&campaign).unwrap();
    let layout = plan.replacen("is gravimetric", "is gravimetric, in \"g/L\"", 1);
    assert_ne!(plan, layout);
    fs::write(campaign, layout).unwrap();
    let report = said(&folder);
    let taken = |text: &str| text.lines().find(|line| line.starts_with("taken with … bottles")).map(str::to_owned);
    assert!(taken(&plain).is_some_and(|line| line.contains("−0.0")));
    assert_eq!(taken(&report), taken(&plain));
}

#[test]
fn a_second_copy_of_a_file_brings_nothing_back() {
    let folder = ferry("copy-of-counts", true);
    let plain = said(&folder);
    fs::copy(folder.join(COUNTS), folder.join("laboratory/second.csv")).unwrap();
    let report = said(&folder);
    let ledger = |text: &str| -> Vec<String> {
        text.lines().filter(|line| line.starts_with("taken with … bottles")).map(str::to_owned).collect()
    };
    assert_eq!(ledger(&report), ledger(&plain));
    assert_eq!(catching(&report), catching(&plain));
    assert!(report.contains("digit by digit"), "not told");
}

#[test]
fn a_departure_of_a_whole_run_bars_the_run() {
    let folder = ferry("two-records", true);
    let twice = fs::read_to_string(folder.join("records/R05.csv")).unwrap();
    let other = line(&twice, "warm-sweep/", |line| {
        if line.contains("/dp,") { line.replacen(",kPa,dp-low", "1,kPa,dp-low", 1) } else { line.to_owned() }
    });
    assert_ne!(twice, other);
    fs::write(folder.join("records/R05b.csv"), other).unwrap();
    let report = said(&folder);
    assert!(report.contains("! A163"), "not told");
    let warm = report.lines().find(|line| line.starts_with("The filter, warm, at 40 L/min: ")).unwrap();
    let (warm, _) = warm.split_once(" The filter, cold").unwrap();
    assert!(!warm.contains("P9 ("), "{warm}");
    assert!(report.contains("The filter, warm, at 40 L/min: nothing can be said of P9"), "{warm}");
    // Another plan: nothing that was recorded by the old one is used.
    let campaign = folder.join("campaign.leaf");
    let plan = fs::read_to_string(&campaign).unwrap();
    fs::write(&campaign, plan.replacen("14.90 EUR", "15.90 EUR", 1)).unwrap();
    let report = said(&folder);
    assert!(report.contains("! A108") && !report.contains("restricts least"), "{}", catching(&report));
}

#[test]
fn a_tare_above_the_readings_or_without_use_is_ranked_with_nobody() {
    let tare = |to: &'static str| {
        move |text: &str| {
            line(text, "warm-tare/", |line| if line.contains("/dp,") { value(line, to) } else { line.to_owned() })
        }
    };
    for (name, to) in [("tare-above", "30.00"), ("tare-lost", "not done")] {
        let report = said(&changed(name, "records/R05.csv", tare(to)));
        let warm = report.lines().find(|line| line.starts_with("The filter, warm, at 40 L/min: ")).unwrap();
        let (warm, _) = warm.split_once(" The filter, cold").unwrap();
        assert!(warm.contains("T6 (15.10 kPa") && !warm.contains("P9 ("), "{name}: {warm}");
        assert!(report.contains("The filter, warm, at 40 L/min: nothing can be said of P9"), "{name}");
    }
}

#[test]
fn what_no_instrument_can_show_is_used_by_nobody() {
    let folder = changed("off-the-scale", "records/R05.csv", |text| {
        line(text, "warm-sweep/rising/40-l-min/dp,", |line| value(line, "999999999"))
    });
    answer(&folder, "A113,R05,warm-sweep/rising/40-l-min/dp,", "accepted,MO,2026-11-05,we believe what we wrote");
    let report = said(&folder);
    assert!(report.contains("(11.78 kPa, 11.68 to 11.87) restricts least"), "{}", report.lines().nth(8).unwrap());
    assert!(report.lines().any(|line| line.contains("999999999") && line.contains("can't show it")), "not listed");
}

#[test]
fn answers_go_to_a_bottle_and_its_twin_and_a_second_one_is_told() {
    let twins = |text: &str| {
        let tenfold = |line: &str| {
            let mut cells: Vec<&str> = line.split(';').collect();
            cells[11] = "0";
            cells.join(";")
        };
        line(text, "R08-04-H", tenfold)
    };
    let folder = changed("twins", COUNTS, twins);
    let open = |report: &str| report.lines().filter(|line| line.contains("! A179")).count();
    assert_eq!(open(&said(&folder)), 2);
    let words = "left out,MO,2026-11-05,the laboratory says that a line of its table slipped";
    answer(&folder, "A179,R08,clean-filter/base-down,", words);
    assert_eq!(open(&said(&folder)), 1);
    answer(&folder, "A179,R08,clean-filter/base-down,", words);
    assert_eq!(open(&said(&folder)), 0);

    let again = |text: &str| {
        let row = text.lines().find(|row| row.starts_with("A136,R02,")).unwrap();
        let (row, _) = row.split_once(",left out,").unwrap();
        format!("{text}{row},accepted,MO,2026-11-03,second thought\n")
    };
    let report = said(&changed("answered-twice", ANSWERS, again));
    assert!(report.contains("was given before: ‘left out’ by RL"), "twice is not told");
    let report = said(&changed("answered-before", ANSWERS, |text| text.replacen("RL,2026-11-02", "RL,2019-11-02", 1)));
    assert!(report.contains("before anything was recorded of it"), "too early is not told");
}

#[test]
fn nothing_recorded_is_not_published() {
    let folder = ferry("nothing-recorded", true);
    for file in fs::read_dir(folder.join("records")).unwrap().map(|file| file.unwrap().path()) {
        if file.file_name().unwrap().to_string_lossy().starts_with('R') && file.extension().unwrap() == "csv" {
            fs::remove_file(file).unwrap();
        }
    }
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--publish"]));
    assert!(exit == Exit::CouldNotRun && err.contains("nothing is recorded"), "{err}");
    assert!(!said(&folder).contains("pairs of bottles together"));
}

#[test]
fn names_of_files_tell_no_model() {
    let folder = ferry("telling-files", true);
    fs::create_dir_all(folder.join("records/photographs")).unwrap();
    fs::write(folder.join("records/photographs/K7 can_of-the first maker.png"), "x").unwrap();
    fs::copy(folder.join("logger/R01.csv"), folder.join("logger/R04-Model_A.csv")).unwrap();
    let report = said(&folder);
    call(&typed(&folder, &["loopleaf", "report", "FERRY", "--date", "2026-11-25"]));
    let package = folder.join("loopleaf-out/package");
    let table = fs::read_to_string(package.join("data/inputs.csv")).unwrap();
    let described = fs::read_to_string(package.join("datapackage.json")).unwrap();
    let page = fs::read_to_string(folder.join("loopleaf-out/report.html")).unwrap();
    let names = fs::read_dir(package.join("inputs/logger")).unwrap().map(|file| file.unwrap().file_name());
    let names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
    for text in [&report, &table, &described, &page, &names.join(" ")] {
        let squeezed: String = text.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
        assert!(!squeezed.contains("canofthefirstmaker") && !squeezed.contains("r04modela"), "{text:.300}");
    }
    assert!(table.contains("records/photographs/hidden-") && names.iter().any(|name| name.starts_with("hidden-")));
}

#[test]
fn what_a_shell_reads_is_quoted_and_what_is_no_number_is_refused() {
    let folder = ferry("quoted", true);
    let with = |id: &'static str, why: &'static str| {
        ["loopleaf", "report", "FERRY", "--date", "2026-11-25", "--plain", "--replaces", id, "--because", why]
    };
    let (out, _, _) = call(&typed(&folder, &with("LR-C276-D7A7", "it's \"here\" $(rm x)")));
    assert!(out.contains(r#"--replaces LR-C276-D7A7 --because 'it'\''s "here" $(rm x)'"#), "not quoted");
    for (id, why) in [("", "a reason"), ("banana", "a reason"), ("LR-C276-D7A7", " "), ("LR-C276-D7A7", "a `b`")] {
        assert_eq!(call(&typed(&folder, &with(id, why))).2, Exit::CouldNotRun, "{id} {why}");
    }
}

#[test]
fn a_damaged_report_on_paper_is_written_again() {
    let folder = ferry("damaged-paper", true);
    let report = ["loopleaf", "report", "FERRY", "--date", "2026-11-25"];
    call(&typed(&folder, &report));
    let paper = folder.join("loopleaf-out/report.pdf");
    let whole = fs::read(&paper).unwrap();
    fs::write(&paper, "broken").unwrap();
    call(&typed(&folder, &report));
    assert!(fs::read(&paper).unwrap() == whole);
}

#[test]
fn the_folder_leaves_no_trace_in_the_report() {
    let other = |name: &str| changed(name, COUNTS, |text| text.replace(">=10um(c)", ">=12um(c)"));
    let (one, two) = (other("traces-of-one"), other("traces-of-the-other"));
    assert_eq!(said(&one), said(&two));
}

#[test]
fn signs_that_turn_the_line_are_left_out() {
    let turned = |text: &str| text.replacen("the yard cut", "the \u{202e}yard cut", 1);
    let report = said(&changed("turned", ANSWERS, turned));
    assert!(report.contains("the yard cut") && !report.contains('\u{202e}'));
}

#[test]
fn a_key_is_opened_between_the_last_reading_and_now() {
    let folder = ferry("key-times", true);
    for at in ["1999-01-01 10:00:00", "2026-10-10 10:00:00", "2999-01-01 10:00:00", "soon"] {
        let (_, err, exit) = call(&typed(&folder, &["loopleaf", "open-key", "FERRY", "--by", "MO", "--at", at]));
        assert!(exit == Exit::CouldNotRun && err.contains(at), "{at}: {err}");
    }
    let (_, err, exit) =
        call(&typed(&folder, &["loopleaf", "open-key", "FERRY", "--by", "MO", "--at", "2026-11-20 09:00:00"]));
    assert_eq!(exit, Exit::Fine, "{err}");
    assert!(said(&folder).contains("nothing was changed after the key was opened"));
    // What was written then stands, and is not made up later.
    let key = folder.join("results/key-opened.json");
    let text = fs::read_to_string(&key).unwrap();
    for (was, is, why) in [
        ("\"MO\"", "\"XX\"", "`XX` is none of the campaign's people"),
        ("2026-11-20 09:00:00", "soon", "`soon` is no time"),
        ("2026-11-20 09:00:00", "2999-01-01 09:00:00", "is still to come"),
    ] {
        fs::write(&key, text.replacen(was, is, 1)).unwrap();
        let (_, err, exit) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--plain"]));
        assert!(exit == Exit::CouldNotRun && err.contains(why), "{why}: {err}");
    }
    fs::write(&key, text).unwrap();
    // A reason changes no number; that it was changed is told all the same.
    let answers = folder.join(ANSWERS);
    let text = fs::read_to_string(&answers).unwrap();
    fs::write(&answers, text.replacen("the yard cut the power at noon", "we did not like it", 1)).unwrap();
    let report = said(&folder);
    assert!(report.contains("no result was changed after the key was opened"), "not told");
    assert!(report.contains("after the key was opened: records/answers.csv."), "not named");
}

/// A scale in psi read into boxes for kPa: 1 psi = 6.894757 kPa (NIST SP 811, appendix B.8).
#[test]
fn a_stage_that_was_read_in_another_unit_throughout_is_asked_about() {
    for (stage, title) in [("warm-sweep", "The filter, warm, at 40 L/min"), ("cold-sweep", "The filter, cold")] {
        let in_psi = |text: &str| {
            line(text, &format!(",{stage}/"), |line| {
                let cells: Vec<&str> = line.split(',').collect();
                let dp = cells[4].ends_with("/dp");
                let read = cells[7].parse::<f64>().ok().filter(|_| dp);
                read.map_or(line.to_owned(), |read| value(line, &format!("{:.2}", read / 6.894757)))
            })
        };
        let report = said(&changed(&format!("psi-{stage}"), "records/R06.csv", in_psi));
        assert!(report.contains("A241") && report.contains("in psi it would be"), "{stage}");
        let ranked = report.lines().find(|line| line.contains(title)).unwrap();
        assert!(!ranked.contains("R4 (0") && !ranked.contains("R4 (5.0"), "{stage}: {ranked}");
    }
}

/// What was written over is told beside what is used.
#[test]
fn a_correction_is_in_the_report() {
    let report = said(&ferry("corrections", true));
    assert!(report.contains("was corrected from"), "not told");
}

/// A reading that the logger contradicts is in no result.
#[test]
fn what_the_logger_contradicts_is_not_used() {
    let folder = changed("logger-off", "logger/R01.csv", |text| {
        let column = text.lines().find_map(|line| line.split([',', ';']).position(|name| name.trim() == "dp")).unwrap();
        let other = |line: &str| {
            let mark = if line.contains(';') { ';' } else { ',' };
            let mut cells: Vec<String> = line.split(mark).map(str::to_owned).collect();
            if let Some(read) = cells.get(column).and_then(|cell| cell.parse::<f64>().ok()) {
                cells[column] = format!("{:.2}", 1.3 * read);
            }
            cells.join(&mark.to_string()) + "\n"
        };
        text.lines().map(other).collect()
    });
    let report = said(&folder);
    assert!(report.contains("A210"), "not told");
    assert!(
        report.lines().any(|line| line.contains("R01") && line.contains("A210") && line.contains("dp")),
        "not barred"
    );
}

/// Until it is known when the last reading was taken, nobody can say that models were hidden then.
#[test]
fn a_key_stays_closed_where_no_reading_has_a_time() {
    let folder = ferry("key-no-times", true);
    for record in fs::read_dir(folder.join("records")).unwrap().map(|entry| entry.unwrap().path()) {
        if record.extension().is_none_or(|kind| kind != "csv") || record.ends_with("answers.csv") {
            continue;
        }
        let text = fs::read_to_string(&record).unwrap();
        let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let head = rows.headers().unwrap().clone();
        let time = head.iter().position(|name| name == "time").unwrap();
        let mut out = csv::Writer::from_writer(Vec::new());
        out.write_record(&head).unwrap();
        for row in rows.records().map(Result::unwrap) {
            out.write_record(row.iter().enumerate().map(|(at, cell)| if at == time { "" } else { cell })).unwrap();
        }
        fs::write(record, out.into_inner().unwrap()).unwrap();
    }
    // Without times nothing is late any more that an answer leaves out.
    let answers = fs::read_to_string(folder.join(ANSWERS)).unwrap();
    let kept: String =
        answers.split_inclusive('\n').filter(|row| !row.contains(",left out,") || !row.contains("A109")).collect();
    fs::write(folder.join(ANSWERS), kept).unwrap();
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "open-key", "FERRY", "--by", "MO"]));
    assert_eq!(exit, Exit::CouldNotRun, "{err}");
    assert!(err.contains("no reading has a time that can be read"), "{err}");
    assert!(!folder.join("results/key-opened.json").exists());
}

/// Whatever the author wrote into the plan, papers and data tell no model before the key is opened.
#[test]
fn what_the_plan_says_of_a_model_is_on_no_paper_and_in_no_table() {
    let folder = ferry("told-in-the-plan", false);
    let mut marks = 0;
    for file in ["campaign.leaf", "rig.leaf", "fluids.leaf", "instruments.leaf"] {
        let path = folder.join(file);
        let text = fs::read_to_string(&path).unwrap();
        let told: Vec<String> = text
            .lines()
            .map(|line| {
                let kept = ["#", "claims", "use ", "import"].iter().any(|word| line.trim().starts_with(word));
                let end = line.rfind('"').filter(|end| !kept && line[..*end].len() > 24 && !line.contains(".leaf"));
                // A text that ends on its line.
                let whole = line.matches('"').count() == 2;
                end.filter(|_| whole).map_or(line.to_owned(), |end| {
                    marks += 1;
                    format!("{} (model-b, mark {marks}){}", &line[..end], &line[end..])
                })
            })
            .collect();
        fs::write(path, told.join("\n") + "\n").unwrap();
    }
    assert!(marks > 20, "only {marks} texts were changed");
    let papers = folder.join("loopleaf-out/worksheets.html");
    fs::create_dir_all(papers.parent().unwrap()).unwrap();
    let print = ["loopleaf", "print", "FERRY", "--html", "--output", papers.to_str().unwrap()];
    let (out, err, exit) = call(&typed(&folder, &print));
    assert!(exit <= Exit::Warnings && papers.exists(), "{out}{err}");
    // The records are of the plan as it is now.
    let (checked, ..) = call(&typed(&folder, &["loopleaf", "check", "FERRY"]));
    let print = checked.rsplit_once("fingerprint ").unwrap().1.split(':').next().unwrap();
    for record in fs::read_dir(folder.join("records")).unwrap().map(|entry| entry.unwrap().path()) {
        let Ok(text) = fs::read_to_string(&record) else { continue };
        let row = text.lines().nth(2).unwrap_or_default().to_owned();
        let old = row.split(',').nth(2).unwrap_or_default();
        fs::write(&record, text.replace(old, print)).unwrap();
    }
    let (_, err, exit) = call(&typed(&folder, &["loopleaf", "report", "FERRY", "--date", "2026-11-25"]));
    assert!(exit <= Exit::Errors && folder.join("loopleaf-out/package/README.md").exists(), "{err}");
    let runs = fs::read_to_string(folder.join("loopleaf-out/package/data/runs.csv")).unwrap();
    assert!(!runs.contains("another plan"), "{runs}");
    let mut folders = vec![folder.join("loopleaf-out")];
    let mut files = 0;
    while let Some(inside) = folders.pop() {
        for path in fs::read_dir(inside).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            // What is written compressed says what its neighbour in plain text says.
            let Ok(text) = fs::read_to_string(&path) else { continue };
            files += 1;
            let at = text.to_lowercase().find("model-b");
            assert!(at.is_none(), "{}: …{}…", path.display(), &text[at.unwrap().saturating_sub(80)..][..160]);
        }
    }
    assert!(files > 60, "only {files} papers and tables");
}

/// Doses that are lost are asked for. At the end of a run the rest is a bound; before it no dust is counted any further, until
/// somebody says that none are missing.
#[test]
fn doses_that_are_lost_are_asked_for() {
    let without = |name: &str, rows: fn(&str) -> bool| {
        changed(name, "records/R08.csv", |text| {
            text.lines().filter(|line| !rows(line)).map(|line| line.to_owned() + "\n").collect()
        })
    };
    let report = said(&without("no-last-doses", |line| line.contains(",last-doses/")));
    assert!(report.contains("no dose of ‘last-doses’ is recorded"), "{report}");
    assert!(report.contains("[1] the terminal rise was not reached"), "{report}");

    let report = said(&without("no-doses", |line| line.contains(",loading/")));
    assert!(report.contains("no dose of ‘loading’ is recorded"), "{report}");
    assert!(report.contains("doses may be missing before ‘last-doses/batch-1/dose’"), "{report}");

    let tail = |line: &str| {
        let round =
            line.split_once(",loading/batch-").and_then(|(_, rest)| rest.split('/').next()?.parse::<u32>().ok());
        round.is_some_and(|round| round > 4)
    };
    let folder = without("no-tail", tail);
    let report = said(&folder);
    assert!(report.contains("the doses ended after round 4"), "{report}");
    assert!(report.contains("doses may be missing before ‘last-doses/batch-1/dose’"), "{report}");
    let row = report.lines().find(|line| line.starts_with("P9") && line.contains("R08") && line.contains("kPa"));
    assert!(row.is_some_and(|row| row.contains("– [")), "{row:?}");

    answer(&folder, "A110,R08,loading/batch-4/dp,", "explained,MO,2026-11-05,small doses were given from there on");
    assert!(!said(&folder).contains("doses may be missing"));
}

/// Of a pair, the reference is marked and not the other one, whichever comes first.
#[test]
fn the_reference_of_a_pair_is_marked_at_its_place() {
    for (campaign, marked) in [
        ("examples/ferry-generator-sets", "K7 less W2 (reference)"),
        ("examples/snow-plough-returns", "B2 less D5 (reference)"),
        ("examples/snow-plough-returns", "D5 (reference) less H8"),
    ] {
        let report = call(&["loopleaf", "report", campaign, "--plain"]).0;
        assert!(report.lines().any(|line| line.starts_with(marked)), "{campaign}: no ‘{marked}’");
    }
}

/// What somebody accepted was another value: the new one waits for an answer of its own.
#[test]
fn a_bottle_that_disagrees_with_the_other_pairs_is_named_and_widens_what_is_said() {
    // K7's share caught from 21 µm(c) up, with all its pairs: 5287 particles before.
    let width = |report: &str| {
        let row = report.lines().find(|line| line.contains("5287 (9)")).unwrap();
        let (low, high) = row.split(['(', ')']).find_map(|part| part.split_once(" to ")).unwrap();
        high.parse::<f64>().unwrap() - low.parse::<f64>().unwrap()
    };
    let (plain, report) = (said(&ferry("apart-not", true)), said(&changed("apart", COUNTS, thinned)));
    let remark =
        "the pairs of bottles of this run differ by more than counting, the laboratory and the moments explain";
    let told = report.lines().find(|line| line.contains(remark)).unwrap_or_else(|| panic!("{report}"));
    assert!(told.contains("R12-09-T and R12-08-N"), "{told}");
    assert!(!plain.contains(remark));
    assert!(width(&report) > 3.0 * width(&plain), "{} against {}", width(&report), width(&plain));
}

#[test]
fn an_answer_does_not_cover_a_value_that_was_changed_after_it() {
    let folder = changed("dose-after-answer", "records/R08.csv", |text| text.replacen(",1.534,", ",15.34,", 1));
    let report = said(&folder);
    assert!(report.contains("that is not what is found there now"), "not told");
    let row = report.lines().find(|line| line.starts_with("P9") && line.contains("R08") && line.contains("kPa"));
    assert!(row.is_some_and(|row| row.contains("– [")), "{row:?}");
}

/// A housing restricts the same whatever stands in it. A tare of nothing, or of half of what the other runs have, is taken off no
/// reading.
#[test]
fn a_tare_that_is_not_that_of_the_other_runs_is_not_taken_off() {
    // Each reading of the tare times a factor.
    let tare = |factor: f64| {
        move |text: &str| {
            line(text, ",warm-tare/", |line| {
                let cells: Vec<&str> = line.split(',').collect();
                let dp = cells[4].ends_with("/dp");
                let read = cells[7].parse::<f64>().ok().filter(|_| dp);
                read.map_or(line.to_owned(), |read| value(line, &format!("{:.2}", factor * read)))
            })
        }
    };
    let changes = [
        ("tare-of-nothing", 0.0, "are 0.000 kPa"),
        ("tare-halved", 0.5, "the tare reads 1.62 kPa where other runs have 3.21 kPa"),
        ("tare-thinned", 2.0, "the tare reads 6.50 kPa where other runs have 3.21 kPa"),
    ];
    for (name, factor, words) in changes {
        let report = said(&changed(name, "records/R05.csv", tare(factor)));
        assert!(
            report.contains(words),
            "{name}: {:?}",
            report.lines().filter(|line| line.contains("tare")).collect::<Vec<_>>()
        );
        // One that lies on no curve is told as that, and not once more.
        let code = if name == "tare-of-nothing" { "A148" } else { "A240" };
        assert!(report.contains(code), "{name}");
        assert!(report.contains("The filter, warm, at 40 L/min: nothing can be said of P9"), "{name}");
    }
}
