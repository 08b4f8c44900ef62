//! Two versions of a plan, compared by what they mean.

use loopleaf::check;
use loopleaf::difference::{Change, Difference, Kind, compare, text};
use loopleaf::source::Sources;

use crate::shipped::{CAMPAIGNS, leaf_files, memory, untidy};

/// The shipped files with some texts replaced, and how a campaign then differs from what it was.
fn differ(campaign: &str, edits: &[(&str, &str, &str)]) -> Difference {
    let before = leaf_files();
    let mut after = before.clone();
    for (path, from, to) in edits {
        let (_, text) = after.iter_mut().find(|(known, _)| known == path).unwrap();
        assert!(text.contains(from), "`{from}` in {path}");
        *text = text.replace(from, to);
    }
    of(campaign, &before, &after)
}

fn of(campaign: &str, before: &[(String, String)], after: &[(String, String)]) -> Difference {
    let read = |files: &[(String, String)]| {
        let path = format!("{campaign}/campaign.leaf");
        let read = check::read(&path, &memory(files), &mut Sources::new());
        (read.value.plans.into_iter().next().unwrap(), read.diagnostics)
    };
    let (old, new) = (read(before), read(after));
    compare((&old.0, &old.1), (&new.0, &new.1))
}

fn changes<'d>(difference: &'d Difference, title: &str) -> &'d [Change] {
    let section = difference.sections.iter().find(|section| section.title == title);
    section.map_or_else(|| panic!("no `{title}` in\n{}", text(difference, true)), |section| &section.changes)
}

fn titles(difference: &Difference) -> Vec<&str> {
    difference.sections.iter().map(|section| section.title.as_str()).collect()
}

#[test]
fn layout_and_comments_make_no_difference() {
    let files = leaf_files();
    let noisy: Vec<(String, String)> =
        files.iter().map(|(path, text)| (path.clone(), untidy(text, &[140, 210, 0, 190, 240, 222, 165]))).collect();
    for campaign in CAMPAIGNS {
        let difference = of(campaign, &files, &noisy);
        assert!(difference.same && difference.sections.is_empty(), "{}", text(&difference, true));
        assert!(text(&difference, false).starts_with("The plans mean the same: fingerprint "));
    }
}

#[test]
fn a_number_of_an_oil_and_of_the_rig() {
    let ploughs = CAMPAIGNS[1];
    let (fluids, rig) = (format!("{ploughs}/fluids.leaf"), format!("{ploughs}/rig.leaf"));
    let difference = differ(ploughs, &[(&fluids, "390 °F", "380 °F"), (&rig, "set at 90 psig", "set at 85 psig")]);
    assert!(!difference.same);
    assert_eq!(titles(&difference), ["Rig", "Fluids"]);
    let relief = &changes(&difference, "Rig")[0];
    assert_eq!((relief.kind, relief.what.as_str()), (Kind::Changed, "relief: set at"));
    assert_eq!((relief.old.as_deref(), relief.new.as_deref()), (Some("90 psig"), Some("85 psig")));
    let flash = &changes(&difference, "Fluids")[0];
    assert_eq!(flash.what, "winter-oil: flash point");
    assert!(flash.old.as_deref().unwrap().starts_with("390 °F, "), "{flash:?}");
}

#[test]
fn what_answers_a_question() {
    let ferry = CAMPAIGNS[0];
    let file = format!("{ferry}/campaign.leaf");
    let difference = differ(ferry, &[(&file, "highest loading/capacity", "highest loading/retained")]);
    assert_eq!(titles(&difference), ["Campaign"]);
    let change = &changes(&difference, "Campaign")[0];
    assert_eq!((change.kind, change.what.as_str()), (Kind::Changed, "what answers the questions"));
    assert!(change.old.as_deref().unwrap().contains("highest loading/capacity, "), "{change:?}");
    assert!(change.new.as_deref().unwrap().contains("as claimed loading/capture at 21 µm(c)"), "{change:?}");
}

