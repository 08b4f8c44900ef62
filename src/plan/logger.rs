//! Which column of a logger's file is which instrument.

use super::library::Sort;
use super::model::{Channel, LoggerFile};
use super::read::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Mismatch, Unit};
use crate::syntax::tree::Statement;

/// Reads a `logger` block of a campaign.
pub(super) fn read(statement: &Statement, context: &Context<'_>) -> LoggerFile {
    let mut logger = LoggerFile {
        name: context.text(statement, "name").unwrap_or_default(),
        separator: b',',
        decimal_comma: false,
        unit_row: false,
        time_column: String::new(),
        elapsed: false,
        zero: None,
        marker: None,
        channels: Vec::new(),
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        match s.key() {
            "separated by" => {
                logger.separator = match context.text(s, "separator").as_deref() {
                    Some("semicolon") => b';',
                    Some("tabs") => b'\t',
                    _ => b',',
                }
            }
            "decimal" => logger.decimal_comma = context.text(s, "mark").is_some_and(|mark| mark == "comma"),
            "units below heading" => logger.unit_row = true,
            "time" => {
                logger.time_column = context.text(s, "column").unwrap_or_default();
                logger.elapsed = context.text(s, "format").is_some_and(|format| format == "seconds");
                logger.zero = context.text(s, "zero");
            }
            "marker" => logger.marker = context.text(s, "column"),
            "channel" => logger.channels.extend(channel(s, context)),
            _ => {}
        }
    }
    logger
}

fn channel(s: &Statement, context: &Context<'_>) -> Option<Channel> {
    let instrument = context.resolve(context.word(s, "instrument")?, Sort::Instrument)?;
    let written = context.text(s, "unit")?;
    let origin = context.origin(s.head);
    let Ok(unit) = Unit::parse(&written) else {
        context.notes.add(
            Diagnostic::new(Code::UnknownUnit, format!("`{written}` is not a known unit"))
                .at(origin.source, origin.span, "this channel")
                .help("Write the unit in which the logger writes this column, such as `in \"kPa\"`."),
        );
        return None;
    };
    let declared = context.library.get(&instrument);
    let measures = declared.and_then(|declared| {
        let measures = declared.statement.block.iter().find(|s| s.key() == "measures")?;
        Some((context.measures(measures, "quantity")?, declared))
    });
    // Against what a pressure is measured, the instrument says; a plain unit is enough here.
    if let Some((measures, declared)) = measures
        && let Some(code) = match measures.kind().accepts(&unit) {
            Err(Mismatch::WrongReference { .. }) => Some(Code::WrongPressureReference),
            Err(_) if unit.dimension != measures.kind().dimension() => Some(Code::WrongKind),
            _ => None,
        }
    {
        let usual = measures.kind().usual_unit();
        context.notes.add(
            Diagnostic::new(code, format!("`{instrument}` measures {}, and `{written}` is no unit of it", measures.words()))
                .at(origin.source, origin.span, "this channel")
                .also(declared.source, declared.name_span, "this instrument")
                .help(format!("write the unit that stands in this column, such as `in \"{usual}\"`, or name the instrument that it belongs to")),
        );
        return None;
    }
    Some(Channel { column: context.text(s, "column")?, instrument, unit, origin })
}
