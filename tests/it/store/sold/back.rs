//! What builds on what: returns and their decisions, empties and their trays, rounds that nobody accounted for.

use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::EntryId;
use rackwalk::domain::look::{Look, Mist};

use super::*;

fn never(entry: EntryId) -> Action {
    Action::Correct { entry, correction: Correction::Never, reason: "slip".into(), second: None }
}

fn back(delivery: DeliveryId, lot: LotId, packs: i64, what: CameBack) -> Action {
    Action::Return(Box::new(NewReturn { delivery, lot, packs, what, reason: "limp".into() }))
}

#[test]
fn a_delivery_stands_while_something_came_back_of_it_and_a_return_while_it_is_decided() {
    let mut s = shop();
    let shoots = s.shoots;
    let new = s.delivery(&[(shoots, 4)]);
    let delivered = s.book.act(&Action::Deliver(Box::new(new)));
    let id = DeliveryId(delivered.made.unwrap());
    let first = s.book.act(&back(id, shoots, 1, CameBack::Undecided)).entry;
    let second = s.book.act(&back(id, shoots, 2, CameBack::Undecided)).entry;
    s.bars("undo_in_use", &never(delivered.entry));
    let decide = |packs, what| Action::DecideReturn { delivery: id, lot: shoots, packs, what };
    s.book.act(&decide(2, CameBack::Binned));
    s.bars("undo_in_use", &never(first));
    s.bars("undo_in_use", &never(second));
    s.book.act(&Action::Undo);
    s.book.act(&never(first));
    s.bars("return_decided", &decide(3, CameBack::Binned));
    s.book.act(&decide(2, CameBack::Sample));
    let note = s.book.store.delivery(id).unwrap().unwrap();
    assert_eq!((note.lines[0].returned, note.lines[0].undecided), (2, 0));
    let kept = s.book.store.goods(s.book.now.day()).unwrap().samples;
    let until = s.lot(shoots).best_before.unwrap() + Duration::days(7);
    let told: Vec<_> = kept.iter().map(|sample| (sample.lot, sample.packs, sample.until)).collect();
    assert_eq!(told, [(shoots, 2, Some(until))]);
    assert_sound(&mut s.book);
}

#[test]
fn a_round_of_which_something_is_out_stays_in_sight() {
    let mut s = shop();
    let shoots = s.shoots;
    let round = s.load(RoundKind::Round, &[(shoots, 2)]);
    s.book.later(Duration::days(20));
    let rounds = |s: &Shop| s.book.store.goods(s.book.now.day()).unwrap().rounds.len();
    assert_eq!(rounds(&s), 1, "two packs are still on it");
    s.book.act(&settled(round, shoots, 2, How::Binned { reason: "forgotten in the van".into() }));
    assert_eq!(rounds(&s), 0);
    assert_sound(&mut s.book);
}

#[test]
fn a_batch_held_later_stands_in_the_story_of_its_lots() {
    let mut s = shop();
    let (pea, shoots) = (s.pea, s.shoots);
    s.book.act(&Action::Hold(Box::new(NewHold::of(
        Start::Sowing(rackwalk::domain::id::SowingId(1)),
        None,
        "a smell".into(),
    ))));
    for lot in [pea, shoots] {
        let told = s.book.store.history(Of::Lot(lot), None, 99).unwrap();
        assert!(told.iter().any(|line| line.kind == "held"), "{told:?}");
    }
}

#[test]
fn one_pack_is_kept_of_a_lot() {
    let mut s = shop();
    let two = gone(s.shoots, Away::Sample, 2, "");
    s.bars("sample_kept", &two);
}

/// Two radish trays that left alive, and the shop they went to.
fn alive() -> (Shop, DeliveryId, EntryId, EntryId) {
    let mut s = shop_of_live();
    let lot = s.shoots;
    let new = s.delivery(&[(lot, 2)]);
    let delivered = s.book.act(&Action::Deliver(Box::new(new)));
    let empty = Action::Empties { customer: s.table, trays: 1, washed_with: "soap".into() };
    let empties = s.book.act(&empty).entry;
    (s, DeliveryId(delivered.made.unwrap()), delivered.entry, empties)
}

fn live_product(book: &mut Book) -> ProductId {
    let parts = vec![(crop(book, "RAD").id, 1000)];
    let new =
        NewProduct { name: "radish, alive".into(), kind: Kind::Live, pack_g: None, gtin: None, price_c: None, parts };
    ProductId(book.act(&Action::AddProduct(Box::new(new))).made.unwrap())
}

fn shop_of_live() -> Shop {
    let mut book = ready();
    let live = live_product(&mut book);
    let table = CustomerId(book.act(&customer("Table", "1 Quay")).made.unwrap());
    let of = trays(&book, "RAD")[..2].to_vec();
    let new = NewLive { product: live, trays: of, best_before: None };
    let lot = LotId(book.act(&Action::LeaveAlive(Box::new(new))).made.unwrap());
    Shop { pea: lot, shoots: lot, radish: lot, shoots_of: live, radish_of: live, table, nowhere: table, book }
}

#[test]
fn no_customer_gives_back_more_trays_than_went_there() {
    let (mut s, id, delivered, empties) = alive();
    let lot = s.shoots;
    s.bars("empties_over", &never(delivered));
    s.bars("empties_over", &back(id, lot, 2, CameBack::Binned));
    s.book.act(&back(id, lot, 1, CameBack::Binned));
    s.book.act(&Action::Undo);
    s.book.act(&never(empties));
    s.book.act(&never(delivered));
    assert_sound(&mut s.book);
}

