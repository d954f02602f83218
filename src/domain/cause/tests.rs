use super::super::tray::tests::card;
use super::compare::CALLED;
use super::*;
use crate::domain::proportion::Exact;

/// Things with their groups, each once.
#[derive(Default)]
struct Made {
    things: Vec<Thing>,
    names: Vec<(By, String)>,
    cases: Option<Vec<Case>>,
}

impl Made {
    fn thing(&mut self, groups: &[(By, &str)], fate: Fate) -> usize {
        let mut numbers: Vec<usize> = groups
            .iter()
            .map(|(by, name)| {
                let key = (*by, (*name).to_string());
                self.names.iter().position(|known| *known == key).unwrap_or_else(|| {
                    self.names.push(key);
                    self.names.len() - 1
                })
            })
            .collect();
        numbers.sort_unstable();
        let code = format!("T{:04}", self.things.len() + 1);
        let place = Some(card(i64::try_from(self.things.len()).unwrap() + 1).place);
        self.things.push(Thing { code, fate, place, groups: numbers });
        self.things.len() - 1
    }

    /// So many trays of a group, the first of them bad.
    fn trays(&mut self, groups: &[(By, &str)], bad: usize, n: usize) {
        for at in 0..n {
            self.thing(groups, if at < bad { Fate::Bad } else { Fate::Good });
        }
    }

    fn counted(self, of: Of) -> Counted {
        let Self { things, names, cases } = self;
        Counted { asked: Asked::of(of), things, names, cases, unnamed: 0, kinds: vec![] }
    }

    fn found(self, of: Of) -> Findings {
        Findings::of(self.counted(of))
    }
}

fn group<'f>(found: &'f Findings, name: &str) -> &'f Group {
    found.groups.iter().find(|group| group.name == name).unwrap()
}

fn fisher(a: u64, b: u64, c: u64, d: u64) -> f64 {
    Exact::new(a + b + c + d).fisher(a, b, c, d)
}

/// The page as one text.
fn page(found: &Findings) -> String {
    lines(found).join("\n")
}

#[test]
fn a_bad_lot_is_found_and_a_crop_with_nothing_beside_it_is_not() {
    let mut made = Made::default();
    made.trays(&[(By::Lot, "S0001"), (By::Crop, "radish")], 9, 12);
    made.trays(&[(By::Lot, "S0002"), (By::Crop, "radish")], 1, 40);
    let found = made.found(Of::Mould);
    let lots: Vec<&Group> = found.groups.iter().filter(|group| group.by == By::Lot).collect();
    assert_eq!(lots.iter().map(|lot| lot.name.as_str()).collect::<Vec<_>>(), ["S0001", "S0002"], "worst first");
    assert!(lots[0].called && lots[0].worse && lots[1].called && !lots[1].worse);
    assert!((lots[0].p.unwrap() - fisher(9, 3, 1, 39)).abs() < 1e-15);
    let crop = group(&found, "radish");
    assert_eq!((crop.p, crop.q, crop.called, crop.rest), (None, None, false, None), "nothing to compare it with");
    assert_eq!((crop.share.x, crop.share.n), (10, 52));
    assert_eq!(found.leads, [Lead { groups: vec![0], shares_with: None }], "the better one is no lead");
    let page = page(&found);
    for line in [
        "   1. 9 of the 10 bad trays grew from seed lot S0001. Of the 42 others: 3.",
        "> S0001  9 of 12, 75 % (47 to 91 %); the others 1 of 40; suspect 9: more",
        "> S0002  1 of 40, 3 % (0 to 13 %); the others 9 of 12; suspect 1: less",
        "  radish  10 of 52, 19 % (11 to 32 %); there are no others; suspect 10",
    ] {
        assert!(page.lines().any(|known| known == line), "{line}\n{page}");
    }
    for word in ["Fisher", "q is p", "p below 0.0001", "Benjamini", "Wilson"] {
        assert!(!page.contains(word), "{word} stands behind why\n{page}");
        assert!(why(&found).join("\n").contains(word), "{word}");
    }
}

#[test]
fn of_twenty_equal_lots_none_is_called() {
    // two or three of thirty everywhere
    let mut made = Made::default();
    for lot in 1..=20 {
        made.trays(&[(By::Lot, &format!("S{lot:04}"))], 2 + lot % 2, 30);
    }
    let found = made.found(Of::Mould);
    assert_eq!((found.looked_at, found.bad, found.all, found.enough), (20, 50, 600, true));
    assert!(found.groups.iter().all(|group| !group.called) && found.leads.is_empty());
    assert!(page(&found).contains("No group stands out by more than chance; 20 were looked at."), "{}", page(&found));
}

