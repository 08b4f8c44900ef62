//! `loopleaf sign`: a seal for a record, in a chain beside it.

use std::time::{SystemTime, UNIX_EPOCH};

use super::campaign::{self, Stopped};
use super::disk::read_bytes;
use super::papers::write;
use super::session::Session;
use super::{Exit, args};
use crate::audit::evidence::{self, Beside};
use crate::record::Instant;

/// The chain of seals, in the campaign's folder `records`.
pub(super) const SEALS: &str = "seals.txt";

pub(super) fn run(options: &args::Sign, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = campaign::open(&options.campaign, &[])?;
    let records = campaign.folder.join("records");
    let target = records.join(SEALS);
    let mut chain = if target.is_file() {
        std::fs::read_to_string(&target).map_err(|e| format!("`{}` cannot be read: {e}", target.display()))?
    } else {
        String::new()
    };
    let at = options.at.clone().unwrap_or_else(|| clock().text());
    for file in &options.files {
        let lies = |folder: &std::path::Path| {
            let name = file.file_name().map(|name| folder.join(name));
            name.is_some_and(|name| std::fs::canonicalize(name).ok() == std::fs::canonicalize(file).ok())
        };
        if !lies(&records) && !lies(&records.join("photographs")) {
            let (shown, place) = (file.display(), records.display());
            return Err(format!("`{shown}` does not lie in `{place}`, where its seal is looked for").into());
        }
        let bytes = read_bytes(file).map_err(|e| format!("`{}`: {e}", file.display()))?;
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let seal = evidence::sign(&chain, &Beside::new(&name, &bytes), &campaign.plan, &options.by, &at)?;
        chain.push_str(&seal);
        session.say(&format!("signed: {name}, by {} at {at}", options.by))?;
    }
    write(&target, chain.as_bytes())?;
    session.say(&format!("seals: {}; keep a copy of it where it can't be changed", target.display()))?;
    Ok(Exit::Fine)
}

/// Now, in UTC: the core never asks, so the shell does.
pub(super) fn clock() -> Instant {
    let passed = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Instant { seconds: i64::try_from(passed.as_secs()).unwrap_or(0), grain: 1 }
}
