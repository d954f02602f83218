//! Over any sequence of runs, movements, rounds, returns and undos: what was made is the sum of where it is, by another way
//! of counting than the store's.

use std::collections::BTreeMap;

use proptest::prelude::*;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::EntryLine;
use rackwalk::domain::stock::Account;

use super::*;

#[derive(Debug, Clone)]
enum Step {
    Pack(i64),
    Mix(i64),
    Away(usize, usize, i64),
    Count(usize, i64),
    Deliver(usize, i64),
    Load(usize, i64),
    Settle(usize, i64),
    Return(usize, i64),
    Undo,
    /// The newest entry never happened.
    Never,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        (1i64..6).prop_map(Step::Pack),
        (1i64..4).prop_map(Step::Mix),
        (0usize..9, 0usize..3, 1i64..6).prop_map(|(lot, away, n)| Step::Away(lot, away, n)),
        (0usize..9, 0i64..9).prop_map(|(lot, n)| Step::Count(lot, n)),
        (0usize..9, 1i64..6).prop_map(|(lot, n)| Step::Deliver(lot, n)),
        (0usize..9, 1i64..6).prop_map(|(lot, n)| Step::Load(lot, n)),
        (0usize..6, 1i64..4).prop_map(|(how, n)| Step::Settle(how, n)),
        (0usize..3, 1i64..3).prop_map(|(what, n)| Step::Return(what, n)),
        Just(Step::Undo),
        Just(Step::Undo),
        Just(Step::Never),
    ]
}

/// Where everything of each lot is, kept by hand; and what stood there before each entry.
#[derive(Clone, Default)]
struct Truth {
    lots: BTreeMap<LotId, Account>,
    /// Packs on the one round, and packs of the last delivery, by lot.
    round: Option<(RoundId, BTreeMap<LotId, i64>)>,
    delivered: Option<(DeliveryId, LotId, i64)>,
}

fn nth(truth: &Truth, packs: bool, n: usize, s: &Shop) -> Option<LotId> {
    let of: Vec<LotId> = truth.lots.keys().copied().filter(|lot| (*lot != s.pea && lot.0 != 2) == packs).collect();
    of.get(n % of.len().max(1)).copied()
}

/// The action of a step and what it changes in the truth; the made lot comes with the answer.
type Change = Box<dyn Fn(&mut Truth, Option<i64>)>;

fn at(truth: &mut Truth, lot: LotId) -> &mut Account {
    truth.lots.entry(lot).or_default()
}

fn plan(step: &Step, truth: &Truth, s: &Shop) -> Option<(Action, Change)> {
    Some(match *step {
        Step::Pack(packs) => {
            let pea = s.pea;
            (
                pack(s.shoots_of, pea, packs, 20),
                Box::new(move |truth, made| {
                    let tub = at(truth, pea);
                    (tub.on_hand, tub.drawn) = (tub.on_hand - packs * 20, tub.drawn + packs * 20);
                    *at(truth, LotId(made.unwrap())) = Account { made: packs, on_hand: packs, ..Account::default() };
                }),
            )
        }
        Step::Mix(opened) => {
            let from = s.shoots;
            let draws = vec![Draw { lot: from, grams: opened * 100, packs: Some(opened) }];
            let product = product(&s.book, "two");
            let sure = vec!["pack_parts"];
            let new = NewRun {
                product,
                draws,
                packs: opened,
                pack_g: 100,
                trim_g: 0,
                waste_g: 0,
                best_before: None,
                store: None,
                tools: vec![],
                packaging: None,
                sure,
            };
            (
                Action::Pack(Box::new(new)),
                Box::new(move |truth, made| {
                    let lot = at(truth, from);
                    (lot.on_hand, lot.drawn) = (lot.on_hand - opened, lot.drawn + opened);
                    *at(truth, LotId(made.unwrap())) = Account { made: opened, on_hand: opened, ..Account::default() };
                }),
            )
        }
        Step::Away(n, away, amount) => {
            let lot = nth(truth, n % 2 == 0, n, s)?;
            let what = Away::ALL[away];
            (
                gone(lot, what, amount, "x"),
                Box::new(move |truth, _| {
                    let lot = at(truth, lot);
                    lot.on_hand -= amount;
                    match what {
                        Away::Waste => lot.wasted += amount,
                        Away::Sample => lot.sampled += amount,
                        Away::Given => lot.given += amount,
                    }
                }),
            )
        }
        Step::Count(n, counted) => {
            let lot = nth(truth, true, n, s)?;
            (
                Action::CountStock { lot, counted, reason: "x".into() },
                Box::new(move |truth, _| {
                    let lot = at(truth, lot);
                    lot.counted += counted - lot.on_hand;
                    lot.on_hand = counted;
                }),
            )
        }
        Step::Deliver(n, packs) => {
            let lot = nth(truth, true, n, s)?;
            (
                Action::Deliver(Box::new(s.delivery(&[(lot, packs)]))),
                Box::new(move |truth, made| {
                    let of = at(truth, lot);
                    (of.on_hand, of.with_customers) = (of.on_hand - packs, of.with_customers + packs);
                    truth.delivered = Some((DeliveryId(made.unwrap()), lot, packs));
                }),
            )
        }
        _ => return plan_round(step, truth, s),
    })
}

