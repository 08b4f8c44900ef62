//! `loopleaf reckon`: everyday questions of the bench, answered from the trade's formulas without a protocol.
//!
//! One file a question; [`input`] understands what is typed, [`view`] is the answer and how it is printed.

mod batch;

mod clean;

mod code;

mod cold;

mod flow;

mod input;

mod ratio;

mod specimens;

mod temperature;

mod units;

mod view;

mod viscosity;

mod weigh;

use clap::{Args, Subcommand};

use super::Exit;
use super::campaign::Stopped;
use super::session::Session;
use view::{Answer, Refusal};

#[derive(Debug, Args)]
pub(crate) struct Reckon {
    #[command(subcommand)]
    question: Question,
    /// Write the answer as JSON to standard output
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Which temperature gives a viscosity, and how tight must it be held?
    #[command(after_help = temperature::EXAMPLES)]
    Temperature(temperature::Options),
    /// How thick is an oil at a temperature; its index, class and grade; two oils mixed
    #[command(after_help = viscosity::EXAMPLES)]
    Viscosity(viscosity::Options),
    /// A number in all units of its kind; or which slip explains a number that was not expected
    #[command(after_help = units::EXAMPLES)]
    Units(units::Options),
    /// The ISO 4406 code of counts, or the counts that a code stands for
    #[command(after_help = code::EXAMPLES)]
    Code(code::Options),
    /// Turnovers and minutes until the oil is clean
    #[command(after_help = clean::EXAMPLES)]
    Clean(clean::Options),
    /// What is left of a dose of dust after a time, and when a sample still means something
    #[command(after_help = batch::EXAMPLES)]
    Batch(batch::Options),
    /// Filtration ratio and efficiency from raw counts, with exact intervals
    #[command(after_help = ratio::EXAMPLES)]
    Ratio(ratio::Options),
    /// Reynolds number, velocity and pressure lost in a line; suction
    #[command(after_help = flow::EXAMPLES)]
    Flow(flow::Options),
    /// The differential pressure that a cold start would show, and where the by-pass opens
    #[command(after_help = cold::EXAMPLES)]
    Cold(cold::Options),
    /// How well a dose is known that was weighed by difference; the smallest dose for 1 %
    #[command(after_help = weigh::EXAMPLES)]
    Weigh(weigh::Options),
    /// How many specimens show a difference, or what difference so many can show
    #[command(after_help = specimens::EXAMPLES)]
    Specimens(specimens::Options),
}

/// Why there is no answer.
enum No {
    /// The question cannot be answered as it was put.
    Refused(Refusal),
    /// A file that was named is not there, or has faults.
    Stopped(Stopped),
}

impl From<Refusal> for No {
    fn from(refusal: Refusal) -> Self {
        No::Refused(refusal)
    }
}

impl Question {
    fn name(&self) -> &'static str {
        match self {
            Question::Temperature(_) => "temperature",
            Question::Viscosity(_) => "viscosity",
            Question::Units(_) => "units",
            Question::Code(_) => "code",
            Question::Clean(_) => "clean",
            Question::Batch(_) => "batch",
            Question::Ratio(_) => "ratio",
            Question::Flow(_) => "flow",
            Question::Cold(_) => "cold",
            Question::Weigh(_) => "weigh",
            Question::Specimens(_) => "specimens",
        }
    }

    fn answer(&self) -> Result<Answer, No> {
        match self {
            Question::Temperature(options) => temperature::answer(options),
            Question::Viscosity(options) => viscosity::answer(options),
            Question::Units(options) => Ok(units::answer(options)?),
            Question::Code(options) => Ok(code::answer(options)?),
            Question::Clean(options) => Ok(clean::answer(options)?),
            Question::Batch(options) => batch::answer(options),
            Question::Ratio(options) => Ok(ratio::answer(options)?),
            Question::Flow(options) => flow::answer(options),
            Question::Cold(options) => cold::answer(options),
            Question::Weigh(options) => Ok(weigh::answer(options)?),
            Question::Specimens(options) => Ok(specimens::answer(options)?),
        }
    }
}

pub(super) fn run(options: &Reckon, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let width = session.terminal.width.min(100);
    let answer = match options.question.answer() {
        Ok(answer) if answer.is_finite() => answer,
        Ok(_) => return refuse(options, &beyond(), width, session),
        Err(No::Refused(refusal)) => return refuse(options, &refusal, width, session),
        Err(No::Stopped(stopped)) => return Err(stopped),
    };
    let text = if options.json { view::json(&answer) } else { view::human(&answer, width) };
    session.say(text.trim_end())?;
    Ok(if answer.warnings.is_empty() { Exit::Fine } else { Exit::Warnings })
}

fn refuse(options: &Reckon, refusal: &Refusal, width: usize, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    if options.json {
        session.say(&view::refused_json(options.question.name(), refusal))?;
    } else {
        // Who has gone away needs no reason.
        let _sent = write!(session.err, "{}", view::refused_human(refusal, width));
    }
    Ok(Exit::Errors)
}

fn beyond() -> Refusal {
    Refusal::new(
        "these numbers lead beyond what can be computed",
        "a number that no bench meets is nearly always a slip of some powers of ten",
        "check each number and its unit against the help's examples",
    )
}
