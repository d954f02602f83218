//! Settings by keys.

use rackwalk::app::form::{Remark, State};
use rackwalk::app::key::Key;
use rackwalk::domain::action::Action;
use rackwalk::domain::crop::{Crop, Medium, Soak};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::PersonId;
use rackwalk::domain::look::Roots;
use rackwalk::domain::person::Person;
use rackwalk::domain::room::{Units, Zone};
use rackwalk::store::Store;

use super::Seat;
use crate::book::{AK, Book};

fn room() -> Seat {
    Seat::at(Book::room())
}

/// The field in focus and the sentence beside it.
fn focus(seat: &Seat) -> (&'static str, String) {
    let field = seat.session.model.form().unwrap().focused().unwrap();
    let sentence = match field.remark() {
        Some(Remark::Unmet(why) | Remark::Refused(why) | Remark::Told(why)) => why.clone(),
        None => String::new(),
    };
    (field.id, sentence)
}

/// Goes to a field of the form on top, from its first field on.
fn go(seat: &mut Seat, field: &str) {
    for _ in 0..30 {
        seat.press("BackTab");
    }
    while focus(seat).0 != field {
        seat.press("Tab");
    }
}

/// Replaces what stands in a field.
fn put(seat: &mut Seat, field: &str, text: &str) {
    go(seat, field);
    seat.press("End").key(Key::Ctrl('u'));
    seat.type_in(text);
}

fn crop(seat: &Seat, letters: &str) -> Crop {
    seat.session.store.crops().unwrap().into_iter().find(|crop| crop.letters == letters).unwrap()
}

fn person(seat: &Seat, initials: &str) -> Person {
    seat.session.store.board().unwrap().people.into_iter().find(|p| p.initials == initials).unwrap()
}

fn entries(seat: &Seat) -> usize {
    seat.session.store.history(Of::Everything, None, 99).unwrap().len()
}

/// What another terminal writes meanwhile.
fn elsewhere(seat: &Seat, action: &Action) {
    let mut other = Store::open(&seat.book().path, "other").unwrap();
    other.act(action, AK, seat.book().now).unwrap();
}

#[test]
fn name_code_and_units_of_the_room() {
    let mut seat = room();
    seat.press("x a").type_in("South Bench").press("Enter sb Enter").sees("noted for later").press("Right Enter");
    seat.sees("South Bench (SB)");
    let board = seat.session.store.board().unwrap();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("South Bench", "SB"));
    assert_eq!(board.units, Some(Units::Us));
    let before = entries(&seat);
    seat.press("x a C-s").sees("Not saved: Nothing was changed.");
    put(&mut seat, "code", "S1");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("code", "The room's code is two letters from A to Z, such as NB.".into()));
    put(&mut seat, "name", " ");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("name", "fill this in, it is needed.".into()));
    assert_eq!(entries(&seat), before);
}

#[test]
fn a_second_person_takes_over_with_one_key() {
    let mut seat = room();
    seat.press("a").sees("Only one person is on the list");
    seat.press("x s a rm Enter").type_in("Robin Marsh").press("Enter n Enter").sees("RM is on the list.");
    assert!(!person(&seat, "RM").may_decide);
    seat.sees("at the rack: AK").press("a").sees("At the rack: RM (Robin Marsh).").sees("at the rack: RM");
    // the next entry carries the other initials
    seat.press("x g").type_in("small").press("Enter 254 Enter 254 Enter").sees("Tray format small is there.");
    let newest = &seat.session.store.history(Of::Everything, None, 1).unwrap()[0];
    assert_eq!(newest.who, "RM");
    seat.press("a").sees("at the rack: AK");
}

#[test]
fn a_person_without_a_full_name_is_called_by_the_initials() {
    let mut seat = room();
    seat.press("x s a rm C-s");
    assert_eq!(person(&seat, "RM").name, "RM");
}

#[test]
fn bad_initials_are_refused() {
    let mut seat = room();
    for (initials, sentence) in [
        ("", "fill this in, it is needed."),
        ("R", "Initials are two to four letters, such as AK."),
        ("R1", "Initials are two to four letters, such as AK."),
    ] {
        seat.press("x s a").type_in(initials).press("C-s");
        assert_eq!(focus(&seat), ("initials", sentence.to_string()), "{initials}");
        seat.press("Esc");
    }
    assert_eq!(seat.session.store.board().unwrap().people.len(), 1);
    seat.press("x s a");
    seat.key(Key::Ctrl('n'));
    seat.press("ak C-s");
    assert!(seat.session.model.form().is_some(), "taken initials leave the form open");
    assert_eq!(seat.session.store.board().unwrap().people.len(), 1);
}

