//! Any phase of a run, per size class: from the state of the loop before it to the state after it.
//!
//! ```text
//! dM/dt = feed to the tank + injection let through − (M/V) (E Q + E_p Q_p) − withdrawals
//! dV/dt = injected volume − withdrawn volume
//! ```
//!
//! M is the dust of a class in the tank, Q the flow through the specimen, Q_p that of the polishing filter in its own
//! branch. A phase keeps its flows; a run is a row of phases, and a bottle or a dose stands between two of them.

use super::{Entry, LoopError, integrate::integrate};
use crate::{
    quantity::si::{Mass, MassDensity, MassRate, Ratio, Time, Volume, VolumeRate},
    trade::numeric::{Unfit, above_zero, share, zero_or_more},
};
use uom::si::{
    mass::kilogram, mass_rate::kilogram_per_second, ratio::ratio, time::second, volume::cubic_meter,
    volume_rate::cubic_meter_per_second,
};

/// How a size class is removed, and how fast it comes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// Single-pass efficiency of the specimen.
    pub specimen: Ratio,
    /// Single-pass efficiency of the polishing filter.
    pub polisher: Ratio,
    /// Dust of this class by injection.
    pub injection: MassRate,
    /// Dust of this class into the tank by itself, from air or wear.
    pub ingression: MassRate,
}

/// Where a dust may have ended up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Deposit {
    pub tank: Mass,
    pub specimen: Mass,
    pub polisher: Mass,
    pub withdrawn: Mass,
}

impl Deposit {
    /// All of it.
    pub fn total(&self) -> Mass {
        self.tank + self.specimen + self.polisher + self.withdrawn
    }

    fn masses(&self) -> Result<[f64; PLACES], Unfit> {
        let mass = |mass: Mass| zero_or_more("the dust of a class (kg)", mass.get::<kilogram>());
        Ok([mass(self.tank)?, mass(self.specimen)?, mass(self.polisher)?, mass(self.withdrawn)?])
    }

    fn from_masses(masses: &[f64]) -> Option<Self> {
        let mut masses = masses.iter().map(|value| Mass::new::<kilogram>(value.max(0.0)));
        Some(Self {
            tank: masses.next()?,
            specimen: masses.next()?,
            polisher: masses.next()?,
            withdrawn: masses.next()?,
        })
    }
}

/// What the loop holds: its oil, and each size class's dust by place.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    pub volume: Volume,
    pub classes: Vec<Deposit>,
}

/// Oil drawn off, from before or behind the specimen.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Withdrawal {
    pub upstream: VolumeRate,
    pub downstream: VolumeRate,
}

/// A stretch of time with constant flows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phase {
    pub time: Time,
    /// Through the specimen; zero when it is by-passed.
    pub specimen_flow: VolumeRate,
    /// Through the polishing filter's own branch; zero when it is shut.
    pub polisher_flow: VolumeRate,
    pub entry: Entry,
    /// Volume of slurry injected.
    pub injection_flow: VolumeRate,
    pub withdrawal: Withdrawal,
}

/// Tank, specimen, polisher and withdrawn oil, in this order.
const PLACES: usize = 4;

/// The flows of a phase in m³/s, checked.
struct Flows {
    specimen: f64,
    polisher: f64,
    injection: f64,
    upstream: f64,
    downstream: f64,
}

impl State {
    /// Clean oil.
    pub fn clean(volume: Volume, classes: usize) -> Self {
        Self { volume, classes: vec![Deposit::default(); classes] }
    }

    /// The level of a class in the tank; `None` for a class that is not there or an empty tank.
    pub fn level(&self, class: usize) -> Option<MassDensity> {
        let deposit = self.classes.get(class)?;
        (self.volume.get::<cubic_meter>() > 0.0).then(|| deposit.tank / self.volume)
    }

    /// A dose mixed into the tank, one mass per class.
    pub fn dosed(&self, dose: &[Mass]) -> Result<Self, LoopError> {
        self.same_classes(dose.len())?;
        let mut after = self.clone();
        for (deposit, mass) in after.classes.iter_mut().zip(dose) {
            zero_or_more("a dose (kg)", mass.get::<kilogram>())?;
            deposit.tank += *mass;
        }
        Ok(after)
    }

    /// A bottle, with its purge, taken at once out of the mixed oil.
    pub fn sampled(&self, taken: Volume) -> Result<Self, LoopError> {
        let (bottle, held) = (taken.get::<cubic_meter>(), self.volume.get::<cubic_meter>());
        zero_or_more("the volume taken (m³)", bottle)?;
        if bottle >= held {
            return Err(LoopError::RunsDry { withdrawn: bottle * 1e3, held: held * 1e3 });
        }
        let mut after = self.clone();
        after.volume -= taken;
        for deposit in &mut after.classes {
            let gone = deposit.tank * (taken / self.volume);
            deposit.tank -= gone;
            deposit.withdrawn += gone;
        }
        Ok(after)
    }

