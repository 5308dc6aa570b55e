//! Times as people write them.

use std::time::Duration;

/// Reads `45`, `45s`, `2m`, `1m30s` or `800ms`; otherwise a fragment that says what is wrong.
pub fn parse_time(text: &str) -> Result<Duration, String> {
    let wrong = || format!("{text} is not a time; write 45s, 2m or 1m30s");
    if text.is_empty() {
        return Err(wrong());
    }
    let mut total = Duration::ZERO;
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        let number: u64 = rest[..end].parse().map_err(|_fault| wrong())?;
        let unit_end =
            rest[end..].find(|c: char| c.is_ascii_digit()).map_or(rest.len(), |at| end + at);
        total += match &rest[end..unit_end] {
            "ms" => Duration::from_millis(number),
            "" | "s" => Duration::from_secs(number),
            "m" => Duration::from_secs(number.saturating_mul(60)),
            _ => return Err(wrong()),
        };
        rest = &rest[unit_end..];
    }
    Ok(total)
}

/// Reads the time limit of a round, from 1 s to 10 min.
pub fn parse_limit(text: &str) -> Result<Duration, String> {
    let limit = parse_time(text)?;
    let range = Duration::from_secs(1)..=Duration::from_mins(10);
    if range.contains(&limit) { Ok(limit) } else { Err("from 1s to 10m".to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_people_write_them() {
        let check = |text: &str, want: Option<u64>| {
            let got = parse_time(text).ok().map(|time| time.as_millis());
            assert_eq!(got, want.map(u128::from), "{text}");
        };
        check("45", Some(45_000));
        check("45s", Some(45_000));
        check("2m", Some(120_000));
        check("1m30s", Some(90_000));
        check("800ms", Some(800));
        check("", None);
        check("s", None);
        check("4x", None);
        check("99999999999999999999s", None);
    }

    #[test]
    fn a_limit_is_from_a_second_to_ten_minutes() {
        let check = |text: &str, is_good: bool| assert_eq!(parse_limit(text).is_ok(), is_good);
        check("1s", true);
        check("10m", true);
        check("900ms", false);
        check("10m1s", false);
    }
}
