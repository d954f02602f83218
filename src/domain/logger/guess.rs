//! What the columns of a file probably are: a proposal for a person to look at.

use super::super::reading::Spot;
use super::moment::{self, TimeOrder};
use super::{Map, Sheet, TempUnit, fields, number};

/// Lines a guess is made from.
const SAMPLE: usize = 5000;

/// What was found; what nobody can tell from the file is left open, and asked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Guess {
    pub time: Option<String>,
    pub clock: Option<String>,
    pub temp: Option<String>,
    pub rh: Option<String>,
    pub unit: Option<TempUnit>,
    pub order: Option<TimeOrder>,
    pub comma: bool,
}

impl Guess {
    /// What a sensor's files were like before.
    pub fn of(map: &Map) -> Self {
        Self {
            time: Some(map.time.clone()),
            clock: map.clock.clone(),
            temp: Some(map.temp.clone()),
            rh: map.rh.clone(),
            unit: Some(map.unit),
            order: Some(map.order),
            comma: map.comma,
        }
    }

    /// The whole map, or what is still open.
    pub fn map(&self, spot: Spot) -> Result<Map, &'static str> {
        Ok(Map {
            time: self.time.clone().ok_or("which column is the time")?,
            clock: self.clock.clone(),
            temp: self.temp.clone().ok_or("which column is the temperature")?,
            rh: match &self.rh {
                None if spot.humid() => return Err("which column is the humidity"),
                rh => rh.clone(),
            },
            unit: self.unit.ok_or("whether the temperature is in °C or °F")?,
            order: self.order.ok_or("whether the day or the month comes first")?,
            comma: self.comma,
        })
    }
}

/// Whether a line has a time and so many numbers.
fn has(row: &[String], numbers: usize) -> bool {
    let found = row.iter().filter(|cell| is_number(cell)).count();
    row.len() > numbers && found >= numbers && row.iter().any(|cell| is_time(cell))
}

/// The first line with a time and two numbers.
pub(super) fn first_reading(rows: &[Vec<String>]) -> Option<usize> {
    rows.iter().position(|row| has(row, 2))
}

/// The first line with a time and a number, of which the next line has as many columns: one alone may tell how the logger was
/// set.
pub(super) fn first_temperature(rows: &[Vec<String>]) -> Option<usize> {
    let next = |n: usize| rows.iter().skip(n + 1).find(|row| row.iter().any(|cell| !cell.is_empty()));
    let goes_on = |n: usize, row: &[String]| next(n).is_none_or(|next| next.len() == row.len() && has(next, 1));
    rows.iter().enumerate().position(|(n, row)| has(row, 1) && goes_on(n, row))
}

/// A comma inside of a cell is never the separator: where that is a comma too, the cell was quoted.
fn is_number(cell: &str) -> bool {
    !is_time(cell) && (number(cell, false).is_ok() || number(cell, true).is_ok())
}

fn is_time(cell: &str) -> bool {
    !moment::orders(cell).is_empty()
}

