//! The kinds of departure, each with the code that is due.

use loopleaf::record::Column;

use super::hand::*;
use super::places::{clear, doubt, instrument, numeric};
use super::time::*;
use super::{Case, Dice, Spoilt};
use crate::recorded::bench::Sheet;

/// A kind of departure and how it is made. `None` where the records give no place for it.
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) code: &'static str,
    pub(crate) spoil: fn(&mut Case, &mut Dice) -> Option<Spoilt>,
}

const fn kind(name: &'static str, code: &'static str, spoil: fn(&mut Case, &mut Dice) -> Option<Spoilt>) -> Kind {
    Kind { name, code, spoil }
}

/// One row of the first sheet is due.
pub(super) fn at(row: usize) -> Option<Spoilt> {
    Some(Spoilt { rows: vec![(0, row)] })
}

pub(crate) const KINDS: &[Kind] = &[
    kind("reading-left-empty", "A101", |case, dice| {
        let row = middle(case, dice, |row| is_number(row) && !is_dose(row) && !decides(row))?;
        case.sheets[0].blank(row);
        at(row)
    }),
    kind("step-skipped", "A101", |case, dice| {
        let row = middle(case, dice, |row| text(row, Column::Value) == "done")?;
        case.sheets[0].blank(row);
        at(row)
    }),
    kind("page-left-out", "A101", |case, dice| {
        let row = middle(case, dice, |row| !in_round(row))?;
        let rows = &case.sheets[0].rows;
        let end = row + 12;
        if end + 6 >= rows.len()
            || rows[row..end].iter().any(|row| in_round(row) || is_dose(row) || text(row, Column::Value).is_empty())
        {
            return None;
        }
        for row in row..end {
            case.sheets[0].blank(row);
        }
        at(row)
    }),
    kind("zero-not-taken", "A101", |case, dice| {
        let row = middle(case, dice, |row| path(row).contains("zero-"))?;
        case.sheets[0].blank(row);
        at(row)
    }),
    kind("row-nobody-asked-for", "A102", |case, dice| {
        let row = middle(case, dice, is_number)?;
        let mut copy = case.sheets[0].rows[row].clone();
        copy[Column::Reading.index()] += "-more";
        case.sheets[0].rows.insert(row + 1, copy);
        at(row + 1)
    }),
    kind("set-value-out-of-window", "A103", |case, dice| {
        let row = middle(case, dice, |row| is_set(row) && !is_dose(row) && path(row).contains("flow"))?;
        let (low, high) = window(&case.sheets[0].rows[row])?;
        let decimals = decimals(&case.sheets[0].rows[row]);
        let value = if dice.below(2) == 0 { high + 0.35 * (high - low) } else { low - 0.35 * (high - low) };
        put(case, row, Column::Value, &format!("{value:.decimals$}"));
        at(row)
    }),
    kind("correction-without-reason", "A115", |case, dice| {
        let row = middle(case, dice, |row| is_set(row) && !is_dose(row))?;
        let copy = case.sheets[0].rows[row].clone();
        case.sheets[0].rows.insert(row + 1, copy);
        let (low, high) = window(&case.sheets[0].rows[row])?;
        let decimals = decimals(&case.sheets[0].rows[row]);
        put(case, row + 1, Column::Value, &format!("{:.decimals$}", (low + high) / 2.0 + (high - low) * 0.1));
        at(row + 1)
    }),
    kind("no-time", "A118", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        put(case, row, Column::Time, "");
        at(row)
    }),
    kind("no-initials", "A119", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        put(case, row, Column::By, "");
        at(row)
    }),
    kind("time-without-date", "A120", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        let time = text(&case.sheets[0].rows[row], Column::Time).split(' ').nth(1)?.to_owned();
        put(case, row, Column::Time, &time);
        at(row)
    }),
    kind("day-and-month-unclear", "A120", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        put(case, row, Column::Time, "03/04/2026 09:12");
        at(row)
    }),
    kind("fingerprint-of-another-plan", "A108", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        put(case, row, Column::Fingerprint, "BCDF-GHJK");
        at(row)
    }),
    kind("specimen-not-in-register", "A117", |case, dice| {
        let row = middle(case, dice, is_filled)?;
        put(case, row, Column::Specimen, "Q99");
        at(row)
    }),
    kind("gauge-not-listed", "A106", |case, dice| {
        let row = middle(case, dice, is_number)?;
        put(case, row, Column::Instrument, "kitchen-scale");
        at(row)
    }),
    kind("not-done-without-reason", "A114", |case, dice| {
        let row = middle(case, dice, |row| is_number(row) && !is_dose(row) && !decides(row))?;
        put(case, row, Column::Value, "ND");
        at(row)
    }),
    kind("run-in-two-files", "A163", |case, dice| {
        let mut copy = case.sheets[0].copy();
        let row = middle(case, dice, is_set)?;
        let (low, high) = window(&copy.rows[row])?;
        let decimals = decimals(&copy.rows[row]);
        copy.rows[row][Column::Value.index()] = format!("{:.decimals$}", (low + high) / 2.0 - 0.2 * (high - low));
        case.sheets.insert(1, copy);
        let first = case.sheets[1].rows.iter().position(is_filled)?;
        Some(Spoilt { rows: vec![(1, first)] })
    }),
    kind("run-broken-off", "A164", |case, dice| {
        let row = middle(case, dice, |row| is_filled(row) && !in_round(row))?;
        for row in row..case.sheets[0].rows.len() {
            case.sheets[0].blank(row);
        }
        let last = case.sheets[0].rows.iter().rposition(is_filled)?;
        let many = case.sheets[0].rows.iter().filter(|row| is_filled(row)).count() > 20;
        if in_round(&case.sheets[0].rows[last]) || !many { None } else { at(last) }
    }),
    kind("window-of-the-form-changed", "A165", |case, dice| {
        let row = middle(case, dice, is_set)?;
        let wider = text(&case.sheets[0].rows[row], Column::Window).replacen(|c: char| c.is_ascii_digit(), "9", 1);
        if wider == text(&case.sheets[0].rows[row], Column::Window) {
            return None;
        }
        put(case, row, Column::Window, &wider);
        at(row)
    }),
    kind("step-of-the-form-changed", "A165", |case, dice| {
        let row = middle(case, dice, is_number)?;
        put(case, row, Column::Step, "999");
        at(row)
    }),
    kind("on-the-fence", "A142", |case, dice| {
        let row = middle(case, dice, |row| path(row).ends_with("set-flow") && is_set(row))?;
        let (low, high) = window(&case.sheets[0].rows[row])?;
        let (decimals, doubt) = (decimals(&case.sheets[0].rows[row]), doubt(case, row)?);
        // Where the window is not much wider than the meter's doubt, every setting is on the fence.
        (high - low > 4.5 * doubt && doubt > 2.0 * 0.1_f64.powi(i32::try_from(decimals).ok()?)).then_some(())?;
        let value = if dice.below(2) == 0 { high } else { low };
        put(case, row, Column::Value, &format!("{value:.decimals$}"));
        at(row)
    }),
    kind("limit-passed", "A113", |case, dice| {
        let row = middle(case, dice, |row| case_limit(row).is_some())?;
        let value = case_limit(&case.sheets[0].rows[row])?;
        put(case, row, Column::Value, &value);
        at(row)
    }),
    kind("gauge-at-its-stop", "A143", |case, dice| {
        let row = middle(case, dice, is_measured_drop)?;
        let (instrument, numeric) = (instrument(case, row)?, numeric(case, row)?);
        let range = instrument.range.window;
        // The lower stop, where the scale goes below zero; else the upper one, where the plan lets it go so far.
        let wide = |high: f64| {
            numeric.stop.is_none_or(|w| w.contains(high)) && numeric.expect.is_none_or(|w| w.contains(high))
        };
        let near = number(&case.sheets[0].rows[row])? > 0.8 * numeric.unit.from_si(range.high?);
        let stop = range.low.filter(|low| *low < 0.0).or(range.high.filter(|high| near && wide(*high)))?;
        let text = format!("{:.1$}", numeric.unit.from_si(stop), decimals(&case.sheets[0].rows[row]));
        put(case, row, Column::Value, &text);
        at(row)
    }),
    kind("finer-than-the-gauge", "A124", |case, dice| {
        let row = middle(case, dice, |row| is_set(row) && !is_dose(row))?;
        let finer = format!("{}3", text(&case.sheets[0].rows[row], Column::Value));
        let (low, high) = window(&case.sheets[0].rows[row])?;
        let value: f64 = finer.parse().ok()?;
        if !finer.contains('.') || value <= low || value >= high {
            return None;
        }
        put(case, row, Column::Value, &finer);
        at(row)
    }),
    kind("below-zero", "A134", |case, dice| {
        let row = middle(case, dice, is_measured_drop)?;
        clear(case, row, 12.0).then_some(())?;
        let value = format!("-{}", text(&case.sheets[0].rows[row], Column::Value));
        put(case, row, Column::Value, &value);
        at(row)
    }),
    kind("falls-with-flow", "A145", sweep_kink),
    kind("by-pass-opens", "A146", knee),
    kind("directions-disagree", "A147", directions),
    kind("off-the-curve", "A148", off_curve),
    kind("viscosity-left", "A149", |case, dice| {
        let row = middle(case, dice, case_free_temperature)?;
        // Inside what the plan expects, and at its end.
        let expected = numeric(case, row)?.expect?;
        let (low, high) = (expected.low?, expected.high?);
        let share = if dice.below(2) == 0 { 0.05 } else { 0.95 };
        let value = numeric(case, row)?.unit.from_si(low + share * (high - low));
        put(case, row, Column::Value, &format!("{value:.1}"));
        at(row)
    }),
    kind("zero-moved", "A150", zero_moved),
    kind("tare-above-reading", "A151", tare_above),
    kind("inlet-below-drop", "A154", inlet_below),
    kind("left-in-the-boat", "A155", |case, dice| {
        let row = middle(case, dice, |row| path(row).ends_with("left-in-boat") && is_filled(row))?;
        let dose = number(&case.sheets[0].rows[row - 1])?;
        let decimals = decimals(&case.sheets[0].rows[row]);
        put(case, row, Column::Value, &format!("{:.decimals$}", 0.12 * dose));
        at(row)
    }),
    kind("drops-after-a-dose", "A157", dropped),
    kind("trouble-in-a-note", "A161", |case, dice| {
        let row =
            middle(case, dice, |row| is_number(row) && !path(row).contains("bubble") && !path(row).contains("leak"))?;
        let words = ["foam in the sight glass", "a leak at the sampler", "alarm of the heater came on"];
        let words = dice.pick(&words)?;
        put(case, row, Column::Note, words);
        at(row)
    }),
    kind("two-rows-exchanged", "A162", exchanged),
    kind("reference-shifted", "A153", |case, dice| {
        let specimen = |sheet: &Sheet| case.plan.run(&sheet.run).map(|run| (run.specimen.as_str(), run.test));
        let first = specimen(&case.sheets[0]);
        let reference = case.plan.campaign.specimens.get(first?.0)?.reference;
        let later = (1..case.sheets.len()).find(|sheet| reference && specimen(&case.sheets[*sheet]) == first)?;
        // Beyond what two runs of it differ by, and not so far that single readings tell.
        let shift = 1.15 + 0.01 * dice.below(16) as f64;
        let shift = if dice.below(2) == 0 { shift } else { 1.0 / shift };
        let mut rows = Vec::new();
        for index in 0..case.sheets[later].rows.len() {
            let row = &case.sheets[later].rows[index];
            if is_measured_drop(row) && path(row).contains("sweep/") {
                let decimals = decimals(row);
                let value = format!("{:.decimals$}", number(row)? * shift);
                case.sheets[later].rows[index][Column::Value.index()] = value;
                rows.push((later, index));
            }
        }
        Some(Spoilt { rows })
    }),
    kind("unit-changed-in-a-series", "A127", unit_changed),
    kind("psi-in-a-kpa-box", "A136", |case, dice| other_unit(case, dice, "kPa")),
    kind("kilopascals-in-a-psi-box", "A136", |case, dice| other_unit(case, dice, "psi")),
    kind("fahrenheit-in-a-celsius-box", "A113", |case, dice| {
        let row = middle(case, dice, |row| unit(row) == "°C" && case_limit(row).is_some() && is_set(row))?;
        let value = number(&case.sheets[0].rows[row])? * 1.8 + 32.0;
        put(case, row, Column::Value, &format!("{value:.1}"));
        at(row)
    }),
    kind("celsius-in-a-fahrenheit-box", "A103", |case, dice| {
        converted(case, dice, "°F", 1, |value| (value - 32.0) / 1.8)
    }),
    kind("gallons-in-a-litre-box", "A103", |case, dice| {
        converted(case, dice, "L/min", 1, |value| value / 3.785_411_784)
    }),
    kind("litres-in-a-gallon-box", "A103", |case, dice| {
        converted(case, dice, "US gal/min", 1, |value| value * 3.785_411_784)
    }),
    kind("milligrams-in-a-gram-box", "A112", |case, dice| {
        let row = middle(case, dice, |row| is_dose(row) && is_filled(row) && unit(row) == "g")?;
        let value = number(&case.sheets[0].rows[row])? * 1000.0;
        put(case, row, Column::Value, &format!("{value:.0}"));
        at(row)
    }),
    kind("decimal-slipped", "A103", |case, dice| {
        let row = middle(case, dice, |row| path(row).ends_with("set-flow") && is_set(row))?;
        let value = number(&case.sheets[0].rows[row])? / 10.0;
        put(case, row, Column::Value, &format!("{value:.2}"));
        at(row)
    }),
    kind("text-in-a-number-box", "A107", |case, dice| {
        let row = middle(case, dice, |row| is_number(row) && !is_dose(row))?;
        put(case, row, Column::Value, "about right");
        at(row)
    }),
    kind("dose-off-nominal", "A112", |case, dice| {
        let row = middle(case, dice, |row| is_dose(row) && is_filled(row))?;
        let (low, high) = window(&case.sheets[0].rows[row])?;
        let decimals = decimals(&case.sheets[0].rows[row]);
        put(case, row, Column::Value, &format!("{:.decimals$}", high + (high - low)));
        at(row)
    }),
    kind("dose-skipped", "A137", |case, dice| {
        let row = middle(case, dice, |row| is_dose(row) && is_filled(row))?;
        case.sheets[0].blank(row);
        at(row)
    }),
    kind("dose-twice", "A138", |case, dice| {
        let row = middle(case, dice, |row| is_dose(row) && is_filled(row))?;
        let copy = case.sheets[0].rows[row].clone();
        case.sheets[0].rows.insert(row + 1, copy);
        at(row + 1)
    }),
    kind("wrong-bottle", "A139", |case, dice| {
        let row = middle(case, dice, is_bottle)?;
        let label = text(&case.sheets[0].rows[row], Column::Value).to_owned();
        let other = case.sheets[0].rows.iter().find(|row| is_bottle(row) && text(row, Column::Value) != label)?;
        let other = text(other, Column::Value).to_owned();
        put(case, row, Column::Value, &other);
        at(row)
    }),
    kind("bottles-of-a-pair-apart", "A235", pair_apart),
    kind("bottle-when-the-dust-is-gone", "A236", late_bottle),
    kind("heated-too-fast", "A233", heated),
    kind("leg-copied", "A220", leg_copied),
    kind("block-copied", "A221", block_copied),
    kind("times-too-regular", "A222", regular),
    kind("set-values-as-planned", "A224", |case, _| on_target(case)),
    kind("straight-line", "A225", |case, _| straight(case)),
    kind("clock-runs-backwards", "A132", backwards),
    kind("before-the-campaign", "A230", |case, _| shifted(case, -400)),
    kind("after-the-campaign", "A230", |case, _| shifted(case, 500)),
    kind("runs-overlap", "A231", |case, _| overlap(case)),
    kind("order-not-followed", "A237", |case, _| exchanged_days(case)),
    kind("wait-cut-short", "A109", wait),
    kind("written-together", "A234", together),
];
