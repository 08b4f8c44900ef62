//! What the operator does, in one sentence with one verb, and the lines that belong to it.

use crate::plan::{
    Action, CleanUp, Dwell, FluidChange, Instrument, Plan, Preparation, Setting, Step, ViscosityHold, Wants,
};

use super::number;
use super::page::{RowKind, ValvePicture};

/// The words of one step.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Saying {
    pub(super) kind: RowKind,
    pub(super) sentence: String,
    pub(super) details: Vec<String>,
    pub(super) valves: Vec<ValvePicture>,
}

impl Saying {
    fn new(sentence: impl Into<String>) -> Self {
        Self { kind: RowKind::Do, sentence: sentence.into(), details: Vec::new(), valves: Vec::new() }
    }

    fn of(kind: RowKind, sentence: impl Into<String>) -> Self {
        Self { kind, ..Self::new(sentence) }
    }

    fn with(mut self, details: Vec<String>) -> Self {
        self.details = details;
        self
    }

    fn valves(mut self, valves: Vec<ValvePicture>) -> Self {
        self.valves = valves;
        self
    }
}

/// How one step is said.
pub(super) fn say(plan: &Plan, step: &Step) -> Saying {
    match &step.action {
        Action::UseFluid { fluid } => {
            Saying::new(format!("Use {}; check the name on the drum.", fluid_name(plan, fluid)))
        }
        Action::HoldViscosity(hold) => {
            let (at, window) = number::temperature(hold.temperature, &hold.temperatures, &hold.unit, decimals(step, 1));
            Saying::new(format!("Hold the oil at {at}.")).with(vec![format!(
                "{window} gives {}: {}.",
                viscosity(hold),
                fluid_name(plan, &hold.fluid)
            )])
        }
        Action::HoldTemperature(setting) => Saying::new(format!("Hold the oil at {}.", set(step, setting))),
        Action::HoldFlow(setting) => Saying::new(format!("Hold the flow at {}.", set(step, setting))),
        Action::HoldBackPressure(setting) => Saying::new(format!("Hold the back pressure at {}.", set(step, setting))),
        Action::HoldLevel(setting) => Saying::new(format!("Bring the reservoir to {}.", set(step, setting))),
        Action::Circulate(dwell) => dwelling("Circulate", "", dwell),
        Action::TakeRoute { route, opens, closes } => {
            let title = plan.rig.routes.get(route).map_or(route.as_str(), |known| known.title.as_str());
            Saying::new(format!("Set the valves for “{title}”: open first, then close, reading each aloud."))
                .valves(pictures(opens, closes))
        }
        Action::Valve { valve, open } => {
            let title = plan.rig.valves.get(valve).map(|part| part.title.as_str()).filter(|title| !title.is_empty());
            let verb = if *open { "Open" } else { "Close" };
            let name = title.map_or_else(|| valve.clone(), |title| format!("{valve} ({title})"));
            Saying::new(format!("{verb} {name}.")).valves(vec![ValvePicture { name: valve.clone(), open: *open }])
        }
        Action::Switch { what, on } => Saying::new(format!("{} the {what}.", if *on { "Start" } else { "Stop" })),
        Action::Cool { to } => {
            Saying::new(format!("Let the oil cool to {} or below, heater off.", number::written(to)))
        }
        Action::Vent => Saying::new("Open the vent and see the gauge at zero before anything is undone."),
        Action::Zero { instrument, within } => {
            Saying::new(format!("Zero {} with no flow.", instrument_name(plan, instrument)))
                .with(vec![format!("It reads zero within ± {}.", number::written(within))])
        }
        Action::SetFlow { setting, rising } => {
            let from = if *rising { "below" } else { "above" };
            Saying::new(format!("Set the flow to {}, coming from {from}.", set(step, setting)))
        }
        Action::Settle(dwell) => dwelling("Let it settle for", "at least ", dwell),
        Action::Wait(dwell) => dwelling("Wait", "", dwell),
        Action::Read => Saying::new(reading(plan, step)),
        Action::Dose { mass, dust, carrier, carrier_fluid, preparation } => Saying::new(format!(
            "Weigh {} of {} into {} of {}.",
            set(step, mass),
            dust_name(plan, dust),
            number::written(carrier),
            fluid_name(plan, carrier_fluid)
        ))
        .with(preparing(plan, step, dust, preparation)),
        Action::Condition { mass, dust, carrier, carrier_fluid, through } => Saying::new(format!(
            "Condition the loop with {} of {} in {} of {}, through {through}.",
            set(step, mass),
            dust_name(plan, dust),
            number::written(carrier),
            fluid_name(plan, carrier_fluid)
        )),
        Action::Inject { flow, feed } => {
            let feed = feed.as_ref().map(|feed| format!("The feed holds {}.", number::written(feed)));
            Saying::new(format!("Inject the slurry at {}.", set(step, flow))).with(feed.into_iter().collect())
        }
        Action::RinseInjector { times, volume } => {
            Saying::new(format!("Rinse the injector {} with {}.", times_of(*times), number::written(volume)))
        }
        Action::Sample => sampling(plan, step),
        Action::CleanUp(clean_up) => cleaning(clean_up),
        Action::ChangeFluid(change) => changing(plan, change),
        Action::Mount { turns, torque } => mounting(step, turns.as_ref(), torque.as_ref()),
        Action::Remove => Saying::new("Stop the pump, vent, see zero, then take the specimen off; cap it at once."),
        Action::Weigh => Saying::new(weighing(plan, step)),
        Action::BypassFlow { flow, leak } => {
            Saying::new(format!("Set the flow to {} and watch the by-pass.", number::written(flow)))
                .with(vec![format!("It counts as open when more than {} passes it.", number::written(leak))])
        }
        Action::AntiDrain { head, fluid, time } => Saying::new(format!(
            "Collect what drains back for {} under {} of {}.",
            number::written(time),
            number::written(head),
            fluid_name(plan, fluid)
        )),
        Action::BubblePoint { fluid, depth, rate, bath } => Saying::new(format!(
            "Raise the air pressure by at most {} and read the first steady chain of bubbles.",
            number::written(rate)
        ))
        .with(
            std::iter::once(format!(
                "The specimen lies {} deep in {}, fully wetted.",
                number::written(depth),
                fluid_name(plan, fluid)
            ))
            .chain(bath.iter().map(|bath| {
                format!("No more than {} stands open; lid on except while you look.", number::written(bath))
            }))
            .collect(),
        ),
        Action::Burst { step: by, every, cap, shield } => Saying::new(format!(
            "From behind {shield}, raise the pressure by {} every {}, never above {}.",
            number::written(by),
            number::written(every),
            number::written(cap)
        )),
        Action::Observe => Saying::new("Look, and mark what you see."),
        Action::Photograph => Saying::new("Photograph it, with the scale and the run code in the picture."),
        Action::Confirm { text } => Saying::new(format!("Confirm: {}", sentence(text))),
        Action::Note { text } => Saying::of(RowKind::Note, sentence(text)),
        Action::Caution { text } => Saying::of(RowKind::Caution, sentence(text)),
        Action::HoldPoint { text } => Saying::of(RowKind::HoldPoint, format!("HOLD POINT: {}", sentence(text)))
            .with(vec!["Go no further before a second person has signed.".to_owned()]),
    }
}

