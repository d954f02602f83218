//! A trace as a tree that opens and closes: branches, the rows that are open, and the way to a row in words.

use std::collections::{BTreeMap, BTreeSet};

use super::{Node, Thing, Trace, Way};
use crate::domain::text::counted;

/// Things side by side that lead on to the same: trays of one batch that were cut into one lot are one branch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Branch {
    pub nodes: Vec<Node>,
    /// How much of it, where that is one amount.
    pub amount: String,
}

/// A row of the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Branches from the root to this one, each by its first thing.
    pub path: Vec<Node>,
    pub branch: Branch,
    /// Something lies behind it.
    pub leads_on: bool,
    pub open: bool,
}

impl Row {
    pub fn depth(&self) -> usize {
        self.path.len().saturating_sub(1)
    }

    /// The thing it stands for; of several trays the first.
    pub fn node(&self) -> Option<Node> {
        self.branch.nodes.first().copied()
    }
}

/// Rows that are opened by themselves when a tree is shown first.
const FIRST_ROWS: usize = 16;

impl Trace {
    /// Where the tree begins: one branch a root, trays with the same way on together.
    pub fn trunk(&self) -> Vec<Branch> {
        self.grouped(self.roots.iter().map(|node| (*node, "")))
    }

    /// What lies one step on from a branch.
    pub fn branches(&self, of: &[Node]) -> Vec<Branch> {
        let mut found: BTreeMap<Node, &str> = BTreeMap::new();
        for node in of {
            for (next, amount) in self.next(*node) {
                // of several trays that went into one lot no single amount is all of it
                let amount = if of.len() == 1 { amount } else { "" };
                found.entry(next).or_insert(amount);
            }
        }
        self.grouped(found.into_iter())
    }

    fn grouped<'a>(&self, nodes: impl Iterator<Item = (Node, &'a str)>) -> Vec<Branch> {
        let mut branches: Vec<(Option<BTreeSet<Node>>, Branch)> = Vec::new();
        for (node, amount) in nodes {
            let ways = matches!(node, Node::Tray(_)).then(|| self.next(node).map(|(next, _)| next).collect());
            match branches.iter_mut().find(|(known, _)| ways.is_some() && *known == ways) {
                Some((_, branch)) => {
                    branch.nodes.push(node);
                    branch.amount.clear();
                }
                None => branches.push((ways, Branch { nodes: vec![node], amount: amount.to_string() })),
            }
        }
        branches.into_iter().map(|(_, branch)| branch).collect()
    }

    /// The rows that show, given the paths that are open.
    pub fn rows(&self, open: &BTreeSet<Vec<Node>>) -> Vec<Row> {
        let mut rows = Vec::new();
        self.grow(self.trunk(), &[], open, &mut rows);
        rows
    }

    fn grow(&self, branches: Vec<Branch>, above: &[Node], open: &BTreeSet<Vec<Node>>, rows: &mut Vec<Row>) {
        for branch in branches {
            let Some(first) = branch.nodes.first().copied() else { continue };
            let path: Vec<Node> = above.iter().copied().chain([first]).collect();
            let next = self.branches(&branch.nodes);
            let is_open = open.contains(&path);
            rows.push(Row { path: path.clone(), branch, leads_on: !next.is_empty(), open: is_open });
            if is_open {
                self.grow(next, &path, open, rows);
            }
        }
    }

    /// Opens level by level as far as a screen holds.
    pub fn first_open(&self) -> BTreeSet<Vec<Node>> {
        let mut open = BTreeSet::new();
        loop {
            let shut: Vec<Vec<Node>> =
                self.rows(&open).into_iter().filter(|row| row.leads_on && !row.open).map(|row| row.path).collect();
            let mut wider = open.clone();
            wider.extend(shut.iter().cloned());
            if shut.is_empty() || self.rows(&wider).len() > FIRST_ROWS {
                return open;
            }
            open = wider;
        }
    }

    /// What a branch is called in a row: `4 trays T0001-W, T0002-U, ...`.
    pub fn label(&self, branch: &Branch) -> String {
        let thing = |node: &Node| self.things.get(node);
        match branch.nodes.as_slice() {
            [one] => thing(one).map_or_else(String::new, Thing::label),
            many => {
                let codes: Vec<&str> =
                    many.iter().take(3).filter_map(|node| Some(thing(node)?.code.as_str())).collect();
                let more = if many.len() > 3 { ", ..." } else { "" };
                format!("{} {}{more}", counted(many.len(), "tray"), codes.join(", "))
            }
        }
    }

    /// Whether something of a branch is held.
    pub fn held(&self, branch: &Branch) -> bool {
        branch.nodes.iter().any(|node| self.things.get(node).is_some_and(|thing| thing.held))
    }

    /// The way to a row, from the root on, in one sentence.
    pub fn path_words(&self, path: &[Node]) -> String {
        let mut words = String::new();
        let mut branches = self.trunk();
        let mut before: Option<Node> = None;
        for node in path {
            let Some(branch) = branches.iter().find(|branch| branch.nodes.first() == Some(node)).cloned() else {
                break;
            };
            if let Some(before) = before {
                words.push_str(verb(self.way, before, *node));
                if !branch.amount.is_empty() {
                    words.push_str(&branch.amount);
                    words.push_str(preposition(self.way, before, *node));
                }
            }
            words.push_str(&self.label(&branch));
            branches = self.branches(&branch.nodes);
            before = Some(*node);
        }
        if !words.is_empty() {
            words.push('.');
        }
        words
    }
}

