//! Everything that is handed over about a trace: ways, events, what touched it, conclusions, and what stands behind it.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::event::{Event, Party, Replaced, gaps};
use super::touch::{Touch, in_order};
use super::{Trace, conclude};
use crate::domain::answering::Country;
use crate::domain::chain::Proof;
use crate::domain::time::Now;

/// Where no rule of a country decides alone.
pub const LOCAL: &str = "Local codes decide.";

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
        in_order(&mut self.touches);
        self.conclusions = self.traces.iter().flat_map(conclude::conclusions).collect();
        self.gaps = gaps(&self.events);
        self
    }

    /// What it is about, in words.
    pub fn title(&self) -> &str {
        self.traces.first().map_or("", |trace| trace.title.as_str())
    }

    /// What the chain of the log says of itself, in one sentence or two.
    pub fn proven(&self) -> String {
        self.proof.words(Now(self.made_at))
    }

    /// What stands above everything: that it is an exercise, and that the chain is broken.
    pub fn marks(&self) -> Vec<String> {
        let exercise = self.exercise.then(|| "EXERCISE: nothing of this is real.".to_string());
        let broken = self.proof.broken.as_ref();
        let broken = broken.map(|broken| format!("THE CHAIN OF THE LOG IS BROKEN AT ENTRY {}.", broken.entry));
        exercise.into_iter().chain(broken).collect()
    }
}
