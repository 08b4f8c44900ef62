//! How much dust a filter holds: the mass at the terminal differential pressure, and the ledger behind it.

use super::numeric::{Unfit, a_number, above_zero, plain, zero_or_more};
use crate::quantity::si::{Mass, MassDensity, Pressure, Ratio, Time, VolumeRate};
use uom::si::{
    mass::kilogram, mass_density::kilogram_per_cubic_meter, pressure::pascal, ratio::ratio, time::second,
    volume_rate::cubic_meter_per_second,
};

/// Why a capacity could not be given. Pressures in kPa.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CapacityError {
    #[error(transparent)]
    Unfit(#[from] Unfit),
    #[error(
        "the differential pressure reached {} kPa and the terminal one is {} kPa: the capacity is more than was injected; report it as such",
        plain(*.highest), plain(*.terminal)
    )]
    NotReached { highest: f64, terminal: f64 },
    #[error("the clean differential pressure ({} kPa) is at or above the terminal one ({} kPa): check both", plain(*.clean), plain(*.terminal))]
    CleanAboveTerminal { clean: f64, terminal: f64 },
}

/// A mass with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    pub mass: Mass,
    pub uncertainty: Mass,
}

/// A differential pressure with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauged {
    pub pressure: Pressure,
    pub uncertainty: Pressure,
}

/// One dose and the differential pressure it settled at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    pub dust: Weighed,
    pub after: Gauged,
}

/// The dust that brought a filter to its terminal differential pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capacity {
    pub mass: Mass,
    /// Standard uncertainty: weighing, pressures, and the curve between the two doses.
    pub uncertainty: Mass,
    /// The doses before and after: whatever the curve between them, the capacity lies here.
    pub between: (Mass, Mass),
    /// The number of the dose that went past the terminal pressure, from one.
    pub dose: usize,
    /// A differential pressure that fell after a dose before that: an opening by-pass or a torn medium.
    pub fell_back: bool,
}

/// The mass at the terminal differential pressure, interpolated between the doses on either side.
///
/// m = m₁ + f·dose, f = (p − p₁)/(p₂ − p₁). Its variance is u²(m₁) + f² u²(dose) + (dose u(f))², and a last term for the
/// curve: the same interpolation in ln p, which a loading curve that bends upward follows better, gives another mass, and
/// the distance counts as the half-width of a rectangular distribution. Pressures are all net or all of the assembly.
///
/// Errors: the terminal pressure was not reached, or the clean one is already above it; a dose or an uncertainty below
/// zero. Source: linear interpolation, common practice; JCGM 100.
pub fn at_terminal(clean: Gauged, doses: &[Dose], terminal: Pressure) -> Result<Capacity, CapacityError> {
    let p = above_zero("the terminal differential pressure (Pa)", terminal.get::<pascal>())?;
    let (mut p1, mut u1) = gauged(clean)?;
    if p1 >= p {
        return Err(CapacityError::CleanAboveTerminal { clean: p1 / 1e3, terminal: p / 1e3 });
    }
    let (mut m1, mut variance, mut highest, mut fell_back) = (0.0, 0.0, p1, false);
    for (number, dose) in doses.iter().enumerate() {
        let (step, u_step) = weighed(dose.dust)?;
        let (p2, u2) = gauged(dose.after)?;
        if p2 >= p {
            let rise = p2 - p1;
            let part = (p - p1) / rise;
            let u_part = ((1.0 - part) * u1).hypot(part * u2) / rise;
            let by_log = (p.ln() - p1.ln()) / (p2.ln() - p1.ln());
            let curve = if p1 > 0.0 { by_log - part } else { 0.0 };
            variance += (part * u_step).powi(2) + (step * u_part).powi(2) + (step * curve).powi(2) / 3.0;
            return Ok(Capacity {
                mass: kilograms(m1 + part * step),
                uncertainty: kilograms(variance.sqrt()),
                between: (kilograms(m1), kilograms(m1 + step)),
                dose: number + 1,
                fell_back,
            });
        }
        fell_back |= p2 < p1 - 2.0 * u1.hypot(u2);
        m1 += step;
        variance += u_step * u_step;
        highest = p2.max(highest);
        (p1, u1) = (p2, u2);
    }
    Err(CapacityError::NotReached { highest: highest / 1e3, terminal: p / 1e3 })
}

/// The dust injected by a continuous feed: m = C q t.
///
/// Domain: all zero or more. Its relative variance is the sum of the three relative variances. Source: mass balance.
pub fn injected_mass(slurry: MassDensity, injection: VolumeRate, time: Time) -> Result<Mass, CapacityError> {
    zero_or_more("the concentration of the slurry (kg/m³)", slurry.get::<kilogram_per_cubic_meter>())?;
    zero_or_more("the injection flow (m³/s)", injection.get::<cubic_meter_per_second>())?;
    zero_or_more("the time (s)", time.get::<second>())?;
    Ok(slurry * injection * time)
}

