//! Recipes, bottles, treatments and the sums about them, by keys.

use chrono::Duration;
use rackwalk::app::model::Screen;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::tray::Stage;

use super::Seat;
use super::walk::newest;
use crate::book::Book;

/// Three lit trays of radish two days old on A 1, one pea on A 1.
fn seat() -> Seat {
    let mut book = Book::room();
    let (seed, pea) = (book.seed("RAD", 500), book.seed("PEA", 900));
    for tray in book.sow("RAD", seed, 3) {
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    }
    book.sow("PEA", pea, 1);
    book.later(Duration::days(2));
    Seat::at(book)
}

/// A recipe of the room's own: common practice, no source, invented amounts.
fn with_recipe(seat: &mut Seat) -> &mut Seat {
    seat.press("r m x x").type_in("test rinse").press("Enter 1500 Enter 2 Enter").type_in("test salt").press("Enter");
    seat.type_in("3/4 tsp us").press("Enter").type_in("test oil").press("Enter").type_in("20 drops");
    seat.sees("test salt: 3.70 mL = 3/4 tsp (US)").sees("test oil: 20 drops, about 1.00 mL").press("C-s");
    seat.sees("Recipe test rinse: written down.")
}

/// A bottle of it, with the lot of the salt.
fn with_bottle(seat: &mut Seat) -> &mut Seat {
    with_recipe(seat).press("r m c").sees("s  test salt").press("s").sees("> ingredient  test salt");
    seat.press("Enter L-7 C-s").sees("lot L-7 is on the shelf");
    seat.press("r m z a").sees("Never mix bleach").sees("stand its bottle in hot water").press("2000 Enter");
    seat.sees("4.93 mL = 1 tsp (US)")
        .sees("27 drops, by the sum 26.7")
        .sees("then water up to 2000 mL")
        .press("L-7 Enter")
        .type_in("not")
        .press("C-s");
    seat.sees("write M0001-Y on the bottle")
}

#[test]
fn a_spoon_without_its_kind_is_sent_back_and_nothing_typed_is_lost() {
    let mut seat = seat();
    seat.press("r m x x").type_in("test rinse").press("Enter 1500 Enter 2 Enter").type_in("test salt").press("Enter");
    let before = newest(&seat).id;
    seat.type_in("3/4 tsp").press("C-s").sees("does not say which spoon").sees("test rinse");
    assert_eq!(newest(&seat).id, before);
    seat.press("Esc").sees("what you typed is kept").press("r m x x").sees("3/4 tsp").sees("test salt");
}

#[test]
fn bleach_and_vinegar_are_no_recipe_and_nothing_overrides_it() {
    let mut seat = seat();
    seat.press("r m x x").sees("Never mix bleach").type_in("test rinse").press("Enter 1500 Enter 2 Enter");
    seat.type_in("bleach").press("Enter 20drops Enter").type_in("vinegar").press("Enter 20mL C-s");
    seat.sees("bleach and vinegar make a poisonous gas").sees("test rinse");
    assert!(!seat.text().contains("it already happened"));
    assert!(seat.book().board().recipes.is_empty());
}

#[test]
fn a_bottle_is_prepared_sprayed_and_gone() {
    let mut seat = seat();
    with_bottle(&mut seat);
    assert!(newest(&seat).text.contains("test salt 1 tsp (US) (lot L-7), test oil 26.667 drops (lot not recorded)"));
    // this tray and its batch on the shelf: the pea beside it is left out
    seat.press("z").sees("a  tray T0001-W").sees("s  shelf A 1      4 trays").sees("d  batch B0001-").press("d");
    seat.press("M0001 Enter Enter").type_in("fuzz on seed").press("Enter").type_in("not").press("Enter");
    seat.sees("Nobody read the label").press("y Enter 48 Enter 4 Enter 300");
    seat.sees("3 trays: not to be cut before Sun 05 Jul 06:00.").sees("Nobody goes in before Fri 03 Jul 10:00.");
    seat.sees("1700 mL stay in M0001-Y.").press("C-s").sees("3 trays treated with test rinse.");
    seat.sees("do not enter rack A before 10:00").sees("TREATED: not to be cut before Sun 05 Jul 06:00");
    seat.sees("(today: test rinse, label not").size(80, 28);
    seat.sees("treated 03 Jul 06:00, no cutting before 05 Jul 06:00: test rinse, 3 trays").sees("wait");
    // what waits is not cut
    seat.press("Enter c").sees("not now: treated, not before Sun").press("s").sees("treated, not before");
    seat.press("a").sees("was treated and is not cut before 2026-07-05 06:00").press("Esc");
    seat.press("r m").sees("keeps until 05 Jul 06:00, 1700 of 2000 mL left").press("a s").sees("M0001-Y: binned.");
    seat.press("r m").sees("recipes");
    assert!(!seat.text().contains("M0001-Y"));
}

#[test]
fn a_label_that_does_not_list_it_is_refused_and_what_was_sprayed_is_noted() {
    let mut seat = seat();
    seat.press("z a Tab").type_in("test product").press("Tab Tab fuzz Tab no Tab 24 Tab 0").sees("Not on the label");
    seat.press("C-s").sees("Against the rule").sees("does not list this crop and site").press("s");
    seat.type_in("it was done before anyone asked").press("C-s").sees("breach, treated although the label");
    seat.sees("HELD").press("d").sees("treated although the label does not list");
}

