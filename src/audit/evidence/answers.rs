//! Answers to findings: a plain table beside the records, `answers.csv`, written by people.
//!
//! ```text
//! code,run,reading,found,answer,by,when,why
//! A136,R02,warm-sweep/rising/34-l-min/dp,`dp` reads 2.9 kPa,explained,RL,2026-10-07,"psi scale read"
//! ```
//!
//! An answer is given to what was found, in its words. Where the record changes and something else is found at the same place,
//! nobody has looked at that yet, and the answer does not hold.

use csv::ReaderBuilder;
use serde::Serialize;

use super::{Finding, place_of};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::plan::{Plan, bottle_labels, same_label};
use crate::record::{Column, Instant, Record, day_number};
use crate::source::{SourceId, Span};

/// What somebody answers to a finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Answer {
    /// Of the finding.
    pub code: String,
    /// Where it was found.
    pub run: String,
    /// Path of the reading; may be empty where the finding has none.
    pub reading: String,
    /// The words of the finding.
    pub found: String,
    /// `accepted`, `corrected`, `run repeated`, `explained` or `left out`.
    pub answer: String,
    /// Initials.
    pub by: String,
    /// A date, or a date and a time.
    pub when: String,
    /// The reason.
    pub why: String,
    #[serde(skip)]
    span: Span,
}

const HEADING: [&str; 8] = ["code", "run", "reading", "found", "answer", "by", "when", "why"];
const ANSWERS: [&str; 5] = ["accepted", "corrected", "run repeated", "explained", LEFT_OUT];

/// The value stays in the record and out of the results.
pub const LEFT_OUT: &str = "left out";

/// A finding with the answer that it has.
#[derive(Debug, Clone)]
pub struct Standing {
    /// The finding.
    pub finding: Finding,
    /// The run and reading at which it stands; empty where it has none.
    pub run: String,
    /// See `run`.
    pub reading: String,
    /// Its answer, where one holds.
    pub answer: Option<Answer>,
}

impl Standing {
    /// Whether it keeps the results from being published: critical, and without an answer that holds.
    pub fn blocks(&self) -> bool {
        self.finding.severity == Severity::Critical && self.answer.is_none()
    }
}

/// Reads the table. What can't be read is found, not guessed.
pub fn answers(source: SourceId, text: &str) -> (Vec<Answer>, Vec<Finding>) {
    let mut found = Vec::new();
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let offset = text.len() - body.len();
    let mut reader =
        ReaderBuilder::new().has_headers(false).flexible(true).comment(Some(b'#')).from_reader(body.as_bytes());
    let mut answers = Vec::new();
    let mut headed = false;
    let mut record = csv::StringRecord::new();
    while let Ok(true) = reader.read_record(&mut record) {
        let start = record.position().map_or(0, |position| usize::try_from(position.byte()).unwrap_or(0)) + offset;
        // The reader's position may lie before line ends and remarks.
        let rest = text.get(start..).unwrap_or_default();
        let skipped: usize = rest
            .split_inclusive('\n')
            .take_while(|line| line.trim().is_empty() || line.starts_with('#'))
            .map(str::len)
            .sum();
        let line = rest.get(skipped..).unwrap_or_default().lines().next().unwrap_or_default();
        let span = Span::new(start + skipped, start + skipped + line.len());
        let cells: Vec<&str> = record.iter().map(str::trim).collect();
        if !headed {
            headed = true;
            if cells != HEADING {
                let message = "the answers have no heading line that can be read".to_owned();
                found.push(
                    Diagnostic::new(Code::AnswerDoesNotHold, message)
                        .at(source, span, "written")
                        .help(format!("Write as the first line: {}", HEADING.join(","))),
                );
                return (answers, found);
            }
            continue;
        }
        let [code, run, reading, words, answer, by, when, why] = cells.as_slice() else {
            let message = format!("an answer has {} cells, not {}", cells.len(), HEADING.len());
            found.push(
                Diagnostic::new(Code::AnswerDoesNotHold, message)
                    .at(source, span, "written")
                    .help("A reason with a comma in it stands between quotation marks."),
            );
            continue;
        };
        let own = |text: &&str| (*text).to_owned();
        answers.push(Answer {
            code: own(code),
            run: own(run),
            reading: own(reading),
            found: own(words),
            answer: own(answer),
            by: own(by),
            when: own(when),
            why: own(why),
            span,
        });
    }
    (answers, found)
}

