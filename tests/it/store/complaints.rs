//! Complaints: what is written down of a call, which lots it may be about, what it holds, and that what was told of people
//! can be taken out for good.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::answering::Answering;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::complaint::{Complaint, Named, NewComplaint, Severity, Standing, Told, What};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::Of;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{ComplaintId, CustomerId, EntryId, LotId, PersonId, ProductId};
use rackwalk::domain::trace::Start;
use rusqlite::Connection;

use super::sold::{Shop, shop};
use super::{act_as, assert_sound, dump, number, person, raw, refused_as};
use crate::book::AK;

/// The rules met here.
pub(super) const MET: &[&str] = &[
    "answering",
    "blank_nothing",
    "blank_stays",
    "complaint",
    "complaint_closed",
    "complaint_lots",
    "complaint_nothing",
    "complaint_unknown",
    "complaint_why",
];

fn named(lot: LotId, standing: Standing, why: &str) -> Named {
    Named { lot, standing, why: why.into() }
}

/// Table calls about pea shoots that came today.
fn new(s: &Shop) -> NewComplaint {
    NewComplaint {
        customer: Some(s.table),
        product: Some(s.shoots_of),
        day: s.book.now.day(),
        delivered: Some(s.book.now.day()),
        code: None,
        what: What::Mould,
        severity: Severity::Serious,
        told: Told::default(),
        lots: vec![named(s.shoots, Standing::Open, "2 packs that day")],
        hold: false,
    }
}

/// What nobody but the people concerned and the grower is to know.
fn told() -> Told {
    Told {
        caller: Some("Zinnia Quell".into()),
        kept: Some("on Quell's windowsill".into()),
        words: Some("Quell's guests were sick".into()),
        photo: Some("quell-7.jpg".into()),
        ill: Some(3),
        ate: Some("Quell, at noon".into()),
        onset: Some("Quell, at six".into()),
        others: Some("old Quell too".into()),
    }
}

fn complain(new: NewComplaint) -> Action {
    Action::Complain(Box::new(new))
}

fn write(s: &mut Shop, change: impl FnOnce(NewComplaint) -> NewComplaint) -> ComplaintId {
    let action = complain(change(new(s)));
    ComplaintId(s.book.act(&action).made.unwrap())
}

fn one(s: &Shop, id: ComplaintId) -> Complaint {
    s.book.store.complaints().unwrap().into_iter().find(|complaint| complaint.id == id).unwrap()
}

fn story(s: &Shop, id: ComplaintId) -> Vec<String> {
    let lines = s.book.store.history(Of::Complaint(id), None, 99).unwrap();
    lines.into_iter().rev().map(|line| line.text).collect()
}

fn close(complaint: ComplaintId, by: PersonId, found: &str) -> Action {
    Action::CloseComplaint { complaint, by, found: found.into() }
}

fn blank(complaint: ComplaintId) -> Action {
    Action::Blank { complaint, reason: "asked to by mail".into() }
}

fn more(complaint: ComplaintId, told: Told) -> Action {
    Action::TellMore { complaint, told: Box::new(told) }
}

