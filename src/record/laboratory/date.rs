//! Dates as laboratories write them.

use crate::record::Instant;

/// A date by its pattern of `YYYY`, `MM`, `DD` and signs between them, such as `DD.MM.YYYY`; an ISO date without one. A time
/// of day may follow; noon is taken where none does, and the grain says so. `None` for anything else.
pub(super) fn parse(text: &str, pattern: Option<&str>) -> Option<Instant> {
    let (day, time) = text.trim().split_once([' ', 'T']).unwrap_or((text.trim(), ""));
    let iso = iso(day, pattern.unwrap_or("YYYY-MM-DD"))?;
    match time.trim() {
        "" => Instant::parse(&format!("{iso} 12:00")).map(|noon| Instant { grain: 86_400, ..noon }),
        time => Instant::parse(&format!("{iso} {time}")),
    }
}

fn iso(day: &str, pattern: &str) -> Option<String> {
    let (mut year, mut month, mut rest_of_day) = (None, None, None);
    let (mut text, mut pattern) = (day, pattern);
    while !pattern.is_empty() {
        let field = [("YYYY", &mut year, 4), ("MM", &mut month, 2), ("DD", &mut rest_of_day, 2)]
            .into_iter()
            .find(|(name, _, _)| pattern.starts_with(name));
        let length = match field {
            Some((name, slot, most)) => {
                let digits = text.bytes().take(most).take_while(u8::is_ascii_digit).count();
                if digits == 0 || (most == 4 && digits != 4) {
                    return None;
                }
                *slot = text.get(..digits)?.parse::<u32>().ok();
                text = text.get(digits..)?;
                name.len()
            }
            None => {
                let sign = pattern.chars().next()?;
                text = text.strip_prefix(sign)?;
                sign.len_utf8()
            }
        };
        pattern = pattern.get(length..)?;
    }
    text.is_empty().then_some(())?;
    Some(format!("{:04}-{:02}-{:02}", year?, month?, rest_of_day?))
}
