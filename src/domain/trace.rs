//! What a lot was made of, and what was made of it: things, the links between them, and the ways through both.

mod conclude;
mod dossier;
pub mod event;
pub mod touch;
mod tree;

use std::collections::{BTreeMap, BTreeSet};

pub use conclude::conclusions;
pub use dossier::{Dossier, LOCAL, UsList};
pub use tree::{Branch, Row};

use super::id::{
    DeliveryId, LotId, MaterialLotId, MixId, PersonId, PlaceId, RoundId, SeedLotId, SowingId, StoreId, ToolId, TrayId,
};
use super::time::{Day, Instant};
use super::words::words;

words!(
    /// Which way one looks.
    Way {
        /// What it was made of.
        Back = "back" / "what it was made of",
        /// What was made of it, and who has it.
        Forward = "forward" / "what was made of it, and who has it",
    }
);

impl Way {
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Back => Self::Forward,
            Self::Forward => Self::Back,
        }
    }
}

/// Days, both ends among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Days {
    pub from: Day,
    pub to: Day,
}

impl Days {
    /// `2026-07-11`, `2026-07-11 to 2026-07-13`.
    pub fn words(self) -> String {
        if self.from == self.to { self.from.to_string() } else { format!("{} to {}", self.from, self.to) }
    }
}

/// From a moment up to another, both among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Hours {
    pub from: Instant,
    pub to: Instant,
}

impl Hours {
    /// In UTC, as the book writes it: it is read in the log of every terminal.
    pub fn words(self) -> String {
        format!("{} to {}", self.from, self.to)
    }
}

/// What a trace begins with, and what is held.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum Start {
    SeedLot(SeedLotId),
    /// A lot of a medium, an ingredient or packaging.
    Material(MaterialLotId),
    /// A prepared bottle.
    Mix(MixId),
    /// A batch with all its trays, also those cut.
    Sowing(SowingId),
    Tray(TrayId),
    /// A harvest or pack lot, with everything made of it.
    Lot(LotId),
    /// Several that it may be: all that a complaint leaves open.
    Lots(Vec<LotId>),
    /// Everything a knife, a table or a scale touched on some days.
    Tool(ToolId, Days),
    /// Trays that got water of a source on some days.
    Water(String, Days),
    /// Trays that stood at a place on some days.
    Place(PlaceId, Days),
    /// Lots that lay in a cold store in some hours.
    Store(StoreId, Hours),
    /// Trays and lots that were in someone's hands in some hours.
    Person(PersonId, Hours),
}

/// What a typed or scanned code stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Typed {
    pub start: Start,
    /// Of an old code: which one stands in its place.
    pub note: Option<String>,
}

/// One thing in a trace. The order is that of the way from seed to customer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub enum Node {
    SeedLot(SeedLotId),
    Material(MaterialLotId),
    Mix(MixId),
    Tool(ToolId),
    Sowing(SowingId),
    Tray(TrayId),
    Lot(LotId),
    Delivery(DeliveryId),
    /// A stall, or what a round gave to the public.
    Round(RoundId),
}

/// What is known of a thing, for one line.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Thing {
    pub node: Node,
    /// As on its label; of a delivery its number.
    pub code: String,
    /// Crop, product, customer, or place of a stall.
    pub name: String,
    /// Received, sown, cut, packed, delivered.
    pub day: Option<Day>,
    /// Supplier and their lot, how many trays, where a tray stands or how it ended, who phones.
    pub words: String,
    /// What is still here of it, in words; empty if nothing is.
    pub here: String,
    pub held: bool,
}

/// Something of one thing went into another.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Link {
    /// Nearer to the seed.
    pub from: Node,
    /// Nearer to the customer.
    pub to: Node,
    /// `400 g`, `2 of 4 mats`, `12 packs`; empty where nobody weighed it.
    pub amount: String,
}

/// Who got something, as a call needs it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Recipient {
    pub delivery: DeliveryId,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub day: Day,
    pub lot: LotId,
    pub code: String,
    pub product: String,
    pub packs: i64,
    /// Of these, came back.
    pub returned: i64,
}

