//! The rig: parts, routes, and what each can stand.

use indexmap::IndexMap;

use crate::diagnostic::{Code, Diagnostic};
use crate::plan::library::Declaration;
use crate::plan::model::{Heater, HotSurface, Injector, Part, Polisher, Relief, Rig, Route, Sampler, Seal};
use crate::plan::read::Context;
use crate::syntax::tree::Statement;

/// Reads a rig. Gives nothing where a part that every rig has is missing; the form has reported it.
pub(crate) fn read_rig(declaration: &Declaration<'_>, context: &Context<'_>) -> Option<Rig> {
    let block = &declaration.statement.block;
    let find = |key: &str| block.iter().find(|s| s.key() == key);
    let reservoir = find("reservoir")?;
    let pump = find("pump")?;
    let relief = find("relief")?;
    let delivers = pump.block.iter().find(|s| s.key() == "delivers")?;
    let mut rig = Rig {
        name: declaration.name.clone(),
        title: declaration.title.clone(),
        revision: find("revision").and_then(|s| context.integer(s, "revision"))?,
        reservoir: read_part(reservoir, "reservoir", context),
        reservoir_holds: reservoir
            .block
            .iter()
            .find(|s| s.key() == "holds")
            .and_then(|s| context.bounds(s, "volume"))?,
        reservoir_wall: reservoir.block.iter().find(|s| s.key() == "wall").and_then(|s| context.text(s, "material")),
        pump: read_part(pump, "pump", context),
        pump_delivers: context.bounds(delivers, "flow")?,
        pump_delivers_at: context.origin(delivers.head),
        pump_slip: None,
        pump_drive: None,
        heater: find("heater").and_then(|s| read_heater(s, context)),
        relief: read_relief(relief, context)?,
        parts: Vec::new(),
        valves: IndexMap::new(),
        polisher: find("polisher").and_then(|s| read_polisher(s, context)),
        samplers: IndexMap::new(),
        injector: None,
        routes: IndexMap::new(),
        instruments: Vec::new(),
        room_volume: find("room volume").and_then(|s| context.quantity(s, "volume")),
        seals: Vec::new(),
        hot_surfaces: Vec::new(),
        solvent_work: find("solvent work").and_then(|s| context.text(s, "place")),
        origin: context.origin(declaration.name_span),
    };
    for s in &pump.block {
        match s.key() {
            "slip" => {
                let slip = context.quantity(s, "slip").zip(context.quantity(s, "pressure"));
                rig.pump_slip = slip.map(|pair| context.marked(s, pair));
            }
            "drive" => rig.pump_drive = context.text(s, "drive"),
            _ => {}
        }
    }
    for s in block {
        match s.key() {
            "part" => rig.parts.push(read_part(s, "part", context)),
            "line" => rig.parts.push(read_part(s, "line", context)),
            "valve" => {
                let valve = read_part(s, "valve", context);
                rig.valves.insert(valve.name.clone(), valve);
            }
            "sampler" => {
                if let Some(sampler) = read_sampler(s, context) {
                    rig.samplers.insert(sampler.name.clone(), sampler);
                }
            }
            "seals" => {
                let origin = context.origin(s.head);
                rig.seals.extend(context.text(s, "seal").map(|material| Seal { material, origin }));
            }
            "hot surface" => {
                let (title, temperature) = (context.text(s, "title"), context.quantity(s, "temperature"));
                if let Some((title, temperature)) = title.zip(temperature) {
                    let shielded = context.text(s, "guard").is_some_and(|guard| guard == "shielded");
                    rig.hot_surfaces.push(HotSurface { title, temperature, shielded, origin: context.origin(s.head) });
                }
            }
            "instrument" => {
                if let Some(word) = context.word(s, "name") {
                    rig.instruments.extend(context.resolve(word, crate::plan::library::Sort::Instrument));
                }
            }
            _ => {}
        }
    }
    rig.injector = find("injector").and_then(|s| read_injector(s, &rig.valves, context));
    for s in block.iter().filter(|s| s.key() == "route") {
        let route = read_route(s, &rig, context);
        rig.routes.insert(route.name.clone(), route);
    }
    Some(rig)
}

fn read_part(statement: &Statement, what: &str, context: &Context<'_>) -> Part {
    let name = context.text(statement, "name").unwrap_or_else(|| what.to_owned());
    let mut part = Part {
        title: context.text(statement, "title").unwrap_or_else(|| what.to_owned()),
        name,
        rating: None,
        at_most: None,
        burst: None,
        volume: None,
        line: None,
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        match s.key() {
            "rated" => {
                part.rating = context.quantity(s, "pressure");
                part.at_most = context.quantity(s, "temperature");
                part.burst = context.quantity(s, "burst");
                part.origin = context.origin(s.head);
            }
            "volume" => part.volume = context.quantity(s, "volume"),
            "bore" => part.line = context.quantity(s, "bore").zip(context.quantity(s, "length")),
            _ => {}
        }
    }
    part
}

