//! The fingerprint changes exactly when the plan's meaning does.
//!
//! Every number, tolerance, instrument and statement of the shipped campaigns is changed, one at a time, and the plan must
//! show it. That is some thousand plans, so each run looks at a share of them; `LOOPLEAF_EVERY_CHANGE=1` looks at all.

use std::collections::BTreeSet;

use loopleaf::difference::compare;
use loopleaf::plan::Plan;
use loopleaf::source::{Sources, Span};
use loopleaf::syntax::parse;
use loopleaf::syntax::tree::{Bounds, Expr, Node, Part, Setting, Statement, Tolerance};
use loopleaf::syntax::vocabulary::{Form, Piece, Sort};

use crate::shipped::{CAMPAIGNS, bound, fingerprint, leaf_files, memory, untidy};

/// Statements whose change a plan need not show, and why: the kind of block, how the statement begins, which change.
const NOT_IN_THE_PLAN: &[(&str, &str, What, &str)] = &[
    ("protocol", "parameter", What::Number, "a default that the campaign replaces, or a bound on what may be bound"),
    ("protocol", "parameter", What::Instrument, "a default that the campaign replaces"),
    ("protocol", "parameter", What::Whole, "without a parameter that no step uses, the steps are the same"),
    ("protocol", "needs route", What::Whole, "asks something of the rig; the steps say which way they take"),
    ("protocol", "needs sampler", What::Whole, "asks something of the rig; the steps say where they draw"),
    ("rules", "rule", What::Whole, "is checked before anything is run, and asks nothing of the operator"),
    ("rule", "require", What::Number, "is checked before anything is run, and asks nothing of the operator"),
    ("rule", "where", What::Number, "is checked before anything is run, and asks nothing of the operator"),
    ("rule", "where", What::Whole, "is checked before anything is run, and asks nothing of the operator"),
    ("rule", "because", What::Whole, "says why, not what"),
    ("rule", "severity", What::Whole, "is checked before anything is run, and asks nothing of the operator"),
    ("campaign", "laboratory", What::Whole, "the plan holds every laboratory that its files describe"),
    ("test", "on", What::Whole, "a day for the diary: the plan does not hold it yet"),
    ("stage", "fluid", What::Whole, "the oil that is in the rig already goes on being used"),
    ("why", "because", What::Whole, "says why, not what"),
    ("test", "replicates", What::Whole, "one is what is meant without it"),
    ("test", "order random from seed", What::Number, "another seed may draw the same order"),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Number,
    /// A parameter's default that no test of the campaign replaces.
    Default,
    Tolerance,
    Instrument,
    Whole,
}

/// One change to one file.
#[derive(Debug)]
struct Change {
    what: What,
    /// The kind of block, the declaration that it stands in, what it declares itself, and how the statement begins.
    block: &'static str,
    top: String,
    own: String,
    key: &'static str,
    file: usize,
    span: Span,
    new: String,
}

/// Gathers the changes that a file offers.
struct Gather<'a> {
    file: usize,
    text: &'a str,
    /// Instruments declared anywhere, and parameters that stand for one, with what they measure.
    instruments: &'a [(String, String)],
    /// What the campaign's tests put in place of parameters.
    bindings: &'a [(String, String)],
    changes: Vec<Change>,
}

