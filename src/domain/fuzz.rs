//! Root hairs, mould or rot: what was seen, what it weighs, and what it comes to.

mod points;
mod question;
#[cfg(test)]
mod tests;

use super::refusal::Refusal;
use super::words::words;
pub use points::{OURS, Points, Weight};
pub use question::{ASKED, open_questions};

words!(
    /// One thing seen of white fuzz. The order is that of the bits in the book: new ones come last.
    Sign {
        Vanishes = "vanishes" / "lies down when misted",
        Stands = "stands" / "stands when misted",
        BackWhenDry = "back_when_dry" / "back within hours as it dries",
        RoundRoots = "round_roots" / "straight fibres round each root",
        Web = "web" / "web from seed to seed, over stems or bare mat",
        OnlyRoot = "only_root" / "only on the roots",
        OnStems = "on_stems" / "on stems, leaves, hulls or dead seed",
        Alike = "alike" / "alike over the whole tray",
        Patches = "patches" / "in patches",
        Wider = "wider" / "wider than yesterday",
        Coloured = "coloured" / "grey, black, blue or green",
        White = "white" / "bright white",
        Smell = "smell" / "musty or sour smell noticed",
        Slime = "slime" / "slime",
        /// Filled in from the tray.
        EarlyDay = "early_day" / "day 2 to 4",
        /// Filled in from the tray.
        LateDay = "late_day" / "first seen on day 6 or later",
        BrownRoots = "brown_roots" / "roots brown and soft, the outer layer slips off",
        Falling = "falling" / "seedlings fall, stem thin or water-soaked",
        DeadSeed = "dead_seed" / "soft fuzzy seed that did not sprout",
        FirmRoots = "firm_roots" / "roots white and firm",
    }
);

words!(
    /// How far it reaches.
    Extent { Seed = "seed" / "one seed", Patch = "patch" / "a patch", Spread = "spread" / "spread" }
);

words!(
    /// What the signs of one check come to.
    Verdict {
        Hairs = "hairs" / "hairs",
        LooksLikeHairs = "looks_like_hairs" / "looks like hairs: mist it",
        CannotTell = "cannot_tell" / "cannot tell",
        Mould = "mould" / "mould",
        Rot = "rot" / "rot",
        MouldOrRot = "mould_or_rot" / "mould or rot",
        HairsAndMould = "hairs_and_mould" / "hairs and mould",
    }
);

/// Signs of place, one of which hairs must show.
const PLACE: [Sign; 3] = [Sign::RoundRoots, Sign::OnlyRoot, Sign::Alike];
/// Signs that hairs never show.
const VETO: [Sign; 3] = [Sign::Coloured, Sign::BrownRoots, Sign::Falling];
/// Signs of which one spot shows one at most, and why.
const CLASH: [(Sign, Sign, &str); 5] = [
    (Sign::Vanishes, Sign::Stands, "Fuzz that lies down does not stand"),
    (Sign::OnlyRoot, Sign::OnStems, "Fuzz only on the roots is not on stems, leaves, hulls or dead seed"),
    (Sign::Alike, Sign::Patches, "Fuzz alike over the whole tray is not in patches"),
    (Sign::FirmRoots, Sign::BrownRoots, "Roots white and firm are not brown and soft"),
    (Sign::EarlyDay, Sign::LateDay, "Day 2 to 4 is not day 6 or later"),
];
/// Points that name it.
pub(super) const ENOUGH: i64 = 6;
/// By how many points more than the other side.
const AHEAD: i64 = 4;

impl Verdict {
    /// Mould or rot was named: the tray is not for sale.
    pub fn is_bad(self) -> bool {
        matches!(self, Self::Mould | Self::Rot | Self::MouldOrRot | Self::HairsAndMould)
    }

    /// Not known to be hairs, so the tray is suspect.
    pub fn is_suspect(self) -> bool {
        self != Self::Hairs
    }

    /// Of two checks of one tray on one day: two spots that differ.
    #[must_use]
    pub fn beside(self, other: Self) -> Self {
        if (self == Self::Hairs && other.is_bad()) || (self.is_bad() && other == Self::Hairs) {
            Self::HairsAndMould
        } else {
            self
        }
    }
}

/// A set of [`Sign`]s, one bit each in the order of [`Sign::ALL`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Signs(pub i64);

impl Signs {
    fn bit(sign: Sign) -> i64 {
        Sign::ALL.iter().position(|s| *s == sign).map_or(0, |n| 1 << n)
    }

    pub fn of(signs: &[Sign]) -> Self {
        signs.iter().fold(Self::default(), |set, sign| set.with(*sign))
    }

    pub fn has(self, sign: Sign) -> bool {
        self.0 & Self::bit(sign) != 0
    }

    #[must_use]
    pub fn with(self, sign: Sign) -> Self {
        Self(self.0 | Self::bit(sign))
    }

    #[must_use]
    pub fn without(self, sign: Sign) -> Self {
        Self(self.0 & !Self::bit(sign))
    }

    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    pub fn iter(self) -> impl Iterator<Item = Sign> {
        Sign::ALL.iter().copied().filter(move |sign| self.has(*sign))
    }

    /// Whether one spot can show a sign beside these.
    pub fn goes_with(self, sign: Sign) -> bool {
        self.with(sign).check().is_ok()
    }

    /// Was it misted.
    pub fn misted(self) -> bool {
        self.has(Sign::Vanishes) || self.has(Sign::Stands)
    }

