//! What a check of the log's chain found, in words.

use super::time::{Instant, Now};

/// What each entry's hash covers, for people.
pub const MEANING: &str = "Every entry carries a hash over all it wrote and over the hash of the entry before. Whoever keeps the last \
     hash on paper can tell later that nothing before it was changed, added or taken out.";

/// The first link that does not fit.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Broken {
    pub entry: i64,
    /// `None`: rows name an entry that is not in the log.
    pub told: Option<BrokenEntry>,
}

/// The entry there, as far as it can still be read.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct BrokenEntry {
    /// Such as `look`.
    pub kind: String,
    pub who: String,
    pub at: Option<Instant>,
    /// What it says now; empty where that cannot be read.
    pub says: String,
}

impl Broken {
    /// `entry 12, look, typed 2026-07-12 06:10 by AK ("T0001-W: roots plenty")`.
    pub fn words(&self, now: Now) -> String {
        let Some(told) = &self.told else {
            return format!("entry {}, which is not in the log although something was written for it", self.entry);
        };
        let at = told.at.map_or_else(
            || "at a time that cannot be read".to_string(),
            |at| now.local(at).format("%Y-%m-%d %H:%M").to_string(),
        );
        let says = if told.says.is_empty() { String::new() } else { format!(" (\"{}\")", told.says) };
        format!("entry {}, {}, typed {at} by {}{says}", self.entry, told.kind.replace('_', " "), told.who)
    }
}

/// What the whole chain came to.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct Proof {
    pub entries: i64,
    /// The hash of the newest entry, 64 hexadecimal digits.
    pub head: String,
    pub broken: Option<Broken>,
}

impl Proof {
    pub fn whole(&self) -> bool {
        self.broken.is_none()
    }

    /// Whether it is whole, or where it breaks first and what that means.
    pub fn words(&self, now: Now) -> String {
        match &self.broken {
            None => match self.entries {
                0 => "The log is empty.".into(),
                1 => "The chain is whole: 1 entry is as it was written.".into(),
                n => format!("The chain is whole: all {n} entries are as they were written."),
            },
            Some(broken) => format!(
                "THE CHAIN IS BROKEN, of {} entries first at {}. That entry, something it wrote, or one that stood before it was changed \
                 from outside. Keep this file as it is, and compare it with a backup.",
                self.entries,
                broken.words(now)
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T08:20:00+02:00").unwrap())
    }

    #[test]
    fn a_whole_chain_says_of_how_many() {
        let of = |entries| Proof { entries, ..Proof::default() }.words(now());
        assert_eq!(of(0), "The log is empty.");
        assert_eq!(of(1), "The chain is whole: 1 entry is as it was written.");
        assert_eq!(of(12), "The chain is whole: all 12 entries are as they were written.");
    }

    #[test]
    fn the_first_broken_link_is_named_with_its_kind_its_time_and_its_hands() {
        let at = Instant::parse("2026-07-12T04:10:00Z");
        let told = BrokenEntry { kind: "seed_received".into(), who: "AK".into(), at, says: "500 g of pea".into() };
        let broken = Broken { entry: 7, told: Some(told.clone()) };
        assert_eq!(broken.words(now()), "entry 7, seed received, typed 2026-07-12 06:10 by AK (\"500 g of pea\")");
        let words = Proof { entries: 9, head: String::new(), broken: Some(broken) }.words(now());
        assert!(words.starts_with("THE CHAIN IS BROKEN, of 9 entries first at entry 7, seed received"), "{words}");
        let unread = Broken { entry: 7, told: Some(BrokenEntry { at: None, says: String::new(), ..told }) };
        assert_eq!(unread.words(now()), "entry 7, seed received, typed at a time that cannot be read by AK");
        assert!(Broken { entry: 99, told: None }.words(now()).starts_with("entry 99, which is not in the log"));
    }
}
