//! Two walkers on one walk, each with racks of their own.

use super::Walk;
use crate::domain::id::{PersonId, RackId};

/// A rack of a walk and whose it is.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Share {
    pub rack: RackId,
    pub person: PersonId,
    pub initials: String,
}

impl Walk {
    /// Whose a rack is, if anyone took it.
    pub fn share(&self, rack: RackId) -> Option<&Share> {
        self.shares.iter().find(|share| share.rack == rack)
    }

    /// A rack is taken: from here on it is theirs, whoever had it before.
    pub fn take(&mut self, share: Share) {
        self.shares.retain(|earlier| earlier.rack != share.rack);
        self.shares.push(share);
    }

    /// Whether the walk leads a person to the rack: to those they took, or, if they took none, to all that nobody took.
    pub fn is_for(&self, rack: RackId, who: Option<PersonId>) -> bool {
        let own = |share: &Share| Some(share.person) == who;
        self.covers(rack) && self.share(rack).map_or_else(|| !self.shares.iter().any(own), own)
    }
}

/// `rack B`, `racks A, B and C`.
pub fn racks_named(names: &[&str]) -> String {
    match names {
        [] => "no rack".into(),
        [one] => format!("rack {one}"),
        [before @ .., last] => format!("racks {} and {last}", before.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::walk;
    use super::*;
    use crate::domain::walk::Mode;

    const AK: Option<PersonId> = Some(PersonId(1));
    const RM: Option<PersonId> = Some(PersonId(2));

    fn share(rack: i64, who: Option<PersonId>, initials: &str) -> Share {
        Share { rack: RackId(rack), person: who.unwrap(), initials: initials.into() }
    }

    /// Racks 1 to 3 that a walk leads someone to.
    fn racks(walk: &Walk, who: Option<PersonId>) -> Vec<i64> {
        (1..=3).filter(|rack| walk.is_for(RackId(*rack), who)).collect()
    }

    #[test]
    fn who_took_racks_walks_those_and_the_others_walk_what_nobody_took() {
        let mut walk = walk(Mode::Both);
        assert_eq!((racks(&walk, AK), racks(&walk, RM)), (vec![1, 2, 3], vec![1, 2, 3]));
        walk.take(share(2, RM, "RM"));
        assert_eq!((racks(&walk, AK), racks(&walk, RM)), (vec![1, 3], vec![2]));
        walk.take(share(1, AK, "AK"));
        assert_eq!((racks(&walk, AK), racks(&walk, RM)), (vec![1], vec![2]));
        // the third is nobody's now: one who took nothing is led there
        assert_eq!(racks(&walk, Some(PersonId(3))), [3]);
        assert_eq!(racks(&walk, None), [3]);
    }

    #[test]
    fn the_newest_taking_counts() {
        let mut walk = walk(Mode::Both);
        walk.take(share(2, RM, "RM"));
        walk.take(share(2, AK, "AK"));
        assert_eq!((racks(&walk, AK), racks(&walk, RM)), (vec![2], vec![1, 3]));
        assert_eq!(walk.share(RackId(2)).unwrap().initials, "AK");
        assert_eq!(walk.shares.len(), 1);
    }

    #[test]
    fn nobody_is_led_beyond_the_racks_of_the_walk() {
        let mut one = Walk { racks: Some(vec![RackId(2)]), ..walk(Mode::Both) };
        assert_eq!(racks(&one, AK), [2]);
        one.take(share(2, RM, "RM"));
        assert_eq!((racks(&one, AK), racks(&one, RM)), (vec![], vec![2]));
    }

    #[test]
    fn racks_are_named_as_one_says_them() {
        assert_eq!(racks_named(&["B"]), "rack B");
        assert_eq!(racks_named(&["A", "B"]), "racks A and B");
        assert_eq!(racks_named(&["A", "B", "ISO"]), "racks A, B and ISO");
    }
}
