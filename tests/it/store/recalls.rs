//! Recalls and exercises: the call sheet, who was reached, where everything is, and how long it took.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::answering::Answering;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::complaint::{Named, NewComplaint, Severity, Standing, Told, What};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::NewReturn;
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::Of;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{DeliveryId, HoldId, LotId, RecallId, RoundId};
use rackwalk::domain::recall::{Line, Recall};
use rackwalk::domain::round::{How, Kind as RoundKind, NewRound};
use rackwalk::domain::stock::{Account, Away, CameBack};
use rackwalk::domain::trace::Start;

use super::sold::{Shop, gone, pack, settled, shop};
use super::{act_as, assert_sound, number, person, raw};
use crate::book::AK;

/// The rules met here.
pub(super) const MET: &[&str] = &[
    "contact_destroyed",
    "contact_line",
    "exercise_gaps",
    "exercise_lot",
    "exercise_not",
    "exercise_over",
    "recall_lifted",
    "recall_there",
    "recall_unknown",
];

fn hold(s: &mut Shop, lot: impl Fn(&Shop) -> LotId) -> HoldId {
    let what = Start::Lot(lot(s));
    s.book.act(&Action::Hold(Box::new(NewHold::of(what, None, "a call".into()))));
    s.book.board().holds.last().unwrap().id
}

fn begin(s: &mut Shop, hold: HoldId) -> RecallId {
    RecallId(s.book.act(&Action::Recall { hold }).made.unwrap())
}

fn contact(recall: RecallId, line: Line, reached: bool, destroyed: Option<i64>, note: &str) -> Action {
    let note = Some(note.to_string()).filter(|note| !note.is_empty());
    Action::Contact { recall, line, reached, destroyed, note }
}

fn one(s: &Shop, id: RecallId) -> Recall {
    s.book.store.recalls().unwrap().into_iter().find(|recall| recall.id == id).unwrap()
}

fn back(delivery: DeliveryId, lot: LotId, packs: i64) -> Action {
    let reason = "the recall".to_string();
    Action::Return(Box::new(NewReturn { delivery, lot, packs, what: CameBack::Binned, reason }))
}

fn end(recall: RecallId, gaps: &str) -> Action {
    Action::EndExercise { recall, gaps: gaps.into() }
}

/// Shoots went to Table twice and to a stall, radish to the same stall, and shoots to another stall the day after.
fn went_out(s: &mut Shop) -> (DeliveryId, DeliveryId, RoundId, RoundId) {
    let (first, second) = (s.deliver(&[(s.shoots, 2), (s.radish, 1)]), s.deliver(&[(s.shoots, 1)]));
    let stall = s.load(RoundKind::Stall, &[(s.shoots, 2), (s.radish, 3)]);
    s.book.act(&settled(stall, s.shoots, 2, How::SoldPublic));
    s.book.act(&settled(stall, s.radish, 3, How::SoldPublic));
    s.book.later(Duration::days(1));
    let other = NewRound {
        place: Some("mill".into()),
        hours: Some("9 to 12".into()),
        ..s.round(RoundKind::Stall, &[(s.shoots, 2)])
    };
    let other = RoundId(s.book.act(&Action::LoadRound(Box::new(other))).made.unwrap());
    s.book.act(&settled(other, s.shoots, 1, How::SoldPublic));
    s.book.act(&settled(other, s.shoots, 1, How::Given { to: "the gate".into() }));
    (first, second, stall, other)
}

