//! What touched a lot beside the line from seed to pack: looks, sprays, water, air, neighbours, tools, hands.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};

use crate::domain::id::EntryId;
use crate::domain::text::counted;
use crate::domain::words::words;

words!(
    /// Under which heading it is told.
    Section {
        Seed = "seed" / "Seed and sowing",
        Looks = "looks" / "Looks",
        Fuzz = "fuzz" / "Fuzz, checks and verdicts",
        Treatments = "treatments" / "Treatments and what was mixed",
        Water = "water" / "Water",
        Air = "air" / "Air where it stood",
        Places = "places" / "Places",
        Neighbours = "neighbours" / "What stood beside it",
        Losses = "losses" / "Thrown out",
        Cut = "cut" / "Cut, and the checks before it",
        Packing = "packing" / "Packing",
        Tools = "tools" / "Tools",
        Materials = "materials" / "Growing medium, ingredients and packaging",
        Cold = "cold" / "Cold stores, and time outside them",
        Spells = "spells" / "Warm and cold spells",
        Stock = "stock" / "What went out, came back or was counted",
        Holds = "holds" / "Holds, breaches and recalls",
        Complaints = "complaints" / "Complaints",
        Corrections = "corrections" / "Put right or taken back",
        Hands = "hands" / "Hands",
    }
);

/// The heading of an entry of the log, by its kind. `None`: a change of settings, which touched no lot.
pub fn section(kind: &str, fuzz: bool) -> Option<Section> {
    Some(match kind {
        "look" if fuzz => Section::Fuzz,
        "look" => Section::Looks,
        "suspect_decided" => Section::Fuzz,
        "seed_received" | "seed_counted" | "sown" | "standing" | "soaked" | "drained" => Section::Seed,
        "treated" | "mixed" | "mix_ended" => Section::Treatments,
        "watered" => Section::Water,
        "air_read" | "air_imported" | "power_cut" => Section::Air,
        "moved" | "sighted" | "restacked" | "place_cleaned" => Section::Places,
        "thrown" | "part_lost" => Section::Losses,
        "cut_checked" | "harvested" | "cut" => Section::Cut,
        "packed" | "reissued" | "left_alive" => Section::Packing,
        "material_received" => Section::Materials,
        "put_away" | "scored" => Section::Cold,
        "spell_decided" => Section::Spells,
        "stock_moved" | "stock_counted" | "delivered" | "round_out" | "round_back" | "returned" => Section::Stock,
        "held" | "hold_decided" | "decided" | "recalled" | "contacted" | "exercised" => Section::Holds,
        "complaint" | "complaint_more" | "complaint_lots" | "complaint_closed" | "blanked" => Section::Complaints,
        "corrected" | "undo" => Section::Corrections,
        _ => return None,
    })
}

/// Codes named in a line.
const NAMED: usize = 4;

/// One line: when, who, of what, in words.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Touch {
    pub section: Section,
    /// When it was seen, or began.
    pub at: DateTime<FixedOffset>,
    pub until: Option<DateTime<FixedOffset>>,
    /// Whose hands; empty where it was measured or worked out.
    pub who: String,
    /// The things of the trace it is of, as on their labels.
    pub of: BTreeSet<String>,
    pub words: String,
    pub note: Option<String>,
    /// The entry that says so, where one does.
    pub entry: Option<EntryId>,
    /// The entry that took all of it back or replaced it.
    pub undone_by: Option<EntryId>,
    pub put_right_by: Option<EntryId>,
}

impl Touch {
    /// What was worked out and is of no single entry.
    pub fn worked_out(section: Section, at: DateTime<FixedOffset>, words: impl Into<String>) -> Self {
        Self {
            section,
            at,
            until: None,
            who: String::new(),
            of: BTreeSet::new(),
            words: words.into(),
            note: None,
            entry: None,
            undone_by: None,
            put_right_by: None,
        }
    }

    /// `2026-07-12 06:10 AK  T0001-W: roots plenty  [entry 12]`.
    pub fn line(&self) -> String {
        let until = self.until.map_or_else(String::new, |until| format!(" to {}", until.format("%d %b %H:%M")));
        let who = if self.who.is_empty() { String::new() } else { format!(" {}", self.who) };
        let note = self.note.as_ref().map_or_else(String::new, |note| format!(" ({note})"));
        let entry = self.entry.map_or_else(String::new, |entry| format!("  [entry {}]", entry.0));
        let since = self.since();
        let since = if since.is_empty() { String::new() } else { format!("; {since}") };
        let at = self.at.format("%Y-%m-%d %H:%M");
        // what the words name already is not named again
        let named = self.of.iter().all(|code| self.words.contains(code.as_str()));
        let of = if named { String::new() } else { format!("{}: ", some(&self.of, NAMED)) };
        format!("{at}{until}{who}  {of}{}{note}{since}{entry}", self.words)
    }

    /// What later entries say of it: `taken back by entry 12`.
    pub fn since(&self) -> String {
        match (self.undone_by, self.put_right_by) {
            (Some(by), _) => format!("no longer counts, entry {}", by.0),
            (None, Some(by)) => format!("put right by entry {}", by.0),
            (None, None) => String::new(),
        }
    }
}

