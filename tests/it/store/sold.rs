//! Products, customers, orders, stock, deliveries, rounds, live trays: what is refused, what holds when it was done, and
//! that everything made is somewhere.

mod account;
mod back;
mod holds;
mod names;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::{NewDelivery, NewReturn, Packs};
use rackwalk::domain::harvest::{NewCutCheck, NewHarvest};
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{CropId, CustomerId, DeliveryId, LotId, OrderId, ProductId, RoundId, TrayId};
use rackwalk::domain::lot::Lot;
use rackwalk::domain::order::{NewOrder, Wanted};
use rackwalk::domain::packing::{Draw, NewLive, NewRun};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::round::{How, Kind as RoundKind, NewRound, Settled, Settling};
use rackwalk::domain::sender::Sender;
use rackwalk::domain::stock::{Away, BackDecision, CameBack, NewMove};
use rackwalk::domain::trace::Start;

use super::{assert_sound, crop, dump, person, raw};
use crate::book::{AK, Book};
use crate::screens::stock::ready;

/// The rules met here.
pub(super) const MET: &[&str] = &[
    "back_measured",
    "back_warm",
    "customer",
    "customer_ordered",
    "customer_taken",
    "customer_unknown",
    "deliver_address",
    "deliver_nothing",
    "deliver_order",
    "deliver_temp",
    "deliver_twice",
    "deliver_unpacked",
    "delivery_unknown",
    "empties_over",
    "empties_washed",
    "live_crop",
    "live_limit",
    "live_product",
    "lot_below_zero",
    "order_amount",
    "order_customer",
    "order_day",
    "order_delivered",
    "order_twice",
    "order_unknown",
    "product",
    "product_crop",
    "product_gtin",
    "product_kind",
    "product_ordered",
    "product_taken",
    "product_there",
    "return_decided",
    "return_over",
    "return_reason",
    "return_undecided",
    "returned_over",
    "round_future",
    "round_name",
    "round_nothing",
    "round_over",
    "round_public",
    "round_reason",
    "round_temp",
    "round_unknown",
    "sample_kept",
    "sender",
    "stall_place",
    "stock_amount",
    "stock_over",
    "stock_reason",
    "stock_same",
];

/// Pea and radish cut and packed, a customer with an address and one without.
pub(super) struct Shop {
    pub book: Book,
    /// 1240 g of pea, 480 g of radish before packing.
    pub pea: LotId,
    /// 10 packs of pea, 8 of radish.
    pub shoots: LotId,
    pub radish: LotId,
    pub shoots_of: ProductId,
    pub radish_of: ProductId,
    pub table: CustomerId,
    pub nowhere: CustomerId,
}

fn product(book: &Book, name: &str) -> ProductId {
    let goods = book.store.goods(book.now.day()).unwrap();
    goods.products.iter().find(|product| product.name.starts_with(name)).unwrap().id
}

fn customer(name: &str, address: &str) -> Action {
    let new = NewCustomer { name: name.into(), address: address.into(), ..NewCustomer::default() };
    Action::AddCustomer(Box::new(new))
}

pub(super) fn pack(product: ProductId, lot: LotId, packs: i64, pack_g: i64) -> Action {
    let draws = vec![Draw { lot, grams: packs * pack_g, packs: None }];
    let new = NewRun {
        product,
        draws,
        packs,
        pack_g,
        trim_g: 0,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec![],
        packaging: None,
        sure: vec![],
    };
    Action::Pack(Box::new(new))
}

pub(super) fn checked(book: &mut Book) {
    let with = "soap".into();
    let new = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed: None };
    book.act(&Action::CheckCut(Box::new(new)));
}

fn trays(book: &Book, letters: &str) -> Vec<TrayId> {
    book.board().trays.iter().filter(|tray| tray.letters == letters).map(|tray| tray.id).collect()
}

pub(super) fn shop() -> Shop {
    let mut book = ready();
    checked(&mut book);
    let mut cut = |letters: &str, grams: i64| {
        let of = trays(&book, letters);
        LotId(book.act(&Action::Harvest(Box::new(NewHarvest::whole(&of, grams)))).made.unwrap())
    };
    let (pea, red) = (cut("PEA", 1240), cut("RAD", 480));
    let (shoots_of, radish_of) = (product(&book, "pea"), product(&book, "radish"));
    let shoots = LotId(book.act(&pack(shoots_of, pea, 10, 100)).made.unwrap());
    let radish = LotId(book.act(&pack(radish_of, red, 8, 50)).made.unwrap());
    let table = CustomerId(book.act(&customer("Table", "1 Quay")).made.unwrap());
    let nowhere = CustomerId(book.act(&customer("Nowhere", "")).made.unwrap());
    Shop { book, pea, shoots, radish, shoots_of, radish_of, table, nowhere }
}

