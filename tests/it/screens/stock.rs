//! From a ready tray to a labelled pack lot, by keys: the check, the harvest, the packing run, the stock.

use std::sync::OnceLock;

use chrono::Duration;
use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::id::{CropId, CustomerId, ProductId, TrayId};
use rackwalk::domain::lot::Kind as LotKind;
use rackwalk::domain::order::{NewOrder, Wanted};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::sender::Sender;
use rackwalk::domain::sowing::NewSowing;
use rackwalk::domain::time::Now;
use rackwalk::domain::tray::Stage;

use super::Seat;
use super::form::{elsewhere, focus, go, put, value};
use crate::book::Book;

/// Four trays each of pea (four mats), mustard and radish, all in their windows today, the eleventh; three products of one
/// crop, and a blend of pea and radish.
pub fn ready() -> Book {
    static BUILT: OnceLock<(Vec<u8>, Now)> = OnceLock::new();
    let (bytes, now) = BUILT.get_or_init(|| build().closed());
    Book::copy(bytes, *now)
}

fn sow(book: &mut Book, letters: &str, mats: i64) -> Vec<TrayId> {
    let lot = book.seed(letters, 2000);
    let new = NewSowing { mats, ..book.sowing(letters, lot, 4) };
    book.act(&Action::Sow(Box::new(new))).trays
}

fn crop(book: &Book, letters: &str) -> CropId {
    book.board().crops.iter().find(|crop| crop.letters == letters).unwrap().id
}

fn product(book: &mut Book, name: &str, pack_g: i64, parts: &[(&str, i64)]) -> ProductId {
    let kind = if parts.len() > 1 { Kind::Blend } else { Kind::Crop };
    let parts = parts.iter().map(|(letters, share)| (crop(book, letters), *share)).collect();
    let new = NewProduct { name: name.into(), kind, pack_g: Some(pack_g), gtin: None, price_c: None, parts };
    ProductId(book.act(&Action::AddProduct(Box::new(new))).made.unwrap())
}

fn build() -> Book {
    let mut book = Book::room();
    let mut trays = sow(&mut book, "PEA", 4);
    book.later(Duration::days(2));
    trays.extend(sow(&mut book, "MUS", 1));
    book.later(Duration::days(2));
    trays.extend(sow(&mut book, "RAD", 1));
    book.later(Duration::days(4));
    for tray in trays {
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    }
    for letters in ["PEA", "RAD"] {
        let crop = book.store.crops().unwrap().into_iter().find(|crop| crop.letters == letters).unwrap();
        let edit = EditCrop { allergen: "no".into(), ..EditCrop::of(crop) };
        book.act(&Action::EditCrop(Box::new(edit)));
    }
    product(&mut book, "pea shoots 100 g", 100, &[("PEA", 1000)]);
    product(&mut book, "mustard 50 g", 50, &[("MUS", 1000)]);
    product(&mut book, "radish 50 g", 50, &[("RAD", 1000)]);
    product(&mut book, "two sorts 80 g", 80, &[("PEA", 600), ("RAD", 400)]);
    book.later(Duration::days(2));
    book
}

/// The same with everything cut, three pack lots of it, two customers, and nobody named on labels.
pub fn unsigned() -> Book {
    let mut seat = Seat::at(ready());
    for (batch, answers, grams) in [("radish", "yyyy soap Enter", "480"), ("pea", "", "1240"), ("mustard", "", "420")] {
        if seat.keys == 0 {
            seat.press("Space");
        }
        seat.press("c");
        let letter = line_of(&seat, batch);
        seat.type_in(&letter.to_string()).press(answers).type_in(grams).press("Enter p");
        // something of each is left in its tub
        let left: i64 = grams.parse::<i64>().unwrap() - 100;
        put(&mut seat, "draw", &left.to_string());
        seat.press("C-s");
        if seat.session.model.typing() {
            seat.press("Enter");
        }
    }
    for (name, address) in [("Table", "1 Quay"), ("Copper", "2 Quay")] {
        let new = NewCustomer { name: name.into(), address: address.into(), ..NewCustomer::default() };
        elsewhere(&seat, &Action::AddCustomer(Box::new(new)));
    }
    seat.into_book()
}

/// The same, with the sender on its labels.
pub fn stocked() -> Book {
    let mut book = unsigned();
    let sender =
        Sender { name: "Bench".into(), address: "1 Mill Lane".into(), phone: "555".into(), ..Sender::default() };
    book.act(&Action::EditSender { sender: Box::new(sender), rev: 0 });
    book
}

