//! What is counted as trouble, over which trays and pack lots, and what each of them belongs to.

use std::collections::BTreeSet;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::cause::{Asked, By, Counted, Fate, Findings, Of, Only, lines};
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway};
use rackwalk::domain::complaint::{Named, Standing, What};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::delivery::NewDelivery;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::history::Of as About;
use rackwalk::domain::id::{ComplaintId, LotId, PersonId, RoundId, SowingId, StoreId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::round::{How, Kind as RoundKind, Settled, Settling};
use rackwalk::domain::sowing::{NewSowing, Wetting};
use rackwalk::domain::standing::NewStanding;
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::domain::water::NewWater;

use super::sold::{Shop, shop};
use super::{crop, person, raw};
use crate::book::{AK, Book, roots};
use crate::screens::cause::{self, Sold, complaint};

fn asked(book: &Book, of: Of) -> Counted {
    book.store.cause(&Asked::of(of), book.now).unwrap()
}

fn fates(counted: &Counted) -> Vec<Fate> {
    counted.things.iter().map(|thing| thing.fate).collect()
}

/// Names of one kind that a thing belongs to.
fn of(counted: &Counted, thing: usize, by: By) -> Vec<&str> {
    let groups = counted.things[thing].groups.iter().map(|group| &counted.names[*group]);
    let mut names: Vec<&str> = groups.filter(|(kind, _)| *kind == by).map(|(_, name)| name.as_str()).collect();
    names.sort_unstable();
    names
}

/// The kinds of groups that anything belongs to.
fn kinds(counted: &Counted) -> BTreeSet<By> {
    counted.names.iter().map(|(by, _)| *by).collect()
}

fn fuzz(tray: TrayId, mist: Mist) -> Action {
    Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) }))
}

fn thrown(tray: TrayId, reason: LossReason) -> Action {
    Action::Throw { walk: None, tray, reason, gear: Gear::Binned, cleanup: None, note: None }
}

fn by(book: &mut Book, who: PersonId, action: &Action) {
    book.store.act(action, who, book.now).unwrap();
}

#[test]
fn fuzz_that_stood_and_losses_to_mould_or_rot_count_and_nothing_else() {
    let mut book = Book::room();
    let (lot, other) = (book.seed("RAD", 500), book.seed("RAD", 500));
    book.sow("RAD", other, 1);
    book.later(Duration::weeks(8) + Duration::days(1));
    let trays = book.sow("RAD", lot, 5);
    let began = book.board().tray(trays[0]).unwrap().place.clone();
    let free = book.board().free_places().last().unwrap().id;
    book.act(&Action::Move { walk: None, tray: trays[0], to: Some(free), stage: None });
    book.later(Duration::days(1));
    book.act(&fuzz(trays[0], Mist::Stands));
    book.act(&fuzz(trays[1], Mist::Down));
    book.act(&fuzz(trays[2], Mist::Untested));
    book.act(&thrown(trays[3], LossReason::Rot));
    book.act(&thrown(trays[4], LossReason::DriedOut));
    let counted = asked(&book, Of::Mould);
    assert_eq!(
        fates(&counted),
        [Fate::Bad, Fate::Good, Fate::Doubt, Fate::Bad, Fate::Good],
        "untested fuzz is suspect, and no more; what was sown longer ago is not asked for"
    );
    assert_eq!(fates(&asked(&book, Of::Suspects)), [Fate::Bad, Fate::Good, Fate::Bad, Fate::Bad, Fate::Good]);
    let first = &counted.things[0];
    assert_eq!(first.place.as_ref().unwrap().id, began.id, "where it began, not where it stands");
    assert_eq!(of(&counted, 0, By::Place), [began.label()]);
    assert_eq!(of(&counted, 0, By::Shelf), ["A 1"]);
    assert_eq!(of(&counted, 0, By::Zone), ["under light"]);
    assert_eq!(of(&counted, 0, By::Lot), ["S0001-R radish"]);
    assert_eq!(of(&counted, 0, By::Batch), ["B0002-E radish"]);
    assert_eq!(of(&counted, 0, By::Crop), ["radish"]);
    assert_eq!(of(&counted, 0, By::SownOn), ["2026-08-27"]);
    assert_eq!(of(&counted, 0, By::SownBy), ["AK"]);
    assert_eq!(of(&counted, 0, By::LookedBy), Vec::<&str>::new(), "its only look is the one that found it bad");
    assert_eq!(of(&counted, 0, By::Water), Vec::<&str>::new(), "water at sowing says not where it is from");
    // what is taken back did not happen
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(fates(&asked(&book, Of::Mould)), [Fate::Bad, Fate::Good, Fate::Doubt, Fate::Good, Fate::Good]);
}

