//! The starter crop table, `assets/crops.toml`: what a new book proposes, each figure with its source.

use std::collections::BTreeSet;
use std::fmt;

use serde::Deserialize;

use super::crop::Medium;
use super::look::Roots;

#[cfg(test)]
mod tests;

const TABLE: &str = include_str!("../../assets/crops.toml");

/// The letters of a blend's lots, so no crop may have them.
const BLEND: &str = "MIX";

/// One crop of the table. Grams are for a nominal 10 × 20 inch tray; days count from sowing, day 0.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StarterCrop {
    /// Three capitals that start the crop's lot codes.
    pub letters: String,
    pub name: String,
    pub medium: Medium,
    /// Weight of a thousand seeds in grams.
    pub tsw_g: Span,
    /// Seed for a nominal tray in grams.
    pub grams: Value,
    pub soak: Soak,
    pub cover_d: Cover,
    /// First and last day of the cutting window.
    pub cut_d: Span<u8>,
    pub roots: RootsPlan,
    /// Days on which white root hairs are expected; `None` where nobody is sure.
    pub hairs_d: Option<Span<u8>>,
    /// Hours of light a day once uncovered.
    pub light_h: Span,
    /// Expected weight cut from a nominal tray in grams.
    pub yield_g: Span,
    /// The legal floor for selling the seed, not a grower's target.
    pub min_germ_pct: Option<Value>,
    pub want_germ_pct: Value,
    /// Coldest first. Crops without their own get those of `[any_crop]`.
    #[serde(default)]
    pub anchors: Vec<Anchor>,
    pub chilling: Option<Flag>,
    pub second_cut: Option<Flag>,
    pub allergen: Allergen,
    pub us_list: UsList,
    /// What to know about the row as a whole.
    pub note: Option<String>,
}

/// Where a figure comes from: "P: …" is published there, anything else is not.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct Source(String);

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    pub value: f64,
    pub source: Source,
}

/// A range, both ends included.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Span<T = f64> {
    pub from: T,
    pub to: T,
    pub source: Source,
}

/// Days under cover.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cover {
    pub from: u8,
    pub to: u8,
    pub usual: u8,
    /// Whether a weight lies on top.
    #[serde(default)]
    pub weighted: bool,
    pub source: Source,
}

/// Whether seed is soaked before sowing, in hours.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "rule", rename_all = "lowercase", deny_unknown_fields)]
pub enum Soak {
    /// Not usual.
    No {
        source: Source,
    },
    /// Wrong; the form refuses it with the reason.
    Never {
        reason: String,
        source: Source,
    },
    Hours {
        from: u8,
        to: u8,
        usual: u8,
        source: Source,
    },
}

/// What is expected underneath.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "rule", rename_all = "lowercase", deny_unknown_fields)]
pub enum RootsPlan {
    /// One grade a day, day 1 first; the last one holds from then on.
    Seen { by_day: Vec<Roots>, source: Source },
    /// In soil or coco nothing is seen from below; the stand is judged instead.
    Hidden { source: Source },
}

/// Shelf life in days at a temperature in °C.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Anchor {
    pub temp_c: f64,
    pub life_d: f64,
    pub source: Source,
    /// What to know about the figure, such as "at least; the trial ended".
    pub mark: Option<String>,
}

/// Whether the crop is an allergen that labels must show.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(tag = "is", rename_all = "lowercase", deny_unknown_fields)]
pub enum Allergen {
    Yes {
        what: String,
        source: Source,
    },
    No {
        source: Source,
    },
    /// Blocks the label until somebody has decided.
    #[serde(rename = "not checked")]
    NotChecked {
        reminder: Option<String>,
        source: Source,
    },
}

/// Whether the crop is on the list of the US traceability rule (21 CFR 1 Subpart S).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum UsList {
    Yes,
    No,
    #[serde(rename = "not sure")]
    NotSure,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flag {
    pub is: bool,
    pub source: Source,
}

/// Why the table cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum StarterError {
    #[error("the starter crop table cannot be read, so correct assets/crops.toml: {0}")]
    Toml(#[from] toml::de::Error),
    #[error(
        "{letters} cannot stand for {name}: give it three capitals of its own in assets/crops.toml, and not {BLEND}"
    )]
    Letters { letters: String, name: String },
    #[error("{what} of {name} make no sense: correct them in assets/crops.toml")]
    Figures { what: &'static str, name: String },
}

