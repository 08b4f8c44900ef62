//! What is compared: single specimens, or models of which several specimens were measured.

use indexmap::IndexMap;

use super::law;
use crate::results::estimate::{Estimate, Outcome, Source};
use crate::results::model::Entry;
use crate::trade::descriptive::standard_deviation;

/// A specimen, or a model with its specimens.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    /// Codes of its specimens.
    pub(crate) members: Vec<String>,
    pub(crate) reference: bool,
    pub(crate) outcome: Outcome,
    /// The part of the doubt that comes from specimen to specimen, which is no part of [`Group::bare`].
    scatter: Option<Scatter>,
    /// The estimate without that part: for differences.
    bare: Option<Estimate>,
}

#[derive(Debug, Clone, Copy)]
struct Scatter {
    /// Of single specimens.
    deviation: f64,
    specimens: f64,
    /// None where all models share one deviation; its own degrees of freedom otherwise.
    own: Option<f64>,
    /// Of the shared deviation.
    pooled: f64,
}

impl Group {
    /// `K7`, or `K7, K8, K9`.
    pub(crate) fn title(&self) -> String {
        self.members.join(", ")
    }

    pub(crate) fn known(&self) -> Option<&Estimate> {
        self.outcome.known()
    }

    /// This less another, with the errors that both share taken out.
    pub(crate) fn less(&self, other: &Group) -> Option<Estimate> {
        let (Some(one), Some(two)) = (&self.bare, &other.bare) else {
            return Some(law::difference(self.known()?, other.known()?));
        };
        let (Some(first), Some(second)) = (self.scatter, other.scatter) else { return None };
        let bare = one.less(two);
        let mut sources = bare.sources;
        let name = "scatter from specimen to specimen";
        match (first.own, second.own) {
            (Some(own), Some(others)) => {
                sources.push(Source::scatter(name, first.deviation / first.specimens.sqrt(), own));
                sources.push(Source::scatter(name, second.deviation / second.specimens.sqrt(), others));
            }
            // One deviation for both: its degrees of freedom count once.
            _ => {
                let standard = first.deviation * (1.0 / first.specimens + 1.0 / second.specimens).sqrt();
                sources.push(Source::scatter(name, standard, first.pooled));
            }
        }
        Some(Estimate::new(bare.value, sources))
    }
}

/// The groups of a measurand, and how they came about, in a sentence.
pub(crate) fn groups(entries: &[Entry]) -> (Vec<Group>, String) {
    let mut models: IndexMap<&str, Vec<&Entry>> = IndexMap::new();
    for entry in entries {
        models.entry(entry.model.as_deref().unwrap_or(&entry.specimen)).or_default().push(entry);
    }
    let measured = |entries: &Vec<&Entry>| entries.iter().filter(|entry| entry.outcome.known().is_some()).count();
    let several = models.values().filter(|entries| measured(entries) >= 2).count();
    if several < 2 || 2 * several <= models.len() {
        let basis = "of these specimens, not of their makers: the doubt is that of measuring, and how much one specimen differs from the next of its kind is not in it";
        return (entries.iter().map(of_specimen).collect(), basis.to_owned());
    }
    of_models(&models)
}

fn of_specimen(entry: &Entry) -> Group {
    Group {
        members: vec![entry.specimen.clone()],
        reference: entry.reference,
        outcome: entry.outcome.clone(),
        scatter: None,
        bare: None,
    }
}

/// Deviations of one model more than so many times those of another are not taken as one.
const UNLIKE: f64 = 4.0;

fn of_models(models: &IndexMap<&str, Vec<&Entry>>) -> (Vec<Group>, String) {
    let estimates = |entries: &[&Entry]| -> Vec<Estimate> {
        entries.iter().filter_map(|entry| entry.outcome.known()).cloned().collect()
    };
    let values = |entries: &[&Entry]| estimates(entries).iter().map(|one| one.value).collect::<Vec<f64>>();
    let deviations: Vec<(f64, f64)> = models
        .values()
        .filter_map(|entries| {
            let values = values(entries);
            Some((standard_deviation(&values).ok()?, values.len() as f64 - 1.0))
        })
        .collect();
    let freedom: f64 = deviations.iter().map(|(_, freedom)| freedom).sum();
    let squares: f64 = deviations.iter().map(|(deviation, freedom)| deviation * deviation * freedom).sum();
    let pooled = (squares / freedom).sqrt();
    let (least, most) =
        deviations.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), (s, _)| (low.min(*s), high.max(*s)));
    let each_has_three = deviations.len() == models.len() && deviations.iter().all(|(_, freedom)| *freedom >= 2.0);
    let unlike = each_has_three && most > UNLIKE * least;
    let groups = models.values().map(|entries| {
        let estimates = estimates(entries);
        let count = estimates.len() as f64;
        let own = standard_deviation(&values(entries)).ok().filter(|_| unlike).map(|s| (s, count - 1.0));
        let scatter = Scatter {
            deviation: own.map_or(pooled, |(deviation, _)| deviation),
            specimens: count.max(1.0),
            own: own.map(|(_, freedom)| freedom),
            pooled: freedom,
        };
        let bare = shared(&estimates);
        let outcome = match &bare {
            Some(bare) => {
                let mut sources = bare.sources.clone();
                let standard = scatter.deviation / scatter.specimens.sqrt();
                let freedom = scatter.own.unwrap_or(scatter.pooled);
                sources.push(Source::scatter("scatter from specimen to specimen", standard, freedom));
                Outcome::Known(Estimate::new(bare.value, sources))
            }
            None => entries.iter().map(|entry| entry.outcome.clone()).next().unwrap_or(Outcome::unsaid("not measured")),
        };
        Group {
            members: entries.iter().map(|entry| entry.specimen.clone()).collect(),
            reference: entries.iter().any(|entry| entry.reference),
            outcome,
            scatter: Some(scatter),
            bare,
        }
    });
    let how = if unlike {
        "each model with the scatter of its own specimens (Welch), since they scatter unlike"
    } else {
        "with one scatter for all models, pooled"
    };
    let basis = format!("of models, by how much their specimens differ from one another: {how}");
    (groups.collect(), basis)
}

/// The mean of several, with only those errors that all of them share: what differs from one to the next is in their scatter.
fn shared(several: &[Estimate]) -> Option<Estimate> {
    let mean = Estimate::mean(&several.iter().collect::<Vec<_>>())?;
    let sources = mean.sources.into_iter().filter(|source| source.shared.is_some()).collect();
    Some(Estimate::new(mean.value, sources))
}
