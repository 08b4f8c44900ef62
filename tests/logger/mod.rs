//! A logger's file beside plan and record, and what may be wrong with the file.

mod damaged;

#[cfg(feature = "parquet")]
mod parquet;

mod series;

use loopleaf::plan::{Channel, LoggerFile, Origin};
use loopleaf::quantity::Unit;
use loopleaf::source::{SourceId, Span};

/// A mapping for files with the columns `t` (seconds), `a` and `b`.
fn layout(separator: u8, decimal_comma: bool) -> LoggerFile {
    let origin = Origin { source: SourceId(0), span: Span::at(0) };
    let channel = |name: &str| Channel {
        column: name.to_owned(),
        instrument: name.to_owned(),
        unit: Unit::parse("kPa").unwrap(),
        origin,
    };
    LoggerFile {
        name: "log".to_owned(),
        separator,
        decimal_comma,
        unit_row: false,
        time_column: "t".to_owned(),
        elapsed: true,
        zero: Some("1970-01-01 00:00:00".to_owned()),
        marker: None,
        channels: vec![channel("a"), channel("b")],
        origin,
    }
}
