//! What went in and what came out, by size: from the laboratory's counts to the share caught.

mod apart;
mod bottles;
mod curve;
mod decay;
mod mixture;
pub mod share;

use super::model::{Design, Pair, RemovalResult, SizeResult};
use super::sheet::Sheet;
use crate::audit::log::Slot;
use crate::plan::Measures;
use bottles::{Bottle, same};
use share::{Caught, Challenge, Counts, Doubts, Sides, Tally};

/// Standard deviation of a laboratory from bottle to bottle, as a share, where the rules do not say. From memory.
pub(super) const SCATTER: f64 = 0.05;
/// The same of what clean bottles hold. From memory.
const GROUND: f64 = 0.20;
/// s that a bottle is filled before or after the time that is written down. From memory.
const MOMENT: f64 = 3.0;
/// Half width of a flow that nobody read, as a share.
const UNREAD_FLOW: f64 = 0.05;
/// Particles behind from which an efficiency has a value, as a rule for codes has it.
const FEW: f64 = 20.0;

/// The removal of a run, where its test has bottles that a laboratory counts and anything was recorded of it.
pub(crate) fn removal(sheet: &Sheet<'_>) -> Option<RemovalResult> {
    sheet.log.last?;
    let bottles = bottles::of_run(sheet);
    if !bottles.iter().any(|bottle| bottle.drawn.dusty && bottle.drawn.mounted) {
        return None;
    }
    let design = design(sheet);
    let mut remarks = Vec::new();
    let sizes = sizes(&bottles);
    let doubts = doubts(sheet, &bottles, &mut remarks);
    let clean = clean(&bottles, &sizes, &mut remarks);
    let pairs = pairs(sheet, &bottles, design, &mut remarks);
    let challenge = |pairs: &[&Both<'_, '_>]| match design {
        Design::Continuous => Challenge::Held,
        _ if pairs.iter().any(|pair| pair.known()) => Challenge::Decays,
        _ => Challenge::Unknown { behind_first: pairs.iter().all(|pair| pair.behind_first) },
    };
    let each = |pairs: &[&Both<'_, '_>], remarks: &mut Vec<String>| -> Vec<SizeResult> {
        let by = challenge(pairs);
        // Pairs without a moment cannot be brought to one: those with one say more.
        let taken = pairs.iter().copied().filter(|pair| by != Challenge::Decays || pair.known());
        let taken: Vec<&Both<'_, '_>> = taken.collect();
        let counts: Vec<Counts> = taken.iter().map(|pair| pair.counts(&sizes)).collect();
        let caught = |doubts: &Doubts| -> Vec<Caught> {
            (0..sizes.len()).map(|place| share::caught(&counts, &clean, place, by, doubts)).collect()
        };
        let mut found = caught(&doubts);
        if let Some(remark) = apart(&taken, &sizes, &found).filter(|_| design != Design::Residual) {
            remarks.push(remark);
            found = caught(&Doubts { apart: true, ..doubts.clone() });
        }
        let result = |((size, words), found): (&(f64, String), Caught)| {
            let why = if pairs.is_empty() { None } else { missing(pairs, *size) };
            size_result(*size, words, found, why, design)
        };
        sizes.iter().zip(found).map(result).collect()
    };
    let all: Vec<&Both<'_, '_>> = pairs.iter().collect();
    let lost = all.iter().filter(|pair| !pair.known()).count();
    if design == Design::MixedBatch && lost > 0 {
        remarks.push(format!(
            "{lost} of {} pairs of bottles cannot be brought to one moment: the times of the bottles, the flow or the volume of the circuit are not known.",
            all.len()
        ));
    }
    let pooled = match design {
        Design::Decay => decay::by_size(sheet, &bottles, &sizes, &clean, &doubts, &mut remarks),
        _ => each(&all, &mut remarks),
    };
    let pairs = pairs.iter().map(|pair| pair.result(sheet, each(&[pair], &mut Vec::new()))).collect();
    lost_sizes(&all, &sizes, &mut remarks);
    Some(RemovalResult { design, claims: claims(sheet, design).to_owned(), pairs, pooled, remarks })
}

fn design(sheet: &Sheet<'_>) -> Design {
    match sheet.log.test.dosing.as_deref() {
        Some("mixed batch then one pass") => Design::MixedBatch,
        Some("continuous injection") => Design::Continuous,
        Some("decay") => Design::Decay,
        _ => Design::Residual,
    }
}

