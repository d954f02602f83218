//! The week reviewed, by keys: from the sentence to the tray, other days, marks, baselines, signatures.

use chrono::Duration;
use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use rackwalk::domain::id::TrayId;
use rackwalk::domain::tray::{Gear, LossReason, Stage};

use super::Seat;
use crate::book::Book;

/// Radish from two seed lots for three weeks, the second one weaker, one tray lost on the way; on the Monday after.
pub fn reviewed() -> Book {
    let mut book = Book::of_racks("3x4x6");
    book.later(Duration::days(5));
    let radish = book.store.crops().unwrap().into_iter().find(|crop| crop.letters == "RAD").unwrap();
    book.act(&Action::EditCrop(Box::new(EditCrop { allergen: "no".into(), ..EditCrop::of(radish) })));
    let lots = [book.seed("RAD", 9000), book.seed("RAD", 9000)];
    for week in 0..3 {
        let sown: Vec<Vec<TrayId>> = lots.iter().map(|lot| book.sow("RAD", *lot, 4)).collect();
        for tray in sown.iter().flatten() {
            book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
        }
        book.later(Duration::weeks(1));
        let with = "soap".into();
        let check = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed: None };
        book.act(&Action::CheckCut(Box::new(check)));
        for (weaker, trays) in [0, 55].into_iter().zip(&sown) {
            let grams = [231, 238 + week, 242, 249 - week];
            let lost = usize::from(week == 1 && weaker > 0);
            let cuts = trays.iter().zip(grams).skip(lost);
            let cuts = cuts.map(|(tray, grams)| CutTray { tray: *tray, mats: None, grams: Some(grams - weaker) });
            let sure = vec!["harvest_early", "harvest_late", "harvest_grams"];
            let new = NewHarvest { cuts: cuts.collect(), grams: None, again: false, tools: vec![], sure };
            book.act(&Action::Harvest(Box::new(new)));
            if lost > 0 {
                let throw = Action::Throw {
                    walk: None,
                    tray: trays[0],
                    reason: LossReason::FellOver,
                    gear: Gear::Binned,
                    cleanup: None,
                    note: None,
                };
                book.act(&throw);
            }
        }
    }
    // the last harvest was on Monday 27 July: its week is over
    book.later(Duration::weeks(1));
    book
}

fn seat() -> Seat {
    Seat::at(reviewed())
}

/// The same for a screen that is shown.
pub fn opened(seat: &mut Seat, keys: &str) {
    *seat = Seat::at(reviewed());
    seat.press(keys);
}

#[test]
fn one_key_shows_five_sentences_and_each_opens_down_to_the_trays() {
    let mut seat = seat();
    seat.press("-");
    let shown = seat.text();
    assert!(shown.contains("Week 2026-W31, 2026-07-27 to 2026-08-02"), "{shown}");
    assert!(shown.contains("8 trays cut gave"), "{shown}");
    // wherever the rows break
    let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("worth a planned trial") && words.contains("(Of all since 2026-07-01.)"), "{shown}");
    assert!(shown.contains("Nobody who may decide has signed these days yet."));
    // from the first sentence: crops, the crop, its first weight, the tray's story
    seat.press("Enter Enter");
    assert!(seat.text().contains("radish") && seat.text().contains("Cut: 8 trays"), "{}", seat.text());
    seat.press("Down Enter");
    assert!(seat.text().contains("T0017"), "{}", seat.text());
    seat.press("Enter");
    assert!(seat.text().contains("Tray T0017"), "{}", seat.text());
    seat.press("Esc Esc Esc");
    assert!(seat.text().contains("8 trays cut gave"), "{}", seat.text());
    seat.press("Esc");
    assert!(!seat.text().contains("Week 2026-W31"), "back in the room");
}

#[test]
fn other_weeks_and_days_of_ones_own_are_asked_for_by_keys() {
    let mut seat = seat();
    seat.press("- Left");
    assert!(seat.text().contains("2026-W30"), "{}", seat.text());
    seat.press("Right Right");
    assert!(seat.text().contains("2026-W32"), "the running week");
    seat.press("Right");
    assert!(seat.text().contains("nothing after today"), "{}", seat.text());
    seat.press("w C-n");
    seat.type_in("2026-07-06..2026-07-26");
    seat.press("C-s");
    assert!(seat.text().contains("2026-07-06 to 2026-07-26"), "{}", seat.text());
    seat.press("w C-n");
    seat.type_in("2026-W99");
    seat.press("C-s");
    assert!(seat.text().contains("is no week"), "{}", seat.text());
    seat.press("Esc Left Left Left Left");
    assert!(seat.text().contains("The book begins on"), "{}", seat.text());
}

#[test]
fn a_weight_is_marked_and_a_baseline_moved_where_they_are_seen() {
    let mut seat = seat();
    seat.press("- m");
    assert!(seat.text().contains("Go to the line of a weight first"), "{}", seat.text());
    seat.press("c Enter Down Down Down Down Down Down Down m");
    assert!(seat.text().contains("is not right"), "{}", seat.text());
    seat.type_in("scale was not zeroed");
    seat.press("C-s");
    assert!(seat.text().contains("Without what is marked"), "{}", seat.text());
    let under: Vec<String> = seat.text().lines().filter(|line| line.starts_with('>')).map(String::from).collect();
    assert!(under.len() == 1 && under[0].contains("marked as not right"), "on the weight still: {under:?}");
    seat.press("b");
    assert!(seat.text().contains("What radish is held against"), "{}", seat.text());
    seat.press("C-s");
    assert!(seat.text().contains("Say in a few words") || seat.text().contains("why these"), "{}", seat.text());
    seat.press("Tab Tab");
    seat.type_in("new lamps since May");
    seat.press("C-s");
    assert!(seat.text().contains("is held against"), "{}", seat.text());
    seat.press("u");
    assert!(seat.text().contains("Taken back"), "{}", seat.text());
}

#[test]
fn the_week_is_signed_by_who_may_decide_with_the_hash_of_the_log() {
    let mut seat = seat();
    seat.press("- x");
    assert!(seat.text().contains("2026-07-27") && seat.text().contains("2026-08-02"), "{}", seat.text());
    seat.press("C-s");
    let shown = seat.text();
    assert!(shown.contains("Signed by AK up to entry") && shown.contains("nothing changed since"), "{shown}");
}

#[test]
fn the_page_is_written_beside_the_book_and_pictures_fit_the_screen() {
    let mut seat = seat();
    seat.press("- p");
    assert!(seat.text().contains("Grams a tray, by crop"), "{}", seat.text());
    seat.press("z");
    assert!(seat.text().contains("week-2026-W31.html"), "{}", seat.text());
    for key in ["l", "s", "t", "o", "v", "c"] {
        seat.press(key);
        assert!(seat.text().contains("2026-W31"), "{key}: {}", seat.text());
    }
}