#[test]
fn editing_people_and_the_last_who_may_decide() {
    let mut seat = room();
    seat.press("x s s").sees("AK: AK");
    put(&mut seat, "name", "Ada Kerr");
    go(&mut seat, "may_decide");
    seat.press("n C-s").sees("Not saved: Someone must be left who may decide: name another person first.");
    assert_eq!(person(&seat, "AK").name, "AK", "nothing of it is saved");
    seat.press("y C-s").sees("Saved.");
    assert_eq!((person(&seat, "AK").name.as_str(), person(&seat, "AK").may_decide), ("Ada Kerr", true));
    seat.press("x s a rm Tab Tab y C-s").sees("RM is on the list.");
    assert!(person(&seat, "RM").may_decide);
    // AK leaves; the next entry wants to know who is at the rack
    seat.press("x s s");
    go(&mut seat, "here");
    seat.press("n C-s").sees("Saved.");
    assert!(person(&seat, "AK").retired);
    seat.press("x g").type_in("small").press("Enter 254 Enter 254 Enter");
    seat.sees("This person has left the room: choose who is at the rack");
    seat.press("Esc a").sees("at the rack: RM").press("x g C-s").sees("Tray format small is there.");
    seat.press("x s").sees("left");
}

#[test]
fn a_rack_and_what_its_shelves_are_for() {
    let mut seat = room();
    seat.press("x d a C Enter 2x3 Enter Enter").sees("Rack C stands.");
    let places = |seat: &Seat| {
        let board = seat.session.store.board().unwrap();
        let rack = board.racks.into_iter().find(|rack| rack.name == "C");
        rack.map_or(vec![], |rack| rack.places.iter().map(|p| (p.shelf, p.zone)).collect::<Vec<_>>())
    };
    assert_eq!(places(&seat), [(1, Zone::Lit); 3].into_iter().chain([(2, Zone::Lit); 3]).collect::<Vec<_>>());
    seat.press("x d").sees("rack C").press("g").sees("Rack C").type_in("shelf 2");
    seat.press("Enter cov C-s").sees("3 places: covered.");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3].into_iter().chain([(2, Zone::Covered); 3]).collect::<Vec<_>>());
    // out of use, and back with the zone it had
    seat.press("x d g").type_in("shelf 2").press("Enter out C-s").sees("3 places: out of use.");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3]);
    seat.press("x d g").type_in("shelf 2").sees("out of use, 3 places").press("Enter cov C-s");
    assert_eq!(places(&seat).len(), 6);
    for shelf in ["shelf 1", "shelf 2"] {
        seat.press("x d g").type_in(shelf).press("Enter out C-s");
    }
    assert!(places(&seat).is_empty());
    seat.press("x d").sees("rack C").sees("out of use").press("g").type_in("shelf 1").press("Enter under C-s");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3]);
}

#[test]
fn a_shelf_with_a_tray_stays_in_use() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 100);
    book.sow("RAD", lot, 1);
    let mut seat = Seat::at(book);
    let tray = seat.session.store.board().unwrap().trays[0].clone();
    let shelf = format!("shelf {}", tray.place.shelf);
    seat.press("x d s").type_in(&shelf).press("Enter out C-s");
    seat.sees("Not saved: A tray stands there: move it first, then take the place out of use.");
    assert_eq!(seat.session.store.board().unwrap().out_of_use, []);
}

#[test]
fn bad_racks_are_refused() {
    let mut seat = room();
    for (shape, sentence) in [
        ("axb", "Write racks x shelves x places"),
        ("0x4", "A rack has 1 to 40 shelves of 1 to 40 places."),
        ("41x2", "A rack has 1 to 40 shelves of 1 to 40 places."),
        ("2x5x4", "One rack at a time: shelves x places, such as 5x4."),
    ] {
        seat.press("x d a C Tab").type_in(shape).press("C-s");
        let (field, said) = focus(&seat);
        assert!(field == "shape" && said.starts_with(sentence), "{shape}: {said}");
        seat.key(Key::Ctrl('n'));
        seat.press("Esc");
    }
    seat.press("x d a A C-s");
    assert!(seat.session.model.form().is_some(), "a name that is taken leaves the form open");
    assert_eq!(seat.session.store.board().unwrap().racks.len(), 3);
}

