//! Where trouble comes from: how many of the trays of a seed lot, a crop, a shelf, a place or a zone showed mould or rot.

use std::collections::BTreeMap;

use super::id::TrayId;
use super::proportion::{Share, corrected, fisher};
use super::room::Place;
use super::words::words;

/// So far back trays are counted, days.
pub const SPAN_D: i64 = 56;
/// A difference is called from here down, corrected for how many were looked at; as worth a trial, never as proved.
const CALLED: f64 = 0.10;

words!(
    /// What trays are counted by.
    By {
        Lot = "lot" / "by seed lot",
        Crop = "crop" / "by crop",
        Zone = "zone" / "by zone they began in",
        Shelf = "shelf" / "by shelf they began on",
        Mix = "mix" / "by mix or product, sprayed before any fuzz was seen",
    }
);

/// What became of one tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    pub tray: TrayId,
    pub crop: String,
    /// Seed lots in it, with their crop: `S0022-H radish`.
    pub lots: Vec<String>,
    /// Recipes and products it was treated with before it showed any fuzz.
    pub mixes: Vec<String>,
    /// Where it was put first.
    pub place: Option<Place>,
    /// A check named mould or rot, or fuzz stood and nobody cleared it, or it was lost to them.
    pub bad: bool,
    /// Bad, or suspect at some time.
    pub suspect: bool,
}

/// One group against all other trays.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    pub by: By,
    pub name: String,
    pub share: Share,
    /// How many of them were suspect at some time, the bad ones among them.
    pub suspects: u64,
    /// Corrected for all groups of the page; `None` where there is nothing to compare it with.
    pub q: Option<f64>,
    /// Worth a trial.
    pub called: bool,
    worse: bool,
}

impl Group {
    /// `  S0022-H radish  3 of 12, 25 % (9 to 53 %); suspect 5`, with a mark where it differs.
    pub fn words(&self) -> String {
        let note = match self.q {
            Some(q) if self.called => {
                let what = if self.worse { "more" } else { "less" };
                format!(": {what} than the others, worth a trial (q {q:.2})")
            }
            _ => String::new(),
        };
        let mark = if self.called { '>' } else { ' ' };
        format!("{mark} {}  {}; suspect {}{note}", self.name, self.share.words(), self.suspects)
    }
}

/// Names under which a tray is counted.
fn names(outcome: &Outcome, by: By) -> Vec<String> {
    let place = |name: fn(&Place) -> String| outcome.place.iter().map(name).collect();
    match by {
        By::Lot => outcome.lots.clone(),
        By::Mix => outcome.mixes.clone(),
        By::Crop => vec![outcome.crop.clone()],
        By::Zone => place(|place| place.zone.shown().to_string()),
        By::Shelf => place(|place| format!("{} {}", place.rack_name, place.shelf)),
    }
}

/// Every group with its share, worst first within each kind; each compared with all other trays by Fisher's exact test
/// and corrected for the number of comparisons made (Benjamini and Hochberg).
pub fn groups(outcomes: &[Outcome]) -> Vec<Group> {
    let all = count(outcomes.iter());
    let mut found: Vec<(By, String, (u64, u64), u64)> = Vec::new();
    for by in By::ALL {
        let mut of: BTreeMap<String, Vec<&Outcome>> = BTreeMap::new();
        for outcome in outcomes {
            for name in names(outcome, *by) {
                of.entry(name).or_default().push(outcome);
            }
        }
        found.extend(of.into_iter().map(|(name, trays)| {
            let suspects = trays.iter().map(|outcome| u64::from(outcome.suspect)).sum();
            (*by, name, count(trays.into_iter()), suspects)
        }));
    }
    let chance = |(x, n): (u64, u64)| {
        let (rest_x, rest_n) = (all.0.saturating_sub(x), all.1.saturating_sub(n));
        (rest_n > 0 && n > 0).then(|| fisher(x, n - x, rest_x, rest_n.saturating_sub(rest_x)))
    };
    let chances: Vec<Option<f64>> = found.iter().map(|(_, _, counts, _)| chance(*counts)).collect();
    let compared: Vec<f64> = chances.iter().copied().flatten().collect();
    let mut q = corrected(&compared).into_iter();
    let mut groups: Vec<Group> = Vec::new();
    for ((by, name, (x, n), suspects), chance) in found.into_iter().zip(chances) {
        let Ok(share) = Share::of(x, n) else { continue };
        let q = chance.and_then(|_| q.next());
        // x of n against the share of the others, without dividing by nothing
        let worse = x * all.1.saturating_sub(n) > all.0.saturating_sub(x) * n;
        groups.push(Group { by, name, share, suspects, q, called: q.is_some_and(|q| q <= CALLED), worse });
    }
    groups.sort_by(|a, b| a.by.cmp(&b.by).then(b.share.share.total_cmp(&a.share.share)).then(a.name.cmp(&b.name)));
    groups
}