/// The viscosity that is held, in the plan's words and in mm²/s.
fn viscosity(hold: &ViscosityHold) -> String {
    let target = format!("{:.1} mm²/s", hold.target * 1e6);
    match hold.said.strip_prefix("like ") {
        Some(like) => format!("{target}, the viscosity of {like}"),
        None => hold.said.clone(),
    }
}

/// A fluid's title and name, such as `ISO VG 32 mineral oil (vg-32)`.
pub(super) fn fluid_name(plan: &Plan, name: &str) -> String {
    titled(plan.fluids.get(name).map(|fluid| fluid.title.as_str()), name)
}

fn dust_name(plan: &Plan, name: &str) -> String {
    titled(plan.dusts.get(name).map(|dust| dust.title.as_str()), name)
}

/// An instrument's name, and where it sits.
pub(super) fn instrument_name(plan: &Plan, name: &str) -> String {
    match plan.instruments.get(name).and_then(|known: &Instrument| known.place.as_deref()) {
        Some(place) => format!("{name} ({place})"),
        None => name.to_owned(),
    }
}

fn titled(title: Option<&str>, name: &str) -> String {
    match title {
        Some(title) if !title.is_empty() => format!("{title} ({name})"),
        _ => name.to_owned(),
    }
}

/// Valves of a route, those to close first: nothing is opened before the others stand.
pub(super) fn pictures(opens: &[String], closes: &[String]) -> Vec<ValvePicture> {
    // A way out is opened before the old one is closed: a pump that runs must never meet shut valves.
    let open = opens.iter().map(|name| ValvePicture { name: name.clone(), open: true });
    open.chain(closes.iter().map(|name| ValvePicture { name: name.clone(), open: false })).collect()
}

/// The first number that a step asks for.
fn numeric(step: &Step) -> Option<&crate::plan::Numeric> {
    step.readings.iter().find_map(|reading| match &reading.wants {
        Wants::Number(numeric) => Some(numeric),
        _ => None,
    })
}

