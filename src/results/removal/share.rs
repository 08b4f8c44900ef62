//! The share caught in one pass, from particles counted before and behind a filter at their own moments.
//!
//! While the oil goes through the filter the tank is cleaned, dn/dt = −Q E n/V for each size. The bottle behind, drawn after a
//! turnovers (a = Q t/V), and that before, drawn after b, therefore hold (1 − E) n₀ e^(−E a) and n₀ e^(−E b). Pairs are pooled:
//! with D the particles behind less background and U the sum of those before, each brought to the counted volume of its partner
//! and to its moment by e^(E (b − a)), the share caught solves D = (1 − E) U(E). Where the bottle before comes more than a
//! turnover later, two shares solve it; the larger is meant, and where the smaller is possible too, only a bound is given.
//!
//! Particles from a size up are a mixture whose classes decay each by its own E. The ratio of the mixture departs from that of
//! a single class by a factor near 1, which is computed from the classes' own counts; the share caught is that of the
//! mixture as it was when the flow was sent through the filter.
//!
//! The interval stands on ln D − ln U. Counting: the limits of Jeffreys (χ² with 2n + 1), of a net count by their squares
//! (Zou and Donner, *Statistics in Medicine* 27 (2008) 1693); exact ones where only a bound is given. On top of it, each bottle as
//! the laboratory scatters, the background as it scatters from bottle to bottle, the moments, flow and volume at their limits.
//!
//! Pairs that differ by more than all of this say that something else is at work: a filter that changes as it fills, or a bottle
//! that is not what its label says. Their own scatter is then a doubt of its own, with the pairs as the unit (the robust variance
//! of clusters; Liang and Zeger, *Biometrika* 73 (1986) 13) and Student's law.

use super::super::estimate::{Estimate, Outcome, Source};
use super::apart::{Against, Apart, apart};
use super::curve::Curve;
use super::mixture::{Departure, shapes};
use crate::quantity::si::Volume;
use crate::trade::confidence::{Confidence, Interval};
use crate::trade::counting::Counted;
use crate::trade::distribution::chi_squared_quantile;
use crate::trade::ratio;
use crate::trade::uncertainty::{Shape, half_width};
use serde::Serialize;
use uom::si::volume::cubic_meter;

/// Particles from a size up, seen in one bottle or in several of one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tally {
    pub count: u64,
    /// m³ of undiluted oil that was counted, all bottles together.
    pub volume: f64,
    pub bottles: u32,
}

/// What was counted before and behind, by rising size; `None` where a size has no usable count.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sides {
    pub up: Vec<Option<Tally>>,
    pub down: Vec<Option<Tally>>,
}

/// A pair of bottles.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Counts {
    pub sides: Sides,
    /// Turnovers of the tank from the beginning of the pass to the bottle behind and to that before; `None` where unknown.
    pub turnovers: Option<(f64, f64)>,
    /// s: V/Q.
    pub turnover: Option<f64>,
}

/// What is known of the moments of a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Challenge {
    /// It decays while the bottles are drawn.
    Decays,
    /// It is held by a feed, so that moments do not matter.
    Held,
    /// It decays, and nobody knows how far; the plan draws the bottle behind first, or last.
    Unknown { behind_first: bool },
}

/// How far anything may be off.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubts {
    /// Standard deviation of a laboratory from bottle to bottle, as a share.
    pub scatter: f64,
    /// The same of the background.
    pub ground: f64,
    /// s: half width of a bottle's moment.
    pub moment: f64,
    /// Half width of the circuit's volume, as a share.
    pub volume: f64,
    /// Half width of the flow, as a share, and what it is read with.
    pub flow: f64,
    pub meter: String,
    /// From fewer particles behind only a bound is given.
    pub few: f64,
    /// Whether the pairs are known to differ at any size: then their scatter counts at every size, also where chance would hide it.
    pub apart: bool,
}

