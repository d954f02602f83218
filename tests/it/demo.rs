//! The demo room: believable, the same every time, and nothing in it that the book would refuse a person.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::collections::{BTreeSet, HashSet};

use rackwalk::demo::{Demo, build};
use rackwalk::domain::board::Board;
use rackwalk::domain::history::Of;
use rackwalk::domain::room::Zone;
use rackwalk::domain::seed_lot::Treated;
use rackwalk::domain::time::{Day, Now};
use rackwalk::domain::tray::{Sign, Stage};

use crate::book::{Book, at};

fn demo(weeks: u32, trays: u32) -> Demo {
    Demo { weeks, trays, ..Demo::default() }
}

fn built(demo: &Demo, now: Now) -> Book {
    let mut book = Book::empty();
    build(&mut book.store, demo, now, |_, _| {}).unwrap();
    book.now = now;
    book
}

fn head(book: &Book) -> (i64, Option<i64>, String) {
    let chain = book.store.verify_chain(|_| {}).unwrap();
    (chain.entries, chain.broken_at, chain.head)
}

/// Every tray in its zone, and no place twice.
fn stands_right(board: &Board) {
    let places: HashSet<_> = board.trays.iter().map(|tray| tray.place.id).collect();
    assert_eq!(places.len(), board.trays.len(), "a place twice");
    for tray in &board.trays {
        let right = match tray.stage {
            Stage::Covered => tray.place.zone == Zone::Covered,
            _ => tray.place.zone == Zone::Lit,
        };
        assert!(right || tray.suspect && tray.place.zone == Zone::Isolation, "{} {:?}", tray.code(), tray.place);
    }
}

/// Shown at noon: the demo treats nothing, so its signs do not change within a day.
fn count(board: &Board, sign: Sign, today: Day) -> usize {
    board.count(sign, Now(today.and_hms_opt(12, 0, 0).unwrap().and_utc().fixed_offset()))
}

#[test]
fn three_hundred_trays_make_a_room_with_something_to_do() {
    let now = at("2026-07-15T06:20");
    let today = now.day();
    let mut book = built(&demo(4, 75), now);
    let (entries, broken, _) = head(&book);
    assert_eq!(broken, None);
    assert_eq!(book.store.rebuild().unwrap(), 0);
    assert_eq!(book.store.integrity().unwrap(), Vec::<String>::new());

    let board = book.board();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("North Bench", "NB"));
    stands_right(&board);
    // 300 in the history and the two sown this morning
    assert_eq!(book.store.history(Of::Everything, None, u32::MAX).unwrap().len(), usize::try_from(entries).unwrap());
    let sown: i64 = sowings(&book, entries).iter().map(|line| line.trays).sum();
    assert_eq!(sown, 302);

    assert!((1..=3).contains(&count(&board, Sign::Suspect, today)));
    assert_eq!(count(&board, Sign::Late, today), 2);
    assert_eq!(count(&board, Sign::New, today), 2);
    assert!(count(&board, Sign::Ready, today) >= 1);
    assert!(count(&board, Sign::Looked, today) >= 1);
    assert!(!board.free_places().is_empty());
    assert!(board.trays.iter().filter(|tray| tray.ready(today)).count() >= 3);
    assert!(board.trays.iter().any(|tray| tray.sown == today.pred_opt().unwrap()));
    let crops: BTreeSet<&str> = board.trays.iter().map(|tray| tray.letters.as_str()).collect();
    assert!((8..=10).contains(&crops.len()), "{crops:?}");
}

/// Every batch of the book.
fn sowings(book: &Book, most: i64) -> Vec<rackwalk::domain::timeline::Timeline> {
    let ids = (1..=most).map(rackwalk::domain::id::SowingId);
    ids.map_while(|id| book.store.timeline(id).ok()).collect()
}

#[test]
fn todays_walk_is_not_begun_and_yesterdays_is_all_but_done() {
    let now = at("2026-07-15T06:20");
    let book = built(&demo(3, 40), now);
    let board = book.board();
    let (today, yesterday) = (now.day(), now.day().pred_opt().unwrap());
    assert!(book.store.newest_walk(today).unwrap().is_none());
    let due = board.trays.iter().filter(|tray| tray.look_due(today)).count();
    assert!(due * 10 >= board.trays.len() * 8, "{due} of {}", board.trays.len());
    let walked = book.store.newest_walk(yesterday).unwrap().unwrap();
    for tray in board.trays.iter().filter(|tray| tray.sown < yesterday && !tray.look_late(today)) {
        assert!(walked.visited(tray.id), "{}", tray.code());
    }
    let minutes = walked.pace().unwrap().0 / 60;
    assert!((10..=120).contains(&minutes), "{minutes} minutes");
}

