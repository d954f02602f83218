//! Files of loggers: text with one reading a line, in whatever columns, units and times the logger writes.
//!
//! A file is opened ([`text`], [`Sheet::of`]), its columns are guessed ([`guess()`]), and with a [`Map`] of them it is read
//! line by line ([`Reader`]). A line that cannot be read is told with its number and the reason, and the others stay.

mod guess;
mod moment;
mod reader;
#[cfg(test)]
mod tests;

pub use guess::{Guess, doubt, guess};
pub use moment::TimeOrder;
pub use reader::{Bad, Parsed, Reader, read};

use super::reading::Reading;
use super::room::Units;
use super::time::{Day, Now};
use super::words::words;

words!(
    /// What the temperatures of a file are in.
    TempUnit { Celsius = "celsius" / "°C", Fahrenheit = "fahrenheit" / "°F" }
);

/// Which columns say what, and how.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Map {
    /// Column of day and time, or of the day alone.
    pub time: String,
    /// Column of the time of day, where it stands apart.
    pub clock: Option<String>,
    pub temp: String,
    /// None where the file of a cold store says none.
    pub rh: Option<String>,
    pub unit: TempUnit,
    pub order: TimeOrder,
    /// Numbers are written with a comma: 21,4.
    pub comma: bool,
}

/// A file as lines of columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Between columns.
    pub separator: char,
    /// Names from the line above the first reading; `column 1` and so on without one.
    pub columns: Vec<String>,
    /// Lines before the first reading.
    pub skip: usize,
    /// All lines after them.
    pub rows: usize,
}

/// A file as it was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoggerFile {
    pub name: String,
    pub sha256: String,
    pub text: String,
    pub sheet: Sheet,
    /// Another sensor it was read for, and when.
    pub read_for: Option<(String, Day)>,
}

impl LoggerFile {
    /// What to ask about a file that was read for another sensor.
    pub fn read_before(&self) -> Option<String> {
        let (sensor, day) = self.read_for.as_ref()?;
        Some(format!("{} was read on {day} for another sensor, {sensor}.", self.name))
    }
}

/// `Sun 28 Jun 2026 06:00: 20.1 °C, 82 %`.
pub fn shown(reading: &Reading, now: Now, units: Units) -> String {
    format!("{}: {}", now.local(reading.at).format("%a %d %b %Y %H:%M"), reading.words(units))
}

/// The first lines as they would be read.
pub fn preview(file: &LoggerFile, map: &Map, now: Now, units: Units, lines: usize) -> Result<Vec<String>, String> {
    let mut reader = Reader::new(&file.text, &file.sheet, map, now)?;
    reader.step(lines);
    let parsed = reader.finish();
    let read = parsed.readings.iter().map(|reading| shown(reading, now, units));
    Ok(read.chain(parsed.bad.iter().map(Bad::words)).collect())
}

/// The text of a file, or a sentence about what it is instead.
pub fn text(bytes: Vec<u8>) -> Result<String, String> {
    const SAVE: &str = "save it again as CSV in UTF-8. Nothing was read";
    let wide = bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]);
    if wide || bytes.iter().take(4000).filter(|byte| **byte == 0).count() > bytes.len().min(4000) / 4 {
        return Err(format!("The file is written in UTF-16: {SAVE}."));
    }
    if bytes.contains(&0) {
        return Err("The file is no text: export it from the logger as CSV. Nothing was read.".into());
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text)),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let line = error.as_bytes().iter().take(good).filter(|byte| **byte == b'\n').count() + 1;
            Err(format!("Line {line} is not in UTF-8, perhaps in Latin-1: {SAVE}."))
        }
    }
}

/// The columns of one line. Each line is read by itself, so a stray quote spoils no other.
fn fields(line: &str, separator: char) -> Vec<String> {
    // a reader for each line costs more than the line
    if !line.contains('"') {
        return line.split(separator).map(|cell| cell.trim().to_owned()).collect();
    }
    let delimiter = u8::try_from(separator).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .buffer_capacity(line.len().max(1))
        .from_reader(line.as_bytes());
    let record = reader.records().next().and_then(Result::ok).unwrap_or_default();
    record.iter().map(str::to_owned).collect()
}

impl Sheet {
    /// Finds the separator, the line of names and the first reading.
    pub fn of(text: &str) -> Result<Self, String> {
        /// Lines among which the first reading must be.
        const HEAD: usize = 60;
        if text.trim().is_empty() {
            return Err("The file is empty: export it from the logger again.".into());
        }
        let head: Vec<&str> = text.lines().take(HEAD).collect();
        // with humidity first: a file of both never looks like one of temperatures alone
        let tries = [true, false].into_iter().flat_map(|humid| [';', '\t', ','].map(|separator| (humid, separator)));
        for (humid, separator) in tries {
            let rows: Vec<Vec<String>> = head.iter().map(|line| fields(line, separator)).collect();
            let first = if humid { guess::first_reading(&rows) } else { guess::first_temperature(&rows) };
            let Some(first) = first else { continue };
            let width = rows.get(first).map_or(0, Vec::len);
            let names = first.checked_sub(1).and_then(|above| rows.get(above)).filter(|row| row.len() == width);
            let names = names.filter(|row| row.iter().all(|name| !name.is_empty()));
            let numbered = || (1..=width).map(|n| format!("column {n}")).collect();
            let columns = names.map_or_else(numbered, |names| distinct(names));
            return Ok(Self { separator, columns, skip: first, rows: text.lines().count() - first });
        }
        Err("No line of it looks like a reading with its time and temperature: is this the logger's file?".into())
    }

    /// Which column a name stands for.
    fn column(&self, name: &str) -> Result<usize, String> {
        self.columns
            .iter()
            .position(|column| column == name)
            .ok_or_else(|| format!("The file has no column \"{name}\": its columns are {}.", self.columns.join(", ")))
    }
}

/// Names, the second of the same name with its number.
fn distinct(names: &[String]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for (n, name) in (1..).zip(names) {
        let taken = all.contains(name);
        all.push(if taken { format!("{name} ({n})") } else { name.clone() });
    }
    all
}

/// A number as loggers write it, with the unit behind it; `comma`: 21,4.
fn number(text: &str, comma: bool) -> Result<(f64, &str), String> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.,eE".contains(c))).unwrap_or(text.len());
    let (digits, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    let plain = if comma { digits.replace(',', ".") } else { digits.to_string() };
    let wrong = if comma { '.' } else { ',' };
    if digits.contains(wrong) {
        return Err(format!("\"{text}\" has a {}", if comma { "point, not a comma" } else { "comma, not a point" }));
    }
    let value: f64 = plain
        .parse()
        .map_err(|_| if text.is_empty() { "it is empty".to_string() } else { format!("\"{text}\" is no number") })?;
    Ok((value, unit.trim()))
}