#[test]
fn what_a_check_named_counts_and_what_was_cleared_does_not() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 3);
    book.later(Duration::days(3));
    let check = |tray, signs: &[Sign]| Action::Look(Box::new(Look { signs: Signs::of(signs), ..Look::of(tray) }));
    // rot, by its signs and without a drop of mist
    book.act(&check(trays[0], &[Sign::BrownRoots, Sign::Falling]));
    // fuzz that stood, then hairs, and a person who clears it
    book.act(&fuzz(trays[1], Mist::Stands));
    let mould = |book: &Book| fates(&asked(book, Of::Mould));
    assert_eq!(mould(&book), [Fate::Bad, Fate::Bad, Fate::Good]);
    book.later(Duration::hours(1));
    book.act(&check(trays[1], &[Sign::Vanishes, Sign::OnlyRoot]));
    assert_eq!(mould(&book)[1], Fate::Bad, "a check alone clears nothing that stood");
    let reason = "another spot".to_string();
    book.act(&Action::DecideSuspect { walk: None, tray: trays[1], what: Choice::Clear, by: AK, reason });
    assert_eq!(mould(&book), [Fate::Bad, Fate::Doubt, Fate::Good]);
}

#[test]
fn what_was_done_after_the_trouble_was_seen_does_not_count_against_it() {
    let mut book = Book::room();
    let rm = person(&mut book, "RM", false);
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 2);
    let water = |trays: &[TrayId], source: &str| {
        Action::Water(Box::new(NewWater { trays: trays.to_vec(), source: source.into(), ..NewWater::default() }))
    };
    book.later(Duration::days(1));
    book.act(&water(&trays, "the tap"));
    by(&mut book, rm, &roots(trays[0], Roots::None));
    book.later(Duration::days(1));
    book.act(&fuzz(trays[0], Mist::Stands));
    book.later(Duration::days(1));
    book.act(&water(&trays, "the rain barrel"));
    by(&mut book, rm, &roots(trays[1], Roots::Peeking));
    let counted = asked(&book, Of::Mould);
    assert_eq!(of(&counted, 0, By::Water), ["the tap"]);
    assert_eq!(of(&counted, 1, By::Water), ["the rain barrel", "the tap"]);
    assert_eq!((of(&counted, 0, By::LookedBy), of(&counted, 1, By::LookedBy)), (vec!["RM"], vec!["RM"]));
    // whose hands it was is put right
    let entry = book.store.history(About::Tray(trays[1]), None, 1).unwrap()[0].id;
    let correction = Correction::Hands { at: None, by: AK };
    book.act(&Action::Correct { entry, correction, reason: "other hands".into(), second: None });
    assert_eq!(of(&asked(&book, Of::Mould), 1, By::LookedBy), ["AK"]);
}

