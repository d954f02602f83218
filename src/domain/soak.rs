//! Seed in water before it is sown: soaked, or cleaned with a sanitiser. It stays the jar's until the sowing takes it.

use chrono::Duration;

use super::id::{SeedLotId, SoakId};
use super::power_cut::lasting;
use super::seed_lot::SEED_MG_MAX;
use super::sowing::SOAK_H;
use super::time::{Instant, Now};

/// Rinses that can be believed.
pub const RINSES_MAX: i64 = 50;

/// Hours after draining in which seed is still taken for soaked.
pub const KEEPS_H: i64 = 48;

/// What can hurt someone, and what nobody here can decide.
pub const CAUTIONS: [&str; 2] = [
    "Never mix bleach with acid, peroxide or ammonia: the gas can kill. Strong peroxide burns: goggles and gloves.",
    "Label and local rules decide what may touch seed for food, how strong, how long. Nothing is proposed.",
];

/// What seed is cleaned with.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Sanitiser {
    pub product: String,
    pub strength: String,
}

/// Seed that goes into water, or into a sanitiser.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewSoak {
    pub lot: SeedLotId,
    /// Dry.
    pub mg: i64,
    pub start: Instant,
    /// When it is to be drained.
    pub minutes: i64,
    /// `None`: soaked in plain water.
    pub with: Option<Sanitiser>,
}

impl NewSoak {
    /// What can be said against it without the book.
    pub fn check(&self, now: Instant) -> Result<(), (&'static str, String)> {
        if !(1..=SEED_MG_MAX).contains(&self.mg) {
            return Err(("grams", "Say how much dry seed goes in: more than 0 g.".into()));
        }
        if self.start > now {
            return Err(("start", "That time is still to come: give the time the seed went in.".into()));
        }
        if !(1..=SOAK_H * 60).contains(&self.minutes) {
            let field = if self.with.is_some() { "minutes" } else { "hours" };
            return Err((field, format!("Say for how long, a minute to {SOAK_H} hours: longer drowns the seed.")));
        }
        let Some(with) = &self.with else { return Ok(()) };
        for (field, text) in [("product", &with.product), ("strength", &with.strength)] {
            if !(1..=80).contains(&text.trim().chars().count()) {
                return Err((field, "Say with what it is cleaned, and how strong, as the label has it.".into()));
            }
        }
        Ok(())
    }
}

/// Seed that is in water, or was.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Soaking {
    pub id: SoakId,
    pub lot: SeedLotId,
    pub lot_code: String,
    pub crop_name: String,
    /// Dry.
    pub mg: i64,
    pub start: Instant,
    pub minutes: i64,
    pub with: Option<Sanitiser>,
    pub drained: Option<Instant>,
    /// Unknown where a sowing drained it.
    pub rinses: Option<i64>,
    /// Dry grams of it that were sown.
    pub sown_mg: i64,
}

impl Soaking {
    pub fn running(&self) -> bool {
        self.drained.is_none()
    }

    pub fn due_at(&self) -> Instant {
        Instant(self.start.0 + Duration::minutes(self.minutes))
    }

    /// To be drained, and still in.
    pub fn due(&self, now: Instant) -> bool {
        self.running() && self.due_at() <= now
    }

    /// Minutes in water, up to now while it is running.
    pub fn lasted(&self, now: Instant) -> i64 {
        (self.drained.unwrap_or(now).0 - self.start.0).num_minutes()
    }

    /// Longer than seed stands.
    pub fn too_long(&self, now: Instant) -> bool {
        self.drained.unwrap_or(now).0 - self.start.0 > Duration::hours(SOAK_H)
    }

    /// Dry grams that no batch got yet.
    pub fn left_mg(&self) -> i64 {
        (self.mg - self.sown_mg).max(0)
    }

    /// Nothing worth sowing is left: nobody pours wet seed to the gram, so a tenth more or less is the same seed.
    pub fn all_sown(&self) -> bool {
        self.left_mg() * 10 <= self.mg
    }

    /// Seed of it can still be sown: it is running, or was drained not long ago.
    pub fn at_hand(&self, now: Instant) -> bool {
        let fresh = self.drained.is_none_or(|at| now.0 - at.0 <= Duration::hours(KEEPS_H));
        fresh && !self.all_sown()
    }