/// What follows at one size and above.
#[derive(Debug, Clone, PartialEq)]
pub struct Caught {
    pub up: u64,
    pub down: u64,
    /// Expected particles of clean oil in the counted volumes.
    pub up_background: f64,
    pub down_background: f64,
    pub up_volume: f64,
    pub down_volume: f64,
    /// How the share caught follows from these numbers, where it has a value.
    pub steps: Option<Steps>,
    pub efficiency: Outcome,
    pub ratio: Outcome,
    pub few: bool,
    /// The pairs, by their place, that differ by more than chance and every doubt let them; that farthest off first. Empty where
    /// they agree.
    pub apart: Vec<usize>,
}

/// From what was counted to the share caught E: 1 − E = D/U / (m e^(E t)), with D/U the net counts behind over those before in
/// the same counted volume.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Steps {
    /// 1 − D/U: what the counts say by themselves.
    pub by_counts: f64,
    /// t: turnovers of the tank by which the bottles before were drawn later than those behind, as all pairs together have it.
    pub turnovers: f64,
    /// m: what a mixture of sizes differs by from one size.
    pub mixture: f64,
}

/// 90 % on two sides: 95 % on one.
fn one_sided() -> Confidence {
    Confidence::new(0.9).unwrap_or(Confidence::P95)
}

/// The share caught from the size at a place up, from all pairs together.
pub fn caught(pairs: &[Counts], clean: &Sides, place: usize, challenge: Challenge, doubts: &Doubts) -> Caught {
    let used: Vec<Used<'_>> = pairs
        .iter()
        .enumerate()
        .filter_map(|(nth, pair)| {
            Some(Used { nth, pair, up: at(&pair.sides.up, place)?, down: at(&pair.sides.down, place)? })
        })
        .collect();
    let sum = |of: fn(&Used<'_>) -> f64| used.iter().map(of).sum::<f64>();
    let (up_volume, down_volume) = (sum(|used| used.up.volume), sum(|used| used.down.volume));
    let ground =
        |side: &[Option<Tally>], volume: f64| at(side, place).map_or(0.0, |g| g.count as f64 / g.volume * volume);
    let mut found = Caught {
        up: used.iter().map(|used| used.up.count).sum(),
        down: used.iter().map(|used| used.down.count).sum(),
        up_background: ground(&clean.up, up_volume),
        down_background: ground(&clean.down, down_volume),
        up_volume,
        down_volume,
        steps: None,
        efficiency: Outcome::unsaid("no pair of bottles has a count at this size on both sides"),
        ratio: Outcome::unsaid(""),
        few: false,
        apart: Vec::new(),
    };
    if !used.is_empty() {
        let pool = Pool::new(pairs, &used, clean, place, challenge);
        let curve = pool.curve();
        let top = Top::of(&pool, &curve, doubts);
        found.few = pool.is_few(doubts);
        found.efficiency = pool.outcome(&curve, top.as_ref(), challenge, doubts, found.few);
        found.steps = found.efficiency.known().map(|known| pool.steps(known.value));
        found.apart = top.and_then(|top| top.apart).map_or_else(Vec::new, |apart| apart.order);
    }
    found.ratio = ratio_of(&found.efficiency);
    found
}

pub(super) fn at(side: &[Option<Tally>], place: usize) -> Option<Tally> {
    side.get(place).copied().flatten().filter(|tally| tally.volume > 0.0)
}

/// β = 1/(1 − E), with the limits turned alike.
pub(super) fn ratio_of(efficiency: &Outcome) -> Outcome {
    let turned = |share: f64| 1.0 / (1.0 - share).max(1e-12);
    match efficiency {
        Outcome::Known(known) => {
            let slope = turned(known.value).powi(2);
            let sources = known.sources.iter();
            let sources =
                sources.map(|source| Source { contribution: source.contribution * slope, ..source.clone() }).collect();
            let interval = Interval { low: turned(known.interval.low), high: turned(known.interval.high) };
            Outcome::Known(Estimate::with_interval(turned(known.value), known.standard * slope, interval, sources))
        }
        Outcome::AtLeast { bound, why } => Outcome::AtLeast { bound: turned(*bound), why: why.clone() },
        Outcome::AtMost { bound, why } => Outcome::AtMost { bound: turned(*bound), why: why.clone() },
        Outcome::Unsaid { why } => Outcome::unsaid(why.clone()),
    }
}

/// A pair that was counted at the size on both sides.
struct Used<'c> {
    nth: usize,
    pair: &'c Counts,
    up: Tally,
    down: Tally,
}