#[test]
fn the_call_sheet_has_a_line_for_each_delivery_and_each_stall() {
    let mut s = shop();
    let (first, second, stall, other) = went_out(&mut s);
    let phone = "555 0141".to_string();
    let rev = s.book.store.goods(s.book.now.day()).unwrap().customer(s.table).unwrap().rev;
    let new = NewCustomer { name: "Long Table".into(), address: "3 Quay".into(), phone, ..NewCustomer::default() };
    let (held, today) = (hold(&mut s, |s| s.pea), s.book.now.day());
    let id = begin(&mut s, held);
    // who is called is called where they are now
    s.book.act(&Action::EditCustomer { customer: s.table, new: Box::new(new), retired: false, rev });
    let recall = one(&s, id);
    assert_eq!(recall.scope, "Lot PEA-260711-A-Z");
    let lines: Vec<(Line, &str, &str, i64)> =
        recall.calls.iter().map(|call| (call.line, call.name.as_str(), call.phone.as_str(), call.packs())).collect();
    assert_eq!(
        lines,
        [
            (Line::Notice(other), "north, mill", "", 2),
            (Line::Delivery(first), "Long Table", "555 0141", 2),
            (Line::Delivery(second), "Long Table", "555 0141", 1),
            (Line::Notice(stall), "north, square", "", 2),
        ],
        "radish is another lot"
    );
    assert_eq!((recall.calls[0].address.as_str(), recall.calls[1].address.as_str()), ("9 to 12", "3 Quay"));
    assert_eq!((recall.calls[0].day, recall.calls[1].day), (today, today - Duration::days(1)));
    assert_eq!((recall.packs(), recall.found_pm(), recall.done()), ((7, 7), 0, false));
    let balances: Vec<(LotId, &str, Option<i64>)> =
        recall.balances.iter().map(|of| (of.lot, of.unit, of.account.accounted_pm())).collect();
    assert_eq!(balances, [(s.pea, "g", Some(1000)), (s.shoots, "packs", Some(1000))]);
    assert_sound(&mut s.book);
}

#[test]
fn the_newest_try_of_a_line_counts_and_what_was_destroyed_stays_said() {
    let mut s = shop();
    let (first, _, stall, _) = went_out(&mut s);
    let held = hold(&mut s, |s| s.shoots);
    s.bars("hold_unknown", &Action::Recall { hold: HoldId(99) });
    let id = begin(&mut s, held);
    s.bars("recall_there", &Action::Recall { hold: held });
    let (table, notice) = (Line::Delivery(first), Line::Notice(stall));
    s.bars("recall_unknown", &contact(RecallId(99), table, true, None, ""));
    s.bars("contact_line", &contact(id, Line::Delivery(DeliveryId(99)), true, None, ""));
    s.bars("contact_line", &contact(id, Line::Notice(RoundId(99)), true, None, ""));
    for destroyed in [-1, 3] {
        s.bars("contact_destroyed", &contact(id, table, true, Some(destroyed), ""));
    }
    let call = |s: &Shop| one(s, id).calls.into_iter().find(|call| call.line == table).unwrap();
    let said = s.book.act(&contact(id, table, false, None, " no answer ")).sentence;
    assert_eq!(said, "Table: not reached. 4 still to do.");
    assert_eq!((call(&s).reached(), call(&s).note), (false, Some("no answer".into())));
    s.book.later(Duration::minutes(20));
    let rm = person(&mut s.book, "RM", false);
    let said = act_as(&mut s.book, rm, &contact(id, table, true, Some(1), "one is in the bin")).sentence;
    assert_eq!(
        said, "Table: reached about 2 deliveries. 2 still to do.",
        "whoever is on the phone hears of all they got"
    );
    let now = call(&s);
    assert_eq!(
        (now.tried.clone().map(|(reached, _, who)| (reached, who)), now.destroyed),
        (Some((true, "RM".into())), 1)
    );
    // called once more, nobody spoke of what was destroyed
    s.book.act(&contact(id, table, true, None, "the other one comes back"));
    assert_eq!((call(&s).destroyed, call(&s).note), (1, Some("the other one comes back".into())));
    s.book.act(&back(first, s.shoots, 1));
    assert_eq!((call(&s).returned(), call(&s).destroyed, call(&s).missing()), (1, 1, 0));
    s.bars("contact_destroyed", &contact(id, table, true, Some(2), ""));
    // taken back, the one before counts
    s.book.act(&Action::Undo);
    s.book.act(&Action::Undo);
    assert_eq!((call(&s).note, call(&s).returned()), (Some("one is in the bin".into()), 0));
    act_as(&mut s.book, rm, &Action::Undo);
    assert!(!call(&s).reached());
    assert_eq!(call(&s).destroyed, 0);
    // a notice is posted; found is what came back, was destroyed, or whose owner was reached
    let said = s.book.act(&contact(id, notice, true, None, "")).sentence;
    assert_eq!(said, "north, square: the notice is posted. 3 still to do.");
    s.book.act(&contact(id, table, false, Some(1), ""));
    let recall = one(&s, id);
    assert_eq!((recall.packs(), recall.found_pm()), ((7, 4), 429));
    let log: Vec<String> =
        s.book.store.history(Of::Delivery(first), None, 1).unwrap().into_iter().map(|line| line.text).collect();
    assert_eq!(log, ["recall 1: Table not reached, 1 destroyed there"]);
    assert_eq!(s.book.store.history(Of::Round(stall), None, 1).unwrap()[0].text, "recall 1: north notice posted");
    assert_sound(&mut s.book);
}