impl Gather<'_> {
    fn slice(&self, span: Span) -> &str {
        &self.text[span.range()]
    }

    fn block(&mut self, block: &'static str, top: Option<&str>, statements: &[Statement]) {
        for statement in statements.iter().filter(|s| s.key() != "use") {
            let own = declared(statement);
            let top = top.map_or_else(|| declared(statement), str::to_owned);
            let mut push = |what, span, new| {
                let key = statement.key();
                self.changes.push(Change {
                    what,
                    block,
                    top: top.clone(),
                    own: own.clone(),
                    key,
                    file: self.file,
                    span,
                    new,
                });
            };
            push(What::Whole, statement.span, String::new());
            let mut found = Vec::new();
            for (name, part) in &statement.parts {
                let from = found.len();
                self.part(sort(statement.form, name), part, &mut found);
                if *name == "default" && !self.is_replaced(statement) {
                    found[from..].iter_mut().for_each(|(what, ..)| *what = What::Default);
                }
            }
            for (what, span, new) in found {
                let key = statement.key();
                self.changes.push(Change {
                    what,
                    block,
                    top: top.clone(),
                    own: own.clone(),
                    key,
                    file: self.file,
                    span,
                    new,
                });
            }
            let inner = statement.form.opens.as_ref().map_or("", |(inner, _)| inner.as_str());
            self.block(inner, Some(&top), &statement.block);
        }
    }

    /// Whether a test of the campaign gives this parameter a value of its own.
    fn is_replaced(&self, parameter: &Statement) -> bool {
        let Some(Part::New(name)) = parameter.part("name") else { return false };
        self.bindings.iter().any(|(bound, _)| *bound == name.text)
    }

    fn part(&self, sort: Option<&Sort>, part: &Part, found: &mut Vec<(What, Span, String)>) {
        match part {
            Part::Value(expression) | Part::List(expression) => self.expression(expression, found),
            Part::Setting(setting) => self.setting(setting, found),
            Part::Bounds(bounds) => self.bounds(bounds, found),
            Part::Bindings(bindings) => bindings.iter().for_each(|(_, value)| self.expression(value, found)),
            Part::Condition(condition) => {
                self.expression(&condition.left, found);
                self.expression(&condition.right, found);
            }
            Part::Accuracy(terms, _) => terms.iter().for_each(|term| self.expression(&term.value, found)),
            Part::Integer(_, span) => found.push((What::Number, *span, other_number(self.slice(*span)))),
            Part::Name(word) if sort == Some(&Sort::Name("instrument".to_owned())) => {
                self.instrument(&word.text, word.span, found);
            }
            _ => {}
        }
    }

    fn setting(&self, setting: &Setting, found: &mut Vec<(What, Span, String)>) {
        if let Some(target) = &setting.target {
            self.expression(target, found);
        }
        match &setting.tolerance {
            Tolerance::PlusMinus(tolerance) | Tolerance::Within(tolerance) => {
                self.expression(tolerance, found);
                if let Some(target) = &setting.target {
                    let span = Span::new(target.span.end as usize, tolerance.span.end as usize);
                    found.push((What::Tolerance, span, ", without tolerance".to_owned()));
                    found.push((What::Tolerance, span, String::new()));
                }
            }
            Tolerance::Bounds(bounds) => self.bounds(bounds, found),
            Tolerance::None | Tolerance::Missing => {}
        }
    }

    fn bounds(&self, bounds: &Bounds, found: &mut Vec<(What, Span, String)>) {
        for bound in [&bounds.low, &bounds.high].into_iter().flatten() {
            self.expression(bound, found);
        }
    }

    fn expression(&self, expression: &Expr, found: &mut Vec<(What, Span, String)>) {
        match &expression.node {
            Node::Number(_) | Node::Quantity { .. } => {
                let written = self.slice(expression.span);
                let end = written.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '-' && c != '−');
                let number = &written[..end.unwrap_or(written.len())];
                let start = expression.span.start as usize;
                found.push((What::Number, Span::new(start, start + number.len()), other_number(number)));
            }
            Node::Name(name) => self.instrument(name, expression.span, found),
            Node::List(items) => items.iter().for_each(|item| self.expression(item, found)),
            Node::Binary(_, left, right) => {
                self.expression(left, found);
                self.expression(right, found);
            }
        }
    }

    /// Another instrument that measures the same, or any other where there is none.
    fn instrument(&self, name: &str, span: Span, found: &mut Vec<(What, Span, String)>) {
        let Some((_, measures)) = self.instruments.iter().find(|(known, _)| known == name) else { return };
        let meant = |name: &str| -> BTreeSet<String> {
            let bound = self.bindings.iter().filter(|(parameter, _)| parameter == name);
            bound.map(|(_, instrument)| instrument.clone()).chain([name.to_owned()]).collect()
        };
        let own = meant(name);
        let others = || self.instruments.iter().filter(|(known, _)| meant(known).is_disjoint(&own));
        let alike = others().find(|(_, other)| other == measures).or_else(|| others().next());
        found.extend(alike.map(|(other, _)| (What::Instrument, span, other.clone())));
    }
}

/// The sort of a part, by its name.
fn sort<'f>(form: &'f Form, name: &str) -> Option<&'f Sort> {
    let mut pieces: Vec<&Piece> = form.pieces.iter().collect();
    while let Some(piece) = pieces.pop() {
        match piece {
            Piece::Part { name: known, sort } if known == name => return Some(sort),
            Piece::Clause(inner) => pieces.extend(inner),
            _ => {}
        }
    }
    None
}

/// What a statement declares: `fluid vg-15`.
fn declared(statement: &Statement) -> String {
    match statement.part("name") {
        Some(Part::New(word)) => format!("{} {}", statement.key(), word.text),
        _ => statement.key().to_owned(),
    }
}

/// The same number with another last digit.
fn other_number(number: &str) -> String {
    let last = number.len() - 1;
    let digit = match &number[last..] {
        "9" => "8".to_owned(),
        digit => (digit.parse::<u8>().unwrap() + 1).to_string(),
    };
    format!("{}{digit}", &number[..last])
}

