//! Rounds and stalls: stock that goes out with somebody and is accounted for line by line when it comes back.

use super::delivery::Packs;
use super::id::{CustomerId, LotId, RoundId};
use super::stock::BackDecision;
use super::time::{Day, Instant};
use super::words::words;

words!(
    /// Where it goes.
    Kind { Round = "round" / "a round to customers", Stall = "stall" / "a stall, sold to the public" }
);

/// Packs are loaded.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewRound {
    pub kind: Kind,
    pub name: String,
    pub out_at: Instant,
    /// Of the load, tenths of °C.
    pub temp_dc: Option<i64>,
    /// Of a stall: where it stands, and between which hours.
    pub place: Option<String>,
    pub hours: Option<String>,
    pub load: Vec<Packs>,
    /// Rules that were asked about and answered: `deliver_keeps`.
    pub sure: Vec<&'static str>,
}

/// What became of packs of one lot that a round carried.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Settled {
    pub lot: LotId,
    pub packs: i64,
    pub how: How,
}

/// The ways a load goes.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum How {
    /// Beyond what was ordered.
    Delivered {
        customer: CustomerId,
        extra: bool,
    },
    /// Not taken by this customer: it stays on the round until something else is said of it.
    Refused {
        customer: CustomerId,
        reason: String,
    },
    SoldPublic,
    Given {
        to: String,
    },
    /// Measured or not, it is not for sale any more.
    Binned {
        reason: String,
    },
    /// Back into stock, by a named decision.
    BroughtBack(BackDecision),
}

/// A round comes back, or reports from the way.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Settling {
    pub round: RoundId,
    pub lines: Vec<Settled>,
}

/// A round as it stands.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Round {
    pub id: RoundId,
    pub kind: Kind,
    pub name: String,
    pub day: Day,
    pub out_at: Instant,
    pub temp_dc: Option<i64>,
    pub place: Option<String>,
    pub hours: Option<String>,
    pub who: String,
    /// What it still carries: lots and packs.
    pub carries: Vec<Packs>,
}

impl Round {
    /// Something on it is not accounted for.
    pub fn open(&self) -> bool {
        self.carries.iter().any(|line| line.packs > 0)
    }
}
