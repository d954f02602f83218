//! Packs that were held back and scored, and the figures that come of it for their crop.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway, Rules};
use rackwalk::domain::delivery::NewReturn;
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{LotId, StoreId};
use rackwalk::domain::packing::{Draw, NewRun};
use rackwalk::domain::round::{How, Kind as RoundKind, Settled, Settling};
use rackwalk::domain::score::{NewScore, Proposal, Says, Scores, Why};
use rackwalk::domain::stock::{Away, BackDecision, CameBack, NewMove};

use super::sold::{Shop, shop};
use super::{act_as, assert_sound, crop, number, person, raw};
use crate::book::{AK, Book};

/// The rules met here.
pub(super) const MET: &[&str] =
    &["score_sample", "score_range", "score_packs", "score_future", "score_order", "score_rises", "refit_stale"];

fn sample(lot: LotId) -> Action {
    Action::MoveStock(Box::new(NewMove { lot, away: Away::Sample, amount: 1, reason: String::new() }))
}

fn new(book: &Book, lot: LotId, score: i64) -> NewScore {
    NewScore { lot, packs: 1, score, at: book.now.instant(), sure: vec![] }
}

fn score(book: &Book, lot: LotId, score: i64) -> Action {
    Action::Score(Box::new(new(book, lot, score)))
}

/// Where nothing was measured, it was so warm.
fn bench(book: &mut Book, bench_dc: Option<i64>, rev: i64) {
    let rules = Rules { bench_dc, ..Rules::default() };
    book.act(&Action::EditColdRules { rules: Box::new(rules), rev });
}

fn scores(book: &Book) -> Scores {
    book.store.scores(book.now).unwrap()
}

fn of(book: &Book, letters: &str) -> Proposal {
    scores(book).proposal(crop(book, letters).id).unwrap().clone()
}

fn take(proposal: &Proposal) -> Action {
    Action::RefitAnchors {
        crop: proposal.crop,
        anchors: proposal.fit().unwrap().anchors,
        lots: proposal.used(),
        packs: proposal.packs(),
        rev: proposal.rev,
    }
}

/// A shop at 5 °C throughout, with a kept pack of radish that scored 7 after four days and 4 after six: it fell below 5 after
/// 96 h + 2/3 · 48 h = 128 h.
fn scored() -> Shop {
    let mut s = shop();
    bench(&mut s.book, Some(50), 0);
    let radish = s.radish;
    s.book.act(&sample(radish));
    for (days, n) in [(4, 7), (2, 4)] {
        s.book.later(Duration::days(days));
        let action = score(&s.book, radish, n);
        s.book.act(&action);
    }
    s
}

/// What is left of the radish in its tub.
fn tub(s: &Shop) -> LotId {
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    goods.lots.iter().find(|lot| lot.crop.is_some() && lot.name == "radish").unwrap().id
}

#[test]
fn scores_are_refused_with_a_sentence() {
    let mut s = shop();
    let radish = s.radish;
    let first = new(&s.book, radish, 9);
    let with = |change: &dyn Fn(&mut NewScore)| {
        let mut new = first.clone();
        change(&mut new);
        Action::Score(Box::new(new))
    };
    s.bars("lot_unknown", &with(&|new| new.lot = LotId(99)));
    s.bars("score_sample", &with(&|_| ()));
    s.book.act(&sample(radish));
    for n in [0, 10] {
        s.bars("score_range", &with(&|new| new.score = n));
    }
    for n in [0, 2] {
        s.bars("score_packs", &with(&|new| new.packs = n));
    }
    let minute = |s: &Shop, by| s.book.now.plus(Duration::minutes(by)).instant();
    let (soon, early) = (minute(&s, 1), minute(&s, -1));
    s.bars("score_future", &with(&|new| new.at = soon));
    s.bars("score_order", &with(&|new| new.at = early));
    s.book.later(Duration::days(3));
    let seven = score(&s.book, radish, 7);
    s.book.act(&seven);
    s.bars("score_order", &seven);
    s.bars("score_order", &with(&|_| ()));
    s.book.later(Duration::days(1));
    // what is limp does not get better: asked once
    let risen = new(&s.book, radish, 8);
    let refusal = s.book.refused(&Action::Score(Box::new(risen.clone())));
    assert_eq!((refusal.rule, refusal.asks, refusal.field), ("score_rises", true, Some("score")));
    s.book.act(&Action::Score(Box::new(NewScore { sure: vec!["score_rises"], ..risen })));
    let told: Vec<i64> = scores(&s.book).sample(radish).unwrap().scores.iter().map(|one| one.score).collect();
    assert_eq!(told, [7, 8]);
    assert_sound(&mut s.book);
}