#[test]
fn losses_are_of_trays_that_ended_in_the_period_by_reason() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let new = NewSowing { mats: 2, ..book.sowing("RAD", lot, 8) };
    let trays = book.act(&Action::Sow(Box::new(new))).trays;
    book.later(Duration::days(7));
    for tray in &trays {
        book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
    }
    let part = |tray| Action::LosePart { walk: None, tray, mats: 1, reason: LossReason::DriedOut };
    // long before the period: thrown out; in it: cut, cut with part of it lost before, lost, not needed, standing
    book.act(&thrown(trays[0], LossReason::Rot));
    book.later(Duration::days(15));
    book.act(&part(trays[1]));
    book.act(&part(trays[2]));
    book.act(&Action::Cut { trays: vec![trays[1], trays[3]] });
    book.act(&thrown(trays[4], LossReason::Mould));
    book.act(&thrown(trays[5], LossReason::NotNeeded));
    book.act(&thrown(trays[6], LossReason::DriedOut));
    let two = |only| Asked { of: Of::Losses, only, weeks: 2 };
    let ask = |book: &Book, only| book.store.cause(&two(only), book.now).unwrap();
    let counted = ask(&book, None);
    let codes: Vec<&str> = counted.things.iter().map(|thing| &thing.code[..5]).collect();
    assert_eq!(codes, ["T0002", "T0004", "T0005", "T0006", "T0007"]);
    assert_eq!(fates(&counted), [Fate::Bad, Fate::Good, Fate::Bad, Fate::Good, Fate::Bad]);
    let (mould, dry) = (Only::Loss(LossReason::Mould), Only::Loss(LossReason::DriedOut));
    assert_eq!(counted.kinds, [(mould, 1), (dry, 2)]);
    assert_eq!(
        lines(&Findings::of(counted))[0],
        "Of 5 trays cut or thrown out in the last 2 weeks 3 were lost, or part of them. What was not needed is no loss. These \
         were: 1 mould, 2 dried out."
    );
    let counted = ask(&book, Some(dry));
    assert_eq!(fates(&counted), [Fate::Bad, Fate::Good, Fate::Good, Fate::Good, Fate::Bad]);
    let first = lines(&Findings::of(counted)).remove(0);
    assert!(first.ends_with("Only the reason dried out counts here."), "{first}");
    assert_eq!(asked(&book, Of::Losses).things.len(), 6, "of eight weeks also the first");
    // a loss that is taken back, and a cut that is
    book.act(&Action::Undo);
    assert_eq!(ask(&book, None).things.len(), 4);
}

#[test]
fn a_batch_counts_on_the_day_and_as_the_crop_it_was_put_right_to() {
    let mut book = Book::room();
    book.later(Duration::days(10));
    let (lot, peas) = (book.seed("RAD", 500), book.seed("PEA", 500));
    let sown = Action::Sow(Box::new(book.sowing("RAD", lot, 2)));
    let entry = book.act(&sown).entry;
    let place = book.place("B 3-4");
    let two_weeks = |book: &Book| book.store.cause(&Asked { weeks: 2, ..Asked::of(Of::Mould) }, book.now).unwrap();
    book.later(Duration::days(14));
    assert_eq!(two_weeks(&book).things.len(), 2);
    book.later(Duration::days(1));
    assert_eq!(two_weeks(&book).things.len(), 0);
    book.act(&Action::Correct {
        entry,
        correction: Correction::Place { tray: TrayId(1), place },
        reason: "misread".into(),
        second: None,
    });
    let day = book.now.day() - Duration::days(14);
    let (crop, seed) = (crop(&book, "PEA").id, vec![(peas, 300_000)]);
    let after = book.store.entry(entry).unwrap().after;
    let correction = Correction::Sowing { sowing: SowingId(1), crop, day, seed, after };
    book.act(&Action::Correct { entry, correction, reason: "the other jar".into(), second: None });
    let counted = two_weeks(&book);
    assert_eq!(counted.things.len(), 2);
    for thing in 0..2 {
        assert_eq!(of(&counted, thing, By::Lot), ["S0002-P pea"]);
        assert_eq!((of(&counted, thing, By::Crop), of(&counted, thing, By::Batch)), (vec!["pea"], vec!["B0001-G pea"]));
        assert_eq!(of(&counted, thing, By::SownOn), [day.to_string()]);
    }
    assert_eq!((of(&counted, 0, By::Place), of(&counted, 1, By::Place)), (vec!["B 3-4"], vec!["A 1-2"]));
    book.act(&Action::Undo);
    assert_eq!(two_weeks(&book).things.len(), 0);
}

