//! Codes as they are typed or scanned: where they lead, and what is said of a wrong one.

use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::id::{LotId, MixId, SeedLotId, SowingId, TrayId};
use rackwalk::domain::refusal::Refusal;
use rackwalk::domain::trace::{Start, Typed};
use rackwalk::store::error::StoreError;

use crate::book::Book;
use crate::store::sold::{Shop, pack, shop};
use crate::store::{mixes, number, raw};

/// The rules met here.
pub(in crate::store) const MET: &[&str] = &["code_room", "code_unknown", "code_void", "code_wrong"];

fn led(book: &Book, typed: &str) -> Typed {
    book.store.find_start(typed).unwrap()
}

fn refused(book: &Book, typed: &str) -> Refusal {
    match book.store.find_start(typed) {
        Err(StoreError::Rule(refusal)) => refusal,
        other => panic!("{typed}: {other:?}"),
    }
}

fn code(shop: &Shop, lot: LotId) -> String {
    shop.lot(lot).code
}

#[test]
fn codes_of_every_kind_lead_to_what_they_stand_for() {
    let mut s = shop();
    let mix = mixes::bottle(&mut s.book);
    let mixed = Code::mix(mix.0).to_string();
    let shoots = code(&s, s.shoots);
    let plain = shoots.replace('-', "");
    for (typed, start) in [
        ("T0001-W".to_string(), Start::Tray(TrayId(1))),
        ("T0001W".to_string(), Start::Tray(TrayId(1))),
        ("NB T0001-W".to_string(), Start::Tray(TrayId(1))),
        (Code::seed_lot(1).to_string(), Start::SeedLot(SeedLotId(1))),
        ("B0001-G".to_string(), Start::Sowing(SowingId(1))),
        (mixed, Start::Mix(MixId(mix.0))),
        (shoots.clone(), Start::Lot(s.shoots)),
        (format!("NB {shoots}"), Start::Lot(s.shoots)),
        // as it stands on the label of a pack
        (format!(" LOT NB {shoots} "), Start::Lot(s.shoots)),
        (format!("]C0{plain}"), Start::Lot(s.shoots)),
        (plain, Start::Lot(s.shoots)),
    ] {
        assert_eq!(led(&s.book, &typed), Typed { start, note: None }, "{typed}");
    }
    let other = refused(&s.book, &format!("QX {shoots}"));
    assert_eq!(other.rule, "code_room");
    assert_eq!(
        other.sentence,
        format!("QX {shoots} is of the room QX, and this book is of NB: open that room's book.")
    );
}

#[test]
fn a_mistyped_code_is_refused_with_those_it_may_be() {
    let s = shop();
    let shoots = code(&s, s.shoots);
    // two neighbours swapped, one wrong, one left out, one too many
    let plain = shoots.replace('-', "");
    let swapped = format!("{}{}{}", &plain[..4], plain[4..6].chars().rev().collect::<String>(), &plain[6..]);
    for typed in [swapped, plain.replace("PEA", "PFA"), plain[1..].to_string(), format!("{plain}7")] {
        let refusal = refused(&s.book, &typed);
        assert_eq!(refusal.rule, "code_wrong", "{typed}");
        assert!(refusal.sentence.contains(&shoots), "{typed}: {refusal}");
        assert!(refusal.sentence.starts_with(&format!("The book has no {typed}: ")), "{refusal}");
    }
    // nothing is near: what is wrong with it, in one sentence
    let nowhere = refused(&s.book, "hello");
    assert_eq!(nowhere.rule, "code_wrong");
    assert!(nowhere.sentence.starts_with("hello: this is not a code of this book"), "{nowhere}");
    for typed in ["", " ", "NB ", "\u{1b}[2J", &"T".repeat(5000)] {
        let refusal = refused(&s.book, typed);
        assert_eq!(refusal.rule, "code_wrong", "{typed}");
        assert!(refusal.sentence.chars().count() < 300 && !refusal.sentence.contains('\u{1b}'), "{refusal}");
    }
    // a code that is right, and of nothing in this book
    for typed in [Code::tray(9_999), Code::seed_lot(9_999)] {
        let refusal = refused(&s.book, &typed.to_string());
        assert_eq!(refusal.rule, "code_unknown");
        assert!(refusal.sentence.contains(&format!("The book has no {typed}")), "{refusal}");
    }
}

#[test]
fn an_old_label_leads_to_the_new_one_and_says_so() {
    let mut s = shop();
    let first = code(&s, s.shoots);
    let mut again = |lot| {
        let (product, reason) = (s.shoots_of, "the labels got wet".into());
        LotId(s.book.act(&Action::Reissue { lot, product, reason }).made.unwrap())
    };
    let second = again(s.shoots);
    let third = again(second);
    let now = code(&s, third);
    let found = led(&s.book, &first);
    assert_eq!(found.start, Start::Lot(third));
    assert_eq!(found.note, Some(format!("{first} has another label now: {now}.")));
    assert_eq!(led(&s.book, &now).note, None);
}

#[test]
fn what_was_taken_back_names_the_entry_that_did_it() {
    let mut s = shop();
    let lot = LotId(s.book.act(&pack(s.shoots_of, s.pea, 1, 100)).made.unwrap());
    let of_lot = code(&s, lot);
    let undo = s.book.act(&Action::Undo).entry;
    let refusal = refused(&s.book, &of_lot);
    assert_eq!(refusal.rule, "code_void");
    assert_eq!(
        refusal.sentence,
        format!("{of_lot} was taken back by entry {}: look at what was written instead of it.", undo.0)
    );
    // a batch with its trays, and the seed it would have been sown from
    let seed = s.book.seed("RAD", 100);
    let tray = s.book.sow("RAD", seed, 1)[0];
    let conn = raw(&s.book.path);
    let batch = number(&conn, "SELECT max(id) FROM sowing");
    let (undo_sown, undo_seed) = (s.book.act(&Action::Undo).entry, s.book.act(&Action::Undo).entry);
    for (gone, by) in
        [(Code::tray(tray.0), undo_sown), (Code::sowing(batch), undo_sown), (Code::seed_lot(seed.0), undo_seed)]
    {
        let refusal = refused(&s.book, &gone.to_string());
        assert_eq!(refusal.rule, "code_void");
        assert!(refusal.sentence.starts_with(&format!("{gone} was taken back by entry {}:", by.0)), "{refusal}");
    }
    // and is not offered for a mistyped one
    let gone = Code::tray(tray.0).to_string();
    assert!(!refused(&s.book, &gone[1..]).sentence.contains(&gone));
}
