//! Something sprayed or watered onto trays: the label decides about it, the wait after it blocks cutting.

use super::id::{MixId, TrayId};
use super::text::counted;
use super::time::{Instant, Now};
use super::words::words;

words!(
    /// Whether the product's label lists this crop and site.
    Listed { Yes = "yes" / "yes", No = "no" / "no", Unknown = "unknown" / "not known" }
);

/// Hours of a wait at most: a year.
pub const WAIT_MAX_H: i64 = 8760;

/// What is said before anything is sprayed.
pub const CAUTIONS: [&str; 2] = [
    "The product's label and local rules decide about any spray; a home mix on a crop for sale may be unlawful.",
    "Gloves, goggles, air. Nobody with weak lungs or weak immunity sprays, or handles mouldy trays.",
];

/// A treatment as it is noted.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewTreatment {
    pub trays: Vec<TrayId>,
    /// A prepared bottle; `None`: a product as it was bought.
    pub mix: Option<MixId>,
    /// Its name; of a mix that of its recipe counts.
    pub product: String,
    /// As printed on the product, where it has one.
    pub reg_no: Option<String>,
    pub at: Instant,
    /// For all trays together, where it was measured.
    pub ml: Option<i64>,
    pub purpose: String,
    pub listed: Listed,
    /// Hours before the trays may be cut.
    pub wait_h: i64,
    /// Hours before anyone goes in without the gear the label asks for.
    pub reentry_h: i64,
}

impl NewTreatment {
    /// What can be said against it without the book.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if self.mix.is_none() && !(1..=80).contains(&self.product.trim().chars().count()) {
            return Err(("product", "Say what was sprayed: the name on the product, in 1 to 80 characters.".into()));
        }
        if !(1..=200).contains(&self.purpose.trim().chars().count()) {
            return Err(("purpose", "Say what it was for, in 1 to 200 characters.".into()));
        }
        if self.ml.is_some_and(|ml| !(1..=super::mix::ML_MAX).contains(&ml)) {
            return Err(("ml", "An amount is 1 mL to 1000 L; leave it empty where nobody measured it.".into()));
        }
        if !(0..=WAIT_MAX_H).contains(&self.wait_h) {
            return Err(("wait", "The wait before cutting is 0 to 365 days.".into()));
        }
        if self.listed == Listed::Unknown && self.wait_h == 0 {
            let why = "Nobody read the label, so nobody knows that there is no wait: read it, or give hours to wait.";
            return Err(("wait", why.into()));
        }
        if !(0..=WAIT_MAX_H).contains(&self.reentry_h) {
            return Err(("reentry", "The time to stay out is 0 hours to a year.".into()));
        }
        Ok(())
    }
}

/// So many hours after a moment.
pub fn hours_after(at: Instant, hours: i64) -> Instant {
    Instant(at.0 + chrono::Duration::hours(hours))
}

/// Where nobody goes in after a treatment, and until when.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct KeepOut {
    pub until: Instant,
    /// Racks of the treated trays, by name.
    pub racks: Vec<String>,
    pub product: String,
}

impl KeepOut {
    /// `do not enter rack A before 14:00`; another day is named.
    pub fn words(&self, now: Now) -> String {
        let until = now.local(self.until);
        let until =
            if until.date_naive() == now.day() { until.format("%H:%M") } else { until.format("%a %d %b %H:%M") };
        let place = match self.racks.as_slice() {
            [] => "the room".to_string(),
            [one] => format!("rack {one}"),
            many => format!("racks {}", many.join(", ")),
        };
        format!("do not enter {place} before {until}")
    }

    pub fn lasts(&self, now: Now) -> bool {
        self.until > now.instant()
    }
}

/// A treatment of a tray that stands.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Sprayed {
    pub at: Instant,
    pub product: String,
    pub listed: Listed,
}

/// A treatment of a batch, for its timeline.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Treated {
    /// Day of growth.
    pub day: i64,
    pub at: Instant,
    pub product: String,
    /// Trays of the batch.
    pub trays: i64,
    /// The end of its wait; none where it has none.
    pub wait_until: Option<Instant>,
}