fn count<'o>(outcomes: impl Iterator<Item = &'o Outcome>) -> (u64, u64) {
    outcomes.fold((0, 0), |(x, n), outcome| (x + u64::from(outcome.bad), n + 1))
}

/// x of n of the trays that began at each place.
pub fn by_place(outcomes: &[Outcome]) -> BTreeMap<super::id::PlaceId, (u64, u64)> {
    let mut of = BTreeMap::new();
    for outcome in outcomes {
        if let Some(place) = &outcome.place {
            let (x, n): &mut (u64, u64) = of.entry(place.id).or_default();
            *x += u64::from(outcome.bad);
            *n += 1;
        }
    }
    of
}

#[cfg(test)]
mod tests {
    use super::super::tray::tests::card;
    use super::*;

    fn outcome(tray: i64, lot: &str, bad: bool) -> Outcome {
        Outcome {
            tray: TrayId(tray),
            crop: "radish".into(),
            lots: vec![lot.into()],
            mixes: vec![],
            place: Some(card(tray).place),
            bad,
            suspect: bad,
        }
    }

    fn trays(lot: &str, bad: i64, n: i64) -> Vec<Outcome> {
        (1..=n).map(|tray| outcome(tray, lot, tray <= bad)).collect()
    }

    #[test]
    fn a_bad_lot_is_called_and_a_crop_with_nothing_beside_it_is_not() {
        let all = [trays("S0001", 9, 12), trays("S0002", 1, 40)].concat();
        let found = groups(&all);
        let lots: Vec<&Group> = found.iter().filter(|group| group.by == By::Lot).collect();
        assert_eq!(lots.iter().map(|lot| lot.name.as_str()).collect::<Vec<_>>(), ["S0001", "S0002"], "worst first");
        assert!(
            lots[0].called && lots[0].words().contains("more than the others, worth a trial"),
            "{}",
            lots[0].words()
        );
        assert!(lots[0].words().starts_with("> S0001  9 of 12"), "{}", lots[0].words());
        assert!(lots[1].called && lots[1].words().contains("less than the others"));
        let crop = found.iter().find(|group| group.by == By::Crop).unwrap();
        assert_eq!((crop.q, crop.called), (None, false), "nothing to compare it with");
        assert_eq!((crop.share.x, crop.share.n), (10, 52));
    }

    #[test]
    fn few_trays_are_called_few_and_never_a_difference() {
        let all = [trays("S0001", 1, 2), trays("S0002", 0, 3)].concat();
        let found = groups(&all);
        assert!(found.iter().all(|group| !group.called && group.words().starts_with("  ")));
        assert!(found[0].words().contains("1 of 2, 50 % (9 to 91 %, few); suspect 1"), "{}", found[0].words());
    }

    #[test]
    fn one_of_many_looks_is_corrected_for() {
        // one lot of twenty a little worse than the others: by itself it would be called, among twenty it is not
        let mut all = trays("S0001", 3, 10);
        for lot in 2..=20 {
            all.extend(trays(&format!("S{lot:04}"), 1, 20));
        }
        let worst = groups(&all).into_iter().find(|group| group.name == "S0001").unwrap();
        assert!(fisher(3, 7, 19, 361) < 0.05);
        assert!(worst.q.unwrap() > CALLED && !worst.called, "{worst:?}");
    }

    #[test]
    fn a_tray_of_two_lots_counts_for_both_and_places_are_counted() {
        let mixed = Outcome { lots: vec!["S0001".into(), "S0002".into()], ..outcome(1, "", true) };
        let found = groups(&[mixed.clone(), outcome(2, "S0002", false)]);
        let of = |name: &str| found.iter().find(|group| group.name == name).map(|group| (group.share.x, group.share.n));
        assert_eq!((of("S0001"), of("S0002")), (Some((1, 1)), Some((1, 2))));
        let places = by_place(&[mixed, outcome(2, "S0002", false)]);
        assert_eq!(places.get(&card(1).place.id), Some(&(1, 1)));
        assert!(groups(&[]).is_empty());
    }
}
