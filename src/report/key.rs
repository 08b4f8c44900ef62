//! The opening of a blind campaign's key: who, when, and what the results were at that moment.

use serde::{Deserialize, Serialize};

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
    pub fn new(plan: &Plan, results: &Results, by: &str, at: &str) -> Result<KeyOpened, serde_json::Error> {
        Ok(KeyOpened {
            campaign: plan.campaign.name.clone(),
            opened_by: by.to_owned(),
            opened_at: at.to_owned(),
            results_sha256: results_hash(results)?,
            plan_fingerprint: plan.fingerprint.full.clone(),
            tool_version: env!("CARGO_PKG_VERSION").to_owned(),
        })
    }

    /// Whether results or plan are no longer what they were when the key was opened.
    pub(super) fn is_overtaken(&self, plan: &Plan, now: &str) -> bool {
        self.results_sha256 != now || self.plan_fingerprint != plan.fingerprint.full
    }

    /// What a reader must know of it, in sentences: when it was opened, and what has changed since.
    pub(super) fn words(&self, plan: &Plan, now: &str) -> Vec<String> {
        let mut words = vec![format!(
            "The specimens' models were hidden until {} opened the key on {} (UTC), when the results were as their hash {} says.",
            self.opened_by, self.opened_at, self.results_sha256
        )];
        if self.results_sha256 == now {
            words.push(
                "The results in this report have the same hash: nothing was changed after the key was opened."
                    .to_owned(),
            );
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
        words
    }
}