/// The crops a new book proposes, checked.
pub fn starter_crops() -> Result<Vec<StarterCrop>, StarterError> {
    read(TABLE)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    any_crop: AnyCrop,
    crop: Vec<StarterCrop>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AnyCrop {
    anchors: Vec<Anchor>,
}

fn read(table: &str) -> Result<Vec<StarterCrop>, StarterError> {
    let Table { any_crop, crop: mut crops } = toml::from_str(table)?;
    let mut taken = BTreeSet::new();
    for crop in &mut crops {
        // Cold harms a chilling crop, so the general anchors would promise it too long a life.
        if crop.anchors.is_empty() && !crop.is_chilling() {
            crop.anchors.clone_from(&any_crop.anchors);
        }
        let capitals = crop.letters.len() == 3 && crop.letters.bytes().all(|b| b.is_ascii_uppercase());
        if !capitals || crop.letters == BLEND || !taken.insert(crop.letters.clone()) {
            return Err(StarterError::Letters { letters: crop.letters.clone(), name: crop.name.clone() });
        }
        if let Some(what) = crop.nonsense() {
            return Err(StarterError::Figures { what, name: crop.name.clone() });
        }
    }
    Ok(crops)
}

impl StarterCrop {
    /// Cold never lengthens the life of what was cut.
    pub fn is_chilling(&self) -> bool {
        self.chilling.as_ref().is_some_and(|flag| flag.is)
    }

    /// It grows again after the cut.
    pub fn has_second_cut(&self) -> bool {
        self.second_cut.as_ref().is_some_and(|flag| flag.is)
    }

    /// Seed for a nominal tray in milligrams.
    pub fn grams_mg(&self) -> i64 {
        scaled(self.grams.value, 1000.0)
    }

    /// Thousand-seed weight in milligrams: the middle of its range.
    pub fn tsw_mg(&self) -> i64 {
        scaled(f64::midpoint(self.tsw_g.from, self.tsw_g.to), 1000.0)
    }

    /// The legal floor of germination in per mille.
    pub fn min_germ_pm(&self) -> Option<i64> {
        self.min_germ_pct.as_ref().map(|pct| scaled(pct.value, 10.0))
    }

    /// The germination a grower wants in per mille.
    pub fn want_germ_pm(&self) -> i64 {
        scaled(self.want_germ_pct.value, 10.0)
    }

    /// The first thing that makes no sense, if any.
    fn nonsense(&self) -> Option<&'static str> {
        let germ = |pct: &Value| pct.value > 0.0 && pct.value <= 100.0;
        let checks = [
            ("the thousand-seed weights", self.tsw_g.is_ordered()),
            ("the grams of seed", self.grams.value.is_finite() && self.grams.value > 0.0),
            ("the hours of soaking", self.soak.is_ordered()),
            ("the days under cover", self.cover_d.is_ordered()),
            ("the cutting days", self.cut_d.is_ordered() && self.cover_d.to <= self.cut_d.from),
            ("the root grades", self.roots.fits(self.medium)),
            ("the days of root hairs", self.hairs_d.as_ref().is_none_or(Span::is_ordered)),
            ("the hours of light", self.light_h.is_ordered() && self.light_h.to <= 24.0),
            ("the expected yields", self.yield_g.is_ordered()),
            ("the germination figures", self.min_germ_pct.as_ref().is_none_or(germ) && germ(&self.want_germ_pct)),
            ("the shelf-life anchors", anchors_fall(&self.anchors)),
        ];
        checks.into_iter().find(|(_, fine)| !fine).map(|(what, _)| what)
    }
}

impl Source {
    /// Whether the figure stands in a publication.
    pub fn is_published(&self) -> bool {
        self.0.starts_with("P: ")
    }
}

impl TryFrom<String> for Source {
    type Error = &'static str;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        let said = text.strip_prefix("P:").unwrap_or(&text);
        if said.trim().is_empty() {
            return Err("every figure names its source, or says \"memory\"");
        }
        Ok(Self(text))
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl<T: Default + PartialOrd> Span<T> {
    fn is_ordered(&self) -> bool {
        T::default() < self.from && self.from <= self.to
    }
}

impl Cover {
    fn is_ordered(&self) -> bool {
        self.from <= self.usual && self.usual <= self.to
    }
}

impl Soak {
    fn is_ordered(&self) -> bool {
        match self {
            Self::Hours { from, to, usual, .. } => from <= usual && usual <= to && *to > 0,
            Self::Never { reason, .. } => !reason.is_empty(),
            Self::No { .. } => true,
        }
    }
}

impl RootsPlan {
    fn fits(&self, medium: Medium) -> bool {
        match self {
            Self::Seen { by_day, .. } => medium == Medium::Mat && !by_day.is_empty() && by_day.is_sorted(),
            Self::Hidden { .. } => medium != Medium::Mat,
        }
    }
}

impl Anchor {
    /// Temperature in tenths of a degree.
    pub fn temp_dc(&self) -> i64 {
        scaled(self.temp_c, 10.0)
    }

    /// Shelf life in hours.
    pub fn life_h(&self) -> i64 {
        scaled(self.life_d, 24.0)
    }
}

/// At least one anchor; each warmer one has a shorter life.
fn anchors_fall(anchors: &[Anchor]) -> bool {
    let fall = anchors.is_sorted_by(|cold, warm| cold.temp_c < warm.temp_c && cold.life_d > warm.life_d);
    fall && anchors.last().is_some_and(|warmest| warmest.life_d > 0.0)
}

/// A figure in a smaller unit, rounded to a whole number.
#[expect(clippy::cast_possible_truncation, reason = "the table holds small figures, checked when it is read")]
fn scaled(figure: f64, by: f64) -> i64 {
    (figure * by).round() as i64
}
