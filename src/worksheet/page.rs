//! What the pages say: texts already rounded, with their units and in their final wording. A template only places them.

use serde::Serialize;
use serde_json::Value;

use super::words::Words;
use crate::plan::Mask;

/// A set of worksheets, ready for a template.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// Title of the document.
    pub title: String,
    /// The wording that is the same on every sheet.
    pub words: Words,
    /// The campaign's own sheets, where they were asked for.
    pub campaign: Option<CampaignSheet>,
    /// One set of sheets a run, in the order of the campaign.
    pub runs: Vec<RunSheet>,
    /// What a blind campaign's papers do not say, however it came into a text.
    #[serde(skip)]
    pub hides: Vec<String>,
}

impl View {
    /// What is placed on the pages.
    pub(super) fn shown(&self) -> Result<Value, serde_json::Error> {
        let mut value = serde_json::to_value(self)?;
        if !self.hides.is_empty() {
            hide(&mut value, &Mask::of_words(&self.hides), About::Either);
        }
        Ok(value)
    }
}

/// What a text is about. People and questions may speak of a model by a common word; at the bench such a word stays, or a model
/// called `glass` would take the sight glass out of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum About {
    People,
    Bench,
    Either,
}

impl About {
    /// The same of a field.
    fn of(self, field: &str) -> About {
        match (self, field) {
            (About::Either, "people" | "questions" | "waivers" | "title" | "invented") => About::People,
            (About::Either, "instruments" | "routes" | "materials" | "sections") => About::Bench,
            _ => self,
        }
    }
}

fn hide(value: &mut Value, mask: &Mask, about: About) {
    match value {
        Value::String(text) => *text = if about == About::People { mask.free(text) } else { mask.whole(text) },
        Value::Array(items) => items.iter_mut().for_each(|item| hide(item, mask, about)),
        Value::Object(fields) => {
            // The wording of the sheets is the same in every campaign.
            for (name, field) in fields.iter_mut().filter(|(name, _)| *name != "words") {
                hide(field, mask, about.of(name));
            }
        }
        _ => {}
    }
}

/// Head and foot of every page of one set of sheets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Frame {
    /// Name of the campaign.
    pub plan: String,
    /// What this set is: the campaign's title, or the test's.
    pub title: String,
    /// The run's code, or a word for the campaign's own sheets.
    pub run: String,
    /// The specimen's code; empty on the campaign's own sheets. Never a model.
    pub specimen: String,
    /// The short fingerprint.
    pub fingerprint: String,
    /// Name and revision of the rig.
    pub rig: String,
    /// The sentence that says that everything is made up.
    pub invented: Option<String>,
    /// What stops the run, on one line.
    pub stop: String,
}

/// A name and what is said of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    pub name: String,
    pub value: String,
}

impl Fact {
    /// A fact.
    pub fn new(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into() }
    }
}

/// The sheets of the whole campaign.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CampaignSheet {
    pub frame: Frame,
    pub title: String,
    pub invented: Option<String>,
    pub questions: Vec<String>,
    pub facts: Vec<Fact>,
    pub people: Vec<PersonLine>,
    /// Whether models stay hidden.
    pub blind: bool,
    pub specimens: Vec<SpecimenLine>,
    pub runs: Vec<RunLine>,
    pub materials: Vec<Material>,
    pub cautions: Vec<CautionBox>,
    pub emergency: Vec<String>,
    pub waivers: Vec<WaiverLine>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PersonLine {
    pub initials: String,
    pub name: String,
    pub role: String,
    pub trained_on: String,
    pub interests: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SpecimenLine {
    pub code: String,
    /// Model, lot and place of purchase; empty where the campaign is blind.
    pub origin: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RunLine {
    pub code: String,
    pub test: String,
    pub specimen: String,
    pub replicate: String,
}

/// A fluid or a dust: what it is and what is known of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Material {
    pub name: String,
    pub title: String,
    pub facts: Vec<Fact>,
    pub hazards: String,
}

/// The sheets of one run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunSheet {
    pub frame: Frame,
    pub title: String,
    pub purpose: String,
    pub facts: Vec<Fact>,
    pub parameters: Vec<Fact>,
    /// What stops the run, one line each.
    pub stops: Vec<String>,
    pub cautions: Vec<CautionBox>,
    pub protection: Vec<Protection>,
    /// Each kind of waste and where it goes.
    pub waste: Vec<Fact>,
    pub emergency: Vec<String>,
    pub waivers: Vec<WaiverLine>,
    pub leanings: Vec<LeaningBox>,
    pub instruments: Vec<InstrumentLine>,
    pub routes: Vec<RouteLine>,
    pub sections: Vec<Section>,
    pub labels: Vec<Label>,
}

