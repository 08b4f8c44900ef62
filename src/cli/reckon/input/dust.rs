//! Test dusts by name, with the particles that they bring.

use super::super::No;
use super::super::view::Refusal;
use super::si;
use crate::plan::{self, Dust};
use crate::source::{Memory, Sources};
use crate::syntax::nearest;
use crate::trade::dust::{DustError, SizeDistribution};

const SHIPPED: &str = include_str!("../../../../protocols/dusts.leaf");
const SHIPPED_NAME: &str = "protocols/dusts.leaf";

/// A shipped dust.
pub(in super::super) struct Grade {
    pub(in super::super) name: String,
    pub(in super::super) title: String,
    pub(in super::super) method: String,
    /// kg/m³.
    pub(in super::super) density: f64,
    sizes: SizeDistribution,
}

/// A shipped dust by its name.
pub(in super::super) fn grade(name: &str) -> Result<Grade, No> {
    let mut sources = Sources::new();
    let loaded = plan::load(SHIPPED_NAME, &Memory::new().with(SHIPPED_NAME, SHIPPED), &mut sources);
    let dusts = plan::stock(&loaded.value).value.dusts;
    let found = dusts.values().find(|dust| dust.name.eq_ignore_ascii_case(name));
    let grade = found.map(of).transpose()?.flatten();
    if let Some(grade) = grade {
        return Ok(grade);
    }
    let names: Vec<&str> = dusts.values().map(|dust| dust.name.as_str()).collect();
    let listed = names.join(", ");
    let instead = match nearest(name, names.iter().copied()) {
        Some(near) => format!("did you mean `--dust {near}`? There are {listed}"),
        None => format!("take one of {listed}"),
    };
    Err(Refusal::new(
        format!("no dust `{name}` with its sizes ships with the tool"),
        "how many particles a gram brings follows from the grade's size distribution",
        instead,
    )
    .into())
}

fn of(dust: &Dust) -> Result<Option<Grade>, Refusal> {
    let (Some(sizes), Some(density)) = (&dust.sizes, &dust.density) else { return Ok(None) };
    let limits: Vec<_> = sizes
        .value
        .finer
        .iter()
        .map(|(size, share)| {
            let low = share.window.low.unwrap_or(0.0);
            let high = share.window.high.unwrap_or(1.0);
            (si::length(size.si()), si::part(low), si::part(high))
        })
        .collect();
    let sizes_midway = SizeDistribution::midway(&limits).map_err(unusable)?;
    Ok(Some(Grade {
        name: dust.name.clone(),
        title: dust.title.clone(),
        method: sizes.value.method.clone(),
        density: density.value.si(),
        sizes: sizes_midway,
    }))
}

impl Grade {
    /// Particles per mL larger than a size (m) at a level (kg/m³).
    pub(in super::super) fn per_millilitre(&self, size: f64, level: f64) -> Result<f64, Refusal> {
        let found = self.sizes.concentration_above(si::length(size), si::density(level), si::density(self.density));
        found.map(|concentration| concentration.value * 1e-6).map_err(unusable)
    }
}

fn unusable(error: DustError) -> Refusal {
    Refusal::new(
        error,
        "outside its size distribution nothing is known of a dust",
        "ask for sizes inside the distribution, or take another grade",
    )
}

#[cfg(test)]
mod tests {
    use super::grade;

    #[test]
    fn coarse_dust_brings_more_large_particles_than_fine() {
        let at = |name: &str, size: f64| grade(name).ok().and_then(|grade| grade.per_millilitre(size, 1e-3).ok());
        assert!(at("a4-coarse", 30e-6) > at("a2-fine-1997", 30e-6));
        assert!(at("a4-coarse", 4e-6) < at("a2-fine-1997", 4e-6));
        assert!(grade("a9").is_err());
    }
}