/// Ten pack lots of pea, eight of radish and one blend of both, all of one pack, and the shop they are in.
fn sold() -> (Shop, Vec<LotId>) {
    let Sold { book, tubs: [pea, radish], products: [shoots_of, radish_of], lots, table } = cause::sold();
    (Shop { book, pea, shoots: lots[0], radish, shoots_of, radish_of, table, nowhere: table }, lots)
}

fn deliver_all(shop: &mut Shop, lots: &[LotId]) {
    let all: Vec<(LotId, i64)> = lots.iter().map(|lot| (*lot, 1)).collect();
    shop.deliver(&all);
}

/// A complaint about lots, one standing for all of them.
fn complain(shop: &mut Shop, what: What, standing: Standing, lots: &[LotId]) -> ComplaintId {
    let new = complaint(shop.table, &shop.book, what, standing, lots);
    ComplaintId(shop.book.act(&new).made.unwrap())
}

#[test]
fn complaints_are_counted_by_the_pack_lots_they_are_about_and_traced_to_what_is_behind_them() {
    let (mut s, lots) = sold();
    assert!(asked(&s.book, Of::Complaints).things.is_empty(), "nothing went out yet");
    deliver_all(&mut s, &lots[..18]);
    // the blend goes to the public
    s.load(RoundKind::Stall, &[(lots[18], 1)]);
    assert_eq!(asked(&s.book, Of::Complaints).things.len(), 18, "what is out on a stall is not sold yet");
    let line = Settled { lot: lots[18], packs: 1, how: How::SoldPublic };
    s.book.act(&Action::SettleRound(Box::new(Settling { round: RoundId(1), lines: vec![line] })));
    s.book.later(Duration::days(1));
    for lot in &lots[..4] {
        complain(&mut s, What::Mould, Standing::Sure, &[*lot]);
    }
    complain(&mut s, What::Slime, Standing::Sure, &[lots[18]]);
    complain(&mut s, What::Mould, Standing::Open, &[lots[5], lots[12]]);
    complain(&mut s, What::Other, Standing::Open, &[]);
    let counted = asked(&s.book, Of::Complaints);
    let mut expected = vec![Fate::Good; 19];
    for bad in [0, 1, 2, 3, 18] {
        expected[bad] = Fate::Bad;
    }
    (expected[5], expected[12]) = (Fate::Doubt, Fate::Doubt);
    assert_eq!(fates(&counted), expected);
    assert_eq!((counted.unnamed, counted.cases().len()), (1, 6));
    // the blend holds both, with everything behind them
    let lots_of_seed = s.book.store.seed_lots().unwrap();
    let seed = |crop: &str| {
        let lot = lots_of_seed.iter().find(|lot| lot.crop_name == crop).unwrap();
        format!("{} {crop}", lot.code)
    };
    let mut both = vec![seed("pea"), seed("radish")];
    both.sort();
    let day = s.lot(s.pea).day.to_string();
    assert_eq!(of(&counted, 18, By::Lot), both);
    assert_eq!((of(&counted, 0, By::Lot), of(&counted, 12, By::Lot)), (vec![&*seed("pea")], vec![&*seed("radish")]));
    assert_eq!(of(&counted, 18, By::Batch), ["B0001-G pea", "B0003-C radish"]);
    assert_eq!(of(&counted, 18, By::SownOn).len(), 2);
    assert_eq!(of(&counted, 18, By::Product), ["two sorts 80 g"]);
    assert_eq!((of(&counted, 18, By::CutOn), of(&counted, 18, By::PackedOn)), (vec![&*day], vec![&*day]));
    assert_eq!((of(&counted, 18, By::CutBy), of(&counted, 18, By::PackedBy)), (vec!["AK"], vec!["RM"]));
    assert_eq!(of(&counted, 0, By::PackedBy), ["AK"]);
    assert_eq!((of(&counted, 18, By::Place).len(), of(&counted, 0, By::Place).len()), (8, 4));
    for missing in [By::Store, By::Spell, By::Tool, By::Packaging, By::Medium, By::Mix] {
        assert!(!kinds(&counted).contains(&missing), "nothing is known of {missing:?}");
    }
    // of one kind alone
    let only = Asked { only: Some(Only::Complaint(What::Slime)), ..Asked::of(Of::Complaints) };
    let slime = s.book.store.cause(&only, s.book.now).unwrap();
    assert_eq!((slime.count(Fate::Bad), slime.count(Fate::Doubt), slime.cases().len()), (1, 0, 1));
    assert_eq!(slime.kinds.iter().map(|(_, n)| *n).collect::<Vec<_>>(), [5, 1, 1], "mould, slime, other");
    // what is taken back is no complaint, and a delivery that is taken back went nowhere
    s.book.act(&Action::Undo);
    s.book.act(&Action::Undo);
    let counted = asked(&s.book, Of::Complaints);
    assert_eq!((counted.unnamed, counted.count(Fate::Doubt), counted.cases().len()), (0, 0, 5));
    s.book.later(Duration::weeks(9));
    assert!(asked(&s.book, Of::Complaints).things.is_empty(), "nine weeks ago");
}

