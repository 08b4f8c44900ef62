//! Before the key is opened no text of the report says which specimen is of which model.

use loopleaf::report::{self, KeyOpened, text};

use super::fixture::{Kit, kit};

/// Everything that would tell a model.
fn telling(kit: &Kit) -> Vec<String> {
    let mut words = Vec::new();
    for model in kit.plan.campaign.models.values() {
        words.extend([model.name.clone(), model.title.clone(), model.title.replace(" (invented)", "")]);
        words.extend(model.price.as_ref().map(ToString::to_string));
        words.extend(model.claims.iter().filter_map(|claim| claim.text.clone()));
    }
    for specimen in kit.plan.campaign.specimens.values() {
        words.extend(specimen.lot.clone());
        words.extend(specimen.bought.clone());
    }
    assert!(words.len() > 40);
    words
}

#[test]
fn a_closed_key_tells_no_model() {
    let kit = kit();
    let page = kit.page();
    let json = serde_json::to_string(&report::without_names(&kit.plan, &kit.results).unwrap()).unwrap();
    let shown = [kit.html(), text(&page), serde_json::to_string(&page).unwrap(), json];
    for word in telling(&kit) {
        for (at, shown) in shown.iter().enumerate() {
            assert!(!shown.to_lowercase().contains(&word.to_lowercase()), "{word} in text {at}");
        }
    }
    assert!(shown[0].contains("(hidden)") && shown[0].contains("Models are hidden"));
}

#[test]
fn an_opened_key_names_them_and_says_who_opened_it() {
    let kit = kit().opened();
    let html = kit.html();
    for (name, model) in &kit.plan.campaign.models {
        assert!(html.contains(name.as_str()) && html.contains(&model.title.replace('\'', "&#39;")), "{name}");
    }
    for word in ["B-1180", "filters finely", "cannot be said", "g per EUR", "MO opened the key on 2026-11-20 09:00:00"]
    {
        assert!(html.contains(word), "{word}");
    }
    assert!(html.contains("nothing was changed after the key was opened"));
    assert!(!html.contains("(hidden)"));
}

#[test]
fn what_is_changed_after_the_opening_is_told() {
    let mut kit = kit().opened();
    let unchanged = kit.html();
    kit.results.runs[6].date = "2026-10-06".to_owned();
    let html = kit.html();
    assert!(html.contains("The results were changed after the key was opened"));
    assert!(!html.contains("nothing was changed after the key was opened"));
    assert!(
        html.contains("Changed since the key was opened") && !unchanged.contains("Changed since the key was opened")
    );
    kit.plan.fingerprint.full = "0".repeat(64);
    assert!(kit.html().contains("The plan was changed after the key was opened"));
}

#[test]
fn an_open_campaign_needs_no_key() {
    let mut kit = kit();
    kit.plan.campaign.blind = false;
    let html = kit.html();
    assert!(html.contains("model-c") && html.contains("The campaign was not blind"));
}

#[test]
fn the_opening_is_read_as_it_was_written() {
    let key = kit().opened().key.unwrap();
    let read: KeyOpened = serde_json::from_str(&serde_json::to_string_pretty(&key).unwrap()).unwrap();
    assert_eq!(read, key);
    assert_eq!(key.results_sha256.len(), 64);
}