/// Everything that touched something, as lines under their headings.
pub fn lines(touches: &[Touch]) -> Vec<String> {
    let mut lines = Vec::new();
    let mut section = None;
    for touch in touches {
        if section != Some(touch.section) {
            lines.extend(section.is_some().then(String::new));
            lines.push(touch.section.shown().to_uppercase());
            section = Some(touch.section);
        }
        lines.push(format!("  {}", touch.line()));
    }
    lines
}

/// The order in which it is told: section by section, in the order of time.
pub fn in_order(touches: &mut [Touch]) {
    touches.sort_by(|a, b| (a.section, a.at, a.entry, &a.words).cmp(&(b.section, b.at, b.entry, &b.words)));
}

/// Everyone whose hands are in it: one line each, from the first entry to the last.
pub fn hands(touches: &[Touch]) -> Vec<Touch> {
    let mut of: BTreeMap<&str, Vec<&Touch>> = BTreeMap::new();
    for touch in touches.iter().filter(|touch| touch.entry.is_some() && !touch.who.is_empty()) {
        of.entry(&touch.who).or_default().push(touch);
    }
    of.into_iter().filter_map(|(who, touches)| one(who, &touches)).collect()
}

fn one(who: &str, touches: &[&Touch]) -> Option<Touch> {
    let first = touches.iter().map(|touch| touch.at).min()?;
    let last = touches.iter().map(|touch| touch.at).max()?;
    let mut each: BTreeMap<Section, usize> = BTreeMap::new();
    for touch in touches {
        *each.entry(touch.section).or_default() += 1;
    }
    let each: Vec<String> = each.iter().map(|(section, n)| format!("{n} {}", section.stored())).collect();
    let all = match touches.len() {
        1 => "1 entry".to_string(),
        n => format!("{n} entries"),
    };
    let words = format!("{all}: {}", each.join(", "));
    let of = touches.iter().flat_map(|touch| touch.of.iter().cloned()).collect();
    let until = Some(last).filter(|last| *last != first);
    Some(Touch { who: who.to_string(), of, until, ..Touch::worked_out(Section::Hands, first, words) })
}

/// `T0001-W, T0002-U and 7 more`.
pub fn some(of: &BTreeSet<String>, most: usize) -> String {
    let told: Vec<&str> = of.iter().take(most).map(String::as_str).collect();
    match of.len() - told.len() {
        0 => told.join(", "),
        more => format!("{} and {}", told.join(", "), counted(more, "other")),
    }
}

#[cfg(test)]
pub mod tests {
    use super::super::event::tests::moment;
    use super::*;

    pub fn touch(section: Section, who: &str, entry: i64, at: &str, of: &str) -> Touch {
        Touch {
            who: who.into(),
            entry: Some(EntryId(entry)),
            of: BTreeSet::from([of.to_string()]),
            ..Touch::worked_out(section, moment(at), "something was done")
        }
    }

    #[test]
    fn everyone_is_named_once_with_what_they_did() {
        let touches = [
            touch(Section::Looks, "RM", 7, "2026-07-10T06:10", "T0001-W"),
            touch(Section::Seed, "AK", 3, "2026-07-02T08:00", "T0001-W"),
            touch(Section::Looks, "RM", 9, "2026-07-11T06:10", "T0002-U"),
            touch(Section::Cut, "RM", 12, "2026-07-12T07:00", "T0001-W"),
            Touch::worked_out(Section::Air, moment("2026-07-02T08:00"), "18 °C"),
        ];
        let told: Vec<String> = hands(&touches)
            .iter()
            .map(|touch| format!("{} {} {}: {}", touch.who, touch.at.date_naive(), some(&touch.of, 3), touch.words))
            .collect();
        assert_eq!(
            told,
            ["AK 2026-07-02 T0001-W: 1 entry: 1 seed", "RM 2026-07-10 T0001-W, T0002-U: 3 entries: 2 looks, 1 cut",]
        );
        assert_eq!(hands(&touches)[1].until, Some(moment("2026-07-12T07:00")));
        assert_eq!(hands(&touches)[0].until, None);
    }

    #[test]
    fn a_line_names_what_its_words_do_not() {
        let mut look = touch(Section::Looks, "RM", 7, "2026-07-10T06:10", "T0001-W");
        assert_eq!(look.line(), "2026-07-10 06:10 RM  T0001-W: something was done  [entry 7]");
        look.words = "T0001-W: roots plenty".into();
        look.undone_by = Some(EntryId(9));
        look.note = Some("wet".into());
        assert_eq!(
            look.line(),
            "2026-07-10 06:10 RM  T0001-W: roots plenty (wet); no longer counts, entry 9  [entry 7]"
        );
        assert_eq!(lines(&[look.clone(), look.clone()])[0], "LOOKS");
        assert_eq!(lines(&[look.clone(), look]).len(), 3);
    }

    #[test]
    fn a_long_list_of_things_is_cut_and_says_so() {
        let of: BTreeSet<String> = ["c", "a", "b", "d"].map(String::from).into();
        assert_eq!((some(&of, 4), some(&of, 2)), ("a, b, c, d".into(), "a, b and 2 others".into()));
    }
}
