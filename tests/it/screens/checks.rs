//! Checks of the room by keys.

use super::morning;

#[test]
fn a_check_is_kept_noted_and_due_again() {
    let mut seat = morning();
    seat.press("r").sees("checks of the room").sees("none is kept yet").press("c").sees("Local codes say which checks");
    seat.press("z").sees("thermometers in ice water").press("s").sees("checked every 30 d from now on");
    seat.sees("1 check due (r)").press("r c").sees("never done; due today").press("a a");
    seat.sees("Good enough: 0 °C, 1 °C more or less.").type_in("0.4 °C off").press("Enter y C-s");
    seat.sees("thermometers in ice water: ok, 0.4 °C off.");
    assert!(!seat.text().contains("check due"), "{}", seat.text());
    seat.press("r c").sees("ok, 0.4 °C off (AK, 04 Jul); due 03 Aug").press("a s");
    seat.sees("Check: thermometers in ice water").sees("thermometers in ice water, 2026-07-04: ok, 0.4 °C");
    seat.press("Esc u");
    seat.sees("1 check due (r)");
}

#[test]
fn a_check_that_failed_wants_to_know_what_was_done_and_comes_again_tomorrow() {
    let mut seat = morning();
    seat.press("r c z s r c a a")
        .type_in("3 °C off")
        .press("Enter n C-s")
        .sees("It failed: say what was done about it.");
    seat.type_in("replaced by the new one").press("C-s").sees("failed, 3 °C off.");
    let mut seat = seat.later(chrono::Duration::days(1));
    seat.sees("1 check due (r)").press("r c").sees("FAILED, 3 °C off (AK, 04 Jul); due today");
}

#[test]
fn a_check_of_ones_own_is_kept_changed_and_put_out_of_use() {
    let mut seat = morning();
    seat.press("r c z z").type_in("door seals").press("Enter").type_in("0").press("C-s");
    seat.sees("1 to 1000")
        .press("Backspace")
        .type_in("14")
        .press("C-s")
        .sees("door seals: checked every 14 d from now on.");
    seat.press("r c a d").sees("A check of the room").press("Tab Backspace Backspace").type_in("21").press("C-s");
    seat.sees("door seals: saved.").press("r c a d Tab Tab Tab Tab n C-s").sees("door seals: saved.");
    seat.press("r").sees("none is kept yet");
}

#[test]
fn sums_are_worked_out_as_they_are_typed_and_never_written() {
    let mut seat = morning();
    let before = seat.session.store.newest_entry().unwrap();
    seat.press("r a")
        .sees("Ctrl+S saves nothing")
        .press("24 Tab 80")
        .sees("Enter saves nothing")
        .sees("Dew point 20.3 °C")
        .sees("Drying power 0.60 kPa")
        .press("Enter");
    seat.sees("Nothing is written here").press("Backspace Backspace 0").sees("0.1 to 100 %").press("Esc");
    seat.press("r l 304 Tab 16").sees("17.51 mol per m² and day").press("Esc");
    seat.press("r p 3 Tab 8")
        .sees("3 of 8, 38 % (14 to 69 %, few)")
        .press("Backspace 2")
        .sees("3 of 2 is more than all");
    seat.press("Esc");
    assert_eq!(seat.session.store.newest_entry().unwrap(), before);
}
