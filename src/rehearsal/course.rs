//! A test carried out on paper for one model: what each step takes, and how many rounds each loop goes.

use crate::foresight::{Paper, Span, State};
use crate::plan::{Action, Plan, Run, Step, Test};

/// How often each loop of a test goes round, in the order of [`Test::batches`].
#[derive(Debug, Clone)]
pub struct Rounds {
    /// Every way that the expected capacity and the bend of the loading curve allow; no two alike.
    pub ways: Vec<Vec<u32>>,
    /// The way of the expected capacity itself.
    pub likely: Vec<u32>,
    /// Whether a capacity is expected; otherwise a loop may end anywhere up to its cap.
    pub expected: bool,
}

/// s: nobody stands beside a wait as long as this.
const ALONE: f64 = 3.0 * 3600.0;

/// What the time of a step goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    Heat,
    Wait,
    CleanUp,
    Loading,
    FluidChange,
    Hands,
    /// Long waits with nobody there: a can that drains overnight, a housing that airs.
    Standing,
}

impl Work {
    /// Work at the bench, in the order in which it is printed.
    pub const ALL: [Work; 6] = [Work::Hands, Work::FluidChange, Work::Heat, Work::Wait, Work::Loading, Work::CleanUp];

    /// As it stands in tables and pictures.
    pub fn words(self) -> &'static str {
        match self {
            Work::Heat => "heat",
            Work::Wait => "dwells",
            Work::CleanUp => "clean-up",
            Work::Loading => "loading",
            Work::FluidChange => "fluid",
            Work::Hands => "hands",
            Work::Standing => "alone",
        }
    }

    pub(super) fn of(step: &Step) -> Work {
        match &step.action {
            Action::Wait(dwell) if dwell.least.si() >= ALONE => Work::Standing,
            Action::AntiDrain { time, .. } if time.si() >= ALONE => Work::Standing,
            _ if step.round.is_some() => Work::Loading,
            Action::HoldViscosity(_) | Action::HoldTemperature(_) | Action::Cool { .. } => Work::Heat,
            Action::Circulate(_) | Action::Settle(_) | Action::Wait(_) => Work::Wait,
            Action::CleanUp(_) => Work::CleanUp,
            Action::ChangeFluid(_) => Work::FluidChange,
            _ => Work::Hands,
        }
    }
}

/// One test with specimens of one model.
#[derive(Debug)]
pub struct Course<'p> {
    pub paper: Paper<'p>,
    /// The model's name, or the specimen's code where it is of no model.
    pub model: &'p str,
    /// The codes of the runs that go this way.
    pub runs: Vec<&'p str>,
    pub rounds: Rounds,
    /// s, of each step, were every loop to go to its cap.
    lasts: Vec<Span>,
}

/// A course for each test and model, in the order in which the runs come to them.
pub(super) fn courses<'p>(plan: &'p Plan, runs: &[&'p Run]) -> Vec<Course<'p>> {
    let mut courses: Vec<Course<'p>> = Vec::new();
    for run in runs {
        let Some(test) = plan.test_of(run) else { continue };
        let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_deref());
        let model = model.unwrap_or(&run.specimen);
        let same = |course: &&mut Course<'p>| std::ptr::eq(course.paper.test, test) && course.model == model;
        match courses.iter_mut().find(same) {
            Some(course) => course.runs.push(&run.code),
            None => courses.push(Course::of(plan, run, test, model)),
        }
    }
    courses
}

impl<'p> Course<'p> {
    fn of(plan: &'p Plan, run: &'p Run, test: &'p Test, model: &'p str) -> Self {
        let paper = Paper::new(plan, &[run], test);
        let lasts = paper.walk().map(|(_, before, after)| {
            Span::between(after.clock.low - before.clock.low, after.clock.high - before.clock.high)
        });
        let lasts = lasts.collect();
        let rounds = Rounds::of(test, paper.assumed.capacity);
        Self { paper, model, runs: vec![&run.code], rounds, lasts }
    }

    /// The model's own title, or its name.
    pub fn title(&self) -> String {
        let model = self.paper.plan.campaign.models.get(self.model);
        model.map_or_else(|| self.model.to_owned(), |model| model.name.clone())
    }

