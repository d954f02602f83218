//! The figures of a crop and where each comes from.

use serde_json::{Map, Value, json};

use crate::domain::action::EditCrop;
use crate::domain::crop::{Crop, Plan, Soak};
use crate::domain::id::{CropId, PlanId};
use crate::domain::starter::{self, Allergen, RootsPlan, StarterCrop, UsList};

/// The editable figures a starter crop begins with.
pub(super) fn from_starter(crop: &StarterCrop) -> EditCrop {
    let (soak, soak_h) = match &crop.soak {
        starter::Soak::No { .. } => (Soak::No, 0),
        starter::Soak::Never { .. } => (Soak::Never, 0),
        starter::Soak::Hours { usual, .. } => (Soak::Hours, i64::from(*usual)),
    };
    let roots = match &crop.roots {
        RootsPlan::Seen { by_day, .. } => (1..).zip(by_day.iter().copied()).collect(),
        RootsPlan::Hidden { .. } => Vec::new(),
    };
    EditCrop {
        crop: CropId(0),
        rev: 0,
        name: crop.name.clone(),
        soak,
        hairs_expected: crop.hairs_d.is_some(),
        roots_hidden: matches!(crop.roots, RootsPlan::Hidden { .. }),
        second_cut: crop.has_second_cut(),
        chilling: crop.is_chilling(),
        weighted: crop.cover_d.weighted,
        medium: crop.medium,
        tsw_mg: Some(crop.tsw_mg()),
        tray_mg: crop.grams_mg(),
        yield_g: Some(round(f64::midpoint(crop.yield_g.from, crop.yield_g.to))),
        min_germ_pm: crop.min_germ_pm(),
        want_germ_pm: Some(crop.want_germ_pm()),
        most_d: None,
        seed_kg_c: None,
        tray_c: None,
        allergen: match &crop.allergen {
            Allergen::Yes { what, .. } => what.clone(),
            Allergen::No { .. } => "no".into(),
            Allergen::NotChecked { .. } => "not checked".into(),
        },
        us_list: match crop.us_list {
            UsList::Yes => "yes".into(),
            UsList::No => "no".into(),
            UsList::NotSure => "not sure".into(),
        },
        light_hours: format!("{}-{}", crop.light_h.from, crop.light_h.to),
        plan: Plan {
            id: PlanId(0),
            version: 1,
            soak_h,
            cover_d: i64::from(crop.cover_d.usual),
            cut_from_d: i64::from(crop.cut_d.from),
            cut_to_d: i64::from(crop.cut_d.to),
            seeds_dm2: None,
            source: String::new(),
            roots,
        },
        anchors: crop.anchors.iter().map(|a| (a.temp_dc(), a.life_h())).collect(),
        retired: false,
    }
}

pub(super) fn round(x: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "table figures are small; the cast saturates")]
    let whole = x.round() as i64;
    whole
}

/// Where each figure of a starter crop comes from.
pub(super) fn sources(crop: &StarterCrop) -> String {
    let soak = match &crop.soak {
        starter::Soak::No { source } | starter::Soak::Never { source, .. } | starter::Soak::Hours { source, .. } => {
            source
        }
    };
    let roots = match &crop.roots {
        RootsPlan::Seen { source, .. } | RootsPlan::Hidden { source } => source,
    };
    let allergen = match &crop.allergen {
        Allergen::Yes { source, .. } | Allergen::No { source } | Allergen::NotChecked { source, .. } => source,
    };
    let mut map = json!({
        "thousand-seed weight": crop.tsw_g.source.to_string(),
        "grams per tray": crop.grams.source.to_string(),
        "soaking": soak.to_string(),
        "days under cover": crop.cover_d.source.to_string(),
        "cutting days": crop.cut_d.source.to_string(),
        "roots by day": roots.to_string(),
        "hours of light": crop.light_h.source.to_string(),
        "expected yield": crop.yield_g.source.to_string(),
        "wanted germination": crop.want_germ_pct.source.to_string(),
        "allergen": allergen.to_string(),
    });
    if let (Some(map), Some(min)) = (map.as_object_mut(), &crop.min_germ_pct) {
        map.insert("minimum germination".into(), min.source.to_string().into());
    }
    map.to_string()
}

/// The sources after an edit: a figure that was changed is the room's own.
pub(super) fn own_sources(old: &Crop, edit: &EditCrop) -> String {
    let mut map: Map<String, Value> = serde_json::from_str(&old.sources).unwrap_or_default();
    let (was, now) = (&old.plan, &edit.plan);
    let figures = [
        ("thousand-seed weight", old.tsw_mg != edit.tsw_mg),
        ("grams per tray", old.tray_mg != edit.tray_mg),
        ("soaking", old.soak != edit.soak || was.soak_h != now.soak_h),
        ("days under cover", was.cover_d != now.cover_d || old.weighted != edit.weighted),
        ("cutting days", (was.cut_from_d, was.cut_to_d) != (now.cut_from_d, now.cut_to_d)),
        ("roots by day", was.roots != now.roots || old.roots_hidden != edit.roots_hidden),
        ("hours of light", old.light_hours != edit.light_hours),
        ("expected yield", old.yield_g != edit.yield_g),
        ("wanted germination", old.want_germ_pm != edit.want_germ_pm),
        ("minimum germination", old.min_germ_pm != edit.min_germ_pm),
        ("allergen", old.allergen != edit.allergen),
    ];
    for (figure, _) in figures.iter().filter(|(_, changed)| *changed) {
        map.insert((*figure).to_string(), "own figure".into());
    }
    Value::Object(map).to_string()
}