/// One pair's part in the pool.
struct Part {
    /// Its place among all pairs.
    nth: usize,
    up: Tally,
    down: Tally,
    /// Before less background, in the counted volume behind; zero or more.
    net_up: f64,
    /// b − a.
    later: f64,
    shape: Departure,
    turnover: Option<f64>,
}

struct Pool {
    parts: Vec<Part>,
    ground_up: Option<Tally>,
    ground_down: Option<Tally>,
    /// D, and its limits by counting at 95 %.
    net_down: f64,
    limits: (f64, f64),
}

impl Pool {
    fn new(pairs: &[Counts], used: &[Used<'_>], clean: &Sides, place: usize, challenge: Challenge) -> Pool {
        let (ground_up, ground_down) = (at(&clean.up, place), at(&clean.down, place));
        let per = |ground: Option<Tally>| ground.map_or(0.0, |g| g.count as f64 / g.volume);
        let moments = |pair: &Counts| pair.turnovers.filter(|_| challenge == Challenge::Decays);
        let shapes = if challenge == Challenge::Decays { shapes(pairs, clean, place) } else { Vec::new() };
        let parts: Vec<Part> = used
            .iter()
            .enumerate()
            .map(|(among, Used { nth, pair, up, down })| Part {
                nth: *nth,
                up: *up,
                down: *down,
                net_up: (up.count as f64 - per(ground_up) * up.volume).max(0.0) * down.volume / up.volume,
                later: moments(pair).map_or(0.0, |(behind, before)| before - behind),
                shape: shapes.get(among).cloned().unwrap_or_default(),
                turnover: pair.turnover,
            })
            .collect();
        let net_down =
            parts.iter().map(|part| part.down.count as f64 - per(ground_down) * part.down.volume).sum::<f64>();
        let mut pool = Pool { parts, ground_up, ground_down, net_down, limits: (0.0, 0.0) };
        pool.limits = pool.down_limits(jeffreys, Confidence::P95);
        pool
    }

    fn is_few(&self, doubts: &Doubts) -> bool {
        self.net_down < doubts.few || self.limits.0 <= 0.0
    }

    fn curve(&self) -> Curve {
        Curve::new(self.parts.iter().map(|part| (part.net_up * part.shape.ln.exp(), part.later)).collect())
    }

    fn steps(&self, share: f64) -> Steps {
        let sum = |of: &dyn Fn(&Part) -> f64| self.parts.iter().map(of).sum::<f64>();
        let up = sum(&|part| part.net_up);
        let mixed = sum(&|part| part.net_up * part.shape.ln.exp());
        let moved = sum(&|part| part.net_up * (part.shape.ln + share * part.later).exp());
        // All of one moment, or caught so little that the moment hardly counts: the mean says it.
        let turnovers =
            if share.abs() < 1e-6 { sum(&|part| part.net_up * part.later) / up } else { (moved / mixed).ln() / share };
        Steps { by_counts: 1.0 - self.net_down / up, turnovers, mixture: mixed / up }
    }

    /// D between its limits, counting alone.
    fn down_limits(&self, law: fn(f64, f64) -> (f64, f64), confidence: Confidence) -> (f64, f64) {
        let seen: f64 = self.parts.iter().map(|part| part.down.count as f64).sum();
        let volume: f64 = self.parts.iter().map(|part| part.down.volume).sum();
        let (low, high) = law(seen, confidence.error() / 2.0);
        let (mut below, mut above) = (seen - low, high - seen);
        if let Some(ground) = self.ground_down {
            let scale = volume / ground.volume;
            let count = ground.count as f64;
            let (low, high) = law(count, confidence.error() / 2.0);
            below = below.hypot(scale * (high - count));
            above = above.hypot(scale * (count - low));
        }
        (self.net_down - below, self.net_down + above)
    }

    fn outcome(
        &self,
        curve: &Curve,
        top: Option<&Top<'_>>,
        challenge: Challenge,
        doubts: &Doubts,
        few: bool,
    ) -> Outcome {
        if curve.total <= 0.0 {
            return Outcome::unsaid("the background leaves nothing of what was counted before the filter");
        }
        if self.ground_down.is_some() && self.ground_up.is_none() {
            return Outcome::unsaid("no clean bottle from before the filter was counted");
        }
        if few {
            return self.bound(curve, top, challenge, doubts);
        }
        let Some(top) = top else {
            return Outcome::unsaid("too few particles were counted before the filter");
        };
        let ln_ratio = (self.net_down / curve.total).ln();
        let Some(share) = curve.solve(ln_ratio) else {
            return Outcome::unsaid(
                "more particles were counted behind the filter than a filter that catches anything lets through",
            );
        };
        let spread = top.spread(share, Confidence::P95);
        let (low, high) = (ln_ratio - spread.0, ln_ratio + spread.1);
        if top.apart.is_some() && high >= 0.0 {
            return Outcome::unsaid(
                "the pairs of bottles differ so much, by more than counting and every other doubt explain, that together they say nothing",
            );
        }
        if (curve.doubles() && high >= 0.0) || curve.solve(high).is_none() {
            let turns = self.parts.iter().map(|part| part.later).fold(0.0, f64::max);
            let why = format!(
                "the bottle before the filter was drawn {turns:.1} turnovers of the tank after that behind it, and a filter that catches little leaves the same counts as one that catches this much"
            );
            return curve
                .solve(ln_ratio - top.spread(share, one_sided()).0)
                .map_or_else(|| Outcome::unsaid(why.clone()), |bound| Outcome::AtMost { bound, why: why.clone() });
        }
        let one_sided = |up: bool| {
            let (below, above) = top.spread(share, one_sided());
            curve.solve(if up { ln_ratio + above } else { ln_ratio - below })
        };
        if self.ground_down.is_none() {
            let why = "no clean bottle of this run was counted, so nothing is taken off for what was in the oil before";
            return one_sided(true)
                .filter(|bound| *bound > 0.0)
                .map_or_else(|| Outcome::unsaid(why), |bound| Outcome::AtLeast { bound, why: why.to_owned() });
        }
        if let Challenge::Unknown { behind_first } = challenge {
            let why = "the times of the bottles or the volume of the circuit are not known, so the counts cannot be brought to one moment";
            return match one_sided(behind_first) {
                Some(bound) if behind_first && bound > 0.0 => Outcome::AtLeast { bound, why: why.to_owned() },
                Some(bound) if !behind_first => Outcome::AtMost { bound, why: why.to_owned() },
                _ => Outcome::unsaid(why),
            };
        }
        let ends = (curve.solve(high).unwrap_or(share), curve.solve(low).unwrap_or(1.0));
        let to_share = -(1.0 - share) / curve.slope(share) * top.again(share);
        let sources: Vec<Source> = top
            .sources(share)
            .into_iter()
            .map(|source| Source { contribution: source.contribution * to_share, ..source })
            .collect();
        let standard = sources.iter().fold(0.0_f64, |sum, source| sum.hypot(source.contribution));
        let interval = Interval { low: ends.0.min(share), high: ends.1.max(share) };
        Outcome::Known(Estimate::with_interval(share, standard, interval, sources))
    }

    /// At least so much, one-sided at 95 %, where few particles came through.
    fn bound(&self, curve: &Curve, top: Option<&Top<'_>>, challenge: Challenge, doubts: &Doubts) -> Outcome {
        let seen = self.parts.iter().map(|part| part.down.count).sum::<u64>();
        let ground = seen as f64 - self.net_down;
        let why = if (seen as f64) < doubts.few {
            match seen {
                0 => "no particle was counted behind the filter".to_owned(),
                1 => "only 1 particle was counted behind the filter".to_owned(),
                _ => format!("only {seen} particles were counted behind the filter"),
            }
        } else if self.net_down < doubts.few {
            let few = doubts.few;
            format!(
                "of {seen} particles counted behind the filter {ground:.1} are those of clean oil: fewer than {few:.0} are left"
            )
        } else {
            format!("the {seen} particles counted behind the filter cannot be told from the {ground:.1} of clean oil")
        };
        let unsaid = || Outcome::unsaid(format!("{why}, too few to say anything"));
        if matches!(challenge, Challenge::Unknown { behind_first: false }) {
            return unsaid();
        }
        // A median estimate keeps the logarithm finite where nothing was counted.
        let (_, high) = self.down_limits(garwood, one_sided());
        let middle = if self.net_down >= 0.7 { self.net_down } else { 0.7_f64.min(0.5 * high) };
        let share = curve.solve((middle / curve.total).ln()).unwrap_or(0.0).clamp(0.0, 1.0);
        let Some(top) = top else { return unsaid() };
        let seen = top.effective(share);
        let counting = self.exactly(seen, middle).unwrap_or_else(|| {
            let (low, _) = garwood(seen, one_sided().error() / 2.0);
            (high / middle).ln().hypot((seen / low.max(1e-9)).ln())
        });
        let other: Vec<(f64, Shape)> =
            top.other(share).iter().map(|source| (source.contribution.abs(), source.shape)).collect();
        let excess = counting.max(0.0).hypot(half_width(&other, one_sided()));
        let end = (middle / curve.total).ln() + excess * top.again(share);
        let safe = !curve.doubles() || end < 0.0;
        match curve.solve(end).filter(|bound| safe && *bound > 0.0) {
            Some(bound) => Outcome::AtLeast { bound, why },
            None => unsaid(),
        }
    }

    /// How far the exact bound lies above the estimate, as a logarithm, where no background is taken off behind: given how many
    /// there are in all, those before are binomial.
    fn exactly(&self, seen: f64, middle: f64) -> Option<f64> {
        if self.ground_down.is_some_and(|ground| ground.count > 0) || seen >= 1e8 {
            return None;
        }
        let side = |count: u64| Counted::new(count, Volume::new::<cubic_meter>(1.0)).ok();
        let behind = self.parts.iter().map(|part| part.down.count).sum();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 1e8")]
        let before = (seen + 1e-6).floor().max(0.0) as u64;
        let ratio = ratio::lower_bound(side(before)?, side(behind)?, Confidence::P95).ok()?;
        Some((before as f64 / ratio / middle).ln()).filter(|excess| excess.is_finite())
    }
}

/// D and U with their doubts.
struct Top<'p> {
    pool: &'p Pool,
    curve: &'p Curve,
    doubts: &'p Doubts,
    apart: Option<Apart>,
}

