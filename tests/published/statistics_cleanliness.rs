//! ISO 4406, AS4059 and NAS 1638 against their tables as printed in public text, and the two size scales.

use loopleaf::trade::{
    cleanliness::{Class, Classified, as4059, iso4406, nas1638},
    counting::Concentration,
    size_scale::{AS4059_PAIRS, C_PER_B, Correspondence, Scale},
};

use super::{
    statistics_rows::{Row, Source, micrometres, number, numbers, topic},
    table::{Tol, Topic},
};

const CLEANLINESS: &str = "6 cleanliness codes";
const SIZES: &str = "7 size scales";

fn per_ml(value: f64) -> Concentration {
    Concentration::per_millilitre(value).unwrap()
}

fn scale_number(value: f64) -> String {
    iso4406::ScaleNumber::of(per_ml(value)).to_string()
}

#[test]
pub(super) fn cleanliness_codes_agree_with_the_published_tables() {
    let mut iso = Source::new(CLEANLINESS, "ISO 4406:1999/2017/2021, table and rules");
    let mut aero = Source::new(CLEANLINESS, "SAE AS4059 table 2 and NAS 1638");
    for row in topic("6") {
        match row.id().split('-').next().unwrap() {
            "iso4406" => iso4406_row(iso.of(&row), &row),
            "as4059" => as4059_row(aero.of(&row), &row),
            "nas1638" => nas1638_row(aero.of(&row), &row),
            _ => panic!("{} is checked by nothing", row.id()),
        }
    }
    iso.finish();
    aero.finish();
}

fn iso4406_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    match id {
        "iso4406-edge-79-80-161" => {
            for (count, want) in row.inputs("particles_per_mL").into_iter().zip(numbers(row.expected())) {
                t.same(id, scale_number(count), want.to_string());
            }
        }
        "iso4406-per100mL-example" => {
            let counts = row.raw_input("counts_per_100mL");
            let at = |size: &str| (Concentration::per_100_millilitres(number(&counts[size])).unwrap(), 100);
            let code = iso4406::Code::automatic([at("4"), at("6"), at("14")]);
            t.same(id, code.to_string(), row.expected().as_str().unwrap().into());
        }
        "iso4406-low-count-mark" => {
            let code: iso4406::Code = row.raw_input("code").as_str().unwrap().parse().unwrap();
            for (band, size) in code.bands().into_iter().zip(["4um", "6um", "14um"]) {
                let band = band.unwrap();
                t.same(id, vec![band.more_than, band.up_to.unwrap()], row.all_wanted(size));
            }
            t.same(id, code.0.map(|figure| figure.few_counts), [false, false, true]);
        }
        "iso4406-sizes" => {
            let code = iso4406::Code::microscope((per_ml(100.0), 50), (per_ml(3.0), 50));
            t.same(id, code.to_string(), "-/14/9".into());
        }
        _ if id.starts_with("iso4406-band-") => {
            let band = iso4406::ScaleNumber::Band(row.input("scale_number") as u8).band().unwrap();
            t.close(id, band.more_than, row.wanted("more_than"), Tol::Exact);
            t.close(id, band.up_to.unwrap(), row.wanted("up_to_incl"), Tol::Exact);
        }
        _ => {
            let want = row.expected().as_str().map_or_else(|| row.expected().to_string(), String::from);
            t.same(id, scale_number(row.input("particles_per_mL")), want);
        }
    }
}

fn as4059_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    let size = |letter: &str| as4059::Size::ALL.into_iter().find(|s| format!("{s:?}") == letter[..1]).unwrap();
    if id == "as4059-7B6C5D" {
        let code: as4059::Code = row.raw_input("code").as_str().unwrap().parse().unwrap();
        for (size, limit) in code.limits() {
            t.close(id, f64::from(limit), row.wanted(&format!("{size:?}")), Tol::Exact);
        }
        t.same(id, code.to_string(), "7B/6C/5D".into());
    } else if id.starts_with("as4059-cum-") {
        let class: Class = row.raw_input("class").as_str().unwrap().parse().unwrap();
        for (letter, limit) in row.expected().as_object().unwrap() {
            t.close(id, f64::from(as4059::limit(class, size(letter))), number(limit), Tol::Exact);
        }
    } else {
        for (letter, want) in row.expected().as_object().unwrap() {
            let count = number(&row.raw_input("per_100mL")[letter]);
            let got = as4059::classify(Concentration::per_100_millilitres(count).unwrap(), size(letter)).unwrap();
            t.same(id, got.to_string(), want.as_str().unwrap().into());
        }
    }
}

fn nas1638_row(t: &mut Topic, row: &Row) {
    let id = row.id();
    if id.starts_with("nas1638-overall") {
        let counts = row.inputs("differential_per_100mL").try_into().unwrap();
        t.same(id, nas1638::overall(counts).unwrap().to_string(), row.expected().as_str().unwrap().into());
    } else {
        let class: Class = row.raw_input("class").as_str().unwrap().parse().unwrap();
        for (size, (_, limit)) in nas1638::SizeClass::ALL.into_iter().zip(row.expected().as_object().unwrap()) {
            t.close(id, f64::from(nas1638::limit(class, size).unwrap()), number(limit), Tol::Exact);
        }
    }
}

