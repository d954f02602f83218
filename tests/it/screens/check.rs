//! The fuzz check by its keys.

use rackwalk::domain::action::Action;
use rackwalk::domain::fuzz::{Extent, Sign, Signs, Verdict};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::tray::TrayCard;

use super::{Seat, morning, twelve};

fn card(seat: &Seat) -> TrayCard {
    seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone()
}

#[test]
fn from_fuzz_to_a_stored_cleared_check_in_at_most_six_keys() {
    let mut seat = morning();
    seat.press("w a");
    seat.keys = 0;
    seat.press("j").sees("Mist it lightly and watch").sees("Do not sniff").press("a").sees("CANNOT TELL");
    seat.sees("Nothing says yet where it sits").press("o").sees("HAIRS").sees("11 points against -1").press("Enter");
    assert!(seat.keys <= 6, "{} keys", seat.keys);
    let card = card(&seat);
    assert_eq!((card.checks[0].verdict, card.suspect), (Verdict::Hairs, false));
    seat.sees("only on the roots, day 2 to 4, watered;");
}

#[test]
fn mould_is_named_with_its_extent_and_is_not_for_sale() {
    let mut seat = morning();
    seat.press("w a j s e p").sees("MOULD").sees("The signs of mould have").press("v").sees("How far").press("s");
    seat.sees("a patch").press("Enter").sees("mould. Suspect now");
    let now = card(&seat);
    assert!(now.bad && now.suspect);
    let last = now.last.unwrap();
    assert_eq!((last.verdict, last.extent, last.fuzz), (Some(Verdict::Mould), Some(Extent::Patch), Some(Mist::Stands)));
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 1).unwrap();
    assert!(
        story[0].text.contains("in patches, day 2 to 4, a patch, watered; mould; suspect from then on"),
        "{}",
        story[0].text
    );
}

#[test]
fn only_what_can_still_change_the_answer_is_asked_and_nothing_twice() {
    let mut seat = morning();
    seat.press("w a j a").sees("only on the roots");
    // misted already: the other answer of that test is not asked for
    assert!(!seat.text().contains("stands when misted"));
    seat.press("o");
    assert!(!seat.text().contains("o  only on the roots"));
    seat.press("z").sees("Mist it lightly and watch").press("s");
    // begun again: what was said before is gone
    seat.press("Enter");
    assert_eq!(card(&seat).last.unwrap().signs, Signs::of(&[Sign::Stands, Sign::EarlyDay]));
}

#[test]
fn untested_fuzz_without_a_sign_is_no_check() {
    let mut seat = morning();
    seat.press("w a j d").sees("CANNOT TELL").press("Enter");
    let now = card(&seat);
    assert_eq!((now.last.unwrap().fuzz, now.checks.len(), now.suspect), (Some(Mist::Untested), 0, true));
}

#[test]
fn a_check_goes_with_the_grade_and_is_taken_back_with_u() {
    let mut seat = morning();
    seat.press("w a j a o Esc")
        .sees("chosen       fuzz, lies down when misted, only on the roots, day 2 to 4")
        .press("u");
    seat.sees("nothing was written").press("j").sees("Mist it lightly").press("a o Esc f");
    let last = card(&seat).last.unwrap();
    assert!(last.roots.is_some() && last.verdict == Some(Verdict::Hairs));
}

#[test]
fn expected_hairs_say_nothing_against_what_was_seen() {
    let mut seat = morning();
    seat.press("w a j s Esc i").sees("two spots that differ are two");
    assert!(card(&seat).last.is_none());
}

#[test]
fn any_tray_of_the_room_is_checked_and_earlier_checks_stand_beside() {
    let mut seat = morning();
    seat.press("o j a Enter").sees("cannot tell. Suspect").press("o j").sees("Checked before: today cannot tell (AK).");
    seat.press("a o").sees("HAIRS").sees("Checked before: today cannot tell (AK).").press("Enter");
    assert!(!card(&seat).suspect);
    assert_eq!(card(&seat).checks.len(), 2);
}

