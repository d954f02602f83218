//! Reading a logger's file in steps, with a known map of its columns.

use chrono::FixedOffset;

use super::super::reading::Reading;
use super::super::time::{Instant, Now};
use super::{LoggerFile, Map, Sheet, TempUnit, fields, moment, number};

/// A line that was left out.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Bad {
    /// Of the file, from 1.
    pub line: usize,
    /// Without a full stop.
    pub why: String,
}

/// Lines between two looks at whether to stop: far less than 50 ms.
const STEP: usize = 500;

/// Reads a whole file; `watch` hears the lines done, and stops it by saying no: then there is nothing.
pub fn read(
    file: &LoggerFile,
    map: &Map,
    now: Now,
    watch: &mut dyn FnMut(usize) -> bool,
) -> Result<Option<Parsed>, String> {
    let mut reader = Reader::new(&file.text, &file.sheet, map, now)?;
    while reader.step(STEP) {
        if !watch(reader.done) {
            return Ok(None);
        }
    }
    Ok(Some(reader.finish()))
}

impl Bad {
    /// `line 7: there is no time`.
    pub fn words(&self) -> String {
        format!("line {}: {}", self.line, self.why)
    }
}

/// What a file came to.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct Parsed {
    /// In the order of time.
    pub readings: Vec<Reading>,
    pub bad: Vec<Bad>,
    /// Lines that say the same as another.
    pub twice: usize,
}

/// Where time, clock, temperature and humidity stand.
struct Columns {
    time: usize,
    clock: Option<usize>,
    temp: usize,
    rh: Option<usize>,
}

/// The last line of a file without an end of line, if the last it says is shorter than in every line shortly before: `4` after
/// `4.1` and `3.8` was `4.` something.
fn breaks_off(text: &str, sheet: &Sheet) -> Option<usize> {
    /// Lines that are compared.
    const BEFORE: usize = 20;
    if text.ends_with('\n') {
        return None;
    }
    let mut back = text.lines().rev().take(sheet.rows).map(|line| fields(line, sheet.separator));
    let last = back.next()?;
    let (n, cell) = last.iter().enumerate().next_back()?;
    let length = |cell: &String| cell.chars().count();
    let shortest = back.take(BEFORE).filter_map(|row| row.get(n).map(length)).filter(|length| *length > 0).min()?;
    (length(cell) < shortest).then_some(sheet.skip + sheet.rows - 1)
}

/// A file that is being read.
pub struct Reader<'t> {
    lines: std::iter::Skip<std::iter::Enumerate<std::str::Lines<'t>>>,
    separator: char,
    map: &'t Map,
    columns: Columns,
    offset: FixedOffset,
    latest: Instant,
    /// The last line, where the file seems to break off in it.
    broken: Option<usize>,
    found: Vec<(usize, Reading)>,
    bad: Vec<Bad>,
    /// Lines read so far.
    pub done: usize,
}

impl<'t> Reader<'t> {
    /// Times without an offset are taken on the room's clock; what is later than now is left out.
    pub fn new(text: &'t str, sheet: &Sheet, map: &'t Map, now: Now) -> Result<Self, String> {
        let columns = Columns {
            time: sheet.column(&map.time)?,
            clock: map.clock.as_deref().map(|name| sheet.column(name)).transpose()?,
            temp: sheet.column(&map.temp)?,
            rh: map.rh.as_deref().map(|name| sheet.column(name)).transpose()?,
        };
        let of = [Some(columns.time), Some(columns.temp), columns.rh];
        if of
            .iter()
            .enumerate()
            .any(|(n, column)| column.is_some() && of.iter().skip(n + 1).any(|other| other == column))
        {
            return Err("One column cannot be two things: choose another.".into());
        }
        Ok(Self {
            lines: text.lines().enumerate().skip(sheet.skip),
            separator: sheet.separator,
            map,
            columns,
            offset: *now.0.offset(),
            latest: now.instant(),
            broken: breaks_off(text, sheet),
            found: Vec::new(),
            bad: Vec::new(),
            done: 0,
        })
    }

    /// Reads so many lines more; false when there are no more.
    pub fn step(&mut self, lines: usize) -> bool {
        for _ in 0..lines {
            let Some((n, line)) = self.lines.next() else { return false };
            self.done += 1;
            if line.trim().is_empty() {
                continue;
            }
            if self.broken == Some(n) {
                self.bad.push(Bad { line: n + 1, why: "the file breaks off here, perhaps inside of a number".into() });
                continue;
            }
            match self.reading(line) {
                Ok(reading) => self.found.push((n + 1, reading)),
                Err(why) => self.bad.push(Bad { line: n + 1, why }),
            }
        }
        true
    }

    fn reading(&self, line: &str) -> Result<Reading, String> {
        let cells = fields(line, self.separator);
        let cell = |n: usize| {
            let few = || format!("it has only {}", super::super::text::counted(cells.len(), "column"));
            cells.get(n).map(String::as_str).ok_or_else(few)
        };
        let mut time = cell(self.columns.time)?.to_string();
        if let Some(clock) = self.columns.clock {
            time = format!("{time} {}", cell(clock)?);
        }
        let at = moment::parse(&time, self.map.order, self.offset)?;
        if at > self.latest {
            return Err(format!("{time} is still to come"));
        }
        let (temp, unit) =
            number(cell(self.columns.temp)?, self.map.comma).map_err(|why| format!("temperature: {why}"))?;
        let other = match self.map.unit {
            TempUnit::Celsius => ["°f", "f"],
            TempUnit::Fahrenheit => ["°c", "c"],
        };
        if other.contains(&unit.to_lowercase().as_str()) {
            return Err(format!("temperature: it says {unit}, the column is in {}", self.map.unit.shown()));
        }
        let rh = self
            .columns
            .rh
            .map(|n| number(cell(n)?, self.map.comma).map(|(rh, _)| rh).map_err(|why| format!("humidity: {why}")));
        let rh = rh.transpose()?;
        let temp = if self.map.unit == TempUnit::Fahrenheit { (temp - 32.0) / 1.8 } else { temp };
        Reading::new(at, temp, rh)
    }

    /// In the order of time, each moment once.
    pub fn finish(mut self) -> Parsed {
        let mut parsed = Parsed::default();
        self.found.sort_by_key(|(line, reading)| (reading.at, *line));
        let mut first = 0;
        for (line, reading) in self.found {
            match parsed.readings.last() {
                Some(before) if *before == reading => parsed.twice += 1,
                Some(before) if before.at == reading.at => {
                    self.bad.push(Bad { line, why: format!("line {first} has the same time and other figures") });
                }
                _ => {
                    first = line;
                    parsed.readings.push(reading);
                }
            }
        }
        self.bad.sort_by_key(|bad| bad.line);
        parsed.bad = self.bad;
        parsed
    }
}

impl Parsed {
    /// `99 readings, 2 lines left out, 1 twice`.
    pub fn words(&self) -> String {
        let lines =
            |n: usize, what: &str| (n > 0).then(|| format!("{} {what}", super::super::text::counted(n, "line")));
        let readings = super::super::text::counted(self.readings.len(), "reading");
        let parts = [Some(readings), lines(self.bad.len(), "left out"), lines(self.twice, "written twice")];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}