fn read_heater(statement: &Statement, context: &Context<'_>) -> Option<Heater> {
    let mut heater = Heater {
        name: context.text(statement, "name")?,
        power: statement.block.iter().find(|s| s.key() == "power").and_then(|s| context.quantity(s, "power"))?,
        surface_load: None,
        covered_above: None,
        high_limit: None,
        low_level_cut_out: None,
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        match s.key() {
            "surface load" => heater.surface_load = context.quantity(s, "load"),
            "covered above" => heater.covered_above = context.quantity(s, "volume"),
            "high limit" => {
                let independent = context.text(s, "independent").is_some_and(|t| t == "independent");
                heater.high_limit = context.quantity(s, "temperature").map(|q| (q, independent));
            }
            "low-level cut-out" => heater.low_level_cut_out = context.text(s, "fitted").map(|t| t == "fitted"),
            _ => {}
        }
    }
    Some(heater)
}

fn read_relief(statement: &Statement, context: &Context<'_>) -> Option<Relief> {
    let set_at = statement.block.iter().find(|s| s.key() == "set at")?;
    let mut relief = Relief {
        name: context.text(statement, "name")?,
        set: context.quantity(set_at, "pressure")?,
        proved_on: None,
        proved_at: None,
        directly_after_pump: None,
        origin: context.origin(set_at.head),
    };
    for s in &statement.block {
        match s.key() {
            "proved on" => {
                relief.proved_on = context.date(s, "date");
                relief.proved_at = Some(context.origin(s.head));
            }
            "sits" => relief.directly_after_pump = context.text(s, "position").map(|p| p == "directly after the pump"),
            _ => {}
        }
    }
    Some(relief)
}

fn read_polisher(statement: &Statement, context: &Context<'_>) -> Option<Polisher> {
    let removes = statement.block.iter().find(|s| s.key() == "removes")?;
    let pair = context.quantity(removes, "share").zip(context.quantity(removes, "size"))?;
    let find = |key: &str, part: &str| {
        statement.block.iter().find(|s| s.key() == key).and_then(|s| context.quantity(s, part).map(|q| (s, q)))
    };
    Some(Polisher {
        name: context.text(statement, "name")?,
        removes: context.marked(removes, pair),
        capacity: find("capacity", "mass").map(|(s, q)| context.marked(s, q)),
        rating: find("rated", "pressure").map(|(_, q)| q),
        volume: find("volume", "volume").map(|(_, q)| q),
        origin: context.origin(statement.head),
    })
}

fn read_sampler(statement: &Statement, context: &Context<'_>) -> Option<Sampler> {
    let find = |key: &str| statement.block.iter().find(|s| s.key() == key);
    Some(Sampler {
        name: context.text(statement, "name")?,
        title: context.text(statement, "title")?,
        sits: find("sits").and_then(|s| context.text(s, "position"))?,
        dead_volume: find("dead volume").and_then(|s| context.quantity(s, "volume"))?,
        bore: find("bore of the line").and_then(|s| context.quantity(s, "bore")),
        origin: context.origin(statement.head),
    })
}

fn read_injector(statement: &Statement, valves: &IndexMap<String, Part>, context: &Context<'_>) -> Option<Injector> {
    let find = |key: &str| statement.block.iter().find(|s| s.key() == key);
    Some(Injector {
        name: context.text(statement, "name")?,
        holds: find("holds").and_then(|s| context.quantity(s, "volume"))?,
        delivers: find("delivers").and_then(|s| context.bounds(s, "flow")),
        bore: find("line bore").and_then(|s| context.quantity(s, "bore")),
        rating: find("rated").and_then(|s| context.quantity(s, "pressure")),
        feeds: find("feeds the branch of").and_then(|s| {
            let word = context.word(s, "valve")?;
            if !valves.contains_key(&word.text) {
                context.unknown(word, "valve", valves.keys().map(String::as_str));
                return None;
            }
            Some(word.text.clone())
        }),
        origin: context.origin(statement.head),
    })
}

fn read_route(statement: &Statement, rig: &Rig, context: &Context<'_>) -> Route {
    let mut route = Route {
        name: context.text(statement, "name").unwrap_or_default(),
        title: context.text(statement, "title").unwrap_or_default(),
        opens: Vec::new(),
        closes: Vec::new(),
        through: None,
        volume: None,
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        let valves = || -> Vec<String> {
            let words = context.words(s, "valves");
            for word in words.iter().filter(|w| !rig.valves.contains_key(&w.text)) {
                context.unknown(word, "valve", rig.valves.keys().map(String::as_str));
            }
            words.iter().filter(|w| rig.valves.contains_key(&w.text)).map(|w| w.text.clone()).collect()
        };
        match s.key() {
            "opens" => route.opens = valves(),
            "closes" => route.closes = valves(),
            "through" => route.through = context.text(s, "through"),
            "volume" => route.volume = context.quantity(s, "volume"),
            _ => {}
        }
    }
    for valve in route.opens.iter().filter(|valve| route.closes.contains(valve)) {
        context.notes.add(
            Diagnostic::new(Code::StatementForm, format!("`{valve}` is both opened and closed by this route"))
                .at(context.source, statement.span, "one valve, two positions")
                .why("A sheet that shows one valve open and closed leaves the operator to guess.")
                .help("say of each valve once where it stands"),
        );
    }
    route
}
