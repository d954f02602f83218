//! Every group against all the others, and which of them are leads.

use std::collections::BTreeMap;

use serde::Serialize;

use super::share::{Shared, shared};
use super::{Asked, By, Counted, Fate};
use crate::domain::proportion::{Exact, Share, corrected};

/// A difference is called from here down, corrected for how many were looked at.
pub(super) const CALLED: f64 = 0.10;
/// With fewer bad ones in all nothing is told from chance.
pub(super) const ENOUGH: usize = 5;
/// A lead rests on so many bad ones of its group: two may always be one accident.
pub(super) const IN_GROUP: u64 = 3;
/// A group of one has nothing in common with anything.
pub(super) const COMPARED: u64 = 2;

/// One group against all others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    pub by: By,
    pub name: String,
    /// Bad ones of how many.
    pub share: Share,
    /// The same of all others; none where it is all there is.
    pub rest: Option<Share>,
    /// Suspect and no more, or pack lots that only may be it.
    pub doubts: u64,
    /// The chance of so uneven a split where nothing differs; `None` where there is nothing to compare it with.
    pub p: Option<f64>,
    /// The same, corrected for everything that was looked at.
    pub q: Option<f64>,
    /// More bad ones than among the others.
    pub worse: bool,
    /// Differs by more than chance, from enough that went bad.
    pub called: bool,
    /// Groups of the same number are the very same things: nobody can tell them apart.
    pub set: usize,
}

/// Groups that nobody can tell apart and that hold more bad ones than the rest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Lead {
    /// By number in [`Findings::groups`].
    pub groups: Vec<usize>,
    /// An earlier lead, counted from 0, with the same bad ones or some of them.
    pub shares_with: Option<usize>,
}

/// What a period came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Findings {
    pub asked: Asked,
    /// Things that were compared; those in doubt are not, where nobody knows whether they are bad.
    pub all: u64,
    pub bad: u64,
    pub doubts: u64,
    /// Bad things one by one, or complaints, in words.
    pub cases: Vec<String>,
    /// So many that something can be told from chance.
    pub enough: bool,
    /// Comparisons that were made.
    pub looked_at: usize,
    /// Worst first within each kind.
    pub groups: Vec<Group>,
    pub leads: Vec<Lead>,
    /// Where there are too few: what the cases have in common.
    pub shared: Vec<Shared>,
    pub counted: Counted,
}

/// The things of a group.
type Members = Vec<usize>;

impl Findings {
    /// Every group with its share, compared with all others by Fisher's exact test and corrected for the number of comparisons
    /// made (Benjamini and Hochberg). Groups of the very same things are one comparison.
    pub fn of(counted: Counted) -> Self {
        let known =
            |n: &usize| counted.things.get(*n).is_some_and(|thing| counted.trays() || thing.fate != Fate::Doubt);
        let bad = |n: &usize| counted.things.get(*n).is_some_and(|thing| thing.fate == Fate::Bad);
        let count = |of: &mut dyn Iterator<Item = usize>| -> (u64, u64) {
            of.filter(known).fold((0, 0), |(x, n), thing| (x + u64::from(bad(&thing)), n + 1))
        };
        let all = count(&mut (0..counted.things.len()));
        let (sets, set_of) = sets(&counted);
        let exact = Exact::new(all.1);
        let tests: Vec<((u64, u64), Option<f64>)> = sets
            .iter()
            .map(|members| {
                let (x, n) = count(&mut members.iter().copied());
                let (rest_x, rest_n) = (all.0 - x, all.1 - n);
                let compared = n >= COMPARED && rest_n >= COMPARED;
                ((x, n), compared.then(|| exact.fisher(x, n - x, rest_x, rest_n - rest_x)))
            })
            .collect();
        let chances: Vec<f64> = tests.iter().filter_map(|(_, p)| *p).collect();
        let mut q = corrected(&chances).into_iter();
        let q: Vec<Option<f64>> = tests.iter().map(|(_, p)| p.and_then(|_| q.next())).collect();
        let cases = counted.cases();
        let bad_all = usize::try_from(all.0).unwrap_or(usize::MAX);
        let enough = cases.len().min(bad_all) >= ENOUGH;
        let mut groups = Vec::new();
        for ((by, name), set) in counted.names.iter().zip(&set_of) {
            let (Some(((x, n), p)), Some(q)) = (tests.get(*set), q.get(*set)) else { continue };
            // only things in doubt: nothing of it is counted
            let Ok(share) = Share::of(*x, *n) else { continue };
            let doubt = |thing: &&usize| counted.things.get(**thing).is_some_and(|thing| thing.fate == Fate::Doubt);
            let doubts = sets.get(*set).map_or(0, |members| members.iter().filter(doubt).count());
            // x of n against the share of the others, without dividing by nothing
            let worse = x * (all.1 - n) > (all.0 - x) * n;
            let far = q.is_some_and(|q| q <= CALLED);
            groups.push(Group {
                by: *by,
                name: name.clone(),
                share,
                rest: Share::of(all.0 - x, all.1 - n).ok(),
                doubts: u64::try_from(doubts).unwrap_or(u64::MAX),
                p: *p,
                q: *q,
                worse,
                called: enough && far && (!worse || *x >= IN_GROUP),
                set: *set,
            });
        }
        groups.sort_by(|a, b| {
            a.by.cmp(&b.by)
                .then(b.share.share.total_cmp(&a.share.share))
                .then(b.share.n.cmp(&a.share.n))
                .then(a.name.cmp(&b.name))
        });
        let shared = if enough { vec![] } else { shared(&counted, &cases, &sets, &set_of) };
        Self {
            asked: counted.asked,
            all: all.1,
            bad: all.0,
            doubts: u64::try_from(counted.count(Fate::Doubt)).unwrap_or(u64::MAX),
            cases: cases.into_iter().map(|case| case.words).collect(),
            enough,
            looked_at: chances.len(),
            leads: leads(&groups, &sets, bad),
            groups,
            shared,
            counted,
        }
    }

