//! Crops and their plans by keys, in settings.

use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::crop::{Crop, Medium, Soak};
use rackwalk::domain::history::Of;
use rackwalk::domain::look::Roots;

use super::Seat;
use super::form::{afresh, elsewhere, focus, go, put};
use crate::book::Book;

fn room() -> Seat {
    Seat::at(Book::room())
}

fn crop(seat: &Seat, letters: &str) -> Crop {
    seat.session.store.crops().unwrap().into_iter().find(|crop| crop.letters == letters).unwrap()
}

#[test]
fn a_changed_plan_is_a_new_version_and_old_trays_keep_theirs() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 1);
    let mut seat = Seat::at(book);
    seat.press("x f g").sees("RAD radish");
    put(&mut seat, "cover_d", "3");
    put(&mut seat, "cut_from", "7");
    put(&mut seat, "grams", "27");
    put(&mut seat, "roots", "none, none, peeking, plenty, full");
    seat.press("C-s").sees("radish: saved. Trays sown from now on follow the new plan.");
    let radish = crop(&seat, "RAD");
    assert_eq!((radish.plan.version, radish.plan.cover_d, radish.plan.cut_from_d), (2, 3, 7));
    assert_eq!((radish.plan.roots_on(2), radish.plan.roots_on(9)), (Some(Roots::None), Some(Roots::Full)));
    assert_eq!(radish.tray_mg, 27_000);
    seat.press("s rad Tab Tab 01r C-s").sees("1 tray of radish sown");
    let board = seat.session.store.board().unwrap();
    let versions: Vec<(i64, i64)> = board.trays.iter().map(|t| (t.plan.version, t.plan.cover_d)).collect();
    assert_eq!(versions, [(1, 4), (2, 3)]);
    // figures of one's own say so, the others keep their source
    seat.press("x f g Tab").sees("Source: own figure.");
    go(&mut seat, "min_germ");
    seat.sees("Source: P: 7 CFR 201.31.");
    seat.press("Esc");
    let story = &seat.session.store.history(Of::Everything, None, 2).unwrap()[1];
    assert!(story.text.contains("plan 2 of radish") && !story.text.contains("own figure"), "{}", story.text);
}

#[test]
fn bad_figures_of_a_crop_say_what_is_wrong() {
    let mut seat = room();
    let before = crop(&seat, "RAD");
    for (field, typed, at, sentence) in [
        ("name", " ", "name", "fill this in, it is needed."),
        ("grams", "0", "grams", "it must be from 0.001 to 5000 g; 0 is outside."),
        ("soak_h", "49", "soak_h", "it must be from 0 to 48 h; 49 is outside."),
        ("cover_d", "6", "cut_from", "The first cutting day comes after the last covered day."),
        ("cut_to", "5", "cut_to", "The cutting window ends on or after its first day, and by day 90."),
        ("cut_to", "91", "cut_to", "it must be from 1 to 90; 91 is outside."),
        ("roots", "none, lots", "roots", "Write none, peeking, plenty or full for each day from day 1, with commas."),
        ("anchors", "5", "anchors", "Write degrees=days, such as 5=10, 20=3."),
        ("anchors", "60=1", "anchors", "Temperatures from -5 to 45 °C, lives from an hour to 400 days."),
        (
            "anchors",
            "5=3, 20=10",
            "anchors",
            "Shelf life needs at least one temperature, and warmer must keep shorter.",
        ),
        ("want_germ", "101", "want_germ", "it must be from 0 to 100 %; 101 is outside."),
    ] {
        afresh(&mut seat, "x f g");
        put(&mut seat, field, typed);
        seat.press("C-s");
        assert_eq!(focus(&seat), (at, sentence.to_string()), "{field} {typed}");
        seat.press("Esc");
    }
    assert_eq!(crop(&seat, "RAD"), before);
}

#[test]
fn a_crop_is_no_longer_grown_once_no_tray_of_it_stands() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 1);
    let mut seat = Seat::at(book);
    seat.press("x f g");
    go(&mut seat, "grown");
    seat.press("n C-s").sees("Not saved: Still in the room: 1 tray of it. Cut or throw them out first.").press("Esc");
    seat.press("x f f");
    go(&mut seat, "grown");
    seat.press("n C-s").sees("pea: saved.");
    seat.press("x f").sees("not grown any more").press("Esc s").sees("mustard");
    assert!(!seat.text().contains("pea"), "{}", seat.text());
}

#[test]
fn a_starter_crop_and_a_crop_of_ones_own() {
    let mut seat = room();
    seat.press("x f a").sees("broccoli").press("a");
    let added: Vec<String> = seat.session.store.crops().unwrap().into_iter().map(|c| c.letters).collect();
    assert_eq!(added.len(), 4);
    assert!(crop(&seat, "BRO").plan.version == 1, "{added:?}");
    seat.press("x f s").sees("A crop of your own").type_in("chi").press("Tab").type_in("chicory");
    seat.press("Tab 8 Tab 1,4");
    put(&mut seat, "roots", "none, none, peeking");
    put(&mut seat, "anchors", "5=9, 20");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("anchors", "Write degrees=days, such as 5=10, 20=3.".into()));
    put(&mut seat, "anchors", "20=2,5; 5=9");
    seat.press("C-s").sees("chicory is in the room.");
    let own = crop(&seat, "CHI");
    assert_eq!((own.tray_mg, own.tsw_mg, own.soak, own.medium), (8000, Some(1400), Soak::No, Medium::Mat));
    assert_eq!(own.anchors, [(50, 216), (200, 60)]);
    assert_eq!((own.plan.cover_d, own.plan.cut_from_d, own.plan.cut_to_d), (3, 8, 12));
    assert_eq!(own.plan.roots, [(1, Roots::None), (2, Roots::None), (3, Roots::Peeking)]);
    for (letters, sentence) in [
        ("c1", "A crop's letters are three from A to Z, other than MIX, such as RAD."),
        ("mix", "A crop's letters are three from A to Z, other than MIX, such as RAD."),
    ] {
        afresh(&mut seat, "x f s");
        seat.type_in(letters).press("Tab").type_in("other").press("Tab 8 C-s");
        assert_eq!(focus(&seat), ("letters", sentence.to_string()), "{letters}");
        seat.press("Esc");
    }
    afresh(&mut seat, "x f s");
    seat.type_in("rad").press("Tab").type_in("other").press("Tab 8 C-s");
    assert!(seat.session.model.form().is_some(), "letters that are taken leave the form open");
    assert_eq!(seat.session.store.crops().unwrap().len(), 5);
}

#[test]
fn a_stale_crop_takes_the_other_change_in_and_is_saved_with_both() {
    for noticed in [false, true] {
        let mut seat = room();
        seat.press("x f g");
        put(&mut seat, "grams", "27");
        let mut other = EditCrop::of(crop(&seat, "RAD"));
        other.yield_g = Some(300);
        elsewhere(&seat, &Action::EditCrop(Box::new(other)));
        if noticed {
            seat.session.look_around();
        }
        if !noticed {
            seat.press("C-s").sees("Someone else changed expected yield, which stands here now:");
            assert_eq!((crop(&seat, "RAD").tray_mg, crop(&seat, "RAD").yield_g), (30_000, Some(300)));
        }
        seat.press("C-s").sees("radish: saved.");
        assert_eq!((crop(&seat, "RAD").tray_mg, crop(&seat, "RAD").yield_g), (27_000, Some(300)));
    }
}
