//! From where a finding is made of what the series shows. A bench's rules may set each of them.

use crate::plan::Plan;

/// The limits in force.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    /// Seconds; an excursion as short as this, with a share of the time below the next, is the control at work.
    pub(super) short: f64,
    pub(super) small_share: f64,
    /// A gap is longer than this many intervals.
    pub(super) gap: f64,
    /// A logger is slow when its mean interval is longer than planned by this factor.
    pub(super) slow: f64,
    /// Seconds to either side of a time that a person wrote down.
    pub(super) written_late: f64,
}

impl Limits {
    /// Those of the packs in force; where they are silent, common sense at a bench, from no standard.
    pub(super) fn of(plan: &Plan) -> Limits {
        let rule = |name, built_in| plan.rules.number(name).unwrap_or(built_in);
        Limits {
            short: rule("logger-excursion", 5.0),
            small_share: rule("logger-excursion-share", 0.05),
            gap: rule("logger-gap", 3.0),
            slow: rule("logger-interval", 1.5),
            written_late: rule("logger-reading-time", 15.0),
        }
    }
}
