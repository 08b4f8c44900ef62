//! One place counted over time: how fast particles become fewer gives the share caught, ln n(t) = ln n₀ − E Q t/V, if the oil is
//! well stirred and every particle that is not caught comes round again. Particles from a size up are a mixture of which those
//! that are caught best go first; the slope therefore gives a lower bound.

use super::super::estimate::{Estimate, Outcome, Source};
use super::super::model::SizeResult;
use super::super::sheet::Sheet;
use super::bottles::Bottle;
use super::read_flow;
use super::share::{Doubts, Sides, Tally};

/// The bottles of one dose at one place, in the order in which they were drawn.
type Series<'b, 'a> = Vec<&'b Bottle<'a>>;

/// The share caught by size, from every series of three bottles or more: their slopes weigh by what is known of each.
pub(super) fn by_size(
    sheet: &Sheet<'_>,
    bottles: &[Bottle<'_>],
    sizes: &[(f64, String)],
    clean: &Sides,
    doubts: &Doubts,
    remarks: &mut Vec<String>,
) -> Vec<SizeResult> {
    let series: Vec<Series<'_, '_>> = series(bottles).into_iter().filter(|series| series.len() >= 3).collect();
    if series.is_empty() {
        remarks.push("A slope needs three bottles of one place after one dose.".to_owned());
    }
    sizes
        .iter()
        .enumerate()
        .map(|(place, (size, words))| of_size(sheet, &series, (place, *size, words), clean, doubts))
        .collect()
}

fn series<'b, 'a>(bottles: &'b [Bottle<'a>]) -> Vec<Series<'b, 'a>> {
    let mut found: Vec<Series<'b, 'a>> = Vec::new();
    let mine = |bottle: &&Bottle<'_>| {
        bottle.drawn.dusty && bottle.drawn.mounted && !bottle.drawn.behind && bottle.drawn.pass.is_some()
    };
    for bottle in bottles.iter().filter(mine).filter(|bottle| bottle.recorded || bottle.barred.is_none()) {
        let began = |bottle: &Bottle<'_>| bottle.drawn.pass.as_ref().map(|pass| pass.number);
        let like = |series: &Series<'_, '_>| {
            series.first().is_some_and(|first| {
                first.drawn.bottle.sampler == bottle.drawn.bottle.sampler && began(first) == began(bottle)
            })
        };
        match found.iter_mut().find(|series| like(series)) {
            Some(series) => series.push(bottle),
            None => found.push(vec![bottle]),
        }
    }
    found
}

fn of_size(
    sheet: &Sheet<'_>,
    all: &[Series<'_, '_>],
    (place, size, words): (usize, f64, &str),
    clean: &Sides,
    doubts: &Doubts,
) -> SizeResult {
    let ground = clean.up.get(place).copied().flatten();
    let per = ground.map_or(0.0, |ground: Tally| ground.count as f64 / ground.volume);
    let (mut weights, mut weighted, mut scatter, mut freedom) = (0.0, 0.0, 0.0, 0.0);
    let mut ends: Option<(Tally, Tally)> = None;
    let mut why = "fewer than three bottles of one place after one dose can be used".to_owned();
    for series in all {
        let mut points: Vec<(f64, f64, f64)> = Vec::new();
        for bottle in series {
            let seen = match bottle.at(size) {
                Ok(seen) => seen,
                Err(reason) => {
                    why = reason;
                    continue;
                }
            };
            let (Some(time), Some(oil)) = (bottle.time, bottle.drawn.oil) else { continue };
            let Some(flow) = read_flow(sheet, bottle).map(|(flow, _)| flow).or(bottle.drawn.flow) else { continue };
            let net = seen.count as f64 - per * seen.volume;
            if net < doubts.few {
                continue;
            }
            let turns = time.seconds as f64 * flow / f64::midpoint(oil.low, oil.high);
            let ground = per * seen.volume / net;
            let doubt = seen.count as f64 / (net * net)
                + (doubts.scatter * seen.count as f64 / net).powi(2) / f64::from(seen.bottles.max(1))
                + (doubts.ground * ground).powi(2);
            points.push((turns, (net / seen.volume).ln(), 1.0 / doubt));
            ends = Some((ends.map_or(seen, |(first, _)| first), seen));
        }
        if points.len() < 3 {
            continue;
        }
        let Some((slope, own, residual)) = line(&points) else { continue };
        weights += own;
        weighted += own * -slope;
        scatter += residual;
        freedom += points.len() as f64 - 2.0;
    }
    let outcome = if weights > 0.0 && ground.is_some() {
        let share = weighted / weights;
        // The scatter that is seen, where it is more than what bottles and counting make.
        let seen = (scatter / freedom).sqrt().max(1.0);
        let mut sources =
            vec![Source::scatter("scatter of the counts about the line", seen / weights.sqrt(), f64::INFINITY)];
        sources.push(Source::within("volume of the circuit", share * doubts.volume).shared("volume of the circuit"));
        let meter = if doubts.meter.is_empty() { "flow".to_owned() } else { format!("flow meter {}", doubts.meter) };
        sources.push(Source::within(meter, -share * doubts.flow).shared(doubts.meter.clone()));
        let estimate = Estimate::new(share, sources);
        // Those that are caught best go first: what is left tells of less than what was there.
        match estimate.interval.low.min(1.0) {
            bound if bound > 0.0 => Outcome::AtLeast {
                bound,
                why: "those that are caught best go first, so of all that were there at first at least this share is caught"
                    .to_owned(),
            },
            _ => Outcome::unsaid("the particles did not plainly become fewer"),
        }
    } else if ground.is_none() {
        Outcome::unsaid("without a clean bottle nobody knows where the particles would have levelled out")
    } else {
        Outcome::unsaid(why)
    };
    let ratio = super::share::ratio_of(&outcome);
    let none = Tally { count: 0, volume: 0.0, bottles: 0 };
    let (first, last) = ends.unwrap_or((none, none));
    SizeResult {
        size,
        words: words.to_owned(),
        up: first.count,
        down: last.count,
        up_background: per * first.volume,
        down_background: per * last.volume,
        up_volume: first.volume,
        down_volume: last.volume,
        steps: None,
        efficiency: outcome,
        ratio,
        few: ends.is_none(),
    }
}

/// Slope, its weight 1/u², and the weighted squares that are left.
fn line(points: &[(f64, f64, f64)]) -> Option<(f64, f64, f64)> {
    let sum = |of: &dyn Fn(&(f64, f64, f64)) -> f64| points.iter().map(of).sum::<f64>();
    let all = sum(&|(_, _, w)| *w);
    let (x, y) = (sum(&|(x, _, w)| x * w) / all, sum(&|(_, y, w)| y * w) / all);
    let squares = sum(&|(at, _, w)| w * (at - x).powi(2));
    let slope = sum(&|(at, value, w)| w * (at - x) * (value - y)) / squares;
    let left = sum(&|(at, value, w)| w * (value - y - slope * (at - x)).powi(2));
    (squares > 0.0 && slope.is_finite()).then_some((slope, squares, left))
}