/// Says on another terminal who grows.
pub fn sender(seat: &mut Seat) {
    let sender =
        Sender { name: "Bench".into(), address: "1 Mill Lane".into(), phone: "555".into(), ..Sender::default() };
    elsewhere(seat, &Action::EditSender { sender: Box::new(sender), rev: 0 });
    seat.look_around();
}

/// The check, all of it good, with what was never cleaned with before.
const FIRST_CHECK: &str = "yyyy soap Enter";

/// The cursor on the first tray of a crop.
fn on(seat: &mut Seat, letters: &str) {
    let board = seat.session.store.board().unwrap();
    let code = board.trays.iter().find(|tray| tray.letters == letters).unwrap().code();
    seat.type_in(&code).press("Enter");
}

fn lots(seat: &Seat) -> Vec<rackwalk::domain::lot::Lot> {
    seat.session.store.goods(seat.session.model.today()).unwrap().lots
}

#[test]
fn a_check_then_a_harvest_of_the_batch_together() {
    let mut seat = Seat::at(ready());
    on(&mut seat, "RAD");
    seat.press("c").sees("Before the cut").sees("you are well today");
    // an answer goes on by itself; nothing is assumed
    seat.press("C-s").sees("answer yes or no.").press("yyyy");
    assert_eq!(focus(&seat).0, "with");
    seat.press("C-s").sees("Say with what table, scale and tools were cleaned.");
    seat.type_in("soap, then hot water").press("Enter");
    // the harvest follows by itself, with all of the batch
    seat.sees("Cut radish").sees("T0009-G, T0010-U, T0011-S, T0012-Q").sees("4 trays: about 4");
    seat.press("480").sees("480 g together, 120 g a tray on average.").press("Enter");
    seat.sees("Lot RAD-260711-A-").sees("480 g of radish cut from 4 trays.");
    let [lot] = lots(&seat).try_into().unwrap();
    assert_eq!((lot.grams, lot.kind, lot.cut_days.len()), (480, LotKind::Harvest, 1));
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
    assert!(seat.session.store.board().unwrap().trays.iter().all(|tray| tray.letters != "RAD"));
    // the next crop today asks for no check
    on(&mut seat, "PEA");
    seat.press("c").sees("Cut pea").press("Esc");
    // what it was cleaned with is proposed the next day, the answers are not
    let mut seat = seat.later(Duration::days(1));
    on(&mut seat, "PEA");
    seat.press("c").sees("Before the cut").sees("soap, then hot water").press("yyyy Enter").sees("Cut pea");
}

#[test]
fn a_check_that_bars_says_why_and_stops() {
    for (answers, why) in [
        ("nyyy", "who is ill cuts and packs nothing"),
        ("ynyy", "hands are to be washed first"),
        ("yyny", "the blade is not whole"),
        ("yyyn", "table, scale and tools are to be cleaned first"),
    ] {
        let mut seat = Seat::at(ready());
        on(&mut seat, "RAD");
        seat.press("c").press(answers).sees(&format!("Nothing is cut yet: {why}"));
        if answers != "yyyn" {
            seat.type_in("soap");
        }
        seat.press("C-s").sees("Checked, and nothing is cut yet").press("c").sees("Before the cut");
        assert!(lots(&seat).is_empty());
    }
}

#[test]
fn after_an_allergen_everything_is_washed_first() {
    let mut seat = Seat::at(ready());
    on(&mut seat, "MUS");
    seat.press("c").press(FIRST_CHECK).press("420 Enter").sees("Lot MUS-260711-A-");
    on(&mut seat, "RAD");
    seat.press("c").sees("washed since").press("yyyyn").sees("an allergen was cut before: everything is to be washed");
    seat.press("C-s").sees("Checked, and nothing is cut yet");
    seat.press("c yyyyy Enter").sees("Cut radish").press("480 Enter").sees("Lot RAD-260711-A-");
}

#[test]
fn every_tray_a_weight_of_its_own() {
    let mut seat = Seat::at(ready());
    on(&mut seat, "RAD");
    seat.press("c").press(FIRST_CHECK);
    put(&mut seat, "how", "each");
    seat.sees("T0009-").press("Enter Enter").press("118 Enter 121 Enter 119 Enter 122");
    seat.sees("480 g together, 120 g a tray on average.").press("Enter").sees("480 g of radish cut from 4 trays.");
    let story = seat.session.store.history(rackwalk::domain::history::Of::Everything, None, 1).unwrap();
    for grams in ["118 g", "121 g", "119 g", "122 g"] {
        assert!(story[0].text.contains(grams), "{}", story[0].text);
    }
}