#[test]
fn trays_that_left_alive_are_back_in_the_room_when_that_is_taken_back() {
    let mut s = shop_of_live();
    assert_eq!(trays(&s.book, "RAD").len(), 2);
    s.book.act(&Action::Undo);
    assert_eq!(trays(&s.book, "RAD").len(), 4);
    assert!(s.book.store.goods(s.book.now.day()).unwrap().lots.is_empty());
    assert_sound(&mut s.book);
}

#[test]
fn trays_past_their_window_leave_alive_with_a_day_that_is_said() {
    let mut book = ready();
    let product = live_product(&mut book);
    let tray = trays(&book, "RAD")[0];
    let until = book.board().tray(tray).unwrap().plan.cut_to_d;
    let sown = book.board().tray(tray).unwrap().sown;
    let leave = |best_before| Action::LeaveAlive(Box::new(NewLive { product, trays: vec![tray], best_before }));
    let last = sown + Duration::days(until);
    let day = |book: &Book, lot| book.store.goods(book.now.day()).unwrap().lot(lot).unwrap().best_before;
    let lot = LotId(book.act(&leave(None)).made.unwrap());
    assert_eq!(day(&book, lot), Some(last), "the end of the window");
    book.act(&Action::Undo);
    while book.now.day() <= last {
        book.later(Duration::days(1));
    }
    assert_eq!(book.refused(&leave(None)).rule, "live_limit");
    let tomorrow = book.now.day() + Duration::days(1);
    let lot = LotId(book.act(&leave(Some(tomorrow))).made.unwrap());
    assert_eq!(day(&book, lot), Some(tomorrow));
    assert_sound(&mut book);
}

#[test]
fn what_left_alive_against_a_rule_is_held() {
    let mut book = ready();
    let live = live_product(&mut book);
    let tray = trays(&book, "RAD")[0];
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(tray) })));
    let new = NewLive { product: live, trays: vec![tray], best_before: None };
    let leave = Action::LeaveAlive(Box::new(new));
    assert_eq!(book.refused(&leave).rule, "cut_suspect");
    let already = Action::Already { action: Box::new(leave), reason: "not seen in time".into() };
    let lot = LotId(book.act(&already).made.unwrap());
    assert!(book.store.goods(book.now.day()).unwrap().lot(lot).unwrap().held);
    assert_sound(&mut book);
}

#[test]
fn every_way_out_of_a_held_lot_is_barred_or_holds_what_is_left() {
    for way in 0..4 {
        let mut s = shop();
        let (shoots, table) = (s.shoots, s.table);
        let stall = s.load(RoundKind::Stall, &[(shoots, 3)]);
        s.book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(shoots), None, "grit".into()))));
        let action = match way {
            0 => Action::LoadRound(Box::new(s.round(RoundKind::Round, &[(shoots, 1)]))),
            1 => gone(shoots, Away::Given, 1, "the neighbour"),
            2 => settled(stall, shoots, 1, How::SoldPublic),
            _ => settled(stall, shoots, 1, How::Delivered { customer: table, extra: true }),
        };
        s.breaks("deliver_held", shoots, &action);
        // the hold lifted, the breach still holds what is left until it is decided as well
        let hold = s.book.board().holds[0].id;
        let (by, reason) = (AK, "looked at".to_string());
        s.book.act(&Action::DecideHold { hold, what: Verdict::Accepted, by, reason: reason.clone() });
        assert!(s.lot(shoots).held, "way {way}");
        let breach = s.book.board().breaches[0].id;
        s.book.act(&Action::Decide { breach, what: Verdict::Accepted, by, reason });
        assert!(!s.lot(shoots).held, "way {way}");
        // what is brought back of a held lot comes back, and stays held
        let back = How::BroughtBack(BackDecision { temp_dc: 40, out_min: 30, by: AK });
        s.book.act(&settled(stall, shoots, 1, back));
        assert_sound(&mut s.book);
    }
}

#[test]
fn each_way_a_load_goes_and_each_return_is_taken_back() {
    let mut s = shop();
    let (shoots, table) = (s.shoots, s.table);
    let delivery = s.deliver(&[(shoots, 3)]);
    let stall = s.load(RoundKind::Stall, &[(shoots, 4)]);
    s.book.act(&back(delivery, shoots, 1, CameBack::Undecided));
    let before = s.book.store.account(shoots).unwrap();
    let cold = BackDecision { temp_dc: 40, out_min: 30, by: AK };
    let ways = [
        settled(stall, shoots, 2, How::Delivered { customer: table, extra: false }),
        settled(stall, shoots, 2, How::SoldPublic),
        settled(stall, shoots, 2, How::Given { to: "a neighbour".into() }),
        settled(stall, shoots, 2, How::Binned { reason: "squashed".into() }),
        settled(stall, shoots, 2, How::BroughtBack(cold)),
        gone(shoots, Away::Given, 1, "a neighbour"),
        back(delivery, shoots, 2, CameBack::Binned),
    ];
    let quiet = [
        settled(stall, shoots, 2, How::Refused { customer: table, reason: "too much".into() }),
        Action::DecideReturn { delivery, lot: shoots, packs: 1, what: CameBack::Sample },
    ];
    for (action, moves) in ways.iter().map(|way| (way, true)).chain(quiet.iter().map(|way| (way, false))) {
        s.book.act(action);
        assert_eq!(s.book.store.account(shoots).unwrap() != before, moves, "{action:?}");
        s.book.act(&Action::Undo);
        assert_eq!(s.book.store.account(shoots).unwrap(), before, "{action:?}");
    }
    assert_sound(&mut s.book);
}