fn decimals(step: &Step, otherwise: usize) -> usize {
    numeric(step).map_or(otherwise, |numeric| numeric.decimals)
}

/// A setting in a sentence: its target as written; its window too where no box of the step prints it.
fn set(step: &Step, setting: &Setting) -> String {
    let printed = step
        .readings
        .iter()
        .any(|reading| matches!(&reading.wants, Wants::Number(numeric) if numeric.window == Some(setting.window)));
    let unit = numeric(step).map(|numeric| (&numeric.unit, numeric.decimals));
    match (&setting.target, printed) {
        (Some(target), true) => number::written(target),
        (Some(target), false) => match number::window_like(&setting.window, target) {
            Some(window) => format!("{} ({window})", number::written(target)),
            None => number::written(target),
        },
        (None, _) => unit
            .and_then(|(unit, decimals)| number::window(&setting.window, unit, decimals))
            .unwrap_or_else(|| "the value printed beside".to_owned()),
    }
}

fn dwelling(verb: &str, least: &str, dwell: &Dwell) -> Saying {
    let mut details = Vec::new();
    if let Some(drift) = &dwell.until {
        details.push(format!(
            "Go on when {} drifts less than {} in {}.",
            drift.reading,
            number::written(&drift.less_than),
            number::written(&drift.within)
        ));
    }
    if let Some(most) = &dwell.most {
        details.push(format!("At most {}; longer goes to the deviation log.", number::written(most)));
    }
    Saying::new(format!("{verb} {least}{}.", number::written(&dwell.least))).with(details)
}