/// What an instrument of any of these files measures, by its name; parameters of protocols count as instruments.
fn instruments(files: &[(String, String)]) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (path, text) in files {
        let mut sources = Sources::new();
        let id = sources.add(path.as_str(), text.as_str());
        for top in &parse(&sources, id).value.statements {
            let inner: Vec<&Statement> = match top.key() {
                "instrument" => top.block.iter().filter(|s| s.key() == "measures").collect(),
                "protocol" => top.block.iter().filter(|s| s.part("measures").is_some()).collect(),
                _ => continue,
            };
            for statement in inner {
                let measures = ["quantity", "measures"].iter().find_map(|part| statement.part(part));
                let named = if top.key() == "instrument" { top } else { statement };
                if let (Some(Part::New(name)), Some(Part::Choice(measures))) = (named.part("name"), measures) {
                    found.push((name.text.clone(), measures.text.clone()));
                }
            }
        }
    }
    found
}

/// Parameters and the names that a campaign's tests give for them; nothing for a value that is no name.
fn bindings(files: &[(String, String)]) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (path, text) in files {
        let mut sources = Sources::new();
        let id = sources.add(path.as_str(), text.as_str());
        let tree = parse(&sources, id).value;
        let campaigns = tree.statements.iter().filter(|top| top.key() == "campaign");
        for with in campaigns.flat_map(|top| &top.block).flat_map(|test| &test.block) {
            let Some(Part::Bindings(bindings)) = with.part("bindings") else { continue };
            for (parameter, value) in bindings {
                let name = if let Node::Name(name) = &value.node { name.as_str() } else { "" };
                found.push((parameter.text.clone(), name.to_owned()));
            }
        }
    }
    found
}

/// The files that a campaign uses, its own first.
fn used(entry: &str, files: &[(String, String)]) -> Vec<(String, String)> {
    let mut sources = Sources::new();
    loopleaf::plan::load(entry, &memory(files), &mut sources);
    sources.iter().map(|(_, source)| (source.name.clone(), source.text.clone())).collect()
}

/// Every change that a campaign's files offer.
fn changes(files: &[(String, String)]) -> Vec<Change> {
    let (instruments, bindings) = (instruments(files), bindings(files));
    let mut all = Vec::new();
    for (file, (path, text)) in files.iter().enumerate() {
        let mut sources = Sources::new();
        let id = sources.add(path.as_str(), text.as_str());
        let mut gather = Gather { file, text, instruments: &instruments, bindings: &bindings, changes: Vec::new() };
        gather.block("file", None, &parse(&sources, id).value.statements);
        all.extend(gather.changes);
    }
    all
}

/// Windows and thresholds that several packs of a campaign set, as they begin: `threshold polisher-use`.
fn replaced(changes: &[Change]) -> BTreeSet<String> {
    let set: Vec<&String> =
        changes.iter().filter(|c| c.block == "rules" && c.what == What::Whole).map(|c| &c.own).collect();
    set.iter().filter(|own| set.iter().filter(|other| other == own).count() > 1).map(|own| (*own).clone()).collect()
}

fn excuse(change: &Change, in_the_plan: &BTreeSet<String>, replaced: &BTreeSet<String>) -> Option<&'static str> {
    if change.block == "rules" && replaced.contains(&change.own) {
        return Some("another pack of this campaign sets it as well, and the last one counts");
    }
    if ["results", "logger"].contains(&change.block) || ["results file", "logger"].contains(&change.key) {
        return Some("says how somebody else's file is laid out, and asks nothing of the operator");
    }
    let declaration = ["fluid ", "dust ", "protocol ", "instrument ", "laboratory ", "rules "];
    if declaration.iter().any(|kind| change.top.starts_with(kind)) && !in_the_plan.contains(&change.top) {
        return Some("declared, but this campaign does not use it");
    }
    let listed = |(block, key, what, _): &&(&str, &str, What, &str)| {
        *block == change.block && *key == change.key && *what == change.what
    };
    NOT_IN_THE_PLAN.iter().find(listed).map(|(.., reason)| *reason)
}

