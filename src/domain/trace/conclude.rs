//! What a trace comes to, in a few sentences.

use std::collections::BTreeSet;

use super::{Node, Thing, Trace, Way};
use crate::domain::id::DeliveryId;
use crate::domain::text::counted;

/// Codes that are told one by one.
const TOLD: usize = 6;

/// What follows from a trace.
pub fn conclusions(trace: &Trace) -> Vec<String> {
    match (trace.way, trace.roots.as_slice()) {
        (_, []) => vec!["Nothing is known of it.".into()],
        (Way::Back, [one]) => from(trace, *one),
        (Way::Back, several) => candidates(trace, several.len()),
        (Way::Forward, _) => to(trace),
    }
}

/// Things of one kind by their labels: `seed lot S0001-X pea`.
fn kinds<'a>(trace: &'a Trace, nodes: &[Node]) -> Vec<String> {
    let of = |is: fn(&Node) -> bool| -> Vec<&'a Thing> {
        nodes.iter().filter(|node| is(node)).filter_map(|node| trace.things.get(node)).collect()
    };
    let mut words = Vec::new();
    for (noun, many, things) in [
        ("seed lot", "seed lots", of(|node| matches!(node, Node::SeedLot(_)))),
        ("batch", "batches", of(|node| matches!(node, Node::Sowing(_)))),
        ("tray", "trays", of(|node| matches!(node, Node::Tray(_)))),
        ("lot", "lots", of(|node| matches!(node, Node::Lot(_)))),
    ] {
        let labels: Vec<String> = things.iter().take(TOLD).map(|thing| thing.label()).collect();
        let more = things.len().saturating_sub(TOLD);
        let more = if more > 0 { format!(" and {}", counted(more, "other")) } else { String::new() };
        match things.len() {
            0 => {}
            1 => words.push(format!("{noun} {}", labels.join(", "))),
            n => words.push(format!("{n} {many}: {}{more}", labels.join(", "))),
        }
    }
    words
}

/// One lot, back.
fn from(trace: &Trace, root: Node) -> Vec<String> {
    let reached: Vec<Node> = trace.reach(root).into_iter().filter(|node| *node != root).collect();
    let kinds = kinds(trace, &reached);
    if kinds.is_empty() {
        return vec!["Nothing lies before it in the book.".into()];
    }
    vec![format!("It was made of {}.", kinds.join("; "))]
}

/// Several lots it may be: what holds for each of them, and what only for some.
fn candidates(trace: &Trace, all: usize) -> Vec<String> {
    let (sure, some) = trace.shared();
    let roots: BTreeSet<Node> = trace.roots.iter().copied().collect();
    let sure = kinds(trace, &sure);
    let mut words = vec![if sure.is_empty() {
        format!("Nothing holds for all {all} lots it may be: no seed lot, batch or tray is in each of them.")
    } else {
        format!("Whichever of the {all} lots it is, in each is {}.", sure.join("; "))
    }];
    for (node, n) in some.into_iter().filter(|(node, _)| !roots.contains(node)) {
        // a tray in one of the candidates only is told with its batch
        if let (Node::SeedLot(_) | Node::Sowing(_), Some(thing)) = (node, trace.things.get(&node)) {
            words.push(format!("{} is in {n} of the {all} only.", thing.label()));
        }
    }
    words
}

