//! Seeded faults: the shipped campaigns are clean; with one mistake each of a catalogue, they give the right finding at the
//! right place and no other. Harmless changes give none.

mod catalogue;

mod harmless;

use loopleaf::check;
use loopleaf::diagnostic::render::plain;
use loopleaf::diagnostic::{Diagnostic, Severity};
use loopleaf::source::Sources;

use crate::shipped::{CAMPAIGNS, leaf_files, memory};

/// The findings of a campaign in a set of files.
fn findings(campaign: &str, files: &[(String, String)]) -> (Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let entry = format!("{campaign}/campaign.leaf");
    let checked = check::read(&entry, &memory(files), &mut sources);
    (checked.diagnostics, sources)
}

fn said(found: &[Diagnostic], sources: &Sources) -> String {
    plain(found, sources)
}

#[test]
fn the_shipped_campaigns_are_clean() {
    let files = leaf_files();
    for campaign in CAMPAIGNS {
        let (found, sources) = findings(campaign, &files);
        let found: Vec<Diagnostic> = found.into_iter().filter(|f| f.severity != Severity::Note).collect();
        assert!(found.is_empty(), "{campaign}:\n{}", said(&found, &sources));
    }
}