impl Thing {
    /// `PEA-260712-A-V pea`, `Bell Table 2026-07-12`.
    pub fn label(&self) -> String {
        match (self.node, self.day) {
            (Node::Delivery(_) | Node::Round(_), Some(day)) => format!("{}, {day}", self.name),
            (Node::Tray(_), _) => self.code.clone(),
            _ => format!("{} {}", self.code, self.name).trim().to_string(),
        }
    }
}

/// How one thing leads to the next, with the amount after it where there is one.
fn verb(way: Way, from: Node, to: Node) -> &'static str {
    match (way, from, to) {
        (Way::Forward, Node::SeedLot(_), _) => ", sown with ",
        (Way::Forward, Node::Sowing(_), _) => ", on ",
        (Way::Forward, Node::Tray(_), _) => ", cut: ",
        (Way::Forward, _, Node::Delivery(_)) => ", delivered: ",
        (Way::Forward, _, Node::Round(_)) => ", sold or given to the public: ",
        (Way::Forward, Node::Mix(_), _) => ", sprayed on ",
        (Way::Forward, Node::Material(_), Node::Lot(_)) => ", around ",
        (Way::Forward, Node::Material(_), _) => ", under or in ",
        (Way::Forward, ..) => ", packed: ",
        (Way::Back, Node::Lot(_), Node::Lot(_)) => ", packed from ",
        (Way::Back, Node::Lot(_), Node::Tray(_)) => ", cut from ",
        (Way::Back, Node::Lot(_), _) => ", packed in ",
        (Way::Back, _, Node::SeedLot(_)) => ", sown with ",
        (Way::Back, _, Node::Sowing(_)) => ", of batch ",
        (Way::Back, _, Node::Material(_)) => ", on ",
        (Way::Back, ..) => ", from ",
    }
}

