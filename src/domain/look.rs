//! One observation of one tray, recorded as seen and never assumed.

use super::fuzz::{Extent, Sign, Signs, Verdict};
use super::id::{TrayId, WalkId};
use super::room::Units;
use super::words::words;

words!(
    /// How far the roots have come through the mat.
    Roots {
        None = "none" / "none",
        Peeking = "peeking" / "peeking",
        Plenty = "plenty" / "plenty",
        Full = "full" / "full",
        /// Looked for, but soil or pot hides them.
        Hidden = "hidden" / "not visible",
    }
);

words!(
    /// How the seedlings stand once they are in the light.
    Stand { Good = "good" / "good", Uneven = "uneven" / "uneven", Dry = "dry" / "dry", Yellow = "yellow" / "yellow", Fallen = "fallen" / "fallen" }
);

words!(
    /// What white fuzz did when water was misted on it.
    Mist {
        /// Lies down or vanishes, as root hairs do.
        Down = "down" / "lies down when misted",
        Stands = "stands" / "stands when misted",
        Untested = "untested" / "not misted yet",
    }
);

words!(
    /// Through how much care a look came about. Only a tray look is of the tray itself.
    Basis { Tray = "tray" / "tray lifted", Shelf = "shelf" / "shelf glance", Sowing = "sowing" / "sowing glance" }
);

words!(
    /// Something odd beside the grade.
    Fault {
        BrownRoots = "brown_roots" / "brown roots",
        Dry = "dry" / "dry mat",
        Uneven = "uneven" / "uneven stand",
        Thin = "thin" / "thin stand",
        StandingWater = "standing_water" / "standing water",
        Smell = "smell" / "off smell noticed",
        Pests = "pests" / "flies or pests",
    }
);

words!(
    /// Why a tray was passed by.
    Skip {
        OutOfReach = "out_of_reach" / "out of reach",
        NotHere = "not_here" / "not here",
        NoTime = "no_time" / "no time",
        WetEnough = "wet_enough" / "wet enough, no water given",
        Other = "other" / "other reason",
    }
);

/// A set of [`Fault`]s, one bit each in the order of [`Fault::ALL`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Faults(pub i64);

impl Faults {
    fn bit(fault: Fault) -> i64 {
        Fault::ALL.iter().position(|f| *f == fault).map_or(0, |n| 1 << n)
    }

    pub fn has(self, fault: Fault) -> bool {
        self.0 & Self::bit(fault) != 0
    }

    /// Adds it, or takes it back if it is there.
    #[must_use]
    pub fn toggled(self, fault: Fault) -> Self {
        Self(self.0 ^ Self::bit(fault))
    }

    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    pub fn iter(self) -> impl Iterator<Item = Fault> {
        Fault::ALL.iter().copied().filter(move |fault| self.has(*fault))
    }

    /// The faults as one phrase; empty if there are none.
    pub fn words(self) -> String {
        self.iter().map(Fault::shown).collect::<Vec<_>>().join(", ")
    }
}

/// Measured water, each figure optional.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct WaterFigures {
    /// Per tray, mL.
    pub ml: Option<i64>,
    /// pH in hundredths.
    pub ph_100: Option<i64>,
    /// Tenths of a degree Celsius.
    pub temp_dc: Option<i64>,
    /// Conductivity, µS/cm.
    pub ec_us: Option<i64>,
}

