//! Warm and cold spells: worked out from what a store read, for longer than the store allows.

use super::Limits;
use crate::domain::id::StoreId;
use crate::domain::keeping::{CHILLING_DC, FREEZING_DC, Series, Stretch};
use crate::domain::words::words;

words!(
    /// What went wrong.
    Kind {
        /// Above the store's limit.
        Warm = "warm" / "warm spell",
        /// Below it.
        Cold = "cold" / "cold spell",
        /// At or below freezing.
        Freezing = "freezing" / "freezing",
        /// Too cold for a crop that cold harms, while some of it lay there.
        Chilling = "chilling" / "chilling spell",
    }
);

impl Kind {
    /// Whether one temperature is worse than another.
    pub fn worse(self, dc: i64, than: i64) -> bool {
        match self {
            Self::Warm => dc > than,
            Self::Cold | Self::Freezing | Self::Chilling => dc < than,
        }
    }

    /// Whether what lay there waits for a decision, where greens count as food to be kept cold.
    pub fn holds(self) -> bool {
        matches!(self, Self::Warm | Self::Freezing)
    }
}

/// Which spell: a store has one of a kind at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub struct SpellKey {
    pub store: StoreId,
    pub kind: Kind,
    pub from_s: i64,
}

/// One spell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Spell {
    pub key: SpellKey,
    /// The reading that ended it, or the last one there is.
    pub to_s: i64,
    /// No reading has ended it.
    pub going_on: bool,
    /// The warmest, or the coldest.
    pub worst_dc: i64,
}

impl Spell {
    pub fn minutes(&self) -> i64 {
        (self.to_s - self.key.from_s) / 60
    }

    /// A decision about `other` covers this spell too: it is no longer and no worse.
    pub fn within(&self, other: &Self) -> bool {
        let (a, b) = (self.key, other.key);
        (a.store, a.kind) == (b.store, b.kind)
            && a.from_s >= b.from_s
            && self.to_s <= other.to_s
            && !a.kind.worse(self.worst_dc, other.worst_dc)
    }
}

/// A run of stretches of one kind while it is looked for.
struct Run {
    from_s: i64,
    to_s: i64,
    worst_dc: i64,
}

/// Every spell of a store. `sensitive`: when something lay there that cold harms, from and to.
pub fn spells(store: StoreId, series: &Series, limits: &Limits, sensitive: &[(i64, i64)]) -> Vec<Spell> {
    let (Some(first), Some(last)) = (series.readings().first(), series.readings().last()) else { return vec![] };
    let mut stretches = series.stretches(first.at_s, last.at_s);
    // the last reading, of which nobody knows yet how long it stands
    let froze = last.dc <= FREEZING_DC;
    stretches.push(Stretch {
        from_s: last.at_s,
        to_s: last.at_s,
        dc: Some(last.dc),
        ends_dc: last.dc,
        gap: false,
        froze,
    });
    let mut found = Vec::new();
    for kind in Kind::ALL.iter().copied() {
        let mut run: Option<Run> = None;
        for stretch in &stretches {
            match (worst(kind, stretch, limits, sensitive), &mut run) {
                (Some(dc), Some(run)) => {
                    run.to_s = stretch.to_s;
                    if kind.worse(dc, run.worst_dc) {
                        run.worst_dc = dc;
                    }
                }
                (Some(worst_dc), None) => {
                    run = Some(Run { from_s: stretch.from_s, to_s: stretch.to_s, worst_dc });
                }
                (None, Some(_)) => found.extend(run.take().and_then(|run| spell(store, kind, limits, &run, false))),
                (None, None) => {}
            }
        }
        found.extend(run.and_then(|run| spell(store, kind, limits, &run, true)));
    }
    found.sort_by_key(|spell| (spell.key.from_s, spell.key.kind));
    found
}

/// A run that lasted longer than allowed. Freezing is never allowed.
fn spell(store: StoreId, kind: Kind, limits: &Limits, run: &Run, going_on: bool) -> Option<Spell> {
    let long = run.to_s - run.from_s > limits.over_min * 60;
    let key = SpellKey { store, kind, from_s: run.from_s };
    (long || kind == Kind::Freezing).then_some(Spell { key, to_s: run.to_s, going_on, worst_dc: run.worst_dc })
}

/// The temperature of a stretch, if it is of this kind.
fn worst(kind: Kind, stretch: &Stretch, limits: &Limits, sensitive: &[(i64, i64)]) -> Option<i64> {
    // what nobody knows is no end of a warm spell
    let dc = if kind == Kind::Warm { stretch.dc.unwrap_or(stretch.ends_dc) } else { stretch.dc? };
    let lay = || sensitive.iter().any(|(from, to)| *from <= stretch.to_s && *to > stretch.from_s);
    let is = match kind {
        Kind::Warm => dc > limits.max_dc,
        // what froze is said as that
        Kind::Cold => dc < limits.min_dc && dc > FREEZING_DC,
        Kind::Freezing => return stretch.froze.then_some(dc.min(FREEZING_DC)),
        Kind::Chilling => dc < CHILLING_DC && lay(),
    };
    is.then_some(dc)
}
