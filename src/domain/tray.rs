//! A tray in the room: its stage, what was last seen, and the one sign its cell shows.

use super::code::Code;
use super::crop::Plan;
use super::id::{CropId, SowingId, TrayId};
use super::look::{Basis, Faults, Mist, Roots, Stand};
use super::room::{Place, Zone};
use super::time::{Day, Instant, Now, day_number};
use super::words::words;

words!(
    /// Where a tray is in its life, as done or seen and never from the calendar.
    Stage {
        Soaked = "soaked" / "soaked",
        Covered = "covered" / "covered",
        Lit = "lit" / "under light",
        Ready = "ready" / "ready to cut",
        Cut = "cut" / "cut",
        LeftAlive = "left_alive" / "left alive",
        Thrown = "thrown" / "thrown out",
    }
);

impl Stage {
    /// Still on a rack.
    pub fn in_room(self) -> bool {
        matches!(self, Self::Soaked | Self::Covered | Self::Lit | Self::Ready)
    }
}

words!(
    /// Why a tray was lost.
    LossReason {
        Mould = "mould" / "mould",
        Rot = "rot" / "rot",
        PoorGermination = "poor_germination" / "poor germination",
        DriedOut = "dried_out" / "dried out",
        FellOver = "fell_over" / "seedlings fell over",
        Overgrown = "overgrown" / "past its window",
        Accident = "accident" / "dropped or spoiled",
        NotNeeded = "not_needed" / "not needed",
    }
);

words!(
    /// What happened to cover, weight and lower tray of a tray thrown out.
    Gear { Washed = "washed" / "washed", Binned = "binned" / "binned", ToWash = "to_wash" / "put aside to wash" }
);

words!(
    /// The one sign of a place. Each has a word in the legend.
    Sign {
        Held = "held" / "held",
        Suspect = "suspect" / "suspect",
        Late = "late" / "late",
        Due = "due" / "due",
        Waiting = "waiting" / "treated, waiting",
        Ready = "ready" / "ready",
        Looked = "looked" / "seen today",
        New = "new" / "sown today",
        Empty = "empty" / "empty",
    }
);

/// Something open about a tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flag {
    pub text: String,
    /// Concerns safety: no figure and no key clears it by the way.
    pub grave: bool,
}

/// The newest look at a tray.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct LastLook {
    pub day: Day,
    pub basis: Basis,
    pub roots: Option<Roots>,
    pub stand: Option<Stand>,
    pub fuzz: Option<Mist>,
    pub faults: Faults,
    pub who: String,
}

impl LastLook {
    /// One phrase: `roots plenty (AK)`.
    pub fn words(&self) -> String {
        let mut parts = Vec::new();
        parts.extend(self.roots.map(|r| format!("roots {}", r.shown())));
        parts.extend(self.stand.map(|s| format!("stand {}", s.shown())));
        parts.extend(self.fuzz.map(|m| format!("fuzz, {}", m.shown())));
        if !self.faults.is_empty() {
            parts.push(self.faults.words());
        }
        if parts.is_empty() {
            parts.push("looked at".into());
        }
        if self.basis != Basis::Tray {
            parts.push(self.basis.shown().into());
        }
        format!("{} ({})", parts.join(", "), self.who)
    }
}

/// Everything a screen says about one tray that stands in the room.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct TrayCard {
    pub id: TrayId,
    pub sowing: SowingId,
    pub sowing_code: String,
    pub crop: CropId,
    pub letters: String,
    pub crop_name: String,
    pub roots_hidden: bool,
    pub hairs_expected: bool,
    pub sown: Day,
    /// Since when it is in the book: later than its sowing if it stood there before.
    pub known: Day,
    pub plan: Plan,
    pub stage: Stage,
    pub place: Place,
    pub mats_left: i64,
    pub last: Option<LastLook>,
    pub watered_on: Option<Day>,
    pub suspect: bool,
    /// Showed mould or rot, or was treated so that it is not for sale.
    pub bad: bool,
    /// Not to be cut before, after a treatment.
    pub wait_until: Option<Instant>,
    pub held: bool,
}

impl TrayCard {
    /// The code on its label, such as `T0001-W`.
    pub fn code(&self) -> String {
        Code::tray(self.id.0).to_string()
    }

    /// Day of growth; the sowing is day 0.
    pub fn day(&self, today: Day) -> i64 {
        day_number(self.sown, today)
    }

    /// First day of the cutting window.
    pub fn cut_from(&self) -> Day {
        self.sown + chrono::Duration::days(self.plan.cut_from_d)
    }

    /// Last day of the cutting window.
    pub fn cut_to(&self) -> Day {
        self.sown + chrono::Duration::days(self.plan.cut_to_d)
    }