/// What was sold or given to people nobody can call.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Public {
    pub round: RoundId,
    /// Its name and place.
    pub place: String,
    pub hours: String,
    pub day: Day,
    pub lot: LotId,
    pub code: String,
    pub product: String,
    pub packs: i64,
}

/// A trace: what it began with, everything one comes to, and the links.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Trace {
    pub start: Start,
    pub way: Way,
    /// What it began with, in words.
    pub title: String,
    /// Where the ways begin.
    pub roots: Vec<Node>,
    #[serde(serialize_with = "values")]
    pub things: BTreeMap<Node, Thing>,
    pub links: Vec<Link>,
    /// Forward only.
    pub recipients: Vec<Recipient>,
    pub public: Vec<Public>,
}

fn values<S: serde::Serializer>(things: &BTreeMap<Node, Thing>, to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(things.values())
}

impl Trace {
    /// What lies one step on from a thing, in the trace's own way, each with how much of it.
    pub fn next(&self, node: Node) -> impl Iterator<Item = (Node, &str)> {
        let (way, links) = (self.way, &self.links);
        links.iter().filter_map(move |link| match way {
            Way::Back if link.to == node => Some((link.from, link.amount.as_str())),
            Way::Forward if link.from == node => Some((link.to, link.amount.as_str())),
            _ => None,
        })
    }

    /// Everything that one comes to from a thing, itself among it.
    pub fn reach(&self, from: Node) -> BTreeSet<Node> {
        let mut found = BTreeSet::from([from]);
        let mut todo = vec![from];
        while let Some(node) = todo.pop() {
            todo.extend(self.next(node).map(|(next, _)| next).filter(|next| found.insert(*next)));
        }
        found
    }

    /// Things that every root comes to, and those that only some do, with how many: what holds whichever it is.
    pub fn shared(&self) -> (Vec<Node>, Vec<(Node, usize)>) {
        let mut count: BTreeMap<Node, usize> = BTreeMap::new();
        for root in &self.roots {
            for node in self.reach(*root) {
                *count.entry(node).or_default() += 1;
            }
        }
        let all = self.roots.len();
        let (sure, some): (Vec<_>, Vec<_>) = count.into_iter().partition(|(_, n)| *n == all);
        (sure.into_iter().map(|(node, _)| node).collect(), some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lot(id: i64) -> Node {
        Node::Lot(LotId(id))
    }

    fn link(from: Node, to: Node) -> Link {
        Link { from, to, amount: "1 g".into() }
    }

    /// Two packs of one harvest, one of them with another harvest in it.
    fn trace(way: Way, roots: Vec<Node>) -> Trace {
        let seed = |id| Node::SeedLot(SeedLotId(id));
        Trace {
            start: Start::Lots(vec![]),
            way,
            title: String::new(),
            roots,
            things: BTreeMap::new(),
            links: vec![
                link(seed(1), lot(1)),
                link(seed(2), lot(2)),
                link(lot(1), lot(3)),
                link(lot(1), lot(4)),
                link(lot(2), lot(4)),
            ],
            recipients: vec![],
            public: vec![],
        }
    }

    #[test]
    fn what_holds_for_every_candidate_is_told_apart_from_what_holds_for_some() {
        let (sure, some) = trace(Way::Back, vec![lot(3), lot(4)]).shared();
        assert_eq!(sure, [Node::SeedLot(SeedLotId(1)), lot(1)]);
        assert_eq!(some, [(Node::SeedLot(SeedLotId(2)), 1), (lot(2), 1), (lot(3), 1), (lot(4), 1)]);
    }

    #[test]
    fn a_way_forward_comes_to_every_pack_once() {
        let trace = trace(Way::Forward, vec![Node::SeedLot(SeedLotId(2))]);
        assert_eq!(
            trace.reach(trace.roots[0]).into_iter().collect::<Vec<_>>(),
            [Node::SeedLot(SeedLotId(2)), lot(2), lot(4)]
        );
        assert_eq!(trace.next(lot(2)).collect::<Vec<_>>(), [(lot(4), "1 g")]);
    }
}
