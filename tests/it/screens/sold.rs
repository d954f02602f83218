//! Orders, deliveries, rounds, returns, names and lists, by keys.

use rackwalk::domain::id::LotId;
use rackwalk::domain::lot::Kind;

use super::Seat;
use super::form::{put, value};
use super::stock::{sender, stocked};

/// At the stock screen of a room with three pack lots and two customers.
fn seat() -> Seat {
    let mut seat = Seat::at(stocked());
    seat.press("Space");
    seat
}

fn goods(seat: &Seat) -> rackwalk::domain::goods::Goods {
    seat.session.store.goods(seat.session.model.today()).unwrap()
}

#[test]
fn a_phone_order_in_twelve_keys_shows_what_is_free() {
    let mut seat = seat();
    seat.keys = 0;
    seat.press("o").type_in("cop").press("Enter").type_in("pea").press("Enter");
    seat.type_in("4").sees("pea shoots 100 g: free 11 = 11 on hand - 0 promised");
    seat.press("C-s").sees("Order of Copper for 2026-07-12: 4 × pea shoots 100 g.");
    assert!(seat.keys <= 12, "{} keys", seat.keys);
    assert_eq!(goods(&seat).orders.len(), 1);
    // more than is free is said, and taken: tomorrow's cut has to fill it
    seat.press("o").type_in("tab").press("Enter").type_in("pea").press("Enter 9");
    seat.sees("free 7 = 11 on hand - 4 promised; MORE THAN IS FREE").sees("pea: 100 g in tubs, 0 trays ready to cut");
    seat.press("C-s").sees("Order of Table");
    seat.press("e").sees("Orders").sees("Sun 12 Jul Copper").press("s c");
    // what it wants itself is not in its own way
    seat.sees("free 2 = 11 on hand - 9 promised; MORE THAN IS FREE");
    assert_eq!((value(&seat, "n1").as_str(), value(&seat, "customer").is_empty()), ("4", false));
    put(&mut seat, "n1", "5");
    seat.press("C-s").sees("Order of Copper for 2026-07-12: saved.");
    seat.press("e s c");
    put(&mut seat, "stands", "no");
    seat.press("C-s").sees("called off").press("e").sees("Table");
}

#[test]
fn bad_orders_say_what_to_do() {
    let mut seat = seat();
    seat.press("o C-s").sees("choose one, it is needed.");
    seat.type_in("tab").press("Enter").type_in("pea").press("Enter 2 Enter");
    put(&mut seat, "day", "2026-07-01");
    seat.press("C-s").sees("it cannot be before 2026-07-11");
}

#[test]
fn a_delivery_of_five_lines_in_twenty_five_keys() {
    let mut seat = seat();
    // five lots: three there, two more packed of what is left
    for (product, grams) in [("pea", "100"), ("mustard", "50")] {
        seat.press("p");
        put(&mut seat, "product", product);
        put(&mut seat, "draw", grams);
        put(&mut seat, "packs", "1");
        seat.press("C-s").sees("packed");
    }
    seat.keys = 0;
    seat.press("d w").sees("Deliver to whom?").press("s");
    assert_eq!(goods(&seat).lots.iter().filter(|lot| lot.packs > 0).count(), 5);
    seat.press("1 Enter 1 Enter 1 Enter 1 Enter 1 C-s").sees("Delivery 1 to Table: 5 packs of 5 lots.");
    assert!(seat.keys <= 25, "{} keys", seat.keys);
    assert_eq!(goods(&seat).deliveries[0].lines.len(), 5);
}

