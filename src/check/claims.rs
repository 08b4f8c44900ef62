//! What a campaign says it will show, against what its runs can show.

use super::{Also, Findings, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Model, Origin, Plan, Run, Step, Test, Wants};

use super::say::{self, Round};

pub(super) fn campaign(plan: &Plan, runs: &[Vec<&Run>], findings: &mut Findings) {
    borrowed(plan, findings);
    undeparted(plan, findings);
    unlike(plan, runs, findings);
    cold_start(plan, findings);
    absolute(plan, findings);
    fed_not_held(plan, runs, findings);
    interests(plan, findings);
}

/// A sentence that will stand on a page, and where it was written.
struct Said<'p> {
    text: &'p str,
    at: Origin,
    role: &'static str,
    /// The test that it speaks of; none where it speaks of the campaign.
    test: Option<&'p Test>,
}

/// Titles, questions and purposes: what a reader takes for the claim.
fn sentences(plan: &Plan) -> Vec<Said<'_>> {
    let at = plan.campaign.origin;
    let mut all = vec![Said { text: &plan.campaign.title, at, role: "the campaign's title", test: None }];
    all.extend(plan.campaign.questions.iter().map(|text| Said {
        text,
        at,
        role: "a question of this campaign",
        test: None,
    }));
    for test in &plan.tests {
        let asked = test.asked.unwrap_or(test.origin);
        all.push(Said { text: &test.title, at: asked, role: "the test's title", test: Some(test) });
        all.push(Said { text: &test.protocol.title, at: test.origin, role: "the protocol's title", test: Some(test) });
        all.push(Said {
            text: &test.protocol.purpose,
            at: test.origin,
            role: "the protocol's purpose",
            test: Some(test),
        });
    }
    all
}

/// Words before a standard's number that claim it was followed.
const FOLLOWED: [&str; 11] =
    ["per", "to", "with", "under", "following", "by", "meets", "satisfies", "fulfils", "passes", "after"];

/// Words behind it that do.
const RESULT: [&str; 6] = ["test", "tested", "result", "rating", "efficiency", "capacity"];

/// Numbers of standards by which dust, oil and codes are called: naming one of them claims no method.
const VOCABULARY: [&str; 7] = ["4406", "12103", "3448", "11171", "1638", "4059", "4407"];

/// The standard that a sentence says was followed.
fn standard(text: &str) -> Option<String> {
    let words: Vec<&str> =
        text.split_whitespace().map(|w| w.trim_matches([',', ';', '(', ')', '?', '.', ':'])).collect();
    words.iter().enumerate().find_map(|(index, word)| {
        let body = ["ISO", "SAE", "ASTM", "DIN", "EN", "JIS", "BS", "NFPA"].contains(word);
        let number = words.get(index + 1).filter(|number| body && number.contains(|c: char| c.is_ascii_digit()))?;
        if VOCABULARY.iter().any(|known| number.contains(known)) {
            return None;
        }
        let lower = |back: usize| index.checked_sub(back).and_then(|at| words.get(at)).map(|w| w.to_lowercase());
        // What a method was informed by it does not claim to follow.
        if lower(2).is_some_and(|w| ["informed", "inspired", "guided"].contains(&w.as_str())) {
            return None;
        }
        let before = lower(1);
        let behind = words.get(index + 2).map(|w| w.to_lowercase());
        let claims = before.is_some_and(|w| FOLLOWED.contains(&w.as_str()))
            || behind.is_some_and(|w| RESULT.contains(&w.as_str()));
        claims.then(|| format!("{word} {number}"))
    })
}

/// A published method claimed, though the protocol departs from it or does not lean on it.
fn borrowed(plan: &Plan, findings: &mut Findings) {
    for said in sentences(plan) {
        let Some(standard) = standard(said.text) else { continue };
        let number = standard.split(' ').next_back().unwrap_or_default();
        let tests: Vec<&Test> = match said.test {
            Some(test) => vec![test],
            None => plan.tests.iter().collect(),
        };
        let leaning =
            tests.iter().flat_map(|test| &test.protocol.leans_on).find(|leaning| leaning.standard.contains(number));
        let (state, place) = match leaning {
            Some(leaning) => {
                let many = leaning.departures.len();
                let departures = if many == 1 { "departure" } else { "departures" };
                (format!("its protocol lists {many} {departures} from it"), Some(leaning.origin))
            }
            None => ("no protocol of this campaign leans on it".to_owned(), None),
        };
        findings.add(
            finding(
                Code::BorrowedStandard,
                format!("`{}` claims {standard}, and {state}", said.text.trim_end_matches('.')),
                said.at,
                said.role,
            )
            .and_maybe(place, "the departures")
            .help(format!(
                "write `a method of our own, informed by {standard}` or leave the number out; the departures are printed beside `leans on \"{standard}\"`"
            )),
        );
    }
}