impl WaterFigures {
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Limits of what water in a tray can be.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if self.ml.is_some_and(|ml| !(1..=20_000).contains(&ml)) {
            return Err(("ml", "Water for one tray is 1 to 20 000 mL.".into()));
        }
        if self.ph_100.is_some_and(|ph| !(0..=1400).contains(&ph)) {
            return Err(("ph", "pH lies between 0 and 14.".into()));
        }
        if self.temp_dc.is_some_and(|t| !(0..=600).contains(&t)) {
            return Err(("temp", "Water is between 0 and 60 °C.".into()));
        }
        if self.ec_us.is_some_and(|ec| !(0..=20_000).contains(&ec)) {
            return Err(("ec", "Conductivity lies between 0 and 20 000 µS/cm.".into()));
        }
        Ok(())
    }

    /// `400 mL, pH 6.1, 19.5 °C`; empty where nothing was measured.
    pub fn words(&self, units: Units) -> String {
        let mut parts = Vec::new();
        if let Some(ml) = self.ml {
            parts.push(units.volume(ml));
        }
        if let Some(ph) = self.ph_100 {
            parts.push(format!("pH {}.{:02}", ph / 100, ph % 100));
        }
        if let Some(t) = self.temp_dc {
            parts.push(units.temperature(t));
        }
        parts.extend(self.ec_us.map(|ec| format!("{ec} µS/cm")));
        parts.join(", ")
    }
}

/// What is written down about a tray, or alike about the rest of its shelf.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Look {
    pub walk: Option<WalkId>,
    pub trays: Vec<TrayId>,
    pub basis: Basis,
    pub roots: Option<Roots>,
    pub stand: Option<Stand>,
    /// `None`: no fuzz seen. With signs they say it: see [`Look::mist`].
    pub fuzz: Option<Mist>,
    /// Of a fuzz check; empty without one.
    pub signs: Signs,
    pub extent: Option<Extent>,
    pub faults: Faults,
    pub watered: bool,
    pub skip: Option<Skip>,
    pub water: WaterFigures,
    pub note: Option<String>,
}

impl Look {
    /// A look at one tray with nothing on it yet.
    pub fn of(tray: TrayId) -> Self {
        Self {
            walk: None,
            trays: vec![tray],
            basis: Basis::Tray,
            roots: None,
            stand: None,
            fuzz: None,
            signs: Signs::default(),
            extent: None,
            faults: Faults::default(),
            watered: false,
            skip: None,
            water: WaterFigures::default(),
            note: None,
        }
    }

    /// What fuzz did when misted, by the signs where there are any.
    pub fn mist(&self) -> Option<Mist> {
        if self.signs.is_empty() { self.fuzz } else { Some(Mist::of(self.signs)) }
    }

    /// Whether anything at all was seen; water alone is no look.
    pub fn saw_something(&self) -> bool {
        self.roots.is_some() || self.stand.is_some() || self.mist().is_some() || !self.faults.is_empty()
    }

    /// Exactly what will be written, for the hint beside the key.
    pub fn words(&self, units: Units) -> String {
        if let Some(skip) = self.skip {
            return format!("skipped: {}", skip.shown());
        }
        let fuzz = Fuzz { mist: self.mist(), signs: self.signs, extent: self.extent, verdict: None };
        let mut parts = seen(self.roots, self.stand, &fuzz, self.faults);
        match (self.watered, self.water.words(units)) {
            (true, figures) if figures.is_empty() => parts.push("watered".into()),
            (true, figures) => parts.push(format!("watered ({figures})")),
            (false, figures) if figures.is_empty() => {}
            (false, figures) => parts.push(format!("water measured ({figures})")),
        }
        if self.note.is_some() {
            parts.push("note".into());
        }
        parts.join(", ")
    }
}

/// What is known of fuzz.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Fuzz {
    pub mist: Option<Mist>,
    pub signs: Signs,
    pub extent: Option<Extent>,
    pub verdict: Option<Verdict>,
}

impl Fuzz {
    /// `fuzz, lies down when misted, only on the roots, a patch: hairs`; nothing where there is none.
    fn words(&self) -> Option<String> {
        let mist = self.mist?;
        let signs = self.signs.without(Sign::Vanishes).without(Sign::Stands);
        let mut text = format!("fuzz, {}", mist.shown());
        for more in signs.iter().map(Sign::shown).chain(self.extent.map(Extent::shown)) {
            text.push_str(", ");
            text.push_str(more);
        }
        if let Some(verdict) = self.verdict {
            text.push_str(": ");
            text.push_str(verdict.shown());
        }
        Some(text)
    }
}