fn claims(sheet: &Sheet<'_>, design: Design) -> &'static str {
    match design {
        Design::MixedBatch => {
            "Each dose was mixed into the oil first and then sent through the filter; paired bottles before and behind it give the share of the particles that is caught in one pass."
        }
        Design::Continuous => {
            "Dust was fed without end; paired bottles before and behind the filter give the share of the particles that is caught in one pass while the feed goes on."
        }
        Design::Decay => {
            "Particles were counted at one place while the oil went round; how fast they become fewer gives the share that is caught in one pass of those that were there meanwhile, if the oil is well stirred."
        }
        Design::Residual if sheet.log.test.dosing.is_none() => {
            "The plan does not say how the dust meets the filter, so the counts say only what was in the oil when each bottle was drawn: no efficiency follows from them."
        }
        Design::Residual => {
            "The oil went round while dust was added, so the counts say only what was left in it when each bottle was drawn: no efficiency follows from them."
        }
    }
}

const NO_EFFICIENCY: &str = "what is left after the oil has gone round is no efficiency; only the counts are given";

/// Every size that is counted in a bottle with dust, rising, and how it is written.
fn sizes(bottles: &[Bottle<'_>]) -> Vec<(f64, String)> {
    let mut sizes: Vec<(f64, String)> = Vec::new();
    for count in bottles.iter().filter(|bottle| bottle.drawn.dusty).flat_map(|bottle| &bottle.counts) {
        if !sizes.iter().any(|(size, _)| same(*size, count.size)) {
            sizes.push((count.size, count.words.clone()));
        }
    }
    sizes.sort_by(|one, other| one.0.total_cmp(&other.0));
    sizes
}

fn doubts(sheet: &Sheet<'_>, bottles: &[Bottle<'_>], remarks: &mut Vec<String>) -> Doubts {
    let rule = |name: &str, built_in: f64| sheet.plan.rules.number(name).unwrap_or(built_in);
    let coarse = bottles.iter().filter_map(|bottle| bottle.time).map(|time| time.grain).max().unwrap_or(1);
    if coarse >= 60 {
        remarks.push(
            "Times are written to the minute only, which leaves the moments of the bottles in doubt by half a minute."
                .to_owned(),
        );
    }
    let dusty = bottles.iter().filter(|bottle| bottle.drawn.dusty && bottle.drawn.mounted);
    let oil =
        dusty.clone().filter_map(|bottle| bottle.drawn.oil).map(|oil| (oil.high - oil.low) / (oil.high + oil.low));
    let (mut flow, mut meter) = (UNREAD_FLOW, String::new());
    if let Some((value, slot)) = dusty.clone().find_map(|bottle| read_flow(sheet, bottle))
        && let Some(numeric) = slot.numeric()
    {
        flow = sheet.limits(numeric, value).map_or(UNREAD_FLOW, |limits| limits / value);
        meter = numeric.instrument.clone().unwrap_or_default();
    }
    Doubts {
        scatter: rule("laboratory-scatter", SCATTER),
        ground: rule("background-scatter", GROUND),
        moment: rule("bottle-moment", MOMENT).hypot(0.5 * coarse as f64),
        volume: oil.fold(0.0, f64::max),
        flow,
        meter,
        few: rule("raw-counts-limit", FEW),
        apart: false,
    }
}

/// The flow that was read last before a bottle.
fn read_flow<'s, 'a>(sheet: &'s Sheet<'a>, bottle: &Bottle<'_>) -> Option<(f64, &'s Slot<'a>)> {
    let before = sheet.log.slots.iter().take_while(|slot| slot.step.number < bottle.drawn.step.number);
    let read = before.filter(|slot| Sheet::measures(slot, Measures::Flow));
    let read = read.filter_map(|slot| Some((sheet.si(slot)?, slot)));
    read.filter(|(flow, _)| *flow > 0.0).last()
}

/// What clean oil held with the specimen in place before any dust; else what the clean rig held.
fn clean(bottles: &[Bottle<'_>], sizes: &[(f64, String)], remarks: &mut Vec<String>) -> Sides {
    let first = bottles.iter().position(|bottle| bottle.drawn.dusty).unwrap_or(bottles.len());
    let before = bottles.get(..first).unwrap_or_default();
    let usable = |bottle: &&Bottle<'_>| {
        !bottle.drawn.proves_clean && bottle.counts.iter().any(|c| c.seen.is_ok()) && bottle.barred.is_none()
    };
    let own = |behind: bool| {
        before.iter().filter(usable).filter(move |b| b.drawn.mounted && !b.drawn.blank && b.drawn.behind == behind)
    };
    let rig = |behind: bool| before.iter().filter(usable).filter(move |b| b.drawn.blank && b.drawn.behind == behind);
    let of = |behind: bool| -> Vec<&Bottle<'_>> {
        let found: Vec<&Bottle<'_>> = own(behind).collect();
        if found.is_empty() { rig(behind).collect() } else { found }
    };
    let side = |behind: bool| if behind { "behind" } else { "before" };
    let mut chosen = [of(false), of(true)];
    for behind in [false, true] {
        if own(behind).next().is_none() && rig(behind).next().is_some() {
            remarks.push(format!(
                "No clean bottle {} the filter can be used; the background is that of the rig without specimen.",
                side(behind)
            ));
        }
    }
    let [up, down] = &mut chosen;
    match (up.is_empty(), down.is_empty()) {
        (true, true) => remarks.push(
            "No clean bottle was counted in this run, so no background is taken off: the true share caught is at least what is said here, and more where the oil or the bottles were not clean."
                .to_owned(),
        ),
        (true, false) => {
            remarks.push("The background before the filter is taken from the clean bottle behind it.".to_owned());
            up.clone_from(down);
        }
        (false, true) => {
            remarks.push("The background behind the filter is taken from the clean bottle before it.".to_owned());
            down.clone_from(up);
        }
        (false, false) => {}
    }
    let pooled = |side: &[&Bottle<'_>]| -> Vec<Option<Tally>> {
        let at = |size: f64| {
            side.iter().filter_map(|bottle| bottle.at(size).ok()).reduce(|sum, next| Tally {
                count: sum.count + next.count,
                volume: sum.volume + next.volume,
                bottles: sum.bottles + next.bottles,
            })
        };
        sizes.iter().map(|(size, _)| at(*size)).collect()
    };
    let [up, down] = &chosen;
    Sides { up: pooled(up), down: pooled(down) }
}