fn labels(step: &Step) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for reading in &step.readings {
        let label = if reading.label.is_empty() { reading.name.as_str() } else { reading.label.as_str() };
        if !seen.contains(&label) {
            seen.push(label);
        }
    }
    match seen.as_slice() {
        [] => "what the step asks for".to_owned(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn on_instrument(plan: &Plan, step: &Step) -> String {
    numeric(step)
        .and_then(|numeric| numeric.instrument.as_deref())
        .map_or_else(String::new, |name| format!(" on {}", instrument_name(plan, name)))
}

fn reading(plan: &Plan, step: &Step) -> String {
    format!("Read {}{}.", labels(step), on_instrument(plan, step))
}

fn weighing(plan: &Plan, step: &Step) -> String {
    format!("Weigh {}{}.", labels(step), on_instrument(plan, step))
}

fn preparing(plan: &Plan, step: &Step, dust: &str, how: &Preparation) -> Vec<String> {
    let mut lines = Vec::new();
    if how.dry {
        let drying = plan.dusts.get(dust).and_then(|dust| dust.drying.as_ref());
        lines.push(drying.map_or_else(
            || "Dry the dust first.".to_owned(),
            |drying| {
                let time = drying.value.time.as_ref();
                let cool = drying.value.cooling.as_ref();
                format!(
                    "Dry the dust at {}{}{}.",
                    number::bounds(&drying.value.temperature),
                    time.map_or_else(String::new, |time| format!(" for at least {}", number::written(time))),
                    cool.map_or_else(String::new, |cool| format!(", then let it cool {}", number::written(cool)))
                )
            },
        ));
    }
    if let Some(time) = &how.tumble {
        lines.push(format!("Tumble the jar {} before it is opened.", number::written(time)));
    }
    if let Some(time) = &how.shake {
        lines.push(format!("Shake {}.", number::written(time)));
    }
    if let Some((time, most)) = &how.ultrasonic {
        let most = most.as_ref().map_or_else(String::new, |most| format!(", slurry at most {}", number::written(most)));
        lines.push(format!("Ultrasonic bath {}{most}; vessel closed.", number::written(time)));
    }
    match how.stir.as_deref() {
        Some("by hand") => lines.push("Stir by hand until it is injected.".to_owned()),
        Some(stir) => lines.push(format!("Stir {stir}.")),
        None => {}
    }
    if let Some((flow, feed)) = &how.inject {
        let feed = feed.as_ref().map_or_else(String::new, |feed| format!(", feed {}", number::written(feed)));
        lines.push(format!("Inject at {}{feed}.", in_words(step, flow)));
    }
    if let Some((times, volume)) = &how.rinse {
        lines.push(format!(
            "Rinse the injector {} with {} and inject the rinse.",
            times_of(*times),
            number::written(volume)
        ));
    }
    if how.weigh_empty_boat {
        lines.push("Weigh the empty boat again afterwards.".to_owned());
    }
    lines
}

/// A setting whose own box may stand in another step: target and window.
fn in_words(step: &Step, setting: &Setting) -> String {
    match &setting.target {
        Some(target) => match number::window_like(&setting.window, target) {
            Some(window) => format!("{} ({window})", number::written(target)),
            None => number::written(target),
        },
        None => set(step, setting),
    }
}

fn sampling(plan: &Plan, step: &Step) -> Saying {
    let bottle = step.readings.iter().find_map(|reading| match &reading.wants {
        Wants::Bottle(bottle) => Some(bottle),
        _ => None,
    });
    let Some(bottle) = bottle else {
        return Saying::new("Draw the sample.");
    };
    let sampler = plan.rig.samplers.get(&bottle.sampler);
    let point = titled(sampler.map(|sampler| sampler.title.as_str()), &bottle.sampler);
    let mut details = Vec::new();
    if let Some(delay) = &bottle.delay {
        let from = match sampler {
            Some(sampler) if sampler.sits == "downstream" => "the bottle before the specimen",
            _ => "the moment named in the plan",
        };
        details.push(format!("Start {} after {from}.", number::written(delay)));
    }
    if let Some((count, size)) = &bottle.cleaner_than {
        details.push(format!("Bottle proved cleaner than {} at {}.", number::written(count), number::written(size)));
    }
    if bottle.twin {
        details.push("Draw the twin directly after, without touching the valve.".to_owned());
    }
    if bottle.second_bottle {
        details.push("Fill a second bottle and keep it.".to_owned());
    }
    if bottle.flush_ends.as_deref() == Some("collected") {
        details
            .push("Write how much was flushed beside this line; the dust in it is taken off the account.".to_owned());
    }
    let end = match bottle.flush_ends.as_deref() {
        Some("returned") => "back to the tank",
        Some("collected") => "into a measuring vessel",
        _ => "to waste",
    };
    let flush = bottle
        .flush
        .as_ref()
        .map_or_else(String::new, |flush| format!("Flush {} {end}, then fill", number::written(flush)));
    let verb = if flush.is_empty() { "Fill".to_owned() } else { flush };
    Saying::new(format!(
        "{verb} the {} {}bottle at {point}, cap open only while it fills.",
        number::written(&bottle.volume),
        bottle.material.as_ref().map_or_else(String::new, |material| format!("{material} "))
    ))
    .with(details)
}

fn cleaning(clean_up: &CleanUp) -> Saying {
    let until = if let Some(code) = &clean_up.background {
        format!("until the background is {code} or cleaner")
    } else if let Some(time) = &clean_up.time {
        format!("for {}", number::written(time))
    } else if let Some(turnovers) = clean_up.turnovers {
        format!("for {} turnovers", number::plain(turnovers))
    } else {
        "until clean".to_owned()
    };
    let cap = clean_up.cap.as_ref().map(|cap| format!("At most {}; then stop and find out why.", number::written(cap)));
    Saying::new(format!("Clean the oil through the polisher {until}.")).with(cap.into_iter().collect())
}

fn changing(plan: &Plan, change: &FluidChange) -> Saying {
    let mut details = Vec::new();
    if change.drain {
        details.push("Drain everything, low points and housings too.".to_owned());
    }
    for (volume, fluid, times) in &change.flushes {
        details.push(format!(
            "Flush {} with {} of {}.",
            times_of(*times),
            number::written(volume),
            fluid_name(plan, fluid)
        ));
    }
    if let Some(time) = &change.dry {
        details.push(format!("Let it dry {}.", number::written(time)));
    }
    if let Some(volume) = &change.fill {
        details.push(format!("Fill {}.", number::written(volume)));
    }
    if let Some((within, method)) = &change.verify {
        details.push(format!("Prove the viscosity within {} by {method}.", number::written(within)));
    }
    Saying::new(format!("Change the fluid to {}.", fluid_name(plan, &change.to))).with(details)
}

fn mounting(step: &Step, turns: Option<&Setting>, torque: Option<&Setting>) -> Saying {
    let how = match (turns, torque) {
        (Some(turns), _) => format!("{} after the seal touches", set(step, turns)),
        (None, Some(torque)) => format!("to {}", set(step, torque)),
        (None, None) => "as its maker says".to_owned(),
    };
    let also = match (turns, torque) {
        (Some(_), Some(torque)) => vec![format!("Torque {}.", in_words(step, torque))],
        _ => Vec::new(),
    };
    Saying::new(format!("Oil the seal and mount the specimen, {how}.")).with(also)
}

fn times_of(times: u32) -> String {
    match times {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}

/// A text as a sentence: it ends with a full stop.
pub(super) fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.ends_with(['.', '!', '?', ':']) { text.to_owned() } else { format!("{text}.") }
}
