//! How a command ended, as a number that scripts can tell apart.

/// The exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Nothing to object to (notes and minor findings count as nothing).
    Fine = 0,
    /// Warnings, or major deviations in a record.
    Warnings = 1,
    /// Errors, or critical deviations in a record.
    Errors = 2,
    /// The command itself could not be carried out: wrong arguments, a file that is not there.
    CouldNotRun = 3,
}

impl Exit {
    /// What findings make of an exit status.
    pub fn of(findings: &[crate::diagnostic::Diagnostic]) -> Exit {
        use crate::diagnostic::Severity;
        findings
            .iter()
            .map(|finding| match finding.severity {
                Severity::Error | Severity::Critical => Exit::Errors,
                Severity::Warning | Severity::Major => Exit::Warnings,
                Severity::Note | Severity::Minor => Exit::Fine,
            })
            .max()
            .unwrap_or(Exit::Fine)
    }
}
