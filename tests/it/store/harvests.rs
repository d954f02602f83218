//! The check before the cut, harvests, packing runs and new labels: what is refused, and what holds when it was done.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use rackwalk::domain::history::Of;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{LotId, ProductId, TrayId};
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::lot::Lot;
use rackwalk::domain::packing::{Draw, NewRun};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::tray::Stage;
use rackwalk::domain::treatment::{Listed, NewTreatment};

use super::{assert_sound, crop, dump, mixes, raw};
use crate::book::Book;
use crate::screens::stock::ready;

/// The rules met here.
pub(super) const MET: &[&str] = &[
    "cut_check_with",
    "cut_mats",
    "cut_unchecked",
    "cut_unwashed",
    "harvest_again",
    "harvest_crops",
    "harvest_close",
    "harvest_early",
    "harvest_grams",
    "harvest_late",
    "harvest_twice",
    "lot_runs",
    "lot_unknown",
    "pack_balance",
    "pack_crop",
    "pack_limit",
    "pack_live",
    "pack_over",
    "pack_parts",
    "pack_whole",
    "product_unknown",
    "reissue_gone",
    "reissue_kind",
    "reissue_reason",
    "reissue_stays",
];

fn good() -> NewCutCheck {
    NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with: "soap".into(), washed: None }
}

fn check(new: NewCutCheck) -> Action {
    Action::CheckCut(Box::new(new))
}

fn harvest(new: NewHarvest) -> Action {
    Action::Harvest(Box::new(new))
}

fn whole(trays: &[TrayId], grams: i64) -> Action {
    harvest(NewHarvest::whole(trays, grams))
}

fn trays(book: &Book, letters: &str) -> Vec<TrayId> {
    book.board().trays.iter().filter(|tray| tray.letters == letters).map(|tray| tray.id).collect()
}

fn lot(book: &Book, id: LotId) -> Lot {
    book.store.goods(book.now.day()).unwrap().lots.into_iter().find(|lot| lot.id == id).unwrap()
}

fn product(book: &Book, name: &str) -> ProductId {
    let goods = book.store.goods(book.now.day()).unwrap();
    goods.products.iter().find(|product| product.name.starts_with(name)).unwrap().id
}

fn run(product: ProductId, draws: &[(LotId, i64)], packs: i64, pack_g: i64) -> NewRun {
    let draws = draws.iter().map(|(lot, grams)| Draw { lot: *lot, grams: *grams, packs: None }).collect();
    NewRun {
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
    }
}

fn pack(new: NewRun) -> Action {
    Action::Pack(Box::new(new))
}

/// Refused by this rule, beside this field, without a trace.
fn bars(book: &mut Book, rule: &str, field: Option<&str>, asks: bool, action: &Action) {
    let conn = raw(&book.path);
    let before = dump(&conn);
    let refusal = book.refused(action);
    assert_eq!((refusal.rule, refusal.field, refusal.asks), (rule, field, asks), "{}", refusal.sentence);
    assert_eq!(dump(&conn), before, "{rule} left a trace");
}

#[test]
fn a_harvest_is_refused_or_asked_about() {
    let mut book = ready();
    let (pea, mustard, radish) = (trays(&book, "PEA"), trays(&book, "MUS"), trays(&book, "RAD"));
    bars(&mut book, "cut_unchecked", None, false, &whole(&radish, 480));
    bars(&mut book, "cut_check_with", Some("with"), false, &check(NewCutCheck { with: " ".into(), ..good() }));
    // a check that bars is written down, and does not open the way
    book.act(&check(NewCutCheck { hands: false, ..good() }));
    bars(&mut book, "cut_unchecked", None, false, &whole(&radish, 480));
    book.act(&check(good()));
    let cut = |tray, mats, grams| CutTray { tray, mats, grams };
    let of = |cuts: Vec<CutTray>, grams| NewHarvest { cuts, grams, again: false, tools: vec![], sure: vec![] };
    let cases = [
        ("cut_nothing", Some("trays"), harvest(of(vec![], Some(100)))),
        ("cut_mats", Some("mats"), harvest(of(vec![cut(pea[0], Some(5), Some(300))], None))),
        ("harvest_weight", Some("grams"), harvest(of(vec![cut(pea[0], None, None)], None))),
        ("harvest_weights", Some("grams"), harvest(of(vec![cut(pea[0], None, Some(300))], Some(300)))),
        ("harvest_none", Some("grams"), harvest(of(vec![cut(pea[0], None, Some(0))], None))),
        ("harvest_crops", Some("trays"), whole(&[pea[0], radish[0]], 400)),
        ("harvest_again", Some("again"), harvest(NewHarvest { again: true, ..NewHarvest::whole(&radish, 480) })),
    ];
    for (rule, field, action) in cases {
        bars(&mut book, rule, field, false, &action);
    }
    // half to double of what is usual is believed
    for (grams, believed) in [(245, false), (246, true), (984, true), (985, false)] {
        let action = whole(&radish, grams);
        if believed {
            book.act(&action);
            book.act(&Action::Undo);
        } else {
            bars(&mut book, "harvest_grams", Some("grams"), true, &action);
        }
    }
    book.act(&whole(&mustard, 420));
    bars(&mut book, "cut_unwashed", None, false, &whole(&radish, 480));
    book.act(&check(NewCutCheck { washed: Some(true), ..good() }));
    book.act(&whole(&radish, 480));
    // grown again once, and not twice
    let again = NewHarvest { again: true, ..NewHarvest::whole(&pea, 1240) };
    book.act(&harvest(again.clone()));
    bars(&mut book, "harvest_twice", Some("again"), false, &harvest(again));
    book.act(&whole(&pea, 900));
    assert_eq!(book.board().trays, []);
    assert_sound(&mut book);
}

