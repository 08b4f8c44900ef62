//! Photographs: those that the records name, against those that lie in the folder.

use indexmap::IndexMap;

use super::{Beside, Finding};
use crate::diagnostic::{Code, Diagnostic};
use crate::plan::{Plan, Wants};
use crate::record::{Column, Record, Row, Value};

/// What is named and not there, and what is there under two names. (What has changed, its seal tells.)
pub fn photographs(plan: &Plan, records: &[Record], files: &[Beside]) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut seen: IndexMap<&str, (&Record, &Row)> = IndexMap::new();
    for record in records {
        for row in &record.rows {
            let wanted = plan.run(row.text(Column::Run)).and_then(|run| plan.test_of(run)).is_some_and(|test| {
                let readings = test.steps.iter().flat_map(|step| &step.readings);
                readings.into_iter().any(|reading| {
                    reading.path == row.text(Column::Reading) && matches!(reading.wants, Wants::Photograph)
                })
            });
            let name = row.text(Column::Value);
            if !wanted || matches!(record.value(row), Value::Empty | Value::NotDone) {
                continue;
            }
            let cell = row.cell(Column::Value);
            let subject = format!("run {}, `{}`", row.text(Column::Run), row.text(Column::Reading));
            let Some(file) = files.iter().find(|file| file.name.eq_ignore_ascii_case(name)) else {
                let near = files
                    .iter()
                    .find(|file| strsim::damerau_levenshtein(&file.name.to_lowercase(), &name.to_lowercase()) <= 2);
                let help = match near {
                    Some(near) => format!("If it is `{}`, write that.", near.name),
                    None => "Put the picture into `records/photographs` under this name; if none was taken, write ND and the reason.".to_owned(),
                };
                let message = format!("{subject}: the photograph `{name}` is not in the folder");
                found.push(
                    Diagnostic::new(Code::PhotographMissing, message)
                        .at(record.source, cell.span, "named here")
                        .help(help),
                );
                continue;
            };
            match seen.get(file.hash.as_str()) {
                Some((other, first)) if first.text(Column::Value) != name => {
                    let message = format!(
                        "{subject}: `{name}` is, byte by byte, the picture `{}` of `{}`",
                        first.text(Column::Value),
                        first.text(Column::Reading)
                    );
                    found.push(
                        Diagnostic::new(Code::PhotographReused, message)
                            .at(record.source, cell.span, "the second time")
                            .also(other.source, first.cell(Column::Value).span, "the first time")
                            .help("Look at the picture: for which of the two was it taken? The other one is missing."),
                    );
                }
                Some(_) => {}
                None => {
                    seen.insert(&file.hash, (record, row));
                }
            }
        }
    }
    found
}