#[test]
fn history_has_its_ups_and_downs() {
    let now = at("2026-07-15T06:20");
    let book = built(&Demo::default(), now);
    let history = book.store.history(Of::Everything, None, u32::MAX).unwrap();
    let of = |kind: &str| history.iter().filter(|line| line.kind == kind).collect::<Vec<_>>();
    assert!(of("undo").len() >= 2 && of("undo").len() <= 4, "{}", of("undo").len());
    assert!(of("seed_counted").len() == 1);
    assert!(of("thrown").iter().any(|line| line.text.contains("mould")));
    assert!(of("thrown").iter().any(|line| line.text.contains("germination")));
    let looks = of("look");
    assert!(looks.iter().filter(|line| line.text.contains("in one glance along the shelf")).count() >= 50);
    for word in ["lies down", "stands when misted", "not misted", "pH", "dry mat"] {
        assert!(looks.iter().any(|line| line.text.contains(word)), "no look says {word}");
    }
    assert!(looks.iter().any(|line| line.note.is_some()));
    let hands: BTreeSet<&str> = history.iter().map(|line| line.who.as_str()).collect();
    assert_eq!(hands, BTreeSet::from(["AK", "JT", "RM"]));
    assert!(history.is_sorted_by(|newer, older| newer.at >= older.at), "an entry was written before an older one");
    assert!(history[0].at <= now.instant(), "nothing is written ahead of now");
    let walks: BTreeSet<Day> = of("walk_started").iter().map(|line| line.at.0.date_naive()).collect();
    assert_eq!(walks.len(), 28 - 3, "nothing was sown before the second day, a Thursday, and one Sunday nobody came");
}

#[test]
fn seed_runs_out_is_weak_not_stated_and_soon_to_be_used() {
    let now = at("2026-07-15T06:20");
    let book = built(&Demo::default(), now);
    let lots = book.store.seed_lots().unwrap();
    let of_radish = lots.iter().filter(|lot| lot.crop_name == "radish" && lot.treated == Treated::No).count();
    assert!(of_radish >= 2);
    assert!(lots.iter().any(|lot| lot.treated == Treated::NotStated && lot.left_mg == lot.received_mg));
    assert!(lots.iter().any(|lot| lot.germ_pm.is_some_and(|pm| pm < 750) && lot.left_mg < lot.received_mg));
    assert!(lots.iter().any(|lot| lot.left_mg == 0));
    let near = now.day() + chrono::Duration::days(30);
    assert!(lots.iter().any(|lot| lot.left_mg > 0 && lot.use_by.is_some_and(|day| day <= near)));
    let mixed = sowings(&book, 1000).into_iter().filter(|batch| batch.seed.len() == 2);
    assert!(mixed.count() >= 1, "no tray was sown from two lots");
}

#[test]
fn the_same_demo_is_the_same_book_and_another_seed_another() {
    let now = at("2026-07-15T06:20");
    let small = demo(2, 20);
    assert_eq!(head(&built(&small, now)), head(&built(&small, now)));
    assert_ne!(head(&built(&small, now)).2, head(&built(&Demo { seed: 8, ..small }, now)).2);
}

#[test]
fn any_weekday_and_hour_opens_on_a_room_with_every_sign() {
    for (n, now) in (0..).zip([
        "2026-07-13T00:00",
        "2026-07-14T00:05",
        "2026-07-15T05:00",
        "2026-07-16T08:59",
        "2026-07-17T12:00",
        "2026-07-18T18:30",
        "2026-07-19T23:59",
    ]) {
        let now = at(now);
        let today = now.day();
        let book = built(&Demo { weeks: 3, trays: 40, seed: n }, now);
        let board = book.board();
        stands_right(&board);
        for sign in
            Sign::ALL.iter().filter(|sign| !matches!(sign, Sign::Held | Sign::Waiting | Sign::ToClean | Sign::Empty))
        {
            assert!(count(&board, *sign, today) > 0, "{now:?} shows no {}", sign.shown());
        }
        assert!(!board.free_places().is_empty());
        let newest = book.store.history(Of::Everything, None, 1).unwrap();
        assert!(newest[0].at <= now.instant());
    }
}

#[test]
fn sizes_out_of_range_are_refused_and_nothing_is_written() {
    for wrong in [demo(0, 40), demo(4, 0), demo(105, 40), demo(4, 2501)] {
        let mut book = Book::empty();
        assert!(build(&mut book.store, &wrong, at("2026-07-15T06:20"), |_, _| {}).is_err(), "{wrong:?}");
        assert!(book.store.is_empty().unwrap());
    }
}

#[test]
fn progress_counts_days_to_the_end() {
    let mut heard = Vec::new();
    let mut book = Book::empty();
    build(&mut book.store, &demo(1, 4), at("2026-07-15T06:20"), |done, total| heard.push((done, total))).unwrap();
    assert_eq!(heard, (1..=7).map(|done| (done, 7)).collect::<Vec<_>>());
}