#[test]
fn early_and_late_are_asked_about_and_answered() {
    let mut book = ready();
    let seed = book.seed("RAD", 500);
    let early = book.sow("RAD", seed, 1);
    book.later(Duration::days(5));
    book.act(&Action::Move { walk: None, tray: early[0], to: None, stage: Some(Stage::Lit) });
    book.act(&check(good()));
    let late = trays(&book, "RAD")[..1].to_vec();
    let late = if late == early { trays(&book, "RAD")[1..2].to_vec() } else { late };
    for (rule, tray) in [("harvest_early", early), ("harvest_late", late)] {
        bars(&mut book, rule, Some("trays"), true, &whole(&tray, 120));
        book.act(&harvest(NewHarvest { sure: vec![rule], ..NewHarvest::whole(&tray, 120) }));
    }
    assert_sound(&mut book);
}

#[test]
fn a_tray_near_something_bad_is_looked_at_before_it_is_cut() {
    let mut book = ready();
    let radish = trays(&book, "RAD");
    book.act(&check(good()));
    // fuzz that stands when misted makes its neighbours trays to look at closely
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(radish[0]) })));
    let near = radish[1];
    bars(&mut book, "harvest_close", Some("trays"), true, &whole(&[near], 120));
    book.act(&Action::Look(Box::new(Look { watered: true, ..Look::of(near) })));
    book.act(&whole(&[near], 120));
    book.act(&harvest(NewHarvest { sure: vec!["harvest_close"], ..NewHarvest::whole(&radish[2..3], 120) }));
    assert_sound(&mut book);
}

#[test]
fn what_stands_against_the_cut_holds_the_lot_when_it_was_done() {
    let mut book = ready();
    let radish = trays(&book, "RAD");
    let [suspect, mouldy, held, waiting] = radish[..] else { panic!("four trays") };
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Untested), ..Look::of(suspect) })));
    let mould = Signs::of(&[Sign::Stands, Sign::Web, Sign::Patches]);
    book.act(&Action::Look(Box::new(Look { signs: mould, ..Look::of(mouldy) })));
    let what = rackwalk::domain::trace::Start::Tray(held);
    book.act(&Action::Hold(Box::new(NewHold::of(what, None, "grit".into()))));
    let spray = NewTreatment { listed: Listed::Yes, ..mixes::spray(&book, &[waiting], None) };
    book.act(&Action::Treat(Box::new(spray)));
    let seed = book.seed("RAD", 500);
    let covered = book.sow("RAD", seed, 1)[0];
    book.act(&check(good()));
    let cases = [
        ("cut_suspect", suspect),
        ("cut_suspect", mouldy),
        ("cut_held", held),
        ("cut_waiting", waiting),
        ("cut_covered", covered),
    ];
    for (rule, tray) in cases {
        let cut = harvest(NewHarvest { sure: vec!["harvest_early"], ..NewHarvest::whole(&[tray], 120) });
        let refusal = book.refused(&cut);
        assert_eq!(refusal.rule, rule, "{}", refusal.sentence);
        let done = book.act(&Action::Already { action: Box::new(cut), reason: "found it on the table".into() });
        let id = LotId(done.made.unwrap());
        assert!(lot(&book, id).held, "{rule}");
        // nor is it packed
        let packed = pack(run(product(&book, "radish"), &[(id, 120)], 2, 50));
        bars(&mut book, "pack_held", Some("lots"), false, &packed);
    }
    assert_sound(&mut book);
}

