//! The oil that a question is about: shipped, from a file, or by the points of a data sheet.

use std::path::PathBuf;

use clap::Args;

use super::super::No;
use super::super::view::{Answer, Refusal, celsius, kelvins, sig};
use super::quantity::{joined, measured, quantity, tolerance};
use super::si;
use crate::cli::campaign::Stopped;
use crate::cli::disk::Disk;
use crate::plan::{self, Fluid, Mark};
use crate::quantity::si::TemperatureInterval;
use crate::quantity::{Kind, Quantity};
use crate::source::{Loader, Memory, Sources};
use crate::syntax::nearest;
use crate::trade::density::{Group, Oil as Measured};
use crate::trade::viscosity::{Curve, Point, Reach, viscosity_from_saybolt};

/// The fluids that ship with the tool.
const SHIPPED: &str = include_str!("../../../../protocols/fluids.leaf");
const SHIPPED_NAME: &str = "protocols/fluids.leaf";

/// Within so many K of the flash point nobody heats, and so near the pour point nobody pumps. Common practice.
pub(in super::super) const FLASH_MARGIN: f64 = 30.0;
pub(in super::super) const POUR_MARGIN: f64 = 15.0;
/// From here on oil is called hot (45 °C), K.
pub(in super::super) const WARM: f64 = 318.15;

#[derive(Debug, Args)]
pub(in super::super) struct OilOptions {
    /// A fluid by name: one that ships with the tool (vg-32, thin-aircraft, …), or one of --from
    #[arg(long, value_name = "NAME")]
    pub(in super::super) fluid: Option<String>,
    /// A .leaf file that declares the fluid
    #[arg(long, value_name = "FILE")]
    pub(in super::super) from: Option<PathBuf>,
    /// A measured point, twice or more: --point 32 mm2/s at 40 C --point 5.4 mm2/s at 100 C; ± what it is uncertain by
    /// (k = 2) may stand behind the viscosity
    #[arg(long, num_args = 1.., value_name = "VISCOSITY at TEMPERATURE", conflicts_with_all = ["fluid", "from"])]
    pub(in super::super) point: Vec<String>,
    /// Flash point of the oil, where --point gives the oil
    #[arg(long, num_args = 1.., value_name = "TEMPERATURE", allow_negative_numbers = true)]
    pub(in super::super) flash: Vec<String>,
    /// Density of the oil, as 870 kg/m3 at 15 C
    #[arg(long, num_args = 1.., value_name = "DENSITY at TEMPERATURE")]
    pub(in super::super) density: Vec<String>,
}

/// How the density goes with temperature.
#[derive(Debug, Clone)]
enum Density {
    /// kg/m³ at K, falling by kg/m³ per K, as the fluid's own lines say.
    Line { at: f64, density: f64, fall: f64 },
    /// API MPMS 11.1 through one measured density.
    Table(Measured),
}

/// An oil with its curve.
#[derive(Debug, Clone)]
pub(in super::super) struct Oil {
    pub(in super::super) name: String,
    pub(in super::super) curve: Curve,
    /// Each point as it was written, with where it comes from.
    points: Vec<(f64, String)>,
    density: Option<(Density, String)>,
    /// K, and in words.
    pub(in super::super) flash: Option<(f64, String)>,
    pub(in super::super) pour: Option<(f64, String)>,
    pub(in super::super) solvent: bool,
    pub(in super::super) polymer: bool,
    /// Whether a point has an uncertainty.
    pub(in super::super) uncertain: bool,
    /// Whether no point was measured on a drum of one's own.
    typical: bool,
}

impl OilOptions {
    pub(in super::super) fn is_given(&self) -> bool {
        self.fluid.is_some() || self.from.is_some() || !self.point.is_empty()
    }

