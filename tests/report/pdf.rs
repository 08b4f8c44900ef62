//! The report on paper.

use loopleaf::report::pdf;
use loopleaf::typeset::Paper;

use super::fixture::{kit, open};

#[test]
fn every_kind_of_part_is_typeset_on_both_papers_and_the_same_twice() {
    let mut draft = kit();
    draft.standings.push(open());
    // Text that would be markup if it were pasted into the template.
    draft.plan.campaign.title = "#panic(\"no\") *bold* $x$ @ref <label> // = heading".to_owned();
    let mut seen = Vec::new();
    for kit in [draft, kit().opened()] {
        let page = kit.page();
        for paper in [Paper::A4, Paper::Letter] {
            let bytes = pdf(&page, paper).unwrap();
            assert!(bytes.starts_with(b"%PDF-") && bytes.len() > 50_000);
            assert_eq!(pdf(&page, paper).unwrap(), bytes);
            assert!(!seen.contains(&bytes));
            seen.push(bytes);
        }
    }
}