#[test]
fn cut_without_a_check_or_unwashed_the_lot_is_held() {
    let mut book = ready();
    let already = |action: Action| Action::Already { action: Box::new(action), reason: "nobody asked".into() };
    let radish = trays(&book, "RAD");
    let done = book.act(&already(whole(&radish[..2], 240)));
    assert!(lot(&book, LotId(done.made.unwrap())).held, "cut_unchecked");
    book.act(&check(good()));
    let mustard = trays(&book, "MUS");
    book.act(&whole(&mustard, 420));
    let done = book.act(&already(whole(&radish[2..], 240)));
    assert!(lot(&book, LotId(done.made.unwrap())).held, "cut_unwashed");
    let rules: Vec<String> = book.board().breaches.into_iter().map(|breach| breach.rule).collect();
    assert_eq!(rules.len(), 2);
    assert!(["cut_unchecked", "cut_unwashed"].iter().all(|rule| rules.iter().any(|broken| broken == rule)));
    assert_sound(&mut book);
}

/// Pea and radish cut, 1240 g and 480 g.
fn cut() -> (Book, LotId, LotId) {
    let mut book = ready();
    book.act(&check(good()));
    let (pea, radish) = (trays(&book, "PEA"), trays(&book, "RAD"));
    let pea = LotId(book.act(&whole(&pea, 1240)).made.unwrap());
    let radish = LotId(book.act(&whole(&radish, 480)).made.unwrap());
    (book, pea, radish)
}

#[test]
fn a_packing_run_is_refused_or_asked_about() {
    let (mut book, pea, radish) = cut();
    let of = |book: &Book, name: &str| product(book, name);
    let (shoots, both) = (of(&book, "pea"), of(&book, "two"));
    let live = NewProduct {
        name: "pea, alive".into(),
        kind: Kind::Live,
        pack_g: None,
        gtin: None,
        price_c: None,
        parts: vec![(crop(&book, "PEA").id, 1000)],
    };
    let live = ProductId(book.act(&Action::AddProduct(Box::new(live))).made.unwrap());
    let usual = run(shoots, &[(pea, 1000)], 10, 100);
    let day = |days| Some(book.now.day() + Duration::days(days));
    let cases = [
        ("product_unknown", "product", false, NewRun { product: ProductId(99), ..usual.clone() }),
        ("pack_live", "product", false, NewRun { product: live, ..usual.clone() }),
        ("pack_drawn", "lots", false, run(shoots, &[], 10, 100)),
        ("pack_twice", "lots", false, run(shoots, &[(pea, 500), (pea, 500)], 10, 100)),
        ("pack_packs", "packs", false, NewRun { packs: 0, ..usual.clone() }),
        ("pack_size", "pack_g", false, NewRun { pack_g: 0, ..usual.clone() }),
        ("pack_trim", "trim", false, NewRun { trim_g: -1, ..usual.clone() }),
        ("lot_unknown", "lots", false, run(shoots, &[(LotId(99), 1000)], 10, 100)),
        ("pack_over", "lots", false, run(shoots, &[(pea, 1241)], 12, 100)),
        ("pack_crop", "lots", false, run(shoots, &[(radish, 400)], 4, 100)),
        ("pack_parts", "lots", true, run(both, &[(pea, 800)], 10, 80)),
        ("pack_balance", "packs", true, NewRun { packs: 9, ..usual.clone() }),
        ("pack_balance", "packs", true, NewRun { packs: 11, ..usual.clone() }),
        ("pack_limit", "best_before", false, NewRun { best_before: day(30), ..usual.clone() }),
        ("pack_limit", "best_before", false, NewRun { best_before: day(-1), ..usual.clone() }),
    ];
    for (rule, field, asks, new) in cases {
        bars(&mut book, rule, Some(field), asks, &pack(new));
    }
    // up to 5 % is only told, and trim and waste are no difference
    book.act(&pack(NewRun { trim_g: 30, waste_g: 20, packs: 9, ..usual.clone() }));
    book.act(&Action::Undo);
    let packed = LotId(book.act(&pack(usual)).made.unwrap());
    let halves = Draw { lot: packed, grams: 150, packs: Some(1) };
    bars(
        &mut book,
        "pack_whole",
        Some("lots"),
        false,
        &pack(NewRun { draws: vec![halves], ..run(shoots, &[], 1, 100) }),
    );
    // past its last day nothing is packed, and what was packed all the same is held
    book.later(Duration::days(30));
    let late = pack(run(shoots, &[(pea, 200)], 2, 100));
    bars(&mut book, "pack_past", Some("lots"), false, &late);
    let done = book.act(&Action::Already { action: Box::new(late), reason: "packed before anyone looked".into() });
    assert!(lot(&book, LotId(done.made.unwrap())).held);
    assert_sound(&mut book);
}