#[test]
fn a_recall_is_taken_back_while_nobody_was_called_and_not_after_its_hold_was_lifted() {
    let mut s = shop();
    let (first, ..) = went_out(&mut s);
    let rm = person(&mut s.book, "RM", true);
    let held = hold(&mut s, |s| s.shoots);
    let id = begin(&mut s, held);
    s.book.act(&Action::Undo);
    assert!(s.book.store.recalls().unwrap().is_empty());
    assert!(s.lot(s.shoots).held, "its hold stays");
    s.bars("recall_unknown", &contact(id, Line::Delivery(first), true, None, ""));
    s.book.act(&Action::Recall { hold: held });
    let id = s.book.store.recalls().unwrap()[0].id;
    act_as(&mut s.book, rm, &contact(id, Line::Delivery(first), true, None, ""));
    // someone called by it: RM's entry goes first
    assert_eq!(s.book.refused(&Action::Undo).rule, "undo_in_use");
    // a delivery somebody was called about is not taken back under the sheet
    let delivered = s.book.store.history(Of::Delivery(first), None, 9).unwrap().last().unwrap().id;
    let never = Action::Correct { entry: delivered, correction: Correction::Never, reason: "x".into(), second: None };
    s.bars("undo_in_use", &never);
    act_as(&mut s.book, rm, &Action::Undo);
    s.book.act(&Action::Undo);
    let decide = |what| Action::DecideHold { hold: held, what, by: AK, reason: "nothing was found".into() };
    s.book.act(&decide(Verdict::Accepted));
    s.bars("recall_lifted", &Action::Recall { hold: held });
    s.book.act(&Action::Undo);
    // called back and destroyed: it goes on being called
    s.book.act(&decide(Verdict::Thrown));
    s.book.act(&Action::Recall { hold: held });
    assert_sound(&mut s.book);
}

#[test]
fn the_clock_runs_from_the_call_to_the_last_contact() {
    let mut s = shop();
    let (first, second, stall, other) = went_out(&mut s);
    let call = NewComplaint {
        customer: Some(s.table),
        product: Some(s.shoots_of),
        day: s.book.now.day(),
        delivered: None,
        code: None,
        what: What::Illness,
        severity: Severity::Grave,
        told: Told::default(),
        lots: vec![Named { lot: s.shoots, standing: Standing::Sure, why: "the label was read".into() }],
        hold: true,
    };
    // they called at nine; it is typed at half past
    let nine = s.book.now.instant();
    s.book.later(Duration::minutes(30));
    let seen = Seen { at: Some(nine), ..Seen::default() };
    s.book.store.act_seen(&Action::Complain(Box::new(call)), AK, &seen, s.book.now).unwrap();
    let held = s.book.board().holds[0].id;
    s.book.later(Duration::minutes(15));
    let id = begin(&mut s, held);
    let recall = one(&s, id);
    assert_eq!((recall.from, recall.complaint.map(|id| id.0)), (nine, Some(1)));
    let targets = Answering::default();
    let clock = |s: &Shop, targets: &Answering| one(s, id).clock(targets, s.book.now.instant());
    s.book.later(Duration::minutes(15));
    assert_eq!(
        clock(&s, &targets),
        [
            "Call to list: 45 min, within the target of 2 h 0 min.",
            "4 lines still to be reached, 60 min since the call."
        ]
    );
    let hurried = Answering { trace_min: 30, ceiling_min: 40, authority_min: 50, ..targets.clone() };
    assert_eq!(
        clock(&s, &hurried),
        [
            "Call to list: 45 min, over the ceiling of 40 min.",
            "4 lines still to be reached, 60 min since the call, longer than an authority allows.",
        ]
    );
    for line in [Line::Delivery(first), Line::Delivery(second), Line::Notice(stall), Line::Notice(other)] {
        s.book.act(&contact(id, line, true, None, ""));
        s.book.later(Duration::minutes(10));
    }
    s.book.later(Duration::hours(5));
    assert_eq!(
        clock(&s, &Answering { trace_min: 30, ..targets })[..],
        [
            "Call to list: 45 min, over the target, within the ceiling of 4 h 0 min.",
            "Call to last contact: 90 min; everybody was reached.",
        ]
    );
    assert!(one(&s, id).done());
    assert_sound(&mut s.book);
}