impl Shop {
    pub fn delivery(&self, lines: &[(LotId, i64)]) -> NewDelivery {
        let lines = lines.iter().map(|(lot, packs)| Packs { lot: *lot, packs: *packs }).collect();
        NewDelivery {
            customer: self.table,
            order: None,
            round: None,
            lines,
            received_by: None,
            temp_dc: None,
            sure: vec![],
        }
    }

    pub fn deliver(&mut self, lines: &[(LotId, i64)]) -> DeliveryId {
        let new = self.delivery(lines);
        DeliveryId(self.book.act(&Action::Deliver(Box::new(new))).made.unwrap())
    }

    pub fn round(&self, kind: RoundKind, load: &[(LotId, i64)]) -> NewRound {
        let load = load.iter().map(|(lot, packs)| Packs { lot: *lot, packs: *packs }).collect();
        let (place, hours) = (Some("square".into()), Some("8 to 13".into()));
        let out_at = self.book.now.instant();
        NewRound { kind, name: "north".into(), out_at, temp_dc: Some(40), place, hours, load, sure: vec![] }
    }

    pub fn load(&mut self, kind: RoundKind, load: &[(LotId, i64)]) -> RoundId {
        let new = self.round(kind, load);
        RoundId(self.book.act(&Action::LoadRound(Box::new(new))).made.unwrap())
    }

    pub fn lot(&self, id: LotId) -> Lot {
        self.book.store.goods(self.book.now.day()).unwrap().lots.into_iter().find(|lot| lot.id == id).unwrap()
    }

    /// Refused by this rule, without a trace.
    pub fn bars(&mut self, rule: &str, action: &Action) {
        let conn = raw(&self.book.path);
        let before = dump(&conn);
        let refusal = self.book.refused(action);
        assert_eq!(refusal.rule, rule, "{}", refusal.sentence);
        assert_eq!(dump(&conn), before, "{rule} left a trace");
    }

    /// Done all the same, it is a breach of this rule, and what is left of the lot is held.
    pub fn breaks(&mut self, rule: &str, lot: LotId, action: &Action) {
        self.bars(rule, action);
        self.book.act(&Action::Already { action: Box::new(action.clone()), reason: "a rush".into() });
        assert!(self.book.board().breaches.iter().any(|breach| breach.rule == rule), "{rule}");
        assert!(self.lot(lot).held, "{rule}");
        assert_sound(&mut self.book);
    }
}

pub(super) fn settled(round: RoundId, lot: LotId, packs: i64, how: How) -> Action {
    Action::SettleRound(Box::new(Settling { round, lines: vec![Settled { lot, packs, how }] }))
}

pub(super) fn gone(lot: LotId, away: Away, amount: i64, reason: &str) -> Action {
    Action::MoveStock(Box::new(NewMove { lot, away, amount, reason: reason.into() }))
}

