//! What stands against cutting a tray, and what it was treated with.

use super::{Flag, Stage, TrayCard};
use crate::domain::time::Now;
use crate::domain::treatment::Listed;

impl TrayCard {
    /// Why it is not cut now; the same the book refuses.
    pub fn cut_bar(&self, now: Now) -> Option<String> {
        if self.held {
            Some("it is held".into())
        } else if self.bad {
            Some("it showed mould or rot and is not for sale".into())
        } else if self.suspect {
            Some("it is suspect".into())
        } else if matches!(self.stage, Stage::Soaked | Stage::Covered) {
            Some("it is still covered".into())
        } else {
            let until = self.wait_until.filter(|_| self.waits(now))?;
            Some(format!("treated, not before {}", now.local(until).format("%a %d %b %H:%M")))
        }
    }

    /// Its stage; one that was marked ready and is not to be cut now is not called so.
    pub fn stage_words(&self, now: Now) -> &'static str {
        match self.stage {
            Stage::Ready if self.held => "grown, HELD",
            Stage::Ready if self.bad => "grown, NOT FOR SALE",
            Stage::Ready if self.suspect => "grown, SUSPECT",
            Stage::Ready if self.waits(now) => "grown, waiting",
            stage => stage.shown(),
        }
    }

    /// Its wait after a treatment; a treatment whose label nobody read, as long as the tray stands; otherwise one of today
    /// or yesterday.
    pub(super) fn treated_flag(&self, now: Now) -> Option<Flag> {
        let unread = self.treated.iter().find(|treated| treated.listed == Listed::Unknown);
        let told = unread.or(self.treated.first()).map(|treated| {
            let at = now.local(treated.at);
            let ago = (now.day() - at.date_naive()).num_days();
            let when = match ago {
                0 => "today".to_string(),
                1 => "yesterday".to_string(),
                _ => at.format("%a %d %b").to_string(),
            };
            let read = if unread.is_some() { ", label not read" } else { "" };
            (ago, format!("{when}: {}{read}", treated.product))
        });
        if let Some(until) = self.wait_until.filter(|_| self.waits(now)) {
            let until = now.local(until).format("%a %d %b %H:%M");
            let told = told.filter(|_| unread.is_some()).map_or_else(String::new, |(_, told)| format!(" ({told})"));
            return Some(Flag { text: format!("TREATED: not to be cut before {until}{told}"), grave: true });
        }
        let (_, told) = told.filter(|(ago, _)| unread.is_some() || *ago <= 1)?;
        Some(Flag { text: format!("treated {told}"), grave: unread.is_some() })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::card;
    use super::*;
    use crate::domain::time::Instant;
    use crate::domain::treatment::{Sprayed, hours_after};

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-20T06:00:00Z").unwrap())
    }

    fn sprayed(hours: i64, listed: Listed) -> Sprayed {
        Sprayed { at: hours_after(now().instant(), -hours), product: "rinse".into(), listed }
    }

    #[test]
    fn what_is_not_to_be_cut_is_not_called_ready_and_says_why() {
        let ready = TrayCard { stage: Stage::Ready, ..card(1) };
        assert_eq!((ready.stage_words(now()), ready.cut_bar(now())), ("ready to cut", None));
        let until = Instant::parse("2026-07-20T10:00:00Z").unwrap();
        let cases = [
            (
                TrayCard { wait_until: Some(until), ..ready.clone() },
                "grown, waiting",
                "treated, not before Mon 20 Jul 10:00",
            ),
            (TrayCard { suspect: true, ..ready.clone() }, "grown, SUSPECT", "it is suspect"),
            (
                TrayCard { bad: true, ..ready.clone() },
                "grown, NOT FOR SALE",
                "it showed mould or rot and is not for sale",
            ),
            (TrayCard { held: true, bad: true, ..ready.clone() }, "grown, HELD", "it is held"),
            (TrayCard { stage: Stage::Covered, ..ready.clone() }, "covered", "it is still covered"),
        ];
        for (tray, words, bar) in cases {
            assert_eq!((tray.stage_words(now()), tray.cut_bar(now()).as_deref()), (words, Some(bar)));
        }
        let over = TrayCard { wait_until: Some(now().instant()), ..ready };
        assert_eq!((over.stage_words(now()), over.cut_bar(now())), ("ready to cut", None));
    }

    #[test]
    fn a_label_nobody_read_stays_on_the_tray() {
        let told = |treated: Vec<Sprayed>| {
            TrayCard { treated, ..card(1) }.treated_flag(now()).map(|flag| (flag.text, flag.grave))
        };
        assert_eq!(told(vec![]), None);
        assert_eq!(told(vec![sprayed(1, Listed::Yes)]), Some(("treated today: rinse".into(), false)));
        assert_eq!(told(vec![sprayed(24, Listed::Yes)]), Some(("treated yesterday: rinse".into(), false)));
        assert_eq!(told(vec![sprayed(48, Listed::Yes)]), None);
        let unread = vec![sprayed(1, Listed::Yes), sprayed(48, Listed::Unknown)];
        assert_eq!(told(unread), Some(("treated Sat 18 Jul: rinse, label not read".into(), true)));
        let waiting = TrayCard {
            treated: vec![sprayed(1, Listed::Yes)],
            wait_until: Some(hours_after(now().instant(), 5)),
            ..card(1)
        };
        let told = |tray: &TrayCard| tray.treated_flag(now()).map(|flag| flag.text);
        assert_eq!(told(&waiting), Some("TREATED: not to be cut before Mon 20 Jul 11:00".into()));
        let unread = TrayCard { treated: vec![sprayed(24, Listed::Unknown)], ..waiting };
        let words = "TREATED: not to be cut before Mon 20 Jul 11:00 (yesterday: rinse, label not read)";
        assert_eq!(told(&unread), Some(words.into()));
    }
}
