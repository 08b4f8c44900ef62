//! Campaigns: protocols bound to a rig, specimens and an order.

use indexmap::IndexMap;

use super::declare::{Bench, HouseRule, read_rig, read_rules, unbound};
use super::house;
use super::library::{Declaration, Library, Sort};
use super::model::{
    Ask, Bounds, Campaign, CampaignPlaces, Claim, Day, ExpectedRestriction, Expects, Hazard, Model, Order, Person,
    Plan, Rig, Rules, Run, Specimen, TellApart, Test, Waiver, Way,
};
use super::order::shuffle;
use super::protocol::{self, Given};
use super::read::{Context, Notes};
use super::result_key::size_words;
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::tree::{Part, Statement};

pub(crate) fn bind(declaration: &Declaration<'_>, library: &Library<'_>, bench: &Bench, notes: &Notes) -> Option<Plan> {
    let nothing = unbound();
    let context = Context { source: declaration.source, library, notes, bound: &nothing };
    let block = &declaration.statement.block;
    let rig = rig(block, library, notes, &context);
    let (rules, house_rules) = packs(block, library, notes, &context);
    let campaign = heads(declaration, &context);
    let mut waivers = Vec::new();
    let mut tests = Vec::new();
    let mut runs = Vec::new();
    let mut whole = true;
    for s in block {
        match s.key() {
            "waive" => waivers.extend(waiver(s, None, &campaign.name, &context)),
            "test" => match test(s, library, bench, notes, &context, rig.as_ref()) {
                Some((mut bound, inner)) => {
                    waivers.extend(inner);
                    for line in s.block.iter().filter(|l| l.key() == "waive") {
                        waivers.extend(waiver(line, Some(s), &bound.name, &context));
                    }
                    whole &= order(s, tests.len(), &campaign, &context, &mut runs);
                    (bound.on, bound.order) = (day(s, &context), how_ordered(s, &context));
                    tests.push(bound);
                }
                None => whole = false,
            },
            _ => {}
        }
    }
    number(&mut runs);
    let rig = rig?;
    if !whole {
        return None;
    }
    let mut laboratories = bench.laboratories.clone();
    let named: Vec<&str> =
        block.iter().filter_map(|s| context.word(s, "laboratory")).map(|w| w.text.as_str()).collect();
    laboratories.retain(|name, _| named.is_empty() || named.contains(&name.as_str()));
    let plan = collect(Plan {
        campaign,
        rig,
        fluids: bench.fluids.clone(),
        shelf: bench.fluids.values().cloned().collect(),
        dusts: bench.dusts.clone(),
        instruments: bench.instruments.clone(),
        laboratories,
        tests,
        runs,
        rules,
        waivers,
        changed: Vec::new(),
        fingerprint: super::Fingerprint::default(),
    });
    house::apply(&house_rules, &plan, library, notes);
    Some(plan)
}

/// Keeps what the campaign uses, so that a fluid that another protocol of the library needs is no part of the meaning.
fn collect(mut plan: Plan) -> Plan {
    let fluids = used_fluids(&plan);
    plan.fluids.retain(|name, _| fluids.contains(name));
    let dusts: Vec<String> = plan
        .tests
        .iter()
        .flat_map(|t| &t.steps)
        .filter_map(|step| match &step.action {
            super::Action::Dose { dust, .. } | super::Action::Condition { dust, .. } => Some(dust.clone()),
            _ => None,
        })
        .collect();
    plan.dusts.retain(|name, _| dusts.contains(name));
    let mut instruments: Vec<String> = plan.rig.instruments.clone();
    for reading in plan.tests.iter().flat_map(|t| &t.steps).flat_map(|s| &s.readings) {
        if let super::Wants::Number(numeric) = &reading.wants {
            instruments.extend(numeric.instrument.clone());
        }
    }
    plan.instruments.retain(|name, _| instruments.contains(name));
    plan
}