/// A shop with 48 packs of 5 g more, 40 of them delivered.
fn forty_eight() -> (Shop, LotId, DeliveryId) {
    let mut s = shop();
    let lot = LotId(s.book.act(&pack(s.shoots_of, s.pea, 48, 5)).made.unwrap());
    let delivery = s.deliver(&[(lot, 40)]);
    (s, lot, delivery)
}

fn count(lot: LotId, counted: i64) -> Action {
    Action::CountStock { lot, counted, reason: "counted twice".into() }
}

/// Its account on the sheet of a recall begun now, and the worst of the sheet.
fn balance(s: &mut Shop, lot: LotId) -> (Account, Option<i64>, Option<i64>) {
    let held = hold(s, |_| lot);
    let id = begin(s, held);
    let recall = one(s, id);
    let account = recall.balances.iter().find(|balance| balance.lot == lot).unwrap().account;
    assert_sound(&mut s.book);
    (account, account.accounted_pm(), recall.balance_pm())
}

#[test]
fn the_balance_of_a_lot_says_what_is_missing_and_what_is_too_much() {
    // P: 48 made, the four cases of our tracing reference, T5
    let made = Account { made: 48, with_customers: 40, ..Account::default() };
    // with customers 40, on hand 5, sampled 1, wasted 2: 100.0 %
    let (mut s, lot, _) = forty_eight();
    s.book.act(&gone(lot, Away::Sample, 1, ""));
    s.book.act(&gone(lot, Away::Waste, 2, "dropped"));
    let full = Account { on_hold: 5, sampled: 1, wasted: 2, ..made };
    assert_eq!(balance(&mut s, lot), (full, Some(1000), Some(1000)));
    // without the 2: 95.8 %
    let (mut s, lot, _) = forty_eight();
    s.book.act(&gone(lot, Away::Sample, 1, ""));
    s.book.act(&count(lot, 5));
    let short = Account { on_hold: 5, sampled: 1, counted: -2, ..made };
    assert_eq!(balance(&mut s, lot), (short, Some(958), Some(958)));
    // 40 and on hand 10: 104.2 %, an error as much as the other
    let (mut s, lot, _) = forty_eight();
    s.book.act(&count(lot, 10));
    assert_eq!(balance(&mut s, lot), (Account { on_hold: 10, counted: 2, ..made }, Some(1042), Some(1042)));
    // delivered 40 of which 2 came back and were binned, on hand 8: 38 + 8 + 2 is 100.0 %
    let (mut s, lot, delivery) = forty_eight();
    s.book.act(&back(delivery, lot, 2));
    let returned = Account { on_hold: 8, with_customers: 38, returned: 2, ..made };
    assert_eq!(balance(&mut s, lot), (returned, Some(1000), Some(1000)));
    assert_eq!(s.book.store.recalls().unwrap()[0].calls[0].returned(), 2);
}

