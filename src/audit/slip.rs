//! Slips of eye and hand: what a person may have meant who wrote these characters. Only characters are looked at here;
//! whether a proposal makes sense is [`super::cause`]'s to say.

use crate::record::{DecimalMark, Number, Value};

/// One way in which a number comes to be written wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum SlipKind {
    /// The decimal mark is one or two places off, or missing.
    Decimal,
    /// Two neighbouring digits are exchanged.
    Swapped,
    /// A digit is written twice.
    Doubled,
    /// A digit of a pair is missing.
    Halved,
    /// A digit is taken for one that looks like it.
    LookAlike,
    /// Any other digit is missing.
    Dropped,
    /// The sign is lost.
    Sign,
    /// A comma that separates thousands, or stands for the decimal point.
    Comma,
    /// A letter stands for the digit that looks like it.
    Letter,
}

impl SlipKind {
    /// What happened, in a few words.
    pub(super) fn words(self) -> &'static str {
        match self {
            SlipKind::Decimal => "the decimal mark slipped",
            SlipKind::Swapped => "two digits were exchanged",
            SlipKind::Doubled => "a digit was written twice",
            SlipKind::Halved => "one of two equal digits was left out",
            SlipKind::LookAlike => "a digit was taken for another that looks like it",
            SlipKind::Dropped => "a digit was left out",
            SlipKind::Sign => "the sign was lost",
            SlipKind::Comma => "the comma was read in another way",
            SlipKind::Letter => "a letter stands for a digit",
        }
    }

    /// How unlikely it is before anything else is known, as a negative logarithm. Kinds that can turn a number into
    /// many others weigh more, since one of them would fit by chance. Digits taken for others are the commonest slip of copyists
    /// and exchanged ones come far behind (Verhoeff 1969, from memory), but most of the former are of other digits than these.
    pub(super) fn cost(self) -> f64 {
        match self {
            SlipKind::Letter | SlipKind::Comma => 0.5,
            SlipKind::Decimal | SlipKind::Sign => 1.0,
            SlipKind::Doubled => 1.2,
            SlipKind::Swapped => 1.9,
            SlipKind::Halved => 2.4,
            SlipKind::LookAlike => 2.6,
            SlipKind::Dropped => 4.5,
        }
    }
}

/// A number that may have been meant.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Slip {
    /// How it became what is written.
    pub(super) kind: SlipKind,
    /// The number that may have been meant.
    pub(super) meant: Number,
    /// Another way from the same number to what is written.
    pub(super) also: Option<SlipKind>,
}

const LOOK_ALIKES: [(char, char); 8] =
    [('1', '7'), ('0', '6'), ('3', '8'), ('5', '6'), ('4', '9'), ('6', '8'), ('0', '8'), ('2', '7')];

/// What may have been meant by a number as written. The most direct slip first where two lead to the same number.
pub(super) fn of_number(written: &str, mark: DecimalMark) -> Vec<Slip> {
    let text: Vec<char> = written.trim().chars().collect();
    let mut slips = Vec::new();
    let mut add = |kind: SlipKind, meant: String| {
        // Nobody writes 040.1.
        let bare = meant.trim_start_matches(['-', '−']);
        let padded = bare.starts_with('0') && bare.chars().nth(1).is_some_and(|second| second.is_ascii_digit());
        let Value::Number(meant) = Value::parse(&meant, mark) else { return };
        match slips.iter_mut().find(|slip: &&mut Slip| slip.meant == meant) {
            Some(slip) if slip.kind != kind => _ = slip.also.get_or_insert(kind),
            None if !padded => slips.push(Slip { kind, meant, also: None }),
            _ => {}
        }
    };
    decimal(written.trim(), mark, &mut add);
    match written.trim().strip_prefix(['-', '−']) {
        Some(rest) => add(SlipKind::Sign, rest.to_owned()),
        None => add(SlipKind::Sign, format!("-{}", written.trim())),
    }
    let digits: Vec<usize> = (0..text.len()).filter(|at| text.get(*at).is_some_and(char::is_ascii_digit)).collect();
    let with = |change: &dyn Fn(&mut Vec<char>)| {
        let mut changed = text.clone();
        change(&mut changed);
        changed.into_iter().collect::<String>()
    };
    let at = |index: usize| text.get(index).copied().unwrap_or(' ');
    for pair in digits.windows(2) {
        let [one, other] = *pair else { continue };
        if at(one) == at(other) {
            add(SlipKind::Doubled, with(&|text| _ = text.remove(other)));
        } else {
            add(SlipKind::Swapped, with(&|text| text.swap(one, other)));
        }
    }
    for place in &digits {
        add(SlipKind::Halved, with(&|text| text.insert(*place, at(*place))));
    }
    for place in &digits {
        for (one, other) in LOOK_ALIKES {
            for (seen, meant) in [(one, other), (other, one)] {
                if at(*place) == seen {
                    add(
                        SlipKind::LookAlike,
                        with(&|text| {
                            if let Some(slot) = text.get_mut(*place) {
                                *slot = meant;
                            }
                        }),
                    );
                }
            }
        }
    }
    let from = digits.first().copied().unwrap_or(0);
    for place in from..=text.len() {
        for digit in '0'..='9' {
            add(SlipKind::Dropped, with(&|text| text.insert(place, digit)));
        }
    }
    // The only digit behind the mark went, and the mark with it.
    if !text.contains(&mark.character()) {
        for digit in '0'..='9' {
            add(SlipKind::Dropped, format!("{}{}{digit}", written.trim(), mark.character()));
        }
    }
    slips
}