#[test]
fn products_customers_and_the_sender_are_refused_with_a_sentence() {
    let mut s = shop();
    let (pea, radish) = (crop(&s.book, "PEA").id, crop(&s.book, "RAD").id);
    let of = |kind, pack_g, parts: &[(CropId, i64)], name: &str, gtin: Option<&str>| NewProduct {
        name: name.into(),
        kind,
        pack_g,
        gtin: gtin.map(String::from),
        price_c: None,
        parts: parts.to_vec(),
    };
    let add = |new: NewProduct| Action::AddProduct(Box::new(new));
    let one = [(pea, 1000)];
    for new in [
        of(Kind::Crop, Some(50), &one, " ", None),
        of(Kind::Crop, Some(50), &[], "x", None),
        of(Kind::Crop, None, &one, "x", None),
        of(Kind::Crop, Some(20_001), &one, "x", None),
        of(Kind::Live, Some(50), &one, "x", None),
        of(Kind::Blend, Some(50), &one, "x", None),
        of(Kind::Blend, Some(50), &[(pea, 500), (radish, 400)], "x", None),
        of(Kind::Blend, Some(50), &[(pea, 500), (pea, 500)], "x", None),
        of(Kind::Crop, Some(50), &[(pea, 500), (radish, 500)], "x", None),
    ] {
        s.bars("product", &add(new));
    }
    s.bars("product_crop", &add(of(Kind::Crop, Some(50), &[(CropId(99), 1000)], "x", None)));
    s.bars("product_gtin", &add(of(Kind::Crop, Some(50), &one, "x", Some("6291041500214"))));
    s.bars("product_taken", &add(of(Kind::Crop, Some(50), &one, "pea shoots 100 g", None)));
    s.book.act(&add(of(Kind::Crop, Some(50), &one, "numbered", Some("6291041500213"))));
    let edit = |s: &Shop, retired, new: NewProduct| {
        let rev = s.book.store.goods(s.book.now.day()).unwrap().product(s.shoots_of).unwrap().rev;
        Action::EditProduct { product: s.shoots_of, new: Box::new(new), retired, rev }
    };
    let same = of(Kind::Crop, Some(100), &one, "pea shoots 100 g", None);
    let (off, nothing) = (edit(&s, true, same.clone()), edit(&s, false, same.clone()));
    s.bars("product_there", &off);
    s.bars("no_change", &nothing);
    let stale = Action::EditProduct { product: s.shoots_of, new: Box::new(same), retired: false, rev: 7 };
    s.bars("stale", &stale);
    s.bars("customer", &customer(" ", "x"));
    s.bars("customer_taken", &customer("Table", "x"));
    let sender = Sender { gs1_prefix: Some("12".into()), ..Sender::default() };
    s.bars("sender", &Action::EditSender { sender: Box::new(sender), rev: 0 });
    let sender = Sender { name: "Bench".into(), address: "1 Lane".into(), phone: "555".into(), ..Sender::default() };
    s.book.act(&Action::EditSender { sender: Box::new(sender.clone()), rev: 0 });
    let told = s.book.store.history(Of::Everything, None, 1).unwrap().remove(0).text;
    assert_eq!(told, "labels and notes: Bench, 1 Lane, 555; wash before eating; kept at 7.0 °C after us");
    s.bars("stale", &Action::EditSender { sender: Box::new(sender), rev: 0 });
    assert_sound(&mut s.book);
}

#[test]
fn orders_are_refused_changed_and_called_off() {
    let mut s = shop();
    let today = s.book.now.day();
    let of = |customer, day, lines: &[(ProductId, i64)]| {
        let lines = lines.iter().map(|(product, packs)| Wanted { product: *product, packs: *packs }).collect();
        NewOrder { customer, day, lines }
    };
    let order = |new: &NewOrder| Action::Order(Box::new(new.clone()));
    let (table, shoots) = (s.table, s.shoots_of);
    s.bars("customer_unknown", &order(&of(CustomerId(99), today, &[(shoots, 1)])));
    s.bars("product_unknown", &order(&of(table, today, &[(ProductId(99), 1)])));
    s.bars("order_day", &order(&of(table, today - Duration::days(1), &[(shoots, 1)])));
    s.bars("order_amount", &order(&of(table, today, &[])));
    s.bars("order_amount", &order(&of(table, today, &[(shoots, 0)])));
    s.bars("order_twice", &order(&of(table, today, &[(shoots, 1), (shoots, 2)])));
    let new = of(table, today, &[(shoots, 4)]);
    let id = OrderId(s.book.act(&order(&new)).made.unwrap());
    let goods = s.book.store.goods(today).unwrap();
    assert_eq!((goods.on_hand(shoots, today), goods.promised(shoots, today), goods.free(shoots, today)), (10, 4, 6));
    let rev = |s: &Shop| s.book.store.goods(today).unwrap().order(id).unwrap().rev;
    let delivery = NewDelivery { order: Some(id), ..s.delivery(&[(s.shoots, 3), (s.radish, 1)]) };
    s.book.act(&Action::Deliver(Box::new(delivery)));
    let goods = s.book.store.goods(today).unwrap();
    assert_eq!((goods.orders[0].lines[0].open(), goods.promised(shoots, today)), (1, 1));
    assert!(goods.deliveries[0].lines[1].extra, "radish was not ordered");
    let edit = |new: NewOrder, off, rev| Action::EditOrder { order: id, new: Box::new(new), off, rev };
    let at = rev(&s);
    s.bars("order_delivered", &edit(of(table, today, &[(shoots, 2)]), false, at));
    s.bars("stale", &edit(of(table, today, &[(shoots, 5)]), false, at + 1));
    s.book.act(&edit(of(table, today, &[(shoots, 5), (s.radish_of, 2)]), false, at));
    let at = rev(&s);
    assert!(s.book.store.goods(today).unwrap().orders[0].lines.len() == 2 && at > 0);
    let told = s.book.store.history(Of::Record(Record::Order, id.0), None, 1).unwrap().remove(0).text;
    assert!(told.contains("order of Table") && told.contains("5 × pea shoots 100 g"), "{told}");
    // nothing of a product that is ordered goes out of use
    let kale = NewProduct {
        name: "later".into(),
        kind: Kind::Crop,
        pack_g: Some(10),
        gtin: None,
        price_c: None,
        parts: vec![(crop(&s.book, "MUS").id, 1000)],
    };
    let later = ProductId(s.book.act(&Action::AddProduct(Box::new(kale.clone()))).made.unwrap());
    s.book.act(&order(&of(table, today, &[(later, 1)])));
    let rev_of = s.book.store.goods(today).unwrap().product(later).unwrap().rev;
    s.bars("product_ordered", &Action::EditProduct { product: later, new: Box::new(kale), retired: true, rev: rev_of });
    s.book.act(&edit(of(table, today, &[(shoots, 5)]), true, at));
    assert!(s.book.store.goods(today).unwrap().order(id).is_none());
    let late = NewDelivery { order: Some(id), ..s.delivery(&[(s.shoots, 1)]) };
    s.bars("order_unknown", &Action::Deliver(Box::new(late)));
    assert_sound(&mut s.book);
}