    /// The same with what the day of growth says: day 2 to 4, or first seen on day 6 or later.
    #[must_use]
    pub fn on_day(self, day: i64, first_seen: i64) -> Self {
        let set = |set: Self, sign, yes: bool| if yes { set.with(sign) } else { set.without(sign) };
        set(set(self, Sign::EarlyDay, (2..=4).contains(&day)), Sign::LateDay, first_seen >= 6)
    }

    /// Those that hairs never show.
    pub fn vetoes(self) -> impl Iterator<Item = Sign> {
        VETO.into_iter().filter(move |sign| self.has(*sign))
    }

    /// The signs as one phrase.
    pub fn words(self) -> String {
        self.iter().map(Sign::shown).collect::<Vec<_>>().join(", ")
    }

    /// Refuses what cannot be true of one spot.
    pub fn check(self) -> Result<(), Refusal> {
        let clash = CLASH.into_iter().find(|(one, other, _)| self.has(*one) && self.has(*other));
        let Some((.., clash)) = clash else { return Ok(()) };
        let sentence = format!("{clash}: two spots that differ are two checks, write each by itself.");
        Err(Refusal::new("signs_clash", sentence))
    }
}

/// What was seen of one spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Evidence {
    pub signs: Signs,
    pub extent: Option<Extent>,
}

/// What the signs come to, with its reasons.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Judgement {
    pub verdict: Verdict,
    pub hair: i64,
    pub mould: i64,
    pub rot: i64,
    /// Signs that forbid "hairs".
    pub vetoes: Vec<Sign>,
    /// One sentence.
    pub why: String,
}

impl Judgement {
    /// `hair 15, mould -11, rot -1`.
    pub fn points(&self) -> String {
        format!("hair {}, mould {}, rot {}", self.hair, self.mould, self.rot)
    }
}

/// Sums that a verdict goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Sums {
    weight: Weight,
    place: bool,
    veto: bool,
    vanished: bool,
}

fn sums(signs: Signs, points: &Points) -> Sums {
    Sums {
        weight: signs.iter().map(|sign| points.of(sign)).fold(Weight::default(), Weight::plus),
        place: PLACE.iter().any(|sign| signs.has(*sign)),
        veto: signs.vetoes().next().is_some(),
        vanished: signs.has(Sign::Vanishes),
    }
}

/// The rule of decision, this program's own.
fn decide(sums: Sums) -> Verdict {
    let Weight { hair, mould, rot } = sums.weight;
    let bad = mould.max(rot);
    if bad >= ENOUGH && bad >= hair + AHEAD {
        return match mould - rot {
            -1..=1 => Verdict::MouldOrRot,
            apart if apart > 0 => Verdict::Mould,
            _ => Verdict::Rot,
        };
    }
    let hairs = hair >= ENOUGH && hair >= bad + AHEAD && !sums.veto && sums.place;
    match (hairs, sums.vanished) {
        (true, true) => Verdict::Hairs,
        (true, false) => Verdict::LooksLikeHairs,
        (false, _) => Verdict::CannotTell,
    }
}

/// What the signs come to; a contradiction is refused.
pub fn judge(signs: Signs, points: &Points) -> Result<Judgement, Refusal> {
    signs.check()?;
    let sums = sums(signs, points);
    let verdict = decide(sums);
    let Weight { hair, mould, rot } = sums.weight;
    let vetoes: Vec<Sign> = signs.vetoes().collect();
    let why = why(verdict, signs, sums, &vetoes);
    Ok(Judgement { verdict, hair, mould, rot, vetoes, why })
}

fn why(verdict: Verdict, signs: Signs, sums: Sums, vetoes: &[Sign]) -> String {
    let Weight { hair, mould, rot } = sums.weight;
    let bad = mould.max(rot);
    match verdict {
        Verdict::Mould | Verdict::Rot => {
            format!("The signs of {} have {bad} points against {hair} for hairs.", verdict.shown())
        }
        Verdict::MouldOrRot => {
            format!("Mould has {mould} points and rot {rot}, too near to tell apart: treat it as mould.")
        }
        Verdict::HairsAndMould => "Two spots of this tray differ: treat it as mould.".into(),
        Verdict::Hairs => format!("It lay down when misted, it sits where hairs sit, {hair} points against {bad}."),
        Verdict::LooksLikeHairs if signs.has(Sign::Stands) => {
            "It looks like hairs, and it stood when misted: mist it once more.".into()
        }
        Verdict::LooksLikeHairs => "It sits where hairs sit, but it was not misted: mist it.".into(),
        Verdict::CannotTell => doubt(sums, hair, bad, vetoes),
    }
}

/// What is missing to tell.
fn doubt(sums: Sums, hair: i64, bad: i64, vetoes: &[Sign]) -> String {
    if let Some(veto) = vetoes.first() {
        return format!("Hairs never show this: {}.", veto.shown());
    }
    let near = |more: i64, less: i64| more >= ENOUGH && more < less + AHEAD;
    if near(hair, bad) || near(bad, hair) {
        return format!("The signs speak against each other: {hair} points for hairs, {bad} for mould or rot.");
    }
    if hair >= ENOUGH && !sums.place {
        return "Nothing says yet where it sits: on the roots, or elsewhere.".into();
    }
    format!("The signs are too few: {hair} points for hairs, {bad} for mould or rot, and {ENOUGH} are needed.")
}