/// A method leaned on without a word of what is different.
fn undeparted(plan: &Plan, findings: &mut Findings) {
    for test in &plan.tests {
        for leaning in test.protocol.leans_on.iter().filter(|leaning| leaning.departures.is_empty()) {
            findings.add(
                finding(
                    Code::NoDeparture,
                    format!("`{}` leans on {} and says nothing of what is different", test.protocol.name, leaning.standard),
                    leaning.origin,
                    "no departure",
                )
                .and(test.origin, "this protocol")
                .help(format!(
                    "write what differs, such as `leans on \"{}\" {{ departure \"A method of our own; nobody here has read the bought standard.\" }}`",
                    leaning.standard
                )),
            );
        }
    }
}

/// Two tests by one protocol under different conditions, with no filter in both.
fn unlike(plan: &Plan, runs: &[Vec<&Run>], findings: &mut Findings) {
    let filters = |index: usize| -> Vec<&str> {
        let of = |run: &&Run| {
            let specimen = plan.campaign.specimens.get(&run.specimen)?;
            Some(specimen.model.as_deref().unwrap_or(&specimen.code))
        };
        runs.get(index).into_iter().flatten().filter_map(of).collect()
    };
    for (later, test) in plan.tests.iter().enumerate() {
        let earlier = plan.tests.iter().enumerate().take(later).rev();
        let Some((before, other)) = earlier.into_iter().find(|(_, other)| other.protocol.name == test.protocol.name)
        else {
            continue;
        };
        let (these, those) = (filters(later), filters(before));
        if these.is_empty() || those.is_empty() || these.iter().any(|model| those.contains(model)) {
            continue;
        }
        // Another gauge of the same kind is no other condition.
        let differ: Vec<(&str, &str, &str)> = test
            .parameters
            .iter()
            .zip(&other.parameters)
            .filter(|((name, here), (same, there))| {
                name == same && here != there && !plan.instruments.contains_key(here)
            })
            .map(|((name, here), (_, there))| (name.as_str(), here.as_str(), there.as_str()))
            .collect();
        let Some((name, here, there)) = differ.first() else { continue };
        let more = match differ.len() - 1 {
            0 => String::new(),
            1 => ", and one more parameter differs".to_owned(),
            n => format!(", and {n} more parameters differ"),
        };
        findings.add(
            finding(
                Code::UnlikeConditions,
                format!(
                    "`{}` and `{}` test different filters by one protocol with different `{name}`: {there} and {here}{more}",
                    other.name, test.name
                ),
                test.asked.unwrap_or(test.origin),
                format!("`{name} = {here}`"),
            )
            .and_maybe(other.asked, format!("`{name} = {there}`"))
            .help(format!(
                "write the same `{name}` in the `with` lines of both, one that suits both filters; or put one filter, the reference, into the `specimens` of both; or, where the two are not to be compared, write `waive L612 because \"…\"` in the campaign"
            )),
        );
    }
}

/// Oil as thick as cold oil is no cold engine.
fn cold_start(plan: &Plan, findings: &mut Findings) {
    const WORDS: [&str; 6] = ["cold start", "cold-start", "starting cold", "starts cold", "start cold", "started cold"];
    for said in sentences(plan) {
        let lower = said.text.to_lowercase();
        let Some(words) = WORDS.iter().find(|words| lower.contains(**words)) else { continue };
        let steps = || match said.test {
            Some(test) => test.steps.iter(),
            None => plan.tests.first().map_or([].iter(), |test| test.steps.iter()),
        };
        let all = || plan.tests.iter().flat_map(|test| &test.steps).filter(|_| said.test.is_none()).chain(steps());
        // A bench that is really chilled may say so.
        let chilled = |step: &Step| match &step.action {
            Action::HoldTemperature(setting) => setting.target.as_ref().is_some_and(|target| target.si() <= 278.15),
            _ => false,
        };
        let thickest = all()
            .filter_map(|step| match &step.action {
                Action::HoldViscosity(hold) => Some((hold, step.origin)),
                _ => None,
            })
            .max_by(|a, b| a.0.target.total_cmp(&b.0.target));
        let Some((hold, held)) = thickest.filter(|_| !all().any(chilled)) else { continue };
        let viscosity = format!("{} mm²/s", say::number(hold.target * 1e6, Round::Near));
        findings.add(
            finding(
                Code::ColdStart,
                format!(
                    "`{words}` is said of oil that is only as thick: {viscosity} at {} °C",
                    say::number(hold.temperature - 273.15, Round::Near)
                ),
                said.at,
                said.role,
            )
            .and(held, "the thickest oil of the plan")
            .help(format!("say what is measured: `restriction at {viscosity}`")),
        );
    }
}

/// Words and numbers that no count of particles can bear out.
const ABSOLUTE: [&str; 12] = [
    "100 %",
    "100%",
    "catches all",
    "catches everything",
    "all particles",
    "all the dust",
    "every particle",
    "completely clean",
    "nothing gets through",
    "nothing passes",
    "guarantee",
    "perfect",
];

