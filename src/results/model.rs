//! What a campaign found: numbers with their doubt, run by run and specimen by specimen. SI throughout; the units are those
//! in which the plan reads, for printing.

use serde::Serialize;

use super::estimate::{Estimate, Outcome};
use super::removal::share::Steps;
use crate::quantity::Unit;

/// Everything that plan and records lead to.
#[derive(Debug, Clone, Serialize)]
pub struct Results {
    /// Every run of the plan, in its order: also those that were broken off, set aside or never begun.
    pub runs: Vec<RunResults>,
    /// What was compared between specimens.
    pub measurands: Vec<Measurand>,
    /// What the reference specimen did between its first and its last run.
    pub drifts: Vec<Drift>,
    /// What packages promise, beside what was measured.
    pub claims: Vec<ClaimCheck>,
    /// One for each question of the campaign, in its order.
    pub answers: Vec<Answer>,
    /// Only where the campaign declares weights.
    pub score: Option<Score>,
    /// Secondary views. Nothing rests on them.
    pub per_unit: Vec<PerUnit>,
}

/// How far a run got.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Course {
    NotBegun,
    BrokenOff,
    Complete,
}

/// What one run found.
#[derive(Debug, Clone, Serialize)]
pub struct RunResults {
    pub code: String,
    /// Index into [`crate::plan::Plan::tests`].
    pub test: usize,
    pub specimen: String,
    pub course: Course,
    /// ISO date of its first row; empty where nothing was recorded.
    pub date: String,
    /// Why nothing of it enters a comparison: an answer says that the run was repeated.
    pub set_aside: Option<String>,
    /// Cells that were recorded and not used, and why.
    pub left_out: Vec<LeftOut>,
    pub restrictions: Vec<RestrictionResult>,
    pub loading: Option<LoadingResult>,
    pub removal: Option<RemovalResult>,
    pub mechanics: Vec<MechanicalResult>,
    /// Observations, counts and measures of a teardown and of looks at the specimen: label, what was written, path.
    pub observations: Vec<Observation>,
}

/// A cell that was recorded and is not used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Path of the reading.
    pub reading: String,
    /// As written.
    pub written: String,
    /// The code of the open finding, or empty.
    pub code: String,
    pub why: String,
}

/// A flow sweep: the element's own differential pressure.
#[derive(Debug, Clone, Serialize)]
pub struct RestrictionResult {
    /// Name of the stage.
    pub stage: String,
    pub title: String,
    pub fluid: String,
    /// What the results are brought to: m²/s, kg/m³.
    pub viscosity: f64,
    pub density: f64,
    pub unit: Unit,
    pub flow_unit: Unit,
    pub points: Vec<SweepPoint>,
    /// Readings of differential pressure that the plan asks for and that are not among the points: missing, or barred.
    pub lost: usize,
    /// Through the net readings; `None` where too few are left.
    pub fit: Option<CurveFit>,
    /// Through the tare readings; `None` where none was taken.
    pub tare: Option<CurveFit>,
    /// At each planned flow (m³/s), at the reference viscosity, by rising flow.
    pub at: Vec<(f64, Outcome)>,
    /// Where the curve breaks off because a by-pass opens.
    pub knee: Option<Knee>,
    /// Whether the tare is taken off. Without it every pressure is that of element, housing and adaptor together.
    pub net: bool,
    /// Whether the plan asks for a tare and none can be taken off: such pressures are compared with no others.
    pub tare_lost: bool,
    /// What the reader must know, in sentences.
    pub remarks: Vec<String>,
}

impl RestrictionResult {
    /// The one number that stands for the sweep: at its highest planned flow.
    pub fn headline(&self) -> Option<&(f64, Outcome)> {
        self.at.last()
    }
}