    /// Wants to be lifted today: every tray every day, from the day after its sowing.
    pub fn look_due(&self, today: Day) -> bool {
        self.sown < today && self.last.as_ref().is_none_or(|look| look.day < today)
    }

    /// Was missed the day before as well.
    pub fn look_late(&self, today: Day) -> bool {
        let seen = self.last.as_ref().map_or(self.sown.max(self.known), |look| look.day);
        self.look_due(today) && day_number(seen, today) > 1
    }

    /// Has had no water yet today.
    pub fn water_due(&self, today: Day) -> bool {
        self.sown < today && self.watered_on.is_none_or(|day| day < today)
    }

    /// Suspect, or shown to be mouldy or rotten: never for sale as it stands.
    pub fn doubtful(&self) -> bool {
        self.suspect || self.bad
    }

    /// Marked ready, or inside its cutting window.
    pub fn ready(&self, today: Day) -> bool {
        self.stage == Stage::Ready || (self.stage == Stage::Lit && today >= self.cut_from())
    }

    /// Still to wait after a treatment before it may be cut.
    pub fn waits(&self, now: Now) -> bool {
        self.wait_until.is_some_and(|until| until > now.instant())
    }

    /// Ready, and nothing known stands against cutting it.
    pub fn may_be_cut(&self, now: Now) -> bool {
        self.ready(now.day()) && !self.doubtful() && !self.held && !self.waits(now)
    }

    /// Whether roots are graded; otherwise the stand is.
    pub fn grades_roots(&self) -> bool {
        !self.roots_hidden && matches!(self.stage, Stage::Soaked | Stage::Covered)
    }

    /// Fuzz is looked for as root hairs: a crop known for them, day 2 to 4.
    pub fn hairs_time(&self, today: Day) -> bool {
        self.hairs_expected && (2..=4).contains(&self.day(today))
    }