#[test]
fn figures_follow_the_packs_only_when_someone_takes_them_and_go_back() {
    let mut s = scored();
    let old = crop(&s.book, "RAD").anchors;
    let proposal = of(&s.book, "RAD");
    // 128 h at 5 °C of the life there
    let life = rackwalk::domain::keeping::life_h(&old, 5.0).unwrap();
    let Says::Share { share, gap } = proposal.lots[0].says else { panic!("{proposal:?}") };
    assert!((share - 128.0 / life).abs() < 1e-9 && !gap, "{share} of {life}");
    assert_eq!((proposal.used(), proposal.packs(), proposal.few(), &proposal.old), (1, 1, true, &old));
    assert_eq!(crop(&s.book, "RAD").anchors, old, "a proposal changes nothing");
    let fit = proposal.fit().unwrap();
    #[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "hours")]
    let worked_out: Vec<(i64, i64)> =
        old.iter().map(|(dc, h)| (*dc, (*h as f64 * 128.0 / life).round() as i64)).collect();
    assert_eq!(fit.anchors, worked_out);
    let said = s.book.act(&take(&proposal)).sentence;
    assert!(said.contains("by 1 pack of 1 lot, few"), "{said}");
    assert_eq!(crop(&s.book, "RAD").anchors, fit.anchors);
    let source: String = raw(&s.book.path)
        .query_row("SELECT source FROM anchor_set ORDER BY id DESC LIMIT 1", [], |row| row.get(0))
        .unwrap();
    let day = s.book.now.day();
    assert_eq!(source, format!("own packs: 1 pack of 1 lot, times {:.3}, {day}", fit.factor));
    // by the new figures it kept as they say, up to whole hours
    let again = of(&s.book, "RAD");
    assert!((again.fit().unwrap().factor - 1.0).abs() < 0.01, "{again:?}");
    let told = |s: &Shop, of| s.book.store.history(of, None, 9).unwrap();
    let story = told(&s, Of::Record(Record::Crop, proposal.crop.0));
    assert_eq!(story[0].kind, "refitted");
    let (dc, hours) = (old[0], fit.anchors[0].1);
    let text = format!("keeps {hours} h at {:.1} °C", f64::from(i32::try_from(dc.0).unwrap()) / 10.0);
    assert!(story[0].text.contains(&text) && story[0].text.contains(&format!("instead of {} h", dc.1)), "{story:?}");
    let lot = told(&s, Of::Lot(s.radish));
    let words = lot.iter().filter(|line| line.kind == "scored").map(|line| line.words(s.book.now)).collect::<Vec<_>>();
    assert_eq!(words.len(), 2);
    assert!(
        words[0].contains("1 pack held back, 4 of 9, limp or yellow, not sold, looked at 17 Jul 2026"),
        "{words:?}"
    );
    assert_sound(&mut s.book);
    s.book.act(&Action::Undo);
    assert_eq!(crop(&s.book, "RAD").anchors, old);
    let back = of(&s.book, "RAD");
    assert_eq!((back.fit().unwrap(), &back.lots), (fit, &proposal.lots), "the same comes of it again");
    s.book.act(&Action::Undo);
    assert_eq!(of(&s.book, "RAD").lots[0].says, Says::Still, "the second score was taken back");
    assert_sound(&mut s.book);
}

#[test]
fn a_proposal_is_taken_only_as_it_was_seen() {
    let mut s = scored();
    let proposal = of(&s.book, "RAD");
    let wrong = |change: &dyn Fn(&mut Proposal)| {
        let mut other = proposal.clone();
        change(&mut other);
        take(&other)
    };
    s.bars("refit_stale", &wrong(&|other| other.lots[0].packs = 2));
    s.bars("refit_stale", &wrong(&|other| other.old[0].1 += 24));
    s.bars("stale", &wrong(&|other| other.rev += 1));
    s.bars(
        "refit_stale",
        &wrong(&|other| (other.crop, other.rev) = (crop(&s.book, "PEA").id, crop(&s.book, "PEA").rev)),
    );
    // it turns out that it was warmer
    bench(&mut s.book, Some(90), 1);
    s.bars("refit_stale", &take(&proposal));
    s.book.act(&take(&of(&s.book, "RAD")));
    // taken over and over, the figures come to rest
    for _ in 0..3 {
        let now = of(&s.book, "RAD");
        if now.fit().unwrap().anchors == now.old {
            s.bars("no_change", &take(&now));
            return;
        }
        s.book.act(&take(&now));
    }
    panic!("they never come to rest");
}

