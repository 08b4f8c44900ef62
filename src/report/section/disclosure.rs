//! Who did it, what they gain, what was waived, and what a stranger needs to do it again.

use super::super::page::Table;
use super::{Book, Section};

pub(super) fn disclosure(book: &Book<'_>) -> Section {
    let mut section = Section::new("disclosure", "Disclosure and how to recompute this");
    people(&mut section, book);
    key(&mut section, book);
    waivers(&mut section, book);
    recompute(&mut section, book);
    corrections(&mut section, book);
    section
}

fn people(section: &mut Section, book: &Book<'_>) {
    let mut table = Table::new("People", &["Initials", "Name", "Role", "Trained on", "Interests"]);
    for person in book.plan.campaign.people.values() {
        let or = |text: &Option<String>| text.as_ref().map_or_else(|| "not said".to_owned(), |text| book.free(text));
        table.row([
            person.initials.clone(),
            person.name.clone(),
            or(&person.role),
            or(&person.trained_on),
            or(&person.interests),
        ]);
    }
    if table.rows.is_empty() {
        section.says("The plan names nobody: who ran and who checked, and what they may gain, is not said.");
    } else {
        section.says("Who paid, and what was given free, stands under interests where the people declared it; nothing else is known of it here.");
    }
    section.table(table);
}

fn key(section: &mut Section, book: &Book<'_>) {
    if !book.plan.campaign.blind {
        section.says("The campaign was not blind: whoever ran, counted and computed could know which specimen is of which model.");
        return;
    }
    section.heading("Blinding");
    match book.input.key {
        None => section.says("The key is closed. Results were worked out from codes; names, prices, lots and promises are in the plan and not in this report."),
        Some(key) => section.list(key.words(book.plan, &book.hash, book.input.files)),
    }
}

fn waivers(section: &mut Section, book: &Book<'_>) {
    section.heading("Findings of the plan's check that were set aside");
    let mut table = Table::new("Waivers, with their reasons", &["Code", "Where", "Reason"]);
    for waiver in &book.plan.waivers {
        let scope = if waiver.scope.is_empty() { "the whole campaign".to_owned() } else { waiver.scope.clone() };
        table.row([waiver.code.clone(), scope, book.free(&waiver.reason)]);
    }
    if table.rows.is_empty() {
        section.says("None.");
    }
    section.table(table);
}

fn recompute(section: &mut Section, book: &Book<'_>) {
    section.heading("To compute it again");
    let packs: Vec<String> = book.plan.rules.packs.iter().map(|(name, title)| format!("{title} ({name})")).collect();
    section.facts(vec![
        ("In the campaign's folder, type".to_owned(), book.free(book.input.command)),
        ("With".to_owned(), format!("Loopleaf {}", env!("CARGO_PKG_VERSION"))),
        ("Plan".to_owned(), format!("{}, fingerprint {}", book.plan.campaign.name, book.plan.fingerprint.full)),
        ("Results".to_owned(), format!("SHA-256 {}", book.hash)),
        ("Rule packs".to_owned(), packs.join("; ")),
    ]);
    section.says(
        "The same files give the same report to the last byte. A file that differs has another hash. Records stand as they were written; \
         corrections are rows of their own.",
    );
    let mut table = Table::new("Files that went in, from the campaign's folder", &["File", "What", "SHA-256"]);
    for file in book.input.files {
        table.row([book.file(file), file.what.to_owned(), file.hash.clone()]);
    }
    section.table(table);
}

fn corrections(section: &mut Section, book: &Book<'_>) {
    section.heading("Corrections");
    if let Some(replaced) = &book.input.replaces {
        section.says(format!(
            "This report takes the place of {}. What changed: {}",
            replaced.id,
            book.free(replaced.why)
        ));
    }
    section.says(
        "A report is never changed after it was given out. One that corrects it has another number, names the one that it replaces, and says \
         what changed.",
    );
}