    /// `soaking since 21:10, 8 h so far; drain at 07:10`, or what came of it.
    pub fn words(&self, now: Now) -> String {
        let [so_far, then] = self.told(now);
        if then.is_empty() { so_far } else { format!("{so_far}; {then}") }
    }

    /// The same where a line may be cut: what is to be done first.
    pub fn words_in_short(&self, now: Now) -> String {
        let [so_far, then] = self.told(now);
        if then.is_empty() { so_far } else { format!("{then}; {so_far}") }
    }

    /// What it did so far, and what is to be done.
    fn told(&self, now: Now) -> [String; 2] {
        let (doing, done) = if self.with.is_some() { ("cleaning", "cleaned") } else { ("soaking", "soaked") };
        let lasted = self.lasted(now.instant());
        let length = lasting(lasted);
        if let Some(drained) = self.drained {
            return [format!("{done} {length}, drained {}", clock(drained, now)), String::new()];
        }
        let then = if self.too_long(now.instant()) {
            format!("over {SOAK_H} h, seed drowns")
        } else if self.due(now.instant()) {
            format!("to be drained since {}", clock(self.due_at(), now))
        } else {
            format!("drain at {}", clock(self.due_at(), now))
        };
        let so_far = if lasted > 0 { format!(", {length} so far") } else { String::new() };
        [format!("{doing} since {}{so_far}", clock(self.start, now)), then]
    }

    /// `with bleach, 2 %`; nothing of plain water.
    pub fn with_words(&self) -> Option<String> {
        self.with.as_ref().map(|with| format!("with {}, {}", with.product, with.strength))
    }
}

/// From which soaks seed of a lot comes, and how much of each: the oldest first, soaking and cleaning each by itself, since
/// the same seed may have had both.
pub fn taken(soaks: &[Soaking], lot: SeedLotId, mg: i64) -> Vec<(SoakId, i64)> {
    let mut taken = Vec::new();
    for cleaned in [true, false] {
        let mut of: Vec<&Soaking> =
            soaks.iter().filter(|soak| soak.lot == lot && soak.with.is_some() == cleaned).collect();
        of.sort_by_key(|soak| (soak.start, soak.id));
        let mut want = mg;
        for soak in of {
            let part = want.min(soak.left_mg());
            if part > 0 {
                taken.push((soak.id, part));
                want -= part;
            }
        }
    }
    taken
}

