//! What a campaign takes: oil, dust, bottles, laboratory tests, specimens, money; and what is left over as waste.

use indexmap::IndexMap;
use serde::Serialize;

use super::course::{Course, goes};
use crate::foresight::{Span, is_flammable};
use crate::plan::{Action, Bottle, Plan, Run, Step, Test, Wants};
use crate::quantity::{Quantity, Unit};

/// Everything to have at hand, and what it costs.
#[derive(Debug, Clone, Serialize)]
pub struct Needs {
    /// m³ of each fluid.
    pub fluids: Vec<Stock>,
    /// kg of each dust.
    pub dusts: Vec<Stock>,
    /// Bottles by volume: the volume as written, and how many.
    pub bottles: Vec<(String, Span)>,
    pub tests: Vec<Bill>,
    pub specimens: Vec<Bill>,
    /// By currency, over all that has a price.
    pub money: Vec<(String, Span)>,
    pub without_price: Vec<String>,
    /// Fluids of which the plan does not say how much is used.
    pub without_amount: Vec<String>,
    /// m³ of oil and of solvent to be got rid of, and containers of the usual size for each.
    pub waste_oil: Span,
    pub waste_containers: Span,
    /// m³: what a waste container holds.
    pub container: f64,
}

/// Something that is used up by volume or by mass, in SI.
#[derive(Debug, Clone, Serialize)]
pub struct Stock {
    pub name: String,
    pub title: String,
    /// What it goes into.
    pub lines: Vec<(&'static str, Span)>,
    pub total: Span,
    /// What should be there before the first run: the most that may be taken, with the reserve.
    pub to_have: f64,
    pub supply: Option<f64>,
    /// Money for what is used, where a price is given.
    pub price: Option<(String, Span)>,
    pub unit: Unit,
}

impl Stock {
    /// What is missing of what should be there; `None` without a supply.
    pub fn short(&self) -> Option<f64> {
        self.supply.map(|supply| (self.to_have - supply).max(0.0))
    }
}

/// Things that are counted, and their price.
#[derive(Debug, Clone, Serialize)]
pub struct Bill {
    pub name: String,
    pub title: String,
    pub count: Span,
    pub price: Option<(String, Span)>,
}

/// Where a part of the oil goes, in the order in which it is printed.
const FILLS: &str = "fillings";
const FLUSHES: &str = "flushes at changes of fluid";
const CARRIERS: &str = "slurries and injector rinses";
const BOTTLES: &str = "bottles and valve flushes, topped up";
const CANS: &str = "left in specimens taken off";
const DOSES: &str = "doses";
const CONDITIONING: &str = "conditioning";

/// What an amount is an amount of.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Key<'p> {
    /// m³ of a fluid, for something.
    Fluid(&'p str, &'static str),
    /// kg of a dust, for something.
    Dust(&'p str, &'static str),
    /// Bottles of a volume as written.
    Bottle(String),
    /// Tests of a laboratory.
    Test(&'p str),
}

#[derive(Default)]
struct Sum<'p> {
    amounts: IndexMap<Key<'p>, Span>,
    without_amount: Vec<String>,
    /// The fluid in the rig.
    inside: Option<&'p str>,
}

