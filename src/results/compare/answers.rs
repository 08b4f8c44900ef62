//! The campaign's questions, answered from the numbers and from nothing else.

use indexmap::IndexMap;

use super::rank::{self, Name, Verbs};
use super::words;
use crate::audit::evidence::Standing;
use crate::plan::{Ask, Plan, ResultKey, ResultKind, Way};
use crate::results::estimate::Outcome;
use crate::results::model::{Answer, ClaimCheck, Course, Measurand, RunResults};

/// What answers are made of.
pub(crate) struct Ground<'g> {
    pub(crate) plan: &'g Plan,
    pub(crate) keys: &'g [ResultKey],
    pub(crate) measurands: &'g [Measurand],
    pub(crate) claims: &'g [ClaimCheck],
    pub(crate) runs: &'g [RunResults],
    pub(crate) standings: &'g [Standing],
    pub(crate) name: Name<'g>,
    /// Whether it may be told which specimen is of which model.
    pub(crate) opened: bool,
}

/// One answer for each question, in their order.
pub(crate) fn answers(ground: &Ground<'_>) -> Vec<Answer> {
    let campaign = &ground.plan.campaign;
    let nothing = Vec::new();
    let asked = campaign.questions.iter().enumerate();
    asked.map(|(at, question)| ground.answer(question, campaign.asks.get(at).unwrap_or(&nothing))).collect()
}