#[test]
fn half_a_tray_is_cut_and_the_rest_goes_back() {
    let mut seat = Seat::at(ready());
    on(&mut seat, "PEA");
    let tray = seat.session.model.cursor_tray().unwrap().id;
    seat.press("c").press(FIRST_CHECK);
    assert_eq!(value(&seat, "how"), "together", "of the whole batch");
    // only the first of them, and two of its mats
    go(&mut seat, "trays");
    for _ in 0..3 {
        seat.press("Right Space");
    }
    seat.sees("1 ticked").press("Tab Right Right").sees("2 of its 4 mats go back and stay at A 1-1.");
    put(&mut seat, "grams", "160");
    seat.press("Enter").sees("160 g of pea cut from T0001-W; the rest of 1 tray goes back.");
    let board = seat.session.store.board().unwrap();
    let card = board.tray(tray).unwrap();
    assert_eq!((card.mats_left, card.place.label()), (2, "A 1-1".to_string()));
}

#[test]
fn early_late_and_an_odd_weight_are_asked_once() {
    let mut seat = Seat::at(ready());
    on(&mut seat, "RAD");
    seat.press("c")
        .press(FIRST_CHECK)
        .press("4800 Enter")
        .sees("is the weight right? Enter")
        .sees("again says that it is so.");
    assert!(lots(&seat).is_empty());
    // another value withdraws the question, and is asked about anew
    seat.press("Backspace").press("Enter").sees("Lot RAD-260711-A-");
    let mut seat = Seat::at(ready()).later(Duration::days(6));
    on(&mut seat, "RAD");
    seat.press("c").press(FIRST_CHECK).sees("late, day 12; its window ended on day 10");
    seat.press("1200 Enter").sees("is it still").press("Enter").sees("is the weight right?");
    // held down, the key answers nothing
    seat.key_after(std::time::Duration::from_millis(50), rackwalk::app::key::Key::Enter);
    seat.sees("Held down?");
    assert!(lots(&seat).is_empty());
    seat.press("Enter").sees("Lot RAD-260717-A-");
}

#[test]
fn a_suspect_tray_is_refused_and_may_have_been_cut_already() {
    let mut seat = Seat::at(super::twelve::book());
    seat.press("T0007-K Enter").press("c yyyy soap Enter").sees("T0007-K: it is suspect.");
    put(&mut seat, "grams", "100");
    seat.press("Enter").sees("it already happened");
    assert!(lots(&seat).is_empty());
    seat.press("s").type_in("was on the table already").press("Enter").sees("to decide (d)");
    let [lot] = lots(&seat).try_into().unwrap();
    assert!(lot.held, "what was cut against the rule is held");
    seat.press("Space").sees("HELD").press("p").sees("No product yet");
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

/// What was cut in the room, and the stock open.
fn cut_all() -> Seat {
    let mut book = ready();
    let check = rackwalk::domain::harvest::NewCutCheck {
        hands: true,
        well: true,
        blade: true,
        cleaned: true,
        with: "soap".into(),
        washed: Some(true),
    };
    book.act(&Action::CheckCut(Box::new(check)));
    for (letters, grams) in [("PEA", 1240), ("RAD", 480)] {
        let trays: Vec<TrayId> = book.board().trays.iter().filter(|t| t.letters == letters).map(|t| t.id).collect();
        book.act(&Action::Harvest(Box::new(rackwalk::domain::harvest::NewHarvest::whole(&trays, grams))));
    }
    let mut seat = Seat::at(book);
    seat.press("Space");
    seat
}

#[test]
fn one_crop_is_packed_with_everything_proposed() {
    let mut seat = cut_all();
    seat.sees("Stock, from the cut on").sees("PEA-260711-A-").sees("1240 g").sees("on hand");
    while !seat.text().contains("> PEA") {
        seat.press("Down");
    }
    seat.press("p").sees("Pack").sees("on paper").sees("pea shoots 100 g").sees("1200 g of PEA-260711-A-");
    assert_eq!((focus(&seat).0, value(&seat, "packs").as_str()), ("packs", "12"));
    seat.sees("0 g, 0 % not accounted for.");
    put(&mut seat, "draw", "1240");
    seat.sees("40 g, 3.2 % not accounted for.");
    put(&mut seat, "packs", "11");
    seat.sees("MORE THAN 5 %");
    put(&mut seat, "trim", "30");
    put(&mut seat, "waste", "10");
    seat.press("C-s");
    seat.sees("Are all weights").sees("Enter again").press("Enter").sees("11 × pea shoots 100 g packed");
    // the cursor is on what was packed
    seat.sees("> PEA-260711-B-").sees("made 11: 11 on hand; accounted 100 %").sees("free 11 = 11 on hand - 0 promised");
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
    seat.press("i").sees("packed from").press("Esc");
    seat.press("u").sees("Taken back: lot PEA-260711-B").sees("> PEA-260711-A-");
}

#[test]
fn a_blend_from_two_crops_and_a_blend_from_a_blend() {
    let mut seat = cut_all();
    seat.press("p");
    put(&mut seat, "product", "two");
    seat.sees("480 g of RAD-260711-A-").sees("720 g of PEA-260711-A-");
    assert_eq!((value(&seat, "draw"), value(&seat, "packs")), ("1200".into(), "15".into()));
    put(&mut seat, "draw", "1300");
    seat.press("C-s").sees("By the shares the lots give 1200 g at most");
    put(&mut seat, "draw", "800");
    seat.press("C-s").sees("Lot MIX-260711-A-").sees("10 × two sorts 80 g packed");
    let blend = seat.session.store.goods(seat.session.model.today()).unwrap().lots;
    let blend = blend.iter().find(|lot| lot.code.starts_with("MIX")).unwrap();
    assert_eq!(blend.composition(), "pea 60 %, radish 40 %");
    // by hand: what is in packs is opened whole
    seat.press("p");
    put(&mut seat, "product", "two");
    put(&mut seat, "hand", "y");
    let id = drawn(&seat, "MIX");
    put(&mut seat, id, "100");
    seat.press("C-s").sees("Packs are opened whole: a multiple of 80 g.");
    put(&mut seat, id, "160");
    let pea = drawn(&seat, "PEA");
    put(&mut seat, pea, "80");
    seat.sees("160 g of MIX-260711-A-").sees("2 packs opened").press("C-s").sees("Lot MIX-260711-B-");
    let lots = lots(&seat);
    let second = lots.iter().find(|lot| lot.code.starts_with("MIX-260711-B")).unwrap();
    assert_eq!((second.packs, second.composition().as_str()), (3, "pea 73.3 %, radish 26.7 %"));
}

/// The field of a lot by hand.
fn drawn(seat: &Seat, letters: &str) -> &'static str {
    let form = seat.session.model.form().unwrap();
    form.shown().find(|field| field.label.starts_with(letters)).unwrap().id
}