fn used_fluids(plan: &Plan) -> Vec<String> {
    use super::Action;
    let mut used = Vec::new();
    for step in plan.tests.iter().flat_map(|t| &t.steps) {
        match &step.action {
            Action::UseFluid { fluid } | Action::AntiDrain { fluid, .. } | Action::BubblePoint { fluid, .. } => {
                used.push(fluid.clone())
            }
            Action::HoldViscosity(hold) => {
                used.push(hold.fluid.clone());
                // `like multigrade-30 at 95 °C`: the curve that gave the target is part of the meaning.
                used.extend(hold.said.strip_prefix("like ").and_then(|s| s.split(' ').next()).map(str::to_owned));
            }
            Action::Dose { carrier_fluid, .. } | Action::Condition { carrier_fluid, .. } => {
                used.push(carrier_fluid.clone())
            }
            Action::ChangeFluid(change) => {
                used.push(change.to.clone());
                used.extend(change.flushes.iter().map(|(_, fluid, _)| fluid.clone()));
            }
            _ => {}
        }
    }
    used
}

fn rig(block: &[Statement], library: &Library<'_>, notes: &Notes, context: &Context<'_>) -> Option<Rig> {
    let line = block.iter().find(|s| s.key() == "rig")?;
    let name = context.resolve(context.word(line, "rig")?, Sort::Rig)?;
    let declaration = library.get(&name)?;
    let nothing = unbound();
    let there = Context { source: declaration.source, library, notes, bound: &nothing };
    read_rig(declaration, &there)
}

fn packs<'t>(
    block: &[Statement],
    library: &'t Library<'t>,
    notes: &Notes,
    context: &Context<'_>,
) -> (Rules, Vec<HouseRule<'t>>) {
    let mut rules = Rules::default();
    let mut house = Vec::new();
    let nothing = unbound();
    for s in block.iter().filter(|s| s.key() == "rules") {
        let Some(name) = context.word(s, "rules").and_then(|w| context.resolve(w, Sort::Rules)) else { continue };
        let Some(declaration) = library.get(&name) else { continue };
        let there = Context { source: declaration.source, library, notes, bound: &nothing };
        house.extend(read_rules(declaration, &there, &mut rules));
    }
    (rules, house)
}

fn heads(declaration: &Declaration<'_>, context: &Context<'_>) -> Campaign {
    let mut campaign = Campaign {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        invented: None,
        questions: Vec::new(),
        asks: Vec::new(),
        starts: None,
        ends: None,
        people: IndexMap::new(),
        models: IndexMap::new(),
        specimens: IndexMap::new(),
        blind: false,
        weights: Vec::new(),
        sent_every: None,
        bottles: Vec::new(),
        tell_apart: None,
        places: CampaignPlaces::default(),
        loggers: Vec::new(),
        origin: context.origin(declaration.name_span),
    };
    for s in &declaration.statement.block {
        match s.key() {
            "invented" => campaign.invented = context.text(s, "text"),
            "question" => {
                if let Some(text) = context.text(s, "text") {
                    campaign.questions.push(text);
                    campaign.asks.push(s.block.iter().filter_map(|line| ask(line, context)).collect());
                }
            }
            "starts" => {
                campaign.starts = context.date(s, "date");
                campaign.ends = context.date(s, "ends");
                campaign.places.dates = Some(context.origin(s.head));
            }
            "laboratory" => {
                if let Some(word) = context.word(s, "laboratory") {
                    context.resolve(word, Sort::Laboratory);
                }
                campaign.sent_every = context.quantity(s, "interval").or(campaign.sent_every.take());
                campaign.places.laboratory.get_or_insert(context.origin(s.head));
            }
            "bottles" => {
                campaign.bottles.extend(context.integer(s, "count").zip(context.quantity(s, "volume")));
                campaign.places.bottles.get_or_insert(context.origin(s.head));
            }
            "tell apart" => {
                campaign.places.tell_apart = Some(context.origin(s.head));
                campaign.tell_apart = context
                    .fraction(s, "difference")
                    .zip(context.fraction(s, "scatter"))
                    .map(|(difference, scatter)| TellApart { difference, scatter, mark: context.mark(s) });
            }
            "logger" => campaign.loggers.push(super::logger::read(s, context)),
            "blind" => campaign.blind = context.text(s, "blind").is_some_and(|b| b != "none"),
            "person" => {
                if let Some(person) = person(s, context) {
                    campaign.people.insert(person.initials.clone(), person);
                }
            }
            "model" => {
                if let Some(model) = model(s, context) {
                    campaign.models.insert(model.name.clone(), model);
                }
            }
            "weights" => {
                campaign.places.weights = Some(context.origin(s.head));
                if let Some(Part::Bindings(bindings)) = s.part("weights") {
                    for (word, expr) in bindings {
                        let share = context.evaluator().quantity(expr, crate::quantity::Kind::Fraction);
                        campaign.weights.extend(share.map(|q| (word.text.clone(), q.si())));
                    }
                }
            }
            _ => {}
        }
    }
    for s in declaration.statement.block.iter().filter(|s| s.key() == "specimen") {
        specimen(s, &mut campaign, context);
    }
    campaign
}

