//! Times as loggers write them.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime, Timelike, Utc};

use super::super::time::Instant;
use super::super::words::words;

words!(
    /// In which order day, month and year stand.
    TimeOrder {
        YearFirst = "year" / "year first, 2026-07-12 06:05",
        DayFirst = "day" / "day first, 12/07/2026 06:05",
        MonthFirst = "month" / "month first, 07/12/2026 06:05 AM",
        Unix = "unix" / "seconds since 1970",
    }
);

/// The three numbers of a date.
fn triple(date: &str) -> Option<[&str; 3]> {
    let mut parts = date.split(['-', '/', '.']);
    let three = [parts.next()?, parts.next()?, parts.next()?];
    let digits = |part: &&str| (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    (parts.next().is_none() && three.iter().all(digits)).then_some(three)
}

/// Day, month and year in this order, if they can be a date.
fn date(text: &str, order: TimeOrder) -> Option<NaiveDate> {
    let [a, b, c] = triple(text)?;
    let (year, month, day) = match order {
        TimeOrder::YearFirst => (a, b, c),
        TimeOrder::DayFirst => (c, b, a),
        TimeOrder::MonthFirst => (c, a, b),
        TimeOrder::Unix => return None,
    };
    let century = match year.len() {
        4 => 0,
        2 if order != TimeOrder::YearFirst => 2000,
        _ => return None,
    };
    NaiveDate::from_ymd_opt(year.parse::<i32>().ok()? + century, month.parse().ok()?, day.parse().ok()?)
}

/// `06:05`, `06:05:09.5`, `6:05 PM`, `06:05Z`, `06:05+02:00`: the time of day, and its offset if it says one.
fn clock(text: &str) -> Option<(NaiveTime, Option<FixedOffset>)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == ':' || c == '.')).unwrap_or(text.len());
    let (digits, rest) = text.split_at_checked(end)?;
    let time = ["%H:%M:%S%.f", "%H:%M"].iter().find_map(|format| NaiveTime::parse_from_str(digits, format).ok())?;
    let rest = rest.trim();
    let half = rest.to_ascii_lowercase();
    match half.as_str() {
        "" => Some((time, None)),
        "z" | "utc" => Some((time, FixedOffset::east_opt(0))),
        "am" | "pm" if (1..=12).contains(&time.hour()) => {
            let hour = time.hour() % 12 + if half == "pm" { 12 } else { 0 };
            Some((time.with_hour(hour)?, None))
        }
        _ => Some((time, Some(rest.parse().ok()?))),
    }
}

/// Whether the text is a time of day by itself.
pub(super) fn is_clock(text: &str) -> bool {
    text.contains(':') && clock(text).is_some()
}

/// The date part of a text, and what is behind it.
fn split(text: &str) -> (&str, &str) {
    text.split_once(['T', ' ']).unwrap_or((text, ""))
}

/// The orders in which the text can be read, with a time of day behind it or none.
pub(super) fn orders(text: &str) -> Vec<TimeOrder> {
    let text = text.trim();
    if seconds(text).is_some() {
        return vec![TimeOrder::Unix];
    }
    let (day, rest) = split(text);
    if !rest.trim().is_empty() && clock(rest).is_none() {
        return vec![];
    }
    TimeOrder::ALL.iter().copied().filter(|order| date(day, *order).is_some()).collect()
}

/// Seconds since 1970, of the years 2001 to 2100.
fn seconds(text: &str) -> Option<DateTime<Utc>> {
    let n: i64 = text.parse().ok()?;
    let n = if n >= 1_000_000_000_000 { n / 1000 } else { n };
    (978_307_200..4_102_444_800).contains(&n).then(|| DateTime::from_timestamp(n, 0))?
}

/// The instant, on a clock with this offset where the text says none. The error has no full stop.
pub(super) fn parse(text: &str, order: TimeOrder, offset: FixedOffset) -> Result<Instant, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err("there is no time".into());
    }
    let read = if order == TimeOrder::Unix { seconds(text) } else { wall(text, order, offset)? };
    let whole = read.and_then(|at| at.with_nanosecond(0));
    whole.map(Instant).ok_or_else(|| format!("the time \"{text}\" is not written {}", order.shown()))
}

fn wall(text: &str, order: TimeOrder, offset: FixedOffset) -> Result<Option<DateTime<Utc>>, String> {
    let (day, rest) = split(text);
    let Some(day) = date(day, order) else { return Ok(None) };
    if rest.trim().is_empty() {
        return Err(format!("\"{text}\" has no time of day"));
    }
    let Some((time, own)) = clock(rest) else { return Ok(None) };
    let local = day.and_time(time).checked_sub_offset(own.unwrap_or(offset));
    Ok(local.map(|utc| utc.and_utc()))
}