/// Chance alone: trays go bad by lot, and what is looked at are many groups that have nothing to do with it.
#[test]
fn by_chance_alone_few_periods_have_any_lead() {
    let mut rng = fastrand::Rng::with_seed(7);
    let called = (0..400)
        .filter(|_| {
            let mut made = Made::default();
            for _ in 0..120 {
                let names = [(By::Lot, rng.u8(0..12)), (By::Shelf, rng.u8(0..20)), (By::SownOn, rng.u8(0..16))];
                let names: Vec<(By, String)> =
                    names.iter().map(|(by, n)| (*by, format!("{} {n}", by.stored()))).collect();
                let names: Vec<(By, &str)> = names.iter().map(|(by, name)| (*by, name.as_str())).collect();
                made.thing(&names, if rng.f64() < 0.12 { Fate::Bad } else { Fate::Good });
            }
            !made.found(Of::Mould).leads.is_empty()
        })
        .count();
    // corrected to one in ten at most; four standard errors of 400 throws above that
    assert!(called <= 64, "{called} of 400 periods had a lead by chance");
}

#[test]
fn one_of_many_looks_is_corrected_for() {
    // one lot of twenty a little worse than the others: by itself it would be called, among twenty it is not
    let mut made = Made::default();
    made.trays(&[(By::Lot, "S0001")], 3, 10);
    for lot in 2..=20 {
        made.trays(&[(By::Lot, &format!("S{lot:04}"))], 1, 20);
    }
    let found = made.found(Of::Mould);
    let worst = group(&found, "S0001");
    assert!(fisher(3, 7, 19, 361) < 0.05);
    assert!(worst.q.unwrap() > CALLED && !worst.called, "{worst:?}");
}

#[test]
fn few_are_called_few_and_never_a_difference() {
    // four of four against none of sixty: whatever the test says
    let mut made = Made::default();
    made.trays(&[(By::Lot, "S0001"), (By::SownOn, "2026-07-01")], 4, 4);
    made.trays(&[(By::Lot, "S0002"), (By::SownOn, "2026-07-01")], 0, 2);
    made.trays(&[(By::Lot, "S0002"), (By::SownOn, "2026-07-02")], 0, 58);
    let found = made.found(Of::Mould);
    assert!(group(&found, "S0001").p.unwrap() < 1e-5);
    assert!(!found.enough && found.leads.is_empty() && found.groups.iter().all(|group| !group.called));
    let page = page(&found);
    for line in [
        "4 bad trays: too few to tell anything from chance. What they share:",
        "   all 4: seed lot S0001. Of the 60 other trays: 0.",
        "   all 4: sown on 2026-07-01. Of the 60 other trays: 2.",
        "   - T0001",
    ] {
        assert!(page.lines().any(|known| known == line), "{line}\n{page}");
    }
    assert!(page.lines().all(|line| !line.starts_with('>')), "{page}");
}

#[test]
fn two_bad_ones_of_a_group_are_no_lead_however_small_it_is() {
    let mut made = Made::default();
    made.trays(&[(By::Shelf, "A 1")], 2, 2);
    made.trays(&[(By::Shelf, "A 2")], 4, 200);
    let found = made.found(Of::Mould);
    let shelf = group(&found, "A 1");
    assert!(found.enough && shelf.q.unwrap() < 0.01 && shelf.worse && !shelf.called, "{shelf:?}");
}

#[test]
fn groups_of_the_very_same_trays_are_one_comparison_and_said_to_be_inseparable() {
    let mut made = Made::default();
    made.trays(&[(By::Lot, "S0001"), (By::Batch, "B0001"), (By::Crop, "pea"), (By::SownBy, "AK")], 6, 8);
    made.trays(&[(By::Lot, "S0002"), (By::Batch, "B0002"), (By::Crop, "pea"), (By::SownBy, "RM")], 0, 12);
    made.trays(&[(By::Lot, "S0003"), (By::Batch, "B0003"), (By::Crop, "radish"), (By::SownBy, "RM")], 1, 60);
    let found = made.found(Of::Mould);
    // the lot with its batch and its hands; the other two lots; RM, who sowed all but the first; pea and radish
    assert_eq!(found.looked_at, 6 - 1, "radish is its lot");
    let lead = &found.leads[0];
    let names: Vec<&str> = found.of_lead(lead).map(|group| group.name.as_str()).collect();
    assert_eq!(names, ["S0001", "B0001", "AK"]);
    let page = page(&found);
    let first = "   1. 6 of the 7 bad trays grew from seed lot S0001. Of the 73 others: 2. The very same trays: batch B0001; at \
                 sowing in the hands of AK. Which of these it is, nobody can say from here. Hands are a lead to a task or a day, \
                 never blame: ask what was different.";
    assert!(page.lines().any(|line| line == first), "{page}");
    // pea is bad by its lot alone
    let pea = found.leads.iter().find(|lead| found.of_lead(lead).any(|group| group.name == "pea")).unwrap();
    assert_eq!(pea.shares_with, Some(0));
    assert!(page.contains("It has bad ones of 1 above: it may be one cause, seen twice."), "{page}");
}