#[test]
fn a_parameter_and_what_follows_from_it() {
    let ploughs = CAMPAIGNS[1];
    let file = format!("{ploughs}/campaign.leaf");
    let difference =
        differ(ploughs, &[(&file, "with rated-flow = 25 US gal/min, oil", "with rated-flow = 24 US gal/min, oil")]);
    let parameters = changes(&difference, "Test `dawn`: parameters");
    assert_eq!(parameters.len(), 1);
    assert_eq!(parameters[0].what, "rated-flow");
    let steps = changes(&difference, "Test `dawn`: steps");
    // Five flows of the warm sweep and of its tare, each up and down; the cold ones are set outright.
    let set: Vec<&Change> = steps.iter().filter(|change| change.what == "set flow").collect();
    assert_eq!(set.len(), 5);
    assert_eq!(set[0].old.as_deref(), Some("10 US gal/min (9.8 US gal/min to 10.2 US gal/min)"));
    assert_eq!(set[0].new.as_deref(), Some("9.6 US gal/min (9.408 US gal/min to 9.792 US gal/min)"));
    assert_eq!(set[0].paths.len(), 4);
    let renamed: Vec<&Change> = steps.iter().filter(|change| change.what.starts_with("paths of ")).collect();
    assert_eq!(renamed.len(), 2);
    assert_eq!(steps.len(), 7, "{}", text(&difference, true));
}

#[test]
fn steps_come_go_and_move() {
    let ploughs = CAMPAIGNS[1];
    let file = format!("{ploughs}/one-oil-restriction.leaf");
    let confirm = "    confirm \"bench clock set, within 5 s of the telephone's\"\n";
    let level = "    hold level 28 US gal ± 0.5 US gal\n";
    let gone = differ(ploughs, &[(&file, level, "")]);
    let steps = changes(&gone, "Test `dawn`: steps");
    assert_eq!((steps.len(), steps[0].kind, steps[0].what.as_str()), (1, Kind::Removed, "1 step of stage `ready`"));
    let come = differ(ploughs, &[(&file, level, &format!("{level}    wait 1 min ± 5 s\n"))]);
    let steps = changes(&come, "Test `dawn`: steps");
    assert_eq!((steps.len(), steps[0].kind, steps[0].paths.len()), (1, Kind::Added, 1));
    let moved = differ(ploughs, &[(&file, level, ""), (&file, confirm, &format!("{level}{confirm}"))]);
    let steps = changes(&moved, "Test `dawn`: steps");
    assert_eq!((steps.len(), steps[0].kind), (1, Kind::Moved), "{}", text(&moved, true));
    assert_eq!(steps[0].paths.len(), 1);
    assert!(moved.sections.iter().all(|section| section.title != "Needs, at most"));
}

#[test]
fn an_order_a_rule_a_finding_and_a_need() {
    let (ploughs, rules) = (CAMPAIGNS[1], "protocols/default-windows.leaf");
    let campaign = format!("{ploughs}/campaign.leaf");
    let difference = differ(
        ploughs,
        &[
            (&campaign, "order given [H8, D5, B2]", "order given [D5, H8, B2]"),
            (&campaign, "dose-mass = 8.00 g,", "dose-mass = 8.50 g,"),
            (rules, "threshold flash-margin 30 K", "threshold flash-margin 200 K"),
        ],
    );
    let runs = changes(&difference, "Runs and their order");
    let told: Vec<(&str, &str)> =
        runs.iter().map(|run| (run.old.as_deref().unwrap(), run.new.as_deref().unwrap())).collect();
    assert_eq!(told, [("R05", "R06"), ("R06", "R05")]);
    assert_eq!(changes(&difference, "Rules")[0].what, "thresholds: flash-margin");
    assert!(changes(&difference, "Findings").iter().all(|finding| finding.kind == Kind::Added));
    let needs = changes(&difference, "Needs, at most");
    assert!(needs.iter().any(|need| need.what == "dust `road-dust`"), "{needs:?}");
    // The other way round what was new is gone.
    let back = text(&difference, true);
    assert!(back.contains("\n  + error L417: "), "{back}");
}

#[test]
fn a_test_that_is_new() {
    let ploughs = CAMPAIGNS[1];
    let campaign = format!("{ploughs}/campaign.leaf");
    let difference = differ(ploughs, &[(&campaign, "  test dawn \"Restriction", "  test noon \"Restriction")]);
    assert_eq!(changes(&difference, "Test `dawn`")[0].kind, Kind::Removed);
    assert_eq!(changes(&difference, "Test `noon`")[0].kind, Kind::Added);
}
