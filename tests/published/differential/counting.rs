//! Counts, ratios, cleanliness codes and size scales.

use super::{
    super::statistics_rows::{confidence, micrometres, millilitres},
    NONE, compare,
};
use loopleaf::trade::{
    cleanliness::{Class, Classified, as4059, iso4406, nas1638},
    counting::{self, Concentration, Counted},
    ratio::{self, BackgroundPair},
    size_scale::{Correspondence, Scale},
};

fn counted(count: f64, volume: f64) -> Counted {
    let made = Counted::new(count as u64, millilitres(volume)).unwrap();
    assert_eq!(made.volume(), millilitres(volume));
    made
}

fn per_ml(x: f64) -> Concentration {
    Concentration::per_millilitre(x).unwrap()
}

#[test]
pub(super) fn counts() {
    compare("bottle blanks", 1e-11, 1.0, |x| {
        let blanks: Vec<u64> = x[2..].iter().map(|n| *n as u64).collect();
        let net = counting::subtract_bottle_blank(x[0] as u64, &blanks, x[1]).unwrap();
        vec![net.value, net.variance, net.standard_uncertainty()]
    });
    compare("concentration", 1e-8, 1e-9, |x| {
        let (counted, n) = (counted(x[0], x[1]), x[0] as u64);
        let limits = counted.concentration_interval(confidence(x[2])).unwrap();
        let (own, limits_of_count) = (counted.concentration(), counting::interval(n, confidence(x[2])).unwrap());
        assert!((limits_of_count.high / x[1] - limits.high).abs() <= 1e-12 * limits.high);
        let per_100 = own.in_100_millilitres();
        let again = Concentration::per_100_millilitres(per_100).unwrap().in_millilitre();
        let relative = counting::relative_standard_uncertainty(n).unwrap_or(NONE);
        vec![again, limits.low, limits.high, per_100, relative]
    });
    compare("sensor", 1e-9, 0.0, |x| {
        let (diluent, volume) = (per_ml(x[2]), millilitres(x[3]));
        vec![
            counting::undilute(per_ml(x[0]), x[1], diluent).unwrap().in_millilitre(),
            counting::measured_from_true(per_ml(x[5]), volume).unwrap().in_millilitre(),
            counting::coincidence_limit(x[4], volume).unwrap().in_millilitre(),
        ]
    });
    compare("sensor uncertainty", 1e-6, 0.0, |x| {
        let volume = (millilitres(x[2]), millilitres(x[3]));
        vec![counting::true_from_measured_uncertainty((per_ml(x[0]), per_ml(x[1])), volume).unwrap().in_millilitre()]
    });
    compare("interval average", 1e-13, 0.0, |x| vec![counting::interval_average(x).unwrap()]);
}

#[test]
pub(super) fn ratios() {
    compare("ratio of counts", 1e-12, 1e-2, |x| {
        let (up, down) = (counted(x[0], x[1]), counted(x[2], x[3]));
        vec![ratio::filtration_ratio(up, down).unwrap(), ratio::efficiency(up, down).unwrap()]
    });
    compare("ratio bounds", 1e-8, 1e-9, |x| {
        let (up, down, p) = (counted(x[0], x[1]), counted(x[2], x[3]), confidence(x[4]));
        let efficiency = ratio::efficiency_interval(up, down, p).unwrap();
        let quick = ratio::log_normal_interval(up, down, p);
        vec![
            ratio::lower_bound(up, down, p).unwrap(),
            ratio::upper_bound(up, down, p).unwrap().unwrap_or(NONE),
            efficiency.low,
            efficiency.high,
            quick.map_or(NONE, |found| found.low),
            quick.map_or(NONE, |found| found.high),
        ]
    });
    compare("net ratio", 1e-7, 1e-9, |x| {
        let pair =
            |i: usize| BackgroundPair { sample: counted(x[i], x[i + 1]), background: counted(x[i + 2], x[i + 3]) };
        let (value, limits) = ratio::net_ratio(pair(0), pair(4), confidence(x[8])).unwrap();
        vec![value.unwrap_or(NONE), limits.low, limits.high.unwrap_or(NONE)]
    });
    compare("ratio of averages", 1e-12, 0.0, |x| {
        let n = (x.len() - 4) / 2;
        let ends = &x[2 * n..];
        vec![
            ratio::ratio_of_averages(&x[..n], &x[n..2 * n]).unwrap(),
            ratio::between_sizes((ends[0], ends[1]), (ends[2], ends[3])).unwrap(),
        ]
    });
    compare("efficiency", 1e-9, 1e-3, |x| {
        let beta = ratio::ratio_from_efficiency(x[0]).unwrap();
        vec![beta, ratio::efficiency_from_ratio(beta).unwrap()]
    });
}