#[test]
fn a_group_of_one_is_counted_and_not_compared() {
    let mut made = Made::default();
    made.trays(&[(By::Place, "A 1-1")], 1, 1);
    made.trays(&[(By::Place, "A 1-2")], 5, 9);
    made.trays(&[], 0, 1);
    let found = made.found(Of::Mould);
    assert_eq!((group(&found, "A 1-1").p, found.looked_at), (None, 1));
    assert_eq!(group(&found, "A 1-1").share.x, 1);
}

/// Pack lots of two products: 3 of them named for sure, some in doubt.
fn complaints(sure: &[&[usize]], open: &[(&[usize], bool)]) -> Findings {
    let mut made = Made::default();
    for lot in 0..30 {
        let seed = if lot < 6 { "S0012-X pea" } else { "S0013-Y pea" };
        let day = if lot % 3 == 0 { "2026-07-10" } else { "2026-07-11" };
        made.thing(&[(By::Lot, seed), (By::PackedOn, day), (By::Product, "pea shoots 100 g")], Fate::Good);
    }
    let mut cases = Vec::new();
    for (n, things) in sure.iter().enumerate() {
        things.iter().for_each(|thing| made.things[*thing].fate = Fate::Bad);
        cases.push(Case { words: format!("complaint {}", n + 1), things: things.to_vec(), whole: true });
    }
    for (things, whole) in open {
        for thing in *things {
            if made.things[*thing].fate == Fate::Good {
                made.things[*thing].fate = Fate::Doubt;
            }
        }
        cases.push(Case { words: "another".into(), things: things.to_vec(), whole: *whole });
    }
    made.cases = Some(cases);
    made.found(Of::Complaints)
}

#[test]
fn three_complaints_are_called_three_and_what_they_share_is_listed() {
    let found = complaints(&[&[0], &[1], &[3]], &[]);
    let page = page(&found);
    for line in [
        "Of 30 pack lots that went out in the last 8 weeks 3 were complained about.",
        "3 complaints: too few to tell anything from chance. What they share:",
        "   all 3: seed lot S0012-X pea. Of the 27 other pack lots: 3.",
        "   all 3: product pea shoots 100 g. All 27 others too.",
        "   2 of 3: packed on 2026-07-10. Of the 27 other pack lots: 8.",
        "   - complaint 2",
    ] {
        assert!(page.lines().any(|known| known == line), "{line}\n{page}");
    }
    assert!(!page.contains("packed on 2026-07-11. Of"), "one alone shares nothing\n{page}");
    assert!(found.leads.is_empty() && found.groups.iter().all(|group| !group.called));
}

#[test]
fn five_complaints_of_one_pack_lot_are_one_bad_lot() {
    let found = complaints(&[&[0], &[0], &[0], &[0], &[0]], &[]);
    assert_eq!((found.bad, found.cases.len(), found.enough), (1, 5, false));
    let page = page(&found);
    assert!(page.contains("5 complaints, surely about 1 pack lot: too few to tell anything from chance."), "{page}");
}

#[test]
fn lots_that_only_may_be_meant_are_left_out_of_the_counts_and_told_apart() {
    let found = complaints(&[&[0], &[1]], &[(&[2, 7], true), (&[3], false)]);
    assert_eq!((found.all, found.bad, found.doubts), (27, 2, 3));
    let lot = group(&found, "S0012-X pea");
    assert_eq!((lot.share.x, lot.share.n, lot.doubts), (2, 4, 2));
    let page = page(&found);
    for line in [
        "Of 30 pack lots that went out in the last 8 weeks 2 were complained about, and 3 more may be meant.",
        "4 complaints, surely about 2 pack lots: too few to tell anything from chance. What they share:",
        // one has a candidate of the other lot, of one a candidate is not among what was counted
        "   2 of 4, and perhaps 2 more: seed lot S0012-X pea. Of the 25 other pack lots: 2.",
        "  S0012-X pea  2 of 4, 50 % (15 to 85 %, few); the others 0 of 23; 2 more may be meant",
    ] {
        assert!(page.lines().any(|known| known == line), "{line}\n{page}");
    }
    // whatever else is meant, the product is the same
    assert!(page.contains("   3 of 4, and perhaps 1 more: product pea shoots 100 g."), "{page}");
}