    /// The oil, or why there is none. `question` is for the example.
    pub(in super::super) fn oil(&self) -> Result<Oil, No> {
        let mut oil = match (&self.fluid, &self.from) {
            _ if !self.point.is_empty() => Oil::by_points(&joined(&self.point))?,
            (Some(name), None) => named(name, shipped()?, "ships with the tool")?,
            (name, Some(file)) => named_in(name.as_deref(), file)?,
            (None, None) => {
                return Err(Refusal::new(
                    "no oil is named",
                    "every answer about a viscosity is that of one oil",
                    "add `--fluid vg-32`, or the two lines of its data sheet: `--point 32 mm2/s at 40 C --point 5.4 mm2/s at 100 C`",
                )
                .into());
            }
        };
        if !self.flash.is_empty() {
            let flash = quantity("the flash point", &joined(&self.flash), Kind::Temperature)?;
            oil.flash = Some((flash.si(), format!("{flash} (as typed)")));
        }
        if !self.density.is_empty() {
            oil.density = Some(density_at(&joined(&self.density))?);
        }
        Ok(oil)
    }
}

impl Oil {
    fn by_points(text: &str) -> Result<Self, No> {
        let mut points = Vec::new();
        let mut shown = Vec::new();
        for one in parted(text) {
            let Some((viscosity, temperature)) = at(&one) else {
                return Err(Refusal::new(
                    format!("the point `{one}` does not say at which temperature"),
                    "a viscosity without its temperature says nothing: this oil may have it anywhere",
                    format!("write `{one} at 40 C`"),
                )
                .into());
            };
            let temperature = quantity("the temperature of a point", &temperature, Kind::Temperature)?;
            let read = measured("the viscosity of a point", &viscosity, Kind::KinematicViscosity)?;
            let si = viscosity_si(&read.quantity, temperature.si())?;
            let half = read.half.unwrap_or(0.0);
            if read.half.is_some() && !read.quantity.unit.is_linear() {
                return Err(Refusal::new(
                    format!("the point `{one}` has a ± in Saybolt seconds"),
                    "Saybolt seconds are no multiple of mm²/s, so neither is their uncertainty",
                    format!("write the point as `{} mm2/s ± … at {temperature}`", sig(si * 1e6, 4)),
                )
                .into());
            }
            points.push(Point {
                temperature: si::temperature(temperature.si()),
                viscosity: si::viscosity(si),
                uncertainty: si::viscosity(half / 2.0),
            });
            shown.push((temperature.si(), format!("{} at {temperature} (as typed)", read.said)));
        }
        let uncertain = points.iter().any(|point| point.uncertainty.value > 0.0);
        let curve = Curve::through(&points).map_err(|error| {
            Refusal::new(
                error,
                "the line through the points is all that is known of the oil between and beyond them",
                "check the two lines of the data sheet, as in `--point 32 mm2/s at 40 C --point 5.4 mm2/s at 100 C`",
            )
        })?;
        Ok(Self {
            name: "this oil".to_owned(),
            curve,
            points: shown,
            density: None,
            flash: None,
            pour: None,
            solvent: false,
            polymer: false,
            uncertain,
            typical: false,
        })
    }

