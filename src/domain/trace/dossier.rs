//! Everything that is handed over about a trace: ways, events, what touched it, conclusions, and what stands behind it.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::event::{Event, Party, Replaced, gaps};
use super::touch::Touch;
use super::{Trace, conclude};
use crate::domain::answering::Country;
use crate::domain::id::EntryId;

/// Where no rule of a country decides alone.
pub const LOCAL: &str = "Local codes decide.";

/// What the chain of the log says of itself.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Proof {
    pub entries: i64,
    /// The last hash, as 64 hexadecimal digits.
    pub head: String,
    /// The first entry that is not as it was written.
    pub broken_at: Option<EntryId>,
}

impl Proof {
    /// The state of the chain in one sentence.
    pub fn words(&self) -> String {
        match self.broken_at {
            None => format!("The chain of {} entries is whole.", self.entries),
            Some(entry) => format!("THE CHAIN IS BROKEN AT ENTRY {}: the book is not as it was written.", entry.0),
        }
    }
}

/// Whether a crop is on the list of foods of 21 CFR 1 subpart S, as the room has set it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct UsList {
    pub letters: String,
    pub crop: String,
    /// `yes`, `no` or `not sure`.
    pub listed: String,
}

/// A trace as it is handed over.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Dossier {
    /// Nothing of it is real: for practice.
    pub exercise: bool,
    pub made_at: DateTime<FixedOffset>,
    /// The two letters of the room.
    pub room: String,
    pub room_name: String,
    pub sender: Party,
    pub proof: Proof,
    pub traces: Vec<Trace>,
    pub conclusions: Vec<String>,
    /// What an authority asks for and the book does not know.
    pub gaps: Vec<String>,
    pub events: Vec<Event>,
    /// Events as they were written first, where another stands for them or nothing does.
    pub replaced: Vec<Replaced>,
    pub touches: Vec<Touch>,
    pub us_list: Vec<UsList>,
    pub country: Country,
    pub facts: &'static str,
    pub local: &'static str,
    /// Lots whose product has a trade item number of a licensed prefix.
    pub gtins: BTreeMap<String, String>,
}

impl Dossier {
    /// Brings everything into order, and says what follows from it.
    #[must_use]
    pub fn settled(mut self) -> Self {
        self.events.sort_by(|a, b| a.order().cmp(&b.order()));
        self.replaced.sort_by(|a, b| (a.event.order(), a.by.entry).cmp(&(b.event.order(), b.by.entry)));
        self.touches.sort_by(|a, b| (a.section, a.at, a.entry, &a.words).cmp(&(b.section, b.at, b.entry, &b.words)));
        self.conclusions = self.traces.iter().flat_map(conclude::conclusions).collect();
        self.gaps = gaps(&self.events);
        self
    }

    /// What it is about, in words.
    pub fn title(&self) -> &str {
        self.traces.first().map_or("", |trace| trace.title.as_str())
    }

    /// What stands above everything: that it is an exercise, and that the chain is broken.
    pub fn marks(&self) -> Vec<String> {
        let exercise = self.exercise.then(|| "EXERCISE: nothing of this is real.".to_string());
        let broken = self.proof.broken_at.is_some().then(|| self.proof.words());
        exercise.into_iter().chain(broken).collect()
    }
}
