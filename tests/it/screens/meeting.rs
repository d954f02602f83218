//! Two people at one record: each sees what the other wrote, and nothing of either is lost.

use rackwalk::app::model::Notice;
use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::board::Board;
use rackwalk::domain::id::{FormatId, PersonId, RackId};
use rackwalk::domain::room::{Units, Zone};
use rackwalk::domain::setup::NewFormat;
use rackwalk::store::Store;

use super::form::{entries, focus, go, put, value};
use super::{MONO, Seat};
use crate::book::{AK, Book};

/// Writes at another terminal as RM, who is put on the list first.
fn robin(seat: &Seat, action: impl FnOnce(&Board) -> Action) {
    let mut other = Store::open(&seat.book().path, "other").unwrap();
    let now = seat.book().now;
    let known = |store: &Store| store.board().unwrap().people.iter().find(|p| p.initials == "RM").map(|p| p.id);
    if known(&other).is_none() {
        let add = Action::AddPerson { initials: "RM".into(), name: "Robin Marsh".into(), may_decide: true };
        other.act(&add, AK, now).unwrap();
    }
    let action = action(&other.board().unwrap());
    other.act(&action, known(&other).unwrap(), now).unwrap();
}

fn room_as(board: &Board, name: &str, units: Units) -> Action {
    Action::EditRoom { name: name.into(), code: board.room_code.clone(), units, rev: board.room_rev }
}

fn board(seat: &Seat) -> Board {
    seat.session.store.board().unwrap()
}

/// The room's form, open, with a name typed that RM gave another one meanwhile.
pub fn both_rename_the_room(seat: &mut Seat) {
    put(seat, "name", "South Bench");
    robin(seat, |board| room_as(board, "West Bench", Units::Us));
    seat.session.look_around();
}

fn both() -> Seat {
    let mut seat = Seat::at(Book::room());
    seat.press("x a");
    both_rename_the_room(&mut seat);
    seat
}

#[test]
fn a_field_nobody_typed_in_follows_the_book() {
    // once seen before saving, once only by the refusal
    for noticed in [false, true] {
        let mut seat = Seat::at(Book::room());
        seat.press("x a");
        put(&mut seat, "name", "South Bench");
        robin(&seat, |board| room_as(board, "North Bench", Units::Us));
        if noticed {
            seat.session.look_around();
            seat.sees("Someone else changed units, which stands here now.");
        } else {
            seat.press("C-s").sees("Not saved: Someone else changed units, which stands here now: save");
        }
        seat.sees("Note: changed in the book meanwhile; before: grams, °C.");
        assert_eq!((value(&seat, "name").as_str(), value(&seat, "units").as_str()), ("South Bench", "us"));
        seat.press("C-s").sees("Saved.");
        assert_eq!((board(&seat).room_name.as_str(), board(&seat).units), ("South Bench", Some(Units::Us)));
    }
}

#[test]
fn a_field_both_changed_shows_both_and_the_key_goes_to_and_fro() {
    let mut seat = both();
    seat.sees("Someone else changed name too").sees("yours").sees("in the book    West Bench  (by RM)");
    assert_eq!((value(&seat, "name").as_str(), value(&seat, "units").as_str()), ("South Bench", "us"));
    seat.sees("Ctrl+T take the book's").press("C-t").sees("Ctrl+T take yours");
    assert_eq!(value(&seat, "name"), "West Bench");
    seat.press("C-t");
    assert_eq!(value(&seat, "name"), "South Bench");
    // chosen, so it is saved at once, and what stands there is what is written
    seat.press("C-s").sees("Saved.");
    assert_eq!(board(&seat).room_name, "South Bench");
    let mut seat = both();
    put(&mut seat, "code", "SB");
    go(&mut seat, "name");
    seat.press("C-t C-s").sees("Saved.");
    assert_eq!((board(&seat).room_name.as_str(), board(&seat).room_code.as_str()), ("West Bench", "SB"));
}

