//! Where trouble comes from, by keys: what is asked, over which weeks, and why.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::complaint::{Named, NewComplaint, Severity, Standing, Told, What};
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::{NewDelivery, Packs};
use rackwalk::domain::harvest::{NewCutCheck, NewHarvest};
use rackwalk::domain::id::{CustomerId, LotId, ProductId, TrayId};
use rackwalk::domain::packing::{Draw, NewRun};

use super::Seat;
use super::stock::ready;
use crate::book::{AK, Book};

/// Pack lots of one pack each, in the book's own order: ten of pea, eight of radish, and a blend of both that RM packed.
pub struct Sold {
    pub book: Book,
    pub tubs: [LotId; 2],
    pub products: [ProductId; 2],
    pub lots: Vec<LotId>,
    pub table: CustomerId,
}

pub fn sold() -> Sold {
    let mut book = ready();
    let with = "soap".into();
    let check = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed: None };
    book.act(&Action::CheckCut(Box::new(check)));
    let goods = book.store.goods(book.now.day()).unwrap();
    let product = |name: &str| goods.products.iter().find(|product| product.name.starts_with(name)).unwrap().id;
    let (pea_of, radish_of, blend_of) = (product("pea"), product("radish"), product("two"));
    let mut tub = |letters: &str, grams| {
        let trays: Vec<TrayId> =
            book.board().trays.iter().filter(|tray| tray.letters == letters).map(|tray| tray.id).collect();
        LotId(book.act(&Action::Harvest(Box::new(NewHarvest::whole(&trays, grams)))).made.unwrap())
    };
    let (pea, radish) = (tub("PEA", 1240), tub("RAD", 480));
    let run = |product, draws: &[(LotId, i64)]| {
        let draws: Vec<Draw> =
            draws.iter().map(|(lot, grams)| Draw { lot: *lot, grams: *grams, packs: None }).collect();
        let pack_g = draws.iter().map(|draw| draw.grams).sum();
        let (trim_g, waste_g) = (0, 0);
        let run = NewRun {
            product,
            draws,
            packs: 1,
            pack_g,
            trim_g,
            waste_g,
            best_before: None,
            store: None,
            tools: vec![],
            packaging: None,
            sure: vec![],
        };
        Action::Pack(Box::new(run))
    };
    let mut lots: Vec<LotId> = Vec::new();
    for (product, tub, grams, n) in [(pea_of, pea, 100, 10), (radish_of, radish, 50, 8)] {
        for _ in 0..n {
            lots.push(LotId(book.act(&run(product, &[(tub, grams)])).made.unwrap()));
        }
    }
    let add = Action::AddPerson { initials: "RM".into(), name: "Rita".into(), may_decide: true };
    let rm = rackwalk::domain::id::PersonId(book.act(&add).made.unwrap());
    let blend = book.store.act(&run(blend_of, &[(pea, 48), (radish, 32)]), rm, book.now).unwrap();
    lots.push(LotId(blend.made.unwrap()));
    let new = NewCustomer { name: "Table".into(), address: "1 Quay".into(), ..NewCustomer::default() };
    let table = CustomerId(book.act(&Action::AddCustomer(Box::new(new))).made.unwrap());
    Sold { book, tubs: [pea, radish], products: [pea_of, radish_of], lots, table }
}

/// A complaint about lots, one standing for all of them.
pub fn complaint(table: CustomerId, book: &Book, what: What, standing: Standing, lots: &[LotId]) -> Action {
    let named = |lot: &LotId| Named { lot: *lot, standing, why: "the label".into() };
    Action::Complain(Box::new(NewComplaint {
        customer: Some(table),
        product: None,
        day: book.now.day(),
        delivered: None,
        code: None,
        what,
        severity: Severity::Small,
        told: Told::default(),
        lots: lots.iter().map(named).collect(),
        hold: false,
    }))
}

/// All of them went to one customer, who the next day complains of so many of pea, each for sure.
fn complained(n: usize) -> Book {
    let Sold { mut book, lots, table, .. } = sold();
    let lines = lots.iter().map(|lot| Packs { lot: *lot, packs: 1 }).collect();
    let (order, round, received_by, temp_dc) = (None, None, None, None);
    let new = NewDelivery { customer: table, order, round, lines, received_by, temp_dc, sure: vec![] };
    book.act(&Action::Deliver(Box::new(new)));
    book.later(Duration::days(1));
    for lot in &lots[..n] {
        let what = if n > 3 && *lot == lots[0] { What::Slime } else { What::Mould };
        let new = complaint(table, &book, what, Standing::Sure, &[*lot]);
        book.act(&new);
    }
    book
}

/// The program at that room, with some keys pressed.
pub fn after_complaints(seat: &mut Seat, n: usize, keys: &str) {
    *seat = Seat::at(complained(n));
    seat.press(keys);
}

#[test]
fn what_is_bad_and_the_weeks_are_asked_by_one_key_each() {
    let mut seat = Seat::at(complained(3));
    seat.press("r t")
        .sees("Where trouble comes from: mould and rot, 8 weeks")
        .sees("Of 12 trays sown in the last 8 weeks 0");
    seat.press("c").sees("Where trouble comes from: complaints, 8 weeks");
    seat.sees("Of 19 pack lots that went out in the last 8 weeks 3 were complained about.");
    seat.sees("3 complaints: too few to tell anything from chance. What they share:");
    seat.press("w").sees("complaints, 26 weeks").press("w").sees("2 weeks").press("w").sees("4 weeks");
    seat.press("l").sees("Where trouble comes from: losses, 4 weeks").sees("Of 8 trays cut or thrown out");
    seat.press("s").sees("Where trouble comes from: suspect trays, 4 weeks");
    seat.press("v").sees("How it was counted").sees("Fisher's exact test");
    seat.press("Esc").sees("suspect trays, 4 weeks");
    seat.press("Esc").sees("Rack A");
}

#[test]
fn the_same_key_again_goes_through_the_kinds_that_there_are() {
    let mut seat = Seat::at(complained(5));
    seat.press("r t c").sees("complaints, 8 weeks").sees("All 5 pack lots complained about are pea shoots 100 g.");
    seat.press("c").sees("complaints, mould, 8 weeks").sees("4 complaints: too few");
    seat.press("c").sees("complaints, slime, 8 weeks").sees("1 complaint: one alone shares nothing");
    seat.press("c").sees("complaints, 8 weeks");
    // where there are no kinds nothing changes
    seat.press("m m").sees("mould and rot, 8 weeks");
}

#[test]
fn the_page_scrolls_and_what_is_asked_next_begins_at_its_top() {
    let mut seat = Seat::at(complained(5));
    seat.press("r t c");
    let top = seat.text();
    seat.press("Space");
    assert_ne!(seat.text(), top);
    seat.press("Home");
    assert_eq!(seat.text(), top);
    seat.press("End").sees("what to").sees("proves nothing");
    seat.press("m").sees("mould and rot, 8 weeks").sees("Of 12 trays");
}

#[test]
fn nothing_is_written_by_any_key_of_the_page() {
    let mut seat = Seat::at(complained(3));
    let newest = |seat: &Seat| seat.session.store.history(rackwalk::domain::history::Of::Everything, None, 1).unwrap();
    let before = newest(&seat);
    seat.press("r t c c l l s m w w w v Esc Down Up Space End Home Enter");
    assert_eq!(newest(&seat), before);
    assert_eq!(seat.session.model.who, Some(AK));
}