fn place(found: Classified) -> f64 {
    let at = |class| Class::all().position(|one| one == class).unwrap();
    match found {
        Classified::In(class) => at(class) as f64,
        Classified::Above12 => 15.0,
    }
}

fn class(place: f64) -> Class {
    Class::all().nth(place as usize).unwrap()
}

#[test]
pub(super) fn codes_and_sizes() {
    compare("as4059", 0.0, 1.0, |x| {
        let size = as4059::Size::ALL[x[0] as usize];
        let found = as4059::classify(Concentration::per_100_millilitres(x[1]).unwrap(), size).unwrap();
        let limit = as4059::limit(class(x[2]), size);
        let code: as4059::Code =
            format!("{}{}", class(x[2]), ["A", "B", "C", "D", "E", "F"][x[0] as usize]).parse().unwrap();
        assert_eq!(code.parts(), [(class(x[2]), size)]);
        assert_eq!(code.limits().collect::<Vec<_>>(), [(size, limit)]);
        vec![place(found), f64::from(limit), f64::from(size.micrometres())]
    });
    compare("nas1638", 0.0, 1.0, |x| {
        let counts: [f64; 5] = x[..5].try_into().unwrap();
        let each = counts.iter().zip(nas1638::SizeClass::ALL).map(|(n, size)| nas1638::classify(*n, size).unwrap());
        let mut all: Vec<f64> = each.map(place).collect();
        all.push(place(nas1638::overall(counts).unwrap()));
        let limits = nas1638::SizeClass::ALL.map(|size| nas1638::limit(class(x[5] + 1.0), size).unwrap());
        all.extend(limits.map(f64::from));
        all
    });
    compare("iso4406 codes", 0.0, 1.0, |x| {
        let pair = |i: usize| (per_ml(x[2 * i]), x[2 * i + 1] as u64);
        let code = iso4406::Code::automatic([pair(0), pair(1), pair(2)]);
        let microscope = iso4406::Code::microscope(pair(1), pair(2));
        assert_eq!((microscope.0[1], microscope.0[2], microscope.bands()[0]), (code.0[1], code.0[2], None));
        let one = |(i, figure): (usize, &iso4406::Figure)| {
            assert_eq!(*figure, iso4406::Figure::of(pair(i).0, pair(i).1));
            assert_eq!(iso4406::Figure::unmarked(pair(i).0).number, figure.number);
            assert_eq!(iso4406::ScaleNumber::of(pair(i).0), figure.number);
            let iso4406::ScaleNumber::Band(number) = figure.number else { panic!("{figure}") };
            let band = figure.number.band().unwrap();
            assert_eq!(code.bands()[i], Some(band));
            [f64::from(number), f64::from(u8::from(figure.few_counts)), band.more_than, band.up_to.unwrap()]
        };
        code.0.iter().enumerate().flat_map(one).collect()
    });
    compare("size scales", 1e-11, 0.0, |x| {
        let table = Correspondence::from_memory();
        let turn = |size: f64, from, to| table.convert(micrometres(size), from, to).unwrap().value * 1e6;
        let pairs: Vec<_> = (2..6).map(|i| (micrometres(x[i]), micrometres(x[i + 4]))).collect();
        let own = Correspondence::from_pairs(&pairs).unwrap();
        vec![
            turn(x[0], Scale::Older, Scale::C),
            turn(x[1], Scale::C, Scale::Older),
            turn(x[0], Scale::Older, Scale::B),
            turn(x[1], Scale::C, Scale::B),
            turn(x[1], Scale::B, Scale::C),
            own.convert(micrometres(x[10]), Scale::Older, Scale::C).unwrap().value * 1e6,
        ]
    });
}
