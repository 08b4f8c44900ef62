//! Every public function of the trade: what tests it, and the page that says so (`docs/computations.md`).
//!
//! The functions are read from the sources; `functions.csv` names for each its differential tests, its property tests and
//! where its uncertainty comes from, or says why one is not needed. A function without a line, a line without a function
//! and a test that does not exist all fail. `LOOPLEAF_BLESS=1 cargo nextest run computations` rewrites the page.

use super::{
    differential::{Measured, everything},
    table::rounded_up,
};
use indexmap::IndexMap;
use std::{
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
};

const HEAD: &str = "\
# Computations

Made by the tests (`tests/published/computations.rs`); do not edit by hand. Every public function of the trade, where its
formula comes from, what independent implementation it was compared with over random inputs (library and version), on
how many inputs, and the worst deviation: relative, or absolute near zero. A plain accessor or a constructor that only
keeps what it was given has no formula. The last column names the function that gives the standard uncertainty; *own*:
the result is itself an uncertainty, an interval or a probability, or carries its own; *exact*: a definition or a table; *propagate*: a closed
formula that `uncertainty::propagate` takes as it stands. The random inputs and the answers are in `tests/published/reference`, beside the scripts that
made them.

";

/// A public function as the sources have it.
struct Function {
    /// `hydraulics::Bath::settles_at`.
    path: String,
    doc: String,
}

/// A line of `functions.csv`.
#[derive(serde::Deserialize)]
struct Covered {
    function: String,
    differential: String,
    property: String,
    uncertainty: String,
    note: String,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Rust files of a folder, in one order.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    let below = |path: PathBuf| if path.is_dir() { sources(&path) } else { vec![path] };
    entries.into_iter().flat_map(below).filter(|path| path.extension().is_some_and(|ext| ext == "rs")).collect()
}

/// The public path of a file: a module that its parent keeps private gives its items to the parent.
fn module(file: &Path) -> String {
    let trade = root().join("src/trade");
    let within = file.strip_prefix(&trade).unwrap().with_extension("");
    let mut here = trade;
    let mut parts = Vec::new();
    for part in within.iter().map(|part| part.to_str().unwrap()).filter(|part| *part != "mod") {
        if read(&here.join("mod.rs")).contains(&format!("pub mod {part};")) {
            parts.push(part);
        }
        here.push(part);
    }
    parts.join("::")
}

/// The public functions of a file, with their documentation or that of what they belong to.
fn functions(file: &Path) -> Vec<Function> {
    functions_in(&module(file), &read(file))
}

fn functions_in(module: &str, text: &str) -> Vec<Function> {
    let (mut doc, mut of_type, mut found) = (String::new(), None::<String>, Vec::new());
    for line in text.lines() {
        let bare = line.trim_start();
        if line.starts_with("#[cfg(test)]") {
            break;
        }
        if let Some(said) = bare.strip_prefix("///") {
            doc.push_str(said);
            continue;
        }
        if bare.starts_with("#[") {
            continue;
        }
        if let Some(of) = line.strip_prefix("impl") {
            let last = of.split(" for ").last().unwrap().trim_end_matches(['{', ' ', '}']);
            let name = last.trim_start_matches(|c: char| !c.is_ascii_uppercase());
            of_type = Some(name.split('<').next().unwrap().to_owned());
        } else if line.starts_with('}') {
            of_type = None;
        }
        let function = bare.strip_prefix("pub fn ").or_else(|| bare.strip_prefix("pub const fn "));
        if let Some(rest) = function {
            let name = rest.split(['(', '<']).next().unwrap();
            let parts = [Some(module), of_type.as_deref(), Some(name)];
            let path = parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("::");
            found.push(Function { path, doc: doc.trim().to_owned() });
        }
        doc.clear();
    }
    found
}

/// Where a formula comes from, as its documentation says.
fn source(doc: &str) -> String {
    let told = ["Source: ", "Sources: ", "Source of", "Domain and source as", "Construction, domain and source as"];
    let at = told.iter().filter_map(|mark| doc.find(mark)).min();
    let said = match at {
        Some(at) => &doc[at..],
        // The sentence that names a guide or says what it was derived from.
        None => doc
            .split(". ")
            .find(|one| ["JCGM", "Derived from", "ISO "].iter().any(|mark| one.contains(mark)))
            .unwrap_or(""),
    };
    let plain = said
        .trim_start_matches("Source: ")
        .trim_start_matches("Sources: ")
        .replace(['[', ']', '`'], "")
        .replace('|', "\\|");
    plain.trim().trim_end_matches('.').to_owned()
}