#[test]
fn another_label_and_the_old_one_still_finds_it() {
    let mut seat = cut_all();
    while !seat.text().contains("> PEA") {
        seat.press("Down");
    }
    seat.press("p C-s");
    let old = lots(&seat).into_iter().find(|lot| lot.packs > 0).unwrap().code;
    seat.press("Enter").sees("another label").press("r");
    put(&mut seat, "product", "two");
    put(&mut seat, "reason", "wrong sleeves");
    seat.press("C-s").sees("is MIX-260711-A-");
    seat.press("Esc").type_in(&old).press("Enter").sees(&format!("{old} is MIX-260711-A-")).sees("> MIX-260711-A-");
}

#[test]
fn a_label_leads_to_its_lot_or_to_its_story() {
    let mut seat = cut_all();
    let code = lots(&seat).into_iter().find(|lot| lot.code.starts_with("PEA")).unwrap().code;
    // from the room, from a list, and from the walk
    for keys in ["Esc", "Esc x", "Esc w a"] {
        seat.press(keys).type_in(&code).press("Enter").sees(&format!("> {code}"));
    }
    seat.press("p");
    put(&mut seat, "draw", "1240");
    seat.press("C-s").type_in(&code).press("Enter");
    seat.sees("Nothing of it is here any more").sees("1240 g of pea cut").press("Esc");
    seat.type_in("PEA260711ZW").press("Enter").sees("character");
}

#[test]
fn what_is_promised_and_not_here_stands_below() {
    let mut book = ready();
    let new = NewCustomer { name: "Harbour Café".into(), address: "2 Quay".into(), ..NewCustomer::default() };
    let customer = CustomerId(book.act(&Action::AddCustomer(Box::new(new))).made.unwrap());
    let product =
        book.store.goods(book.now.day()).unwrap().products.iter().find(|p| p.name.starts_with("pea")).unwrap().id;
    let lines = vec![Wanted { product, packs: 6 }];
    book.act(&Action::Order(Box::new(NewOrder { customer, day: book.now.day(), lines })));
    let mut seat = Seat::at(book);
    seat.press("Space").sees("> pea shoots 100 g: promised 6, none packed");
    seat.sees("free -6 = 0 on hand - 6 promised").sees("6 for Harbour Café");
    seat.press("l").sees("No lot is under the cursor").press("i").sees("No lot is under the cursor");
}