#[test]
fn an_unread_label_is_asked_about_once() {
    let mut seat = seat();
    let before = newest(&seat).id;
    seat.press("z a Tab rinse Tab Tab fuzz Tab not Tab n Tab 24 Tab 0 C-s").sees("Read the label first");
    assert_eq!(newest(&seat).id, before);
    seat.press("y C-s").sees("treated with rinse");
}

#[test]
fn a_label_nobody_read_means_a_wait_and_is_told_where_it_is_cut() {
    let mut seat = seat();
    let before = newest(&seat).id;
    seat.press("z a Tab rinse Tab Tab fuzz Tab not Tab y Tab 0 Tab 0 C-s")
        .sees("Nobody read the label, so nobody knows");
    assert_eq!(newest(&seat).id, before);
    seat.press("Backspace 2 C-s").sees("treated with rinse").sees("(today: rinse, label");
    // also when the hours are over
    let mut seat = seat.later(Duration::hours(3));
    seat.press("Enter c").sees("treated today: rinse, label not read").press("a").sees("T0001-W cut");
}

#[test]
fn a_walk_says_first_where_nobody_goes_in() {
    let mut seat = seat();
    seat.press("z d Tab rinse Tab Tab fuzz Tab yes Tab 24 Tab 4 C-s").sees("3 trays treated");
    seat.press("w Enter").sees("STOP: do not enter rack A before 10:00");
    let lines: Vec<String> = seat.text().lines().map(String::from).collect();
    let row = |what: &str| lines.iter().position(|line| line.contains(what));
    assert!(row("STOP:") < row("RADISH") && row("STOP:").is_some(), "{lines:?}");
    let mut seat = seat.later(Duration::hours(4));
    seat.press("w Enter").sees("RADISH");
    assert!(!seat.text().contains("do not enter"));
}

#[test]
fn an_expired_bottle_is_told_as_soon_as_it_is_chosen() {
    let mut seat = seat();
    with_bottle(&mut seat);
    let mut seat = seat.later(Duration::days(3));
    seat.press("z a M0001").sees("M0001-Y EXPIRED 05 Jul 06:00, 2000 of 2000 mL left: bin it");
}

#[test]
fn what_was_sprayed_earlier_is_noted_with_its_time_and_of_trays_cut_since() {
    let mut seat = seat();
    seat.press("Enter c a").sees("T0001-W cut");
    let mut seat = seat.later(Duration::hours(3));
    seat.press("Right z a Tab rinse Tab Tab fuzz Tab yes Tab 24 Tab 0 Tab Tab");
    // the first letter replaces what is proposed
    seat.type_in("2026-07-03 05:30").press("Tab").type_in("t0001-w").press("C-s").sees("2 trays treated");
    let line = newest(&seat);
    assert_eq!(line.seen.unwrap().at.to_string(), "2026-07-03T05:30:00Z");
    // later than the tray left, or before it was sown: nothing typed is lost
    seat.press("z a Tab rinse Tab Tab fuzz Tab yes Tab 24 Tab 0 Tab Tab Tab").type_in("T0001-W").press("C-s");
    seat.sees("had left the room by then").sees("T0001-W").press("Esc");
    seat.press("z a C-n Tab rinse Tab Tab fuzz Tab yes Tab 24 Tab 0 Tab Tab").type_in("2026-06-30 06:00").press("C-s");
    seat.sees("was received on 2026-07-01: it was not").sees("rinse");
    assert!(matches!(seat.session.model.top(), Some(Screen::Form(_))));
}

#[test]
fn a_recipe_changed_by_someone_else_meanwhile_is_not_mixed_by_the_old_amounts() {
    let mut seat = seat();
    with_recipe(&mut seat);
    let mut other = seat.beside();
    seat.press("r m z a Tab").type_in("not").press("Tab").type_in("not");
    other.press("r m x a s Tab Tab Tab Tab 2g C-s").sees("Recipe test rinse: saved");
    seat.press("C-s").sees("Someone changed what goes into this recipe");
    assert!(seat.book().board().mixes.is_empty());
}

#[test]
fn an_expired_bottle_stands_on_the_line_of_facts_until_it_is_binned() {
    let mut seat = seat();
    with_bottle(&mut seat);
    let mut seat = seat.later(Duration::days(3));
    seat.size(200, 24);
    seat.sees("1 mix expired (r)").press("r m").sees("EXPIRED 05 Jul 06:00").press("a a").sees("used up");
    assert!(!seat.text().contains("expired"));
    let story = seat.book().store.history(Of::Mix(rackwalk::domain::id::MixId(1)), None, 9).unwrap();
    assert_eq!(story.len(), 2);
}

#[test]
fn the_bench_works_out_dilutions_and_recipes_without_writing() {
    let mut seat = seat();
    with_recipe(&mut seat);
    let before = newest(&seat).id;
    // growing.md G6: P: 600 mL of 0.5 % from 3 % = 100 mL + 500 mL
    seat.press("r d 3 Tab 0.5 Tab 600").sees("100.0 mL of stock and 500.0 mL of water make 600 mL.").sees("goggles");
    seat.press("BackTab C-n 3 Tab 5 Tab 600").sees("5 % is stronger than the stock of 3 %").press("C-s Esc");
    seat.press("r x").type_in("test").press("Tab 2000").sees("test salt: 4.93 mL = 1 tsp (US)");
    seat.sees("then water up to 2000 mL").press("C-s").sees("Nothing is written here");
    assert_eq!(newest(&seat).id, before);
    assert_eq!(seat.book().board().trays.iter().filter(|tray| tray.stage == Stage::Lit).count(), 3);
}