impl Ground<'_> {
    fn answer(&self, question: &str, asks: &[Ask]) -> Answer {
        let mut answer = Answer {
            question: question.to_owned(),
            sentences: Vec::new(),
            limits: Vec::new(),
            rests_on: asks.iter().map(|ask| ask.key.clone()).collect(),
        };
        if asks.is_empty() {
            answer.limits.push(
                "The plan does not name the results that answer this question, so none are picked out for it afterwards; all results stand in the tables."
                    .to_owned(),
            );
            return answer;
        }
        let mut tests: Vec<usize> = Vec::new();
        for ask in asks {
            let found = self.keys.iter().zip(self.measurands).find(|(key, _)| key.key == ask.key);
            let Some((key, measurand)) = found else {
                answer.limits.push(format!("No test of this campaign gives a result called `{}`.", ask.key));
                continue;
            };
            if !tests.contains(&key.test) {
                tests.push(key.test);
            }
            answer.sentences.extend(self.sentences(ask.way, &key.kind, measurand));
            answer.limits.extend(self.silent(measurand));
        }
        let single = self.measurands.iter().filter(|one| answer.rests_on.contains(&one.key)).any(|one| {
            one.comparison.members.len() > 1 && one.comparison.members.iter().all(|members| members.len() == 1)
        });
        if single {
            answer.limits.push(
                "This is said of these specimens and not of their makers: how much one differs from the next of its kind was not measured."
                    .to_owned(),
            );
        }
        for test in tests {
            answer.limits.extend(self.limits(test));
        }
        if answer.sentences.is_empty() {
            answer.sentences.push("Nothing can be said.".to_owned());
        }
        answer
    }

    fn sentences(&self, way: Way, kind: &ResultKind, measurand: &Measurand) -> Vec<String> {
        match way {
            Way::Lowest | Way::Highest => rank::sentences(measurand, way, &Verbs::of(kind, way), self.name),
            Way::Each => self.each(measurand),
            Way::AsClaimed if self.opened => self.as_claimed(measurand),
            Way::AsClaimed => {
                let mut sentences = self.each(measurand);
                if !sentences.is_empty() {
                    sentences.push(
                        "Whether that is as the makers say is told together with which specimen is of which maker."
                            .to_owned(),
                    );
                }
                sentences
            }
        }
    }

    /// What each has, by code.
    fn each(&self, measurand: &Measurand) -> Vec<String> {
        let said: Vec<String> = measurand
            .entries
            .iter()
            .filter_map(|entry| {
                let told = words::outcome(&entry.outcome, &measurand.unit);
                match &entry.outcome {
                    Outcome::Unsaid { .. } => None,
                    Outcome::Known(_) => Some(format!("{} {told}", (self.name)(&entry.specimen))),
                    Outcome::AtLeast { why, .. } | Outcome::AtMost { why, .. } => {
                        Some(format!("{} {told} ({why})", (self.name)(&entry.specimen)))
                    }
                }
            })
            .collect();
        if said.is_empty() { Vec::new() } else { vec![format!("{}: {}.", measurand.title, said.join("; "))] }
    }

    /// Each specimen beside what its package says, by code.
    fn as_claimed(&self, measurand: &Measurand) -> Vec<String> {
        let mut said: Vec<(&str, String)> = Vec::new();
        for claim in self.claims.iter().filter(|claim| claim.rests_on.contains(&measurand.key)) {
            for each in claim.each.iter().filter(|each| each.measurand == measurand.key) {
                let told = format!("{} ({}): {}", (self.name)(&each.specimen), claim.claim, each.words);
                said.push((&each.specimen, told));
            }
        }
        said.sort_by(|one, other| one.0.cmp(other.0));
        let mut sentences = Vec::new();
        if !said.is_empty() {
            let all: Vec<String> = said.iter().map(|(_, told)| told.clone()).collect();
            sentences.push(format!("{}: {}.", measurand.title, all.join("; ")));
        }
        let unclaimed: Vec<String> = measurand
            .entries
            .iter()
            .filter(|entry| !matches!(entry.outcome, Outcome::Unsaid { .. }))
            .filter(|entry| !said.iter().any(|(code, _)| *code == entry.specimen))
            .map(|entry| {
                format!("{} {}", (self.name)(&entry.specimen), words::outcome(&entry.outcome, &measurand.unit))
            })
            .collect();
        if !unclaimed.is_empty() {
            sentences.push(format!(
                "{}, without a claim to hold it against: {}.",
                measurand.title,
                unclaimed.join("; ")
            ));
        }
        sentences
    }

    /// Specimens of which nothing can be said, and why.
    fn silent(&self, measurand: &Measurand) -> Vec<String> {
        let mut by_why: IndexMap<&str, Vec<String>> = IndexMap::new();
        for entry in &measurand.entries {
            if let Outcome::Unsaid { why } = &entry.outcome {
                by_why.entry(why).or_default().push((self.name)(&entry.specimen));
            }
        }
        let of = |(why, codes): (&str, Vec<String>)| {
            format!("{}: nothing can be said of {} ({why}).", measurand.title, words::list(&codes))
        };
        by_why.into_iter().map(of).collect()
    }

    /// What was not tested in a test, and what stands open in it.
    fn limits(&self, test: usize) -> Vec<String> {
        let mut limits = Vec::new();
        let Some(of) = self.plan.tests.get(test) else { return limits };
        let runs: Vec<&RunResults> = self.runs.iter().filter(|run| run.test == test).collect();
        let told = |wanted: &dyn Fn(&RunResults) -> bool| -> Vec<String> {
            runs.iter()
                .filter(|run| wanted(run))
                .map(|run| format!("{} ({})", run.code, (self.name)(&run.specimen)))
                .collect()
        };
        let unbegun = told(&|run| run.course == Course::NotBegun);
        if !unbegun.is_empty() {
            limits.push(format!("Never begun in `{}`: {}.", of.name, words::list(&unbegun)));
        }
        let broken = told(&|run| run.course == Course::BrokenOff && run.set_aside.is_none());
        if !broken.is_empty() {
            limits.push(format!("Broken off in `{}`: {}.", of.name, words::list(&broken)));
        }
        let aside = told(&|run| run.set_aside.is_some());
        if !aside.is_empty() {
            limits.push(format!("Set aside in `{}`: {}.", of.name, words::list(&aside)));
        }
        let model = |code: &str| self.plan.campaign.specimens.get(code).and_then(|specimen| specimen.model.as_deref());
        let covered = |code: &str| {
            runs.iter().any(|run| run.specimen == code || model(code).is_some() && model(&run.specimen) == model(code))
        };
        let mut absent: Vec<String> =
            self.plan.campaign.specimens.keys().filter(|code| !covered(code)).map(|code| (self.name)(code)).collect();
        absent.sort();
        if !absent.is_empty() {
            limits.push(format!("Not tested in `{}`, nor any other of its kind: {}.", of.name, words::list(&absent)));
        }
        let mut open: IndexMap<&str, Vec<&str>> = IndexMap::new();
        for standing in self.standings.iter().filter(|standing| standing.blocks()) {
            if runs.iter().any(|run| run.code == standing.run) {
                let codes = open.entry(standing.run.as_str()).or_default();
                if !codes.contains(&standing.finding.code.id()) {
                    codes.push(standing.finding.code.id());
                }
            }
        }
        if !open.is_empty() {
            let each: Vec<String> = open.iter().map(|(run, codes)| format!("{run} ({})", codes.join(", "))).collect();
            limits.push(format!(
                "Critical findings without an answer stand open in {}: what they touch is not used, and until they are answered this is no result to publish.",
                words::list(&each)
            ));
        }
        limits
    }
}