impl<'p> Top<'p> {
    fn of(pool: &'p Pool, curve: &'p Curve, doubts: &'p Doubts) -> Option<Top<'p>> {
        let mut top = Top { pool, curve, doubts, apart: None };
        if top.effective(0.0) <= 1.0 {
            return None;
        }
        top.apart = top.against().and_then(|against| apart(&against, doubts.apart));
        Some(top)
    }

    /// What each bottle behind holds beside its part of all that came through.
    fn against(&self) -> Option<Vec<Against>> {
        let (pool, doubts) = (self.pool, self.doubts);
        if pool.parts.len() < 2 || pool.net_down <= 0.0 {
            return None;
        }
        let share = self.curve.solve((pool.net_down / self.curve.total).ln())?;
        let per = |ground: Option<Tally>| ground.map_or(0.0, |g| g.count as f64 / g.volume);
        let bottle = |count: f64, bottles: u32| (doubts.scatter * count).powi(2) / f64::from(bottles.max(1));
        let against = |(part, own): (&Part, f64)| {
            let expected = pool.net_down * own;
            let ground = per(pool.ground_down) * part.down.volume;
            // Of the bottle before: what it holds and its background, as shares of what is used of it.
            let used = (part.net_up * part.up.volume / part.down.volume).max(1.0);
            let (held, clean) = (part.up.count as f64 / used, per(pool.ground_up) * part.up.volume / used);
            let counting = expected + ground + expected.powi(2) * held / used;
            let scatter = bottle(expected + ground, part.down.bottles)
                + expected.powi(2) * bottle(held, part.up.bottles)
                + (doubts.ground * ground).powi(2)
                + (doubts.ground * clean * expected).powi(2);
            let moment = part.turnover.filter(|turnover| *turnover > 0.0 && self.moves());
            let moment =
                moment.map_or(0.0, |turnover| 2.0 * (expected * share * doubts.moment / turnover).powi(2) / 3.0);
            Against {
                pair: part.nth,
                seen: part.down.count as f64 - ground,
                expected,
                variance: (counting + scatter + moment).max(1.0),
            }
        };
        Some(pool.parts.iter().zip(self.own(share)).map(against).collect())
    }

    /// What each particle before counts for, by pair.
    fn weights(&self, share: f64) -> Vec<f64> {
        let parts = self.pool.parts.iter();
        parts.map(|part| part.down.volume / part.up.volume * (share * part.later + part.shape.ln).exp()).collect()
    }

    /// U and the number of particles that would be known as well as it is.
    fn up(&self, share: f64) -> (f64, f64) {
        let weights = self.weights(share);
        let pairs = || self.pool.parts.iter().zip(&weights);
        let total: f64 = pairs().map(|(part, _)| part.net_up * (share * part.later + part.shape.ln).exp()).sum();
        let mut variance: f64 = pairs().map(|(part, weight)| weight * weight * part.up.count as f64).sum();
        if let Some(ground) = self.pool.ground_up {
            let scale: f64 = pairs().map(|(part, weight)| weight * part.up.volume).sum::<f64>() / ground.volume;
            variance += scale * scale * ground.count as f64;
        }
        (total, if variance > 0.0 { total * total / variance } else { 0.0 })
    }

    fn effective(&self, share: f64) -> f64 {
        self.up(share).1
    }

    /// What counting leaves open of ln D − ln U: below and above.
    fn counting(&self, share: f64, confidence: Confidence) -> (f64, f64) {
        let (low, high) = match confidence {
            Confidence::P95 => self.pool.limits,
            other => self.pool.down_limits(jeffreys, other),
        };
        let down = self.pool.net_down;
        let behind = ((down / low.max(0.02 * down)).ln(), (high / down).ln());
        let seen = self.effective(share);
        let (low, high) = jeffreys(seen, confidence.error() / 2.0);
        let before = ((seen / low.max(0.02 * seen)).ln(), (high / seen).ln());
        (behind.0.hypot(before.1), behind.1.hypot(before.0))
    }

    /// Every doubt but that of counting, in ln D − ln U.
    fn other(&self, share: f64) -> Vec<Source> {
        let (pool, doubts) = (self.pool, self.doubts);
        let weights = self.weights(share);
        let (up, _) = self.up(share);
        let down = pool.net_down.max(1.0);
        let mut sources = Vec::new();
        let per = |ground: Option<Tally>| ground.map_or(0.0, |g| g.count as f64 / g.volume);
        let (mut scatter, mut ground, mut moments) = (0.0, 0.0, 0.0);
        let (mut below, mut above) = (0.0, 0.0);
        for (part, weight) in pool.parts.iter().zip(&weights) {
            let behind = part.down.count as f64 / down;
            let before = part.up.count as f64 * weight / up;
            scatter += behind * behind / f64::from(part.down.bottles.max(1));
            scatter += before * before / f64::from(part.up.bottles.max(1));
            let behind = per(pool.ground_down) * part.down.volume / down;
            let before = per(pool.ground_up) * part.up.volume * weight / up;
            ground += behind * behind + before * before;
            below += behind;
            above += before;
            if let Some(turnover) = part.turnover.filter(|turnover| *turnover > 0.0 && self.moves()) {
                let own = part.net_up * (share * part.later + part.shape.ln).exp() / up;
                moments += 2.0 * (share * own * doubts.moment / turnover).powi(2) / 3.0;
            }
        }
        // The clean bottles scatter too, and are the same for all pairs.
        let clean = |ground: Option<Tally>| f64::from(ground.map_or(1, |g| g.bottles.max(1)));
        scatter += below * below / clean(pool.ground_down) + above * above / clean(pool.ground_up);
        ground += below * below + above * above;
        sources.push(Source::normal("the laboratory from bottle to bottle", doubts.scatter * scatter.sqrt()));
        sources.push(Source::normal("the background from bottle to bottle", doubts.ground * ground.sqrt()));
        if self.moves() {
            let pull = share * self.curve.later(share);
            sources.push(Source::normal("the moments of the bottles", moments.sqrt()));
            sources.push(Source::within("volume of the circuit", pull * doubts.volume).shared("volume of the circuit"));
            let meter =
                if doubts.meter.is_empty() { "flow".to_owned() } else { format!("flow meter {}", doubts.meter) };
            sources.push(Source::within(meter, -pull * doubts.flow).shared(doubts.meter.clone()));
            sources.push(Source::normal("the mixture of sizes", self.mixture(share)));
        }
        if let Some(apart) = &self.apart {
            sources.push(Source::scatter("the pairs of bottles among themselves", apart.scatter, apart.freedom));
        }
        sources.retain(|source| source.contribution.abs() > 1e-12 && source.contribution.is_finite());
        sources
    }

    /// Each pair's part in U.
    fn own(&self, share: f64) -> Vec<f64> {
        let (up, _) = self.up(share);
        let parts = self.pool.parts.iter();
        parts.map(|part| part.net_up * (share * part.later + part.shape.ln).exp() / up).collect()
    }

    /// What the counts of the single classes leave open of the mixture's shape.
    fn mixture(&self, share: f64) -> f64 {
        let own = self.own(share);
        let classes = self.pool.parts.iter().map(|part| part.shape.noise.len()).max().unwrap_or(0);
        let of = |class: usize| {
            let parts = self.pool.parts.iter().zip(&own);
            parts.map(|(part, own)| own * part.shape.noise.get(class).copied().unwrap_or(0.0)).sum::<f64>()
        };
        (0..classes).map(of).fold(0.0_f64, f64::hypot)
    }

    /// The shape is read off the same counts, so an error of theirs counts a little more than once.
    fn again(&self, share: f64) -> f64 {
        let own = self.own(share);
        let follows: f64 = self.pool.parts.iter().zip(&own).map(|(part, own)| own * part.shape.follows).sum();
        (1.0 - follows).clamp(1.0, 2.0)
    }

    fn moves(&self) -> bool {
        self.pool.parts.iter().any(|part| part.later != 0.0)
    }

    fn sources(&self, share: f64) -> Vec<Source> {
        let (low, high) = self.pool.limits;
        let normal = 1.959_964;
        let behind = (high.max(1e-9) / low.max(0.02 * self.pool.net_down).max(1e-9)).ln() / 2.0 / normal;
        let before = 1.0 / self.effective(share).max(1e-9).sqrt();
        let mut sources = vec![
            Source::normal("particles counted behind", behind),
            Source::normal("particles counted before", -before),
        ];
        sources.extend(self.other(share));
        sources
    }

    /// How far ln D − ln U may lie below and above what was found.
    fn spread(&self, share: f64, confidence: Confidence) -> (f64, f64) {
        let normal = if confidence == Confidence::P95 { 1.959_964 } else { 1.644_854 };
        let (below, above) = self.counting(share, confidence);
        let mut parts: Vec<(f64, Shape)> =
            self.other(share).iter().map(|source| (source.contribution.abs(), source.shape)).collect();
        let mut side = |counting: f64| {
            parts.push((counting / normal, Shape::Normal));
            let half = half_width(&parts, confidence);
            parts.pop();
            half * self.again(share)
        };
        (side(below), side(above))
    }
}

/// Limits of an expectation of which n were counted (Jeffreys), with this much beyond either end.
fn jeffreys(count: f64, tail: f64) -> (f64, f64) {
    let quantile = |p: f64| chi_squared_quantile(p, 2.0 * count.max(0.0) + 1.0).map(|x| x / 2.0);
    let low = if count > 0.0 { quantile(tail).unwrap_or(0.0) } else { 0.0 };
    (low, quantile(1.0 - tail).unwrap_or(f64::INFINITY))
}

/// The exact ones (Garwood), of any count above zero.
fn garwood(count: f64, tail: f64) -> (f64, f64) {
    let quantile = |p: f64, freedom: f64| chi_squared_quantile(p, freedom).map(|x| x / 2.0);
    let low = if count > 0.0 { quantile(tail, 2.0 * count).unwrap_or(0.0) } else { 0.0 };
    (low, quantile(1.0 - tail, 2.0 * count.max(0.0) + 2.0).unwrap_or(f64::INFINITY))
}