/// Between an amount and what it is of or for.
fn preposition(way: Way, from: Node, to: Node) -> &'static str {
    match (way, from, to) {
        (Way::Forward, _, Node::Delivery(_) | Node::Round(_)) => " to ",
        (Way::Forward, Node::SeedLot(_), _) => " as batch ",
        (Way::Back, ..) | (Way::Forward, Node::Sowing(_), _) => " of ",
        (Way::Forward, ..) => " into ",
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Link, Start};
    use super::*;
    use crate::domain::id::{DeliveryId, LotId, SeedLotId, SowingId, TrayId};

    const SEED: Node = Node::SeedLot(SeedLotId(1));
    const BATCH: Node = Node::Sowing(SowingId(1));
    const HARVEST: Node = Node::Lot(LotId(1));
    const PACK: Node = Node::Lot(LotId(2));
    const TABLE: Node = Node::Delivery(DeliveryId(1));

    fn tray(id: i64) -> Node {
        Node::Tray(TrayId(id))
    }

    fn thing(node: Node, code: &str, name: &str) -> (Node, Thing) {
        let day = matches!(node, Node::Delivery(_)).then(|| "2026-07-12".parse().unwrap());
        let (code, name) = (code.to_string(), name.to_string());
        (node, Thing { node, code, name, day, words: String::new(), here: String::new(), held: node == PACK })
    }

    /// Seed on three trays, two of them cut into one lot, packed, delivered.
    fn trace(way: Way, roots: Vec<Node>) -> Trace {
        let link = |from, to, amount: &str| Link { from, to, amount: amount.into() };
        Trace {
            start: Start::SeedLot(SeedLotId(1)),
            way,
            title: String::new(),
            roots,
            things: [
                thing(SEED, "S0001-X", "pea"),
                thing(BATCH, "B0001-Q", "pea"),
                thing(tray(1), "T0001-W", "pea"),
                thing(tray(2), "T0002-U", "pea"),
                thing(tray(3), "T0003-S", "pea"),
                thing(HARVEST, "PEA-260711-A-Z", "pea"),
                thing(PACK, "PEA-260712-A-V", "pea 100 g"),
                thing(TABLE, "7", "Bell Table"),
            ]
            .into(),
            links: vec![
                link(SEED, BATCH, "400 g"),
                link(BATCH, tray(1), "2 mats"),
                link(BATCH, tray(2), "2 mats"),
                link(BATCH, tray(3), "2 mats"),
                link(tray(1), HARVEST, "2 mats"),
                link(tray(2), HARVEST, "1 of 2 mats"),
                link(HARVEST, PACK, "900 g"),
                link(PACK, TABLE, "6 packs"),
            ],
            recipients: vec![],
            public: vec![],
        }
    }

    fn shown(trace: &Trace, open: &BTreeSet<Vec<Node>>) -> Vec<String> {
        let row = |row: &Row| format!("{}{}", "  ".repeat(row.depth()), trace.label(&row.branch));
        trace.rows(open).iter().map(row).collect()
    }

    #[test]
    fn trays_that_lead_to_the_same_are_one_branch_and_the_rest_another() {
        let trace = trace(Way::Forward, vec![SEED]);
        assert_eq!(
            shown(&trace, &trace.first_open()),
            [
                "S0001-X pea",
                "  B0001-Q pea",
                "    2 trays T0001-W, T0002-U",
                "      PEA-260711-A-Z pea",
                "        PEA-260712-A-V pea 100 g",
                "          Bell Table, 2026-07-12",
                "    T0003-S",
            ]
        );
        assert_eq!(shown(&trace, &BTreeSet::new()), ["S0001-X pea"]);
    }

    #[test]
    fn the_way_to_a_row_reads_as_a_sentence_both_ways() {
        let forward = trace(Way::Forward, vec![SEED]);
        let rows = forward.rows(&forward.first_open());
        assert_eq!(
            forward.path_words(&rows[5].path),
            "S0001-X pea, sown with 400 g as batch B0001-Q pea, on 2 trays T0001-W, T0002-U, cut: PEA-260711-A-Z pea, packed: \
             900 g into PEA-260712-A-V pea 100 g, delivered: 6 packs to Bell Table, 2026-07-12."
        );
        let back = trace(Way::Back, vec![PACK]);
        let rows = back.rows(&back.first_open());
        assert_eq!(
            back.path_words(&rows.last().unwrap().path),
            "PEA-260712-A-V pea 100 g, packed from 900 g of PEA-260711-A-Z pea, cut from 2 trays T0001-W, T0002-U, of batch \
             B0001-Q pea, sown with 400 g of S0001-X pea."
        );
        assert!(back.held(&rows[0].branch) && !back.held(&rows[1].branch));
    }

    #[test]
    fn a_wide_tree_opens_only_as_far_as_a_screen_holds() {
        let mut trace = trace(Way::Forward, vec![PACK]);
        for id in 2..40 {
            let node = Node::Delivery(DeliveryId(id));
            trace.things.extend([thing(node, "8", "Bell Table")]);
            trace.links.push(Link { from: PACK, to: node, amount: "1 pack".into() });
        }
        assert_eq!(trace.rows(&trace.first_open()).len(), 1);
        assert_eq!(trace.rows(&BTreeSet::from([vec![PACK]])).len(), 40);
    }
}
