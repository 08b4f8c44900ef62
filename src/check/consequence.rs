//! What follows from a statement that could not be read is not told as if it were a fault of its own.

use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::plan::Loaded;
use crate::source::{SourceId, Span};

/// A weaker finding, the stronger one that is told in its place, and what the two must share.
const STRONGER: [(Code, Code, Shared); 8] = [
    (Code::LimitIdle, Code::HeaterUnguarded, Shared::AnyPlace),
    (Code::LimitIdle, Code::OutsideInstrumentRange, Shared::AnyPlace),
    (Code::GaugeBelowRelief, Code::ReliefAboveRating, Shared::AnyPlace),
    (Code::TooFewParticles, Code::SampledTooLate, Shared::FirstPlace),
    (Code::BackgroundHides, Code::SampledTooLate, Shared::FirstPlace),
    (Code::TooFewParticles, Code::BottleOutOfFlow, Shared::FirstPlace),
    (Code::TooManyParticles, Code::BottleOutOfFlow, Shared::FirstPlace),
    (Code::BackgroundHides, Code::BottleOutOfFlow, Shared::FirstPlace),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shared {
    FirstPlace,
    AnyPlace,
}

/// One cause is told once: takes out what a stronger finding about the same place says better.
pub(super) fn tell_once(findings: &mut Vec<Diagnostic>) {
    let places = |found: &Diagnostic, shared: Shared| -> Vec<(SourceId, Span)> {
        let most = if shared == Shared::FirstPlace { 1 } else { usize::MAX };
        found.places.iter().take(most).map(|place| (place.source, place.span)).collect()
    };
    for (weak, strong, shared) in STRONGER {
        let strong = findings.iter().filter(|found| found.code == strong);
        let told: Vec<(SourceId, Span)> = strong.flat_map(|found| places(found, shared)).collect();
        findings.retain(|found| found.code != weak || !places(found, shared).iter().any(|place| told.contains(place)));
    }
    // A size that a maker claims and nobody counts: the question about it follows.
    let uncounted = findings.iter().filter(|found| found.code == Code::SizeNotCounted);
    let uncounted: Vec<String> = uncounted.filter_map(|found| found.about.clone()).collect();
    let told = |found: &Diagnostic| found.about.as_ref().is_some_and(|size| uncounted.contains(size));
    findings.retain(|found| found.code != Code::ResultUnknown || !told(found));
}

/// Takes out the findings about the bench that touch a declaration in which something could not be read, and the unknown names
/// of a file that could not be found: they may be gone once that is mended.
pub(super) fn withhold(loaded: &Loaded, findings: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let declarations = loaded.trees.iter().flat_map(|tree| tree.statements.iter().map(|s| (tree.source, s.span)));
    let flawed: Vec<(SourceId, Span)> = declarations
        .filter(|(source, span)| findings.iter().any(|found| is_of_reading(found) && touches(found, *source, *span)))
        .collect();
    let lost = findings.iter().any(|found| matches!(found.code, Code::UseNotFound | Code::UseCycle));
    let any = findings.iter().any(is_of_reading);
    let twice = findings.iter().any(|found| found.code == Code::OneGaugeTwoPlaces);
    let follows = |found: &Diagnostic| {
        // The gauge that nobody uses may be the cure for the one that is used twice.
        if twice && found.code == Code::UnusedName {
            return true;
        }
        // Who would use a name, or need a waiver, may be what could not be read.
        if any && matches!(found.code, Code::UnusedName | Code::UselessWaiver) {
            return true;
        }
        let about_the_bench = !is_of_reading(found) && found.code.id() >= "L4";
        let named = lost && found.code == Code::UnknownName;
        named
            || about_the_bench
                && found.code.id().starts_with('L')
                && flawed.iter().any(|(source, span)| {
                    found.places.iter().any(|place| place.source == *source && holds(*span, place.span))
                })
    };
    findings.into_iter().filter(|found| !follows(found)).collect()
}

/// Whether a finding says that a statement could not be read, so that the plan lacks what it says.
fn is_of_reading(found: &Diagnostic) -> bool {
    // A question that rests on nothing leaves no hole in what is done at the bench.
    let early = found.code.id().starts_with('L') && found.code.id() < "L4" && found.code != Code::ResultUnknown;
    found.severity == Severity::Error && (early || matches!(found.code, Code::ViscosityNotFalling | Code::SizesFall))
}

/// Whether the first place of a finding lies in a declaration.
fn touches(found: &Diagnostic, source: SourceId, span: Span) -> bool {
    found.places.first().is_some_and(|place| place.source == source && holds(span, place.span))
}

fn holds(outer: Span, inner: Span) -> bool {
    outer.start <= inner.start && inner.end <= outer.end
}