#[test]
fn stock_is_moved_and_counted_within_what_is_there() {
    let mut s = shop();
    let (pea, shoots) = (s.pea, s.shoots);
    s.bars("lot_unknown", &gone(LotId(99), Away::Waste, 1, "x"));
    s.bars("stock_reason", &gone(shoots, Away::Waste, 1, " "));
    s.bars("stock_amount", &gone(shoots, Away::Waste, 0, "x"));
    s.bars("stock_over", &gone(shoots, Away::Waste, 11, "x"));
    s.bars("stock_over", &gone(pea, Away::Waste, 241, "x"));
    s.book.act(&gone(pea, Away::Waste, 40, "dropped"));
    s.book.act(&gone(shoots, Away::Sample, 1, ""));
    s.bars("sample_kept", &gone(shoots, Away::Sample, 1, ""));
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    let last = s.lot(shoots).best_before.unwrap();
    assert_eq!(goods.samples[0].until, Some(last + Duration::days(7)));
    s.book.act(&gone(shoots, Away::Given, 1, "the neighbour"));
    let count = |counted, reason: &str| Action::CountStock { lot: shoots, counted, reason: reason.into() };
    s.bars("stock_reason", &count(7, ""));
    s.bars("stock_amount", &count(-1, "x"));
    s.bars("stock_same", &count(8, "x"));
    s.book.act(&count(7, "one is missing"));
    let account = s.book.store.account(shoots).unwrap();
    assert_eq!((account.on_hand, account.sampled, account.given, account.counted), (7, 1, 1, -1));
    assert_eq!(account.accounted_pm(), Some(900));
    // the count stands on the packs: they are not taken back under it
    assert_sound(&mut s.book);
    s.book.act(&Action::Undo);
    assert_eq!(s.book.store.account(shoots).unwrap().accounted_pm(), Some(1000));
    // what SQLite itself holds against
    let conn = raw(&s.book.path);
    let insert =
        "INSERT INTO stock_move (entry_id, lot_id, kind, packs, day) VALUES (1, ?1, 'waste', 99, '2026-07-11')";
    let refused = conn.execute(insert, [shoots.0]).unwrap_err().to_string();
    assert!(refused.contains("lot_below_zero"), "{refused}");
    let delivered = s.deliver(&[(shoots, 2)]);
    let conn = raw(&s.book.path);
    let insert = "INSERT INTO stock_move (entry_id, lot_id, kind, packs, day, delivery_id, what)
        VALUES (1, ?1, 'returned', 3, '2026-07-11', ?2, 'binned')";
    let refused = conn.execute(insert, [shoots.0, delivered.0]).unwrap_err().to_string();
    assert!(refused.contains("returned_over"), "{refused}");
}