    fn of(fluid: &Fluid) -> Result<Self, Refusal> {
        let curve = plan::curve(fluid).map_err(|reason| {
            Refusal::new(
                format!("`{}` has no viscosity curve: {reason}", fluid.name),
                "the line through two measured points is all that is known of the oil between and beyond them",
                "add the second line of its data sheet to the fluid, as in `viscosity 5.4 mm²/s at 100 °C`",
            )
        })?;
        let points = fluid.viscosities.iter().map(|point| {
            let ViscosityWords { viscosity, temperature } = ViscosityWords::of(&point.value);
            (point.value.temperature.si(), format!("{viscosity} at {temperature} ({})", origin(&point.mark)))
        });
        let density = fluid.density.as_ref().map(|marked| {
            let (density, at) = &marked.value;
            match &fluid.expansion {
                Some(expansion) => (
                    Density::Line { at: at.si(), density: density.si(), fall: expansion.value.si() },
                    format!("{density} at {at}, falls {} ({})", expansion.value, origin(&marked.mark)),
                ),
                None => (
                    Measured::measured(Group::Lubricating, si::density(density.si()), si::temperature(at.si()))
                        .map_or(Density::Line { at: at.si(), density: density.si(), fall: 0.65 }, Density::Table),
                    format!("{density} at {at} ({})", origin(&marked.mark)),
                ),
            }
        });
        let flash = fluid.flash.as_ref().map(|marked| {
            let cup = if marked.value.closed_cup { "closed cup" } else { "open cup" };
            (marked.value.temperature.si(), format!("{} {cup} ({})", marked.value.temperature, origin(&marked.mark)))
        });
        Ok(Self {
            name: fluid.name.clone(),
            curve,
            points: points.collect(),
            density,
            flash,
            pour: fluid.pour.as_ref().map(|pour| (pour.value.si(), format!("{} ({})", pour.value, origin(&pour.mark)))),
            solvent: fluid.kind.as_deref() == Some("solvent"),
            polymer: fluid.additives.iter().any(|additive| additive.value == "viscosity improver")
                || fluid.kind.as_deref() == Some("multigrade oil"),
            uncertain: false,
            typical: !fluid.viscosities.iter().any(|point| matches!(point.mark, Mark::Measured(_))),
        })
    }

    /// The viscosity at a temperature (m²/s at K), and how far the line was stretched for it. Refused: too far from the
    /// points, below the pour point, a solvent that is warmed.
    pub(in super::super) fn viscosity_at(&self, kelvin: f64) -> Result<(f64, Stretch), Refusal> {
        if self.solvent && kelvin >= WARM {
            return Err(Refusal::new(
                format!("`{}` is a solvent, and {} is warm", self.name, celsius(kelvin)),
                "solvent that is warmed gives off vapour that a spark can light far from the vessel",
                "keep it cold; for the bubble point use it at room temperature, away from the rig",
            ));
        }
        let reached = self.curve.viscosity_at(si::temperature(kelvin)).map_err(|error| {
            Refusal::new(error, "outside it the relation has no answer", "ask for a temperature nearer to the points")
        })?;
        let stretch = self.stretched(reached.reach, kelvin)?;
        match &self.pour {
            Some((pour, said)) if kelvin < *pour => Err(Refusal::new(
                format!("{} lies below the pour point of {}, {said}", celsius(kelvin), self.name),
                "below it the oil sets: it has no such viscosity, and no pump moves it",
                "ask for a temperature above it, or take another oil",
            )),
            _ => Ok((reached.value.value, stretch)),
        }
    }

    /// The density at a temperature, kg/m³, with its formula and source; `None` where none is known.
    pub(in super::super) fn density_at(&self, kelvin: f64) -> Option<Result<f64, Refusal>> {
        let (density, _) = self.density.as_ref()?;
        Some(match density {
            Density::Line { at, density, fall } => Ok(density - fall * (kelvin - at)),
            Density::Table(oil) => {
                oil.density_at(si::temperature(kelvin)).map(|density| density.value).map_err(|error| {
                    Refusal::new(
                        error,
                        "the dynamic viscosity and every pressure go with the density",
                        "give the density where it was measured",
                    )
                })
            }
        })
    }

    /// What the density rests on, for the answer.
    pub(in super::super) fn density_formula(&self, answer: Answer) -> Answer {
        match &self.density {
            Some((Density::Line { .. }, said)) => answer.used("density", said).formula(
                "density(T) = density(T₀) − fall per K × (T − T₀)",
                "common practice; the fall per K is the fluid's own line",
            ),
            Some((Density::Table(_), said)) => answer.used("density", said).formula(
                "density(T) from one measured density, with the thermal expansion of lubricating oils",
                "API MPMS chapter 11.1 (2004), ASTM D1250; a synthetic oil may expand about 10 % more or less (from memory)",
            ),
            None => answer,
        }
    }