/// One reading of a sweep. SI.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepPoint {
    /// Path of the reading of differential pressure.
    pub path: String,
    /// The flow that the plan asks for.
    pub planned: f64,
    pub rising: bool,
    pub flow: f64,
    /// K, as read; m²/s and kg/m³ of the oil at it.
    pub temperature: f64,
    pub viscosity: f64,
    pub density: f64,
    /// As read.
    pub gross: f64,
    /// Of the housing's curve at this flow, viscosity and density.
    pub tare: Option<f64>,
    /// Gross less tare, or gross where there is none.
    pub net: f64,
    /// Net, brought to the planned flow and the reference viscosity.
    pub at_reference: f64,
    /// Whether the fit uses it; a reading beyond the knee is shown and not used.
    pub used: bool,
}

/// ΔP = a μ Q + b ρ Q², fitted to readings at their own viscosities and densities.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurveFit {
    /// 1/m³: Pa per Pa·s and m³/s.
    pub viscous: f64,
    /// 1/m⁴: Pa per kg/m³ and (m³/s)².
    pub inertial: f64,
    /// Variance of a, covariance, variance of b.
    pub covariance: [f64; 3],
    /// Standard deviation of the readings about the curve, Pa.
    pub scatter: f64,
    pub degrees_of_freedom: usize,
    /// Range of flows, m³/s.
    pub flows: (f64, f64),
}

/// Where a curve breaks off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Knee {
    /// The last flow that belongs to the element, m³/s, and the differential pressure there as read, Pa.
    pub flow: f64,
    pub pressure: f64,
}

/// Dust given until the differential pressure had risen far enough.
#[derive(Debug, Clone, Serialize)]
pub struct LoadingResult {
    pub unit: Unit,
    /// g, kg, …: how masses are read.
    pub mass_unit: Unit,
    /// The rise that ends it, Pa.
    pub terminal: f64,
    /// The clean differential pressure that the rise is counted from, Pa.
    pub baseline: Option<f64>,
    pub points: Vec<LoadPoint>,
    /// Dust given at the terminal rise, kg.
    pub capacity: Outcome,
    /// Dust given before and after the terminal rise, kg: it lies between, whatever the curve does.
    pub between: Option<(f64, f64)>,
    pub ledger: DustLedger,
    /// Differential pressure that stepped back after a dose: a by-pass that opens, or a tear.
    pub stepped_back: bool,
    pub remarks: Vec<String>,
}

/// After one round. SI.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadPoint {
    /// Path of the reading of differential pressure.
    pub path: String,
    pub stage: String,
    pub round: u32,
    /// Dust given so far, kg, and its standard uncertainty.
    pub mass: f64,
    pub mass_doubt: f64,
    /// As read, and brought to the planned flow and viscosity, Pa.
    pub gross: f64,
    pub pressure: f64,
    /// Above the clean pressure, Pa.
    pub rise: f64,
}

/// Where the dust went, kg.
#[derive(Debug, Clone, Serialize)]
pub struct DustLedger {
    /// What adds up to the dust given.
    pub lines: Vec<LedgerLine>,
    pub given: Outcome,
    /// Where some of it went that the specimen does not hold.
    pub away: Vec<LedgerLine>,
    /// What the specimen holds at most: given less what went with samples. What is still in the oil nobody has looked at.
    pub retained: Outcome,
    /// Gain of the specimen by weighing, where it was weighed before and after.
    pub gain: Outcome,
    /// Given less what went with samples, less gain; what is still in the oil is in it.
    pub closure: Outcome,
    /// Whether the closure's interval contains zero.
    pub closes: Option<bool>,
}

/// One line of the ledger.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LedgerLine {
    pub what: String,
    /// kg; below zero where it goes away.
    pub mass: f64,
    pub doubt: f64,
}

/// Which of the honest designs a plan's dosing follows, and so what its counts may claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Design {
    /// A mixed batch, then one pass: paired bottles give the share caught in one pass.
    MixedBatch,
    /// Dust fed without end: paired bottles at a schedule.
    Continuous,
    /// One point counted over time: the slope gives the share caught, if the volume is well stirred.
    Decay,
    /// Nothing of it: what is left after circulating is no efficiency.
    Residual,
}

