//! Names as they stand in the text, before anything is bound: two of the same, two that look the same, names that are units or
//! words of the language, and names that nothing uses.

use std::collections::HashSet;

use indexmap::IndexMap;

use super::library::{Library, Sort, look_alike};
use super::load::Loaded;
use super::read::Notes;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::Unit;
use crate::source::{SourceId, Span};
use crate::syntax::tree::{self, Expr, Node, Part, Statement, Tolerance, Word};

/// What shares a space of names within one kind of block: the block, the statements that name, what one of them is called.
const SPACES: &[(&str, &[&str], &str)] = &[
    ("protocol", &["parameter", "let"], "value"),
    ("campaign", &["model"], "model"),
    ("campaign", &["test"], "test"),
    ("campaign", &["person"], "person"),
    ("campaign", &["specimen"], "specimen"),
    ("laboratory", &["test"], "laboratory test"),
    (
        "rig",
        &["reservoir", "pump", "heater", "relief", "part", "line", "valve", "polisher", "sampler", "injector", "route"],
        "thing of the rig",
    ),
    ("rig", &["instrument"], "instrument of the rig"),
    ("rules", &["window", "threshold"], "number of the pack"),
    ("rules", &["caution"], "caution"),
];

/// Words that hold statements together: a value of such a name could not be told from them.
const JOINTS: [&str; 24] = [
    "within", "at", "to", "of", "from", "on", "in", "with", "and", "by", "above", "after", "until", "every", "each",
    "for", "under", "through", "least", "most", "worst", "without", "than", "per",
];

/// Statements whose names can be written where a value or a unit may stand.
const IN_VALUES: [&str; 9] =
    ["parameter", "let", "fluid", "dust", "instrument", "laboratory", "protocol", "model", "rules"];

pub(crate) fn check(loaded: &Loaded, notes: &Notes) {
    for tree in &loaded.trees {
        let names = Names { source: tree.source, notes };
        for statement in &tree.statements {
            names.not_a_word(statement);
            names.block(statement);
            match statement.key() {
                "protocol" => names.unused_values(statement),
                "campaign" => names.unused_specimens(statement),
                _ => {}
            }
        }
    }
}

struct Names<'n> {
    source: SourceId,
    notes: &'n Notes,
}

impl Names<'_> {
    fn report(&self, code: Code, message: String, span: Span, role: &str, help: String) {
        self.notes.add(Diagnostic::new(code, message).at(self.source, span, role).help(help));
    }

    fn block(&self, owner: &Statement) {
        for (kind, keys, called) in SPACES.iter().filter(|(kind, _, _)| *kind == owner.key()) {
            let named = owner.block.iter().filter(|s| keys.contains(&s.key())).filter_map(name_of);
            self.distinct(named, called, *kind != "rig" || keys.contains(&"valve"));
        }
        for statement in &owner.block {
            self.not_a_word(statement);
            if let Some(Part::Bindings(bindings)) =
                statement.block.iter().find(|s| s.key() == "with").and_then(|s| s.part("bindings"))
            {
                self.distinct(bindings.iter().map(|(word, _)| word), "parameter in this `with`", false);
            }
        }
    }

    /// No two the same, and no two that look the same.
    fn distinct<'w>(&self, words: impl Iterator<Item = &'w Word>, called: &str, on_paper: bool) {
        let mut seen: IndexMap<String, &Word> = IndexMap::new();
        for word in words {
            let key = if on_paper { look_alike(&word.text) } else { word.text.clone() };
            let Some(first) = seen.get(&key) else {
                seen.insert(key, word);
                continue;
            };
            let same = first.text == word.text;
            // Two specimens of one code are found where the specimens are registered.
            if same && called == "specimen" {
                continue;
            }
            let (code, message, help) = if same {
                let message = format!("`{}` is the name of more than one {called}", word.text);
                let help = if called.ends_with("`with`") {
                    "keep one of the two values"
                } else {
                    "give one of them another name"
                };
                (Code::DuplicateName, message, help)
            } else {
                let message = format!("`{}` and `{}` look the same on paper", first.text, word.text);
                (
                    Code::LookAlikeNames,
                    message,
                    "rename one so that they differ in more than O and 0, S and 5, or I, l and 1",
                )
            };
            self.notes.add(
                Diagnostic::new(code, message)
                    .at(self.source, word.span, if same { "again here" } else { "this name" })
                    .also(self.source, first.span, if same { "here already" } else { "and this one" })
                    .help(help),
            );
        }
    }

    /// `parameter min` could be read as a unit.
    fn not_a_word(&self, statement: &Statement) {
        if !IN_VALUES.contains(&statement.key()) {
            return;
        }
        let Some(Part::New(word)) = statement.part("name") else { return };
        let text = word.text.as_str();
        // Units are short single words; whatever else stands there isn't asked.
        let is_unit = text.len() <= 9 && !text.contains('-') && Unit::parse(text).is_ok();
        let what = if is_unit {
            "a unit"
        } else if JOINTS.contains(&text) {
            "a word of the language"
        } else {
            return;
        };
        self.report(
            Code::NameIsWord,
            format!("`{text}` is {what}, and cannot be the name of something"),
            word.span,
            "this name",
            format!("add a word to it that says what it is, such as `test-{text}`"),
        );
    }

    /// Parameters and `let`s that no step of their protocol reads.
    fn unused_values(&self, protocol: &Statement) {
        let mut used = HashSet::new();
        for statement in &protocol.block {
            words(statement, &mut used);
        }
        for statement in protocol.block.iter().filter(|s| ["parameter", "let"].contains(&s.key())) {
            let Some(Part::New(word)) = statement.part("name") else { continue };
            if !used.contains(word.text.as_str()) {
                self.report(
                    Code::UnusedName,
                    format!("nothing in this protocol uses `{}`", word.text),
                    word.span,
                    "given a value here",
                    "take it out, or write its name where the value is meant".to_owned(),
                );
            }
        }
    }

    /// Specimens that no test takes, and models of which there is none.
    fn unused_specimens(&self, campaign: &Statement) {
        let tests: Vec<&Statement> = campaign.block.iter().filter(|s| s.key() == "test").collect();
        let chosen = |test: &&Statement| test.block.iter().any(|line| line.key() == "specimens");
        let specimens = || campaign.block.iter().filter(|s| s.key() == "specimen");
        if !tests.is_empty() && tests.iter().all(chosen) {
            let mut used = HashSet::new();
            for test in &tests {
                words(test, &mut used);
            }
            // Spare cans of a model that is tested are good practice.
            let of = |specimen: &'_ Statement| match specimen.part("model") {
                Some(Part::Name(model)) => Some(model.text.clone()),
                _ => None,
            };
            let is_used =
                |specimen: &Statement| name_of(specimen).is_some_and(|word| used.contains(word.text.as_str()));
            let tested: HashSet<String> = specimens().filter(|s| is_used(s)).filter_map(of).collect();
            let idle = specimens().filter(|s| !is_used(s) && of(s).is_none_or(|model| !tested.contains(&model)));
            for word in idle.filter_map(name_of) {
                self.report(
                    Code::UnusedName,
                    format!("no test takes the specimen `{}`", word.text),
                    word.span,
                    "bought and not tested",
                    format!("add `{}` to the `specimens` of a test, or take it out", word.text),
                );
            }
        }
        let mut of_models = HashSet::new();
        for specimen in specimens() {
            words(specimen, &mut of_models);
        }
        for word in campaign.block.iter().filter(|s| s.key() == "model").filter_map(name_of) {
            if !of_models.contains(word.text.as_str()) {
                self.report(
                    Code::UnusedName,
                    format!("there is no specimen of the model `{}`", word.text),
                    word.span,
                    "described and not tested",
                    format!("add `specimen … of {}`, or take the model out", word.text),
                );
            }
        }
    }
}

