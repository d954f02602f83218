//! The soaks that the seed of a sowing comes from, as far as the book knows of them.

use std::collections::BTreeMap;

use crate::app::model::Model;
use crate::domain::id::{SeedLotId, SoakId};
use crate::domain::soak::{Soaking, taken};
use crate::domain::sowing::Part;

/// Soaks with what each gives, and whether they give all seed of these parts.
pub struct Soaked<'m> {
    soaks: Vec<(&'m Soaking, i64)>,
    /// Every gram of it was soaked.
    pub all: bool,
}

impl<'m> Soaked<'m> {
    pub(super) fn of(model: &'m Model, parts: &[Part]) -> Self {
        let mut wanted: BTreeMap<SeedLotId, i64> = BTreeMap::new();
        for (lot, mg) in parts.iter().flat_map(|part| &part.seed) {
            *wanted.entry(*lot).or_default() += mg;
        }
        let (mut soaks, mut all) = (Vec::new(), !wanted.is_empty());
        for (lot, mg) in wanted {
            let at_hand: Vec<Soaking> = model.soaks_of(lot).cloned().collect();
            let given = taken(&at_hand, lot, mg);
            let found =
                given.iter().filter_map(|(id, mg)| Some((model.soaks_of(lot).find(|soak| soak.id == *id)?, *mg)));
            let found: Vec<(&Soaking, i64)> = found.collect();
            let soaked: i64 = found.iter().filter(|(soak, _)| soak.with.is_none()).map(|(_, mg)| mg).sum();
            all &= soaked >= mg;
            soaks.extend(found);
        }
        Self { soaks, all }
    }

    pub fn is_empty(&self) -> bool {
        self.soaks.is_empty()
    }

    pub fn ids(&self) -> Vec<SoakId> {
        self.soaks.iter().map(|(soak, _)| soak.id).collect()
    }

    /// A line for each, and what the field of hours is still for.
    pub fn lines(&self, model: &Model) -> Vec<String> {
        let units = model.board.units();
        let mut lines: Vec<String> = self
            .soaks
            .iter()
            .map(|(soak, mg)| {
                let with = soak.with_words().map_or_else(String::new, |with| format!(" ({with})"));
                let still = if soak.running() { ". Saving writes it drained now" } else { "" };
                format!("{}, {}: {}{with}{still}.", soak.lot_code, units.weight(*mg), soak.words(model.now))
            })
            .collect();
        if !self.all && !lines.is_empty() {
            lines.push("\"Hours soaked\" is for the seed that no soak of the book covers.".into());
        }
        lines
    }
}
