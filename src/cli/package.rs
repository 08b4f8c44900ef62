//! The data package on the disk.

use std::path::{Component, Path, PathBuf};

use super::campaign::{self, Campaign, Stopped};
use super::disk::read_bytes;
use super::report::{KEY, Reduced, key_of};
use super::sign::SEALS;
use crate::package::{self, Given, InputFile, InputKind, Secrets};

/// Every file that a campaign was read from: the plan's texts, and what lies in its folders `records`, `laboratory`, `logger`.
fn inputs(campaign: &Campaign) -> Result<Vec<InputFile>, String> {
    let mut inputs: Vec<InputFile> = Vec::new();
    for (_, source) in campaign.sources.iter().filter(|(_, source)| source.name.ends_with(".leaf")) {
        add(&mut inputs, Path::new(&source.name), place(campaign, Path::new(&source.name)), InputKind::Plan)?;
    }
    let tables: &[&str] = &["csv", "xlsx"];
    let folders = [
        ("records", tables, InputKind::Record),
        ("records/second", tables, InputKind::Record),
        ("laboratory", tables, InputKind::Laboratory),
        ("logger", &["csv", "parquet"][..], InputKind::Logger),
        ("records/photographs", &["jpg", "jpeg", "png", "heic", "tif", "tiff", "webp"][..], InputKind::Photograph),
    ];
    for (folder, endings, kind) in folders {
        for file in campaign::files_in(&campaign.folder, folder, endings)? {
            let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            add(&mut inputs, &file, format!("{folder}/{name}"), kind)?;
        }
    }
    let answers = format!("records/{}", campaign::ANSWERS);
    let seals = format!("records/{SEALS}");
    for (name, kind) in [(answers, InputKind::Answers), (seals, InputKind::Other), (KEY.to_owned(), InputKind::Other)] {
        let file = campaign.folder.join(&name);
        if file.is_file() {
            add(&mut inputs, &file, name, kind)?;
        }
    }
    Ok(inputs)
}

fn add(inputs: &mut Vec<InputFile>, file: &Path, path: String, kind: InputKind) -> Result<(), String> {
    let shown = file.display().to_string();
    if inputs.iter().any(|known| known.shown == shown) {
        return Ok(());
    }
    // A name that the programs of the tool carry inside them has no file on the disk.
    let Ok(bytes) = read_bytes(file) else { return Ok(()) };
    let taken = |path: &str| inputs.iter().any(|known| known.path == path);
    let (stem, ending) = path.rsplit_once('.').unwrap_or((&path, ""));
    let others = (2..).map(|number| format!("{stem}-{number}.{ending}"));
    let path = std::iter::once(path.clone()).chain(others).find(|path| !taken(path)).unwrap_or(path);
    inputs.push(InputFile { shown, path, kind, bytes });
    Ok(())
}

/// Where a text of the plan stands in the package: as beside the campaign, or by its last two names where it lies elsewhere.
fn place(campaign: &Campaign, file: &Path) -> String {
    let inside = file.strip_prefix(&campaign.folder).ok();
    let plain = |path: &Path| -> Vec<String> {
        let names = path.components().filter_map(|part| match part {
            Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
            _ => None,
        });
        names.collect()
    };
    let beside = inside.filter(|path| path.components().all(|part| matches!(part, Component::Normal(_))));
    let names = match beside {
        Some(path) => plain(path),
        None => {
            let all = plain(file);
            all.iter().skip(all.len().saturating_sub(2)).cloned().collect()
        }
    };
    format!("plan/{}", names.join("/"))
}

/// Writes the package of a reduced campaign; models are told in it when the campaign does not hide them or its key is opened.
pub(super) fn of_campaign(reduced: &Reduced, folder: &Path) -> Result<PathBuf, Stopped> {
    let mut inputs = inputs(&reduced.campaign)?;
    let plan = &reduced.campaign.plan;
    let (secrets, models_open) = (Secrets::of(plan), key_of(&reduced.campaign)?.is_some());
    if plan.campaign.blind && !models_open {
        secrets.hide(&mut inputs);
    }
    let given = Given {
        plan,
        records: &reduced.records,
        laboratory: &reduced.laboratory,
        standings: &reduced.standings,
        results: &reduced.results,
        sources: &reduced.campaign.sources,
        inputs: &inputs,
        models_open,
        licence: None,
        secrets,
    };
    // What an older package held and this one does not must not lie among it.
    if folder.join("datapackage.json").is_file() {
        for part in ["data", "parquet", "inputs"] {
            let old = folder.join(part);
            if old.is_dir() {
                std::fs::remove_dir_all(&old).map_err(|e| format!("`{}` cannot be renewed: {e}", old.display()))?;
            }
        }
    }
    write(folder, &given)?;
    Ok(folder.to_owned())
}

/// Writes the package into a folder.
fn write(folder: &Path, given: &Given<'_>) -> Result<(), String> {
    let files = package::files(given);
    for (path, bytes) in &files {
        let target = folder.join(path);
        let failed = |e: std::io::Error| format!("`{}` cannot be written: {e}", target.display());
        if let Some(folder) = target.parent() {
            std::fs::create_dir_all(folder).map_err(failed)?;
        }
        // Plans lie in it as copies, under `inputs/plan`; no folder of a campaign is named so.
        std::fs::write(&target, bytes).map_err(failed)?;
    }
    Ok(())
}