    /// Whether a temperature lies so far outside the measured points that there is no answer; otherwise what is to be said
    /// of it: a warning beyond 20 K, a limit before that.
    pub(in super::super) fn stretched(&self, reach: Reach, kelvin: f64) -> Result<Stretch, Refusal> {
        let (beyond, side) = match reach {
            Reach::Measured => return Ok(Stretch::None),
            Reach::Colder(by) => (by.value, "colder"),
            Reach::Hotter(by) => (by.value, "hotter"),
        };
        let said =
            format!("{} is {} {side} than any measured point of {}", celsius(kelvin), kelvins(beyond), self.called());
        if beyond > 40.0 {
            return Err(Refusal::new(
                said,
                "so far outside the measured points the line through them can be wrong by a factor of two",
                format!(
                    "measure the viscosity near {:.0} °C and give that point too, or take another oil",
                    kelvin - 273.15
                ),
            ));
        }
        Ok(if beyond > 20.0 {
            Stretch::Far(format!("{said}; measure a point there before a test rests on it"))
        } else {
            Stretch::Near(said)
        })
    }

    /// `vg-32`, or `this oil`.
    pub(in super::super) fn called(&self) -> &str {
        &self.name
    }

    /// The points among the numbers used, and the formula they stand behind.
    pub(in super::super) fn basis(&self, mut answer: Answer) -> Answer {
        for (_, said) in &self.points {
            answer = answer.used(format!("viscosity, {}", self.name), said);
        }
        answer
    }

    /// The relation and its limits.
    pub(in super::super) fn relation(&self, answer: Answer) -> Answer {
        let answer = answer
            .formula(
                "log₁₀ log₁₀ (ν + 0.7 + small terms below 2 mm²/s) = A − B log₁₀ T, T in kelvin, through the points",
                "ASTM D341; the small terms are from memory, confirmed against its published short form to 0.5 %",
            )
            .limit("Holds from 0.21 to 2·10⁷ mm²/s, between and near the points; a Newtonian oil, not below its pour point.");
        let answer = if self.typical {
            answer.limit("The points are typical values of this class of oil, good enough to choose by. Measure your own drum before a test.")
        } else {
            answer
        };
        if self.polymer {
            answer.limit("Polymer-thickened: colder than its points it is thicker than the line says, and it thins for good as it is sheared.")
        } else {
            answer
        }
    }

    /// Standard uncertainty of a temperature for a viscosity (both SI), where the points have one.
    pub(in super::super) fn temperature_uncertainty(&self, viscosity: f64) -> Option<TemperatureInterval> {
        let exact = si::viscosity(0.0);
        self.curve.temperature_uncertainty(si::viscosity(viscosity), exact).ok().filter(|u| u.value > 0.0)
    }
}

/// How far an answer was stretched, where it is not too far.
pub(in super::super) enum Stretch {
    None,
    Near(String),
    Far(String),
}

impl Stretch {
    pub(in super::super) fn tell(self, answer: Answer) -> Answer {
        match self {
            Self::None => answer,
            Self::Near(said) => answer.limit(format!("{said}: the line is stretched beyond what was measured.")),
            Self::Far(said) => answer.warn(said),
        }
    }
}

/// A viscosity in m²/s; Saybolt seconds are converted at their temperature.
pub(in super::super) fn viscosity_si(viscosity: &Quantity, kelvin: f64) -> Result<f64, Refusal> {
    if viscosity.unit.is_linear() {
        return Ok(viscosity.si());
    }
    viscosity_from_saybolt(si::time(viscosity.value), si::temperature(kelvin)).map(|kinematic| kinematic.value).map_err(
        |error| {
            Refusal::new(
                error,
                "outside its range the Saybolt scale has no equation, and a guess is off by several per cent",
                "give the viscosity in mm²/s",
            )
        },
    )
}