#[test]
fn an_order_is_delivered_as_it_stands_and_comes_back_in_part() {
    let mut seat = seat();
    seat.press("o").type_in("tab").press("Enter").type_in("pea").press("Enter 4 Enter");
    put(&mut seat, "day", "today");
    seat.press("C-s").sees("Order of Table for 2026-07-11");
    seat.press("d").sees("Sat 11 Jul Table").press("a").sees("pea shoots 100 g: 4, as ordered; 7 left after");
    put(&mut seat, "l1", "0");
    seat.press("C-s").sees("Say how many packs of which lot");
    put(&mut seat, "l1", "3");
    seat.sees("3 of 4, SHORT by 1");
    put(&mut seat, "l1", "4");
    put(&mut seat, "by", "the cook");
    put(&mut seat, "temp", "5.1");
    seat.press("C-s").sees("Delivery 1 to Table: 4 packs of 1 lot").sees("5.1 °C at the drop, warmer");
    seat.press("d").sees("without an order").press("Esc");
    seat.press("g").sees("1 Sat 11 Jul Table").press("a").sees("never sold again").press("s");
    seat.sees("never sold again: bin it, or keep it as a sample");
    put(&mut seat, "packs", "9");
    seat.press("C-s").sees("from 1 to 4");
    put(&mut seat, "packs", "1");
    put(&mut seat, "what", "not decided yet");
    put(&mut seat, "reason", "limp");
    seat.press("C-s").sees("came back: not decided yet. They are not sold again.");
    seat.press("g a").sees("1 not decided yet").press("d");
    seat.press("C-s").sees("that came back: binned");
    seat.press("g a n").sees("The page is in ").sees("note-1");
}

#[test]
fn a_stall_sells_and_brings_back_what_is_cold() {
    let mut seat = seat();
    seat.press("r l");
    put(&mut seat, "kind", "a stall, sold to the public");
    put(&mut seat, "name", "market");
    seat.press("C-s").sees("fill this in, it is needed.");
    put(&mut seat, "place", "the square");
    put(&mut seat, "hours", "8 to 13");
    put(&mut seat, "l1", "3");
    seat.press("C-s").sees("market loaded at ").sees("3 packs");
    seat.press("r s").sees("the square, 8 to 13").press("s");
    put(&mut seat, "l1", "2");
    seat.sees("1 pack stays on the round").press("C-s").sees("1 pack is still on it");
    seat.press("r s k");
    seat.sees("Only cold packs go back: at 5 °C (41 °F) or below");
    put(&mut seat, "temp", "7");
    seat.press("C-s").sees("do not go back into stock. Bin them");
    seat.press("Esc Esc r s b");
    put(&mut seat, "reason", "warm");
    seat.press("C-s").sees("everything is accounted for");
    seat.press("r s s").sees("Everything on it is accounted for.");
}

#[test]
fn a_round_drops_and_what_is_not_taken_stays_on_it() {
    let mut seat = seat();
    seat.press("r l");
    put(&mut seat, "name", "north");
    put(&mut seat, "l1", "3");
    seat.press("C-s").sees("north loaded");
    seat.press("r s d w s");
    put(&mut seat, "l1", "1");
    seat.press("C-s").sees("Delivery 1 to Table: 1 pack of 1 lot.");
    seat.press("r s n");
    put(&mut seat, "customer", "Table");
    put(&mut seat, "l1", "1");
    put(&mut seat, "reason", "too much");
    seat.press("C-s").sees("2 packs are still on it");
    seat.press("r s x");
    put(&mut seat, "customer", "Copper");
    put(&mut seat, "l1", "1");
    seat.press("C-s").sees("1 pack is still on it");
    seat.press("r s g");
    put(&mut seat, "l1", "1");
    put(&mut seat, "reason", "a neighbour");
    seat.press("C-s").sees("everything is accounted for");
}

#[test]
fn a_lot_is_binned_sampled_given_and_counted() {
    let mut seat = seat();
    seat.press("Down");
    for (keys, fields, said) in [
        ("b s", vec![("amount", "1")], "1 pack of"),
        ("b b", vec![("amount", "1"), ("reason", "torn")], "binned"),
        ("b g", vec![("amount", "1"), ("reason", "a guest")], "given away"),
        ("b c", vec![("amount", "1"), ("reason", "as it stands there")], "counted: 1 pack instead of 8 packs"),
    ] {
        seat.press(keys);
        for (field, text) in fields {
            put(&mut seat, field, text);
        }
        seat.press("C-s").sees(said);
    }
    seat.press("b k").sees("Kept samples").sees("until 2026-");
}

