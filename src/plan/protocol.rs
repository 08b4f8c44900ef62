//! Protocols: parameters bound, then unfolded.

use indexmap::IndexMap;

use super::declare::{Bench, stand_in, unbound};
use super::library::{Declaration, Library, Sort};
use super::model::{Hazard, Instrument, Leaning, Limits, Order, ProtocolHead, Rig, Test};
use super::read::{Bound, Context, Notes, si_of};
use super::unfold::{Surroundings, unfold};
use super::value::Value;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Kind, Quantity};
use crate::source::Span;
use crate::syntax::tree::{Expr, Node, Part, Statement, Word};

/// What a campaign's `with` says: parameter, value, and where.
pub(crate) struct Given<'g> {
    pub(crate) bindings: &'g [(Word, Expr)],
    pub(crate) context: &'g Context<'g>,
    pub(crate) place: Span,
}

/// A protocol unfolded for a test of a campaign; nothing where it could not be bound.
pub(crate) fn bind(
    declaration: &Declaration<'_>,
    library: &Library<'_>,
    bench: &Bench,
    notes: &Notes,
    given: Option<&Given<'_>>,
    rig: Option<&Rig>,
    test: (&str, &str),
) -> Option<(Test, Vec<super::model::Waiver>)> {
    notes.mark_used(&declaration.name);
    let mut instruments = bench.instruments.clone();
    let (bound, parameters) = parameters(declaration, library, notes, given, test.0, &mut instruments)?;
    let context = Context { source: declaration.source, library, notes, bound: &bound };
    let block = &declaration.statement.block;
    let find = |key: &str| block.iter().find(|s| s.key() == key);
    let (revision, purpose) = (find("revision")?, find("purpose")?);
    let mut result = Test {
        name: test.0.to_owned(),
        title: test.1.to_owned(),
        protocol: ProtocolHead {
            name: declaration.name.clone(),
            title: declaration.title.clone(),
            revision: context.integer(revision, "revision")?,
            purpose: context.text(purpose, "text")?,
            leans_on: leanings(block, &context),
        },
        parameters,
        limits: find("limits").map(|s| limits(s, &context)).unwrap_or_default(),
        protection: Vec::new(),
        dosing: find("dosing").and_then(|s| context.text(s, "design")),
        reject_if: block
            .iter()
            .filter(|s| s.key() == "reject a run if")
            .filter_map(|s| context.text(s, "text"))
            .collect(),
        on: None,
        order: Order::AsListed,
        stages: Vec::new(),
        steps: Vec::new(),
        batches: Vec::new(),
        hazards: Vec::new(),
        origin: context.origin(declaration.name_span),
        asked: given.map(|given| given.context.origin(given.place)),
    };
    for s in block.iter().filter(|s| s.key() == "protect") {
        if let Some(equipment) = context.text(s, "equipment") {
            let hazard = context.text(s, "trigger").and_then(|t| Hazard::from_words(&t)).unwrap_or(Hazard::Always);
            result.protection.push((equipment, hazard));
        }
    }
    needs(block, rig, &context);
    let surroundings = Surroundings { context: &context, bench, instruments: &instruments, rig, block };
    let waivers = unfold(&surroundings, &mut result)?;
    Some((result, waivers))
}

/// A protocol that no campaign uses: unfolded with its defaults, for its findings.
pub(crate) fn read_alone(declaration: &Declaration<'_>, library: &Library<'_>, bench: &Bench, notes: &Notes) {
    let _unfolded = bind(declaration, library, bench, notes, None, None, (&declaration.name, &declaration.title));
}

fn leanings(block: &[Statement], context: &Context<'_>) -> Vec<Leaning> {
    block
        .iter()
        .filter(|s| s.key() == "leans on")
        .filter_map(|s| {
            let departures = s
                .block
                .iter()
                .filter_map(|d| context.text(d, "text").map(|text| (text, context.text(d, "effect"))))
                .collect();
            Some(Leaning { standard: context.text(s, "standard")?, departures, origin: context.origin(s.head) })
        })
        .collect()
}

fn limits(statement: &Statement, context: &Context<'_>) -> Limits {
    let mut limits = Limits::default();
    for s in &statement.block {
        limits.said.push((s.key(), context.origin(s.head)));
        match s.key() {
            "fluid temperature at most" => limits.fluid_temperature = context.quantity(s, "temperature"),
            "line pressure at most" => limits.line_pressure = context.quantity(s, "pressure"),
            "differential pressure at most" => limits.differential_pressure = context.quantity(s, "pressure"),
            "reservoir volume at least" => limits.reservoir_volume = context.quantity(s, "volume"),
            "stop if" => limits.stop_if.extend(context.text(s, "text")),
            _ => {}
        }
    }
    limits
}