    /// Wants care of its own, so no shelf glance may include it.
    pub fn needs_own_look(&self) -> Option<&'static str> {
        if self.stage == Stage::Covered || self.stage == Stage::Soaked || self.place.zone == Zone::Covered {
            Some("covered trays are lifted one by one")
        } else if self.place.zone == Zone::Isolation {
            Some("a tray set apart is looked at by itself")
        } else if self.doubtful() {
            Some("a suspect tray is looked at by itself")
        } else if self.held {
            Some("a held tray is looked at by itself")
        } else if self.last.as_ref().is_some_and(|look| look.fuzz.is_some() || !look.faults.is_empty()) {
            Some("something was seen on it last time, so it is looked at by itself")
        } else {
            None
        }
    }

    /// The sign of its cell.
    pub fn sign(&self, now: Now) -> Sign {
        let today = now.day();
        if self.held {
            Sign::Held
        } else if self.doubtful() {
            Sign::Suspect
        } else if self.look_late(today) {
            Sign::Late
        } else if self.look_due(today) {
            Sign::Due
        } else if self.may_be_cut(now) {
            Sign::Ready
        } else if self.ready(today) {
            Sign::Waiting
        } else if self.sown >= today && self.last.is_none() {
            Sign::New
        } else {
            Sign::Looked
        }
    }

    /// Open flags in words, worst first; the grave ones concern safety.
    pub fn flags(&self, now: Now) -> Vec<Flag> {
        let today = now.day();
        let grave = |text: &str| Flag { text: text.into(), grave: true };
        let soon = |text: &str| Flag { text: text.into(), grave: false };
        let mut flags = Vec::new();
        if self.held {
            flags.push(grave("HELD: do not cut or move out"));
        }
        if self.bad {
            flags.push(grave("NOT FOR SALE: showed mould or rot"));
        } else if self.suspect {
            flags.push(grave("SUSPECT: fuzz not cleared"));
        }
        if let Some(until) = self.wait_until.filter(|_| self.waits(now)) {
            let until = now.local(until).format("%a %d %b %H:%M");
            flags.push(grave(&format!("TREATED: not to be cut before {until}")));
        }
        if self.look_late(today) {
            flags.push(soon("missed yesterday"));
        }
        if self.day(today) > self.plan.cut_to_d {
            flags.push(soon("past its cutting window"));
        }
        if self.stage == Stage::Covered && self.day(today) > self.plan.cover_d {
            flags.push(soon("still covered, past the plan"));
        }
        flags
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::super::id::{PlaceId, PlanId, RackId};
    use super::*;

    pub fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    /// Radish in its third day at place A 1-1.
    pub fn card(id: i64) -> TrayCard {
        TrayCard {
            id: TrayId(id),
            sowing: SowingId(1),
            sowing_code: "B0001-0".into(),
            crop: CropId(1),
            letters: "RAD".into(),
            crop_name: "radish".into(),
            roots_hidden: false,
            hairs_expected: true,
            sown: day("2026-07-10"),
            known: day("2026-07-10"),
            plan: Plan {
                id: PlanId(1),
                version: 1,
                soak_h: 0,
                cover_d: 4,
                cut_from_d: 6,
                cut_to_d: 10,
                seeds_dm2: None,
                source: String::new(),
                roots: vec![(1, Roots::None), (2, Roots::Peeking)],
            },
            stage: Stage::Lit,
            place: Place {
                id: PlaceId(id),
                rack: RackId(1),
                rack_name: "A".into(),
                rack_sort: 1,
                shelf: 1,
                pos: id,
                zone: Zone::Lit,
            },
            mats_left: 1,
            last: None,
            watered_on: None,
            suspect: false,
            bad: false,
            wait_until: None,
            held: false,
        }
    }

    pub fn looked(on: &str) -> LastLook {
        LastLook {
            day: day(on),
            basis: Basis::Tray,
            roots: Some(Roots::Plenty),
            stand: None,
            fuzz: None,
            faults: Faults::default(),
            who: "AK".into(),
        }
    }

    fn noon(on: &str) -> Now {
        Now(day(on).and_hms_opt(12, 0, 0).unwrap().and_utc().fixed_offset())
    }

    #[test]
    fn every_tray_is_due_every_day_after_its_sowing() {
        let new = card(1);
        assert!(!new.look_due(day("2026-07-10")));
        assert_eq!(new.sign(noon("2026-07-10")), Sign::New);
        assert!(new.look_due(day("2026-07-11")) && !new.look_late(day("2026-07-11")));
        assert!(new.look_late(day("2026-07-12")));
        let stood = TrayCard { known: day("2026-07-12"), ..card(1) };
        assert_eq!(stood.sign(noon("2026-07-12")), Sign::Due);
        assert_eq!(stood.sign(noon("2026-07-14")), Sign::Late);
        let seen = TrayCard { last: Some(looked("2026-07-12")), ..card(1) };
        assert_eq!(seen.sign(noon("2026-07-12")), Sign::Looked);
        assert_eq!(seen.sign(noon("2026-07-13")), Sign::Due);
        assert_eq!(seen.sign(noon("2026-07-14")), Sign::Late);
    }

    #[test]
    fn safety_signs_stand_above_everything_else() {
        let worst = TrayCard { held: true, suspect: true, ..card(1) };
        assert_eq!(worst.sign(noon("2026-07-13")), Sign::Held);
        assert_eq!(TrayCard { suspect: true, ..card(1) }.sign(noon("2026-07-13")), Sign::Suspect);
        let ready = TrayCard { last: Some(looked("2026-07-17")), ..card(1) };
        assert_eq!(ready.sign(noon("2026-07-17")), Sign::Ready);
        assert!(ready.may_be_cut(noon("2026-07-17")));
        let until = |text| Instant::parse(text);
        let treated = TrayCard { wait_until: until("2026-07-17T12:00:01Z"), ..ready.clone() };
        assert_eq!(treated.sign(noon("2026-07-17")), Sign::Waiting);
        let over = TrayCard { wait_until: until("2026-07-17T12:00:00Z"), ..ready.clone() };
        assert_eq!(over.sign(noon("2026-07-17")), Sign::Ready);
        for barred in [
            treated,
            TrayCard { suspect: true, ..ready.clone() },
            TrayCard { bad: true, ..ready.clone() },
            TrayCard { held: true, ..ready.clone() },
        ] {
            assert!(barred.ready(day("2026-07-17")) && !barred.may_be_cut(noon("2026-07-17")), "{barred:?}");
        }
        assert_eq!(TrayCard { suspect: true, ..ready }.sign(noon("2026-07-17")), Sign::Suspect);
    }

    #[test]
    fn a_shelf_glance_leaves_out_whatever_wants_care() {
        assert_eq!(card(1).needs_own_look(), None);
        let covered = Place { zone: Zone::Covered, ..card(1).place };
        let apart = Place { zone: Zone::Isolation, ..card(1).place };
        let odd = LastLook { faults: Faults(1), ..looked("2026-07-12") };
        for own in [
            TrayCard { stage: Stage::Covered, ..card(1) },
            TrayCard { place: covered, ..card(1) },
            TrayCard { place: apart, ..card(1) },
            TrayCard { suspect: true, ..card(1) },
            TrayCard { held: true, ..card(1) },
            TrayCard { last: Some(odd), ..card(1) },
        ] {
            assert!(own.needs_own_look().is_some(), "{own:?}");
        }
    }

    #[test]
    fn hairs_are_expected_on_days_two_to_four() {
        let seen: Vec<bool> = (10..=16).map(|d| card(1).hairs_time(day(&format!("2026-07-{d}")))).collect();
        assert_eq!(seen, [false, false, true, true, true, false, false]);
        assert!(!TrayCard { hairs_expected: false, ..card(1) }.hairs_time(day("2026-07-12")));
    }
}