/// The shipped fluids that have a curve.
pub(in super::super) fn shipped() -> Result<Vec<Fluid>, No> {
    let loader = Memory::new().with(SHIPPED_NAME, SHIPPED);
    declared(SHIPPED_NAME, &loader)
}

/// The fluids that a file and those it uses declare.
fn declared(path: &str, loader: &dyn Loader) -> Result<Vec<Fluid>, No> {
    let mut sources = Sources::new();
    let loaded = plan::load(path, loader, &mut sources);
    let stock = plan::stock(&loaded.value);
    let mut findings = loaded.diagnostics;
    findings.extend(stock.diagnostics);
    if crate::diagnostic::Checked::new((), findings.clone()).has_errors() {
        return Err(No::Stopped(Stopped::Errors(findings, sources)));
    }
    Ok(stock.value.fluids.into_values().collect())
}

fn named_in(name: Option<&str>, file: &std::path::Path) -> Result<Oil, No> {
    let path = file.to_string_lossy();
    if !file.is_file() {
        return Err(No::Stopped(Stopped::Problem(format!("there is no file `{path}`"))));
    }
    let fluids = declared(&path, &Disk)?;
    match (name, fluids.as_slice()) {
        (Some(name), _) => named(name, fluids, &format!("is declared in `{path}`")),
        (None, [only]) => Ok(Oil::of(only)?),
        (None, []) => Err(Refusal::new(
            format!("`{path}` declares no fluid"),
            "every answer about a viscosity is that of one oil",
            "name a file with a block `fluid … { … }`, or take a shipped one with `--fluid vg-32`",
        )
        .into()),
        (None, several) => Err(Refusal::new(
            format!("`{path}` declares {} fluids", several.len()),
            "every answer about a viscosity is that of one oil",
            format!("add `--fluid` and one of {}", names(several)),
        )
        .into()),
    }
}

fn named(name: &str, fluids: Vec<Fluid>, of: &str) -> Result<Oil, No> {
    if let Some(fluid) = fluids.iter().find(|fluid| fluid.name.eq_ignore_ascii_case(name)) {
        return Ok(Oil::of(fluid)?);
    }
    let near = nearest(name, fluids.iter().map(|fluid| fluid.name.as_str()));
    let instead = match near {
        Some(near) => format!("did you mean `--fluid {near}`? There are {}", names(&fluids)),
        None => format!("take one of {}", names(&fluids)),
    };
    Err(Refusal::new(format!("no fluid `{name}` {of}"), "every answer about a viscosity is that of one oil", instead)
        .into())
}

fn names(fluids: &[Fluid]) -> String {
    fluids.iter().map(|fluid| fluid.name.as_str()).collect::<Vec<_>>().join(", ")
}

impl Oil {
    /// Every shipped fluid with a curve, solvents left out: nobody heats those.
    pub(in super::super) fn all_shipped() -> Result<Vec<Self>, No> {
        let oils: Result<Vec<Self>, Refusal> = shipped()?.iter().map(Self::of).collect();
        Ok(oils?.into_iter().filter(|oil| !oil.solvent).collect())
    }

    /// A shipped fluid by its name.
    pub(in super::super) fn by_name(name: &str) -> Result<Self, No> {
        named(name, shipped()?, "ships with the tool")
    }
}

struct ViscosityWords<'a> {
    viscosity: &'a Quantity,
    temperature: &'a Quantity,
}

impl<'a> ViscosityWords<'a> {
    fn of(point: &'a plan::ViscosityPoint) -> Self {
        Self { viscosity: &point.viscosity, temperature: &point.temperature }
    }
}

fn origin(mark: &Mark) -> String {
    match mark {
        Mark::Published(what) => format!("published in {what}"),
        Mark::CommonPractice => "common practice".to_owned(),
        Mark::FromMemory => "from memory".to_owned(),
        Mark::Measured(date) => format!("measured on {date}"),
        Mark::Unmarked => "source not stated".to_owned(),
    }
}