#[test]
fn five_complaints_of_one_crop_lead_to_it_and_say_what_nobody_can_tell_apart() {
    let (mut s, lots) = sold();
    deliver_all(&mut s, &lots[..18]);
    for lot in &lots[..5] {
        complain(&mut s, What::Mould, Standing::Sure, &[*lot]);
    }
    let found = Findings::of(asked(&s.book, Of::Complaints));
    // 5 of 10 against 0 of 8, one split looked at from both sides: (252 + 0) of 8568, and 56 the other way round is less even
    let p = (252.0 + 56.0) / 8568.0;
    assert_eq!((found.looked_at, found.leads.len(), found.enough), (2, 1, true));
    let lead: Vec<_> = found.of_lead(&found.leads[0]).collect();
    assert!((lead[0].p.unwrap() - p).abs() < 1e-9 && (lead[0].q.unwrap() - p).abs() < 1e-9, "{lead:?}");
    let same: BTreeSet<By> = lead.iter().map(|group| group.by).collect();
    assert!([By::Lot, By::Batch, By::Crop, By::Product, By::SownOn].iter().all(|by| same.contains(by)), "{same:?}");
    assert!(!same.contains(&By::CutOn), "all were cut on one day");
    let page = lines(&found);
    let lead = page.iter().find(|line| line.starts_with("   1. ")).unwrap();
    assert!(
        lead.starts_with("   1. All 5 pack lots complained about hold seed lot S0001-R pea. Of the 13 others: 5."),
        "{lead}"
    );
    assert!(lead.contains("The very same pack lots: batch B0001-G pea;"), "{lead}");
}

