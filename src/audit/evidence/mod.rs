//! What stands beside the records: seals of what was signed, answers to findings, photographs, a second typing.

mod answers;
mod photographs;
mod seal;
mod second;

pub use answers::{Answer, LEFT_OUT, Standing, answers, standings, to_answer};
pub use photographs::photographs;
pub use seal::{Seal, check as seals, sign};
pub use second::compare;

use sha2::{Digest, Sha256};

use super::Finding;
use crate::diagnostic::{Code, Place};
use crate::record::{Column, Record};

/// A file beside the records, as the shell read it.
#[derive(Debug, Clone)]
pub struct Beside {
    /// Its name, without folders.
    pub name: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub hash: String,
    /// How many bytes.
    pub length: usize,
}

impl Beside {
    /// A file by its bytes.
    pub fn new(name: impl Into<String>, bytes: &[u8]) -> Beside {
        Beside { name: name.into(), hash: hash(bytes), length: bytes.len() }
    }
}

/// SHA-256, hexadecimal.
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The same of a file of any size, read piece by piece.
///
/// # Errors
/// What the reading says.
pub fn hash_of(mut from: impl std::io::Read) -> std::io::Result<String> {
    let mut digest = Sha256::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        match from.read(&mut piece)? {
            0 => break,
            length => digest.update(piece.get(..length).unwrap_or_default()),
        }
    }
    Ok(digest.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

/// The run and the reading of the row that a finding points at first, or of the row that is missing there; empty where it points
/// elsewhere.
pub fn place_of<'r>(finding: &'r Finding, records: &'r [Record]) -> (&'r str, &'r str) {
    // What a logger shows of a reading is said at the logger's line, and it is the reading that is in doubt.
    let by_logger = matches!(
        finding.code,
        Code::OutsideWhileHeld | Code::DwellNotKept | Code::StillDrifting | Code::StuckChannel | Code::ReadingDisagrees
    );
    let written = |place: &&Place| by_logger && records.iter().any(|record| record.source == place.source);
    let Some(place) = finding.places.iter().find(written).or(finding.primary()) else { return ("", "") };
    let Some(record) = records.iter().find(|record| record.source == place.source) else { return ("", "") };
    match record.rows.iter().rfind(|row| row.span.start <= place.span.start) {
        Some(row) => (row.text(Column::Run), finding.about.as_deref().unwrap_or(row.text(Column::Reading))),
        // Above the rows: it speaks of the whole file.
        None => (record.rows.first().map_or("", |row| row.text(Column::Run)), ""),
    }
}