/// What went in and what came out, by size.
#[derive(Debug, Clone, Serialize)]
pub struct RemovalResult {
    pub design: Design,
    /// What these counts may claim, in a sentence.
    pub claims: String,
    pub pairs: Vec<Pair>,
    /// All pairs of the run together, by rising size: counts pooled, never an average of ratios.
    pub pooled: Vec<SizeResult>,
    pub remarks: Vec<String>,
}

/// Two bottles of one moment.
#[derive(Debug, Clone, Serialize)]
pub struct Pair {
    pub stage: String,
    pub round: Option<u32>,
    /// Labels.
    pub up: String,
    pub down: String,
    /// s after the flow was switched to the specimen, where known.
    pub up_after: Option<f64>,
    pub down_after: Option<f64>,
    /// s: V/Q, where known.
    pub turnover: Option<f64>,
    pub sizes: Vec<SizeResult>,
}

/// At one size and above.
#[derive(Debug, Clone, Serialize)]
pub struct SizeResult {
    /// m.
    pub size: f64,
    /// Such as `10 µm(c)`.
    pub words: String,
    /// Particles seen by the sensor.
    pub up: u64,
    pub down: u64,
    /// The same in clean oil, scaled to the counted volume: expected particles.
    pub up_background: f64,
    pub down_background: f64,
    /// m³ of undiluted oil that was counted.
    pub up_volume: f64,
    pub down_volume: f64,
    /// From the counts to the share caught, where it has a value and follows from pairs.
    pub steps: Option<Steps>,
    /// Share caught.
    pub efficiency: Outcome,
    /// β, from the same counts.
    pub ratio: Outcome,
    /// Too few particles to say more than a bound.
    pub few: bool,
}

/// By-pass opening, leakage of the anti-drain valve, bubble point, torque.
#[derive(Debug, Clone, Serialize)]
pub struct MechanicalResult {
    /// Stable: `by-pass`, `drain-back`, `seams`, … the stage, and what was found.
    pub key: String,
    pub title: String,
    pub unit: Unit,
    pub better: Better,
    pub outcome: Outcome,
    /// Single values in the order in which they were read: path, value in SI.
    pub values: Vec<(String, f64)>,
    /// Of a by-pass: flow and differential pressure, SI, by rising flow.
    pub curve: Vec<(f64, f64)>,
    pub remarks: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Observation {
    pub path: String,
    pub label: String,
    pub written: String,
    /// File and hash of the photograph, where it is one.
    pub photograph: bool,
}

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Better {
    Low,
    High,
    /// Neither: it is told, not ranked.
    Neither,
}

/// Something that all specimens of a test can be compared by.
#[derive(Debug, Clone, Serialize)]
pub struct Measurand {
    /// `TEST/STAGE`, `TEST/capacity`, `TEST/capture at 10 µm(c)`, `TEST/STAGE/READING`: as a question names it.
    pub key: String,
    pub title: String,
    /// Index into [`crate::plan::Plan::tests`].
    pub test: usize,
    pub unit: Unit,
    pub better: Better,
    /// By the specimens' codes: the order of a register may follow the models, which are hidden.
    pub entries: Vec<Entry>,
    pub comparison: Comparison,
}

/// One specimen's result.
#[derive(Debug, Clone, Serialize)]
pub struct Entry {
    pub specimen: String,
    /// Always as the register has it: whether it may be shown is for the report to say.
    pub model: Option<String>,
    pub reference: bool,
    pub runs: Vec<String>,
    pub outcome: Outcome,
    /// With the drift of the reference specimen taken off, beside it.
    pub corrected: Option<Outcome>,
    pub remark: Option<String>,
}

/// What can be said of the differences.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Comparison {
    /// How it was decided, in a sentence: of these specimens, or of models with several specimens each.
    pub basis: String,
    /// All pairs of what was compared, indices into `groups`.
    pub pairs: Vec<PairDifference>,
    /// What was compared and gives a number: a specimen, or a model by the codes of its specimens. Title and mean.
    pub groups: Vec<(String, f64)>,
    /// The codes of each group's specimens, and its mean with its doubt. In the order of `groups`.
    pub members: Vec<Vec<String>>,
    pub means: Vec<Estimate>,
    /// Letters: groups that share one cannot be told apart. In the order of `groups`.
    pub letters: Vec<String>,
    /// What the verdicts of the whole family may err together: two differ where their adjusted p is below it.
    pub error: f64,
    /// The smallest true difference that this campaign would have shown in eight of ten cases, SI.
    pub resolvable: Option<f64>,
    /// Where only a bound is known and it lies beyond another's interval all the same.
    pub beyond: Vec<Beyond>,
    /// Who is not compared with whom, and why; nobody is left out without a word.
    pub remarks: Vec<String>,
    /// Why there is no comparison, where there is none.
    pub none: Option<String>,
}