#[test]
fn a_lot_ruled_out_or_made_sure_later_counts_as_it_stands_now() {
    let (mut s, lots) = sold();
    deliver_all(&mut s, &lots[..3]);
    let complaint = complain(&mut s, What::Mould, Standing::Open, &lots[..3]);
    let name = |lot: LotId, standing| Action::NameLots {
        complaint,
        lots: vec![Named { lot, standing, why: "they sent a photo".into() }],
    };
    let three = |s: &Shop| fates(&asked(&s.book, Of::Complaints));
    assert_eq!(three(&s), [Fate::Doubt, Fate::Doubt, Fate::Doubt]);
    s.book.act(&name(lots[0], Standing::RuledOut));
    s.book.act(&name(lots[1], Standing::Sure));
    assert_eq!(three(&s), [Fate::Good, Fate::Bad, Fate::Doubt]);
    let cases = asked(&s.book, Of::Complaints).cases();
    assert_eq!((cases[0].things.clone(), cases[0].whole), (vec![1], true), "the sure one is the one");
    s.book.act(&Action::Undo);
    assert_eq!(three(&s), [Fate::Good, Fate::Doubt, Fate::Doubt]);
    assert_eq!(asked(&s.book, Of::Complaints).cases()[0].things, [1, 2]);
    // a lot that never went out may be meant as well: then what these share is not sure
    s.book.act(&name(lots[9], Standing::Open));
    assert!(!asked(&s.book, Of::Complaints).cases()[0].whole);
}

#[test]
fn where_packs_lay_what_touched_them_and_another_label() {
    let (mut s, lots) = sold();
    let kept = NewStore { name: "Walk-in".into(), limits: Limits::default() };
    let kept = StoreId(s.book.act(&Action::AddStore(Box::new(kept))).made.unwrap());
    // the tub of pea lay there before any pack was made of what is left; pack 0 lies there now
    let new = PutAway { lots: vec![lots[0]], store: Some(kept), at: s.book.now.instant(), out_dc: Some(150) };
    s.book.act(&Action::PutAway(Box::new(new)));
    for temp_dc in [40, 90, 95, 90, 40] {
        let (thermometer, measured) = ("probe".into(), Measured::Air);
        let new = HandReading { store: kept, at: s.book.now.instant(), temp_dc, thermometer, measured };
        s.book.act(&Action::ReadCold(Box::new(new)));
        s.book.later(Duration::minutes(30));
    }
    // opened again into a blend by other hands, under another label
    let spell = s.book.store.cold(s.book.now, None).unwrap().open_spells()[0].1.spell.key;
    let reason = "looked at all".to_string();
    s.book.act(&Action::DecideSpell { spell, what: Verdict::Accepted, by: AK, reason });
    let reissue = Action::Reissue { lot: lots[1], product: s.shoots_of, reason: "smudged".into() };
    let again = s.book.store.act(&reissue, PersonId(2), s.book.now).unwrap().made.map(LotId).unwrap();
    let conn = raw(&s.book.path);
    conn.execute_batch(&format!(
        "INSERT INTO tool (id, name) VALUES (1, 'the blue knife');
         INSERT INTO lot_use (entry_id, lot_id, tool_id) SELECT entry_id, id, 1 FROM lot WHERE id = {};
         INSERT INTO lot_use (entry_id, void_by, lot_id, tool_id) SELECT entry_id, entry_id, id, 1 FROM lot WHERE id = {};
         INSERT INTO material (id, name, measure) VALUES (77, 'punnet', 'piece');
         INSERT INTO material_lot (id, entry_id, material_id, code, received) VALUES (77, 1, 77, 'P-9', '2026-07-01');
         INSERT INTO lot_use (entry_id, lot_id, material_lot_id) SELECT entry_id, id, 77 FROM lot WHERE id = {}",
        s.pea.0, s.radish.0, lots[0].0
    ))
    .unwrap();
    let lines: Vec<(LotId, i64)> = [lots[0], lots[2], again, lots[10]].map(|lot| (lot, 1)).to_vec();
    let new = NewDelivery { sure: vec!["deliver_keeps"], ..s.delivery(&lines) };
    s.book.act(&Action::Deliver(Box::new(new)));
    let counted = asked(&s.book, Of::Complaints);
    // in the order in which they were made: lot 0, lot 2, radish, the new label
    assert_eq!(of(&counted, 0, By::Store), ["Walk-in"]);
    assert_eq!(of(&counted, 0, By::Spell), ["Walk-in, warm spell 11 Jul 06:30"]);
    assert!(of(&counted, 1, By::Store).is_empty() && of(&counted, 1, By::Spell).is_empty());
    assert_eq!(of(&counted, 0, By::Tool), ["the blue knife"], "through what it was drawn from");
    assert!(of(&counted, 2, By::Tool).is_empty(), "taken back, and of radish");
    assert_eq!((of(&counted, 0, By::Packaging), of(&counted, 1, By::Packaging)), (vec!["punnet, lot P-9"], vec![]));
    assert_eq!(of(&counted, 3, By::PackedBy), ["AK"], "who packed it, not who printed its new label");
    assert_eq!(of(&counted, 3, By::Tool), ["the blue knife"]);
}

