//! A rehearsal in words, tables and pictures.

mod needs;

mod readings;

mod time;

use serde::Serialize;

use super::{Rehearsal, say};
use crate::plan::Plan;

/// What is shown to people, in order.
#[derive(Debug, Clone, Serialize)]
pub struct Page {
    pub title: String,
    pub about: String,
    pub invented: Option<String>,
    pub fingerprint: String,
    pub sections: Vec<Section>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Section {
    pub title: String,
    pub parts: Vec<Part>,
}

/// A piece of a section.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Part {
    Says {
        text: String,
    },
    List {
        items: Vec<String>,
    },
    Table(Table),
    /// SVG; it carries its own title and description.
    Picture {
        svg: String,
    },
}

/// A table; a column's numbers are set to the right.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Table {
    pub caption: String,
    pub head: Vec<Head>,
    pub rows: Vec<Vec<String>>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Head {
    pub text: String,
    pub number: bool,
}

impl Table {
    /// Columns by their headings; `>` in front sets a column to the right.
    fn new(caption: &str, columns: &[&str]) -> Table {
        let head = columns.iter().map(|column| match column.strip_prefix('>') {
            Some(text) => Head { text: text.to_owned(), number: true },
            None => Head { text: (*column).to_owned(), number: false },
        });
        Table { caption: caption.to_owned(), head: head.collect(), rows: Vec::new() }
    }

    fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }
}

fn says(text: impl Into<String>) -> Part {
    Part::Says { text: text.into() }
}

/// A rehearsal for people.
pub fn page(plan: &Plan, rehearsal: &Rehearsal) -> Page {
    let one = rehearsal.run.as_deref();
    let mut about = match one {
        Some(run) => format!("Run {run} on paper. Nothing here was measured; every number is a prediction."),
        None => "The campaign on paper. Nothing here was measured; every number is a prediction.".to_owned(),
    };
    if plan.campaign.blind {
        about.push_str(
            " Specimens stand beside their models here, which this campaign hides on its papers: keep it from those who test and score.",
        );
    }
    let mut sections = vec![time::section(rehearsal), needs::section(rehearsal)];
    sections.extend(readings::pressures(rehearsal));
    sections.extend(readings::loading(rehearsal));
    sections.extend(readings::bottles(rehearsal));
    sections.extend(differences(rehearsal));
    sections.push(assumptions(rehearsal));
    Page {
        title: plan.campaign.title.clone(),
        about,
        invented: plan.campaign.invented.clone(),
        fingerprint: plan.fingerprint.short.clone(),
        sections,
    }
}

fn differences(rehearsal: &Rehearsal) -> Option<Section> {
    if rehearsal.differences.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    for found in &rehearsal.differences {
        let share = |value: f64| say::percent(value / found.value);
        let many = say::count(found.specimens, "specimen", "specimens");
        let smallest = found.smallest.map(|least| (say::value_2(least, &found.unit), share(least)));
        let mut text = format!(
            "{}: {} ({} models, about {}). ",
            found.test,
            found.what,
            found.models,
            say::value_2(found.value, &found.unit)
        );
        match (smallest, found.specimens) {
            (Some((least, part)), 0 | 1) => text.push_str(&format!(
                "With one specimen a model, differences below {least} ({part}) cannot be told from scatter; and what that \
                 scatter is, one specimen does not show: it is assumed. "
            )),
            (Some((least, part)), _) => text
                .push_str(&format!("With {many} a model, differences below {least} ({part}) cannot be told apart. ")),
            (None, _) => text.push_str(&format!("With {many} a model, nothing can be told apart. ")),
        }
        match found.needed {
            Some(needed) => text.push_str(&format!("For {} take {needed} of each.", share(found.wanted))),
            None => text.push_str(&format!("For {} no number of specimens is enough.", share(found.wanted))),
        }
        parts.push(says(text));
        let sources: Vec<String> = found
            .sources
            .iter()
            .filter(|(_, part)| *part >= 0.005)
            .map(|(source, part)| format!("{source} {}", say::percent(*part)))
            .collect();
        parts.push(says(format!(
            "One run varies by {} (standard deviation, {}); of its variance: {}.",
            say::value_2(found.sd, &found.unit),
            share(found.sd),
            sources.join(", ")
        )));
    }
    parts.push(says(
        "A difference of the size given shows four times in five, at 95 % for all pairs of models together.".to_owned(),
    ));
    Some(Section { title: "What this bench can tell apart".to_owned(), parts })
}

fn assumptions(rehearsal: &Rehearsal) -> Section {
    let mut table = Table::new("", &["Of", "It is assumed that", "Where that comes from"]);
    for found in &rehearsal.assumptions {
        table.row(vec![found.of.clone(), found.says.clone(), found.mark.clone()]);
    }
    Section { title: "What all this rests on".to_owned(), parts: vec![Part::Table(table)] }
}