    /// The groups of a lead, those of the kinds that come first before the others.
    pub fn of_lead<'f>(&'f self, lead: &'f Lead) -> impl Iterator<Item = &'f Group> {
        lead.groups.iter().filter_map(|n| self.groups.get(*n))
    }
}

/// Every set of things that is a group once, and which one each group is.
fn sets(counted: &Counted) -> (Vec<Members>, Vec<usize>) {
    let mut members: Vec<Members> = vec![Vec::new(); counted.names.len()];
    for (n, thing) in counted.things.iter().enumerate() {
        for group in &thing.groups {
            if let Some(of) = members.get_mut(*group) {
                of.push(n);
            }
        }
    }
    let mut known: BTreeMap<Members, usize> = BTreeMap::new();
    let mut sets: Vec<Members> = Vec::new();
    let set_of = members
        .into_iter()
        .map(|members| {
            *known.entry(members).or_insert_with_key(|members| {
                sets.push(members.clone());
                sets.len() - 1
            })
        })
        .collect();
    (sets, set_of)
}

/// What is called and worse, the least likely by chance first.
fn leads(groups: &[Group], sets: &[Members], bad: impl Fn(&usize) -> bool) -> Vec<Lead> {
    let mut by_set: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (n, group) in groups.iter().enumerate().filter(|(_, group)| group.called && group.worse) {
        by_set.entry(group.set).or_default().push(n);
    }
    let mut found: Vec<(usize, Vec<usize>)> = by_set.into_iter().collect();
    let p = |of: &[usize]| of.first().and_then(|n| groups.get(*n)).and_then(|group| group.p).unwrap_or(1.0);
    found.sort_by(|(_, a), (_, b)| p(a).total_cmp(&p(b)).then(a.cmp(b)));
    let bad_of = |set: &usize| -> Members {
        sets.get(*set).map(|members| members.iter().copied().filter(&bad).collect()).unwrap_or_default()
    };
    let bads: Vec<Members> = found.iter().map(|(set, _)| bad_of(set)).collect();
    let inside = |small: &Members, large: &Members| small.iter().all(|thing| large.binary_search(thing).is_ok());
    found
        .into_iter()
        .enumerate()
        .map(|(at, (_, groups))| {
            let own = bads.get(at);
            let shares = |other: &Members| own.is_some_and(|own| inside(own, other) || inside(other, own));
            Lead { groups, shares_with: bads.iter().take(at).position(shares) }
        })
        .collect()
}