/// The same of rounds and what comes back.
fn plan_round(step: &Step, truth: &Truth, s: &Shop) -> Option<(Action, Change)> {
    Some(match *step {
        Step::Load(n, packs) => {
            let lot = nth(truth, true, n, s)?;
            let new = s.round(RoundKind::Stall, &[(lot, packs)]);
            (
                Action::LoadRound(Box::new(new)),
                Box::new(move |truth, made| {
                    let of = at(truth, lot);
                    (of.on_hand, of.on_the_way) = (of.on_hand - packs, of.on_the_way + packs);
                    truth.round = Some((RoundId(made.unwrap()), BTreeMap::from([(lot, packs)])));
                }),
            )
        }
        Step::Settle(how, packs) => {
            let (round, carries) = truth.round.clone()?;
            let lot = *carries.keys().next()?;
            let ways = [
                How::SoldPublic,
                How::Given { to: "x".into() },
                How::Binned { reason: "x".into() },
                How::BroughtBack(BackDecision { temp_dc: 30, out_min: 10, by: AK }),
                How::Delivered { customer: s.table, extra: false },
                How::Refused { customer: s.table, reason: "x".into() },
            ];
            (
                settled(round, lot, packs, ways[how].clone()),
                Box::new(move |truth, _| {
                    if how == 5 {
                        return;
                    }
                    let of = at(truth, lot);
                    of.on_the_way -= packs;
                    match how {
                        0 => of.sold_public += packs,
                        1 => of.given += packs,
                        2 => of.wasted += packs,
                        3 => of.on_hand += packs,
                        _ => of.with_customers += packs,
                    }
                    if let Some((_, carries)) = &mut truth.round {
                        *carries.entry(lot).or_default() -= packs;
                    }
                }),
            )
        }
        Step::Return(what, packs) => {
            let (delivery, lot, _) = truth.delivered?;
            let what = CameBack::ALL[what];
            let new = NewReturn { delivery, lot, packs, what, reason: "x".into() };
            (
                Action::Return(Box::new(new)),
                Box::new(move |truth, _| {
                    let of = at(truth, lot);
                    (of.with_customers, of.returned) = (of.with_customers - packs, of.returned + packs);
                }),
            )
        }
        _ => return None,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn what_was_made_is_somewhere(steps in prop::collection::vec(step(), 1..18)) {
        let mut s = shop();
        let mut truth = Truth::default();
        for id in 1..=4 {
            truth.lots.insert(LotId(id), s.book.store.account(LotId(id)).unwrap());
        }
        let mut past: Vec<Truth> = Vec::new();
        for step in &steps {
            if matches!(step, Step::Undo) {
                if let Some(before) = past.pop() {
                    s.book.act(&Action::Undo);
                    truth = before;
                }
            } else if matches!(step, Step::Never) {
                if let Some(before) = past.pop() {
                    let newest = s.book.store.history(Of::Everything, None, 99).unwrap();
                    let counts = |line: &&EntryLine| line.undone_by.is_none() && line.kind != "undo";
                    let entry = newest.iter().find(counts).unwrap().id;
                    s.book.act(&Action::Correct { entry, correction: Correction::Never, reason: "x".into(), second: None });
                    truth = before;
                    // what is put right so is not taken back, and nothing under it is
                    past.clear();
                }
            } else if let Some((action, change)) = plan(step, &truth, &s)
                && let Ok(done) = s.book.store.act(&action, AK, s.book.now)
            {
                past.push(truth.clone());
                change(&mut truth, done.made);
            }
            for (lot, known) in &truth.lots {
                let account = s.book.store.account(*lot).unwrap();
                prop_assert_eq!(account, *known, "{:?} after {:?}", lot, step);
                prop_assert!(account.sound() && account.sum() == account.made + account.counted, "{:?}", account);
            }
        }
        prop_assert_eq!(s.book.store.rebuild().unwrap(), 0);
    }
}
