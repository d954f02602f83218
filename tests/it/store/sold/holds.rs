//! Bad news that comes after the cut reaches the lots, what was made of them, and who got it.

use rackwalk::domain::breach::Verdict;
use rackwalk::domain::harvest::CutTray;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::look::{Look, Mist};

use super::*;

fn fuzz(tray: TrayId) -> Action {
    Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(tray) }))
}

#[test]
fn a_batch_held_after_its_cut_holds_lots_and_packs_and_names_who_got_them() {
    let mut s = shop();
    let (pea, shoots, radish) = (s.pea, s.shoots, s.radish);
    s.deliver(&[(shoots, 4), (radish, 1)]);
    let sowing = rackwalk::domain::id::SowingId(1);
    s.book.act(&Action::Hold(Box::new(NewHold::of(Start::Sowing(sowing), None, "their seed smelled".into()))));
    assert!(s.lot(pea).held && s.lot(shoots).held && !s.lot(radish).held);
    let hold = s.book.board().holds.remove(0);
    let codes: Vec<LotId> = hold.lots.iter().map(|lot| lot.lot).collect();
    assert_eq!(codes, [pea, shoots]);
    let code = s.lot(shoots).code;
    let got: Vec<String> = hold.buyers.iter().map(rackwalk::domain::hold::Buyer::words).collect();
    assert_eq!(got, [format!("Table, no phone: 4 of {code} on {}", s.book.now.day())]);
    let more = pack(s.shoots_of, pea, 1, 100);
    s.bars("pack_held", &more);
    let decide = |what| Action::DecideHold { hold: hold.id, what, by: AK, reason: "looked at".into() };
    s.book.act(&decide(Verdict::Watch));
    assert!(s.lot(shoots).held);
    s.book.act(&decide(Verdict::Accepted));
    assert!(!s.lot(pea).held && !s.lot(shoots).held);
    assert_sound(&mut s.book);
    s.book.act(&Action::Undo);
    assert!(s.lot(shoots).held, "the decision was taken back");
    assert_sound(&mut s.book);
}

#[test]
fn one_lot_is_held_with_all_that_was_made_of_it() {
    let mut s = shop();
    let (pea, shoots, radish) = (s.pea, s.shoots, s.radish);
    s.book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(pea), None, "a hair in the tub".into()))));
    assert!(s.lot(pea).held && s.lot(shoots).held && !s.lot(radish).held);
    let nothing = Action::Hold(Box::new(NewHold::of(Start::Lot(LotId(99)), None, "x".into())));
    s.bars("lot_unknown", &nothing);
    s.bars("hold_stays", &Action::Undo);
}

#[test]
fn another_code_lets_nothing_go_that_is_held() {
    let mut s = shop();
    let (shoots, product) = (s.shoots, s.shoots_of);
    s.book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(shoots), None, "a hair in the box".into()))));
    let again = Action::Reissue { lot: shoots, product, reason: "the ink ran".into() };
    let new = LotId(s.book.act(&again).made.unwrap());
    assert!(s.lot(new).held, "its new code is as much held");
    let hold = s.book.board().holds.remove(0);
    assert_eq!(hold.lots.iter().map(|lot| lot.lot).collect::<Vec<_>>(), [new], "packs with the old code are these");
    let out = Action::Deliver(Box::new(s.delivery(&[(new, 1)])));
    s.bars("deliver_held", &out);
    assert_sound(&mut s.book);
    s.book.act(&Action::DecideHold { hold: hold.id, what: Verdict::Accepted, by: AK, reason: "looked at".into() });
    assert!(!s.lot(new).held);
    assert_sound(&mut s.book);
}

#[test]
fn fuzz_that_comes_to_light_on_the_rest_of_a_tray_holds_what_was_cut_of_it() {
    let mut book = ready();
    checked(&mut book);
    let pea = trays(&book, "PEA")[0];
    let cuts = vec![CutTray { tray: pea, mats: Some(2), grams: Some(160) }];
    let half = NewHarvest { cuts, grams: None, again: false, tools: vec![], sure: vec![] };
    let lot = LotId(book.act(&Action::Harvest(Box::new(half))).made.unwrap());
    let held = |book: &Book| book.store.goods(book.now.day()).unwrap().lot(lot).unwrap().held;
    assert!(!held(&book));
    let said = book.act(&fuzz(pea)).sentence;
    assert!(said.contains("Cut from it before this was known, and held: PEA-260711-A-Z"), "{said}");
    assert!(held(&book));
    let holds = book.board().holds.len();
    book.act(&fuzz(pea));
    assert_eq!(book.board().holds.len(), holds, "told once");
    assert_sound(&mut book);
}