#[test]
fn what_cannot_be_is_refused_with_a_sentence() {
    let mut s = shop();
    let today = s.book.now.day();
    let later = today + Duration::days(1);
    let cases = [
        ("complaint", Some("noticed"), NewComplaint { day: later, ..new(&s) }),
        ("complaint", Some("noticed"), NewComplaint { delivered: Some(later), ..new(&s) }),
        // noticed before it was delivered
        ("complaint", Some("noticed"), NewComplaint { day: today - Duration::days(1), ..new(&s) }),
        (
            "complaint",
            Some("customer"),
            NewComplaint { customer: None, product: None, code: Some(" ".into()), ..new(&s) },
        ),
        ("complaint", Some("ill"), NewComplaint { told: Told { ill: Some(-1), ..Told::default() }, ..new(&s) }),
        ("customer_unknown", Some("customer"), NewComplaint { customer: Some(CustomerId(99)), ..new(&s) }),
        ("product_unknown", Some("product"), NewComplaint { product: Some(ProductId(99)), ..new(&s) }),
        ("lot_unknown", Some("lots"), NewComplaint { lots: vec![named(LotId(99), Standing::Open, "x")], ..new(&s) }),
        ("complaint_why", Some("why"), NewComplaint { lots: vec![named(s.shoots, Standing::Open, " ")], ..new(&s) }),
    ];
    for (rule, field, new) in cases {
        let refusal = s.book.refused(&complain(new.clone()));
        assert_eq!((refusal.rule, refusal.field), (rule, field), "{refusal}");
        s.bars(rule, &complain(new));
    }
    let rm = person(&mut s.book, "RM", false);
    let id = write(&mut s, |new| new);
    let lots = |lots: Vec<Named>| Action::NameLots { complaint: id, lots };
    s.bars("complaint_nothing", &more(id, Told { words: Some("  ".into()), ..Told::default() }));
    s.bars("complaint", &more(id, Told { ill: Some(100_001), ..Told::default() }));
    s.bars("complaint_lots", &lots(vec![]));
    s.bars("complaint_why", &lots(vec![named(s.shoots, Standing::Sure, "")]));
    s.bars("complaint_unknown", &more(ComplaintId(99), told()));
    s.bars("complaint_unknown", &close(ComplaintId(99), AK, "x"));
    s.bars("complaint_unknown", &blank(ComplaintId(99)));
    s.bars("blank_nothing", &blank(id));
    s.bars("decision_reason", &Action::Blank { complaint: id, reason: " ".into() });
    s.bars("decision_reason", &close(id, AK, ""));
    s.bars("may_not_decide", &close(id, rm, "it stood in the sun"));
    let held = |complaint| Action::Hold(Box::new(NewHold::of(Start::Lot(s.shoots), Some(complaint), "x".into())));
    let (unknown, closed) = (held(ComplaintId(99)), held(id));
    s.bars("complaint_unknown", &unknown);
    s.book.act(&close(id, AK, "it stood in the sun"));
    for act in [more(id, told()), lots(vec![named(s.shoots, Standing::Sure, "x")]), close(id, AK, "again"), closed] {
        s.bars("complaint_closed", &act);
    }
    let answering = |trace_min| Action::EditAnswering {
        answering: Box::new(Answering { trace_min, ..Answering::default() }),
        rev: 0,
    };
    s.bars("answering", &answering(0));
    s.bars("answering", &answering(241));
    s.bars("no_change", &answering(120));
    s.book.act(&answering(60));
    s.bars("stale", &answering(90));
    assert_sound(&mut s.book);
}