/// What the complaints are made of: a function nobody listed, and a line whose tests do not exist or do not call it.
#[test]
fn a_new_function_and_a_false_line_are_complained_of() {
    let text = "impl Bath {\n    /// Warmth. Source: ours.\n    pub fn warm(&self) {}\n}\npub const fn cold() {}\nfn own() {}\n";
    let found = functions_in("hydraulics", text);
    let paths: Vec<&str> = found.iter().map(|function| function.path.as_str()).collect();
    assert_eq!(paths, ["hydraulics::Bath::warm", "hydraulics::cold"]);
    assert_eq!(source(&found[0].doc), "ours");
    let line = |differential: &str, property: &str, uncertainty: &str| Covered {
        function: paths[0].into(),
        differential: differential.into(),
        property: property.into(),
        uncertainty: uncertainty.into(),
        note: String::new(),
    };
    let properties = ["fn of_heat() { cold() }\n".to_string()];
    let told =
        |line: &Covered| faults(&found[0], line, &found, &IndexMap::new(), &properties, "bath.warm()").join("; ");
    assert_eq!(
        told(&line("heating", "of_cold;of_heat", "hydraulics::hot")),
        "hydraulics::Bath::warm: there is no differential test `heating`; hydraulics::Bath::warm: there is no property test \
         `of_cold`; hydraulics::Bath::warm: the property test `of_heat` does not call it; hydraulics::Bath::warm: there is no \
         function `hydraulics::hot`"
    );
    assert_eq!(
        told(&line("", "", "")),
        "hydraulics::Bath::warm has neither a differential test nor a note why not; hydraulics::Bath::warm has neither a \
         property test nor a note why not; hydraulics::Bath::warm: nothing is said of its uncertainty"
    );
}

fn several(cell: &str) -> impl Iterator<Item = &str> {
    cell.split(';').map(str::trim).filter(|one| !one.is_empty())
}

/// Files of tests by what they hold: (property tests, differential tests).
fn tests() -> (Vec<String>, String) {
    let all = |folder: &str| sources(&root().join(folder)).iter().map(|path| read(path)).collect::<Vec<_>>();
    let one = |file: &str| read(&root().join("tests/published").join(file));
    let mut properties = all("tests/properties");
    properties.push(one("statistics_properties.rs"));
    let differential =
        [all("tests/published/differential").concat(), one("physics_reference.rs"), one("statistics_reference.rs")];
    (properties, differential.concat())
}

#[test]
fn every_function_is_tested_and_the_page_says_how() {
    let functions: Vec<Function> = sources(&root().join("src/trade")).iter().flat_map(|file| functions(file)).collect();
    let mut reader = csv::Reader::from_reader(include_str!("functions.csv").as_bytes());
    let covered: IndexMap<String, Covered> =
        reader.deserialize().map(|line| line.map(|line: Covered| (line.function.clone(), line)).unwrap()).collect();
    let measured: IndexMap<String, Measured> = everything().into_iter().map(|one| (one.group.clone(), one)).collect();
    let (properties, differential) = tests();
    let mut wrong = Vec::new();
    let mut rows = Vec::new();
    for function in &functions {
        match covered.get(&function.path) {
            Some(line) => {
                wrong.extend(faults(function, line, &functions, &measured, &properties, &differential));
                rows.push(row(function, line, &measured));
            }
            None => wrong.push(format!("{} has no line in tests/published/functions.csv", function.path)),
        }
    }
    let known = |path: &str| functions.iter().any(|function| function.path == path);
    wrong.extend(
        covered.keys().filter(|path| !known(path)).map(|path| format!("{path} is no public function of the trade")),
    );
    let unused = measured
        .keys()
        .filter(|group| !covered.values().any(|line| several(&line.differential).any(|one| one == *group)));
    wrong.extend(unused.map(|group| format!("the differential test `{group}` stands beside no function")));
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
    settle(&rows, &measured);
}