#[test]
fn a_cut_that_was_against_a_rule_holds_its_lot_and_its_packs_until_it_is_accepted() {
    let mut book = ready();
    checked(&mut book);
    let radish = trays(&book, "RAD");
    book.act(&fuzz(radish[0]));
    let cut = Action::Harvest(Box::new(NewHarvest::whole(&radish[..1], 120)));
    let already = Action::Already { action: Box::new(cut), reason: "not seen in time".into() };
    let lot = LotId(book.act(&already).made.unwrap());
    let held = |book: &Book| book.store.goods(book.now.day()).unwrap().lot(lot).unwrap().held;
    assert!(held(&book));
    let breach = book.board().breaches[0].id;
    book.act(&Action::Decide { breach, what: Verdict::Accepted, by: AK, reason: "hairs, seen by two".into() });
    assert_eq!(held(&book), !book.board().holds.is_empty());
    assert_sound(&mut book);
}

#[test]
fn a_batch_that_turns_out_to_be_another_crop_holds_what_was_cut_of_it() {
    let mut s = shop();
    let (pea, shoots, radish) = (s.pea, s.shoots, s.radish);
    let mustard = crop(&s.book, "MUS").id;
    let seed = s.book.seed("MUS", 500);
    let sown = s.book.store.history(Of::Sowing(rackwalk::domain::id::SowingId(1)), None, 99).unwrap().pop().unwrap();
    let entry = s.book.store.entry(sown.id).unwrap();
    let correction = rackwalk::domain::correction::Correction::Sowing {
        sowing: rackwalk::domain::id::SowingId(1),
        crop: mustard,
        day: entry.sowings[0].day,
        seed: vec![(seed, 100_000)],
        after: None,
    };
    let reason = "the jars were swapped".to_string();
    s.book.act(&Action::Correct { entry: sown.id, correction, reason, second: None });
    assert!(s.lot(pea).held && s.lot(shoots).held && !s.lot(radish).held);
    assert!(s.book.board().holds[0].scope.contains("cut under another crop"));
    assert_sound(&mut s.book);
}

#[test]
fn a_breach_names_the_lots_it_holds_and_a_decision_frees_them() {
    let mut book = ready();
    let radish = trays(&book, "RAD");
    let cut = Action::Harvest(Box::new(NewHarvest::whole(&radish, 480)));
    let already = Action::Already { action: Box::new(cut), reason: "the list was not at hand".into() };
    let lot = LotId(book.act(&already).made.unwrap());
    let shoots = LotId(book.act(&held_run(product(&book, "radish"), lot)).made.unwrap());
    let held = |book: &Book, lot| book.store.goods(book.now.day()).unwrap().lot(lot).unwrap().held;
    assert!(held(&book, lot) && held(&book, shoots));
    let breach = book.board().breaches.into_iter().find(|breach| breach.rule == "cut_unchecked").unwrap();
    let named: Vec<LotId> = breach.lots.iter().map(|lot| lot.lot).collect();
    assert_eq!((named, breach.trays.len()), (vec![lot, shoots], 0));
    let decide = |id, what| Action::Decide { breach: id, what, by: AK, reason: "hands were clean".into() };
    book.act(&decide(breach.id, Verdict::Watch));
    assert!(held(&book, lot));
    let said = book.act(&decide(breach.id, Verdict::Accepted)).sentence;
    assert!(said.contains("nothing is held by it any more"), "{said}");
    assert_sound(&mut book);
    let told = book.store.history(Of::Lot(lot), None, 1).unwrap().remove(0).text;
    assert!(told.contains("decided about 1 lot of entry"), "{told}");
    // the run took from a held lot, which is a breach of its own
    let packed = book.board().breaches.remove(0);
    assert_eq!((packed.rule.as_str(), held(&book, lot)), ("pack_held", true));
    book.act(&decide(packed.id, Verdict::Accepted));
    assert!(!held(&book, lot) && !held(&book, shoots));
    assert_sound(&mut book);
    book.act(&Action::Undo);
    assert!(held(&book, shoots), "the decision was taken back");
    assert_sound(&mut book);
}

/// A run that took from a lot although it was held.
fn held_run(product: ProductId, lot: LotId) -> Action {
    Action::Already { action: Box::new(pack(product, lot, 8, 50)), reason: "the market began".into() }
}