#[test]
fn deliveries_and_returns_within_what_is_there() {
    let mut s = shop();
    let (shoots, radish, pea) = (s.shoots, s.radish, s.pea);
    let deliver = |new: NewDelivery| Action::Deliver(Box::new(new));
    let usual = s.delivery(&[(shoots, 4)]);
    for (rule, new) in [
        ("customer_unknown", NewDelivery { customer: CustomerId(99), ..usual.clone() }),
        ("deliver_address", NewDelivery { customer: s.nowhere, ..usual.clone() }),
        ("deliver_nothing", s.delivery(&[])),
        ("deliver_nothing", s.delivery(&[(shoots, 0)])),
        ("deliver_twice", s.delivery(&[(shoots, 1), (shoots, 1)])),
        ("deliver_temp", NewDelivery { temp_dc: Some(601), ..usual.clone() }),
        ("deliver_unpacked", s.delivery(&[(pea, 1)])),
        ("lot_unknown", s.delivery(&[(LotId(99), 1)])),
        ("stock_over", s.delivery(&[(shoots, 11)])),
        ("round_over", NewDelivery { round: Some(RoundId(99)), ..usual.clone() }),
    ] {
        s.bars(rule, &deliver(new));
    }
    let other = CustomerId(s.book.act(&customer("Other", "2 Quay")).made.unwrap());
    let day = s.book.now.day();
    let lines = vec![Wanted { product: s.shoots_of, packs: 1 }];
    let order = OrderId(s.book.act(&Action::Order(Box::new(NewOrder { customer: other, day, lines }))).made.unwrap());
    s.bars("deliver_order", &deliver(NewDelivery { order: Some(order), ..usual.clone() }));
    let warm =
        s.book.act(&deliver(NewDelivery { temp_dc: Some(51), received_by: Some("cook".into()), ..usual })).sentence;
    assert!(warm.contains("5.1 °C at the drop, warmer"), "{warm}");
    let cold = s.book.act(&deliver(NewDelivery { temp_dc: Some(50), ..s.delivery(&[(radish, 1)]) }));
    assert!(!cold.sentence.contains("warmer"), "5.0 °C is fine: {}", cold.sentence);
    let id = DeliveryId(1);
    let back = |packs, what, reason: &str| {
        Action::Return(Box::new(NewReturn { delivery: id, lot: shoots, packs, what, reason: reason.into() }))
    };
    s.bars("return_reason", &back(1, CameBack::Binned, " "));
    s.bars("stock_amount", &back(0, CameBack::Binned, "limp"));
    s.bars("return_over", &back(5, CameBack::Binned, "limp"));
    let unknown =
        NewReturn { delivery: DeliveryId(99), lot: shoots, packs: 1, what: CameBack::Binned, reason: "x".into() };
    s.bars("delivery_unknown", &Action::Return(Box::new(unknown)));
    let there = s.lot(shoots).packs;
    s.book.act(&back(2, CameBack::Undecided, "limp"));
    assert_eq!(s.lot(shoots).packs, there, "never sold again");
    let decide = |packs, what| Action::DecideReturn { delivery: id, lot: shoots, packs, what };
    s.bars("return_undecided", &decide(1, CameBack::Undecided));
    s.bars("return_decided", &decide(3, CameBack::Binned));
    s.book.act(&decide(2, CameBack::Sample));
    s.bars("return_decided", &decide(1, CameBack::Binned));
    // a delivery that something came back of is not taken back under it
    let told = s.book.store.history(Of::Lot(shoots), None, 9).unwrap();
    assert!(told.iter().any(|line| line.text.contains("delivery 1 to Table: 4 packs of")), "{told:?}");
    let note = s.book.store.delivery(id).unwrap().unwrap();
    assert_eq!((note.customer_name.as_str(), note.address.as_str(), note.lines[0].packs), ("Table", "1 Quay", 4));
    assert_eq!((note.lines[0].returned, note.received_by.as_deref()), (2, Some("cook")));
    assert_sound(&mut s.book);
}