/// Two bottles that the plan pairs.
struct Both<'b, 'a> {
    up: &'b Bottle<'a>,
    down: &'b Bottle<'a>,
    /// s since the flow was sent through the filter, where known.
    up_after: Option<f64>,
    down_after: Option<f64>,
    /// s between the bottle behind and that before.
    later: Option<f64>,
    /// s.
    turnover: Option<f64>,
    behind_first: bool,
}

fn pairs<'b, 'a>(
    sheet: &Sheet<'a>,
    bottles: &'b [Bottle<'a>],
    design: Design,
    remarks: &mut Vec<String>,
) -> Vec<Both<'b, 'a>> {
    let mut found = Vec::new();
    for bottle in bottles.iter().filter(|bottle| bottle.drawn.dusty && bottle.drawn.mounted) {
        let Some(with) = &bottle.drawn.bottle.paired_with else { continue };
        let partner = bottles.iter().find(|other| {
            other.drawn.reading.path == *with
                && other.drawn.behind != bottle.drawn.behind
                && other.drawn.step.round == bottle.drawn.step.round
        });
        let Some(partner) = partner else { continue };
        let (up, down) = if bottle.drawn.behind { (partner, bottle) } else { (bottle, partner) };
        let there = |bottle: &Bottle<'_>| bottle.recorded || bottle.barred.is_none();
        match (there(up), there(down)) {
            // Loops end before their cap: what was not drawn is not missing.
            (false, false) => continue,
            (true, true) => {}
            (up_there, _) => {
                let missing = if up_there { down } else { up };
                remarks.push(format!("Bottle {} of a pair was not drawn; the pair is left out.", missing.label));
                continue;
            }
        }
        if let Some(why) = up.barred.as_ref().or(down.barred.as_ref()) {
            remarks.push(format!("The pair {} and {} is left out: {why}.", up.label, down.label));
        }
        let since = bottle.drawn.pass.as_ref().and_then(|pass| {
            let readings = pass.readings.iter().rev();
            readings.filter_map(|reading| sheet.log.find_exactly(&reading.path)?.time()).next()
        });
        let after = |bottle: &Bottle<'_>| {
            let passed = (bottle.time?.seconds - since?.seconds) as f64;
            (passed >= 0.0).then_some(passed)
        };
        let later = up.time.zip(down.time).map(|(up, down)| (up.seconds - down.seconds) as f64);
        let read = read_flow(sheet, bottle).map(|(flow, _)| flow).or(bottle.drawn.flow);
        let oil = bottle.drawn.oil.map(|oil| f64::midpoint(oil.low, oil.high)).filter(|oil| *oil > 0.0);
        let turnover = oil.zip(read).map(|(oil, flow)| oil / flow);
        if design == Design::MixedBatch
            && let (Some(later), Some(turnover)) = (later, turnover)
            && later.abs() > 20.0 * turnover
        {
            remarks.push(format!(
                "Bottles {} and {} were drawn {later:.0} s apart, {:.0} turnovers of the tank: the pair is not brought to one moment.",
                up.label,
                down.label,
                later.abs() / turnover
            ));
        }
        found.push(Both {
            up_after: after(up),
            down_after: after(down),
            later,
            turnover,
            behind_first: down.drawn.step.number < up.drawn.step.number,
            up,
            down,
        });
    }
    found
}