#[test]
fn complaints_enough_of_one_seed_lot_lead_to_it() {
    let found = complaints(&[&[0], &[1], &[2], &[3], &[4], &[20]], &[]);
    assert_eq!(found.leads.len(), 1);
    let page = page(&found);
    assert!(
        page.contains("1. 5 of the 6 pack lots complained about hold seed lot S0012-X pea. Of the 24 others: 1."),
        "{page}"
    );
}

#[test]
fn one_complaint_alone_shares_nothing() {
    let text = page(&complaints(&[&[0]], &[]));
    assert!(text.contains("1 complaint: one alone shares nothing with others."), "{text}");
    let none = page(&complaints(&[], &[]));
    assert!(none.contains("0 were complained about.") && none.contains("nothing to look for"), "{none}");
}

#[test]
fn nothing_at_all_is_said_so() {
    for (of, words) in [
        (Of::Mould, "No tray was sown in the last 8 weeks."),
        (Of::Losses, "No tray was cut or thrown out in the last 8 weeks."),
        (Of::Complaints, "No pack lot went out in the last 8 weeks."),
    ] {
        assert_eq!(lines(&Made::default().found(of)), [words]);
    }
}

#[test]
fn a_tray_of_two_lots_counts_for_both_and_places_are_counted() {
    let mut made = Made::default();
    made.thing(&[(By::Lot, "S0001"), (By::Lot, "S0002")], Fate::Bad);
    made.thing(&[(By::Lot, "S0002")], Fate::Good);
    let found = made.found(Of::Mould);
    let of = |name: &str| (group(&found, name).share.x, group(&found, name).share.n);
    assert_eq!((of("S0001"), of("S0002")), ((1, 1), (1, 2)));
    assert_eq!(found.counted.by_place().get(&card(1).place.id), Some(&(1, 1)));
}

#[test]
fn a_long_list_shows_the_worst_and_counts_the_rest() {
    let mut made = Made::default();
    for shelf in 1..=20 {
        made.trays(&[(By::Shelf, &format!("A {shelf}"))], usize::from(shelf <= 10), 4);
    }
    let page = page(&made.found(Of::Mould));
    assert_eq!(page.lines().filter(|line| line.starts_with("  A ")).count(), 8, "{page}");
    assert!(page.contains("  and 12 more, something bad in 2 of them"), "{page}");
}

#[test]
fn periods_and_kinds_go_round() {
    let asked = Asked::of(Of::Losses);
    let weeks: Vec<i64> =
        std::iter::successors(Some(asked), |asked| Some(asked.other_weeks())).take(5).map(|a| a.weeks).collect();
    assert_eq!(weeks, [8, 26, 2, 4, 8]);
    assert_eq!(Asked { weeks: 5, ..asked }.other_weeks().weeks, 8);
    assert_eq!(asked.since("2026-07-08".parse().unwrap()).to_string(), "2026-05-13");
    let kinds = vec![(Only::Loss(LossReason::Rot), 1), (Only::Loss(LossReason::DriedOut), 2)];
    let counted =
        |only| Counted { asked: Asked { only, ..asked }, kinds: kinds.clone(), ..Made::default().counted(Of::Losses) };
    let (rot, dry) = (Some(kinds[0].0), Some(kinds[1].0));
    assert_eq!([None, rot, dry].map(|only| counted(only).next_kind()), [rot, dry, None]);
    assert_eq!(Only::from_stored(Of::Losses, "rot"), rot);
    assert_eq!(Only::from_stored(Of::Losses, "not_needed"), None, "no loss");
    assert_eq!(Only::from_stored(Of::Mould, "rot"), None);
    assert!(Only::words(Of::Complaints).contains(&"off_smell") && !Only::words(Of::Losses).contains(&"not_needed"));
}

#[test]
fn every_kind_of_group_has_its_words() {
    for by in By::ALL {
        let mut made = Made::default();
        made.trays(&[(*by, "this one")], 6, 6);
        made.trays(&[], 0, 60);
        for of in [Of::Mould, Of::Complaints] {
            let made = Made { things: made.things.clone(), names: made.names.clone(), cases: None };
            let found = made.found(of);
            let first = lines(&found).into_iter().find(|line| line.starts_with("   1. ")).unwrap();
            assert!(first.contains("this one. Of the 60 others: 0."), "{first}");
            assert_eq!(first.contains("never blame"), by.hands(), "{first}");
        }
    }
}