impl Treated {
    /// `07 Jul 06:00, no cutting before 09 Jul 06:00: mint rinse, 3 trays`.
    pub fn words(&self, now: Now) -> String {
        let at = now.local(self.at).format("%d %b %H:%M");
        let trays = counted(usize::try_from(self.trays).unwrap_or(0), "tray");
        let wait = self.wait_until.map_or_else(String::new, |until| {
            let blocks = if until > now.instant() { "no cutting before" } else { "its wait was over" };
            format!(", {blocks} {}", now.local(until).format("%d %b %H:%M"))
        });
        format!("{at}{wait}: {}, {trays}", self.product)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn new() -> NewTreatment {
        NewTreatment {
            trays: vec![TrayId(1)],
            mix: None,
            product: "test rinse".into(),
            reg_no: None,
            at: Instant::parse("2026-07-12T06:00:00Z").unwrap(),
            ml: Some(40),
            purpose: "fuzz on seed".into(),
            listed: Listed::Yes,
            wait_h: 24,
            reentry_h: 4,
        }
    }

    #[test]
    fn a_treatment_names_product_and_purpose() {
        assert_eq!(new().check(), Ok(()));
        assert_eq!(NewTreatment { product: " ".into(), ..new() }.check().unwrap_err().0, "product");
        assert_eq!(NewTreatment { product: String::new(), mix: Some(MixId(1)), ..new() }.check(), Ok(()));
        assert_eq!(NewTreatment { purpose: " ".into(), ..new() }.check().unwrap_err().0, "purpose");
        assert_eq!(NewTreatment { ml: Some(0), ..new() }.check().unwrap_err().0, "ml");
        assert_eq!(NewTreatment { wait_h: 8761, ..new() }.check().unwrap_err().0, "wait");
        // only a label can say that there is none
        assert_eq!(NewTreatment { wait_h: 0, ..new() }.check(), Ok(()));
        let unread = NewTreatment { listed: Listed::Unknown, ..new() };
        assert_eq!(unread.check(), Ok(()));
        assert_eq!(NewTreatment { wait_h: 0, ..unread }.check().unwrap_err().0, "wait");
        assert_eq!(NewTreatment { reentry_h: -1, ..new() }.check().unwrap_err().0, "reentry");
    }

    #[test]
    fn the_day_is_named_where_it_is_another() {
        let now = Now(chrono::DateTime::parse_from_rfc3339("2026-07-12T10:00:00+02:00").unwrap());
        let out = |hours, racks: &[&str]| KeepOut {
            until: hours_after(now.instant(), hours),
            racks: racks.iter().map(ToString::to_string).collect(),
            product: String::new(),
        };
        assert_eq!(out(4, &["A"]).words(now), "do not enter rack A before 14:00");
        assert_eq!(out(14, &["A", "B"]).words(now), "do not enter racks A, B before Mon 13 Jul 00:00");
        assert_eq!(out(4, &[]).words(now), "do not enter the room before 14:00");
        assert!(out(4, &[]).lasts(now) && !out(0, &[]).lasts(now));
    }

    #[test]
    fn the_timeline_says_whether_the_wait_is_over() {
        let now = Now(chrono::DateTime::parse_from_rfc3339("2026-07-12T10:00:00Z").unwrap());
        let treated = |wait| Treated {
            day: 3,
            at: hours_after(now.instant(), -24),
            product: "rinse".into(),
            trays: 3,
            wait_until: wait,
        };
        assert_eq!(
            treated(Some(hours_after(now.instant(), 24))).words(now),
            "11 Jul 10:00, no cutting before 13 Jul 10:00: rinse, 3 trays"
        );
        assert_eq!(
            treated(Some(now.instant())).words(now),
            "11 Jul 10:00, its wait was over 12 Jul 10:00: rinse, 3 trays"
        );
        assert_eq!(treated(None).words(now), "11 Jul 10:00: rinse, 3 trays");
    }
}