/// Fluids, dusts and instruments that a campaign's own file describes and nothing asks for. A file that others use is a shelf,
/// where much stands unused.
pub(crate) fn left_over(library: &Library<'_>, notes: &Notes) {
    let own: HashSet<SourceId> = library.of(Sort::Campaign).map(|d| d.source).collect();
    for sort in [Sort::Fluid, Sort::Dust, Sort::Instrument] {
        for declaration in library.of(sort).filter(|d| own.contains(&d.source) && !notes.is_used(&d.name)) {
            notes.add(
                Diagnostic::new(
                    Code::UnusedName,
                    format!(
                        "the {} `{}` is described beside the campaign and never used",
                        sort.called(),
                        declaration.name
                    ),
                )
                .at(declaration.source, declaration.name_span, "never used")
                .help("take it out, or look for a step that names another by mistake"),
            );
        }
    }
}

/// The name that a statement gives, or the one it takes up: `valve inlet`, `instrument dp-gauge`.
fn name_of(statement: &Statement) -> Option<&Word> {
    ["name", "code", "initials"].into_iter().find_map(|part| match statement.part(part)? {
        Part::New(word) | Part::Name(word) => Some(word),
        _ => None,
    })
}

/// Every word that a statement and its block refer to.
fn words<'t>(statement: &'t Statement, used: &mut HashSet<&'t str>) {
    for (_, part) in &statement.parts {
        match part {
            Part::Name(word) | Part::Path(word) => {
                used.insert(&word.text);
            }
            Part::Names(names) => used.extend(names.iter().map(|word| word.text.as_str())),
            Part::Value(expr) | Part::List(expr) => in_value(expr, used),
            Part::Setting(setting) => {
                in_values([&setting.target], used);
                match &setting.tolerance {
                    Tolerance::PlusMinus(expr) | Tolerance::Within(expr) => in_value(expr, used),
                    Tolerance::Bounds(bounds) => in_bounds(bounds, used),
                    Tolerance::None | Tolerance::Missing => {}
                }
            }
            Part::Bounds(bounds) => in_bounds(bounds, used),
            Part::Bindings(bindings) => bindings.iter().for_each(|(_, expr)| in_value(expr, used)),
            Part::Condition(condition) => {
                in_value(&condition.left, used);
                in_value(&condition.right, used);
            }
            Part::Accuracy(terms, _) => terms.iter().for_each(|term| in_value(&term.value, used)),
            Part::Text(_)
            | Part::New(_)
            | Part::Choice(_)
            | Part::Integer(..)
            | Part::Date(_)
            | Part::Cleanliness(_)
            | Part::Dimension(_)
            | Part::Mark(_) => {}
        }
    }
    for inner in &statement.block {
        words(inner, used);
    }
}

fn in_bounds<'t>(bounds: &'t tree::Bounds, used: &mut HashSet<&'t str>) {
    in_values([&bounds.low, &bounds.high], used);
}

fn in_values<'t, const N: usize>(values: [&'t Option<Expr>; N], used: &mut HashSet<&'t str>) {
    values.into_iter().flatten().for_each(|expr| in_value(expr, used));
}

fn in_value<'t>(expr: &'t Expr, used: &mut HashSet<&'t str>) {
    match &expr.node {
        Node::Name(name) => {
            used.insert(name);
        }
        Node::List(items) => items.iter().for_each(|item| in_value(item, used)),
        Node::Binary(_, left, right) => {
            in_value(left, used);
            in_value(right, used);
        }
        Node::Number(_) | Node::Quantity { .. } => {}
    }
}