/// Where the dust went.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Weighed out or fed by the injector.
    pub given: Vec<Weighed>,
    /// Left in boat, slurry vessel, injector and lines: never delivered.
    pub left_behind: Vec<Weighed>,
    /// In the oil at the end, taken with samples, passed to the polishing filter: delivered and not retained.
    pub elsewhere: Vec<Weighed>,
}

/// A ledger against a weighed gain of the element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closure {
    /// Retained by the ledger less the gain by weighing.
    pub difference: Weighed,
    /// Difference relative to what was retained; `None` when nothing was.
    pub relative: Option<Ratio>,
    /// Within twice the standard uncertainty of zero.
    pub closes: bool,
}

impl Ledger {
    /// What reached the oil: given less left behind. Variances add (independent weighings).
    pub fn delivered(&self) -> Result<Weighed, CapacityError> {
        balance(&self.given, &[&self.left_behind])
    }

    /// What the specimen retained: delivered less what is elsewhere. May come out below zero: then the ledger is wrong.
    pub fn retained(&self) -> Result<Weighed, CapacityError> {
        balance(&self.given, &[&self.left_behind, &self.elsewhere])
    }

    /// Compares the ledger with the gain of the dried element. Source: mass balance; JCGM 100 with k = 2.
    pub fn closure(&self, gain: Weighed) -> Result<Closure, CapacityError> {
        let retained = self.retained()?;
        let (_, u_gain) = weighed_either_sign(gain)?;
        let difference = retained.mass - gain.mass;
        let u = retained.uncertainty.get::<kilogram>().hypot(u_gain);
        Ok(Closure {
            difference: Weighed { mass: difference, uncertainty: kilograms(u) },
            relative: Some(difference / retained.mass).filter(|relative| relative.get::<ratio>().is_finite()),
            closes: difference.get::<kilogram>().abs() <= 2.0 * u,
        })
    }
}

/// The pressures that end a loading test.
///
/// clean element = clean assembly − housing; terminal assembly = clean assembly + net terminal. Domain: all zero or more,
/// the housing not above the assembly. Source: ISO 16889, from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terminal {
    clean_assembly: Pressure,
    clean_element: Pressure,
    net: Pressure,
}

impl Terminal {
    pub fn new(clean_assembly: Pressure, housing: Pressure, net: Pressure) -> Result<Self, CapacityError> {
        a_number("the clean assembly's differential pressure (Pa)", clean_assembly.get::<pascal>())?;
        zero_or_more("the housing's differential pressure (Pa)", housing.get::<pascal>())?;
        above_zero("the net terminal differential pressure (Pa)", net.get::<pascal>())?;
        let clean_element = clean_assembly - housing;
        let must = "the clean assembly cannot be below its own housing; check flow, fluid and zero of both sweeps";
        let value = clean_element.get::<pascal>();
        if value >= 0.0 && value.is_finite() {
            Ok(Self { clean_assembly, clean_element, net })
        } else {
            Err(Unfit { what: "the clean element's differential pressure (Pa)", value, must }.into())
        }
    }

    pub fn clean_element(&self) -> Pressure {
        self.clean_element
    }

    /// The assembly's differential pressure at the end of the test.
    pub fn assembly(&self) -> Pressure {
        self.clean_assembly + self.net
    }

    /// The assembly's differential pressure when a part of the net rise is reached, as 0.05 to 0.8 are reported.
    pub fn assembly_at(&self, part: Ratio) -> Result<Pressure, CapacityError> {
        zero_or_more("the part of the net rise", part.get::<ratio>())?;
        Ok(self.clean_assembly + self.net * part)
    }
}

fn balance(given: &[Weighed], less: &[&Vec<Weighed>]) -> Result<Weighed, CapacityError> {
    let (mut mass, mut variance) = (0.0, 0.0);
    let signed = given.iter().map(|entry| (1.0, entry)).chain(less.iter().flat_map(|l| l.iter()).map(|e| (-1.0, e)));
    for (sign, entry) in signed {
        let (m, u) = weighed_either_sign(*entry)?;
        mass += sign * m;
        variance += u * u;
    }
    Ok(Weighed { mass: kilograms(mass), uncertainty: kilograms(variance.sqrt()) })
}

fn weighed(entry: Weighed) -> Result<(f64, f64), Unfit> {
    let (mass, uncertainty) = weighed_either_sign(entry)?;
    Ok((zero_or_more("a dose (kg)", mass)?, uncertainty))
}

/// A residue weighed by difference may come out a little below zero.
fn weighed_either_sign(entry: Weighed) -> Result<(f64, f64), Unfit> {
    let mass = a_number("a mass (kg)", entry.mass.get::<kilogram>())?;
    Ok((mass, zero_or_more("the uncertainty of a mass (kg)", entry.uncertainty.get::<kilogram>())?))
}

fn gauged(reading: Gauged) -> Result<(f64, f64), Unfit> {
    let pressure = a_number("a differential pressure (Pa)", reading.pressure.get::<pascal>())?;
    Ok((pressure, zero_or_more("the uncertainty of a pressure (Pa)", reading.uncertainty.get::<pascal>())?))
}

fn kilograms(value: f64) -> Mass {
    Mass::new::<kilogram>(value)
}