#[test]
fn a_call_is_kept_with_its_hands_its_time_and_its_lots() {
    let mut s = shop();
    s.deliver(&[(s.shoots, 2), (s.radish, 1)]);
    let rm = person(&mut s.book, "RM", false);
    s.book.later(Duration::hours(3));
    let then = s.book.now.plus(Duration::hours(-2)).instant();
    let call = NewComplaint {
        code: Some(" PEA-26 ".into()),
        told: told(),
        lots: vec![
            named(s.radish, Standing::RuledOut, "another product"),
            named(s.shoots, Standing::Open, "2 packs that day"),
        ],
        ..new(&s)
    };
    // RM took the call two hours ago, AK types
    let seen = Seen { by: Some(rm), at: Some(then), paper: false };
    let done = s.book.store.act_seen(&complain(call), AK, &seen, s.book.now).unwrap();
    assert_eq!(done.sentence, "Complaint 1 of Table: mould.");
    let id = ComplaintId(done.made.unwrap());
    let complaint = one(&s, id);
    assert_eq!((complaint.who.as_str(), complaint.at), ("RM", then));
    assert_eq!((complaint.customer_name.as_str(), complaint.product_name.as_str()), ("Table", "pea shoots 100 g"));
    assert_eq!(complaint.code.as_deref(), Some("PEA-26"));
    assert_eq!(complaint.told, [(complaint.entry, Some(told()))]);
    let lots: Vec<(LotId, Standing)> = complaint.lots.iter().map(|lot| (lot.lot, lot.standing)).collect();
    assert_eq!(lots, [(s.shoots, Standing::Open), (s.radish, Standing::RuledOut)]);
    assert_eq!((complaint.open_lots(), complaint.holds.len(), complaint.closed.clone()), (vec![s.shoots], 0, None));
    // the newest word about a lot counts, and an undo of it brings the one before back
    let say = |lot, standing, why: &str| Action::NameLots { complaint: id, lots: vec![named(lot, standing, why)] };
    s.book.act(&say(s.shoots, Standing::RuledOut, "they found the label"));
    let done = s.book.act(&say(s.radish, Standing::Sure, "they found the label"));
    assert_eq!(done.sentence, "Complaint 1, mould: RAD-260711-B-7 it is this one.");
    let complaint = one(&s, id);
    assert_eq!((complaint.open_lots(), complaint.lots[0].why.as_str()), (vec![s.radish], "they found the label"));
    s.book.act(&Action::Undo);
    assert_eq!(one(&s, id).open_lots(), Vec::<LotId>::new());
    s.book.act(&Action::Undo);
    assert_eq!(one(&s, id).open_lots(), [s.shoots]);
    // another call; only what was said, without blanks
    s.book.act(&more(id, Told { words: Some(" it smells ".into()), kept: Some(" ".into()), ..Told::default() }));
    let complaint = one(&s, id);
    assert_eq!(complaint.told[1].1, Some(Told { words: Some("it smells".into()), ..Told::default() }));
    // taken back, or said never to have happened, it is not shown
    s.book.act(&Action::Undo);
    assert_eq!(one(&s, id).told.len(), 1);
    let wrong = s.book.act(&more(id, Told { words: Some("of another room".into()), ..Told::default() })).entry;
    let never = |entry| Action::Correct { entry, correction: Correction::Never, reason: "x".into(), second: None };
    s.book.act(&never(wrong));
    assert_eq!(one(&s, id).told.len(), 1);
    // a customer by another name, and out of use, is the same one
    let rev = s.book.store.goods(s.book.now.day()).unwrap().customer(s.table).unwrap().rev;
    let other = NewCustomer { name: "Long Table".into(), address: "1 Quay".into(), ..NewCustomer::default() };
    let renamed = Action::EditCustomer { customer: s.table, new: Box::new(other), retired: true, rev };
    s.book.act(&renamed);
    assert_eq!(one(&s, id).words(), "mould, Long Table, pea shoots 100 g");
    let closed = s.book.act(&close(id, AK, "kept in the sun"));
    assert!(closed.sentence.contains("AK closed it"), "{}", closed.sentence);
    assert_eq!(one(&s, id).closed, Some(("AK".into(), "kept in the sun".into())));
    // an open one comes first, also where it is older
    let second = write(&mut s, |new| NewComplaint { customer: None, ..new });
    s.book.act(&close(second, AK, "the same"));
    s.book.act(&Action::Undo);
    let order: Vec<ComplaintId> = s.book.store.complaints().unwrap().iter().map(|complaint| complaint.id).collect();
    assert_eq!(order, [second, id]);
    let told = story(&s, id);
    assert_eq!(
        told[0],
        "complaint 1 of Long Table: mould, pea shoots 100 g; serious; RAD-260711-B-7 ruled out; PEA-260711-B-X may be it"
    );
    assert_eq!(told[1], "complaint 1; PEA-260711-B-X ruled out");
    assert!(told.iter().all(|line| !line.contains("Quell")), "{told:?}");
    assert!(told.contains(&"complaint 1: answered and closed by AK".to_string()), "{told:?}");
    assert_sound(&mut s.book);
}

