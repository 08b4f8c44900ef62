//! What a report must show, and that taking something away shows.

use loopleaf::report::text;

use super::fixture::{kit, open};

#[test]
fn every_section_is_there_in_its_order() {
    let page = kit().opened().page();
    let ids: Vec<&str> = page.sections.iter().map(|section| section.id).collect();
    let wanted = [
        "answers",
        "items",
        "method",
        "departures",
        "qualification",
        "restriction",
        "mechanics",
        "removal",
        "loading",
        "secondary",
        "teardown",
        "comparison",
        "drift",
        "claims",
        "uncertainty",
        "runs",
        "disclosure",
        "limits",
    ];
    assert_eq!(ids, wanted);
}

#[test]
fn a_draft_says_so_first() {
    let (clean, mut draft) = (kit(), kit());
    draft.standings.push(open());
    let html = draft.html();
    assert!(html.contains("<title>Draft: not for publication"));
    assert!(html.contains("DRAFT: not for publication") && html.contains("A113 run R03: 116.1 °C"));
    assert!(html.contains("End of report") && html.contains("(draft: not for publication)"));
    assert!(!clean.html().contains("not for publication"));
}

#[test]
fn what_is_taken_away_changes_the_page() {
    let whole = text(&kit().page());
    assert!(
        whole.contains("R03")
            && whole.contains("run repeated")
            && whole.contains("broken off")
            && whole.contains("not begun")
    );
    let mut fewer = kit();
    fewer.results.runs.remove(3);
    assert_ne!(text(&fewer.page()), whole);
    let mut departed = kit();
    departed.plan.tests[0].protocol.leans_on[0].departures.remove(1);
    let changed = text(&departed.page());
    assert!(
        whole.contains("a thicker oil at bench temperature") && !changed.contains("a thicker oil at bench temperature")
    );
    let mut unanswered = kit();
    unanswered.standings.clear();
    assert!(whole.contains("explained: the knob") && !text(&unanswered.page()).contains("explained: the knob"));
    let mut used = kit();
    used.results.runs[2].left_out.clear();
    assert!(whole.contains("A103") && text(&used.page()).contains("Every recorded cell is used"));
}

#[test]
fn other_content_has_another_number() {
    let (one, mut other) = (kit().page(), kit());
    assert_eq!(one.id, kit().page().id);
    other.results.runs[0].date = "2026-10-06".to_owned();
    assert_ne!(one.id, other.page().id);
    assert_ne!(one.id, kit().opened().page().id);
}

#[test]
fn bounds_few_particles_and_nothing_are_told_as_such() {
    let html = kit().html();
    assert!(html.contains("≥ 99.87"), "a bound is no value");
    assert!(html.contains("class=\"faint\"") && html.contains("21 µm(c), few"));
    assert!(html.contains("nothing was counted at all") && html.contains("a dose is missing"));
    assert!(html.contains("≥ 9.94"));
    assert!(html.contains("none of it may be used"), "a question without an answer is told");
}

#[test]
fn every_headline_number_has_its_budget() {
    let kit = kit();
    let text = text(&kit.page());
    let budget = text.split("\nUncertainty\n").nth(1).unwrap();
    for measurand in &kit.results.measurands {
        assert!(budget.contains(&format!("{}: sources of doubt", measurand.title)));
    }
    assert!(
        budget.contains("gauge ‘dp-low’") && budget.contains("rectangular") && budget.contains("8 degrees of freedom")
    );
    assert!(budget.contains("What is not included") && budget.contains("From lot to lot"));
}

#[test]
fn a_stranger_finds_what_is_needed_to_compute_it_again() {
    let kit = kit();
    let html = kit.html();
    for word in [
        "loopleaf report . --date 2026-11-25",
        &kit.plan.fingerprint.full,
        &"ab".repeat(32),
        "buys the filters for the fleet",
        "One can of each was bought",
        "bench-cautions",
        env!("CARGO_PKG_VERSION"),
    ] {
        assert!(html.contains(word), "{word}");
    }
}