#[test]
fn nothing_is_saved_before_both_were_shown() {
    for noticed in [false, true] {
        let mut seat = Seat::at(Book::room());
        seat.press("x a");
        put(&mut seat, "name", "South Bench");
        robin(&seat, |board| room_as(board, "West Bench", Units::Metric));
        if noticed {
            seat.session.look_around();
        }
        go(&mut seat, "units");
        let before = entries(&seat);
        seat.press("C-s").sees("Not saved: Someone else changed name too: Ctrl-T takes the book's").sees("West Bench");
        assert_eq!((focus(&seat).0, entries(&seat)), ("name", before));
        seat.press("C-s").sees("Saved.");
        assert_eq!(board(&seat).room_name, "South Bench");
        // the other's name stands in the story of the room
        seat.press("l").sees("West Bench");
    }
}

#[test]
fn another_change_of_the_same_field_is_shown_again() {
    let mut seat = both();
    seat.press("C-t");
    robin(&seat, |board| room_as(board, "East Bench", Units::Us));
    seat.session.look_around();
    // the book's was taken, so it is followed; one's own is still there
    assert_eq!(value(&seat, "name"), "East Bench");
    seat.press("C-t").type_in(" 2").sees("South Bench 2");
    robin(&seat, |board| room_as(board, "Far Bench", Units::Us));
    seat.press("C-s").sees("Not saved: Someone else changed name too").sees("in the book    Far Bench");
    seat.press("C-s").sees("Saved.");
    assert_eq!(board(&seat).room_name, "South Bench 2");
}

#[test]
fn what_is_typed_over_the_books_version_leaves_ones_own_in_sight() {
    let mut seat = both();
    seat.press("C-t").type_in(" 2").sees("South Bench").sees("West Bench 2").press("C-t");
    assert_eq!(value(&seat, "name"), "South Bench");
}

#[test]
fn what_went_back_or_is_the_same_asks_nothing() {
    let mut seat = both();
    robin(&seat, |board| room_as(board, "North Bench", Units::Metric));
    seat.session.look_around();
    assert!(!seat.text().contains("yours"), "{}", seat.text());
    seat.press("C-s").sees("Saved.");
    assert_eq!((board(&seat).room_name.as_str(), board(&seat).units), ("South Bench", Some(Units::Metric)));
    let mut seat = Seat::at(Book::room());
    seat.press("x a");
    put(&mut seat, "name", "South Bench");
    robin(&seat, |board| room_as(board, "South Bench", Units::Metric));
    seat.press("C-s").sees("Not saved: Someone else changed this and changed it back: save again.");
    seat.press("C-s").sees("Nothing was changed.");
}

#[test]
fn a_field_with_one_version_has_no_other() {
    let mut seat = Seat::at(Book::room());
    seat.press("x a C-t").sees("Nobody else changed this field");
    assert!(!seat.session.model.form().unwrap().touched());
}

#[test]
fn a_draft_remembers_what_it_was_typed_over() {
    let mut seat = Seat::at(Book::room());
    seat.press("x a");
    put(&mut seat, "name", "South Bench");
    seat.press("Esc Esc");
    robin(&seat, |board| room_as(board, "West Bench", Units::Us));
    seat.session.look_around();
    seat.press("x a").sees("What you typed last time is back").sees("in the book    West Bench  (by RM)");
    assert_eq!((value(&seat, "name").as_str(), value(&seat, "units").as_str()), ("South Bench", "us"));
    let before = entries(&seat);
    seat.press("C-s").sees("Not saved: Someone else changed name too");
    assert_eq!(entries(&seat), before);
    // taken for now, left, and opened again: one's own is not lost
    seat.press("C-t Esc Esc x a").sees("yours          South Bench");
    assert_eq!(value(&seat, "name"), "South Bench");
    // begun afresh and brought back
    seat.press("C-n");
    assert_eq!(value(&seat, "name"), "West Bench");
    seat.press("C-n").sees("in the book    West Bench  (by RM)");
    assert_eq!(value(&seat, "name"), "South Bench");
    seat.press("C-t C-t C-s").sees("Saved.");
    assert_eq!(board(&seat).room_name, "South Bench");
}