fn faults(
    function: &Function,
    line: &Covered,
    functions: &[Function],
    measured: &IndexMap<String, Measured>,
    properties: &[String],
    differential: &str,
) -> Vec<String> {
    let path = &function.path;
    let name = path.rsplit("::").next().unwrap();
    let mut wrong = Vec::new();
    if line.differential.is_empty() && line.note.is_empty() {
        wrong.push(format!("{path} has neither a differential test nor a note why not"));
    }
    for group in several(&line.differential) {
        if !measured.contains_key(group) {
            wrong.push(format!("{path}: there is no differential test `{group}`"));
        }
    }
    if !line.differential.is_empty() && !differential.contains(name) {
        wrong.push(format!("{path}: no differential test calls it"));
    }
    if line.property.is_empty() && line.note.is_empty() {
        wrong.push(format!("{path} has neither a property test nor a note why not"));
    }
    for test in several(&line.property) {
        let declared = format!("fn {test}(");
        match properties.iter().find_map(|text| text.split_once(&declared)) {
            None => wrong.push(format!("{path}: there is no property test `{test}`")),
            Some((_, body)) if !body.split("\n    #[test]").next().unwrap().contains(name) => {
                wrong.push(format!("{path}: the property test `{test}` does not call it"));
            }
            Some(_) => {}
        }
    }
    if line.uncertainty.is_empty() {
        wrong.push(format!("{path}: nothing is said of its uncertainty"));
    }
    if line.uncertainty.contains("::") && !functions.iter().any(|other| other.path == line.uncertainty) {
        wrong.push(format!("{path}: there is no function `{}`", line.uncertainty));
    }
    if source(&function.doc).is_empty() && line.note.is_empty() {
        wrong.push(format!("{path}: neither its documentation nor a note says where the formula comes from"));
    }
    wrong
}

fn row(function: &Function, line: &Covered, measured: &IndexMap<String, Measured>) -> String {
    let groups: Vec<&Measured> = several(&line.differential).filter_map(|group| measured.get(group)).collect();
    let told = |each: fn(&&Measured) -> String| groups.iter().map(each).collect::<Vec<_>>().join("; ");
    let source = [source(&function.doc), line.note.clone()]
        .into_iter()
        .filter(|said| !said.is_empty())
        .collect::<Vec<_>>()
        .join("; ");
    format!(
        "| `{}` | {source} | {} | {} | {} | {} | {} |",
        function.path,
        told(|group| format!("{} (*{}*)", group.against, group.group)),
        told(|group| group.inputs.to_string()),
        told(|group| deviation(group.worst)),
        several(&line.property).map(|test| test.replace('_', " ")).collect::<Vec<_>>().join("; "),
        line.uncertainty,
    )
}

fn deviation(worst: f64) -> String {
    if worst == 0.0 { "0".into() } else { format!("< {:e}", rounded_up(worst)) }
}

fn settle(rows: &[String], measured: &IndexMap<String, Measured>) {
    let mut page = String::from(HEAD);
    page.push_str("| function | formula's source | compared with | random inputs | worst deviation | property tests | uncertainty |\n");
    page.push_str("| --- | --- | --- | ---: | --- | --- | --- |\n");
    rows.iter().for_each(|row| writeln!(page, "{row}").unwrap());
    page.push_str("\n## Differential tests\n\n| test | against | random inputs | worst deviation | tolerance |\n| --- | --- | ---: | --- | --- |\n");
    for one in measured.values() {
        let (worst, tolerance) = (deviation(one.worst), one.tolerance);
        let allowed = if tolerance == 0.0 { "exact".into() } else { format!("{tolerance:e}") };
        writeln!(page, "| {} | {} | {} | {worst} | {allowed} |", one.group, one.against, one.inputs).unwrap();
    }
    let inputs: usize = measured.values().map(|one| one.inputs).sum();
    writeln!(
        page,
        "\nIn all: {} functions, {} differential tests, {inputs} random inputs.",
        rows.len(),
        measured.len()
    )
    .unwrap();
    let path = root().join("docs/computations.md");
    if std::env::var_os("LOOPLEAF_BLESS").is_some() {
        fs::write(path, page).unwrap();
    } else {
        let found = fs::read_to_string(path).unwrap_or_default();
        let differs = page.lines().zip(found.lines().chain(std::iter::repeat(""))).find(|(new, old)| new != old);
        assert!(page == found, "docs/computations.md is out of date: run the tests with LOOPLEAF_BLESS=1\n{differs:?}");
    }
}