/// What answers a question.
fn ask(line: &Statement, context: &Context<'_>) -> Option<Ask> {
    let way = match context.text(line, "way")?.as_str() {
        "lowest" => Way::Lowest,
        "highest" => Way::Highest,
        "each" => Way::Each,
        _ => Way::AsClaimed,
    };
    let result = context.text(line, "result")?;
    let key = match line.part("size") {
        Some(_) => format!("{result} at {}", size_words(&context.quantity(line, "size")?)),
        None => result,
    };
    Some(Ask { way, key, origin: context.origin(line.head) })
}

fn specimen(s: &Statement, campaign: &mut Campaign, context: &Context<'_>) {
    let Some(word) = context.word(s, "code") else { return };
    if let Some(first) = campaign.specimens.get(&word.text) {
        context.notes.add(
            Diagnostic::new(Code::DuplicateName, format!("two specimens have the code `{}`", word.text))
                .at(context.source, word.span, "the second")
                .also(first.origin.source, first.origin.span, "the first")
                .help("every specimen needs a code of its own"),
        );
        return;
    }
    let model = context.word(s, "model");
    if let Some(model) = model
        && !campaign.models.contains_key(&model.text)
    {
        context.unknown(model, "model", campaign.models.keys().map(String::as_str));
    }
    let specimen = Specimen {
        code: word.text.clone(),
        model: model.map(|m| m.text.clone()),
        lot: context.text(s, "lot"),
        bought: context.text(s, "bought"),
        reference: s.part("reference").is_some(),
        origin: context.origin(word.span),
    };
    campaign.specimens.insert(word.text.clone(), specimen);
}

fn person(s: &Statement, context: &Context<'_>) -> Option<Person> {
    let find = |key: &str| s.block.iter().find(|l| l.key() == key).and_then(|l| context.text(l, "text"));
    Some(Person {
        initials: context.text(s, "initials")?,
        name: context.text(s, "name")?,
        role: context.text(s, "role"),
        interests: find("interests"),
        trained_on: find("trained on"),
        origin: context.origin(s.head),
    })
}

fn model(s: &Statement, context: &Context<'_>) -> Option<Model> {
    let mut model = Model {
        name: context.text(s, "name")?,
        title: context.text(s, "title")?,
        price: None,
        rated_flow: None,
        bypass_opens: None,
        collapse: None,
        housing_rating: None,
        media_area: None,
        medium: None,
        can_volume: None,
        thread: None,
        claims: Vec::new(),
        expects: Expects::default(),
        origin: context.origin(s.head),
    };
    for line in &s.block {
        let marked = |part: &str| context.quantity(line, part).map(|q| context.marked(line, q));
        match line.key() {
            "price" => model.price = context.quantity(line, "price"),
            "rated flow" => model.rated_flow = context.quantity(line, "flow"),
            "by-pass opens at" => model.bypass_opens = marked("pressure"),
            "collapse" => model.collapse = marked("pressure"),
            "housing rated" => model.housing_rating = marked("pressure"),
            "medium" => model.medium = context.text(line, "medium"),
            "media area" => model.media_area = context.quantity(line, "area"),
            "can volume" => model.can_volume = context.quantity(line, "volume"),
            "thread" => model.thread = context.text(line, "thread"),
            "claims" => model.claims.push(Claim {
                bounds: context.bounds(line, "bounds").filter(|bounds| is_share(context, line, bounds)),
                name: context.text(line, "name").unwrap_or_default(),
                text: context.text(line, "claim"),
                size: context.quantity(line, "size"),
                mark: context.mark(line),
                origin: context.origin(line.head),
            }),
            "expect restriction" => {
                let parts = (context.quantity(line, "pressure"), context.quantity(line, "flow"));
                if let (Some(pressure), Some(flow)) = parts
                    && let Some(viscosity) = context.quantity(line, "viscosity")
                {
                    let viscous = context.quantity(line, "share");
                    let said = ExpectedRestriction { pressure, flow, viscosity, viscous };
                    model.expects.restriction = Some(context.marked(line, said));
                }
            }
            "expect capture" => {
                if let Some(found) = context.quantity(line, "share").zip(context.quantity(line, "size")) {
                    model.expects.captures.push(context.marked(line, found));
                }
            }
            "expect capacity" => model.expects.capacity = marked("mass"),
            "expect scatter" => model.expects.scatter = marked("share"),
            _ => {}
        }
    }
    Some(model)
}