#[test]
fn illness_holds_the_lots_it_may_be_and_their_seed() {
    let mut s = shop();
    s.deliver(&[(s.shoots, 2)]);
    let call = NewComplaint { what: What::Illness, severity: Severity::Grave, hold: true, ..new(&s) };
    let done = s.book.act(&complain(call));
    assert!(
        done.sentence.starts_with(
            "Complaint 1 of Table: illness. Lot PEA-260711-B-X; Seed lot S0001-R pea is held with all that was made of \
             it, and none of it is sown: not cut, packed, sold"
        ),
        "{}",
        done.sentence
    );
    let id = ComplaintId(done.made.unwrap());
    let complaint = one(&s, id);
    let hold = s.book.board().holds.remove(0);
    assert_eq!((complaint.holds.clone(), hold.complaint, hold.entry), (vec![hold.id], Some(id), done.entry));
    assert!(complaint.lots[0].held && s.lot(s.shoots).held && s.lot(s.pea).held && !s.lot(s.radish).held);
    assert_eq!(hold.buyers.iter().map(|buyer| (buyer.name.as_str(), buyer.packs)).collect::<Vec<_>>(), [("Table", 2)]);
    let pea = s.book.store.seed_lots().unwrap().into_iter().find(|lot| lot.crop_name == "pea").unwrap();
    assert!(pea.held);
    let sow = Action::Sow(Box::new(s.book.sowing("PEA", pea.id, 1)));
    s.bars("seed_held", &sow);
    let out = Action::Deliver(Box::new(s.delivery(&[(s.shoots, 1)])));
    s.bars("deliver_held", &out);
    // several candidates of the same seed are one hold
    let both = vec![named(s.pea, Standing::Open, "of it"), named(s.shoots, Standing::Open, "of it")];
    let again = write(&mut s, |new| NewComplaint { hold: true, lots: both, ..new });
    assert_eq!(one(&s, again).holds.len(), 1);
    // without a lot nothing is held, and it says so
    let none = s.book.act(&complain(NewComplaint { hold: true, lots: vec![], ..new(&s) }));
    assert!(none.sentence.contains("Nothing is held yet"), "{}", none.sentence);
    let out = vec![named(s.radish, Standing::RuledOut, "another crop")];
    let none = s.book.act(&complain(NewComplaint { hold: true, lots: out, ..new(&s) }));
    assert!(none.sentence.contains("Nothing is held yet") && !s.lot(s.radish).held, "{}", none.sentence);
    assert_sound(&mut s.book);
}

#[test]
fn a_complaint_taken_back_leaves_its_hold_and_nothing_that_hangs_on_it() {
    let mut s = shop();
    s.deliver(&[(s.shoots, 2)]);
    let rm = person(&mut s.book, "RM", false);
    let id = write(&mut s, |new| NewComplaint { hold: true, told: told(), ..new });
    // one more hold because of it does not keep it from being taken back: a hold is never taken back itself
    let more = Action::Hold(Box::new(NewHold::of(Start::Lot(s.radish), Some(id), "beside it".into())));
    act_as(&mut s.book, rm, &more);
    let entry = s.book.store.complaints().unwrap()[0].entry;
    assert_eq!(s.book.act(&Action::Undo).sentence.split(':').next(), Some("Taken back"));
    assert!(s.book.store.complaints().unwrap().is_empty());
    let holds = s.book.board().holds;
    assert_eq!(holds.iter().map(|hold| hold.complaint).collect::<Vec<_>>(), [None, None]);
    assert!(s.lot(s.shoots).held && s.lot(s.radish).held);
    assert_eq!(number(&raw(&s.book.path), "SELECT count(*) FROM complaint_lot WHERE void_by IS NULL"), 0);
    // a recall of that hold counts from the hold, and names no complaint
    let held_at = holds[0].at;
    s.book.later(Duration::minutes(5));
    s.book.act(&Action::Recall { hold: holds[0].id });
    let recall = s.book.store.recalls().unwrap().remove(0);
    assert_eq!((recall.complaint, recall.from), (None, held_at));
    let unknown = Action::NameLots { complaint: id, lots: vec![named(s.radish, Standing::Open, "x")] };
    s.bars("complaint_unknown", &unknown);
    // its lots are free to be put right again, and what was told in it can still be taken out
    s.book.act(&blank(id));
    let rows = dump(&raw(&s.book.path));
    assert!(rows.iter().all(|row| !row.contains("Quell")));
    assert!(s.book.store.entry(entry).unwrap().gone);
    for hold in s.book.board().holds {
        let reason = "nothing was wrong".to_string();
        s.book.act(&Action::DecideHold { hold: hold.id, what: Verdict::Accepted, by: AK, reason });
    }
    assert!(!s.lot(s.shoots).held);
    assert_sound(&mut s.book);
}

