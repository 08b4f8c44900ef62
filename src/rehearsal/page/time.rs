//! The time line in words.

use super::{Part, Section, Table, says};
use crate::rehearsal::{Days, Rehearsal, RunTime, Sitting, Work, picture, say};

pub(super) fn section(rehearsal: &Rehearsal) -> Section {
    let mut parts = Vec::new();
    if let [one] = rehearsal.runs.as_slice() {
        parts.push(says(format!(
            "{} with specimen {} ({}) takes {} at the bench, most likely {}{}.",
            one.run,
            one.specimen,
            one.model,
            say::times(one.lasts),
            say::time(one.likely),
            if one.standing > 0.0 {
                format!("; besides, it stands alone for {}", say::time(one.standing))
            } else {
                String::new()
            }
        )));
        parts.push(Part::Table(stages(one)));
    } else {
        parts.push(says(summary(rehearsal)));
        parts.push(Part::Table(runs(&rehearsal.runs)));
        parts.push(Part::Table(days(&rehearsal.days)));
    }
    parts.extend(warnings(rehearsal));
    parts.push(Part::Picture { svg: picture::timeline("time", &rehearsal.runs, rehearsal.days.longest) });
    Section { title: "Time".to_owned(), parts }
}

fn summary(rehearsal: &Rehearsal) -> String {
    let days = &rehearsal.days;
    let bench = match (days.fewest, days.most) {
        (fewest, most) if fewest == most => say::count(fewest, "day", "days"),
        (fewest, most) => format!("{fewest} to {most} days"),
    };
    let mut text = format!(
        "{} take {bench} on the bench, most likely {}.",
        say::count(rehearsal.runs.len(), "run", "runs"),
        days.days.len()
    );
    if let Some(answer) = days.answer {
        let weeks = days.until_result;
        text.push_str(&format!(
            " The laboratory answers up to {} days after the last bottle: results come {} to {} weeks after the first morning.",
            say::number(answer, 3),
            say::number((weeks.low / 7.0).ceil(), 3),
            say::number((weeks.high / 7.0).ceil(), 3)
        ));
    }
    text
}

fn warnings(rehearsal: &Rehearsal) -> Vec<Part> {
    let longest = rehearsal.days.longest;
    let over = |takes: fn(&Sitting) -> f64| -> Vec<&str> {
        let long = |run: &&RunTime| run.sittings.iter().any(|sitting| takes(sitting) > longest);
        rehearsal.runs.iter().filter(long).map(|run| run.run.as_str()).collect()
    };
    let (likely, slow) = (over(|sitting| sitting.likely), over(|sitting| sitting.lasts.high));
    let slow: Vec<&str> = slow.into_iter().filter(|run| !likely.contains(run)).collect();
    let mut parts = Vec::new();
    let day = say::time(longest);
    if !likely.is_empty() {
        parts.push(says(format!("Longer than a day of {day}, most likely: {}.", likely.join(", "))));
    }
    if !slow.is_empty() {
        parts.push(says(format!("Longer than a day of {day} if everything is slow: {}.", slow.join(", "))));
    }
    if let Some(last) = rehearsal.days.ends_too_soon.as_ref().filter(|_| rehearsal.run.is_none()) {
        parts.push(says(format!(
            "If everything is slow, the last bench day is {last}, after the campaign's own last day."
        )));
    }
    parts
}

fn runs(runs: &[RunTime]) -> Table {
    let mut columns = vec!["Run", "Specimen", ">From–to", ">Likely"];
    // In the order of the bars.
    let works: Vec<String> = Work::ALL.iter().map(|work| format!(">{}", work.words())).collect();
    columns.extend(works.iter().map(String::as_str));
    let stands = runs.iter().any(|run| run.standing > 0.0);
    if stands {
        columns.push(">alone");
    }
    let mut table =
        Table::new("Each run at the bench; what its time goes into, as likely; and how long it stands alone", &columns);
    for run in runs {
        let (low, high) = (hours(run.lasts.low), hours(run.lasts.high));
        let mut cells = vec![
            run.run.clone(),
            format!("{} {}", run.specimen, run.model),
            format!("{low}–{high}"),
            hours(run.likely),
        ];
        cells.extend(run.work.iter().map(|(_, _, likely)| if *likely > 0.0 { hours(*likely) } else { "–".to_owned() }));
        if stands {
            cells.push(if run.standing > 0.0 { hours(run.standing) } else { "–".to_owned() });
        }
        table.row(cells);
    }
    table.caption.push_str(" (hours:minutes)");
    table
}

/// `6:20`.
fn hours(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round();
    format!("{}:{:02}", (minutes / 60.0).floor(), minutes % 60.0)
}

fn days(days: &Days) -> Table {
    let mut table = Table::new(
        &format!("Bench days, as many runs on each as likely fit into {}", say::time(days.longest)),
        &[">Day", "Date", "Runs", ">Likely", ">From–to"],
    );
    for (index, day) in days.days.iter().enumerate() {
        let runs = if day.runs.is_empty() { "(goes on)".to_owned() } else { day.runs.join(", ") };
        let (likely, span) = if day.runs.is_empty() {
            (String::new(), String::new())
        } else {
            (hours(day.likely), format!("{}–{}", hours(day.lasts.low), hours(day.lasts.high)))
        };
        table.row(vec![(index + 1).to_string(), day.date.clone().unwrap_or_default(), runs, likely, span]);
    }
    table
}

fn stages(run: &RunTime) -> Table {
    let mut table = Table::new(
        "Stage by stage (hours:minutes after the first step)",
        &["Stage", ">Begins", ">Between", ">Takes", ">From–to"],
    );
    for stage in &run.stages {
        table.row(vec![
            stage.title.clone(),
            hours(stage.begins),
            format!("{}–{}", hours(stage.begins_between.low), hours(stage.begins_between.high)),
            hours(stage.likely),
            format!("{}–{}", hours(stage.lasts.low), hours(stage.lasts.high)),
        ]);
    }
    table
}
