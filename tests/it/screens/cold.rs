//! Cold stores, spells, putting away, and how long things keep, by keys.

use chrono::Duration;
use rackwalk::demo::{Demo, build};
use rackwalk::domain::action::Action;
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway};
use rackwalk::domain::harvest::{NewCutCheck, NewHarvest};
use rackwalk::domain::id::{LotId, StoreId, TrayId};
use rackwalk::domain::packing::{Draw, NewRun};

use super::stock::ready;
use super::{Seat, morning};
use crate::book::{AK, Book, at};

/// Pea cut and packed, in a walk-in that was warm for two hours of the night.
pub fn warm_night() -> Book {
    let mut book = ready();
    let with = "soap".into();
    let check = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed: None };
    book.act(&Action::CheckCut(Box::new(check)));
    let trays: Vec<TrayId> =
        book.board().trays.iter().filter(|tray| tray.letters == "PEA").map(|tray| tray.id).collect();
    let tub = LotId(book.act(&Action::Harvest(Box::new(NewHarvest::whole(&trays, 1240)))).made.unwrap());
    let goods = book.store.goods(book.now.day()).unwrap();
    let product = goods.products.iter().find(|product| product.name.starts_with("pea")).unwrap().id;
    let draws = vec![Draw { lot: tub, grams: 1000, packs: None }];
    let run = NewRun {
        product,
        draws,
        packs: 10,
        pack_g: 100,
        trim_g: 0,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec![],
        packaging: None,
        sure: vec![],
    };
    let packs = LotId(book.act(&Action::Pack(Box::new(run))).made.unwrap());
    let new = NewStore { name: "Walk-in".into(), limits: Limits::default() };
    let store = StoreId(book.act(&Action::AddStore(Box::new(new))).made.unwrap());
    book.later(Duration::minutes(40));
    let new = PutAway { lots: vec![tub, packs], store: Some(store), at: book.now.instant(), out_dc: Some(210) };
    book.act(&Action::PutAway(Box::new(new)));
    for temp_dc in [45, 40, 40, 38, 60, 90, 110, 80, 45, 40, 40] {
        let (thermometer, measured) = ("probe 2".into(), Measured::Air);
        let new = HandReading { store, at: book.now.instant(), temp_dc, thermometer, measured };
        book.act(&Action::ReadCold(Box::new(new)));
        book.later(Duration::minutes(30));
    }
    book
}

/// The program at that room, with some keys pressed.
pub fn after_the_night(seat: &mut Seat, keys: &str) {
    *seat = Seat::at(warm_night());
    seat.press(keys);
}

#[test]
fn a_store_is_kept_read_and_filled_by_keys() {
    let mut seat = Seat::at(ready());
    seat.press("Space c").press("Esc s").sees("Cold stores").sees("5 °C or colder within 4 h");
    seat.press("z Walk-in C-s").sees("Walk-in: kept as a cold store.");
    seat.press("s").sees("NO READINGS; empty").press("a r");
    // nothing is proposed: temperature, what it was held into and the thermometer are asked
    seat.press("C-s").sees("it shows").press("5.1 Enter").press("gr Enter").press("probe Space 2 Enter");
    seat.sees("Warmer than the store allows.").press("C-s").sees("Walk-in: 5.1 °C, the greens, by probe 2.");
    seat.press("s a").sees("WARM, 5.1 °C").press("r 4.0 Enter air Enter").sees("probe 2");
    seat.press("Esc Esc Esc");
    assert_eq!(seat.session.model.cold.stores[0].thermometers, ["probe 2"]);
}

#[test]
fn what_was_cut_is_put_away_in_four_keys() {
    let mut seat = Seat::at(warm_night());
    seat.press("Space k").sees("Put away").press("BackTab").sees("pea, Walk-in").press("Esc");
    let before = seat.keys;
    // the tub under the cursor lies in the walk-in: out of it
    seat.press("k out C-s").sees("lies out of every store since");
    assert!(seat.keys - before <= 5, "{}", seat.keys - before);
    seat.press("k C-s").sees("lies in Walk-in since");
}