#[test]
fn a_named_lot_is_not_taken_back_under_a_complaint_and_keeps_its_place_under_another_label() {
    let mut s = shop();
    let id = write(&mut s, |new| new);
    let packed: EntryId = s.book.store.history(Of::Lot(s.shoots), None, 99).unwrap().last().unwrap().id;
    let never = Action::Correct { entry: packed, correction: Correction::Never, reason: "x".into(), second: None };
    s.bars("undo_in_use", &never);
    let reissue = Action::Reissue { lot: s.shoots, product: s.shoots_of, reason: "smudged".into() };
    let other = LotId(s.book.act(&reissue).made.unwrap());
    let complaint = one(&s, id);
    assert_eq!((complaint.lots.len(), complaint.open_lots()), (1, vec![other]));
    assert_eq!(complaint.lots[0].code, "PEA-260711-C-V");
    // said of the new label, it is said of the same packs
    let lots = vec![named(other, Standing::RuledOut, "still sealed")];
    s.book.act(&Action::NameLots { complaint: id, lots });
    assert_eq!((one(&s, id).lots.len(), one(&s, id).open_lots()), (1, vec![]));
    s.bars("lot_unknown", &Action::NameLots { complaint: id, lots: vec![named(s.shoots, Standing::Open, "x")] });
    assert_sound(&mut s.book);
}

/// Everything in the book's files, as bytes.
fn files(s: &Shop) -> Vec<u8> {
    let mut bytes = std::fs::read(&s.book.path).unwrap();
    let log = s.book.path.with_file_name(format!("{}-wal", s.book.path.file_name().unwrap().to_str().unwrap()));
    bytes.extend(std::fs::read(log).unwrap_or_default());
    bytes
}

fn found(bytes: &[u8], word: &str) -> bool {
    bytes.windows(word.len()).any(|window| window == word.as_bytes())
}

#[test]
fn what_was_told_of_people_goes_for_good_and_the_chain_stays_whole() {
    let mut s = shop();
    let id = write(&mut s, |new| NewComplaint { told: told(), ..new });
    s.book.act(&more(id, Told { words: Some("the doctor of Quell called".into()), ..Told::default() }));
    let kept =
        write(&mut s, |new| NewComplaint { told: Told { caller: Some("Oda Lind".into()), ..Told::default() }, ..new });
    let before: String = raw(&s.book.path)
        .query_row("SELECT hex(hash) FROM entry ORDER BY id DESC LIMIT 1", [], |row| row.get(0))
        .unwrap();
    assert!(found(&files(&s), "Quell"));
    s.book.later(Duration::days(400));
    let done = s.book.act(&blank(id));
    assert!(done.sentence.contains("gone for good. Copies made before still have it"), "{}", done.sentence);
    // not in any row, not in what the file once held, not in the log beside it
    assert!(dump(&raw(&s.book.path)).iter().all(|row| !row.contains("Quell") && !row.contains("quell")));
    let bytes = files(&s);
    assert!(!found(&bytes, "Quell") && !found(&bytes, "quell-7") && !found(&bytes, "the doctor of"));
    assert!(found(&bytes, "Oda Lind"), "another complaint keeps what it says");
    let complaint = one(&s, id);
    assert!(complaint.told.iter().all(|(_, told)| told.is_none()) && complaint.told.len() == 2);
    assert_eq!((complaint.lots.len(), complaint.customer), (1, Some(s.table)), "the complaint and its lots stay");
    assert!(one(&s, kept).told[0].1.is_some());
    // the entries before it have the hashes they had
    let chain = s.book.store.verify_chain(|_| ()).unwrap();
    let after: i64 = raw(&s.book.path)
        .query_row("SELECT count(*) FROM entry WHERE hex(hash) = ?", [before], |row| row.get(0))
        .unwrap();
    assert_eq!((chain.broken_at, after), (None, 1));
    s.bars("blank_nothing", &blank(id));
    s.bars("blank_stays", &Action::Undo);
    let never = Action::Correct { entry: done.entry, correction: Correction::Never, reason: "x".into(), second: None };
    s.bars("blank_stays", &never);
    assert_eq!(story(&s, id).last().unwrap(), "complaint 1: what it said of people was taken out");
    // SQLite itself lets nothing be written there any more, nor taken out without an entry
    let conn = raw(&s.book.path);
    for text in [
        "UPDATE complaint_told SET caller = 'Quell' WHERE complaint_id = 1",
        "UPDATE complaint_told SET caller = NULL WHERE complaint_id = 2",
        "UPDATE complaint_told SET caller = 'x', blanked_by = 1 WHERE complaint_id = 2",
        "DELETE FROM complaint_told",
    ] {
        assert_eq!(refusal(&conn, text), "complaint_told_frozen", "{text}");
    }
    // someone who calls again is written down again
    s.book.act(&more(id, Told { words: Some("once more".into()), ..Told::default() }));
    assert_eq!(one(&s, id).told.len(), 3);
    assert_sound(&mut s.book);
}