fn waiver(s: &Statement, owner: Option<&Statement>, scope: &str, context: &Context<'_>) -> Option<Waiver> {
    Some(Waiver {
        code: context.text(s, "code")?,
        reason: context.text(s, "reason")?,
        scope: if owner.is_some() { scope.to_owned() } else { String::new() },
        covers: owner.map(|o| context.origin(o.span)),
        origin: context.origin(s.head),
    })
}

fn test(
    s: &Statement,
    library: &Library<'_>,
    bench: &Bench,
    notes: &Notes,
    context: &Context<'_>,
    rig: Option<&Rig>,
) -> Option<(Test, Vec<Waiver>)> {
    let (name, title) = (context.text(s, "name")?, context.text(s, "title")?);
    let protocol = context.resolve(context.word(s, "protocol")?, Sort::Protocol)?;
    let declaration = library.get(&protocol)?;
    let with = s.block.iter().find(|l| l.key() == "with").and_then(|l| l.part("bindings"));
    let bindings = match with {
        Some(Part::Bindings(bindings)) => bindings.as_slice(),
        _ => &[],
    };
    let given = Given { bindings, context, place: s.head };
    protocol::bind(declaration, library, bench, notes, Some(&given), rig, (&name, &title))
}

fn day(s: &Statement, context: &Context<'_>) -> Option<Day> {
    let line = s.block.iter().find(|l| l.key() == "on")?;
    Some(Day { date: context.date(line, "date")?, origin: context.origin(line.head) })
}

fn how_ordered(s: &Statement, context: &Context<'_>) -> Order {
    let find = |key: &str| s.block.iter().find(|l| l.key() == key).map(|l| context.origin(l.head));
    match (find("order random from seed"), find("order given")) {
        (Some(drawn), _) => Order::Drawn(drawn),
        (None, Some(given)) => Order::Given(given),
        (None, None) => Order::AsListed,
    }
}

/// No campaign has more runs in one test; more is a slip.
const MOST_RUNS: usize = 10_000;

/// The runs of a test, in order. False where the order cannot be made.
fn order(s: &Statement, test: usize, campaign: &Campaign, context: &Context<'_>, runs: &mut Vec<Run>) -> bool {
    let find = |key: &str| s.block.iter().find(|l| l.key() == key);
    let mut whole = true;
    let mut known = |line: &Statement| -> Vec<String> {
        let words = context.words(line, "specimens");
        for word in words.iter().filter(|w| !campaign.specimens.contains_key(&w.text)) {
            context.notes.add(
                Diagnostic::new(Code::SpecimenUnknown, format!("there is no specimen `{}`", word.text))
                    .at(context.source, word.span, "not in the register")
                    .help(format!("declare it: `specimen {} of …`", word.text)),
            );
            whole = false;
        }
        words.iter().filter(|w| campaign.specimens.contains_key(&w.text)).map(|w| w.text.clone()).collect()
    };
    let chosen: Vec<String> = match find("specimens") {
        Some(line) => known(line),
        None => campaign.specimens.keys().cloned().collect(),
    };
    let replicates = match find("replicates") {
        Some(line) => match context.count(line, "replicates") {
            Some(count) => count,
            None => return false,
        },
        None => 1,
    };
    if chosen.len().saturating_mul(replicates as usize) > MOST_RUNS {
        context.report(
            Code::PlanTooLong,
            format!("{} specimens, {replicates} times each, are more than {MOST_RUNS} runs", chosen.len()),
            s.head,
            "this test",
            "look for a slip in `replicates`",
        );
        return false;
    }
    let mut sequence: Vec<String> = match find("order given") {
        Some(line) => {
            let given = known(line);
            complete(line, &given, &chosen, context);
            if let Some(asked) = find("replicates") {
                as_often(line, asked, replicates, &given, campaign, context);
            }
            given
        }
        None => (0..replicates).flat_map(|_| chosen.iter().cloned()).collect(),
    };
    if let Some(line) = find("order random from seed") {
        let seed = match line.part("seed") {
            Some(Part::Integer(seed, _)) => *seed,
            _ => 0,
        };
        let reference =
            campaign.specimens.values().find(|sp| sp.reference && chosen.contains(&sp.code)).map(|sp| sp.code.clone());
        let bracketed = line.part("bracket").is_some();
        if bracketed && reference.is_none() {
            context.report(
                Code::OrderIncomplete,
                "the reference is to be run first and last, and none of these specimens is marked as the reference",
                line.head,
                "this order",
                format!(
                    "add `, reference` to one specimen: `specimen {} …, reference`",
                    chosen.first().map_or("…", String::as_str)
                ),
            );
        }
        match reference.filter(|_| bracketed) {
            Some(reference) => {
                sequence.retain(|code| *code != reference);
                shuffle(&mut sequence, seed);
                sequence.insert(0, reference.clone());
                sequence.push(reference);
            }
            None => shuffle(&mut sequence, seed),
        }
    }
    let mut seen: IndexMap<String, u32> = IndexMap::new();
    for specimen in sequence {
        let replicate = seen.entry(specimen.clone()).or_insert(0);
        *replicate += 1;
        runs.push(Run { code: String::new(), test, specimen, replicate: *replicate });
    }
    whole
}

