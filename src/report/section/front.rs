//! The questions and their answers, first; and what none of it says, last.

use super::{Book, Part, Section, say};
use crate::results;

pub(super) fn answers(book: &Book<'_>) -> Section {
    let mut section = Section::new("answers", "Questions and answers");
    let campaign = &book.plan.campaign;
    if book.hidden() {
        section.parts.push(Part::Stands {
            text: "Models are hidden: specimens go by their codes until the key is opened.".to_owned(),
        });
    }
    if book.input.key.is_some_and(|key| key.is_overtaken(book.plan, &book.hash)) {
        section.parts.push(Part::Stands {
            text: "Changed since the key was opened: this is not what was worked out while the models were hidden. When it was opened, and what changed, stands in ‘Disclosure and how to recompute this’."
                .to_owned(),
        });
    }
    // Once it may be told which specimen is of which model, the answers name them and what their makers claim.
    let told = campaign.blind && !book.hidden();
    let named = told.then(|| {
        let name = |specimen: &str| book.specimen(specimen);
        results::answers(book.plan, book.input.standings, book.results, &name, true)
    });
    let answers = named.as_ref().unwrap_or(&book.results.answers);
    for question in &campaign.questions {
        section.heading(book.free(question));
        let answer = answers.iter().find(|answer| answer.question == *question);
        let Some(answer) = answer.filter(|answer| !answer.sentences.is_empty() || !answer.limits.is_empty()) else {
            section.says("No answer: nothing that was measured bears on it, or none of it may be used.");
            continue;
        };
        if !answer.sentences.is_empty() {
            let sentences: Vec<String> = answer.sentences.iter().map(|text| book.free(text)).collect();
            section.parts.push(Part::Stands { text: sentences.join(" ") });
        }
        section.list(answer.limits.iter().map(|text| book.free(text)).collect());
        let rests: Vec<String> = answer
            .rests_on
            .iter()
            .filter_map(|key| book.results.measurands.iter().find(|measurand| measurand.key == *key))
            .map(|measurand| format!("‘{}’", book.free(&measurand.title)))
            .collect();
        if !rests.is_empty() {
            section.says(format!("It rests on {}; see the comparison.", say::listed(&rests)));
        }
    }
    section.heading("What was not tested");
    section.says(
        "Filters were tested new, in steady flow, one at a time, with clean or artificially dusted oil. Pulsating flow, heat over \
         months, water, fuel, soot, vibration and wear were not tested.",
    );
    let answered: Vec<&String> = book.results.answers.iter().map(|answer| &answer.question).collect();
    let more: Vec<String> = answered
        .iter()
        .filter(|question| !campaign.questions.contains(question))
        .map(|question| book.free(question))
        .collect();
    section.list(more);
    section.says(
        "Every ± and every range in this report holds with a probability of 95 %, unless it says otherwise. The results relate only \
         to the items tested.",
    );
    section
}

pub(super) fn limits(_book: &Book<'_>) -> Section {
    let mut section = Section::new("limits", "Plain limits");
    section.list(
        [
            "The flow was steady. An engine's pulses, and its starts and stops hour after hour, move dust that steady flow holds.",
            "The dust was artificial: of one material and one distribution of sizes. What an engine makes is finer, softer and sticky.",
            "The oil was new and clean but for the dust that was given. Aged oil, soot, water and fuel change how a medium catches and clogs.",
            "The order of filters on this bench is not the order of engine lives. A filter that catches more here need not make an engine last longer.",
            "The method is one of our own. Where it leans on a published method, each departure is listed; no conformity with any standard is claimed.",
            "The results relate only to the items tested. What they say of other cans of the same model depends on how alike the maker makes them.",
            "Nothing in this report is a safety assessment or a recommendation to depart from an engine maker's instructions. Whoever repeats the \
             tests works with hot oil, pressure and fine dust: local law and codes for fire, pressure, electricity and waste come first, and \
             work that needs a licensed or qualified person is theirs.",
        ]
        .map(str::to_owned)
        .to_vec(),
    );
    section
}