/// What a protocol needs of a rig.
fn needs(block: &[Statement], rig: Option<&Rig>, context: &Context<'_>) {
    let Some(rig) = rig else { return };
    for s in block {
        let (what, has): (&str, bool) = match (s.key(), context.word(s, "name")) {
            ("needs route", Some(word)) => ("route", rig.routes.contains_key(&word.text)),
            ("needs sampler", Some(word)) => ("sampler", rig.samplers.contains_key(&word.text)),
            _ => continue,
        };
        if let (false, Some(word)) = (has, context.word(s, "name")) {
            context.notes.add(
                Diagnostic::new(
                    Code::UnknownRoute,
                    format!("the rig `{}` has no {what} called `{}`", rig.name, word.text),
                )
                .at(context.source, word.span, "the protocol needs it")
                .also(rig.origin.source, rig.origin.span, "this rig does not have it")
                .help(format!("give the rig a {what} of this name, or run the protocol on another rig")),
            );
        }
    }
}

type Parameters = (IndexMap<String, Bound>, Vec<(String, String)>);

fn parameters(
    declaration: &Declaration<'_>,
    library: &Library<'_>,
    notes: &Notes,
    given: Option<&Given<'_>>,
    test: &str,
    instruments: &mut IndexMap<String, Instrument>,
) -> Option<Parameters> {
    let mut bound = unbound();
    let mut printed = Vec::new();
    let mut whole = true;
    let block = &declaration.statement.block;
    if let Some(given) = given {
        unknown_bindings(given, block, declaration);
    }
    for s in block {
        let context = Context { source: declaration.source, library, notes, bound: &bound };
        match s.key() {
            "parameter" => {
                let Some(name) = context.text(s, "name") else { continue };
                match parameter(s, &name, &context, given, test, instruments) {
                    Some((value, text)) => {
                        printed.push((name.clone(), text));
                        bound.insert(name, value);
                    }
                    None => whole = false,
                }
            }
            "let" => {
                let (Some(name), Some(Part::Value(expr))) = (context.text(s, "name"), s.part("value")) else {
                    continue;
                };
                match context.evaluator().any_value(expr) {
                    Some(value) => {
                        bound.insert(name, Bound::Value(value));
                    }
                    None => whole = false,
                }
            }
            _ => {}
        }
    }
    whole.then_some((bound, printed))
}

fn unknown_bindings(given: &Given<'_>, block: &[Statement], declaration: &Declaration<'_>) {
    let names: Vec<&str> = block
        .iter()
        .filter(|s| s.key() == "parameter")
        .filter_map(|s| match s.part("name") {
            Some(Part::New(word)) => Some(word.text.as_str()),
            _ => None,
        })
        .collect();
    for (word, _) in given.bindings {
        if !names.contains(&word.text.as_str()) {
            let help = match crate::syntax::nearest(&word.text, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!(
                    "its parameters are {}",
                    names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ")
                ),
            };
            given.context.notes.add(
                Diagnostic::new(
                    Code::UnknownParameter,
                    format!("`{}` has no parameter `{}`", declaration.name, word.text),
                )
                .at(given.context.source, word.span, "given here")
                .also(declaration.source, declaration.name_span, "this protocol")
                .help(help),
            );
        }
    }
}

