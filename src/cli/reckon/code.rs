//! `loopleaf reckon code`: counts to cleanliness codes, and codes back to counts.

use clap::Args;

use super::input::{joined, quantity, si};
use super::view::{Answer, Refusal, sig, trimmed};
use crate::quantity::{Kind, read_number};
use crate::trade::cleanliness::as4059::{self, Size};
use crate::trade::cleanliness::iso4406::{Band, Code, FEW_COUNTS, Figure, ScaleNumber};
use crate::trade::confidence::Confidence;
use crate::trade::counting::{Concentration, Counted};

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon code 2100 480 61                    per mL at and above 4, 6 and 14 µm(c)
  loopleaf reckon code 2100 480 1.2 --counted 10 mL   with the volume counted: low counts are marked
  loopleaf reckon code 18/16/13                        the counts that a code stands for";

const QUESTION: &str = "code";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// Particles at and above 4, 6, 14 µm(c) (and 21, 38, 70 where counted), per mL unless `per 100 mL` stands behind; or a
    /// code, as 18/16/13 or 7B/6C/5D
    #[arg(required = true, num_args = 1.., value_name = "COUNTS or CODE")]
    counts: Vec<String>,
    /// The volume of the sample itself that was counted; with it, counts below 20 are marked
    #[arg(long, num_args = 1.., value_name = "VOLUME")]
    counted: Vec<String>,
    /// Counts under a microscope, at and above 5 and 15 µm
    #[arg(long)]
    microscope: bool,
}

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let text = joined(&options.counts);
    if text.contains('/') {
        return if text.chars().any(|c| c.is_ascii_alphabetic()) { classes(&text) } else { bands(&text) };
    }
    let (numbers, per_millilitre) = counts(&text, options.microscope)?;
    let counted = match joined(&options.counted).as_str() {
        "" => None,
        text => Some(quantity("the counted volume", text, Kind::Volume)?),
    };
    let millilitres = counted.as_ref().map(|volume| volume.si() * 1e6);
    if millilitres.is_some_and(|volume| volume <= 0.0) {
        return Err(Refusal::new(
            "the counted volume is not above zero",
            "the count is what was seen in a volume",
            "write the volume of the sample that passed the sensor, as in `--counted 10 mL`",
        ));
    }
    coded(&numbers, per_millilitre, millilitres, counted.map(|volume| volume.to_string()), options.microscope)
}

/// The numbers, per mL, and whether they were typed so.
fn counts(text: &str, microscope: bool) -> Result<(Vec<f64>, bool), Refusal> {
    let (numbers, per_millilitre) = match text.split_once(" per ").or_else(|| text.split_once("/")) {
        None => (text, true),
        Some((numbers, unit)) => match unit.to_lowercase().replace(' ', "").as_str() {
            "ml" => (numbers, true),
            "100ml" => (numbers, false),
            _ => {
                return Err(Refusal::new(
                    format!("`per {unit}` is no volume that codes are made from"),
                    "per mL and per 100 mL differ by more than six scale numbers",
                    format!("write `{numbers} per mL` or `{numbers} per 100 mL`"),
                ));
            }
        },
    };
    let wanted: &[usize] = if microscope { &[2] } else { &[3, 6] };
    let example = if microscope { "`320 40 --microscope`" } else { "`2100 480 61`" };
    let words: Vec<&str> = numbers.split([' ', ';']).filter(|word| !word.is_empty()).collect();
    if !wanted.contains(&words.len()) {
        let what = if microscope {
            "two, at and above 5 and 15 µm"
        } else {
            "three, at and above 4, 6 and 14 µm(c), or six with 21, 38 and 70 µm(c)"
        };
        return Err(Refusal::new(
            format!("there are {} counts, and a code takes {what}", words.len()),
            "each place of a code stands for one size",
            format!("write them smallest size first, as in {example}"),
        ));
    }
    let mut values = Vec::new();
    for word in words {
        let value = read_number(word).ok().filter(|value| (0.0..1e12).contains(value)).ok_or_else(|| {
            Refusal::new(
                format!("`{word}` is no count"),
                "a thousands comma or a sign makes another number of it",
                format!("write digits, with a point for decimals, as in {example}"),
            )
        })?;
        values.push(if per_millilitre { value } else { value / 100.0 });
    }
    if let Some((low, high)) = values.iter().zip(values.iter().skip(1)).find(|(smaller, larger)| larger > smaller) {
        return Err(Refusal::new(
            format!(
                "there are more particles at the larger size ({}) than at the smaller ({})",
                sig(*high, 4),
                sig(*low, 4)
            ),
            "counts at and above a size contain all larger ones: these are in another order, or counts between sizes",
            "write the smallest size first; add counts between sizes up from the largest",
        ));
    }
    Ok((values, per_millilitre))
}

