//! The opening of a blind campaign's key: who, when, and what the results were at that moment.

use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

use super::InputFile;
use crate::audit::evidence;
use crate::plan::Plan;
use crate::results::Results;

/// What `results/key-opened.json` says. Written once, never changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeyOpened {
    /// Name of the campaign.
    pub campaign: String,
    /// Initials.
    pub opened_by: String,
    /// UTC, as `YYYY-MM-DD hh:mm:ss`.
    pub opened_at: String,
    /// SHA-256 of the results, written as JSON.
    pub results_sha256: String,
    /// The plan's whole fingerprint.
    pub plan_fingerprint: String,
    /// Of the program that made the results.
    pub tool_version: String,
    /// SHA-256 of every file that plan, records and results were read from, by name.
    pub files: IndexMap<String, String>,
}

/// SHA-256 of results, written as JSON without blanks.
///
/// # Errors
/// Where the results hold what JSON has no words for.
pub fn results_hash(results: &Results) -> Result<String, serde_json::Error> {
    Ok(evidence::hash(&serde_json::to_vec(results)?))
}

impl KeyOpened {
    /// The key of a campaign, opened now.
    ///
    /// # Errors
    /// As [`results_hash`].
    pub fn new(
        plan: &Plan,
        results: &Results,
        files: &[InputFile],
        by: &str,
        at: &str,
    ) -> Result<KeyOpened, serde_json::Error> {
        Ok(KeyOpened {
            campaign: plan.campaign.name.clone(),
            opened_by: by.to_owned(),
            opened_at: at.to_owned(),
            results_sha256: results_hash(results)?,
            plan_fingerprint: plan.fingerprint.full.clone(),
            tool_version: env!("CARGO_PKG_VERSION").to_owned(),
            files: files.iter().map(|file| (file.name.clone(), file.hash.clone())).collect(),
        })
    }

    /// Whether results or plan are no longer what they were when the key was opened.
    pub(super) fn is_overtaken(&self, plan: &Plan, now: &str) -> bool {
        self.results_sha256 != now || self.plan_fingerprint != plan.fingerprint.full
    }

    /// What a reader must know of it, in sentences: when it was opened, and what has changed since.
    pub(super) fn words(&self, plan: &Plan, now: &str, files: &[InputFile]) -> Vec<String> {
        let mut words = vec![format!(
            "The specimens' models were hidden until {} opened the key on {} (UTC), when the results were as their hash {} says.",
            self.opened_by, self.opened_at, self.results_sha256
        )];
        let files = self.changed(files);
        if self.results_sha256 == now {
            words.push(if files.is_empty() {
                "The results in this report have the same hash, and so have all files: nothing was changed after the key was opened."
                    .to_owned()
            } else {
                "The results in this report have the same hash: no result was changed after the key was opened.".to_owned()
            });
        } else {
            words.push(format!(
                "The results were changed after the key was opened: they now have the hash {now}. Whoever changed it could know which code is which model."
            ));
            if self.tool_version != env!("CARGO_PKG_VERSION") {
                words.push(format!(
                    "They were then made with version {} of the program, and now with {}.",
                    self.tool_version,
                    env!("CARGO_PKG_VERSION")
                ));
            }
        }
        if self.plan_fingerprint != plan.fingerprint.full {
            words.push("The plan was changed after the key was opened: its fingerprint is another one.".to_owned());
        }
        if !files.is_empty() {
            words.push(format!(
                "Files that were changed, added or taken away after the key was opened: {}.",
                files.join(", ")
            ));
        }
        words
    }

    /// Names of the files that are no longer what they were, are new, or are gone.
    fn changed(&self, files: &[InputFile]) -> Vec<String> {
        // The key itself is written by the opening.
        let now = || files.iter().filter(|file| file.what != "key");
        let changed = now().filter(|file| self.files.get(&file.name) != Some(&file.hash)).map(|file| &file.name);
        let gone = self.files.keys().filter(|name| !now().any(|file| file.name == **name));
        changed.chain(gone).cloned().collect()
    }
}