fn absolute(plan: &Plan, findings: &mut Findings) {
    const HELP: &str = "ask for a share instead, for example `\"Does it hold back more than 99.9 % of the particles?\"`: it takes 3000 particles counted before the filter and none after it to say so (95 % confidence)";
    for said in sentences(plan) {
        let lower = said.text.to_lowercase();
        if let Some(words) = ABSOLUTE.iter().find(|words| lower.contains(**words)) {
            findings.add(
                finding(Code::AbsoluteWords, format!("`{words}` cannot be shown by any test"), said.at, said.role)
                    .help(HELP),
            );
        }
    }
    for (model, claim) in plan.campaign.models.values().flat_map(|model| model.claims.iter().map(move |c| (model, c))) {
        let low = claim.bounds.as_ref().and_then(|bounds| bounds.low.as_ref());
        let whole =
            low.is_some_and(|low| low.unit.dimension.is_none() && low.unit.to_string() == "%" && low.si() >= 1.0);
        if whole {
            findings.add(
                finding(
                    Code::AbsoluteWords,
                    format!(
                        "the claim `{}` of `{}` is 100 %, which can be refuted here but never borne out",
                        claim.name, model.name
                    ),
                    claim.origin,
                    "the maker's claim",
                )
                .severity(Severity::Note)
                .help("leave the claim as the maker made it, and report a bound: 3000 particles before the filter and none after it show more than 99.9 % (95 % confidence), never all; or waive this with that sentence"),
            );
        }
    }
}

/// Where somebody asks for a capacity.
fn asks_capacity(plan: &Plan, test: &Test, models: &[&Model]) -> Option<(Origin, &'static str)> {
    let speaks = |text: &str| text.to_lowercase().contains("capacity");
    let said = sentences(plan).into_iter().filter(|said| said.test.is_none_or(|of| std::ptr::eq(of, test)));
    let spoken = said.into_iter().find(|said| speaks(said.text)).map(|said| (said.at, said.role));
    let weighed = plan.campaign.weights.iter().any(|(name, _)| name == "capacity");
    spoken.or_else(|| weighed.then_some((plan.campaign.origin, "its weights name the capacity"))).or_else(|| {
        let claim = models.iter().flat_map(|model| &model.claims).find(|claim| claim.name == "capacity")?;
        Some((claim.origin, "the maker's claim of a capacity"))
    })
}

/// Dust that was fed is not dust that was held.
fn fed_not_held(plan: &Plan, runs: &[Vec<&Run>], findings: &mut Findings) {
    for (test, runs) in plan.tests.iter().zip(runs) {
        let fed = |step: &&Step| step.round.is_some() && matches!(step.action, Action::Dose { .. });
        let Some(dose) = test.steps.iter().find(fed) else { continue };
        let behind = test.steps.iter().skip_while(|step| step.number < dose.number);
        let after = behind.flat_map(|step| &step.readings).any(|reading| match &reading.wants {
            Wants::Bottle(bottle) => plan.rig.samplers.get(&bottle.sampler).is_some_and(|s| s.sits != "upstream"),
            _ => false,
        });
        let weighed = |late: bool| {
            test.steps.iter().any(|s| matches!(s.action, Action::Weigh) && (s.number > dose.number) == late)
        };
        if after || (weighed(false) && weighed(true)) {
            continue;
        }
        let mut models: Vec<&Model> = Vec::new();
        for run in runs {
            let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_ref());
            models.extend(model.and_then(|name| plan.campaign.models.get(name)));
        }
        let Some((asked, role)) = asks_capacity(plan, test, &models) else { continue };
        let batch = dose.round.and_then(|(index, _)| test.batches.get(index));
        findings.add(
            finding(
                Code::CapacityAsFed,
                format!("`{}` knows what dust goes in, and not what stays in the filter", test.name),
                batch.map_or(dose.origin, |batch| batch.origin),
                "dust goes in, dose after dose",
            )
            .and(asked, role)
            .help("draw bottles after the filter during the loop (`sample downstream down after batches [1, 4, 7] { … }`), or weigh the dry specimen before and after (`weigh specimen-dry with balance`); or report it as dust fed, not held"),
        );
    }
}

/// Who gains by which result.
fn interests(plan: &Plan, findings: &mut Findings) {
    for person in plan.campaign.people.values().filter(|person| person.interests.is_none()) {
        findings.add(
            finding(
                Code::InterestsUnstated,
                format!("`{}` does not say what interest they have in the result", person.initials),
                person.origin,
                "no `interests`",
            )
            .help(format!(
                "write who pays, sells, buys or was given what, or that there is nothing: `person {} \"{}\" {{ interests \"none\" }}`",
                person.initials, person.name
            )),
        );
    }
}