impl Both<'_, '_> {
    /// Turnovers to the bottle behind and to that before.
    fn turnovers(&self) -> Option<(f64, f64)> {
        let (later, turnover) = self.later.zip(self.turnover)?;
        // A pair so far apart belongs to two states of the tank.
        if turnover <= 0.0 || later.abs() > 20.0 * turnover {
            return None;
        }
        let behind = self.down_after.map_or(0.0, |after| after / turnover).min(50.0);
        Some((behind, behind + later / turnover))
    }

    fn known(&self) -> bool {
        self.turnovers().is_some()
    }

    fn counts(&self, sizes: &[(f64, String)]) -> Counts {
        let side =
            |bottle: &Bottle<'_>| sizes.iter().map(|(size, _)| bottle.at(*size).ok()).collect::<Vec<Option<Tally>>>();
        Counts {
            sides: Sides { up: side(self.up), down: side(self.down) },
            turnovers: self.turnovers(),
            turnover: self.turnover,
        }
    }

    fn result(&self, sheet: &Sheet<'_>, sizes: Vec<SizeResult>) -> Pair {
        let stage = sheet.log.test.stages.get(self.up.drawn.step.stage);
        Pair {
            stage: stage.map_or_else(String::new, |stage| stage.name.clone()),
            round: self.up.drawn.step.round.map(|(_, round)| round),
            up: self.up.label.clone(),
            down: self.down.label.clone(),
            up_after: self.up_after,
            down_after: self.down_after,
            turnover: self.turnover,
            sizes,
        }
    }
}

/// What is to be said of pairs that do not agree.
fn apart(pairs: &[&Both<'_, '_>], sizes: &[(f64, String)], found: &[Caught]) -> Option<String> {
    let where_apart = || sizes.iter().zip(found).filter(|(_, found)| !found.apart.is_empty());
    let words: Vec<&str> = where_apart().map(|((_, words), _)| words.as_str()).collect();
    if words.is_empty() {
        return None;
    }
    let farthest = |nth: usize| where_apart().filter(|(_, found)| found.apart.first() == Some(&nth)).count();
    let first = (0..pairs.len()).max_by_key(|nth| farthest(*nth));
    // Of two nobody knows which is off.
    let odd = first.and_then(|nth| pairs.get(nth)).filter(|_| pairs.len() > 2).map_or_else(String::new, |pair| {
        format!(" Farthest from the others is the pair {} and {}.", pair.up.label, pair.down.label)
    });
    Some(format!(
        "At {} the pairs of bottles of this run differ by more than counting, the laboratory and the moments explain: either the share caught changes while the filter fills, or a bottle is not what its label says. Their scatter is in the interval of every size, which is wider for it.{odd}",
        words.join(", ")
    ))
}

/// Why a size has no count in any of the pairs.
fn missing(pairs: &[&Both<'_, '_>], size: f64) -> Option<String> {
    pairs.iter().find_map(|pair| pair.down.at(size).err().or_else(|| pair.up.at(size).err()))
}

/// Sizes that some pairs have to do without.
fn lost_sizes(pairs: &[&Both<'_, '_>], sizes: &[(f64, String)], remarks: &mut Vec<String>) {
    for pair in pairs.iter().filter(|pair| pair.up.barred.is_none() && pair.down.barred.is_none()) {
        let lost = sizes.iter().filter_map(|(size, _)| missing(&[pair], *size));
        for why in lost {
            let remark = format!("Left out: {why}.");
            if !remarks.contains(&remark) {
                remarks.push(remark);
            }
        }
    }
}

fn size_result(size: f64, words: &str, found: Caught, missing: Option<String>, design: Design) -> SizeResult {
    let mut found = found;
    let why = match design {
        Design::Residual => Some(NO_EFFICIENCY.to_owned()),
        _ if found.up_volume <= 0.0 => missing,
        _ => None,
    };
    if let Some(why) = why {
        found.efficiency = super::Outcome::unsaid(why.clone());
        found.ratio = super::Outcome::unsaid(why);
    }
    SizeResult {
        size,
        words: words.to_owned(),
        up: found.up,
        down: found.down,
        up_background: found.up_background,
        down_background: found.down_background,
        up_volume: found.up_volume,
        down_volume: found.down_volume,
        steps: found.steps.filter(|_| design != Design::Residual),
        efficiency: found.efficiency,
        ratio: found.ratio,
        few: found.few,
    }
}