#[test]
fn lots_without_a_figure_are_left_out_and_said() {
    let mut s = shop();
    let (pea, red, shoots, radish) = (s.pea, tub(&s), s.shoots, s.radish);
    bench(&mut s.book, Some(50), 0);
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    let product = goods.products.iter().find(|product| product.name.starts_with("two")).unwrap().id;
    let draws = vec![Draw { lot: pea, grams: 96, packs: None }, Draw { lot: red, grams: 64, packs: None }];
    let run = NewRun {
        product,
        draws,
        packs: 2,
        pack_g: 80,
        trim_g: 0,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec![],
        packaging: None,
        sure: vec![],
    };
    let blend = LotId(s.book.act(&Action::Pack(Box::new(run))).made.unwrap());
    for lot in [radish, shoots, blend] {
        s.book.act(&sample(lot));
    }
    // the peas are never below 5
    for (radish_is, peas_are) in [(9, 6), (7, 6), (4, 5)] {
        s.book.later(Duration::days(2));
        for (lot, n) in [(radish, radish_is), (shoots, peas_are)] {
            let action = score(&s.book, lot, n);
            s.book.act(&action);
        }
    }
    let still = of(&s.book, "PEA");
    assert_eq!((still.used(), still.still(), still.fit().is_err()), (0, 1, true));
    // of two crops
    let action = score(&s.book, blend, 2);
    s.book.act(&action);
    for letters in ["PEA", "RAD"] {
        let why: Vec<Why> = of(&s.book, letters).left_out().map(|(_, why)| why).collect();
        assert_eq!(why, [Why::Several], "{letters}");
    }
    assert_eq!(of(&s.book, "RAD").used(), 1, "the other lot still counts");
    // nobody knows how warm it was
    bench(&mut s.book, None, 1);
    let says = |s: &Shop, lot: LotId| of(&s.book, "RAD").lots.iter().find(|told| told.lot == lot).unwrap().says;
    assert_eq!(says(&s, radish), Says::Nothing(Why::Unknown));
    bench(&mut s.book, Some(-10), 2);
    assert_eq!(says(&s, radish), Says::Nothing(Why::Freezing));
    assert!(of(&s.book, "RAD").fit().is_err());
    assert_sound(&mut s.book);
}

#[test]
fn packs_that_were_away_tell_nothing() {
    let mut s = shop();
    bench(&mut s.book, Some(50), 0);
    let (radish, shoots) = (s.radish, s.shoots);
    let delivery = s.deliver(&[(shoots, 2)]);
    let back = NewReturn { delivery, lot: shoots, packs: 2, what: CameBack::Sample, reason: "limp".into() };
    s.book.act(&Action::Return(Box::new(back)));
    s.book.act(&sample(radish));
    let round = s.load(RoundKind::Stall, &[(radish, 3)]);
    s.book.later(Duration::hours(2));
    let how = How::BroughtBack(BackDecision { temp_dc: 40, out_min: 120, by: AK });
    let lines = vec![Settled { lot: radish, packs: 3, how }];
    s.book.act(&Action::SettleRound(Box::new(Settling { round, lines })));
    s.book.later(Duration::days(5));
    // what came back is held back too: both packs of it
    s.book.act(&Action::Score(Box::new(NewScore { packs: 2, ..new(&s.book, shoots, 3) })));
    let action = score(&s.book, radish, 3);
    s.book.act(&action);
    for (letters, why) in [("PEA", Why::CameBack), ("RAD", Why::BroughtBack)] {
        assert_eq!(of(&s.book, letters).left_out().map(|(_, why)| why).collect::<Vec<_>>(), [why]);
    }
    assert_sound(&mut s.book);
}

