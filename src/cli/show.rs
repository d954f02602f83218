//! Data on stdout as text, JSON or CSV.

use std::io::{self, StdoutLock, Write};

use serde::Serialize;

use super::Format;
use super::exit::{Exit, usage};
use crate::domain::text::{clean_line, harmless};

/// Where data goes and how.
pub struct Show {
    pub format: Format,
    out: StdoutLock<'static>,
}

impl Show {
    pub fn new(format: Format) -> Self {
        Self { format, out: io::stdout().lock() }
    }

    /// One line of text; what came in through another door once is cleaned once more before a terminal gets it.
    pub fn line(&mut self, text: &str) -> Result<(), Exit> {
        Ok(writeln!(self.out, "{}", clean_line(text, usize::MAX).text)?)
    }

    /// Text of the program's own making, for another program, as it is.
    pub fn file(&mut self, text: &[u8]) -> Result<(), Exit> {
        Ok(self.out.write_all(text)?)
    }

    pub fn json(&mut self, data: &impl Serialize) -> Result<(), Exit> {
        serde_json::to_writer_pretty(&mut self.out, data)?;
        Ok(writeln!(self.out)?)
    }

    /// A heading, and one line per row.
    pub fn csv<const N: usize>(
        &mut self,
        heading: &[&str; N],
        rows: impl Iterator<Item = [String; N]>,
    ) -> Result<(), Exit> {
        let mut csv = csv::Writer::from_writer(&mut self.out);
        csv.write_record(heading)?;
        for row in rows {
            csv.write_record(row.map(harmless))?;
        }
        Ok(csv.flush()?)
    }

    /// Text or JSON, for verbs whose data is no table.
    pub fn text_or_json(&mut self, text: &[String], data: &impl Serialize) -> Result<(), Exit> {
        match self.format {
            Format::Text => text.iter().try_for_each(|line| self.line(line)),
            Format::Json => self.json(data),
            Format::Csv => Err(usage("This is no table: choose --format text or json.")),
        }
    }
}
