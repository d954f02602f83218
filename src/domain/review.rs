//! Signatures under the records of some days: who read them, up to where, and what came after.

use super::id::EntryId;
use super::period::Period;
use super::text::counted;
use super::time::{Day, Instant, Now};

/// Someone who may decide signed that they read the records of these days.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Signature {
    pub entry: EntryId,
    pub period: Period,
    pub by: String,
    pub name: String,
    pub at: Instant,
    /// The last entry that stood in the log then, and its hash in full.
    pub upto: EntryId,
    pub head: String,
    pub remark: Option<String>,
    /// The entry that took it back.
    pub void_by: Option<EntryId>,
    /// Entries about these days that were written after it, the oldest first.
    pub since: Vec<EntryId>,
}

impl Signature {
    /// Whether an entry about a day came after this signature under that day.
    pub fn before(&self, entry: EntryId, day: Day) -> bool {
        self.void_by.is_none() && entry > self.upto && entry != self.entry && self.period.holds(day)
    }

    /// What came after it, in words.
    pub fn since_words(&self) -> String {
        const MOST: usize = 12;
        if self.since.is_empty() {
            return "nothing changed since".into();
        }
        let named: Vec<String> = self.since.iter().take(MOST).map(|entry| entry.0.to_string()).collect();
        let more = self.since.len().saturating_sub(MOST);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let (verb, noun) = if self.since.len() == 1 { ("was", "entry") } else { ("were", "entries") };
        format!("changed after it was signed: {noun} {}{more} {verb} written since", named.join(", "))
    }
}

/// What is said beside an entry about a day that somebody had signed before it was written. The newest signature under
/// the day counts: who signs again has read what came in between.
pub fn changed_after(signatures: &[Signature], entry: EntryId, day: Day, now: Now) -> Option<String> {
    let covers = signatures.iter().filter(|sign| sign.void_by.is_none() && sign.period.holds(day));
    let newest = covers.max_by_key(|sign| sign.entry)?;
    newest
        .before(entry, day)
        .then(|| format!("changed after it was signed ({}, {})", newest.by, now.local(newest.at).format("%Y-%m-%d")))
}

/// Up to which day the records are signed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Signed {
    pub to: Day,
    pub by: String,
}

impl Signed {
    /// `signed up to 2026-07-12 by AK`.
    pub fn short(&self) -> String {
        format!("signed up to {} by {}", self.to, self.by)
    }

    /// The same, with how long ago that day was.
    pub fn words(&self, today: Day) -> String {
        let ago = match (today - self.to).num_days() {
            days if days <= 0 => String::new(),
            days => format!(", {} ago", counted(usize::try_from(days).unwrap_or(0), "day")),
        };
        self.short() + &ago
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T08:20:00+02:00").unwrap())
    }

    fn signed(entry: i64, from: &str, to: &str) -> Signature {
        Signature {
            entry: EntryId(entry),
            period: Period { from: day(from), to: day(to) },
            by: "AK".into(),
            name: String::new(),
            at: Instant::parse("2026-07-14T23:20:00Z").unwrap(),
            upto: EntryId(entry - 1),
            head: "0".repeat(64),
            remark: None,
            void_by: None,
            since: vec![],
        }
    }

    #[test]
    fn what_is_written_after_a_signature_about_its_days_is_a_change() {
        let sign = [signed(50, "2026-07-01", "2026-07-07")];
        let changed = |entry, on| changed_after(&sign, EntryId(entry), day(on), now());
        assert_eq!(changed(51, "2026-07-07").unwrap(), "changed after it was signed (AK, 2026-07-15)");
        assert_eq!(changed(50, "2026-07-07"), None, "the signature itself");
        assert_eq!(changed(49, "2026-07-07"), None, "read before it was signed");
        assert_eq!(changed(51, "2026-07-08"), None, "another day");
    }

    #[test]
    fn who_signs_again_has_read_what_came_between_and_a_signature_taken_back_covers_nothing() {
        let mut sign = [signed(50, "2026-07-01", "2026-07-07"), signed(60, "2026-07-05", "2026-07-05")];
        let changed = |sign: &[Signature], on| changed_after(sign, EntryId(55), day(on), now()).is_some();
        assert!(changed(&sign, "2026-07-04") && !changed(&sign, "2026-07-05"));
        sign[1].void_by = Some(EntryId(61));
        assert!(changed(&sign, "2026-07-05"));
        sign[0].void_by = Some(EntryId(62));
        assert!(!changed(&sign, "2026-07-05"));
    }

    #[test]
    fn what_came_after_is_counted_and_named() {
        let of = |n: i64| Signature { since: (1..=n).map(EntryId).collect(), ..signed(50, "2026-07-01", "2026-07-07") };
        assert_eq!(of(0).since_words(), "nothing changed since");
        assert_eq!(of(1).since_words(), "changed after it was signed: entry 1 was written since");
        assert_eq!(of(2).since_words(), "changed after it was signed: entries 1, 2 were written since");
        assert!(of(20).since_words().contains("12 and 8 more were written since"));
    }

    #[test]
    fn the_last_signed_day_says_how_long_ago_it_was() {
        let signed = Signed { to: day("2026-07-12"), by: "AK".into() };
        assert_eq!(signed.words(day("2026-07-15")), "signed up to 2026-07-12 by AK, 3 days ago");
        assert_eq!(signed.words(day("2026-07-12")), "signed up to 2026-07-12 by AK");
    }
}