#[test]
fn from_a_ready_tray_to_a_labelled_pack_lot_in_twenty_keys() {
    let mut seat = Seat::at(ready());
    sender(&mut seat);
    on(&mut seat, "RAD");
    seat.keys = 0;
    seat.press("c yyyy soap Enter 480 Enter").sees("Lot RAD-260711-A-");
    // thirty grams over stay in the tub
    seat.press("Space p C-s").sees("> RAD-260711-B-").press("l").sees("The page is in ");
    assert!(seat.keys <= 20, "{} keys", seat.keys);
}

#[test]
fn a_morning_of_twelve_trays_three_sowings_and_three_pack_lots_in_sixty_keys() {
    let mut seat = Seat::at(ready());
    sender(&mut seat);
    seat.keys = 0;
    // the allergen last, so that nothing is washed twice
    for (batch, answers, grams) in [("radish", "yyyy soap Enter", "480"), ("pea", "", "1240"), ("mustard", "", "420")] {
        if seat.keys == 0 {
            seat.press("Space");
        }
        seat.press("c");
        let letter = line_of(&seat, batch);
        seat.type_in(&letter.to_string()).press(answers).type_in(grams).press("Enter p C-s");
        if seat.session.model.typing() {
            seat.sees("Are all weights").press("Enter");
        }
        seat.press("l").sees("The page is in ");
    }
    let (packs, cut): (Vec<_>, Vec<_>) = lots(&seat).into_iter().partition(|lot| lot.packs > 0);
    assert_eq!((packs.len(), cut.len(), seat.session.store.board().unwrap().trays.len()), (3, 3, 0));
    assert!(seat.keys <= 60, "{} keys", seat.keys);
}

/// The letter of a line in the list on top.
pub fn line_of(seat: &Seat, words: &str) -> char {
    let Some(rackwalk::app::model::Screen::Menu(menu)) = seat.session.model.top() else { panic!("{}", seat.text()) };
    let n = menu.items.iter().position(|item| item.label.starts_with(words)).unwrap();
    menu.letter(n).unwrap()
}

#[test]
fn the_list_of_batches_names_what_may_be_cut() {
    let mut seat = Seat::at(ready());
    seat.press("Space").sees("Nothing is in stock: c cuts what is ready.");
    seat.press("c").sees("radish").sees("4 trays").sees("window day 6 to 10").press("Esc Esc");
    let mut seat = Seat::at(Book::room());
    seat.press("Space c").sees("No batch is ready to cut");
}

/// On the book of twelve trays: a product and an order appear, and the packing run of what was cut is opened.
pub fn may_be_packed(seat: &mut Seat) {
    let parts = vec![(crop(seat.book(), "RAD"), 1000)];
    let new =
        NewProduct { name: "radish 50 g".into(), kind: Kind::Crop, pack_g: Some(50), gtin: None, price_c: None, parts };
    elsewhere(seat, &Action::AddProduct(Box::new(new)));
    seat.look_around().press("p");
}

/// The same, packed.
pub fn is_packed(seat: &mut Seat) {
    may_be_packed(seat);
    seat.press("C-s");
}

/// A product is promised of which nothing is here.
pub fn is_promised(seat: &mut Seat) {
    may_be_packed(seat);
    let new = NewCustomer { name: "Harbour Café".into(), address: "2 Quay".into(), ..NewCustomer::default() };
    elsewhere(seat, &Action::AddCustomer(Box::new(new)));
    let lines = vec![Wanted { product: ProductId(1), packs: 6 }];
    let new = NewOrder { customer: CustomerId(1), day: seat.book().now.day(), lines };
    elsewhere(seat, &Action::Order(Box::new(new)));
    seat.press("Esc").look_around().press("Down");
}

/// Packed, ordered for today by one on a round, and then these keys.
pub fn sells(seat: &mut Seat, keys: &str) {
    is_packed(seat);
    let table = NewCustomer {
        name: "Table".into(),
        address: "1 Quay".into(),
        phone: "555 0141".into(),
        round: "harbour".into(),
        note: "side door".into(),
    };
    elsewhere(seat, &Action::AddCustomer(Box::new(table)));
    let lines = vec![Wanted { product: ProductId(1), packs: 2 }];
    let new = NewOrder { customer: CustomerId(1), day: seat.book().now.day(), lines };
    elsewhere(seat, &Action::Order(Box::new(new)));
    seat.look_around().press(keys);
}