#[test]
fn names_lists_and_labels() {
    let mut seat = seat();
    seat.press("n c z").type_in("Corner");
    seat.press("C-s").sees("without an address nothing is delivered there");
    seat.press("d w").sees("Corner").press("s").sees("has no address");
    seat.press("Esc n p z");
    put(&mut seat, "name", "three sorts");
    put(&mut seat, "kind", "a blend");
    put(&mut seat, "pack_g", "60");
    put(&mut seat, "c1", "pea");
    put(&mut seat, "s1", "60");
    put(&mut seat, "c2", "radish");
    put(&mut seat, "s2", "30");
    seat.sees("90 % together").press("C-s").sees("they must make 100 %");
    put(&mut seat, "s2", "40");
    seat.press("C-s").sees("Product three sorts: written down.");
    put_gtin(&mut seat);
    seat.press("t t").sees("TO CUT, 2026-07-11").sees("TO PACK").sees("TO BRING").press("Esc t p");
    seat.sees("The page is in ").sees("lists-2026-07-11");
    // no label before somebody has said who grows
    let mut bare = Seat::at(super::stock::unsigned());
    bare.press("Space Down l").sees("Labels say who grows: write down the name first");
    sender(&mut bare);
    bare.press("l").sees("The page is in ").sees("labels-");
}

#[test]
fn a_product_of_one_crop_is_named_by_itself() {
    let mut seat = seat();
    seat.press("n p z");
    put(&mut seat, "pack_g", "40");
    put(&mut seat, "c1", "radish");
    assert_eq!(value(&seat, "name"), "radish 40 g");
    put(&mut seat, "kind", "a live tray");
    assert_eq!(value(&seat, "name"), "radish, alive");
    put(&mut seat, "kind", "one crop");
    seat.press("C-s").sees("Product radish 40 g: written down.");
    // a name that somebody gave stays
    seat.press("n p");
    let letter = super::stock::line_of(&seat, "radish 50 g");
    seat.type_in(&letter.to_string());
    put(&mut seat, "pack_g", "60");
    assert_eq!(value(&seat, "name"), "radish 50 g");
}

#[test]
fn yesterdays_order_is_called_off_as_it_stands() {
    let mut seat = seat();
    seat.press("o").type_in("tab").press("Enter").type_in("pea").press("Enter 4 Enter");
    put(&mut seat, "day", "today");
    seat.press("C-s").sees("Order of Table for 2026-07-11");
    let mut book = seat.into_book();
    book.later(chrono::Duration::days(1));
    let mut seat = Seat::at(book);
    seat.press("Space e s c");
    put(&mut seat, "stands", "no");
    seat.press("C-s").sees("Order of Table for 2026-07-11: called off.");
}

fn put_gtin(seat: &mut Seat) {
    seat.press("n p s");
    put(seat, "gtin", "6291041500214");
    seat.press("C-s").sees("would have to be 3");
    put(seat, "gtin", "6291041500213");
    seat.press("C-s").sees("saved");
}

#[test]
fn a_tray_is_sold_alive() {
    let mut seat = Seat::at(super::stock::ready());
    seat.press("Space n p z");
    put(&mut seat, "name", "radish, alive");
    put(&mut seat, "kind", "a live tray");
    put(&mut seat, "c1", "radish");
    seat.press("C-s").sees("written down").press("Esc");
    let code = seat.session.store.board().unwrap().trays.iter().find(|t| t.letters == "RAD").unwrap().code();
    seat.type_in(&code).press("Enter").press("Enter v").sees("Sell alive").press("C-s");
    seat.sees("leave the room alive, as radish, alive.").press("Space").sees("RAD-260711-A-");
}

#[test]
fn a_lot_is_held_from_its_story() {
    let mut seat = seat();
    seat.press("i o").type_in("grit in the tub").press("C-s").sees("is held with all that was made of it");
    seat.press("Esc").sees("HELD").press("Esc d").sees("hold of Lot").press("a").sees("It reaches ");
    let held = goods(&seat).lots.iter().filter(|lot| lot.held).map(|lot| lot.kind).collect::<Vec<_>>();
    assert!(held.contains(&Kind::Pack) && goods(&seat).lot(LotId(1)).is_none_or(|lot| lot.id.0 == 1));
}