/// Rows for the table, one for each finding that weighs and has no answer yet: who fills it in adds answer, initials, date
/// and reason.
pub fn to_answer(standings: &[Standing]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut written = writer.write_record(HEADING).is_ok();
    let open =
        standings.iter().filter(|standing| standing.answer.is_none() && standing.finding.severity != Severity::Note);
    for standing in open {
        let row =
            [standing.finding.code.id(), &standing.run, &standing.reading, &standing.finding.message, "", "", "", ""];
        written = written && writer.write_record(row).is_ok();
    }
    // Writing to memory does not fail.
    writer.into_inner().ok().filter(|_| written).and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Puts the answers beside the findings, and says which answers do not hold.
pub fn standings(
    plan: &Plan,
    records: &[Record],
    findings: Vec<Finding>,
    source: SourceId,
    answers: &[Answer],
) -> (Vec<Standing>, Vec<Finding>) {
    let mut wrong = Vec::new();
    let mut standings: Vec<Standing> = findings
        .into_iter()
        .map(|finding| {
            let (run, reading) = match place_of(&finding, records) {
                ("", "") => of_bottle(plan, &finding).unwrap_or_default(),
                (run, reading) => (run.to_owned(), reading.to_owned()),
            };
            Standing { run, reading, finding, answer: None }
        })
        .collect();
    for answer in answers {
        let fits = |standing: &Standing| {
            standing.finding.code.id() == answer.code
                && standing.run == answer.run
                && (standing.reading == answer.reading || answer.reading.is_empty())
        };
        let mut subject = format!("the answer to {}", answer.code);
        for (word, of) in [("at", &answer.reading), ("of run", &answer.run)] {
            if !of.is_empty() {
                subject.push_str(&format!(" {word} `{of}`"));
            }
        }
        // Two findings may stand at one place, as those of a bottle and its twin: each answer goes to the next without one, and
        // to what it names before anything else that was found there.
        let means = |standing: &Standing| fits(standing) && same_words(&answer.found, &standing.finding.message);
        let free = standings.iter().position(|standing| standing.answer.is_none() && means(standing));
        let place = free.or_else(|| standings.iter().position(means)).or_else(|| standings.iter().position(fits));
        let standing = place.and_then(|place| standings.get_mut(place));
        let corrected = is_corrected(records, answer);
        let problem = problem(plan, records, answer, standing.as_deref(), corrected);
        match (standing, problem) {
            (Some(standing), None) => {
                if let Some(before) = standing.answer.replace(answer.clone()) {
                    let message = format!(
                        "{subject} was given before: `{}` by {} on {}; this one, `{}` by {} on {}, holds",
                        before.answer, before.by, before.when, answer.answer, answer.by, answer.when
                    );
                    wrong.push(
                        Diagnostic::new(Code::AnswerDoesNotHold, message)
                            .severity(Severity::Minor)
                            .at(source, answer.span, "the later one")
                            .also(source, before.span, "the earlier one")
                            .help("Where somebody has changed their mind, write in the reason why, and keep the one row that is meant."),
                    );
                }
            }
            // What was corrected is no longer found; that is what the answer says.
            (None, None) if answer.answer == "corrected" && corrected => {}
            (standing, problem) => {
                // Whoever wrote it wants a reading out of the results, and nothing that is found keeps it out.
                let unfounded = standing.is_none() && answer.answer == LEFT_OUT;
                let (words, mut weight, help) = problem.unwrap_or_else(|| {
                    let look = "Look at the code, the run and the reading, as the audit prints them.";
                    ("answers nothing that is found".to_owned(), Severity::Minor, look.to_owned())
                });
                if unfounded {
                    weight = Severity::Critical;
                }
                let message = format!("{subject} {words}");
                wrong.push(
                    Diagnostic::new(Code::AnswerDoesNotHold, message)
                        .at(source, answer.span, "written")
                        .severity(weight)
                        .why(if unfounded { UNFOUNDED } else { Code::AnswerDoesNotHold.why() })
                        .help(help),
                );
            }
        }
    }
    (standings, wrong)
}

/// The run and reading of the bottle that a finding names first, where it stands in a file of the laboratory.
fn of_bottle(plan: &Plan, finding: &Finding) -> Option<(String, String)> {
    let named = finding.message.split('`').nth(1)?;
    plan.runs.iter().find_map(|run| {
        let labels = bottle_labels(run, plan.test_of(run)?);
        let (path, _) = labels.iter().find(|(_, label)| {
            // A twin bears the label of its bottle and a T.
            same_label(label, named) || named.strip_suffix('T').is_some_and(|named| same_label(label, named))
        })?;
        Some((run.code.clone(), path.clone()))
    })
}

/// Why an answer that leaves out what nothing is found in stops the results.
const UNFOUNDED: &str = "A reading stays out of the results for what the audit found in it. Where that is found no longer, either \
    the record has changed since, or a reading would be chosen away.";

/// Line ends and the spaces that a spreadsheet adds are no other words.
fn same_words(one: &str, other: &str) -> bool {
    one.split_whitespace().eq(other.split_whitespace())
}

type Problem = (String, Severity, String);

fn problem(
    plan: &Plan,
    records: &[Record],
    answer: &Answer,
    standing: Option<&Standing>,
    corrected: bool,
) -> Option<Problem> {
    let major = |words: String, help: &str| Some((words, Severity::Major, help.to_owned()));
    if Code::from_id(&answer.code).is_none() {
        return major("names a code that does not exist".to_owned(), "Copy the code from the audit.");
    }
    if !ANSWERS.contains(&answer.answer.as_str()) {
        return major(
            format!("says `{}`", answer.answer),
            "Write one of: accepted, corrected, run repeated, explained, left out.",
        );
    }
    let people = &plan.campaign.people;
    if answer.by.is_empty() || (!people.is_empty() && !people.contains_key(&answer.by)) {
        return major(
            format!("is signed by `{}`, who is none of the campaign's people", answer.by),
            "Write the initials of whoever answers.",
        );
    }
    let day = day_number(&answer.when).or_else(|| Some(Instant::parse(&answer.when)?.day()));
    let Some(day) = day else {
        return major(format!("has no date that can be read (`{}`)", answer.when), "Write it as YYYY-MM-DD.");
    };
    if let Some(began) = began(records, &answer.run).filter(|began| day < began.day()) {
        return major(
            format!("is dated {}, before anything was recorded of it, on {}", answer.when, began.text()),
            "Write the day on which it was answered.",
        );
    }
    if let Some(standing) = standing.filter(|standing| !same_words(&answer.found, &standing.finding.message)) {
        let words = match answer.found.as_str() {
            "" => "does not say in `found` what it answers".to_owned(),
            found => format!("was given to `{found}`, and that is not what is found there now"),
        };
        let help = format!(
            "Look at what is found there now. Where the answer stands, write in the cell `found`: {}",
            standing.finding.message
        );
        return Some((words, Severity::Major, help));
    }
    let weight = standing.map(|standing| standing.finding.severity);
    let grave = weight == Some(Severity::Critical);
    if answer.why.is_empty() && (grave || answer.answer != "corrected") {
        return major(
            "gives no reason".to_owned(),
            "Say what happened and why the value can be used all the same, or can't.",
        );
    }
    if grave && answer.answer == "accepted" && answer.why.split_whitespace().count() < 3 {
        return major(
            format!("accepts a critical finding with `{}` as its whole reason", answer.why),
            "A critical finding is explained, corrected, or its run repeated; where it is accepted, the reason says why nobody was in danger and why the result holds.",
        );
    }
    if answer.answer == "corrected" && !corrected {
        return major(
            "says that it was corrected, and no row of this reading has a correction".to_owned(),
            "Add the row with the right value and the reason in its correction cell.",
        );
    }
    None
}

/// The first time that is written in a run's record, or in any where no run is named.
fn began(records: &[Record], run: &str) -> Option<Instant> {
    let rows =
        records.iter().flat_map(|record| &record.rows).filter(|row| run.is_empty() || row.text(Column::Run) == run);
    rows.filter_map(|row| Instant::parse(row.text(Column::Time))).min_by_key(|time| time.seconds)
}

fn is_corrected(records: &[Record], answer: &Answer) -> bool {
    let rows = records.iter().flat_map(|record| &record.rows);
    rows.into_iter().any(|row| {
        row.text(Column::Run) == answer.run
            && (answer.reading.is_empty() || row.text(Column::Reading) == answer.reading)
            && !row.text(Column::Correction).is_empty()
    })
}