/// The decimal mark moved one or two places, either way, or put where none is written.
fn decimal(written: &str, mark: DecimalMark, add: &mut impl FnMut(SlipKind, String)) {
    let (sign, digits) = match written.strip_prefix(['-', '−']) {
        Some(rest) => ("-", rest),
        None => ("", written),
    };
    let (whole, fraction) = digits.split_once(mark.character()).unwrap_or((digits, ""));
    let all = format!("{whole}{fraction}");
    if all.is_empty() || !all.bytes().all(|byte| byte.is_ascii_digit()) {
        return;
    }
    for shift in [1_isize, -1, 2, -2] {
        // Digits stay as they are; zeros fill the gap.
        let place = whole.len().checked_add_signed(shift);
        let moved = match place {
            Some(place) if place >= all.len() => format!("{all}{}", "0".repeat(place - all.len())),
            Some(place) if place > 0 => {
                let (front, back) = all.split_at_checked(place).unwrap_or((&all, ""));
                format!("{front}{}{back}", mark.character())
            }
            _ => {
                let zeros = usize::try_from(-(isize::try_from(whole.len()).unwrap_or(0) + shift)).unwrap_or(0);
                format!("0{}{}{all}", mark.character(), "0".repeat(zeros))
            }
        };
        // 0.402 becomes 40.2, not 040.2.
        let bare = moved.trim_start_matches('0');
        let zero = if bare.is_empty() || bare.starts_with(mark.character()) { "0" } else { "" };
        let meant = format!("{sign}{zero}{bare}");
        let decimals = |text: &str| text.split_once(mark.character()).map_or(0, |(_, fraction)| fraction.len());
        // 0.80 for 8.00: whoever moved the mark kept the digits behind it.
        let lacking = decimals(written).saturating_sub(decimals(&meant));
        if lacking > 0 && shift > 0 && written.ends_with('0') && meant.contains(mark.character()) {
            add(SlipKind::Decimal, format!("{meant}{}", "0".repeat(lacking)));
        }
        add(SlipKind::Decimal, meant);
    }
}

/// What may have been meant by a text that is no number.
pub(super) fn of_text(written: &str, mark: DecimalMark) -> Vec<Slip> {
    let mut slips = Vec::new();
    let mut add = |kind: SlipKind, meant: &str| {
        if let Value::Number(meant) = Value::parse(meant, mark)
            && !slips.iter().any(|slip: &Slip| slip.meant == meant)
        {
            slips.push(Slip { kind, meant, also: None });
        }
    };
    let text = written.trim();
    let other = if mark == DecimalMark::Point { ',' } else { '.' };
    if text.contains(other) {
        let own = mark.character().to_string();
        if text.matches(other).count() == 1 && !text.contains(mark.character()) {
            add(SlipKind::Comma, &text.replace(other, &own));
        }
        let groups: Vec<&str> = text.split([mark.character(), other]).collect();
        if groups.iter().skip(1).take(text.matches(other).count()).all(|group| group.len() == 3) {
            add(SlipKind::Comma, &text.replace(other, ""));
        }
    }
    if text.contains([' ', '\u{a0}', '\u{202f}', '\'']) {
        add(SlipKind::Comma, &text.replace([' ', '\u{a0}', '\u{202f}', '\''], ""));
    }
    let straightened: String = text
        .chars()
        .map(|character| match character {
            'O' | 'o' => '0',
            'l' | 'I' | 'i' | '|' => '1',
            'S' | 's' => '5',
            'B' => '8',
            'Z' | 'z' => '2',
            other => other,
        })
        .collect();
    if straightened != text && text.bytes().any(|byte| byte.is_ascii_digit()) {
        add(SlipKind::Letter, &straightened);
    }
    let mark_twice = format!("{0}{0}", mark.character());
    if text.contains(&mark_twice) {
        add(SlipKind::Doubled, &text.replace(&mark_twice, &mark.character().to_string()));
    }
    if let Some(rest) = text.strip_suffix(mark.character()) {
        add(SlipKind::Dropped, rest);
    }
    slips
}
