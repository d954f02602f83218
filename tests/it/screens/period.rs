//! For an inspector, by keys: the page of a period, signatures, the chain.

use std::path::PathBuf;

use rackwalk::app::form::Kind;
use rackwalk::domain::look::Roots;

use super::{Seat, morning, twelve};
use crate::book::{AK, Book, roots};

/// Pages of records beside the book.
fn pages(seat: &Seat) -> Vec<PathBuf> {
    let folder = seat.book().path.parent().unwrap();
    let files = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path());
    let mut pages: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|end| end == "html")).collect();
    pages.sort();
    pages
}

fn value(seat: &Seat, id: &str) -> String {
    seat.session.model.form().unwrap().values().text(id).to_string()
}

/// What the book itself says of its chain.
fn head(seat: &Seat) -> String {
    seat.session.store.verify_chain(|_| ()).unwrap().head
}

#[test]
fn the_last_week_is_written_beside_the_book_in_four_keys_with_the_last_hash() {
    let mut seat = Seat::at(twelve::book());
    seat.press("r").sees("for an inspector").sees("nothing is signed yet").press("i");
    seat.sees("records of a period").sees("sign a period").sees("check the chain").sees("Local codes decide");
    seat.press("r").sees("the last 7 days").sees("2026-07-02").sees("2026-07-08");
    seat.keys = 0;
    seat.press("C-s").sees("The page is in ").sees("Paper fails when wet.");
    let [page] = &pages(&seat)[..] else { panic!("{:?}", pages(&seat)) };
    assert!(page.ends_with("records-2026-07-02-to-2026-07-08.html"), "{page:?}");
    let text = std::fs::read_to_string(page).unwrap();
    assert!(text.contains(&head(&seat)) && text.contains("The chain is whole: all "), "no proof on the page");
    assert!(text.contains(" by AK with rackwalk"), "made by whom");
    assert!(text.contains("T0001-W") && text.contains("North Bench"));
    // a second page takes nothing away from the first
    seat.press("r i r C-s");
    assert_eq!(pages(&seat).len(), 2);
    assert_eq!(std::fs::read_to_string(&pages(&seat)[1]).unwrap(), text);
    assert!(seat.session.model.form().is_none(), "the form is gone");
}

#[test]
fn a_span_brings_its_days_and_days_of_ones_own_make_it_ones_own() {
    let mut seat = Seat::at(twelve::book());
    seat.press("r i r Right");
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-07-01".into(), "2026-07-08".into()));
    seat.press("Right");
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-06-01".into(), "2026-06-30".into()));
    seat.press("Left Left");
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-07-02".into(), "2026-07-08".into()));
    seat.press("Tab C-u").type_in("2026-07-05");
    assert_eq!((value(&seat, "span"), value(&seat, "to")), ("own".into(), "2026-07-08".into()));
    seat.press("C-s").sees("The page is in ");
    assert!(pages(&seat)[0].ends_with("records-2026-07-05-to-2026-07-08.html"));
    // one day is named once
    seat.press("r i r Tab C-u").type_in("2026-07-08").press("C-s");
    assert!(pages(&seat)[1].ends_with("records-2026-07-08.html"), "{:?}", pages(&seat));
}

#[test]
fn days_that_cannot_be_are_refused_beside_their_field() {
    let mut seat = Seat::at(twelve::book());
    seat.press("r i r Tab C-u").type_in("2026-07-05").press("Tab C-u").type_in("2026-07-04").press("C-s");
    seat.sees("2026-07-04 is before 2026-07-05: give the earlier day first.");
    seat.press("C-u").type_in("2026-07-09").press("C-s");
    seat.sees("2026-07-08");
    assert_eq!(pages(&seat).len(), 0, "{}", seat.text());
    assert!(matches!(seat.session.model.form().unwrap().field("to").unwrap().kind, Kind::Line(_)));
    seat.press("Esc");
    assert_eq!(pages(&seat), Vec::<PathBuf>::new());
}

#[test]
fn a_period_is_signed_by_who_may_decide_and_the_next_begins_where_it_ended() {
    let mut seat = Seat::at(twelve::book());
    // RM may not decide
    seat.press("x s a RM Enter Rita C-s Esc Esc r i s").sees("Sign a period").sees("changed after it was signed");
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-07-01".into(), "2026-07-07".into()));
    seat.press("Tab Tab").type_in("RM").press("C-s").sees("may not decide");
    seat.press("Backspace Backspace").type_in("AK").press("Tab").type_in("read over coffee").press("C-s");
    seat.sees("AK signed the records of 2026-07-01 to 2026-07-07, as they stand up to entry");
    seat.press("r")
        .sees("signed up to 2026-07-07 by AK")
        .press("i s")
        .sees("So far: signed up to 2026-07-07 by AK, 1 day ago.");
    // everything is signed: the week before is proposed again
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-07-01".into(), "2026-07-07".into()));
    seat.press("Esc l").sees("AK signed the records of 2026-07-01").sees("read over coffee");
    let mut seat = seat.next_morning(chrono::Duration::days(2));
    seat.press("r i s");
    assert_eq!((value(&seat, "from"), value(&seat, "to")), ("2026-07-08".into(), "2026-07-09".into()));
}