/// Every limit of both tables, and that the cumulative limits B to F are the tail sums of the differential ones. Only the
/// limits that the rows leave out are counted.
#[test]
pub(super) fn class_limits_agree_with_the_whole_published_table() {
    let mut t = Topic::new(CLEANLINESS, "SAE AS4059 table 2, classes 3, 5, 6 and 8; printed value");
    for line in include_str!("as4059-nas1638.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let class: Class = cells[0].parse().unwrap();
        let differential = nas1638::SizeClass::ALL.map(|size| nas1638::limit(class, size));
        assert_eq!(differential.map(|limit| limit.map_or(String::new(), |n| n.to_string())), cells[1..6]);
        let cumulative = as4059::Size::ALL.map(|size| as4059::limit(class, size));
        if ["3", "5", "6", "8"].contains(&cells[0]) {
            cumulative
                .iter()
                .zip(&cells[6..])
                .for_each(|(limit, cell)| t.same(line, limit.to_string(), (*cell).into()));
        }
        assert_eq!(cumulative.map(|limit| limit.to_string()), cells[6..]);
        let tail = |place: usize| differential[place..].iter().flatten().sum::<u32>();
        if differential[0].is_some() {
            assert_eq!(cumulative[1..], [0, 1, 2, 3, 4].map(tail), "class {class}");
        }
    }
    t.finish();
}

/// Both sides of every limit. Only the scale numbers that the rows leave out are counted.
#[test]
pub(super) fn each_iso_4406_band_holds_its_upper_limit_and_nothing_above() {
    let mut t = Topic::new(CLEANLINESS, "ISO 4406 upper limits of scale numbers 3, 14, 26 and 28; printed value");
    let limits = "0.01 0.02 0.04 0.08 0.16 0.32 0.64 1.3 2.5 5 10 20 40 80 160 320 640 1300 2500 5000 10000 20000 40000 \
                  80000 160000 320000 640000 1300000 2500000";
    for (limit, number) in limits.split(' ').zip(0_u8..) {
        let limit: f64 = limit.parse().unwrap();
        let found = iso4406::ScaleNumber::Band(number).band().unwrap().up_to.unwrap();
        assert_eq!(found, limit);
        if [3, 14, 26, 28].contains(&number) {
            t.close("limit", found, limit, Tol::Exact);
        }
        assert_eq!(scale_number(limit), number.to_string());
        let above = if number == 28 { ">28".into() } else { (number + 1).to_string() };
        assert_eq!(scale_number(limit * (1.0 + 1e-9)), above);
    }
    t.finish();
}

#[test]
pub(super) fn sizes_agree_with_the_published_and_the_remembered_correspondence() {
    let mut pairs = Source::new(SIZES, "SAE AS4059 size pairs");
    let mut detailed = Source::new(SIZES, "ISO 11171 against ISO 4402");
    let table = Correspondence::from_memory();
    for row in topic("7") {
        let id = row.id();
        if id.starts_with("as4059-pair") {
            let old = row.input("iso4402_or_microscope_um");
            let pair = AS4059_PAIRS.into_iter().find(|pair| pair.0 == old).unwrap();
            pairs.of(&row).close(id, pair.1, number(row.expected()), row.tol());
        } else if id.starts_with("acftd") {
            let old = micrometres(row.input("acftd_um_iso4402"));
            let new = table.convert(old, Scale::Older, Scale::C).unwrap().value * 1e6;
            detailed.of(&row).close(id, new, number(row.expected()), row.tol());
        } else if id.starts_with("umc-to-acftd") {
            let old = table.convert(micrometres(row.input("um_c")), Scale::C, Scale::Older).unwrap().value * 1e6;
            detailed.of(&row).close(id, old, number(row.expected()), row.tol());
        } else if id == "um-b-vs-um-c" {
            let c = table.convert(micrometres(10.0), Scale::B, Scale::C).unwrap().value * 1e6;
            detailed.of(&row).close(id, c, 10.0 * C_PER_B, Tol::Rel(1e-12));
            assert_eq!(C_PER_B, 0.898);
        } else {
            panic!("{id} is checked by nothing");
        }
    }
    pairs.finish();
    detailed.finish();
}

#[test]
fn a_class_beyond_the_table_says_so() {
    assert_eq!(nas1638::overall([2e6, 0.0, 0.0, 0.0, 0.0]).unwrap(), Classified::Above12);
    assert_eq!(nas1638::overall([0.0; 5]).unwrap().to_string(), "00");
    for wrong in ["29", "", "≥", "12/14", "1/2/3/4", "a/b/c", "≥-/1/2", "-1/2/3", "+1/2/3"] {
        assert!(wrong.parse::<iso4406::Code>().is_err(), "{wrong}");
    }
    for wrong in ["7G", "B", "13B", "7B/6B", "0007A", ""] {
        assert!(wrong.parse::<as4059::Code>().is_err(), "{wrong}");
    }
    for right in ["19/16/10", "≥19/>28/*", "-/≥7/0"] {
        assert_eq!(right.parse::<iso4406::Code>().unwrap().to_string(), right);
    }
}