#[test]
fn a_new_label_is_for_packs_that_are_all_here() {
    let (mut book, pea, radish) = cut();
    let (shoots, both) = (product(&book, "pea"), product(&book, "two"));
    let packed = LotId(book.act(&pack(run(shoots, &[(pea, 1240)], 12, 100))).made.unwrap());
    let again = |lot, product, reason: &str| Action::Reissue { lot, product, reason: reason.into() };
    bars(&mut book, "reissue_reason", Some("reason"), false, &again(packed, both, " "));
    bars(&mut book, "reissue_kind", None, false, &again(pea, both, "why"));
    bars(&mut book, "lot_unknown", Some("lots"), false, &again(LotId(99), both, "why"));
    let other = product(&book, "radish");
    bars(&mut book, "pack_crop", Some("product"), false, &again(packed, other, "why"));
    let old = lot(&book, packed).code.replace('-', "");
    let new = LotId(book.act(&again(packed, both, "wrong sleeves")).made.unwrap());
    let (found, replaced) = book.store.lot_of_code(&old[..old.len() - 1]).unwrap().unwrap();
    assert_eq!((found.id, replaced, found.packs), (new, true, 12));
    assert_eq!(book.store.account(new).unwrap().accounted_pm(), Some(1000));
    bars(&mut book, "reissue_stays", None, false, &Action::Undo);
    assert_sound(&mut book);
    // opened for another run, it keeps its code
    let opened = Draw { lot: new, grams: 200, packs: Some(2) };
    let mixed = NewRun { draws: vec![opened], ..run(both, &[(radish, 0)], 2, 100) };
    book.act(&pack(NewRun { sure: vec!["pack_parts"], ..mixed }));
    bars(&mut book, "reissue_gone", None, false, &again(new, shoots, "why"));
    assert_sound(&mut book);
}

#[test]
fn after_the_last_run_letters_of_a_day_there_are_no_more() {
    let (mut book, pea, _) = cut();
    let conn = raw(&book.path);
    let insert = "INSERT INTO lot (entry_id, code, kind, product_id, day) VALUES (1, ?, 'pack', 1, '2026-07-11')";
    let next = |book: &mut Book| {
        let packed = pack(run(product(book, "pea"), &[(pea, 100)], 1, 100));
        book.act(&packed).sentence
    };
    conn.execute(insert, ["PEA260711Z"]).unwrap();
    assert!(next(&mut book).contains("PEA-260711-AA-"));
    conn.execute(insert, ["PEA260711ZY"]).unwrap();
    assert!(next(&mut book).contains("PEA-260711-ZZ-"));
    let packed = pack(run(product(&book, "pea"), &[(pea, 100)], 1, 100));
    bars(&mut book, "lot_runs", None, false, &packed);
}

#[test]
fn a_harvest_and_a_run_are_told_and_taken_back() {
    let (mut book, pea, _) = cut();
    let shoots = product(&book, "pea");
    let told = |book: &Book| book.store.history(Of::Everything, None, 1).unwrap().remove(0).text;
    book.act(&pack(NewRun { trim_g: 20, waste_g: 20, ..run(shoots, &[(pea, 1240)], 12, 100) }));
    assert!(told(&book).contains("1240 g of PEA-260711-A-Z; trim 20 g, waste 20 g"), "{}", told(&book));
    let refusal = book.refused(&Action::Reissue { lot: pea, product: shoots, reason: "x".into() });
    assert_eq!(refusal.rule, "reissue_kind");
    book.act(&Action::Undo);
    assert_eq!(lot(&book, pea).grams, 1240);
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!((trays(&book, "PEA").len(), book.store.goods(book.now.day()).unwrap().lots.len()), (4, 0));
    assert_sound(&mut book);
}
