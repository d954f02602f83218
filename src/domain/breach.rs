//! What was done against a rule: refused beforehand, noted afterwards, and held until someone has decided.

use super::action::Action;
use super::correction::Correction;
use super::hold::HeldLot;
use super::id::{BreachId, EntryId, TrayId};
use super::text::counted;
use super::time::{Instant, Now};
use super::words::words;

/// The rules about what is to be done, the gravest first, and what is said of an act that broke one.
///
/// Not among them is what cannot have happened: a tray that is not there, a place that is taken, a day to come, an
/// entry that says nothing.
const RULES: &[(&str, &str)] = &[
    ("seed_treated", "sown from seed not stated to be untreated"),
    ("cut_suspect", "cut although it was suspect"),
    ("cut_held", "cut although it was held"),
    ("deliver_held", "given out although it was held"),
    ("seed_held", "sown or soaked from seed that was held"),
    ("pack_held", "packed although it was held"),
    ("mix_held", "treated with a mix that was held"),
    ("material_held", "made with a held lot of a medium, an ingredient or packaging"),
    ("tool_held", "cut or packed with a knife, table or scale that was held"),
    ("treat_not_listed", "treated although the label does not list this crop and site"),
    ("mix_expired", "treated with a mix past its life"),
    ("cut_waiting", "cut before its wait after a treatment was over"),
    ("seed_barred", "sown before its seed was received"),
    ("seed_below_zero", "sown with more seed than the book holds"),
    ("deliver_past", "given out past its last day"),
    ("pack_past", "packed past its last day"),
    ("back_warm", "brought back into stock warm, or too long out"),
    ("cut_unwashed", "cut after an allergen before everything was washed"),
    ("cut_unchecked", "cut before hands, blade and table were checked"),
    ("cut_covered", "cut although it was still covered"),
    ("ready_covered", "marked ready although it was still covered"),
    ("soak_never", "soaked although this seed is sown dry"),
    ("soak_hours", "soaked for more than 48 hours"),
    ("place_retired", "put in a place out of use"),
];

/// Whether a broken rule can be noted as a breach instead of refused.
pub fn overridable(rule: &str) -> bool {
    RULES.iter().any(|(name, _)| *name == rule)
}

/// What is said of an act that broke a rule.
pub fn said(rule: &str) -> &str {
    RULES.iter().find(|(name, _)| *name == rule).map_or(rule, |(_, words)| words)
}

/// Where a rule stands among the others; the gravest is 0.
pub fn gravity(rule: &str) -> usize {
    RULES.iter().position(|(name, _)| *name == rule).unwrap_or(RULES.len())
}

/// Whether an action is an act of hands in the room, or puts one right: it may be over by the time it is refused.
pub fn can_have_happened(action: &Action) -> bool {
    match action {
        Action::Sow(_)
        | Action::Standing(_)
        | Action::Treat(_)
        | Action::PrepareMix(_)
        | Action::Soak(_)
        | Action::Drain { .. }
        | Action::Move { .. }
        | Action::MoveMany { .. }
        | Action::Cut { .. }
        | Action::Harvest(_)
        | Action::Pack(_)
        | Action::LeaveAlive(_)
        | Action::MoveStock(_)
        | Action::Deliver(_)
        | Action::LoadRound(_)
        | Action::SettleRound(_) => true,
        Action::Correct { correction, .. } => {
            matches!(correction, Correction::Sowing { .. } | Correction::Place { .. })
        }
        _ => false,
    }
}

words!(
    /// What a person who may decide makes of a breach.
    Verdict {
        /// Lifts the hold.
        Accepted = "accepted" / "accepted",
        /// The hold stays for good.
        Thrown = "thrown" / "to be thrown out",
        /// The hold stays, and the breach is decided another day.
        Watch = "watch" / "watched",
    }
);

impl Verdict {
    /// What follows for the trays and lots it concerns.
    pub fn follows(self) -> &'static str {
        match self {
            Self::Accepted => "nothing is held by it any more",
            Self::Thrown => "it stays held until it is thrown out",
            Self::Watch => "it stays held, and is decided another day",
        }
    }
}

/// A breach nobody has decided yet.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Breach {
    pub id: BreachId,
    pub rule: String,
    pub reason: String,
    /// The entry that broke the rule.
    pub entry: EntryId,
    pub at: Instant,
    pub who: String,
    /// The entry the rule speaks of: the look with the fuzz, the treatment, the delivery of the seed.
    pub about: Option<EntryId>,
    /// What is held by it, also what has left the room.
    pub trays: Vec<TrayId>,
    /// Lots held by it, those its trays were cut into, and what was made of them.
    pub lots: Vec<HeldLot>,
    /// It was looked at and put off.
    pub watched: bool,
}

impl Breach {
    /// `AK, Wed 08 Jul 06:00`.
    pub fn by(&self, now: Now) -> String {
        format!("{}, {}", self.who, now.local(self.at).format("%a %d %b %H:%M"))
    }
}

/// What a breach holds: `2 trays`, `1 lot`, `2 trays and 1 lot`.
pub fn held(trays: usize, lots: usize) -> String {
    match (trays, lots) {
        (_, 0) => counted(trays, "tray"),
        (0, _) => counted(lots, "lot"),
        _ => format!("{} and {}", counted(trays, "tray"), counted(lots, "lot")),
    }
}

/// The broken rules of one entry in one phrase.
pub fn phrase<'r>(rules: impl Iterator<Item = &'r str>) -> String {
    rules.map(said).collect::<Vec<_>>().join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_rule_has_words_of_its_own_and_a_rank() {
        let words: HashSet<&str> = RULES.iter().map(|(_, words)| *words).collect();
        assert_eq!(words.len(), RULES.len());
        assert!(gravity("seed_treated") < gravity("cut_suspect") && gravity("cut_suspect") < gravity("soak_hours"));
        assert!(gravity("place_retired") < gravity("tray_gone"));
    }

    #[test]
    fn what_cannot_have_happened_is_no_breach() {
        for rule in ["tray_gone", "place_taken", "sowing", "standing", "cut_nothing", "look_empty", "seed_lot_unknown"]
        {
            assert!(!overridable(rule), "{rule}");
        }
        assert!(overridable("cut_held"));
        assert!(can_have_happened(&Action::Cut { trays: vec![] }));
        assert!(!can_have_happened(&Action::Undo));
        let already = Action::Already { action: Box::new(Action::Cut { trays: vec![] }), reason: "late".into() };
        assert!(!can_have_happened(&already), "once is enough");
    }

    #[test]
    fn what_is_held_is_counted() {
        for (trays, lots, told) in [(0, 0, "0 trays"), (2, 0, "2 trays"), (0, 1, "1 lot"), (1, 2, "1 tray and 2 lots")]
        {
            assert_eq!(held(trays, lots), told);
        }
    }

    #[test]
    fn broken_rules_are_told_in_one_phrase() {
        assert_eq!(
            phrase(["cut_held", "cut_suspect"].into_iter()),
            "cut although it was held and cut although it was suspect"
        );
    }
}
