//! Viscosity classes: ISO 3448 for industrial oils, SAE J300 for engine oils.

use super::{ViscosityError, from_mm2, mm2};
use crate::{
    quantity::si::KinematicViscosity,
    trade::numeric::{Unfit, above_zero},
};

/// Where a limit was taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Seen in public text that cites the standard.
    Published,
    /// A recollection; replace it when the standard has been bought.
    FromMemory,
}

/// A class of ISO 3448: midpoint ± 10 % at 40 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IsoGrade {
    /// The number after "VG", which for the four lowest is the midpoint rounded.
    pub number: u16,
    midpoint: f64,
    pub mark: Mark,
}

impl IsoGrade {
    pub fn midpoint(&self) -> KinematicViscosity {
        from_mm2(self.midpoint)
    }

    pub fn lowest(&self) -> KinematicViscosity {
        from_mm2(self.midpoint * 0.9)
    }

    pub fn highest(&self) -> KinematicViscosity {
        from_mm2(self.midpoint * 1.1)
    }
}

/// The class of a viscosity at 40 °C. Between two classes there is a real gap: such an oil belongs to none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IsoClass {
    Grade(IsoGrade),
    Between(IsoGrade, IsoGrade),
    BelowAll,
    AboveAll,
}

const fn iso(number: u16, midpoint: f64, mark: Mark) -> IsoGrade {
    IsoGrade { number, midpoint, mark }
}

use Mark::{FromMemory, Published};

const ISO_GRADES: [IsoGrade; 20] = [
    iso(2, 2.2, Published),
    iso(3, 3.2, Published),
    iso(5, 4.6, Published),
    iso(7, 6.8, Published),
    iso(10, 10.0, Published),
    iso(15, 15.0, Published),
    iso(22, 22.0, Published),
    iso(32, 32.0, Published),
    iso(46, 46.0, Published),
    iso(68, 68.0, Published),
    iso(100, 100.0, Published),
    iso(150, 150.0, Published),
    iso(220, 220.0, Published),
    iso(320, 320.0, Published),
    iso(460, 460.0, Published),
    iso(680, 680.0, Published),
    iso(1000, 1000.0, Published),
    iso(1500, 1500.0, Published),
    iso(2200, 2200.0, FromMemory),
    iso(3200, 3200.0, FromMemory),
];

/// All classes, thinnest first. Source: ISO 3448:1992; VG 2200 and 3200 from memory.
pub fn iso_grades() -> &'static [IsoGrade] {
    &ISO_GRADES
}

/// The ISO 3448 class of a viscosity at 40 °C; both limits belong to the class.
///
/// Errors: not above zero. Source: ISO 3448:1992.
pub fn iso_class(at_40: KinematicViscosity) -> Result<IsoClass, ViscosityError> {
    let value = positive(at_40)?;
    let slack = value * 1e-12;
    let mut below = None;
    for grade in ISO_GRADES {
        if value < grade.midpoint * 0.9 - slack {
            return Ok(below.map_or(IsoClass::BelowAll, |below| IsoClass::Between(below, grade)));
        }
        if value <= grade.midpoint * 1.1 + slack {
            return Ok(IsoClass::Grade(grade));
        }
        below = Some(grade);
    }
    Ok(IsoClass::AboveAll)
}

/// Which edition of SAE J300 sets the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edition {
    /// Up to January 2013: SAE 20 from 5.6 mm²/s, no grade below it.
    Before2013,
    /// April 2013 up to the introduction of SAE 8 and 12: SAE 20 from 6.9 mm²/s, SAE 16 below it.
    April2013,
    /// January 2015 and later: SAE 8 and 12 as well.
    January2015,
}

/// An engine-oil grade by its viscosity at 100 °C alone; the grades have other requirements that decide as well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EngineGrade {
    pub name: &'static str,
    from: f64,
    below: f64,
    pub mark: Mark,
}

impl EngineGrade {
    /// The lowest KV100, which belongs to the grade.
    pub fn lowest(&self) -> KinematicViscosity {
        from_mm2(self.from)
    }

    /// The KV100 at which the next grade begins; `None` for winter grades, which have a minimum only.
    pub fn limit(&self) -> Option<KinematicViscosity> {
        self.below.is_finite().then(|| from_mm2(self.below))
    }
}

const fn engine(name: &'static str, from: f64, below: f64, mark: Mark) -> EngineGrade {
    EngineGrade { name, from, below, mark }
}

const WINTER: [EngineGrade; 6] = [
    engine("0W", 3.8, f64::INFINITY, Published),
    engine("5W", 3.8, f64::INFINITY, Published),
    engine("10W", 4.1, f64::INFINITY, Published),
    engine("15W", 5.6, f64::INFINITY, Published),
    engine("20W", 5.6, f64::INFINITY, Published),
    engine("25W", 9.3, f64::INFINITY, Published),
];
const LIGHTEST: [EngineGrade; 2] = [engine("8", 4.0, 6.1, FromMemory), engine("12", 5.0, 7.1, FromMemory)];
const SIXTEEN: EngineGrade = engine("16", 6.1, 8.2, FromMemory);
const TWENTY: EngineGrade = engine("20", 6.9, 9.3, Published);
const TWENTY_BEFORE_2013: EngineGrade = engine("20", 5.6, 9.3, Published);
const SUMMER: [EngineGrade; 4] = [
    engine("30", 9.3, 12.5, Published),
    engine("40", 12.5, 16.3, Published),
    engine("50", 16.3, 21.9, Published),
    engine("60", 21.9, 26.1, Published),
];

/// Winter grades, then the others, thinnest first.
///
/// Source: SAE J300 in the edition given; SAE 8, 12 and 16 and the edition that brought each are from memory.
pub fn engine_grades(edition: Edition) -> Vec<EngineGrade> {
    let mut grades = WINTER.to_vec();
    match edition {
        Edition::Before2013 => grades.push(TWENTY_BEFORE_2013),
        Edition::April2013 => grades.extend([SIXTEEN, TWENTY]),
        Edition::January2015 => {
            grades.extend(LIGHTEST);
            grades.extend([SIXTEEN, TWENTY]);
        }
    }
    grades.extend(SUMMER);
    grades
}

/// The grades other than winter grades whose limits hold a viscosity at 100 °C: none, one, or (SAE 8 to 20 overlap)
/// several. The lower limit belongs to the grade, the upper one does not.
///
/// Errors: not above zero. Source: SAE J300 in the edition given.
pub fn engine_oil_grades(at_100: KinematicViscosity, edition: Edition) -> Result<Vec<EngineGrade>, ViscosityError> {
    let value = positive(at_100)?;
    let slack = value * 1e-12;
    let holds =
        |grade: &EngineGrade| grade.below.is_finite() && value >= grade.from - slack && value < grade.below - slack;
    Ok(engine_grades(edition).into_iter().filter(holds).collect())
}

fn positive(viscosity: KinematicViscosity) -> Result<f64, Unfit> {
    above_zero("the viscosity (mm²/s)", mm2(viscosity))
}