#[test]
fn a_held_or_old_lot_does_not_go_out() {
    let mut s = shop();
    let (shoots, radish) = (s.shoots, s.radish);
    s.book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(shoots), None, "grit".into()))));
    assert!(s.lot(shoots).held);
    let deliver = Action::Deliver(Box::new(s.delivery(&[(shoots, 1)])));
    s.breaks("deliver_held", shoots, &deliver);
    s.bars("deliver_held", &Action::LoadRound(Box::new(s.round(RoundKind::Round, &[(shoots, 1)]))));
    s.bars("deliver_held", &gone(shoots, Away::Given, 1, "x"));
    // binning what is held is what ought to happen
    s.book.act(&gone(shoots, Away::Waste, 1, "grit"));
    s.book.later(Duration::days(40));
    let late = Action::Deliver(Box::new(s.delivery(&[(radish, 1)])));
    s.breaks("deliver_past", radish, &late);
}

#[test]
fn rounds_are_accounted_for_line_by_line() {
    let mut s = shop();
    let (shoots, radish, table) = (s.shoots, s.radish, s.table);
    let load = |new: NewRound| Action::LoadRound(Box::new(new));
    let usual = s.round(RoundKind::Stall, &[(shoots, 6)]);
    let ahead = s.book.now.plus(Duration::hours(1)).instant();
    for (rule, new) in [
        ("round_name", NewRound { name: " ".into(), ..usual.clone() }),
        ("stall_place", NewRound { place: None, ..usual.clone() }),
        ("stall_place", NewRound { hours: Some(" ".into()), ..usual.clone() }),
        ("round_temp", NewRound { temp_dc: Some(-201), ..usual.clone() }),
        ("round_future", NewRound { out_at: ahead, ..usual.clone() }),
        ("deliver_nothing", NewRound { load: vec![], ..usual.clone() }),
        ("stock_over", s.round(RoundKind::Stall, &[(shoots, 11)])),
    ] {
        s.bars(rule, &load(new));
    }
    let north = s.load(RoundKind::Round, &[(shoots, 6), (radish, 4)]);
    assert_eq!((s.lot(shoots).packs, s.lot(shoots).out_packs), (4, 6));
    let me = BackDecision { temp_dc: 41, out_min: 120, by: AK };
    let helper = person(&mut s.book, "JT", false);
    for (rule, action) in [
        ("round_unknown", settled(RoundId(99), shoots, 1, How::SoldPublic)),
        ("round_nothing", Action::SettleRound(Box::new(Settling { round: north, lines: vec![] }))),
        ("round_over", settled(north, shoots, 7, How::Given { to: "x".into() })),
        ("round_public", settled(north, shoots, 1, How::SoldPublic)),
        ("round_reason", settled(north, shoots, 1, How::Given { to: " ".into() })),
        ("round_reason", settled(north, shoots, 1, How::Binned { reason: String::new() })),
        ("round_reason", settled(north, shoots, 1, How::Refused { customer: table, reason: String::new() })),
        ("may_not_decide", settled(north, shoots, 1, How::BroughtBack(BackDecision { by: helper, ..me }))),
        ("back_measured", settled(north, shoots, 1, How::BroughtBack(BackDecision { out_min: -1, ..me }))),
    ] {
        s.bars(rule, &action);
    }
    let drop = NewDelivery { round: Some(north), ..s.delivery(&[(shoots, 2)]) };
    s.book.act(&Action::Deliver(Box::new(drop)));
    s.book.act(&settled(north, shoots, 2, How::Refused { customer: table, reason: "too much".into() }));
    assert_eq!(s.lot(shoots).out_packs, 4, "what was not taken stays on the round");
    s.book.act(&settled(north, shoots, 1, How::Delivered { customer: table, extra: true }));
    s.book.act(&settled(north, shoots, 1, How::Given { to: "a neighbour".into() }));
    s.book.act(&settled(north, radish, 1, How::Binned { reason: "squashed".into() }));
    s.book.act(&settled(north, shoots, 2, How::BroughtBack(me)));
    assert_eq!((s.lot(shoots).packs, s.lot(shoots).out_packs), (6, 0));
    // warm, or too long out, it does not go back into stock; done all the same, it is held
    let warm = How::BroughtBack(BackDecision { temp_dc: 51, ..me });
    s.bars("back_warm", &settled(north, radish, 1, How::BroughtBack(BackDecision { out_min: 241, ..me })));
    s.breaks("back_warm", radish, &settled(north, radish, 1, warm));
    let stall = s.load(RoundKind::Stall, &[(shoots, 3)]);
    let done = s.book.act(&settled(stall, shoots, 3, How::SoldPublic)).sentence;
    assert!(done.contains("everything is accounted for"), "{done}");
    let account = s.book.store.account(shoots).unwrap();
    assert_eq!((account.with_customers, account.sold_public, account.given, account.on_hand), (3, 3, 1, 3));
    assert_eq!(account.accounted_pm(), Some(1000));
    assert_sound(&mut s.book);
}