fn refusal(conn: &Connection, sql: &str) -> String {
    match conn.execute_batch(sql) {
        Err(rusqlite::Error::SqliteFailure(_, Some(message))) => message,
        other => panic!("{sql}: {other:?}"),
    }
}

#[test]
fn closing_is_for_who_may_decide_and_lifts_nothing() {
    let mut s = shop();
    let rm = person(&mut s.book, "RM", false);
    let id = write(&mut s, |new| NewComplaint { hold: true, ..new });
    assert_eq!(refused_as(&mut s.book, rm, &close(id, rm, "x")).rule, "may_not_decide");
    // RM types it for AK
    act_as(&mut s.book, rm, &close(id, AK, "a warm van; nothing else"));
    assert!(s.lot(s.shoots).held, "its holds stay until they are lifted by name");
    act_as(&mut s.book, rm, &Action::Undo);
    assert_eq!(one(&s, id).closed, None);
    // what it said of people can be taken out of a closed one too
    s.book.act(&more(id, told()));
    s.book.act(&close(id, AK, "a warm van"));
    s.book.act(&blank(id));
    assert_sound(&mut s.book);
}

#[test]
fn what_went_out_is_found_for_who_complains() {
    use rackwalk::domain::round::{How, Kind as RoundKind};
    let mut s = shop();
    s.deliver(&[(s.shoots, 2)]);
    let stall = s.load(RoundKind::Stall, &[(s.shoots, 4), (s.radish, 2)]);
    s.book.act(&super::sold::settled(stall, s.shoots, 3, How::SoldPublic));
    s.book.later(Duration::days(1));
    let second = s.load(RoundKind::Stall, &[(s.shoots, 2)]);
    s.book.act(&super::sold::settled(second, s.shoots, 2, How::Given { to: "the gate".into() }));
    let today = s.book.now.day();
    let sold = s.book.store.sold(today).unwrap();
    let said: Vec<(LotId, Option<CustomerId>, &str, i64)> =
        sold.iter().map(|sale| (sale.lot, sale.customer, sale.to.as_str(), sale.packs)).collect();
    let stall = "north, square";
    assert_eq!(said, [(s.shoots, None, stall, 2), (s.shoots, Some(s.table), "Table", 2), (s.shoots, None, stall, 3)]);
    // what is older than the weeks in which it may be is left out
    assert!(s.book.store.sold(today + Duration::days(46)).unwrap().len() < 3);
    assert!(s.book.store.sold(today + Duration::days(60)).unwrap().is_empty());
}