/// The time by the clock on the wall, with its day where that is another.
fn clock(at: Instant, now: Now) -> String {
    let at = now.local(at);
    let same = at.date_naive() == now.day();
    at.format(if same { "%H:%M" } else { "%a %d %b %H:%M" }).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now(text: &str) -> Now {
        Now(chrono::DateTime::parse_from_rfc3339(&format!("{text}:00+02:00")).unwrap())
    }

    fn at(text: &str) -> Instant {
        now(text).instant()
    }

    /// 225 g of the first lot in plain water for ten hours.
    fn soaking(id: i64, start: &str, drained: Option<&str>) -> Soaking {
        Soaking {
            id: SoakId(id),
            lot: SeedLotId(1),
            lot_code: "S0001-R".into(),
            crop_name: "pea".into(),
            mg: 225_000,
            start: at(start),
            minutes: 600,
            with: None,
            drained: drained.map(at),
            rinses: None,
            sown_mg: 0,
        }
    }

    fn cleaning(id: i64, start: &str) -> Soaking {
        let with = Some(Sanitiser { product: "peroxide".into(), strength: "as the label".into() });
        Soaking { with, minutes: 10, ..soaking(id, start, None) }
    }

    #[test]
    fn what_it_is_said_to_be_by_the_clock() {
        let running = soaking(1, "2026-07-11T21:10", None);
        for (moment, words) in [
            ("2026-07-11T21:10", "soaking since 21:10; drain at Sun 12 Jul 07:10"),
            ("2026-07-11T21:15", "soaking since 21:10, 5 min so far; drain at Sun 12 Jul 07:10"),
            ("2026-07-12T05:10", "soaking since Sat 11 Jul 21:10, 8 h so far; drain at 07:10"),
            ("2026-07-12T07:10", "soaking since Sat 11 Jul 21:10, 10 h so far; to be drained since 07:10"),
            ("2026-07-13T21:10", "soaking since Sat 11 Jul 21:10, 48 h so far; to be drained since Sun 12 Jul 07:10"),
            ("2026-07-13T21:11", "soaking since Sat 11 Jul 21:10, 48 h 1 min so far; over 48 h, seed drowns"),
        ] {
            assert_eq!(running.words(now(moment)), words);
        }
        let short = running.words_in_short(now("2026-07-12T05:10"));
        assert_eq!(short, "drain at 07:10; soaking since Sat 11 Jul 21:10, 8 h so far");
        let drained = soaking(1, "2026-07-11T21:10", Some("2026-07-12T06:10"));
        assert_eq!(drained.words(now("2026-07-12T06:30")), "soaked 9 h, drained 06:10");
        let cleaning = cleaning(2, "2026-07-12T06:00");
        assert_eq!(
            cleaning.words(now("2026-07-12T06:10")),
            "cleaning since 06:00, 10 min so far; to be drained since 06:10"
        );
        assert_eq!(cleaning.with_words().as_deref(), Some("with peroxide, as the label"));
    }

    #[test]
    fn it_is_due_at_its_minute_and_at_hand_for_two_days_after_draining() {
        let running = soaking(1, "2026-07-11T21:10", None);
        assert!(!running.due(at("2026-07-12T07:09")) && running.due(at("2026-07-12T07:10")));
        assert!(running.at_hand(at("2026-07-20T07:10")), "nobody has drained it");
        let drained = soaking(1, "2026-07-11T21:10", Some("2026-07-12T06:10"));
        assert!(!drained.due(at("2026-07-12T08:00")));
        assert!(drained.at_hand(at("2026-07-14T06:10")) && !drained.at_hand(at("2026-07-14T06:11")));
        let sown = |sown_mg| Soaking { sown_mg, ..drained.clone() }.at_hand(at("2026-07-12T06:10"));
        assert_eq!([0, 202_499, 202_500, 225_000].map(sown), [true, true, false, false], "a tenth is nothing");
    }

    #[test]
    fn the_oldest_goes_first_and_what_was_cleaned_counts_beside_what_was_soaked() {
        let soaks = [
            soaking(3, "2026-07-12T05:00", None),
            cleaning(1, "2026-07-11T21:00"),
            Soaking { sown_mg: 100_000, ..soaking(2, "2026-07-11T21:30", None) },
            Soaking { lot: SeedLotId(2), ..soaking(4, "2026-07-11T20:00", None) },
        ];
        let ids =
            |mg| taken(&soaks, SeedLotId(1), mg).into_iter().map(|(id, mg)| (id.0, mg / 1000)).collect::<Vec<_>>();
        assert_eq!(ids(200_000), [(1, 200), (2, 125), (3, 75)]);
        assert_eq!(ids(100_000), [(1, 100), (2, 100)]);
        assert_eq!(ids(900_000), [(1, 225), (2, 125), (3, 225)], "the rest comes from the jar");
        assert_eq!(taken(&soaks, SeedLotId(9), 5), []);
    }

    #[test]
    fn what_can_be_said_against_it_without_the_book() {
        let moment = at("2026-07-12T06:00");
        let new = NewSoak { lot: SeedLotId(1), mg: 225_000, start: moment, minutes: 600, with: None };
        let clean = |product: &str, strength: &str| NewSoak {
            with: Some(Sanitiser { product: product.into(), strength: strength.into() }),
            ..new.clone()
        };
        assert_eq!(new.check(moment), Ok(()));
        assert_eq!(clean("bleach", "as the label").check(moment), Ok(()));
        for (bad, field) in [
            (NewSoak { mg: 0, ..new.clone() }, "grams"),
            (NewSoak { start: at("2026-07-12T06:01"), ..new.clone() }, "start"),
            (NewSoak { minutes: 0, ..new.clone() }, "hours"),
            (NewSoak { minutes: 48 * 60 + 1, ..new.clone() }, "hours"),
            (NewSoak { minutes: 0, ..clean("bleach", "x") }, "minutes"),
            (clean(" ", "3 %"), "product"),
            (clean("bleach", " "), "strength"),
        ] {
            assert_eq!(bad.check(moment).unwrap_err().0, field);
        }
    }
}
