//! What a few bad ones have in common, without any claim that it is more than chance.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{By, Case, Counted};

/// Groups, the very same things all of them, that several cases share.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shared {
    pub names: Vec<(By, String)>,
    /// Cases of which all that may be meant belongs to it.
    pub sure: usize,
    /// Cases of which only some of what may be meant does.
    pub perhaps: usize,
    pub of: usize,
    /// How many of the things that no case is about belong to it, and how many of those there are.
    pub others: (usize, usize),
}

/// What at least two cases share: what most of them do first, and of that what the fewest others do.
pub(super) fn shared(counted: &Counted, cases: &[Case], sets: &[Vec<usize>], set_of: &[usize]) -> Vec<Shared> {
    let meant: BTreeSet<usize> = cases.iter().flat_map(|case| case.things.iter().copied()).collect();
    let others = counted.things.len() - meant.len();
    let mut named: BTreeMap<usize, Vec<(By, String)>> = BTreeMap::new();
    for (name, set) in counted.names.iter().zip(set_of) {
        named.entry(*set).or_default().push(name.clone());
    }
    let mut found = Vec::new();
    for (set, mut names) in named {
        let Some(members) = sets.get(set) else { continue };
        let within = |thing: &usize| members.binary_search(thing).is_ok();
        let sure = cases.iter().filter(|case| case.whole && case.things.iter().all(within)).count();
        let perhaps = cases.iter().filter(|case| case.things.iter().any(within)).count() - sure;
        if sure + perhaps < 2 {
            continue;
        }
        names.sort();
        let rest = members.iter().filter(|thing| !meant.contains(thing)).count();
        found.push(Shared { names, sure, perhaps, of: cases.len(), others: (rest, others) });
    }
    found.sort_by(|a, b| (b.sure, b.perhaps, a.others.0, &a.names).cmp(&(a.sure, a.perhaps, b.others.0, &b.names)));
    found
}