fn coded(
    numbers: &[f64],
    per_millilitre: bool,
    millilitres: Option<f64>,
    volume: Option<String>,
    microscope: bool,
) -> Result<Answer, Refusal> {
    let names: &[&str] = if microscope {
        &["5 µm", "15 µm"]
    } else {
        &["4 µm(c)", "6 µm(c)", "14 µm(c)", "21 µm(c)", "38 µm(c)", "70 µm(c)"]
    };
    let mut figures = Vec::new();
    let mut rows = Vec::new();
    let mut few = false;
    let mut wavering = Vec::new();
    for (place, (value, name)) in numbers.iter().zip(names).enumerate() {
        let concentration = concentration_of(*value)?;
        let raw = millilitres.map(|volume| (value * volume).round());
        let figure = match raw {
            Some(raw) => Figure::of(concentration, raw as u64),
            None => Figure::unmarked(concentration),
        };
        few |= figure.few_counts;
        let between = match (raw, millilitres) {
            (Some(raw), Some(volume)) if raw < 1e9 => {
                let counted = Counted::new(raw as u64, si::volume(volume * 1e-6)).map_err(unusual)?;
                let interval = counted.concentration_interval(Confidence::P95).map_err(unusual)?;
                let (low, high) = (
                    ScaleNumber::of(concentration_of(interval.low)?),
                    ScaleNumber::of(concentration_of(interval.high)?),
                );
                if low != high && place < 3 {
                    wavering.push(format!("{name} between {low} and {high}"));
                }
                format!("{} to {}", sig(interval.low, 3), sig(interval.high, 3))
            }
            _ => String::new(),
        };
        let coded = place < 3;
        figures.push(figure);
        let class =
            Size::ALL.get(place).filter(|_| !microscope).map(|size| as4059::classify(concentration, *size)).transpose();
        let class = class.map_err(unusual)?.map_or(String::new(), |class| class.to_string());
        rows.push([
            (*name).to_owned(),
            trimmed(*value, 4),
            raw.map_or(String::new(), |raw| format!("{raw:.0}")),
            between,
            if coded { figure.to_string() } else { String::new() },
            class,
        ]);
    }
    let code = match figures.as_slice() {
        [five, fifteen] => Code([Figure::NOT_COUNTED, *five, *fifteen]),
        [four, six, fourteen, ..] => Code([*four, *six, *fourteen]),
        _ => {
            return Err(Refusal::new(
                "there are too few counts",
                "each place of a code stands for one size",
                "write three",
            ));
        }
    };
    let classes: Vec<String> =
        rows.iter().zip("ABCDEF".chars()).map(|([.., class], size)| format!("{class}{size}")).collect();
    let as4059 = if microscope { String::new() } else { format!("; AS4059 {}", classes.join("/")) };
    let mut answer =
        Answer::new(QUESTION, format!("{code} (ISO 4406{}){as4059}", if microscope { ", microscope" } else { "" }))
            .used("counts", format!("per {}", if per_millilitre { "mL" } else { "100 mL, divided by 100" }));
    answer = match &volume {
        Some(_) => answer.table(["at and above", "per mL", "counted", "95 % between", "scale number", "AS4059"], rows),
        None if microscope => {
            let short = rows.into_iter().map(|[size, value, _, _, number, _]| [size, value, number]);
            answer.table(["at and above", "per mL", "scale number"], short.collect())
        }
        None => {
            let short = rows.into_iter().map(|[size, value, _, _, number, class]| [size, value, number, class]);
            answer.table(["at and above", "per mL", "scale number", "AS4059"], short.collect())
        }
    };
    answer = match &volume {
        Some(volume) => answer.used("volume counted", volume),
        None => answer.limit("The volume counted is not known, so no count below 20 could be marked, and there is no interval: add --counted."),
    };
    if few {
        answer = answer.warn(format!("fewer than {FEW_COUNTS} particles were counted where ≥ stands: count a larger volume before a claim rests on it"));
    }
    if !wavering.is_empty() {
        answer = answer.limit(format!("Counting alone may move a figure: {}.", wavering.join(", ")));
    }
    answer = answer.formula(
        "each scale number stands for a band of particles per mL, by table; fewer than 20 really counted are marked ≥",
        "ISO 4406 (table, sizes and the rule from public text; the standard itself not read)",
    );
    if !microscope {
        answer = answer.formula(
            "AS4059: the lowest class whose limit at that size is not exceeded",
            "SAE AS4059, table 2 (limits from public text; tail sums of NAS 1638)",
        );
    }
    if volume.is_some() {
        answer =
            answer.formula("95 % between: exact limits of a count", "Garwood (1936); NIST/SEMATECH e-Handbook 6.3.3.1");
    }
    Ok(answer.limit("A band is a factor of two wide: compute efficiencies and ratios from counts, never from codes."))
}

