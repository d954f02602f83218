//! Signatures: who may sign which days, what they keep, and what came after.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{EntryId, PersonId};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::period::Period;
use rackwalk::domain::review::Signature;
use rusqlite::Connection;

use super::{assert_sound, person, raw, refused_as};
use crate::book::{AK, Book, at, roots};

/// The rules met here.
pub(super) const MET: &[&str] = &["sign_period", "sign_before", "sign_remark"];

pub(super) fn sign(from: &str, to: &str, by: PersonId) -> Action {
    Action::Sign { from: from.parse().unwrap(), to: to.parse().unwrap(), by, remark: None }
}

/// Radish sown on the first of July and looked at on the second; it is the third, nine o'clock. RM may not decide.
fn third_day() -> (Book, PersonId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let tray = book.sow("RAD", lot, 2)[0];
    let rm = person(&mut book, "RM", false);
    book.now = at("2026-07-02T06:00");
    book.act(&roots(tray, Roots::Peeking));
    book.now = at("2026-07-03T09:00");
    (book, rm)
}

fn signatures(book: &Book) -> Vec<Signature> {
    let period = Period { from: "2026-07-01".parse().unwrap(), to: book.now.day() };
    book.store.records(period, book.now, &mut |_, _| true).unwrap().unwrap().signatures
}

fn newest(book: &Book) -> EntryId {
    book.store.history(Of::Everything, None, 1).unwrap()[0].id
}

#[test]
fn a_signature_keeps_up_to_which_entry_and_hash_it_reads() {
    let (mut book, _) = third_day();
    let (upto, head) = (newest(&book), book.store.verify_chain(|_| ()).unwrap().head);
    let remark = Some(" read on paper ".to_string());
    let done = book.act(&Action::Sign {
        from: "2026-07-01".parse().unwrap(),
        to: "2026-07-02".parse().unwrap(),
        by: AK,
        remark,
    });
    let said = format!("AK signed the records of 2026-07-01 to 2026-07-02, as they stand up to entry {}.", upto.0);
    assert_eq!(done.sentence, said);
    let [sign] = &signatures(&book)[..] else { panic!("one signature") };
    assert_eq!((sign.upto, &sign.head, sign.entry), (upto, &head, done.entry));
    assert_eq!((sign.by.as_str(), sign.remark.as_deref()), ("AK", Some("read on paper")));
    assert!(sign.since.is_empty(), "the signature itself is no change: {sign:?}");
    assert_eq!(book.board().signed.unwrap().words(book.now.day()), "signed up to 2026-07-02 by AK, 1 day ago");
    let line = &book.store.history(Of::Everything, None, 1).unwrap()[0];
    assert_eq!(line.kind, "reviewed");
    assert!(line.text.starts_with("AK signed the records of 2026-07-01 to 2026-07-02, up to entry "), "{}", line.text);
    assert!(line.text.contains(&head[..12]));
    assert_sound(&mut book);
}

#[test]
fn who_may_not_decide_cannot_sign_and_no_days_that_cannot_be() {
    let (mut book, rm) = third_day();
    let before = super::dump(&raw(&book.path));
    let today = book.now.day();
    let day = |text: &str| text.parse().unwrap();
    let long = Action::Sign { from: today - Duration::days(1100), to: today, by: AK, remark: None };
    let remark = Some("x".repeat(2001));
    let wordy = Action::Sign { from: day("2026-07-01"), to: day("2026-07-02"), by: AK, remark };
    for (rule, field, action) in [
        ("sign_period", "to", sign("2026-07-02", "2026-07-01", AK)),
        ("sign_period", "to", sign("2026-07-01", "2026-07-04", AK)),
        ("sign_period", "from", long),
        ("sign_before", "to", sign("2026-06-01", "2026-06-30", AK)),
        ("sign_remark", "remark", wordy),
        ("may_not_decide", "by", sign("2026-07-01", "2026-07-02", rm)),
        ("person_unknown", "by", sign("2026-07-01", "2026-07-02", PersonId(99))),
    ] {
        let refusal = refused_as(&mut book, AK, &action);
        assert_eq!((refusal.rule, refusal.field), (rule, Some(field)), "{refusal}");
        assert!(refusal.sentence.ends_with('.'), "{refusal}");
        assert_eq!(super::dump(&raw(&book.path)), before, "{rule} left a trace");
    }
    // someone else may type it, and the day is not over yet
    book.store.act(&sign("2026-07-01", "2026-07-03", AK), rm, book.now).unwrap();
    assert_eq!(signatures(&book)[0].by, "AK");
    assert_sound(&mut book);
}

#[test]
fn the_book_itself_keeps_a_signature_from_who_may_not_decide_and_from_the_days_turned_round() {
    let (mut book, rm) = third_day();
    book.act(&sign("2026-07-01", "2026-07-02", AK));
    let conn = raw(&book.path);
    let insert = |conn: &Connection, from: &str, to: &str, upto: i64, by: PersonId| {
        let text = format!(
            "INSERT INTO review (entry_id, from_day, to_day, upto_id, head, person_id)
             VALUES ((SELECT max(id) FROM entry), '{from}', '{to}', {upto}, '{}', {})",
            "0".repeat(64),
            by.0
        );
        conn.execute_batch(&text).unwrap_err().to_string()
    };
    assert!(insert(&conn, "2026-07-01", "2026-07-02", 1, rm).contains("may_not_decide"));
    assert!(insert(&conn, "2026-07-02", "2026-07-01", 1, AK).contains("review_order"));
    assert!(insert(&conn, "2026-07-01", "2026-07-02", newest(&book).0, AK).contains("review_order"));
    assert!(conn.execute_batch("DELETE FROM review").unwrap_err().to_string().contains("review_frozen"));
    assert!(conn.execute_batch("UPDATE review SET to_day = '2026-07-03'").unwrap_err().to_string().contains("frozen"));
}

#[test]
fn what_comes_after_it_about_its_days_is_named_and_signing_again_settles_it() {
    let (mut book, _) = third_day();
    let look = newest(&book);
    book.act(&sign("2026-07-01", "2026-07-02", AK));
    let tray = book.board().trays[0].id;
    // of today: no change
    book.act(&roots(tray, Roots::Plenty));
    assert!(signatures(&book)[0].since.is_empty());
    let changed = Look { roots: Some(Roots::None), watered: true, ..Look::of(tray) };
    let correction = Correction::Look(Box::new(changed));
    let right = Action::Correct { entry: look, correction, reason: "misread".into(), second: None };
    let right = book.act(&right).entry;
    assert_eq!(signatures(&book)[0].since, [right]);
    let undo = book.act(&Action::Undo).entry;
    assert_eq!(signatures(&book)[0].since, [right, undo], "taking the correction back is a change too");
    book.later(Duration::minutes(1));
    book.act(&sign("2026-07-02", "2026-07-02", AK));
    let signed = signatures(&book);
    assert_eq!(signed[0].since, [right, undo], "the first one still says what came after it");
    assert!(signed[1].since.is_empty());
    assert_sound(&mut book);
}

#[test]
fn a_signature_taken_back_stays_in_sight_and_covers_nothing() {
    let (mut book, _) = third_day();
    book.act(&sign("2026-07-01", "2026-07-02", AK));
    let undo = book.act(&Action::Undo).entry;
    let [sign] = &signatures(&book)[..] else { panic!("one signature") };
    assert_eq!(sign.void_by, Some(undo));
    assert_eq!(book.board().signed, None);
    assert_sound(&mut book);
}