/// Forward: who has how much, and what is still here.
fn to(trace: &Trace) -> Vec<String> {
    let mut words = Vec::new();
    let sum = |packs: &mut dyn Iterator<Item = i64>| usize::try_from(packs.sum::<i64>()).unwrap_or(0);
    let deliveries: BTreeSet<DeliveryId> = trace.recipients.iter().map(|got| got.delivery).collect();
    let customers: BTreeSet<&str> = trace.recipients.iter().map(|got| got.name.as_str()).collect();
    let packs = sum(&mut trace.recipients.iter().map(|got| got.packs));
    let back = sum(&mut trace.recipients.iter().map(|got| got.returned));
    if !deliveries.is_empty() {
        let back = if back > 0 { format!("; {} came back", counted(back, "pack")) } else { String::new() };
        let deliveries = match deliveries.len() {
            1 => "1 delivery".to_string(),
            n => format!("{n} deliveries"),
        };
        let names: Vec<&str> = customers.iter().copied().collect();
        let who = counted(names.len(), "customer");
        words.push(format!("{} went to {who} in {deliveries}: {}{back}.", counted(packs, "pack"), names.join(", ")));
    }
    let public = sum(&mut trace.public.iter().map(|sold| sold.packs));
    if public > 0 {
        let places: BTreeSet<&str> = trace.public.iter().map(|sold| sold.place.as_str()).collect();
        let places = places.into_iter().collect::<Vec<_>>().join("; ");
        words.push(format!(
            "{} were sold or given to the public, whom nobody can call: {places}.",
            counted(public, "pack")
        ));
    }
    if words.is_empty() {
        words.push("Nothing of it went to anyone.".into());
    }
    let here: Vec<String> = trace
        .things
        .values()
        .filter(|thing| !thing.here.is_empty())
        .take(TOLD)
        .map(|thing| format!("{}, {}", thing.label(), thing.here))
        .collect();
    let all = trace.things.values().filter(|thing| !thing.here.is_empty()).count();
    let more = if all > here.len() { format!("; and {}", counted(all - here.len(), "other")) } else { String::new() };
    if here.is_empty() {
        words.push("Nothing of it is here any more.".into());
    } else {
        words.push(format!("Still here: {}{more}.", here.join("; ")));
    }
    let held = trace.things.values().filter(|thing| thing.held).count();
    if held > 0 {
        words.push(format!("Held: {held} of {} things.", trace.things.len()));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::super::{Link, Public, Recipient, Start};
    use super::*;
    use crate::domain::id::{LotId, RoundId, SeedLotId, SowingId};

    fn seed(id: i64) -> Node {
        Node::SeedLot(SeedLotId(id))
    }

    fn batch(id: i64) -> Node {
        Node::Sowing(SowingId(id))
    }

    fn lot(id: i64) -> Node {
        Node::Lot(LotId(id))
    }

    /// Seed 1 in both packs, seed 2 in the second only.
    fn trace(way: Way, roots: Vec<Node>) -> Trace {
        let thing = |node: Node, code: &str| {
            let (code, name) = (code.to_string(), "pea".to_string());
            (node, Thing { node, code, name, day: None, words: String::new(), here: String::new(), held: false })
        };
        let link = |from, to| Link { from, to, amount: String::new() };
        Trace {
            start: Start::Lots(vec![]),
            way,
            title: String::new(),
            roots,
            things: [
                thing(seed(1), "S0001-X"),
                thing(seed(2), "S0002-V"),
                thing(batch(1), "B0001-Q"),
                thing(batch(2), "B0002-O"),
                thing(lot(1), "PEA-260712-A-V"),
                thing(lot(2), "MIX-260712-A-H"),
            ]
            .into(),
            links: vec![
                link(seed(1), batch(1)),
                link(seed(2), batch(2)),
                link(batch(1), lot(1)),
                link(batch(1), lot(2)),
                link(batch(2), lot(2)),
            ],
            recipients: vec![],
            public: vec![],
        }
    }

    #[test]
    fn one_lot_says_what_it_was_made_of() {
        assert_eq!(
            conclusions(&trace(Way::Back, vec![lot(2)])),
            ["It was made of 2 seed lots: S0001-X pea, S0002-V pea; 2 batches: B0001-Q pea, B0002-O pea."]
        );
        assert_eq!(conclusions(&trace(Way::Back, vec![seed(1)])), ["Nothing lies before it in the book."]);
    }

    #[test]
    fn of_several_lots_it_may_be_what_all_share_is_told_apart_from_what_some_have() {
        assert_eq!(
            conclusions(&trace(Way::Back, vec![lot(1), lot(2)])),
            [
                "Whichever of the 2 lots it is, in each is seed lot S0001-X pea; batch B0001-Q pea.",
                "S0002-V pea is in 1 of the 2 only.",
                "B0002-O pea is in 1 of the 2 only.",
            ]
        );
        let mut apart = trace(Way::Back, vec![lot(1), lot(2)]);
        apart.links.retain(|link| (link.from, link.to) != (batch(1), lot(2)));
        assert!(conclusions(&apart)[0].starts_with("Nothing holds for all 2 lots"));
    }

    #[test]
    fn forward_it_says_who_has_how_much_and_what_is_left() {
        let mut trace = trace(Way::Forward, vec![seed(1)]);
        assert_eq!(conclusions(&trace), ["Nothing of it went to anyone.", "Nothing of it is here any more."]);
        let got = |delivery, name: &str, packs, returned| Recipient {
            delivery: DeliveryId(delivery),
            name: name.into(),
            address: String::new(),
            phone: String::new(),
            day: "2026-07-12".parse().unwrap(),
            lot: LotId(1),
            code: String::new(),
            product: String::new(),
            packs,
            returned,
        };
        trace.recipients = vec![got(1, "Table", 4, 1), got(2, "Table", 2, 0), got(3, "Bell", 3, 0)];
        trace.public = vec![Public {
            round: RoundId(1),
            place: "Quay market".into(),
            hours: String::new(),
            day: "2026-07-12".parse().unwrap(),
            lot: LotId(1),
            code: String::new(),
            product: String::new(),
            packs: 5,
        }];
        if let Some(thing) = trace.things.get_mut(&lot(1)) {
            (thing.here, thing.held) = ("2 packs".into(), true);
        }
        assert_eq!(
            conclusions(&trace),
            [
                "9 packs went to 2 customers in 3 deliveries: Bell, Table; 1 pack came back.",
                "5 packs were sold or given to the public, whom nobody can call: Quay market.",
                "Still here: PEA-260712-A-V pea, 2 packs.",
                "Held: 1 of 6 things.",
            ]
        );
    }
}