/// A caution that a hazard of the test calls for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CautionBox {
    pub name: String,
    pub hazard: String,
    pub text: String,
    /// Where it comes from.
    pub mark: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Protection {
    pub item: String,
    /// `always`, or the hazard that calls for it.
    pub when: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WaiverLine {
    pub code: String,
    pub scope: String,
    pub reason: String,
}

/// A published method that the test leans on, and what differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeaningBox {
    pub standard: String,
    pub departures: Vec<Fact>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InstrumentLine {
    pub name: String,
    pub title: String,
    pub measures: String,
    pub range: String,
    pub resolution: String,
    pub accuracy: String,
    pub calibration: String,
    pub place: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RouteLine {
    pub name: String,
    pub title: String,
    pub valves: Vec<ValvePicture>,
}

/// How a valve has to stand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ValvePicture {
    pub name: String,
    pub open: bool,
}

/// A part of the steps: a table of rows, or the table of a loop or a sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Section {
    Steps(StepTable),
    Repeated(RepeatTable),
}

/// Steps in a row, all of one stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepTable {
    pub heading: String,
    /// Fluid, tare, blank, logging.
    pub facts: Vec<Fact>,
    /// Hazards of its steps, in words; empty where there is none.
    pub hazards: String,
    pub rows: Vec<Row>,
}

/// How a row is to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RowKind {
    /// Something to do, signed in the row.
    Do,
    /// Only read.
    Note,
    /// Only read, and meant.
    Caution,
    /// Nothing goes on before a second person has signed.
    HoldPoint,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    pub number: String,
    pub row: RowKind,
    /// One sentence with one verb.
    pub sentence: String,
    /// Further sentences, one line each.
    pub details: Vec<String>,
    pub valves: Vec<ValvePicture>,
    pub fields: Vec<Field>,
}

/// A box to write in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    /// The reading's identity in every record.
    pub path: String,
    pub label: String,
    pub target: String,
    /// `39.2 … 40.8 L/min` or `expect 5 … 40 kPa`; empty where nothing is asked.
    pub window: String,
    /// The value that stops the run, in words; empty where there is none.
    pub stop: String,
    pub instrument: String,
    /// Whether the operator decides on Y or N.
    pub judged: bool,
    pub input: Input,
}

/// What is written in a box, and so what it looks like.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "input", rename_all = "kebab-case")]
pub enum Input {
    /// One cell a digit, with the decimal point printed.
    Comb {
        sign: bool,
        whole: usize,
        decimals: usize,
        unit: String,
    },
    Plain {
        unit: String,
    },
    Tick {
        word: String,
    },
    Choice {
        choices: Vec<String>,
    },
    Text,
    Photograph,
    Bottle {
        id: String,
        wants: String,
    },
}

/// A loop of doses or a sweep of flows: the instructions once, and a line a dose or flow.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatTable {
    pub heading: String,
    /// What a line stands for: a dose, or a flow.
    pub line: String,
    pub hazards: String,
    /// When the loop ends, one sentence a line.
    pub rules: Vec<String>,
    /// The sum that gives the stop line, where the loop stops at a rise above a baseline.
    pub stop_line: Option<StopLine>,
    /// What is done in each round, without boxes.
    pub rows: Vec<Row>,
    pub tables: Vec<RoundTable>,
}

/// `clean value + rise = stop at`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StopLine {
    pub baseline: String,
    pub rise: String,
    pub unit: String,
}

/// Some of the readings of the rounds: as many columns as a page takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RoundTable {
    pub heading: String,
    pub columns: Vec<Column>,
    /// Whether this table has the bottles of the rounds.
    pub bottles: bool,
    pub rounds: Vec<Round>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Column {
    pub label: String,
    pub unit: String,
    pub window: String,
    pub stop: String,
    pub instrument: String,
    /// The letter of the instruction that asks for it.
    pub step: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Round {
    pub number: String,
    pub cells: Vec<Cell>,
    pub due: Vec<Due>,
}

/// A cell to write in; without a path there is nothing to write in this round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Cell {
    pub path: Option<String>,
    /// Whether it is only ticked.
    pub tick: bool,
    /// What is asked of this line, where the lines differ in it.
    pub window: String,
}

/// A bottle that is due in a round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Due {
    pub path: String,
    pub id: String,
    pub sampler: String,
}

/// The text of one bottle's label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Label {
    /// With its check character.
    pub id: String,
    pub run: String,
    pub specimen: String,
    pub point: String,
    /// `after dose 5`, or what the plan calls the moment.
    pub moment: String,
    pub wants: String,
    pub tests: String,
    /// The oil and what it may hold, for whoever opens it.
    pub contents: String,
    pub fingerprint: String,
}