/// Every form on a record: the keys to it, a field, what is typed, what RM writes meanwhile, and how that reads.
#[test]
fn every_form_on_a_record_shows_both() {
    type Elsewhere = fn(&Board, EditCrop) -> Action;
    let cases: [(&str, &str, &str, Elsewhere, &str, &str); 5] = [
        ("x a", "name", "South Bench", |b, _| room_as(b, "West Bench", Units::Metric), "West Bench", "West Bench"),
        (
            "x s s",
            "name",
            "Ada Kerr",
            |b, _| {
                let rev = b.people.iter().find(|p| p.id == PersonId(1)).unwrap().rev;
                let name = "Ann Kay".into();
                Action::EditPerson { person: PersonId(1), rev, name, may_decide: true, retired: false }
            },
            "Ann Kay",
            "Ann Kay",
        ),
        (
            "x d g a",
            "name",
            "X",
            |b, _| Action::RenameRack { rack: RackId(1), name: "Y".into(), rev: b.racks[0].rev },
            "Y",
            "Y",
        ),
        (
            "x g s",
            "name",
            "whole",
            |b, _| {
                let (format, name, rev) = (FormatId(1), "full".into(), b.formats[0].rev);
                Action::EditFormat { format, name, retired: false, rev }
            },
            "full",
            "full",
        ),
        (
            "x f g",
            "grams",
            "27,0",
            |_, rad| Action::EditCrop(Box::new(EditCrop { tray_mg: 28_500, ..rad })),
            "28.5 g",
            "28.5",
        ),
    ];
    for (keys, field, typed, elsewhere, reads, theirs) in cases {
        let mut seat = Seat::at(Book::room());
        seat.press(keys);
        put(&mut seat, field, typed);
        let rad = seat.session.store.crops().unwrap().into_iter().find(|c| c.letters == "RAD").unwrap();
        robin(&seat, |board| elsewhere(board, EditCrop::of(rad)));
        seat.press("C-s").sees(&format!("{reads}  (by RM)"));
        let mine = value(&seat, field);
        seat.press("C-t");
        assert_eq!(value(&seat, field), theirs, "{keys}");
        seat.press("C-t");
        assert_eq!(value(&seat, field), mine, "{keys}");
        let before = entries(&seat);
        seat.press("C-s");
        assert_eq!((entries(&seat), seat.session.model.form().is_none()), (before + 1, true), "{}", seat.text());
        seat.press("Esc Esc").press(keys);
        assert_eq!(value(&seat, field), mine, "{keys}");
    }
}

#[test]
fn a_record_that_was_taken_away_says_so() {
    let mut book = Book::room();
    let half = book.act(&Action::AddFormat(NewFormat { name: "half".into(), length_mm: 254, width_mm: 254 }));
    let half = FormatId(half.made.unwrap());
    let mut seat = Seat::at(book);
    let gone = "This tray format was taken out of use meanwhile, so nothing";
    seat.press("x g d");
    put(&mut seat, "name", "small");
    let retire = |b: &Board| {
        let known = b.formats.iter().find(|f| f.id == half).unwrap();
        Action::EditFormat { format: half, name: known.name.clone(), retired: true, rev: known.rev }
    };
    robin(&seat, retire);
    seat.session.look_around();
    seat.sees(gone);
    let before = entries(&seat);
    seat.press("C-s").sees(&format!("Not saved: {gone}"));
    assert_eq!((entries(&seat), value(&seat, "name").as_str()), (before, "small"));
    // taken back: it can be saved after all
    robin(&seat, |_| Action::Undo);
    seat.session.look_around();
    seat.press("C-s").sees("Tray format small: saved.");
}

#[test]
fn a_person_put_down_as_gone_meanwhile_is_said_to_be() {
    let mut book = Book::room();
    book.act(&Action::AddPerson { initials: "CD".into(), name: "cd".into(), may_decide: false });
    let mut seat = Seat::at(book);
    seat.press("x s d").sees("CD: cd");
    put(&mut seat, "name", "Cal Dunn");
    robin(&seat, |b| {
        let known = b.people.iter().find(|p| p.initials == "CD").unwrap();
        Action::EditPerson { person: known.id, rev: known.rev, name: "cd".into(), may_decide: false, retired: true }
    });
    seat.session.look_around();
    seat.sees("This person was put down as gone meanwhile; saving keeps that.");
    seat.press("C-s").sees("Saved.");
    let known = board(&seat).people.into_iter().find(|p| p.initials == "CD").unwrap();
    assert_eq!((known.name.as_str(), known.retired), ("Cal Dunn", true));
}