#[test]
fn a_share_goes_by_the_store_it_lay_in_and_gaps_are_said() {
    let mut s = shop();
    bench(&mut s.book, Some(50), 0);
    let radish = s.radish;
    let kept = NewStore { name: "Walk-in".into(), limits: Limits { gap_min: 1440, ..Limits::default() } };
    let store = StoreId(s.book.act(&Action::AddStore(Box::new(kept))).made.unwrap());
    s.book.later(Duration::hours(1));
    let at = s.book.now.instant();
    s.book.act(&Action::PutAway(Box::new(PutAway { lots: vec![radish], store: Some(store), at, out_dc: Some(200) })));
    s.book.act(&sample(radish));
    let rates = rackwalk::domain::keeping::Rates::of(&crop(&s.book, "RAD").anchors, false).unwrap();
    let share = |s: &Shop| match of(&s.book, "RAD").lots[0].says {
        Says::Share { share, gap } => Ok((share, gap)),
        other => Err(other),
    };
    s.book.later(Duration::days(6));
    // 4 of 6 points: 8/9 of 145 h
    let early = NewScore { at: s.book.now.plus(-Duration::hours(1)).instant(), ..new(&s.book, radish, 3) };
    s.book.act(&Action::Score(Box::new(early)));
    assert_eq!(share(&s), Err(Says::Nothing(Why::NoRecord)));
    let read = |hours_ago: i64, temp_dc: i64| {
        let at = s.book.now.plus(-Duration::hours(hours_ago)).instant();
        Action::ReadCold(Box::new(HandReading {
            store,
            at,
            temp_dc,
            thermometer: "probe".into(),
            measured: Measured::Air,
        }))
    };
    let readings: Vec<Action> = (0..=6).map(|day| read(144 - 24 * day, if day == 1 { 80 } else { 40 })).collect();
    for reading in &readings {
        s.book.act(reading);
    }
    // an hour at 20 °C, a day at 8 °C, the rest of 2/3 · 144 h = 96 h at 4 °C
    let expected = 1.0 / rates.life_h(200) + 24.0 / rates.life_h(80) + 71.0 / rates.life_h(40);
    let (told, gap) = share(&s).unwrap();
    assert!((told - expected).abs() < 1e-9 && !gap, "{told} {expected}");
    assert_eq!(of(&s.book, "RAD").gaps(), 0);
    // with stricter limits the same readings leave gaps
    let limits = Limits { gap_min: 60, ..Limits::default() };
    let strict = Box::new(NewStore { name: "Walk-in".into(), limits });
    s.book.act(&Action::EditStore { store, new: strict, retired: false, rev: 0 });
    assert!(share(&s).unwrap().1 && of(&s.book, "RAD").gaps() == 1);
    assert_sound(&mut s.book);
}

#[test]
fn another_code_keeps_where_the_lot_lay_and_its_scores() {
    let mut s = shop();
    let (shoots, of) = (s.shoots, s.shoots_of);
    let other = person(&mut s.book, "JT", true);
    let kept = NewStore { name: "Walk-in".into(), limits: Limits::default() };
    let store = StoreId(s.book.act(&Action::AddStore(Box::new(kept))).made.unwrap());
    s.book.later(Duration::minutes(30));
    let at = s.book.now.instant();
    let put = PutAway { lots: vec![shoots], store: Some(store), at, out_dc: Some(200) };
    act_as(&mut s.book, other, &Action::PutAway(Box::new(put)));
    let before = s.book.store.cold(s.book.now, None).unwrap().lot(shoots).unwrap().clone();
    s.book.act(&sample(shoots));
    s.book.later(Duration::days(1));
    let action = score(&s.book, shoots, 8);
    act_as(&mut s.book, other, &action);
    // with a pack of it apart it keeps its code; the sample goes back, the score stays
    s.book.now = s.book.now.plus(-Duration::days(1));
    s.book.act(&Action::Undo);
    s.book.later(Duration::days(1));
    let again = Action::Reissue { lot: shoots, product: of, reason: "smudged".into() };
    let named = LotId(s.book.act(&again).made.unwrap());
    assert_ne!(named, shoots);
    let cold = s.book.store.cold(s.book.now, None).unwrap();
    let after = cold.lot(named).unwrap();
    assert_eq!((after.store, after.since_s, &after.ways), (Some(store), at.0.timestamp(), &before.ways));
    let told = scores(&s.book);
    assert_eq!(told.sample(named).unwrap().scores.iter().map(|one| one.score).collect::<Vec<_>>(), [8]);
    assert!(told.sample(shoots).is_none());
    assert_eq!(super::score::of(&s.book, "PEA").left_out().next().unwrap().1, Why::NoSample);
    let live = |table: &str| format!("SELECT count(*) FROM {table} WHERE void_by IS NULL");
    let conn = raw(&s.book.path);
    assert_eq!((number(&conn, &live("stay")), number(&conn, &live("score"))), (1, 1), "once each");
    assert_sound(&mut s.book);
}

#[test]
fn an_empty_book_and_equal_scores_come_to_nothing() {
    let book = Book::room();
    assert_eq!(scores(&book), Scores::default());
    let mut s = shop();
    assert_eq!(scores(&s.book), Scores::default(), "nothing was held back");
    bench(&mut s.book, Some(50), 0);
    let lots = [s.radish, s.shoots];
    for lot in lots {
        s.book.act(&sample(lot));
    }
    assert_eq!((scores(&s.book).samples.len(), scores(&s.book).proposals.len()), (2, 0), "not scored yet");
    for _ in 0..4 {
        s.book.later(Duration::days(2));
        for lot in lots {
            let action = score(&s.book, lot, 5);
            s.book.act(&action);
        }
    }
    for letters in ["RAD", "PEA"] {
        let proposal = of(&s.book, letters);
        assert_eq!((proposal.used(), proposal.still(), proposal.packs()), (0, 1, 0));
        assert!(proposal.fit().unwrap_err().contains("go on scoring"));
    }
}