/// What was seen, a phrase each.
pub(super) fn seen(roots: Option<Roots>, stand: Option<Stand>, fuzz: &Fuzz, faults: Faults) -> Vec<String> {
    let mut parts = Vec::new();
    parts.extend(roots.map(|roots| format!("roots {}", roots.shown())));
    parts.extend(stand.map(|stand| format!("stand {}", stand.shown())));
    parts.extend(fuzz.words());
    parts.extend((!faults.is_empty()).then(|| faults.words()));
    parts
}

impl Mist {
    /// What the signs of a check say of it.
    pub fn of(signs: Signs) -> Self {
        if signs.has(Sign::Stands) {
            Self::Stands
        } else if signs.has(Sign::Vanishes) {
            Self::Down
        } else {
            Self::Untested
        }
    }

    /// Whether the tray becomes suspect until someone looks again with better evidence.
    pub fn is_suspect(self) -> bool {
        matches!(self, Self::Stands | Self::Untested)
    }

    /// The worse of two: fuzz that stood is worse than fuzz nobody misted.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        let rank = |mist| match mist {
            Self::Down => 0,
            Self::Untested => 1,
            Self::Stands => 2,
        };
        if rank(other) > rank(self) { other } else { self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_are_one_bit_each() {
        let all = Fault::ALL.iter().fold(Faults::default(), |set, fault| set.toggled(*fault));
        assert_eq!(all.0, (1 << Fault::ALL.len()) - 1);
        let two = Faults::default().toggled(Fault::Dry).toggled(Fault::BrownRoots);
        assert_eq!(two.words(), "brown roots, dry mat");
        assert!(two.toggled(Fault::Dry).toggled(Fault::BrownRoots).is_empty());
    }

    #[test]
    fn the_hint_names_all_that_is_written() {
        let look = Look {
            roots: Some(Roots::Plenty),
            fuzz: Some(Mist::Down),
            watered: true,
            water: WaterFigures { ml: Some(400), ph_100: Some(605), temp_dc: Some(195), ec_us: None },
            ..Look::of(TrayId(1))
        };
        let words = |units| look.words(units);
        assert_eq!(
            words(Units::Metric),
            "roots plenty, fuzz, lies down when misted, watered (400 mL, pH 6.05, 19.5 °C)"
        );
        assert_eq!(
            words(Units::Us),
            "roots plenty, fuzz, lies down when misted, watered (13.53 fl oz, pH 6.05, 67.1 °F)"
        );
    }

    #[test]
    fn water_has_limits_and_says_them() {
        let of = |ml, ph_100, temp_dc| WaterFigures { ml, ph_100, temp_dc, ec_us: None };
        assert!(of(Some(400), Some(0), Some(0)).check().is_ok());
        assert!(of(Some(400), Some(1400), Some(600)).check().is_ok());
        assert_eq!(of(Some(0), None, None).check().unwrap_err().0, "ml");
        assert_eq!(of(None, Some(1401), None).check().unwrap_err().0, "ph");
        assert_eq!(of(None, Some(-1), None).check().unwrap_err().0, "ph");
        assert_eq!(of(None, None, Some(601)).check().unwrap_err().0, "temp");
    }

    #[test]
    fn only_fuzz_that_lay_down_is_not_suspect() {
        assert!(!Mist::Down.is_suspect());
        assert!(Mist::Stands.is_suspect() && Mist::Untested.is_suspect());
    }

    #[test]
    fn fuzz_that_stood_is_the_worst() {
        let worst = |seen: &[Mist]| seen.iter().copied().reduce(Mist::worse);
        assert_eq!(worst(&[Mist::Untested, Mist::Stands, Mist::Down]), Some(Mist::Stands));
        assert_eq!(worst(&[Mist::Stands, Mist::Untested]), Some(Mist::Stands));
        assert_eq!(worst(&[Mist::Down, Mist::Untested]), Some(Mist::Untested));
        assert_eq!(worst(&[]), None);
    }
}