#[test]
fn mats_and_sprays_are_named_and_what_stood_before_the_book_was_sown_by_nobody_here() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let new = NewSowing {
        medium_lot: Some("M-1".into()),
        wetting: Wetting::Mix { name: "weak rinse".into(), wait_h: 0 },
        ..book.sowing("RAD", lot, 1)
    };
    book.act(&Action::Sow(Box::new(new)));
    let place = book.board().free_places()[0].id;
    let stood = NewStanding {
        crop: crop(&book, "RAD").id,
        sown: book.now.day() - Duration::days(3),
        lot: Some(lot),
        format: book.board().formats[0].id,
        stage: Stage::Covered,
        places: vec![place],
    };
    book.act(&Action::Standing(Box::new(stood)));
    book.later(Duration::days(1));
    let counted = asked(&book, Of::Mould);
    assert_eq!((of(&counted, 0, By::Medium), of(&counted, 1, By::Medium)), (vec!["mat, lot M-1"], vec![]));
    assert_eq!((of(&counted, 0, By::Mix), of(&counted, 1, By::Mix)), (vec!["weak rinse"], vec![]));
    assert_eq!((of(&counted, 0, By::SownBy), of(&counted, 1, By::SownBy)), (vec!["AK"], vec![]));
    assert_eq!(of(&counted, 1, By::Lot), ["S0001-R radish"]);
}

/// The seed lot behind each pack lot, found lot by lot and tray by tray as a person with a SQLite shell would.
#[test]
fn what_packs_hold_is_what_a_walk_by_hand_finds() {
    let mut s = shop();
    let (shoots, radish) = (s.shoots, s.radish);
    s.deliver(&[(shoots, 2), (radish, 3)]);
    let counted = asked(&s.book, Of::Complaints);
    let conn = raw(&s.book.path);
    for (thing, lot) in [shoots, radish].into_iter().enumerate() {
        let (mut todo, mut trays) = (vec![lot.0], BTreeSet::new());
        while let Some(lot) = todo.pop() {
            let text = "SELECT tray_id, from_lot_id FROM lot_input WHERE lot_id = ? AND void_by IS NULL";
            let mut inputs = conn.prepare(text).unwrap();
            let mut rows = inputs.query([lot]).unwrap();
            while let Some(row) = rows.next().unwrap() {
                trays.extend(row.get::<_, Option<i64>>(0).unwrap());
                todo.extend(row.get::<_, Option<i64>>(1).unwrap());
            }
        }
        let mut expected = BTreeSet::new();
        for tray in trays {
            let text = "SELECT l.code || ' ' || c.name FROM tray t JOIN seed_move m ON m.sowing_id = t.sowing_id
                        JOIN seed_lot l ON l.id = m.seed_lot_id JOIN crop c ON c.id = l.crop_id WHERE t.id = ?";
            expected.insert(conn.query_row(text, [tray], |row| row.get::<_, String>(0)).unwrap());
        }
        assert_eq!(of(&counted, thing, By::Lot), expected.iter().map(String::as_str).collect::<Vec<_>>());
    }
}
