//! What leads from a specimen's code to its model, and must not be read while a blind campaign's key is closed.

use super::Plan;

/// Below this, letters and digits of a word are found in every other file's name.
const SHORTEST: usize = 4;

/// Names, titles, prices, lots, purchases and claims of a campaign's models and specimens, as the plan writes them.
pub fn telling_words(plan: &Plan) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for model in plan.campaign.models.values() {
        words.extend([model.name.clone(), model.title.clone()]);
        // People write the title without what stands in brackets behind it.
        words.extend(model.title.rsplit_once(" (").map(|(title, _)| title.to_owned()));
        words.extend(model.price.as_ref().map(ToString::to_string));
        words.extend(model.claims.iter().filter_map(|claim| claim.text.clone()));
    }
    for specimen in plan.campaign.specimens.values() {
        words.extend(specimen.lot.clone());
        words.extend(specimen.bought.clone());
    }
    let codes = &plan.campaign.specimens;
    let mut words: Vec<String> = words.iter().map(|word| word.trim().to_owned()).collect();
    words.retain(|word| !word.is_empty() && !codes.contains_key(word));
    words
}

/// Telling words as they stand in names of files, where anything may stand between letters and digits.
#[derive(Debug, Default)]
pub struct TellingNames(Vec<String>);

impl TellingNames {
    /// Of [`telling_words`].
    pub fn of(words: &[String]) -> TellingNames {
        TellingNames(words.iter().map(|word| squeezed(word)).filter(|word| word.len() >= SHORTEST).collect())
    }

    /// Whether a file's name holds one of them.
    pub fn stand_in(&self, name: &str) -> bool {
        let name = squeezed(name);
        self.0.iter().any(|word| name.contains(word.as_str()))
    }

    /// Another name for a file whose own tells, made of its folder, the SHA-256 of its bytes and its ending.
    pub fn hidden(&self, path: &str, hash: impl FnOnce() -> String) -> Option<String> {
        if !self.stand_in(path) {
            return None;
        }
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let folder = if folder.is_empty() || self.stand_in(folder) { String::new() } else { format!("{folder}/") };
        let ending = name.rsplit_once('.').map(|(_, ending)| format!(".{ending}")).filter(|ending| ending.len() < 6);
        let hash = hash();
        Some(format!("{folder}hidden-{}{}", hash.get(..8).unwrap_or(&hash), ending.unwrap_or_default()))
    }
}

/// Letters and digits alone, in lower case.
fn squeezed(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}