#[test]
fn a_sign_is_taken_back_by_its_letter_and_its_opposite_is_not_offered() {
    let mut seat = morning();
    seat.press("w a j s a").sees("seen: alike over the whole tray").sees("not after all");
    assert!(!seat.text().contains("in patches"), "{}", seat.text());
    seat.press("a").sees("in patches").press("p").sees("seen: in patches");
    assert!(!seat.text().contains("alike over"), "{}", seat.text());
    // the misting test too: then it is not misted
    seat.press("k").sees("lies down when misted").press("p Enter");
    assert_eq!((card(&seat).last.unwrap().fuzz, card(&seat).checks.len()), (Some(Mist::Untested), 0));
}

#[test]
fn what_naming_mould_means_stands_beside_enter_before_it_is_written() {
    let mut seat = morning();
    seat.press("w a j s");
    assert!(!seat.text().contains("never for sale"));
    seat.press("e p").sees("Then it is never for sale, and").press("Esc");
    seat.sees("MOULD when written: never for sale, and nothing clears it");
}

#[test]
fn what_hairs_never_show_is_said_of_the_suspect_also_after_hairs_were_seen() {
    let mut seat = morning();
    seat.press("w a j a c w Enter Left").sees("SUSPECT: unlike hairs: grey, black, blue or green");
    seat.press("j a o r Enter").sees("; hairs.");
    assert!(card(&seat).suspect && !card(&seat).stood);
    seat.press("Left").sees("SUSPECT: unlike hairs: grey").press("Esc p").sees("unlike hairs: grey");
    seat.press("Enter c").sees("Clear T0001-W").press("Enter").type_in("ink from the lid").press("C-s");
    assert!(!card(&seat).suspect);
}

#[test]
fn the_one_key_for_hairs_opens_the_check_on_a_suspect() {
    let mut seat = morning();
    seat.press("w a j d Enter Left").sees("A grade does not answer the fuzz. Mist it: j");
    let newest = seat.session.store.newest_entry().unwrap();
    seat.press("i").sees("Mist it lightly and watch").press("Esc");
    assert_eq!((seat.session.store.newest_entry().unwrap(), card(&seat).suspect), (newest, true));
    // also by the list of suspects: look at it now, and a key too many
    seat.press("Esc p Enter l").sees("A suspect tray: gloves and mask on now").press("i").sees("Mist it lightly");
    assert!(card(&seat).suspect);
}

#[test]
fn hairs_and_mould_on_one_day_are_said_before_they_are_written() {
    let mut seat = morning();
    seat.press("o j a o Enter o j s e p").sees("HAIRS AND MOULD").press("Enter").sees("hairs and mould. Suspect now");
    assert!(card(&seat).bad);
}

#[test]
fn the_points_are_a_form_of_the_rooms_own() {
    let mut seat = morning();
    seat.press("x e").sees("this program's own, not published").sees("6 -5 0");
    seat.type_in("6 -5").press("C-s").sees("Give three whole numbers");
    let mut seat = morning();
    seat.press("x e").type_in("60 -5 0").press("C-s").sees("Points lie between -20 and 20");
    let mut seat = morning();
    seat.press("x e").type_in("1 -5 0").press("C-s").sees("version 1");
    assert_eq!(seat.session.store.board().unwrap().fuzz_points.of(Sign::Vanishes).hair, 1);
    // by the new points it takes more to be hairs
    seat.press("Esc").press("w a j a o").sees("HAIRS");
    seat.sees("6 points against -1");
}

#[test]
fn the_timeline_shows_what_checks_came_to() {
    let mut book = twelve::book();
    let tray = book.board().trays[0].id;
    book.act(&Action::Look(Box::new(Look { signs: Signs::of(&[Sign::Coloured, Sign::Web]), ..Look::of(tray) })));
    let mut seat = Seat::at(book);
    seat.press("").sees("check").sees("MO");
}