#[test]
fn the_night_is_found_from_the_room_and_decided_by_name() {
    let mut seat = Seat::at(warm_night());
    seat.sees("1 spell to decide (d)")
        .press("d")
        .sees("Walk-in: warm spell")
        .sees("2 h, 11.0 °C, 2 lots held")
        .press("a");
    seat.sees("of life").sees("PEA-").sees("10 packs here").sees("decide another day");
    assert!(seat.keys <= 8, "{} keys", seat.keys);
    seat.press("d").sees("Accept the spell").press("C-s").sees("reason").press("opened Space three, Space firm C-s");
    seat.sees("AK decided.");
    assert!(!seat.text().contains("spell to decide"), "{}", seat.text());
    seat.press("d").sees("No breach, no hold and no spell waits for a decision.");
    // and it stays to be read
    seat.press("Esc Space s a t").sees("AK: accepted");
}

#[test]
fn the_demo_rooms_fridge_is_found_within_eight_keys() {
    let mut book = Book::empty();
    let now = at("2026-07-14T06:00");
    build(&mut book.store, &Demo::default(), now, |_, _| {}).unwrap();
    book.now = now;
    let mut seat = Seat::at(book);
    seat.sees("1 spell to decide (d)").press("d").sees("small fridge: warm spell").press("a");
    seat.sees("lots held").sees("of life").sees("decide another day").sees("accept it");
    assert!(seat.keys <= 8, "{} keys", seat.keys);
}

#[test]
fn why_it_keeps_that_long_is_read_reading_by_reading() {
    let mut seat = Seat::at(warm_night());
    seat.press(", ")
        .sees("What runs out first")
        .press("p Enter")
        .sees("after it leaves us")
        .sees("In brackets the band");
    for _ in 0..12 {
        if seat.text().contains("outside a store: 40 min at 21.0 °C") {
            break;
        }
        seat.press("Down");
    }
    seat.sees("outside a store: 40 min at 21.0 °C").press("PageDown PageDown").sees("11.0 °C");
    seat.press("End Esc").sees("What runs out first").press("t").sees("What runs out first: trays");
    seat.press("m").sees("Nothing of it is here.").press("a Esc").sees("Rack");
    seat.press("Space v").sees("How long").press("Esc Esc");
}

#[test]
fn what_is_promised_stands_beside_what_is_left() {
    let mut seat = Seat::at(warm_night());
    let book = seat.book();
    let (store, now) = (&book.store, book.now);
    let product = store.goods(now.day()).unwrap().products.iter().find(|p| p.name.starts_with("pea")).unwrap().id;
    let customer = rackwalk::domain::customer::NewCustomer {
        name: "Table".into(),
        address: "1 Quay".into(),
        ..rackwalk::domain::customer::NewCustomer::default()
    };
    let who = seat.session.store.act(&Action::AddCustomer(Box::new(customer)), AK, now).unwrap().made.unwrap();
    let line = |packs| rackwalk::domain::order::Wanted { product, packs };
    for (days, packs) in [(1, 4), (12, 3)] {
        let new = rackwalk::domain::order::NewOrder {
            customer: rackwalk::domain::id::CustomerId(who),
            day: now.day() + Duration::days(days),
            lines: vec![line(packs)],
        };
        seat.session.store.act(&Action::Order(Box::new(new)), AK, now).unwrap();
    }
    seat.session.handle(rackwalk::app::effect::Msg::OthersWrote);
    seat.press(", p").sees("7 !").sees("7 promised, and one order is for a day on which this may be over");
    seat.size(80, 40);
    seat.press("Esc").sees("7 promised, may not last");
}

#[test]
fn no_store_no_lot_and_no_figure_say_so() {
    let mut seat = morning();
    seat.press("r o").sees("Cold stores").press("p").sees("Put away").press("C-s").sees("needed").press("Esc");
    seat.press("Space k").press("Esc v").sees("No lot is under the cursor").press(", ").sees("What runs out first");
}