#[test]
fn live_trays_leave_as_a_lot_and_come_back_empty() {
    let mut book = ready();
    let (radish, mustard) = (trays(&book, "RAD"), trays(&book, "MUS"));
    let parts = vec![(crop(&book, "RAD").id, 1000)];
    let new =
        NewProduct { name: "radish, alive".into(), kind: Kind::Live, pack_g: None, gtin: None, price_c: None, parts };
    let live = ProductId(book.act(&Action::AddProduct(Box::new(new))).made.unwrap());
    let table = CustomerId(book.act(&customer("Table", "1 Quay")).made.unwrap());
    let leave = |product, trays: &[TrayId], best_before| {
        Action::LeaveAlive(Box::new(NewLive { product, trays: trays.to_vec(), best_before }))
    };
    let yesterday = book.now.day() - Duration::days(1);
    let packed = product(&book, "radish 50");
    for (rule, action) in [
        ("live_product", leave(packed, &radish[..1], None)),
        ("cut_nothing", leave(live, &[], None)),
        ("live_crop", leave(live, &mustard[..1], None)),
        ("live_limit", leave(live, &radish[..1], Some(yesterday))),
    ] {
        assert_eq!(book.refused(&action).rule, rule);
    }
    book.act(&Action::Hold(Box::new(NewHold::of(Start::Tray(radish[3]), None, "grit".into()))));
    assert_eq!(book.refused(&leave(live, &radish[3..], None)).rule, "cut_held");
    let lot = LotId(book.act(&leave(live, &radish[..2], None)).made.unwrap());
    let found = book.store.goods(book.now.day()).unwrap().lot(lot).cloned().unwrap();
    assert!(found.code.starts_with("RAD-260711-A-") && found.packs == 2, "{found:?}");
    let mut s =
        Shop { pea: lot, shoots: lot, radish: lot, shoots_of: live, radish_of: live, table, nowhere: table, book };
    s.deliver(&[(lot, 2)]);
    let empty = |trays, with: &str| Action::Empties { customer: table, trays, washed_with: with.into() };
    s.bars("empties_washed", &empty(1, " "));
    s.bars("empties_over", &empty(3, "soap"));
    s.book.act(&empty(1, "soap"));
    s.bars("empties_over", &empty(2, "soap"));
    assert_eq!(s.book.store.goods(s.book.now.day()).unwrap().customer(table).unwrap().trays_out, 1);
    assert_sound(&mut s.book);
}

/// Radish is cut about day 7; half of a tray of four mats is cut while the other half goes back to water. Common practice, no
/// source.
#[test]
fn half_a_tray_is_cut_and_the_rest_goes_on() {
    let mut book = ready();
    let radish = book.board().trays.iter().find(|tray| tray.letters == "RAD").cloned().unwrap();
    assert!((radish.plan.cut_from_d..=radish.plan.cut_to_d).contains(&7));
    checked(&mut book);
    let pea = trays(&book, "PEA")[0];
    let cuts = vec![rackwalk::domain::harvest::CutTray { tray: pea, mats: Some(2), grams: Some(160) }];
    let half = NewHarvest { cuts, grams: None, again: false, tools: vec![], sure: vec![] };
    let lot = LotId(book.act(&Action::Harvest(Box::new(half.clone()))).made.unwrap());
    assert_eq!(book.board().tray(pea).unwrap().mats_left, 2);
    book.act(&Action::Look(Box::new(rackwalk::domain::look::Look {
        watered: true,
        ..rackwalk::domain::look::Look::of(pea)
    })));
    book.act(&Action::Harvest(Box::new(half)));
    assert!(book.board().tray(pea).is_none(), "all of it is cut");
    // the yield goes to the tray's batch, as it was weighed
    let line = book.store.timeline(rackwalk::domain::id::SowingId(1)).unwrap();
    let told: Vec<String> = line.cuttings.iter().map(|cut| cut.words(rackwalk::domain::room::Units::Metric)).collect();
    assert_eq!(
        told,
        ["Sat 11 Jul: 160 g of 1 tray, lot PEA-260711-A-Z", "Sat 11 Jul: 160 g of 1 tray, lot PEA-260711-B-X"]
    );
    assert_eq!(line.on(10).unwrap().cut, 2, "once in part, once for good");
    assert_eq!(book.store.account(lot).unwrap().made, 160);
    assert_sound(&mut book);
}