fn complete(line: &Statement, given: &[String], chosen: &[String], context: &Context<'_>) {
    let missing: Vec<&str> = chosen.iter().filter(|c| !given.contains(c)).map(String::as_str).collect();
    if !missing.is_empty() {
        context.report(
            Code::OrderIncomplete,
            format!("the order leaves out {}", missing.join(", ")),
            line.head,
            "this order",
            "put every specimen of the test in the order, or take it out of `specimens`",
        );
    }
}

/// An order written by hand, against the replicates asked for; a reference may come more often.
fn as_often(
    line: &Statement,
    asked: &Statement,
    replicates: u32,
    given: &[String],
    campaign: &Campaign,
    context: &Context<'_>,
) {
    let times = |code: &String| given.iter().filter(|other| *other == code).count();
    let differs = |code: &&String| {
        let reference = campaign.specimens.get(*code).is_some_and(|specimen| specimen.reference);
        let (times, wanted) = (times(code), replicates as usize);
        if reference { times < wanted } else { times != wanted }
    };
    let Some(code) = given.iter().find(differs) else { return };
    let often = |count: usize| if count == 1 { "once".to_owned() } else { format!("{count} times") };
    context.notes.add(
        Diagnostic::new(
            Code::OrderIncomplete,
            format!(
                "the order runs `{code}` {}, and the test asks for {replicates} {} of each specimen",
                often(times(code)),
                if replicates == 1 { "run" } else { "runs" }
            ),
        )
        .at(context.source, line.head, "this order")
        .also(context.source, asked.head, "asked for here")
        .help(format!("name `{code}` {} in the order, or change `replicates`", often(replicates as usize))),
    );
}

fn number(runs: &mut [Run]) {
    let width = if runs.len() > 99 { 3 } else { 2 };
    for (index, run) in runs.iter_mut().enumerate() {
        run.code = format!("R{:0width$}", index + 1);
    }
}

impl Plan {
    /// The cautions that a test's hazards call for, in the order of the packs.
    pub fn cautions_for<'p>(&'p self, test: &'p Test) -> impl Iterator<Item = &'p super::Caution> {
        self.rules.cautions.iter().filter(|c| c.hazard == Hazard::Always || test.hazards.contains(&c.hazard))
    }
}

/// Whether what a package promises in per cent can be a share of one whole; else it is reported.
fn is_share(context: &Context<'_>, line: &Statement, bounds: &Bounds) -> bool {
    let given = [&bounds.low, &bounds.high].into_iter().flatten();
    let odd =
        given.filter(|quantity| quantity.unit.text == "%").find(|quantity| !(0.0..=100.0).contains(&quantity.value));
    let Some(odd) = odd else { return true };
    let (code, words) = if odd.value < 0.0 {
        (Code::CannotBe, "less than nothing of it")
    } else {
        (Code::ShareAboveWhole, "more than all of it")
    };
    let origin = context.origin(line.head);
    context.notes.add(
        Diagnostic::new(code, format!("`{odd}` is {words}"))
            .at(origin.source, origin.span, "promised here")
            .help("copy the promise from the package, or leave it out"),
    );
    false
}