/// `870 kg/m3 at 15 C`; without a temperature it is taken at 15 °C, and said so.
fn density_at(text: &str) -> Result<(Density, String), Refusal> {
    let (density, temperature) = at(text).unwrap_or_else(|| (text.to_owned(), "15 °C".to_owned()));
    let density = quantity("the density", &density, Kind::Density)?;
    let temperature = quantity("the temperature of the density", &temperature, Kind::Temperature)?;
    let oil = Measured::measured(Group::Lubricating, si::density(density.si()), si::temperature(temperature.si()))
        .map_err(|error| {
            Refusal::new(
                error,
                "pressures and the dynamic viscosity go with the density",
                "write it as on the data sheet, as in `870 kg/m3 at 15 C`",
            )
        })?;
    Ok((Density::Table(oil), format!("{density} at {temperature} (as typed)")))
}

/// What stands before and behind `at` or `@`.
pub(in super::super) fn at(text: &str) -> Option<(String, String)> {
    let (before, behind) = text.split_once(" at ").or_else(|| text.split_once('@'))?;
    Some((before.trim().to_owned(), behind.trim().to_owned()))
}

/// Several points in one row of words: a new one begins with the first number after a temperature.
fn parted(text: &str) -> Vec<String> {
    let mut points: Vec<Vec<&str>> = Vec::new();
    let mut numbers_behind_at = None;
    let mut before = "";
    for word in
        text.split(' ').map(|word| word.trim_end_matches([',', ';'])).filter(|word| !word.is_empty() && *word != "and")
    {
        let number = word.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '−');
        let tolerance = ["±", "+-", "+/-", "within"].contains(&before);
        if word == "at" || word == "@" {
            numbers_behind_at = Some(0);
        } else if number {
            numbers_behind_at = numbers_behind_at.map(|n| n + 1);
        }
        // A number that belongs to no temperature and is no tolerance is the next viscosity.
        let next = number && numbers_behind_at.is_none() && !tolerance;
        if points.is_empty() || numbers_behind_at == Some(2) || next {
            points.push(Vec::new());
            numbers_behind_at = None;
        }
        if let Some(point) = points.last_mut() {
            point.push(word);
        }
        before = word;
    }
    points.into_iter().map(|words| words.join(" ")).collect()
}

/// A tolerance of a viscosity, SI.
pub(in super::super) fn viscosity_tolerance(text: &str, target: &Quantity, si: f64) -> Result<f64, Refusal> {
    if target.unit.is_linear() {
        return tolerance("the tolerance", text, target, Kind::KinematicViscosity);
    }
    // Of Saybolt seconds only a share makes sense.
    match text.trim().strip_suffix('%') {
        Some(number) => Ok(super::quantity::bare("the tolerance", number, "3 %")?.abs() / 100.0 * si),
        None => tolerance(
            "the tolerance",
            text,
            &Quantity::from_si(si, &Kind::KinematicViscosity.usual_unit(), 3),
            Kind::KinematicViscosity,
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::{Oil, parted};

    #[test]
    fn points_in_a_row_are_parted() {
        let row = "32 mm2/s at 40 C 5.4 mm2/s ± 1 % at 100 C, 150 SUS at 100F";
        assert_eq!(parted(row), ["32 mm2/s at 40 C", "5.4 mm2/s ± 1 % at 100 C", "150 SUS at 100F"]);
        assert_eq!(parted("32 mm2/s 5.4 mm2/s at 100 C"), ["32 mm2/s", "5.4 mm2/s at 100 C"]);
    }

    #[test]
    fn every_shipped_oil_has_a_curve_and_a_flash_point() {
        let oils = Oil::all_shipped().unwrap_or_default();
        assert!(oils.len() >= 10 && oils.iter().all(|oil| oil.flash.is_some()), "{oils:?}");
        assert!(oils.iter().all(|oil| oil.name != "propanol"));
    }
}