#[test]
fn an_exercise_holds_nothing_and_is_scored_once() {
    let mut s = shop();
    let (first, second, stall, other) = went_out(&mut s);
    s.bars("exercise_lot", &Action::Exercise { lot: s.pea });
    let inside = LotId(s.book.act(&pack(s.shoots_of, s.pea, 1, 100)).made.unwrap());
    s.bars("exercise_lot", &Action::Exercise { lot: inside });
    s.bars("lot_unknown", &Action::Exercise { lot: LotId(99) });
    assert_eq!(s.book.store.delivered_lots(s.book.now.day() - Duration::days(7)).unwrap(), [s.shoots, s.radish]);
    assert_eq!(s.book.store.delivered_lots(s.book.now.day()).unwrap(), []);
    let begun = s.book.act(&Action::Exercise { lot: s.shoots });
    assert!(begun.sentence.starts_with("Exercise 1: find everyone who got PEA-260711-B-X."), "{}", begun.sentence);
    let id = RecallId(begun.made.unwrap());
    // nothing is held by it, and nobody is asked to decide
    assert!(s.book.board().holds.is_empty() && !s.lot(s.shoots).held);
    s.deliver(&[(s.shoots, 1)]);
    let recall = one(&s, id);
    assert!(recall.exercise && recall.scope.starts_with("EXERCISE ") && recall.from == s.book.now.instant());
    let lift = Action::DecideHold { hold: recall.hold, what: Verdict::Accepted, by: AK, reason: "x".into() };
    s.bars("hold_unknown", &lift);
    assert_eq!(recall.calls.len(), 5);
    s.book.later(Duration::minutes(12));
    let third = recall
        .calls
        .iter()
        .map(|call| call.line)
        .find(|line| {
            ![Line::Delivery(first), Line::Delivery(second)].contains(line) && matches!(line, Line::Delivery(_))
        })
        .unwrap();
    for line in [Line::Delivery(first), Line::Delivery(second), third, Line::Notice(stall)] {
        let said = s.book.act(&contact(id, line, true, None, "")).sentence;
        assert!(said.starts_with("EXERCISE. "), "{said}");
    }
    let told = s.book.store.history(Of::Delivery(first), None, 1).unwrap().remove(0).text;
    assert_eq!(told, "mock recall 1: Table reached");
    s.bars("exercise_gaps", &end(id, " "));
    s.book.later(Duration::minutes(3));
    let over = s.book.act(&end(id, "the stall of the mill: nobody has its number"));
    // 6 of 8 packs: 2 at the mill were not found
    assert_eq!(over.sentence, "Exercise 1: found 75 %, balance 100 %, 15 min.");
    let scored = one(&s, id).scored.unwrap();
    assert_eq!((scored.found_pm, scored.balance_pm, scored.minutes), (750, Some(1000), 15));
    assert_eq!(scored.gaps, "the stall of the mill: nobody has its number");
    s.bars("exercise_over", &end(id, "none"));
    s.bars("exercise_over", &contact(id, Line::Notice(other), true, None, ""));
    assert_eq!(number(&raw(&s.book.path), "SELECT count(*) FROM exercise WHERE void_by IS NULL"), 1);
    // its end taken back, it goes on
    s.book.act(&Action::Undo);
    s.book.act(&contact(id, Line::Notice(other), true, None, ""));
    s.book.act(&end(id, "none"));
    assert_eq!(one(&s, id).scored.unwrap().found_pm, 1000);
    // a recall is none
    let held = hold(&mut s, |s| s.radish);
    let real = begin(&mut s, held);
    s.bars("exercise_not", &end(real, "none"));
    s.bars("recall_unknown", &end(RecallId(99), "none"));
    assert_sound(&mut s.book);
}

#[test]
fn an_exercise_taken_back_leaves_nothing() {
    let mut s = shop();
    s.deliver(&[(s.shoots, 1)]);
    s.book.act(&Action::Exercise { lot: s.shoots });
    s.book.act(&Action::Undo);
    let conn = raw(&s.book.path);
    assert_eq!(number(&conn, "SELECT count(*) FROM hold WHERE void_by IS NULL"), 0);
    assert_eq!(number(&conn, "SELECT count(*) FROM recall WHERE void_by IS NULL"), 0);
    assert!(s.book.store.recalls().unwrap().is_empty());
    s.book.act(&Action::Exercise { lot: s.shoots });
    assert_eq!(s.book.store.recalls().unwrap().len(), 1);
    assert_sound(&mut s.book);
}

#[test]
fn another_label_and_a_late_delivery_stand_on_the_sheet() {
    let mut s = shop();
    let held = hold(&mut s, |s| s.shoots);
    let id = begin(&mut s, held);
    assert!(one(&s, id).calls.is_empty());
    assert_eq!(one(&s, id).clock(&Answering::default(), s.book.now.instant())[1], "Nobody outside has any of it.");
    let reissue = Action::Reissue { lot: s.shoots, product: s.shoots_of, reason: "smudged".into() };
    let other = LotId(s.book.act(&reissue).made.unwrap());
    let recall = one(&s, id);
    assert_eq!(recall.balances.iter().map(|balance| balance.lot).collect::<Vec<_>>(), [other]);
    // it went out before anyone knew: written late, a breach
    let late = Action::Deliver(Box::new(s.delivery(&[(other, 3)])));
    s.book.act(&Action::Already { action: Box::new(late), reason: "the van had left".into() });
    let recall = one(&s, id);
    assert_eq!((recall.calls.len(), recall.packs()), (1, (3, 3)));
    assert_sound(&mut s.book);
}