#[test]
fn tray_formats_and_their_limits() {
    let mut seat = room();
    seat.press("x g").type_in("half").press("Enter 250 Enter 29 C-s");
    assert_eq!(focus(&seat), ("width", "it must be from 30 to 3000 mm; 29 is outside.".into()));
    put(&mut seat, "width", "254,5");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("width", "write a whole number, without comma or point.".into()));
    put(&mut seat, "width", "254");
    seat.press("C-s").sees("Tray format half is there.");
    let formats = seat.session.store.board().unwrap().formats;
    assert_eq!((formats[1].name.as_str(), formats[1].length_mm, formats[1].width_mm), ("half", 250, 254));
    // the sowing form scales the seed to it: 29.35 g x 635 / 1290.32 = 14.44 g
    let mut book = Book::room();
    book.seed("RAD", 100);
    let mut seat = Seat::at(book);
    seat.press("x g").type_in("half").press("Enter 250 Enter 254 Enter s rad Tab");
    go(&mut seat, "format");
    seat.press("half").sees("2.33 seeds/cm² × 635.00 cm² = 1476 seeds").sees("tray 1: 14.4 g of S0001-R");
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
        seat.press("x f g");
        seat.key(Key::Ctrl('n'));
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
    put(&mut seat, "anchors", "5=9, 20=2,5");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("anchors", "Write degrees=days, such as 5=10, 20=3.".into()));
    put(&mut seat, "anchors", "20=2.5; 5=9");
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
        seat.press("x f s");
        seat.key(Key::Ctrl('n'));
        seat.type_in(letters).press("Tab").type_in("other").press("Tab 8 C-s");
        assert_eq!(focus(&seat), ("letters", sentence.to_string()), "{letters}");
        seat.press("Esc");
    }
    seat.press("x f s");
    seat.key(Key::Ctrl('n'));
    seat.type_in("rad").press("Tab").type_in("other").press("Tab 8 C-s");
    assert!(seat.session.model.form().is_some(), "letters that are taken leave the form open");
    assert_eq!(seat.session.store.crops().unwrap().len(), 5);
}

#[test]
fn a_stale_form_is_refused_in_words_and_keeps_what_was_typed() {
    // once before this terminal has noticed, once after it has reloaded under the open form
    for noticed in [false, true] {
        let mut seat = room();
        seat.press("x s s");
        put(&mut seat, "name", "Ada Kerr");
        let known = person(&seat, "AK");
        elsewhere(
            &seat,
            &Action::EditPerson {
                person: PersonId(1),
                rev: known.rev,
                name: "A. K.".into(),
                may_decide: true,
                retired: false,
            },
        );
        if noticed {
            seat.session.look_around();
        }
        seat.press("C-s").sees("Not saved: Someone else changed this meanwhile: open it again to see the new");
        assert_eq!(person(&seat, "AK").name, "A. K.");
        seat.press("Esc x s").sees("AK  A. K.").press("s").sees("What you typed last time is back").sees("Ada Kerr");
        seat.press("C-s").sees("Saved.");
        assert_eq!(person(&seat, "AK").name, "Ada Kerr");
    }
}

#[test]
fn a_stale_crop_is_refused_and_the_other_change_is_kept() {
    for noticed in [false, true] {
        let mut seat = room();
        seat.press("x f g");
        put(&mut seat, "grams", "27");
        let mut other = room_edit(&crop(&seat, "RAD"));
        other.yield_g = Some(300);
        elsewhere(&seat, &Action::EditCrop(Box::new(other)));
        if noticed {
            seat.session.look_around();
        }
        seat.press("C-s").sees("Someone else changed this meanwhile");
        assert_eq!((crop(&seat, "RAD").tray_mg, crop(&seat, "RAD").yield_g), (30_000, Some(300)));
        // opened again it shows the other's yield and the grams typed before
        seat.press("Esc x f g C-s").sees("radish: saved.");
        assert_eq!((crop(&seat, "RAD").tray_mg, crop(&seat, "RAD").yield_g), (27_000, Some(300)));
    }
}

/// An edit that changes nothing yet.
fn room_edit(crop: &Crop) -> rackwalk::domain::action::EditCrop {
    let crop = crop.clone();
    rackwalk::domain::action::EditCrop {
        crop: crop.id,
        rev: crop.rev,
        name: crop.name,
        soak: crop.soak,
        hairs_expected: crop.hairs_expected,
        roots_hidden: crop.roots_hidden,
        second_cut: crop.second_cut,
        chilling: crop.chilling,
        weighted: crop.weighted,
        medium: crop.medium,
        tsw_mg: crop.tsw_mg,
        tray_mg: crop.tray_mg,
        yield_g: crop.yield_g,
        min_germ_pm: crop.min_germ_pm,
        want_germ_pm: crop.want_germ_pm,
        allergen: crop.allergen,
        us_list: crop.us_list,
        light_hours: crop.light_hours,
        plan: crop.plan,
        anchors: crop.anchors,
        retired: crop.retired,
    }
}

#[test]
fn nothing_typed_is_lost_by_a_form_that_saves_nothing() {
    let mut seat = room();
    seat.press("x f g C-s").sees("Not saved: Nothing was changed.");
    assert_eq!(seat.session.model.form().unwrap().state, State::Refused("Nothing was changed.".into()));
}
