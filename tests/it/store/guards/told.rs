//! The guards of complaints, recalls and exercises, of tools and signed periods.

use rackwalk::domain::action::Action;
use rackwalk::domain::complaint::{Named, NewComplaint, Severity, Standing, Told, What};
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{ComplaintId, CustomerId, HoldId, LotId, RecallId};
use rackwalk::domain::trace::Start;
use rusqlite::Connection;

use super::{full, number, raw, refusal};
use crate::book::{AK, Book};

/// A complaint about the live tray that went out, its hold, a recall, and an exercise with the same lot.
pub(super) fn answered(book: &mut Book) {
    let conn = raw(&book.path);
    let lot = LotId(number(&conn, "SELECT max(lot_id) FROM stock_move WHERE kind = 'delivered'"));
    let named = |standing, why: &str| Named { lot, standing, why: why.into() };
    let new = NewComplaint {
        customer: Some(CustomerId(1)),
        product: None,
        day: book.now.day(),
        delivered: None,
        code: None,
        what: What::OffSmell,
        severity: Severity::Small,
        told: Told { caller: Some("the cook".into()), ..Told::default() },
        lots: vec![named(Standing::Open, "it went there")],
        hold: false,
    };
    let complaint = ComplaintId(book.act(&Action::Complain(Box::new(new))).made.unwrap());
    let more = Told { words: Some("like a cellar".into()), ill: Some(0), ..Told::default() };
    book.act(&Action::TellMore { complaint, told: Box::new(more) });
    book.act(&Action::NameLots { complaint, lots: vec![named(Standing::Sure, "the label was read to us")] });
    let reason = "until we have smelled at it".into();
    let hold = book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(lot), Some(complaint), reason))));
    let hold = HoldId(hold.made.unwrap());
    let recall = RecallId(book.act(&Action::Recall { hold }).made.unwrap());
    let sheet = book.store.recalls().unwrap().into_iter().find(|sheet| sheet.id == recall).unwrap();
    let line = sheet.calls[0].line;
    book.act(&Action::Contact { recall, line, reached: true, destroyed: Some(1), note: Some("binned it".into()) });
    let exercise = RecallId(book.act(&Action::Exercise { lot }).made.unwrap());
    book.act(&Action::EndExercise { recall: exercise, gaps: "none".into() });
    book.act(&Action::CloseComplaint { complaint, by: AK, found: "the fridge there was warm".into() });
}

/// Rows of tables that no action of these tests fills, as another program would write them.
pub(super) fn past_the_program(conn: &Connection) {
    conn.execute_batch(
        "INSERT INTO tool (name) VALUES ('knife');
         INSERT INTO lot_use (entry_id, lot_id, tool_id) VALUES (2, 1, (SELECT max(id) FROM tool));
         INSERT INTO lot_use (entry_id, lot_id, material_lot_id) VALUES (2, 1, 1);
         INSERT INTO review (entry_id, from_day, to_day, upto_id, head, person_id)
           SELECT 2, '2026-07-01', '2026-07-01', 1, hex(zeroblob(32)), 1",
    )
    .unwrap();
}

#[test]
fn what_was_told_of_people_is_blanked_once_and_nothing_else() {
    let mut book = full();
    let conn = raw(&book.path);
    assert_eq!(number(&conn, "SELECT count(*) FROM complaint_told"), 2);
    let nothing =
        "caller = NULL, kept = NULL, words = NULL, photo = NULL, ill = NULL, ate = NULL, onset = NULL, others = NULL";
    for change in [
        "words = 'nothing of the kind'",
        "blanked_by = 2",
        nothing,
        "entry_id = entry_id + 1000",
        &format!("{nothing}, blanked_by = 2, complaint_id = complaint_id + 1000"),
        &format!("{nothing}, blanked_by = 2, ill = 3"),
    ] {
        let text = format!("UPDATE complaint_told SET {change}");
        assert_eq!(refusal(&conn, &text), "complaint_told_frozen", "{change}");
    }
    assert_eq!(refusal(&conn, "DELETE FROM complaint_told"), "complaint_told_frozen");
    let of: Vec<i64> = (1..=number(&conn, "SELECT max(complaint_id) FROM complaint_told"))
        .filter(|id| number(&conn, &format!("SELECT count(*) FROM complaint_told WHERE complaint_id = {id}")) > 0)
        .collect();
    for id in of {
        book.act(&Action::Blank { complaint: ComplaintId(id), reason: "they asked for it".into() });
    }
    let left = "SELECT count(*) FROM complaint_told WHERE coalesce(caller, words, ill) NOT NULL OR blanked_by IS NULL";
    assert_eq!(number(&conn, left), 0);
    for change in ["blanked_by = 2", "blanked_by = NULL", "words = 'nothing of the kind'"] {
        let text = format!("UPDATE complaint_told SET {change}");
        assert_eq!(refusal(&conn, &text), "complaint_told_frozen", "{change}");
    }
}

#[test]
fn seals_of_the_new_tables_have_their_names() {
    let book = full();
    let conn = raw(&book.path);
    for (name, text) in [
        ("tool_name", "INSERT INTO tool (name) VALUES ('')"),
        ("lot_use_one", "INSERT INTO lot_use (entry_id, lot_id) VALUES (2, 1)"),
        (
            "contact_one",
            "INSERT INTO contact (entry_id, recall_id, delivery_id, round_id, reached) VALUES (2, 1, 1, 1, 1)",
        ),
        (
            "review_order",
            "INSERT INTO review (entry_id, from_day, to_day, upto_id, head, person_id)
             SELECT 2, '2026-07-02', '2026-07-01', 1, hex(zeroblob(32)), 1",
        ),
        (
            "complaint_delivered",
            "INSERT INTO complaint (entry_id, day, delivered, what, severity)
             VALUES (2, '2026-07-01', '2026-07-02', 'mould', 'small')",
        ),
        ("hold_exercise", "INSERT INTO hold (entry_id, cause, scope_text, exercise) VALUES (2, 'by_hand', 'x', 2)"),
    ] {
        assert_eq!(refusal(&conn, text), format!("CHECK constraint failed: {name}"), "{text}");
    }
    let once = "INSERT INTO complaint_end (entry_id, complaint_id, person_id) VALUES (2, 1, 1)";
    assert_eq!(refusal(&conn, once), "UNIQUE constraint failed: complaint_end.complaint_id");
    let twice = "INSERT INTO tool (name) VALUES ('knife'), ('knife')";
    assert_eq!(refusal(&conn, twice), "UNIQUE constraint failed: tool.name");
    assert_eq!(refusal(&conn, "INSERT INTO hold_item (hold_id, n) VALUES (1, 99)"), "hold_item_one");
    let held = "INSERT INTO hold_item (hold_id, n, seed_lot_id) VALUES (1, 98, 1)";
    conn.execute_batch(held).unwrap();
    let sown = "INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why) VALUES (2, 1, 1, -1, 'sown')";
    assert_eq!(refusal(&conn, sown), "sow_held");
}