    /// The state after a phase: the balance at the head of this file, integrated numerically.
    ///
    /// Dust of a class at the end is what was there plus what came in, to about 10⁻¹² of it. Domain: flows and rates zero
    /// or more, efficiencies 0 to 1, a volume that lasts; an injection at the filter inlet needs a flow through the
    /// specimen. Source: mass balance, tank mixed well, oil held in the lines neglected.
    pub fn after(&self, classes: &[Class], phase: &Phase) -> Result<Self, LoopError> {
        self.same_classes(classes.len())?;
        let time = zero_or_more("the time of a phase (s)", phase.time.get::<second>())?;
        let flows = Flows::of(phase)?;
        let volume = above_zero("the volume in circulation (m³)", self.volume.get::<cubic_meter>())?;
        let filling = flows.injection - flows.upstream - flows.downstream;
        let at_end = volume + filling * time;
        if at_end <= 0.0 {
            return Err(LoopError::RunsDry { withdrawn: -filling * time * 1e3, held: volume * 1e3 });
        }
        let mut after = Self { volume: Volume::new::<cubic_meter>(at_end), classes: Vec::new() };
        for (class, deposit) in classes.iter().zip(&self.classes) {
            let removal = Removal::of(class, phase.entry, &flows)?;
            let slope = |t: f64, masses: &[f64]| {
                let tank = masses.first().copied().unwrap_or_default();
                removal.slope(&flows, tank / (volume + filling * t)).to_vec()
            };
            let end = integrate(&deposit.masses()?, time, slope).ok_or(LoopError::NotIntegrated)?;
            after.classes.push(Deposit::from_masses(&end).ok_or(LoopError::NotIntegrated)?);
        }
        Ok(after)
    }

    fn same_classes(&self, given: usize) -> Result<(), LoopError> {
        let state = self.classes.len();
        if state == given { Ok(()) } else { Err(LoopError::ClassesDiffer { state, given }) }
    }
}

impl Flows {
    fn of(phase: &Phase) -> Result<Self, LoopError> {
        let flow = |what, flow: VolumeRate| zero_or_more(what, flow.get::<cubic_meter_per_second>());
        let flows = Self {
            specimen: flow("the flow through the specimen (m³/s)", phase.specimen_flow)?,
            polisher: flow("the flow through the polishing filter (m³/s)", phase.polisher_flow)?,
            injection: flow("the injection flow (m³/s)", phase.injection_flow)?,
            upstream: flow("the upstream sampling flow (m³/s)", phase.withdrawal.upstream)?,
            downstream: flow("the downstream sampling flow (m³/s)", phase.withdrawal.downstream)?,
        };
        let must = "more is drawn off behind the specimen than flows through it";
        if flows.downstream > flows.specimen {
            return Err(Unfit { what: "the downstream sampling flow (m³/s)", value: flows.downstream, must }.into());
        }
        Ok(flows)
    }
}

/// A class in SI numbers, with its injection already put where it enters.
struct Removal {
    specimen: f64,
    polisher: f64,
    into_tank: f64,
    at_inlet: f64,
}

impl Removal {
    fn of(class: &Class, entry: Entry, flows: &Flows) -> Result<Self, LoopError> {
        let rate = |what, rate: MassRate| zero_or_more(what, rate.get::<kilogram_per_second>());
        let injection = rate("the injected dust (kg/s)", class.injection)?;
        let ingression = rate("the ingression (kg/s)", class.ingression)?;
        let (into_tank, at_inlet) = match entry {
            Entry::Tank => (injection + ingression, 0.0),
            Entry::FilterInlet => (ingression, injection),
        };
        let must = "an injection at the filter inlet needs a flow through the specimen; inject into the tank instead";
        if at_inlet > 0.0 && flows.specimen == 0.0 {
            return Err(Unfit { what: "the flow through the specimen (m³/s)", value: 0.0, must }.into());
        }
        Ok(Self {
            specimen: share("the specimen's efficiency", class.specimen.get::<ratio>())?,
            polisher: share("the polishing filter's efficiency", class.polisher.get::<ratio>())?,
            into_tank,
            at_inlet,
        })
    }

    /// How the dust in tank, specimen, polisher and withdrawn oil changes; the sum is what comes in.
    fn slope(&self, flows: &Flows, level: f64) -> [f64; PLACES] {
        let before = level * flows.specimen + self.at_inlet;
        let behind = before * (1.0 - self.specimen);
        let drawn_behind = if flows.specimen > 0.0 { behind * flows.downstream / flows.specimen } else { 0.0 };
        // Oil is drawn off upstream ahead of the place where an injection at the inlet enters.
        let drawn = level * flows.upstream + drawn_behind;
        let polished = level * flows.polisher * self.polisher;
        let kept = before * self.specimen;
        [self.into_tank + self.at_inlet - kept - polished - drawn, kept, polished, drawn]
    }
}