/// What was made is somewhere: the vectors of our reference on withdrawal, by the store's own sums.
#[test]
fn the_sum_is_what_was_made() {
    let (mut s, lot) = made_48();
    let account = |s: &Shop| s.book.store.account(lot).unwrap();
    let first = s.deliver(&[(lot, 40)]);
    s.book.act(&gone(lot, Away::Sample, 1, ""));
    s.book.act(&gone(lot, Away::Waste, 2, "torn"));
    assert_eq!((account(&s).on_hand, account(&s).accounted_pm()), (5, Some(1000)));
    // without the two that were wasted: the shelf says 5, and two are nowhere
    s.book.act(&Action::Undo);
    s.book.act(&Action::CountStock { lot, counted: 5, reason: "as it stands there".into() });
    assert_eq!(account(&s).accounted_pm(), Some(958));
    // 40 with customers and ten on hand are more than were made
    let (mut s, lot) = made_48();
    s.deliver(&[(lot, 40)]);
    s.book.act(&Action::CountStock { lot, counted: 10, reason: "as it stands there".into() });
    assert_eq!(s.book.store.account(lot).unwrap().accounted_pm(), Some(1042));
    // two of forty came back and were binned, eight are on hand
    let (mut s, lot) = made_48();
    let delivery = s.deliver(&[(lot, 40)]);
    let back = NewReturn { delivery, lot, packs: 2, what: CameBack::Binned, reason: "limp".into() };
    s.book.act(&Action::Return(Box::new(back)));
    let account = s.book.store.account(lot).unwrap();
    assert_eq!((account.with_customers, account.on_hand, account.returned), (38, 8, 2));
    assert_eq!(account.accounted_pm(), Some(1000));
    assert_eq!(first, delivery, "each in a book of its own");
}

fn made_48() -> (Shop, LotId) {
    let mut s = shop();
    let (packs, pack_g) = (48, 5);
    let draws = vec![Draw { lot: s.pea, grams: packs * pack_g, packs: None }];
    let product = s.shoots_of;
    let new = NewRun {
        product,
        draws,
        packs,
        pack_g,
        trim_g: 0,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec![],
        packaging: None,
        sure: vec![],
    };
    let lot = LotId(s.book.act(&Action::Pack(Box::new(new))).made.unwrap());
    (s, lot)
}

#[test]
fn every_movement_is_taken_back_while_nothing_builds_on_it() {
    let mut s = shop();
    let (shoots, table) = (s.shoots, s.table);
    let before = s.lot(shoots);
    let moves = [
        gone(shoots, Away::Waste, 1, "torn"),
        gone(shoots, Away::Sample, 1, ""),
        Action::CountStock { lot: shoots, counted: 3, reason: "x".into() },
        Action::Deliver(Box::new(s.delivery(&[(shoots, 2)]))),
        Action::LoadRound(Box::new(s.round(RoundKind::Round, &[(shoots, 2)]))),
    ];
    for action in moves {
        s.book.act(&action);
        assert_ne!(s.lot(shoots), before);
        s.book.act(&Action::Undo);
        assert_eq!(s.lot(shoots), before, "{action:?}");
        assert_sound(&mut s.book);
    }
    let round = s.load(RoundKind::Round, &[(shoots, 2)]);
    s.book.act(&settled(round, shoots, 2, How::Delivered { customer: table, extra: false }));
    s.book.act(&Action::Undo);
    s.book.act(&Action::Undo);
    assert_eq!(s.lot(shoots), before);
    // packs of a lot that went out are not unpacked under their customers
    let packed = s.book.store.history(Of::Lot(shoots), None, 99).unwrap().pop().unwrap();
    s.deliver(&[(shoots, 1)]);
    let never = Action::Correct {
        entry: packed.id,
        correction: rackwalk::domain::correction::Correction::Never,
        reason: "slip".into(),
        second: None,
    };
    s.bars("undo_in_use", &never);
}