/// Changes one thing after the other in the files of a campaign; tells what the plan does not show and nothing excuses.
fn unseen(folder: &str) -> Vec<String> {
    let share = if std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some() { 1 } else { 41 };
    let entry = format!("{folder}/campaign.leaf");
    let files = used(&entry, &leaf_files());
    let (plan, errors) = bound(&entry, &memory(&files));
    let plan = plan.unwrap();
    assert!(!errors, "{entry}");
    let before = &plan.fingerprint.full;
    let in_the_plan = declared_in(&plan);
    let changes = changes(&files);
    assert!(changes.len() > 500, "{folder} offers {} changes", changes.len());
    let replaced = replaced(&changes);
    let mut unseen = Vec::new();
    for change in changes.iter().step_by(share) {
        if excuse(change, &in_the_plan, &replaced).is_some() {
            continue;
        }
        let mut changed = files.clone();
        changed[change.file].1.replace_range(change.span.range(), &change.new);
        let (after, errors) = bound(&entry, &memory(&changed));
        let Some(after) = after.filter(|_| !errors) else { continue };
        let differs = after.fingerprint.full != *before;
        // What the fingerprint shows, a comparison of the two versions must tell.
        if differs && !compare((&plan, &[]), (&after, &[])).sections.is_empty() {
            continue;
        }
        let (path, text) = &files[change.file];
        let line = text[..change.span.start as usize].matches('\n').count() + 1;
        let old = text[change.span.range()].lines().next().unwrap_or_default();
        let Change { what, key, block, new, .. } = change;
        unseen.push(format!("{path}:{line}: {what:?} of `{key}` in {block}: `{old}` to `{new}`"));
    }
    unseen
}

/// What a plan holds of its files' declarations, as they begin: `fluid vg-15`.
fn declared_in(plan: &Plan) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut put = |kind: &str, name: &str| found.insert(format!("{kind} {name}"));
    plan.fluids.keys().for_each(|name| _ = put("fluid", name));
    plan.dusts.keys().for_each(|name| _ = put("dust", name));
    plan.instruments.keys().for_each(|name| _ = put("instrument", name));
    plan.laboratories.keys().for_each(|name| _ = put("laboratory", name));
    plan.tests.iter().for_each(|test| _ = put("protocol", &test.protocol.name));
    plan.rules.packs.iter().for_each(|(name, _)| _ = put("rules", name));
    found
}

#[test]
fn every_change_of_meaning_shows_for_the_ferries() {
    let unseen = unseen(CAMPAIGNS[0]);
    assert!(unseen.is_empty(), "{} changes do not show:\n{}", unseen.len(), unseen.join("\n"));
}

#[test]
fn every_change_of_meaning_shows_for_the_ploughs() {
    let unseen = unseen(CAMPAIGNS[1]);
    assert!(unseen.is_empty(), "{} changes do not show:\n{}", unseen.len(), unseen.join("\n"));
}

#[test]
fn comments_and_layout_do_not_show() {
    let files = leaf_files();
    let noisy: Vec<(String, String)> =
        files.iter().map(|(path, text)| (path.clone(), untidy(text, &[140, 210, 0, 190, 240, 222, 165]))).collect();
    for folder in CAMPAIGNS {
        let entry = format!("{folder}/campaign.leaf");
        assert_eq!(fingerprint(&entry, &memory(&noisy)), fingerprint(&entry, &memory(&files)), "{folder}");
    }
}

#[test]
fn names_of_files_do_not_show() {
    let all = leaf_files();
    for folder in CAMPAIGNS {
        let entry = format!("{folder}/campaign.leaf");
        let files = used(&entry, &all);
        // All files side by side, under names that say nothing.
        let new_name = |path: &str| files.iter().position(|(p, _)| p == path).map(|at| format!("file-{at}.leaf"));
        let renamed: Vec<(String, String)> = files
            .iter()
            .map(|(path, text)| {
                let (base, _) = path.rsplit_once('/').unwrap();
                let lines = text.lines().map(|line| match line.strip_prefix("use \"") {
                    Some(used) => {
                        let used = used.trim_end_matches('"');
                        let (above, own) = used.strip_prefix("../../").map_or((base, used), |own| ("", own));
                        let target = if above.is_empty() { own.to_owned() } else { format!("{above}/{own}") };
                        format!("use \"{}\"\n", new_name(&target).unwrap())
                    }
                    None => format!("{line}\n"),
                });
                (new_name(path).unwrap(), lines.collect())
            })
            .collect();
        let renamed_entry = new_name(&entry).unwrap();
        assert_ne!(renamed_entry, entry);
        assert_eq!(fingerprint(&renamed_entry, &memory(&renamed)), fingerprint(&entry, &memory(&all)), "{folder}");
    }
}

#[test]
fn the_short_form_is_of_the_full_one() {
    let files = leaf_files();
    for folder in CAMPAIGNS {
        let (plan, _) = bound(&format!("{folder}/campaign.leaf"), &memory(&files));
        let seal = plan.unwrap().fingerprint;
        assert_eq!(seal.full.len(), 64);
        let (first, second) = seal.short.split_once('-').unwrap();
        assert_eq!((first.len(), second.len()), (4, 4), "{}", seal.short);
        let body = format!("{first}{}", &second[..3]);
        assert_eq!(second.chars().last(), Some(loopleaf::plan::check_character(&body)), "{}", seal.short);
    }
}