#[test]
fn shelves_changed_by_two_are_looked_at_again_first() {
    for noticed in [false, true] {
        let mut seat = Seat::at(Book::room());
        seat.press("x d s").sees("Rack A").type_in("shelf 2").press("Enter isol");
        robin(&seat, |b| {
            let places: Vec<_> = b.racks[0].on_shelf(2).map(|place| place.id).collect();
            let rev = b.places_rev(&places);
            Action::EditPlaces { places, zone: Zone::Covered, retired: true, rev, stack: None }
        });
        if noticed {
            seat.session.look_around();
        }
        let before = entries(&seat);
        seat.press("C-s").sees("Not saved: Someone else changed places of this rack: look at its shelves");
        assert_eq!(entries(&seat), before);
        go(&mut seat, "shelf");
        seat.sees("shelf 2  out of use, 4 places").press("C-s").sees("4 places:");
        assert_eq!(board(&seat).racks[0].on_shelf(2).count(), 4);
    }
}

#[test]
fn both_versions_stand_in_one_column_also_without_colour() {
    for (width, theme) in [(80, MONO), (60, MONO), (40, MONO)] {
        let seat = both();
        let screen = seat.text_in(width, 24, &theme);
        let column = |head: &str, value: &str| {
            let row = screen.lines().find(|row| row.trim_start().starts_with(head)).unwrap();
            row.find(value).unwrap_or_else(|| panic!("{row}"))
        };
        let at = column("> name", "South Bench");
        assert_eq!((column("* yours", "South Bench"), column("in the book", "West Bench")), (at, at), "{screen}");
    }
}

#[test]
fn what_changed_is_said_until_the_next_key_and_stays_beside_the_field() {
    let mut seat = both();
    assert!(matches!(&seat.session.model.notice, Some(Notice::Said(said)) if said.starts_with("Someone else")));
    seat.press("Tab");
    assert_eq!(seat.session.model.notice, None);
    seat.sees("in the book    West Bench");
}

#[test]
fn other_units_chosen_meanwhile_never_change_what_was_typed() {
    let mut seat = Seat::at(Book::room());
    seat.press("x f g");
    put(&mut seat, "grams", "27");
    let before = value(&seat, "anchors");
    robin(&seat, |board| room_as(board, "North Bench", Units::Us));
    seat.session.look_around();
    // degrees in a text are read in the units of the room
    assert_ne!(value(&seat, "anchors"), before);
    assert_eq!(value(&seat, "grams"), "27");
    let rad = |seat: &Seat| seat.session.store.crops().unwrap().into_iter().find(|c| c.letters == "RAD").unwrap();
    let was = rad(&seat);
    seat.press("C-s").sees("radish: saved.");
    assert_eq!((rad(&seat).anchors, rad(&seat).tray_mg), (was.anchors, 27_000));
}

#[test]
fn a_long_form_goes_to_the_first_field_that_both_changed() {
    let mut seat = Seat::at(Book::room());
    seat.press("x f g");
    put(&mut seat, "roots", "none, none, peeking, plenty, plenty, full, full, full, full");
    put(&mut seat, "light", "14");
    go(&mut seat, "name");
    let rad = seat.session.store.crops().unwrap().into_iter().find(|c| c.letters == "RAD").unwrap();
    robin(&seat, |_| {
        let mut edit = EditCrop { light_hours: "16".into(), ..EditCrop::of(rad) };
        edit.plan.roots = edit.plan.roots.into_iter().take(2).collect();
        Action::EditCrop(Box::new(edit))
    });
    seat.size(60, 20);
    seat.press("C-s").sees("changed roots by day, hours of").sees("in the book");
    assert_eq!(focus(&seat).0, "roots");
    seat.press("C-t");
    go(&mut seat, "light");
    seat.press("C-s").sees("radish: saved.");
    let rad = seat.session.store.crops().unwrap().into_iter().find(|c| c.letters == "RAD").unwrap();
    assert_eq!((rad.plan.roots.len(), rad.light_hours.as_str()), (2, "14"));
}