/// Proposes columns; `known`: how files were read before, which holds where its columns are there.
pub fn guess<'m>(text: &str, sheet: &Sheet, spot: Spot, known: impl IntoIterator<Item = &'m Map>) -> Guess {
    let fits = |map: &&Map| {
        let columns = [Some(&map.time), map.clock.as_ref(), Some(&map.temp), map.rh.as_ref()];
        columns.into_iter().flatten().all(|name| sheet.columns.contains(name)) && (map.rh.is_some() || !spot.humid())
    };
    if let Some(map) = known.into_iter().find(fits) {
        return Guess::of(map);
    }
    let rows: Vec<Vec<String>> =
        text.lines().skip(sheet.skip).take(SAMPLE).map(|line| fields(line, sheet.separator)).collect();
    let few = rows.get(..rows.len().min(50)).unwrap_or(&[]);
    let mostly = |n: usize, is: &dyn Fn(&str) -> bool| {
        2 * few.iter().filter(|row| row.get(n).is_some_and(|cell| is(cell))).count() > few.len()
    };
    let columns = || 0..sheet.columns.len();
    let time = columns().find(|n| mostly(*n, &is_time));
    let apart = time.is_some_and(|n| mostly(n, &|cell| !cell.contains(':') && cell.parse::<i64>().is_err()));
    let clock = columns().find(|n| apart && Some(*n) != time && mostly(*n, &moment::is_clock));
    let comma = few.iter().flatten().any(|cell| cell.contains(',') && is_number(cell));
    let numbers: Vec<usize> = columns()
        .filter(|n| Some(*n) != time && Some(*n) != clock && mostly(*n, &|cell| number(cell, comma).is_ok()))
        .collect();
    let named = |words: &[&str], not: &[&str]| {
        numbers.iter().copied().find(|n| {
            let name = sheet.columns.get(*n).map_or_else(String::new, |name| name.to_lowercase());
            words.iter().any(|word| name.contains(word)) && !not.iter().any(|word| name.contains(word))
        })
    };
    let rh = named(&["hum", "rh", "r.h", "%"], &["dew", "temp"]);
    let temp = named(&["temp", "°c", "°f", "celsius", "fahrenheit"], &["dew", "hum", "rh"]);
    // without names the order is a proposal only
    let other = |not: Option<usize>| numbers.iter().copied().find(|n| Some(*n) != not);
    let temp = temp.or_else(|| other(rh));
    // in a store it may be anything: only a name tells
    let after = || numbers.iter().copied().find(|n| Some(*n) != temp && temp.is_some_and(|t| *n > t));
    let rh = rh.or_else(|| spot.humid().then(after).flatten());
    let name = |n: Option<usize>| n.and_then(|n| sheet.columns.get(n)).cloned();
    Guess {
        time: name(time),
        clock: name(clock),
        unit: unit(name(temp).as_deref(), few, temp),
        order: order(&rows, time),
        temp: name(temp),
        rh: name(rh),
        comma,
    }
}

/// As the column's name or its cells say it.
fn unit(name: Option<&str>, rows: &[Vec<String>], column: Option<usize>) -> Option<TempUnit> {
    let cell = rows.first().zip(column).and_then(|(row, n)| row.get(n)).map_or("", String::as_str);
    let said = format!("{} {cell}", name?).to_lowercase();
    let words: Vec<&str> = said.split(|c: char| !(c.is_alphanumeric() || c == '°')).collect();
    let says = |any: [&str; 3]| any.iter().any(|word| words.contains(word));
    match (says(["°c", "c", "celsius"]), says(["°f", "f", "fahrenheit"])) {
        (true, false) => Some(TempUnit::Celsius),
        (false, true) => Some(TempUnit::Fahrenheit),
        _ => None,
    }
}

/// The order in which every time of the sample can be read, if there is one only.
fn order(rows: &[Vec<String>], time: Option<usize>) -> Option<TimeOrder> {
    let times = rows.iter().filter_map(|row| row.get(time?)).map(|cell| moment::orders(cell));
    let read: Vec<Vec<TimeOrder>> = times.filter(|orders| !orders.is_empty()).collect();
    // a few spoilt lines are no other format, but any line that speaks for another order is a question
    let sure: Vec<TimeOrder> =
        read.iter().filter_map(|orders| if let [one] = orders[..] { Some(one) } else { None }).collect();
    let first = *sure.first()?;
    sure.iter().all(|order| *order == first).then_some(first)
}

/// What speaks against the unit of the temperatures, as a sentence; asked before anything is written.
pub fn doubt(text: &str, sheet: &Sheet, map: &Map, spot: Spot) -> Option<String> {
    let column = sheet.column(&map.temp).ok()?;
    let temps: Vec<f64> = text
        .lines()
        .skip(sheet.skip)
        .take(SAMPLE)
        .filter_map(|line| number(fields(line, sheet.separator).get(column)?, map.comma).ok().map(|(value, _)| value))
        .collect();
    let most = |is: &dyn Fn(f64) -> bool| 2 * temps.iter().filter(|temp| is(**temp)).count() > temps.len();
    // a cold store is between -4 and 25 °C, which is 25 to 77 °F
    let (warm, cool) = if spot.humid() { (45.0, 45.0) } else { (25.0, 25.0) };
    match map.unit {
        TempUnit::Celsius if most(&|temp| (warm..=110.0).contains(&temp)) => {
            Some(format!("Most temperatures lie between {warm} and 110: that looks like °F, not °C."))
        }
        TempUnit::Fahrenheit if most(&|temp| temp < cool) => {
            Some(format!("Most temperatures lie below {cool}: that looks like °C, not °F."))
        }
        _ => None,
    }
}