    /// The bench before and after each step, with the likely number of rounds.
    pub fn walk(&self) -> impl Iterator<Item = (&'p Step, State<'p>, State<'p>)> + '_ {
        let mut before = self.paper.start();
        self.paper.test.steps.iter().filter(|step| goes(step, &self.rounds.likely)).map(move |step| {
            let after = self.paper.after(&before, step);
            (step, std::mem::replace(&mut before, after.clone()), after)
        })
    }

    /// s, that the steps which are wanted take, from the shortest way to the longest.
    pub fn takes(&self, wanted: impl Fn(&Step) -> bool) -> Span {
        let each = self.rounds.ways.iter().map(|way| self.sum(way, &wanted));
        each.reduce(Span::or).unwrap_or_default()
    }

    /// s, that they take most likely.
    pub fn likely(&self, wanted: impl Fn(&Step) -> bool) -> f64 {
        let steps = self.paper.test.steps.iter().zip(&self.lasts);
        steps.filter(|(step, _)| goes(step, &self.rounds.likely) && wanted(step)).map(|(_, lasts)| lasts.middle()).sum()
    }

    /// The same for one kind of work.
    pub fn work(&self, work: Work) -> (Span, f64) {
        let wanted = |step: &Step| Work::of(step) == work;
        (self.takes(wanted), self.likely(wanted))
    }

    fn sum(&self, way: &[u32], wanted: impl Fn(&Step) -> bool) -> Span {
        let steps = self.paper.test.steps.iter().zip(&self.lasts);
        let steps = steps.filter(|(step, _)| goes(step, way) && wanted(step));
        steps.fold(Span::default(), |sum, (_, lasts)| sum.plus(*lasts))
    }
}

/// Whether a step is carried out when its loop goes round so often.
pub(super) fn goes(step: &Step, rounds: &[u32]) -> bool {
    step.round.is_none_or(|(index, round)| rounds.get(index).is_none_or(|most| round <= *most))
}

/// The sharpest bend that is reckoned with: at half the rise then lies three quarters of the dust. From memory of published
/// loading curves.
const BEND: f64 = 2.4;

impl Rounds {
    /// From the dust that is expected to bring a specimen to the largest rise of the test: the rise grows with the dust from
    /// a straight line to `(e^(b x) − 1)/(e^b − 1)` with b = 2.4.
    pub fn of(test: &Test, capacity: Option<Span>) -> Self {
        let caps: Vec<u32> = test.batches.iter().enumerate().map(|(index, _)| most_rounds(test, index)).collect();
        let Some(capacity) = capacity.filter(|capacity| capacity.low > 0.0) else {
            let least = vec![1; caps.len()];
            let likely = caps.iter().map(|cap| cap.div_ceil(2)).collect();
            let ways = if least == caps { vec![caps] } else { vec![least, caps] };
            return Self { ways, likely, expected: false };
        };
        let mut ways: Vec<Vec<u32>> = Vec::new();
        for part in 0..=20 {
            let dust = capacity.low + (capacity.high - capacity.low) * f64::from(part) / 20.0;
            for bend in 0..=8 {
                let way = way(test, &caps, dust, BEND * f64::from(bend) / 8.0);
                if !ways.contains(&way) {
                    ways.push(way);
                }
            }
        }
        let middle = f64::midpoint(capacity.low, capacity.high);
        Self { ways, likely: way(test, &caps, middle, BEND / 2.0), expected: true }
    }

    /// The fewest and the most rounds of one loop.
    pub fn of_loop(&self, index: usize) -> (u32, u32) {
        let each = || self.ways.iter().filter_map(|way| way.get(index).copied());
        (each().min().unwrap_or(0), each().max().unwrap_or(0))
    }
}

/// What one round of a loop brings in, kg.
pub(super) fn dose_of(test: &Test, index: usize) -> Option<f64> {
    let mut rounds = test.steps.iter().filter(|step| step.round == Some((index, 1)));
    rounds.find_map(|step| match &step.action {
        Action::Dose { mass, .. } => mass.target.as_ref().map(|mass| mass.si()),
        _ => None,
    })
}

fn most_rounds(test: &Test, index: usize) -> u32 {
    let Some(batch) = test.batches.get(index) else { return 0 };
    let by_mass = batch.mass_cap.as_ref().zip(dose_of(test, index)).map(|(cap, dose)| whole(cap.si() / dose + 1e-9));
    by_mass.map_or(batch.cap, |most| most.clamp(1, batch.cap))
}

fn way(test: &Test, caps: &[u32], capacity: f64, bend: f64) -> Vec<u32> {
    let last = test.batches.iter().map(|batch| batch.terminal.si_difference()).fold(0.0, f64::max);
    let mut dosed = 0.0;
    let each = test.batches.iter().zip(caps).enumerate();
    each.map(|(index, (batch, cap))| {
        let Some(dose) = dose_of(test, index).filter(|dose| *dose > 0.0) else { return *cap };
        let rise = if last > 0.0 { batch.terminal.si_difference() / last } else { 1.0 };
        let needed = capacity * dust_at(rise, bend) - dosed;
        let rounds = whole((needed / dose - 1e-9).ceil()).clamp(1, *cap);
        dosed += f64::from(rounds) * dose;
        rounds
    })
    .collect()
}

/// The share of the capacity at which a share of the rise is reached; the inverse of the loading curve.
pub(super) fn dust_at(rise: f64, bend: f64) -> f64 {
    if bend < 1e-6 { rise } else { (rise * bend.exp_m1()).ln_1p() / bend }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a number of rounds, held in range")]
fn whole(value: f64) -> u32 {
    value.clamp(0.0, 1e6) as u32
}