pub(super) fn needs(plan: &Plan, chosen: &[&Run], courses: &[Course<'_>]) -> Needs {
    let mut sum = Sum::default();
    for run in chosen {
        if let Some(course) = courses.iter().find(|course| course.runs.contains(&run.code.as_str())) {
            sum.run(plan, course);
        }
    }
    let reserve = plan.rules.number("stock-factor").unwrap_or(1.3);
    let fluids = stocks(&sum.fluids(), &[FILLS, FLUSHES, CARRIERS, BOTTLES, CANS], |name, lines, total| {
        let fluid = plan.fluids.get(name)?;
        let unit = fluid.supply.as_ref().map_or_else(|| plan.rig.reservoir_holds.low.as_ref(), Some);
        let unit = unit.map_or_else(Unit::none, |quantity| quantity.unit.clone());
        let price = fluid.price.as_ref().map(|price| cost(price, total));
        let supply = fluid.supply.as_ref().map(Quantity::si);
        Some(stock((name, &fluid.title), lines, total, total.high, (supply, price, unit)))
    });
    let dusts = stocks(&sum.dusts(), &[DOSES, CONDITIONING], |name, lines, total| {
        let dust = plan.dusts.get(name)?;
        let unit =
            dust.supply.as_ref().map_or_else(|| Unit::parse("g").unwrap_or_else(|_| Unit::none()), |s| s.unit.clone());
        let price = dust.price.as_ref().map(|price| cost(price, total));
        let supply = dust.supply.as_ref().map(Quantity::si);
        Some(stock((name, &dust.title), lines, total, reserve * total.high, (supply, price, unit)))
    });
    let tests = plan.laboratories.values().flat_map(|lab| lab.tests.values());
    let tests = tests.filter_map(|test| {
        let count = *sum.amounts.get(&Key::Test(test.name.as_str()))?;
        let price = test.price.as_ref().map(|price| times(price, count));
        Some(Bill { name: test.name.clone(), title: test.title.clone(), count, price })
    });
    let tests: Vec<Bill> = tests.collect();
    let specimens = specimens(plan, chosen);
    let solvent = |stock: &&Stock| plan.fluids.get(&stock.name).is_none_or(|fluid| !is_flammable(fluid));
    let waste_oil = fluids.iter().filter(solvent).fold(Span::default(), |sum, stock| sum.plus(stock.total));
    let container = plan.rules.number("waste-container").unwrap_or(0.06);
    let containers = |volume: f64| (volume / (0.9 * container.max(1e-3)) - 1e-9).ceil().max(0.0);
    let mut money: IndexMap<String, Span> = IndexMap::new();
    let mut without_price = Vec::new();
    let stocks = fluids.iter().chain(&dusts).map(|stock| (&stock.name, &stock.price));
    let bills = tests.iter().chain(&specimens).map(|bill| (&bill.title, &bill.price));
    for (title, price) in stocks.chain(bills) {
        match price {
            Some((currency, amount)) => {
                let slot = money.entry(currency.clone()).or_default();
                *slot = slot.plus(*amount);
            }
            None => without_price.push(title.clone()),
        }
    }
    Needs {
        fluids,
        dusts,
        bottles: sum.bottles(),
        tests,
        specimens,
        money: money.into_iter().collect(),
        without_price,
        without_amount: sum.without_amount,
        waste_containers: Span::between(containers(waste_oil.low), containers(waste_oil.high)),
        waste_oil,
        container,
    }
}

type Terms = (Option<f64>, Option<(String, Span)>, Unit);

fn stock(named: (&str, &str), lines: Vec<(&'static str, Span)>, total: Span, to_have: f64, terms: Terms) -> Stock {
    let (supply, price, unit) = terms;
    Stock { name: named.0.to_owned(), title: named.1.to_owned(), lines, total, to_have, supply, price, unit }
}

fn stocks(
    sums: &[(&str, &'static str, Span)],
    order: &[&'static str],
    make: impl Fn(&str, Vec<(&'static str, Span)>, Span) -> Option<Stock>,
) -> Vec<Stock> {
    let mut names: Vec<&str> = sums.iter().map(|(name, ..)| *name).collect();
    names.sort_unstable();
    names.dedup();
    let each = names.into_iter().filter_map(|name| {
        let of = |line: &'static str| sums.iter().find(|(n, l, _)| *n == name && *l == line);
        let lines = order.iter().filter_map(|line| of(line).map(|(_, line, span)| (*line, *span)));
        let lines: Vec<_> = lines.filter(|(_, span)| span.high > 0.0).collect();
        let total = lines.iter().fold(Span::default(), |sum, (_, span)| sum.plus(*span));
        make(name, lines, total)
    });
    each.collect()
}

/// A price for an amount, for what is used of it.
fn cost(price: &(Quantity, Quantity), used: Span) -> (String, Span) {
    let each = price.0.value / price.1.si().max(1e-12);
    (price.0.unit.to_string(), Span { low: used.low * each, high: used.high * each })
}

fn times(price: &Quantity, count: Span) -> (String, Span) {
    (price.unit.to_string(), Span { low: count.low * price.value, high: count.high * price.value })
}

fn specimens(plan: &Plan, chosen: &[&Run]) -> Vec<Bill> {
    let mut bought: IndexMap<&str, Vec<&str>> = IndexMap::new();
    for run in chosen {
        let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_deref());
        let codes = bought.entry(model.unwrap_or(&run.specimen)).or_default();
        if !codes.contains(&run.specimen.as_str()) {
            codes.push(&run.specimen);
        }
    }
    let each = bought.into_iter().map(|(name, codes)| {
        let model = plan.campaign.models.get(name);
        let count = Span::exactly(codes.len() as f64);
        Bill {
            name: name.to_owned(),
            title: model.map_or_else(|| name.to_owned(), |model| model.title.clone()),
            count,
            price: model.and_then(|model| model.price.as_ref()).map(|price| times(price, count)),
        }
    });
    each.collect()
}

/// Whether oil goes round in a stage; elsewhere a fluid named for it fills no rig.
fn circulates(step: &Step) -> bool {
    matches!(
        step.action,
        Action::Circulate(_) | Action::SetFlow { .. } | Action::HoldFlow(_) | Action::BypassFlow { .. }
    ) || matches!(&step.action, Action::Switch { what, on: true } if what == "pump")
}

/// Each amount that a run takes, and the step that takes it.
type Taken<'p> = Vec<(Key<'p>, &'p Step, f64)>;

impl<'p> Sum<'p> {
    fn fluids(&self) -> Vec<(&'p str, &'static str, Span)> {
        let each = self.amounts.iter();
        each.filter_map(|(key, span)| if let Key::Fluid(name, line) = key { Some((*name, *line, *span)) } else { None })
            .collect()
    }

    fn dusts(&self) -> Vec<(&'p str, &'static str, Span)> {
        let each = self.amounts.iter();
        each.filter_map(|(key, span)| if let Key::Dust(name, line) = key { Some((*name, *line, *span)) } else { None })
            .collect()
    }

    fn bottles(&self) -> Vec<(String, Span)> {
        let each = self.amounts.iter();
        each.filter_map(|(key, span)| if let Key::Bottle(volume) = key { Some((volume.clone(), *span)) } else { None })
            .collect()
    }

    fn run(&mut self, plan: &'p Plan, course: &Course<'p>) {
        let test = course.paper.test;
        let can = plan.campaign.models.get(course.model).and_then(|model| model.can_volume.as_ref());
        let mut taken: Taken<'p> = Vec::new();
        for step in &test.steps {
            self.step(plan, test, step, &mut taken);
            if let (Action::Remove, Some(can), Some(inside)) = (&step.action, can, self.inside) {
                taken.push((Key::Fluid(inside, CANS), step, can.si()));
            }
            for reading in &step.readings {
                if let Wants::Bottle(bottle) = &reading.wants {
                    self.bottle(bottle, step, &mut taken);
                }
            }
        }
        let mut keys: Vec<&Key<'p>> = Vec::new();
        for (key, ..) in &taken {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        for key in keys {
            // What is taken in a round is taken only if the loop goes so far.
            let each = course.rounds.ways.iter().map(|way| {
                let of = taken.iter().filter(|(k, step, _)| k == key && goes(step, way));
                Span::exactly(of.map(|(_, _, amount)| amount).sum())
            });
            let amount = each.reduce(Span::or).unwrap_or_default();
            let slot = self.amounts.entry(key.clone()).or_default();
            *slot = slot.plus(amount);
        }
    }

    fn step(&mut self, plan: &'p Plan, test: &'p Test, step: &'p Step, taken: &mut Taken<'p>) {
        let volumes = || plan.rig.routes.values().filter_map(|route| route.volume.as_ref()).map(Quantity::si);
        let circuit = || volumes().fold(0.0, f64::max);
        let mut take = |key: Key<'p>, amount: f64| taken.push((key, step, amount));
        match &step.action {
            Action::UseFluid { fluid } if self.inside != Some(fluid) => {
                let stage = test.stages.get(step.stage);
                let steps = stage.and_then(|stage| test.steps.get(stage.first_step..stage.end_step));
                if steps.is_some_and(|steps| steps.iter().any(circulates)) {
                    take(Key::Fluid(fluid, FILLS), circuit());
                    self.inside = Some(fluid);
                }
            }
            Action::ChangeFluid(change) => {
                take(Key::Fluid(&change.to, FILLS), change.fill.as_ref().map_or_else(circuit, Quantity::si));
                for (volume, fluid, times) in &change.flushes {
                    take(Key::Fluid(fluid, FLUSHES), volume.si() * f64::from(*times));
                }
                self.inside = Some(&change.to);
            }
            Action::Dose { mass, dust, carrier, carrier_fluid, preparation } => {
                let rinse = preparation.rinse.as_ref().map_or(0.0, |(times, volume)| f64::from(*times) * volume.si());
                take(Key::Fluid(carrier_fluid, CARRIERS), carrier.si() + rinse);
                take(Key::Dust(dust, DOSES), mass.target.as_ref().map_or(0.0, Quantity::si));
            }
            Action::Condition { mass, dust, carrier, carrier_fluid, .. } => {
                take(Key::Fluid(carrier_fluid, CARRIERS), carrier.si());
                take(Key::Dust(dust, CONDITIONING), mass.target.as_ref().map_or(0.0, Quantity::si));
            }
            Action::RinseInjector { times, volume } => {
                if let Some(inside) = self.inside {
                    take(Key::Fluid(inside, CARRIERS), f64::from(*times) * volume.si());
                }
            }
            Action::BubblePoint { fluid, .. } => self.not_said(fluid, "bubble point"),
            Action::AntiDrain { fluid, .. } => self.not_said(fluid, "drain-back"),
            _ => {}
        }
    }

    fn not_said(&mut self, fluid: &str, what: &str) {
        let said = format!("{fluid}, for the {what}");
        if !self.without_amount.contains(&said) {
            self.without_amount.push(said);
        }
    }

    fn bottle(&self, bottle: &'p Bottle, step: &'p Step, taken: &mut Taken<'p>) {
        let pieces = f64::from(bottle.pieces());
        // A flush that is poured back is no loss.
        let lost = bottle.flush.as_ref().filter(|_| bottle.flush_ends.as_deref() != Some("returned"));
        let volume = pieces * bottle.volume.si() + lost.map_or(0.0, Quantity::si);
        if let Some(inside) = self.inside {
            taken.push((Key::Fluid(inside, BOTTLES), step, volume));
        }
        taken.push((Key::Bottle(bottle.volume.to_string()), step, pieces));
        // A bottle that is kept is not counted yet.
        let counted = if bottle.twin { 2.0 } else { 1.0 };
        taken.extend(bottle.tests.iter().map(|test| (Key::Test(test), step, counted)));
    }
}