fn parameter(
    s: &Statement,
    name: &str,
    context: &Context<'_>,
    given: Option<&Given<'_>>,
    test: &str,
    instruments: &mut IndexMap<String, Instrument>,
) -> Option<(Bound, String)> {
    let dimension = context.word(s, "dimension")?;
    let here =
        given.and_then(|g| g.bindings.iter().find(|(word, _)| word.text == name).map(|(_, expr)| (expr, g.context)));
    let default = match s.part("default") {
        Some(Part::Value(expr)) => Some((expr, context)),
        _ => None,
    };
    let written = here.or(default);
    let nothing = unbound();
    let typed = context.library.changes.parameter(test, name);
    let typed_context = typed.map(|change| {
        change.take(written.map_or(context.source, |(_, scope)| scope.source), written.map(|(expr, _)| expr.span));
        Context { source: change.source, library: context.library, notes: context.notes, bound: &nothing }
    });
    let source = typed.zip(typed_context.as_ref()).map(|(change, scope)| (&change.expr, scope)).or(written);
    if let Some(sort) = Sort::from_words(&dimension.text) {
        return role(s, sort, name, context, source, given, instruments);
    }
    let Some(kind) = Kind::from_word(&dimension.text) else {
        context.report(
            Code::WrongParameterType,
            format!("`{}` is not a kind of parameter", dimension.text),
            dimension.span,
            "unknown kind",
            "write a kind such as `flow`, `differential-pressure`, `temperature`, `mass`, `number`, `fluid`, `dust` or `instrument`",
        );
        return None;
    };
    let Some((expr, scope)) = source else {
        not_bound(s, name, context, given, kind.example());
        return None;
    };
    let quantity = scope.evaluator().quantity(expr, kind)?;
    in_range(s, name, &quantity, kind, expr, scope, context);
    let text = quantity.to_string();
    let value = if kind == Kind::Number {
        Value::Number(quantity.number.clone(), quantity.value)
    } else {
        Value::Quantity(quantity)
    };
    Some((Bound::Value(value), text))
}

fn role(
    s: &Statement,
    sort: Sort,
    name: &str,
    context: &Context<'_>,
    source: Option<(&Expr, &Context<'_>)>,
    given: Option<&Given<'_>>,
    instruments: &mut IndexMap<String, Instrument>,
) -> Option<(Bound, String)> {
    let measures = context.measures(s, "measures");
    let Some((expr, scope)) = source else {
        if sort == Sort::Instrument && given.is_none() {
            let stand_in = stand_in(name, measures?, context.origin(s.head));
            instruments.insert(name.to_owned(), stand_in);
            return Some((Bound::Name(sort, name.to_owned()), name.to_owned()));
        }
        not_bound(s, name, context, given, &format!("(the name of {})", sort.one()));
        return None;
    };
    let Node::Name(text) = &expr.node else {
        scope.report(
            Code::WrongParameterType,
            format!("`{name}` wants the name of {}", sort.one()),
            expr.span,
            "this is a value",
            format!("write the name of {} that is declared", sort.one()),
        );
        return None;
    };
    let actual = scope.resolve(&Word { text: text.clone(), span: expr.span }, sort)?;
    if let (Some(wanted), Some(instrument)) = (measures, instruments.get(&actual))
        && instrument.measures != wanted
    {
        context.notes.add(
            Diagnostic::new(
                Code::NoInstrumentMeasures,
                format!("`{actual}` measures {}, but `{name}` needs {}", instrument.measures.words(), wanted.words()),
            )
            .at(scope.source, expr.span, "given here")
            .also(context.source, s.head, "what the protocol needs")
            .also(instrument.origin.source, instrument.origin.span, "this instrument")
            .help(format!("name an instrument that measures {}", wanted.words())),
        );
        return None;
    }
    Some((Bound::Name(sort, actual.clone()), actual))
}

fn not_bound(s: &Statement, name: &str, context: &Context<'_>, given: Option<&Given<'_>>, example: &str) {
    let finding = Diagnostic::new(Code::UnboundParameter, format!("the parameter `{name}` has no value"));
    let finding = match given {
        Some(given) => finding
            .at(given.context.source, given.place, "this test does not say it")
            .also(context.source, s.head, "declared here without a default")
            .help(format!("give it one in the test: `with {name} = {example}`")),
        None => finding.at(context.source, s.head, "no default").help(format!("give it a default, `= …`: {example}")),
    };
    context.notes.add(finding);
}

fn in_range(
    s: &Statement,
    name: &str,
    quantity: &Quantity,
    kind: Kind,
    expr: &Expr,
    scope: &Context<'_>,
    context: &Context<'_>,
) {
    let Some(range) = context.bounds_as(s, "bounds", kind) else { return };
    let value = si_of(quantity, Some(kind));
    let slack = 1e-9 * value.abs();
    let below = range.window.low.is_some_and(|low| value < low - slack);
    let above = range.window.high.is_some_and(|high| value > high + slack);
    if below || above {
        let end = |q: &Option<Quantity>| q.as_ref().map_or_else(|| "no limit".to_owned(), ToString::to_string);
        context.notes.add(
            Diagnostic::new(Code::OutsideRange, format!("`{name}` is {quantity}, outside what the protocol allows"))
                .at(scope.source, expr.span, "this value")
                .also(context.source, s.head, "allowed here")
                .help(format!("choose between {} and {}", end(&range.low), end(&range.high))),
        );
    }
}
