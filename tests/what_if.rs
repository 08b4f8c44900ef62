//! Values given on the command line in place of written ones: bound as if they were written.

use loopleaf::check;
use loopleaf::diagnostic::{Code, Diagnostic};
use loopleaf::plan::Plan;
use loopleaf::source::{Memory, Sources};
use loopleaf::worksheet::{self, Scope};

use crate::commands::call;
use crate::shipped::{CAMPAIGNS, leaf_files, memory, root};

/// The first plan of a campaign read with some values changed, and what is found.
fn changed(folder: &str, files: &Memory, typed: &[(&str, &str)]) -> (Option<Plan>, Vec<Diagnostic>) {
    let typed: Vec<(String, String)> = typed.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let read = check::read_changed(&format!("{folder}/campaign.leaf"), &typed, files, &mut Sources::new());
    (read.value.plans.into_iter().next(), read.diagnostics)
}

fn codes(found: &[Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|finding| finding.code.id()).collect()
}

/// The shipped files with one text of one file replaced.
fn edited(path: &str, from: &str, to: &str) -> Memory {
    let mut files = leaf_files();
    let (_, text) = files.iter_mut().find(|(known, _)| known == path).unwrap();
    assert_eq!(text.matches(from).count(), 1, "`{from}` in {path}");
    *text = text.replace(from, to);
    memory(&files)
}

#[test]
fn a_changed_plan_is_the_plan_that_was_written_so() {
    let ferry = CAMPAIGNS[0];
    let files = memory(&leaf_files());
    let in_file = |name: &str| format!("{ferry}/{name}");
    let cases = [
        (
            "rig.main-relief.set-at",
            "450 kPa gauge",
            in_file("rig.leaf"),
            "set at 500 kPa gauge",
            "set at 450 kPa gauge",
        ),
        ("lube-bench.tank.holds.low", "15 L", in_file("rig.leaf"), "holds 14 L to 40 L", "holds 15 L to 40 L"),
        (
            "rule.calibration-slack",
            "10 days",
            in_file("house-rules.leaf"),
            "calibration-slack 14 days",
            "calibration-slack 10 days",
        ),
        (
            "loading.dose-mass",
            "1.60 g",
            in_file("campaign.leaf"),
            "test-oil = bench-oil-15, test-dust",
            "test-oil = bench-oil-15, dose-mass = 1.60 g, test-dust",
        ),
    ];
    let (plain, _) = changed(ferry, &files, &[]);
    let plain = plain.unwrap();
    for (target, value, path, from, to) in cases {
        let (typed, found) = changed(ferry, &files, &[(target, value)]);
        let (written, _) = changed(ferry, &edited(&path, from, to), &[]);
        let (typed, written) = (typed.unwrap(), written.unwrap());
        assert!(found.iter().all(|finding| finding.code != Code::UnknownParameter), "{target}: {:?}", codes(&found));
        assert_eq!(typed.fingerprint, written.fingerprint, "{target}");
        assert_ne!(typed.fingerprint, plain.fingerprint, "{target}");
        assert!(plain.changed.is_empty() && typed.changed.len() == 1);
    }
}

#[test]
fn the_same_value_changes_nothing_but_is_told() {
    let (ferry, files) = (CAMPAIGNS[0], memory(&leaf_files()));
    let (plain, _) = changed(ferry, &files, &[]);
    let (same, _) = changed(ferry, &files, &[("restriction.rated-flow", "40 L/min")]);
    let (plain, same) = (plain.unwrap(), same.unwrap());
    assert_eq!(plain.fingerprint, same.fingerprint);
    assert_eq!(same.changed[0].to_string(), "restriction.rated-flow = 40 L/min instead of 40 L/min");
}

#[test]
fn of_one_test_only() {
    let (ferry, files) = (CAMPAIGNS[0], memory(&leaf_files()));
    let flow = |plan: &Plan, test: &str| {
        let test = plan.tests.iter().find(|known| known.name == test).unwrap();
        test.parameters.iter().find(|(name, _)| name == "rated-flow").map(|(_, value)| value.clone()).unwrap()
    };
    let (one, _) = changed(ferry, &files, &[("loading.rated-flow", "30 L/min")]);
    let (both, _) = changed(ferry, &files, &[("rated-flow", "30 L/min"), ("loading.rated-flow", "35 L/min")]);
    let (one, both) = (one.unwrap(), both.unwrap());
    assert_eq!((flow(&one, "restriction"), flow(&one, "loading")), ("40 L/min".to_owned(), "30 L/min".to_owned()));
    assert_eq!((flow(&both, "restriction"), flow(&both, "loading")), ("30 L/min".to_owned(), "35 L/min".to_owned()));
}

#[test]
fn what_is_typed_wrongly_is_said_of_the_command_line() {
    let (ferry, files) = (CAMPAIGNS[0], memory(&leaf_files()));
    let cases = [
        ("rated-flow", "30 kPa", "L203"),
        ("rated-flow", "30", "L201"),
        ("restriction.rated-flow", "300 L/min", "L214"),
        ("loading.test-oil", "no-such-oil", "L301"),
        ("loading.test-oil", "dp-high", "L302"),
        ("rule.flash-margin", "40 L", "L203"),
        ("rule.no-such-rule", "40 L", "L308"),
        ("rig.main-relief", "40 L", "L308"),
        ("rig.main-relief.set-at", "400 kPa", "L205"),
        ("bench-oil-15.viscosity", "12 mm²/s", "L308"),
        ("bench-oil-15.flash-point.cup", "12 mm²/s", "L308"),
        ("nothing-known", "1 L", "L308"),
        ("rated-flow", "30 L/min or more", "L112"),
    ];
    for (target, value, code) in cases {
        let mut sources = Sources::new();
        let typed = [(target.to_owned(), value.to_owned())];
        let read = check::read_changed(&format!("{ferry}/campaign.leaf"), &typed, &files, &mut sources);
        let finding = read.diagnostics.iter().find(|finding| finding.code.id() == code);
        let finding = finding.unwrap_or_else(|| panic!("{target} = {value}: {:?}", codes(&read.diagnostics)));
        let file = &sources.get(finding.places[0].source).unwrap().name;
        assert_eq!(*file, format!("command line, --set {target}"), "{target} = {value}");
    }
}

#[test]
fn the_papers_say_what_was_changed() {
    let (folder, files) = (CAMPAIGNS[1], memory(&leaf_files()));
    let (plan, found) = changed(folder, &files, &[("dawn.cold-viscosity", "90 mm²/s")]);
    let plan = plan.unwrap();
    assert!(found.is_empty(), "{:?}", codes(&found));
    let said = "dawn.cold-viscosity = 90 mm²/s";
    for scope in [Scope::Campaign, Scope::Run("R01")] {
        let page = worksheet::html(&worksheet::view(&plan, scope).unwrap()).unwrap();
        assert!(page.contains("CHANGED") && page.contains(said), "{page:.2000}");
    }
    let (plain, _) = changed(folder, &files, &[]);
    let page = worksheet::html(&worksheet::view(&plain.unwrap(), Scope::Run("R01")).unwrap()).unwrap();
    assert!(!page.contains("CHANGED"));
    // The command itself, with its option.
    let target = root().join("out/what-if.html").to_string_lossy().into_owned();
    let (_, err, _) = call(&["loopleaf", "print", folder, "--run", "R01", "--html", "-o", &target, "--set", said]);
    let printed = std::fs::read_to_string(&target).unwrap();
    std::fs::remove_file(&target).unwrap();
    assert!(printed.contains(said) && err.starts_with("a changed plan, not the one in the files:"), "{err}");
}
