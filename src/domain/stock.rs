//! What becomes of a lot: every movement has a kind, an amount and hands, and the sum is always what was made.

use super::id::{LotId, PersonId};
use super::time::Day;
use super::words::words;

words!(
    /// What a movement does.
    Kind {
        Made = "made" / "made",
        Trim = "trim" / "trimmed off",
        Waste = "waste" / "binned",
        Sample = "sample" / "taken as a sample",
        Given = "given" / "given away",
        SoldPublic = "sold_public" / "sold to the public",
        Delivered = "delivered" / "delivered",
        /// Brought there and not taken: it stays on the round.
        Refused = "refused" / "refused",
        Returned = "returned" / "came back from the customer",
        /// What becomes of packs that came back and were not decided about.
        Decided = "decided" / "decided",
        Loaded = "loaded" / "loaded",
        BroughtBack = "brought_back" / "brought back into stock",
        Count = "count" / "counted",
    }
);

words!(
    /// What becomes of packs that a customer gave back. They are never sold again.
    CameBack {
        Binned = "binned" / "binned",
        Sample = "sample" / "kept as a sample",
        Undecided = "undecided" / "not decided yet",
    }
);

words!(
    /// How something leaves the stock by hand.
    Away { Waste = "waste" / "binned", Sample = "sample" / "kept as a sample", Given = "given" / "given away" }
);

/// Something leaves the stock in the room, other than to a customer. Grams of a harvest lot, packs of a pack lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewMove {
    pub lot: LotId,
    pub away: Away,
    pub amount: i64,
    pub reason: String,
}

/// A sample that is kept to the end of its lot's life and seven days more.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct KeptSample {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    pub packs: i64,
    pub until: Option<Day>,
}

/// Days a sample is kept beyond the life of its lot.
pub const SAMPLE_D: i64 = 7;

/// Where everything of a lot is: grams of a harvest lot, packs of a pack lot.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct Account {
    pub made: i64,
    pub on_hand: i64,
    /// On hand, and held.
    pub on_hold: i64,
    /// Loaded on a round or stall and not accounted for yet.
    pub on_the_way: i64,
    /// Drawn into packs or blends.
    pub drawn: i64,
    /// Delivered less returned.
    pub with_customers: i64,
    pub sold_public: i64,
    pub sampled: i64,
    pub wasted: i64,
    pub given: i64,
    /// Returned by customers: binned, kept as a sample, or not decided yet.
    pub returned: i64,
    /// Counted more (or, negative, less) than the book held.
    pub counted: i64,
}

impl Account {
    /// All places together.
    pub fn sum(&self) -> i64 {
        self.on_hand
            + self.on_hold
            + self.on_the_way
            + self.drawn
            + self.with_customers
            + self.sold_public
            + self.sampled
            + self.wasted
            + self.given
            + self.returned
    }

    /// Accounted for, in tenths of a per cent; above 1000 is an error as much as below. A count that found other than the
    /// book said moves it.
    pub fn accounted_pm(&self) -> Option<i64> {
        (self.made > 0).then(|| (self.sum() * 1000 + self.made / 2) / self.made)
    }

    /// Where everything is, as phrases: an amount with its place. `said` tells an amount.
    pub fn places(&self, said: impl Fn(i64) -> String) -> Vec<String> {
        let places = [
            (self.on_hand, "on hand"),
            (self.on_hold, "on hold"),
            (self.on_the_way, "on the way"),
            (self.drawn, "drawn"),
            (self.with_customers, "with customers"),
            (self.sold_public, "sold to the public"),
            (self.sampled, "sampled"),
            (self.wasted, "binned"),
            (self.given, "given away"),
            (self.returned, "returned"),
        ];
        places.into_iter().filter(|(n, _)| *n != 0).map(|(n, place)| format!("{} {place}", said(n))).collect()
    }

    /// Nothing is less than nothing.
    pub fn sound(&self) -> bool {
        let Self { made, on_hand, on_hold, on_the_way, drawn, with_customers, .. } = *self;
        let Self { sold_public, sampled, wasted, given, returned, .. } = *self;
        [made, on_hand, on_hold, on_the_way, drawn, with_customers, sold_public, sampled, wasted, given, returned]
            .iter()
            .all(|amount| *amount >= 0)
    }
}

/// A named decision about packs that were brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct BackDecision {
    pub temp_dc: i64,
    /// Minutes out of the cold.
    pub out_min: i64,
    pub by: PersonId,
}