/// Two specimens that a bound tells apart, at 95 % for the two by themselves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Beyond {
    pub higher: String,
    pub lower: String,
    pub words: String,
}

/// Two groups.
#[derive(Debug, Clone, Serialize)]
pub struct PairDifference {
    pub first: usize,
    pub second: usize,
    /// First less second, SI, with the interval that holds for the whole family at once.
    pub difference: Estimate,
    pub family: (f64, f64),
    /// Adjusted for the whole family.
    pub p_value: f64,
    pub differs: bool,
    /// Whether one of the two is the reference.
    pub against_reference: bool,
}

/// The reference specimen at the beginning and at the end.
#[derive(Debug, Clone, Serialize)]
pub struct Drift {
    /// Key of the measurand.
    pub measurand: String,
    pub specimen: String,
    /// Run, its place among the test's runs (from 0), and what it gave.
    pub runs: Vec<(String, usize, Outcome)>,
    /// Last over first less 1, as an estimate; the relative drift.
    pub change: Outcome,
    /// Whether the change is beyond its doubt.
    pub seen: bool,
    pub words: String,
}

/// A promise on a package.
#[derive(Debug, Clone, Serialize)]
pub struct ClaimCheck {
    pub model: String,
    pub claim: String,
    pub specimens: Vec<String>,
    pub verdict: Met,
    /// Why, with numbers.
    pub words: String,
    /// The same specimen by specimen.
    pub each: Vec<ClaimEach>,
    /// Keys of the measurands that it was held against.
    pub rests_on: Vec<String>,
}

/// A promise beside what one specimen gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClaimEach {
    pub specimen: String,
    /// Key of the measurand.
    pub measurand: String,
    pub verdict: Met,
    pub words: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Met {
    Met,
    NotMet,
    CannotBeSaid,
}

/// The answer to a question of the campaign.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    pub question: String,
    /// One or two sentences a measurand, with interval and ties.
    pub sentences: Vec<String>,
    /// What was not tested, or why nothing can be said.
    pub limits: Vec<String>,
    /// Keys of the measurands that it rests on.
    pub rests_on: Vec<String>,
}

/// A weighted score, only where the campaign declares weights.
#[derive(Debug, Clone, Serialize)]
pub struct Score {
    /// Key of the measurand and its share.
    pub weights: Vec<(String, f64)>,
    /// Group, score from 0 to 1, lowest and highest score when each weight is halved and doubled.
    pub groups: Vec<(String, f64, f64, f64)>,
    /// Whether the first stays first under every such change.
    pub stable: bool,
    pub words: String,
}

/// A result per unit of what a model costs or is made of: a view beside the results, never one of them.
///
/// Prices and sizes tell models apart: while models are hidden, so is this.
#[derive(Debug, Clone, Serialize)]
pub struct PerUnit {
    /// Key of the measurand.
    pub measurand: String,
    /// `price`, `media area` or `can volume`.
    pub per: String,
    /// Of the values: `g per EUR`. The one place where values are not in SI: money has none.
    pub unit: String,
    /// By the specimens' codes; those of whose model the divisor is known and that give a number or a bound.
    pub entries: Vec<(String, Outcome)>,
}