fn concentration_of(value: f64) -> Result<Concentration, Refusal> {
    Concentration::per_millilitre(value).map_err(unusual)
}

fn bands(text: &str) -> Result<Answer, Refusal> {
    let code: Code = text.replace(' ', "").parse().map_err(|error: crate::trade::cleanliness::CleanlinessError| {
        Refusal::new(
            error,
            "a code that is read wrong is off by a factor of two for each number",
            "write three figures, as in `18/16/13`; for counts write them with spaces, as in `2100 480 61`",
        )
    })?;
    let sizes = if matches!(code.0.first().map(|figure| figure.number), Some(ScaleNumber::NotCounted)) {
        ["–", "5 µm (microscope)", "15 µm (microscope)"]
    } else {
        ["4 µm(c)", "6 µm(c)", "14 µm(c)"]
    };
    let mut rows = Vec::new();
    let mut values = Vec::new();
    for ((figure, band), size) in code.0.iter().zip(code.bands()).zip(sizes) {
        let Some(Band { more_than, up_to }) = band else {
            rows.push([size.to_owned(), figure.to_string(), "not counted".to_owned(), String::new()]);
            continue;
        };
        let (text, hundred) = match up_to {
            Some(up_to) => (
                format!("more than {} up to {}", plain(more_than), plain(up_to)),
                format!("more than {} up to {}", plain(more_than * 100.0), plain(up_to * 100.0)),
            ),
            None => (format!("more than {}", plain(more_than)), format!("more than {}", plain(more_than * 100.0))),
        };
        values.push(format!("{} at {size}", text.replace("more than ", "").replace("up to", "to")));
        rows.push([size.to_owned(), figure.to_string(), text, hundred]);
    }
    // A larger size cannot have the larger number.
    let numbers: Vec<u8> = code
        .0
        .iter()
        .filter_map(|figure| if let ScaleNumber::Band(number) = figure.number { Some(number) } else { None })
        .collect();
    let mut answer = Answer::new(QUESTION, format!("{code} means per mL: {}", values.join(", ")));
    if numbers.iter().zip(numbers.iter().skip(1)).any(|(smaller, larger)| larger > smaller) {
        answer = answer.warn("a figure is larger than the one before it: there cannot be more particles above a larger size, so two figures may be swapped");
    }
    Ok(answer
        .table(["at and above", "figure", "per mL", "per 100 mL"], rows)
        .used("code", code.to_string())
        .formula("the band of each scale number, by table", "ISO 4406 (table from public text; the standard itself not read)")
        .limit("Two samples with one code can differ by a factor of two, and two that differ by a hair can have two codes.")
        .limit("The table is rounded: doubling from 0.01 puts 2 to 5 % of counts above almost every limit into the wrong band."))
}

/// A limit of the table in full.
fn plain(value: f64) -> String {
    let text = format!("{value:.2}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn classes(text: &str) -> Result<Answer, Refusal> {
    let code: as4059::Code =
        text.replace(' ', "").parse().map_err(|error: crate::trade::cleanliness::CleanlinessError| {
            Refusal::new(
                error,
                "a class with another letter is another size",
                "write each class with its size letter, as in `7B/6C/5D`",
            )
        })?;
    let mut rows = Vec::new();
    for ((class, size), (_, limit)) in code.parts().iter().zip(code.limits()) {
        rows.push([
            format!("{} µm(c)", size.micrometres()),
            class.to_string(),
            limit.to_string(),
            plain(f64::from(limit) / 100.0),
        ]);
    }
    let limits: Vec<String> =
        code.limits().map(|(size, limit)| format!("{limit} at {} µm(c)", size.micrometres())).collect();
    Ok(Answer::new(QUESTION, format!("{code} (AS4059) allows per 100 mL at most {}", limits.join(", ")))
        .table(["at and above", "class", "per 100 mL", "per mL"], rows)
        .used("code", code.to_string())
        .formula(
            "the greatest count of each class at its size, by table",
            "SAE AS4059, table 2 (limits from public text; tail sums of NAS 1638)",
        )
        .limit("A class without a letter is taken at 6 µm(c), size B."))
}

fn unusual(error: impl ToString) -> Refusal {
    Refusal::new(error, "no code can be made from such a count", "check the counts and the volume")
}