#[test]
fn a_signature_given_by_mistake_is_taken_back_like_any_entry() {
    let mut seat = Seat::at(twelve::book());
    seat.press("r i s C-s").sees("AK signed the records of").press("u").sees("Taken back: AK signed the records of");
    seat.press("r").sees("nothing is signed yet");
}

#[test]
fn the_chain_is_proved_on_demand_and_says_of_how_many_entries() {
    let mut seat = Seat::at(twelve::book());
    let entries = seat.session.store.verify_chain(|_| ()).unwrap().entries;
    seat.press("r i c").sees(&format!("The chain is whole: all {entries} entries are as they were written."));
    let head = head(&seat);
    seat.sees(&head).sees("Whoever keeps the last hash on paper");
    seat.press("Esc");
    assert!(seat.text().contains("North Bench"), "{}", seat.text());
}

#[test]
fn a_broken_link_is_named_on_the_screen_and_beside_a_page() {
    let mut seat = Seat::at(twelve::book());
    let raw = rusqlite::Connection::open(&seat.book().path).unwrap();
    let look: i64 = raw.query_row("SELECT min(entry_id) FROM look", [], |row| row.get(0)).unwrap();
    raw.execute_batch(&format!(
        "DROP TRIGGER look_frozen; UPDATE look SET watered = 1 - watered WHERE entry_id = {look}"
    ))
    .unwrap();
    seat.press("r i c")
        .sees("THE CHAIN IS BROKEN, of ")
        .sees(&format!("entry {look}, look, typed 2026-07-"))
        .sees("by AK");
    seat.press("Esc r i r C-s").sees("THE CHAIN IS BROKEN").sees(&format!("entry {look}, look"));
    let text = std::fs::read_to_string(&pages(&seat)[0]).unwrap();
    assert!(text.contains("THE CHAIN IS BROKEN") && text.contains("class=\"caution\""));
}

/// A book long enough for steps.
fn long() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let (tray, now) = (book.sow("RAD", lot, 1)[0], book.now);
    book.store
        .act_many(|door| (0..2500).try_for_each(|_| door.act(&roots(tray, Roots::None), AK, now).map(drop)))
        .unwrap();
    book
}

#[test]
fn long_work_says_how_far_it_is_and_esc_stops_it_without_a_trace() {
    let mut seat = Seat::at(long());
    seat.patience = 2;
    seat.press("r i r C-s").sees("Stopped: nothing was written.");
    assert!(seat.session.model.form().is_some(), "the form stays");
    assert_eq!(pages(&seat), Vec::<PathBuf>::new());
    seat.press("Esc r i c").sees("Stopped: nothing is known of the chain.");
    // what is drawn at the last step
    seat.patience = usize::MAX;
    seat.press("r i c").sees("The chain is whole: all 2503 entries");
    seat.press("Esc r i r");
    let mut said = Vec::new();
    let tick = seat.tick + std::time::Duration::from_secs(1);
    seat.session.handle(rackwalk::app::effect::Msg::Key(rackwalk::app::key::Key::Ctrl('s'), tick));
    seat.session.work(&mut |model| {
        said.extend(model.form().map(|form| form.lines.concat()));
        true
    });
    assert_eq!(said, ["Proved 1000 of 2503 entries. Esc stops.", "Proved 2000 of 2503 entries. Esc stops."]);
    assert_eq!(pages(&seat).len(), 1);
}

#[test]
fn a_folder_where_nothing_can_be_written_is_said_in_the_form() {
    let mut seat = morning();
    let folder = seat.book().path.parent().unwrap().to_path_buf();
    // every name is taken, by links that lead nowhere
    std::os::unix::fs::symlink("/nowhere", folder.join("records-2026-06-28-to-2026-07-04.html")).unwrap();
    for n in 2..1000 {
        std::os::unix::fs::symlink("/nowhere", folder.join(format!("records-2026-06-28-to-2026-07-04-{n}.html")))
            .unwrap();
    }
    seat.press("r i r C-s").sees("is full of such files: remove old ones.");
    assert!(seat.session.model.form().is_some());
    assert!(std::fs::read_dir(&folder).unwrap().all(|file| !file.unwrap().path().to_string_lossy().contains(".part")));
}
