//! The copy of the book in another place: when its absence is worth a word.

use super::time::{Day, day_number};

/// Days without a newer copy that pass without a word: a weekend and one day on which the stick was forgotten.
const QUIET_DAYS: i64 = 3;

/// What the line of facts says, if anything. `newest`: the day of the newest copy, if there ever was one.
pub fn overdue(newest: Option<Day>, today: Day) -> Option<String> {
    let Some(newest) = newest else { return Some("no second copy yet".into()) };
    let days = day_number(newest, today);
    (days > QUIET_DAYS).then(|| format!("no second copy since {} ({days} days)", newest.format("%d %b")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_days_pass_without_a_word() {
        let said = |newest: Option<&str>| overdue(newest.map(|d| d.parse().unwrap()), "2026-07-15".parse().unwrap());
        assert_eq!(said(Some("2026-07-15")), None);
        assert_eq!(said(Some("2026-07-12")), None);
        assert_eq!(said(Some("2026-07-11")).as_deref(), Some("no second copy since 11 Jul (4 days)"));
        assert_eq!(said(None).as_deref(), Some("no second copy yet"));
    }
}
