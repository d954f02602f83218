//! What the sowing form comes to as it stands: lots and places in order, the seed worked out and shared out.

mod soaked;

use super::super::{milligrams, scaled};
use crate::app::form::Values;
use crate::app::model::Model;
use crate::domain::crop::Crop;
use crate::domain::id::{CropId, FormatId, PlaceId, SeedLotId};
use crate::domain::room::{NOMINAL_AREA_CM2, Place, TrayFormat, Units, Zone};
use crate::domain::seed_lot::SeedLot;
use crate::domain::seeding::{Odd, Seeding, odd_amount, scale_grams};
use crate::domain::sowing::{Part, part_lines, share_out};
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::units::Unit;

use soaked::Soaked;

/// What the form says so far, looked up.
pub(super) struct Plan<'m> {
    pub crop: &'m Crop,
    pub format: &'m TrayFormat,
    /// Lots that may be sown in the order of use, the chosen one first.
    pub lots: Vec<&'m SeedLot>,
    /// Lots of the crop that may not be sown, with the reason.
    barred: Vec<(&'m SeedLot, String)>,
    /// Free places in the order they fill, from the chosen one on.
    pub places: Vec<&'m Place>,
    /// The chosen place, if it is to be cleaned first.
    unclean: Option<PlaceId>,
    /// Room for trays where something bad stood and which is to be cleaned first.
    left_out: usize,
    day: Day,
    units: Units,
}

/// What there is to share out.
struct Supply {
    /// Milligrams in each jar, in the order of use.
    lots: Vec<(SeedLotId, i64)>,
    /// Milligrams.
    per_tray: i64,
    trays: usize,
}

pub(super) fn crop<'m>(model: &'m Model, values: &Values) -> Option<&'m Crop> {
    let crop = CropId(values.text("crop").parse().ok()?);
    model.crops.iter().find(|c| c.id == crop)
}

pub(super) fn day(model: &Model, values: &Values) -> Day {
    values.date("day").unwrap_or_else(|| model.today())
}

/// Places for a crop as often as trays still go there: the zone it begins in first, in it those with nothing below,
/// isolation never by itself.
pub(super) fn places<'m>(model: &'m Model, crop: &Crop) -> Vec<&'m Place> {
    let zone = if crop.plan.cover_d > 0 { Zone::Covered } else { Zone::Lit };
    let mut places = model.board.room_left();
    places.retain(|place| place.zone != Zone::Isolation);
    let taken = |place: &Place| model.board.tray_at(place.id).is_some();
    places.sort_by_key(|place| (model.board.to_clean(place.id).is_some(), place.zone != zone, taken(place)));
    places
}

/// Nothing until crop and tray format are known.
pub(super) fn chosen<'m>(model: &'m Model, values: &Values) -> Option<Plan<'m>> {
    let crop = crop(model, values)?;
    let format = FormatId(values.text("format").parse().ok()?);
    let format = model.board.formats.iter().find(|f| f.id == format)?;
    let day = day(model, values);
    let (mut lots, mut barred) = (Vec::new(), Vec::new());
    let first = values.text("lot").parse().ok().map(SeedLotId);
    for lot in model.lots.iter().filter(|lot| lot.crop == crop.id) {
        match lot.bar(day) {
            None => lots.push(lot),
            // chosen all the same: the book refuses it, or takes it as a breach
            Some(_) if first == Some(lot.id) => lots.push(lot),
            Some(why) => barred.push((lot, why)),
        }
    }
    if let Some(first) = first {
        lots.sort_by_key(|lot| lot.id != first);
    }
    let mut places = places(model, crop);
    let first = values.text("place").parse().ok().map(PlaceId);
    let all = places.len();
    // chosen all the same: said below the fields
    places.retain(|place| Some(place.id) == first || model.board.to_clean(place.id).is_none());
    let left_out = all - places.len();
    let unclean = first.filter(|first| model.board.to_clean(*first).is_some());
    if let Some(first) = first
        && let Some(at) = places.iter().position(|place| place.id == first)
    {
        places.rotate_left(at);
    }
    Some(Plan { crop, format, lots, barred, places, unclean, left_out, day, units: model.board.units() })
}

/// Grams as they can be weighed: tenths, and finer for little seed; with ounces hundredths, and finer below one.
fn weighable(grams: f64, units: Units) -> f64 {
    let (unit, x) = match units {
        Units::Metric => (Unit::Gram, grams),
        Units::Us => (Unit::Ounce, Unit::Ounce.from_kept(grams)),
    };
    let steps = match (units, x) {
        (Units::Metric, 10.0..) => 10.0,
        (Units::Metric | Units::Us, 1.0..) => 100.0,
        _ => 1000.0,
    };
    // to the milligram, as it will be kept
    (unit.to_kept((x * steps).round() / steps) * 1000.0).round() / 1000.0
}

impl Plan<'_> {
    /// The seed of each part, or what is missing; nothing until grams and trays are there.
    fn parts(&self, values: &Values) -> Option<Result<Vec<Part>, String>> {
        let Supply { lots, per_tray, trays } = self.supply(values)?;
        Some(share_out(&lots, per_tray, trays).map_err(|short| {
            format!(
                "{} of {} seed are missing: sow fewer trays, receive a lot, or count the jar.",
                self.units.weight(short.missing_mg),
                self.crop.name
            )
        }))
    }

    /// The seed of each part as it went into the trays: what the jars cannot hold comes out of the last one, and the
    /// book has its say about that.
    pub fn poured(&self, values: &Values) -> Option<Vec<Part>> {
        let Supply { mut lots, per_tray, trays } = self.supply(values)?;
        let shared = share_out(&lots, per_tray, trays);
        if let (Err(short), Some((_, left))) = (&shared, lots.last_mut()) {
            *left = (*left).max(0).saturating_add(short.missing_mg);
        }
        shared.or_else(|_| share_out(&lots, per_tray, trays)).ok()
    }

    /// The soaks that the seed of these trays comes from.
    pub fn soaked<'m>(&self, model: &'m Model, values: &Values) -> Soaked<'m> {
        let parts = self.poured(values).unwrap_or_default();
        Soaked::of(model, &parts)
    }

    fn supply(&self, values: &Values) -> Option<Supply> {
        let per_tray = milligrams(values, "grams")?;
        let trays = usize::try_from(scaled(values, "trays", 1.0)?).ok()?;
        // the first jar holds what was counted, if it was, else what the book says
        let counted = milligrams(values, "counted");
        let left = |n: usize, lot: &SeedLot| counted.filter(|_| n == 0).unwrap_or(lot.left_mg);
        let lots = self.lots.iter().enumerate().map(|(n, lot)| (lot.id, left(n, lot))).collect();
        Some(Supply { lots, per_tray, trays })
    }

    #[expect(clippy::cast_precision_loss, reason = "field values are far below 2^53")]
    fn seeding(&self) -> Option<Seeding> {
        let tsw_mg = self.lots.first().and_then(|lot| lot.tsw_mg).or(self.crop.tsw_mg)?;
        // the crop's seeds per cm² stand for its usual seed; a lot with heavier seed gets more grams for as many seeds
        let usual_tsw = self.crop.tsw_mg.unwrap_or(tsw_mg) as f64 / 1000.0;
        let pct = |pm: i64| pm as f64 / 10.0;
        Some(Seeding {
            seeds_per_cm2: self.crop.tray_mg as f64 / usual_tsw / NOMINAL_AREA_CM2,
            area_cm2: self.format.area_cm2(),
            tsw_g: tsw_mg as f64 / 1000.0,
            germination_pct: self.lots.first().and_then(|lot| lot.germ_now()).map(pct),
            target_pct: self.crop.want_germ_pm.map(pct),
        })
    }

    /// Grams a tray should get: by density, seed weight and germination, or the crop's own grams scaled by area.
    #[expect(clippy::cast_precision_loss, reason = "field values are far below 2^53")]
    pub fn grams(&self) -> Option<f64> {
        let worked = self.seeding().and_then(|seeding| seeding.grams_to_sow().ok()).map(|worked| worked.grams);
        let scaled = || scale_grams(self.crop.tray_mg as f64 / 1000.0, NOMINAL_AREA_CM2, self.format.area_cm2()).ok();
        worked.or_else(scaled).map(|grams| weighable(grams, self.units))
    }

    /// More than double or under half of what a tray should get.
    pub fn odd(&self, values: &Values) -> Option<Odd> {
        odd_amount(values.number("grams")?, self.grams()?)
    }

    /// Why nothing can be sown, if nothing can.
    pub fn no_seed(&self) -> Option<String> {
        let none = format!("There is no {} seed to sow: receive a lot first, on the seed shelf.", self.crop.name);
        self.lots.is_empty().then_some(none)
    }

    /// The arithmetic and what follows, a line each.
    pub fn lines(&self, values: &Values) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some(none) = self.no_seed() {
            lines.extend(self.barred.iter().map(|(lot, why)| format!("{} stays out: {why}.", lot.code)));
            lines.push(none);
        } else {
            lines.extend(self.seed_lines(values));
            match self.parts(values) {
                Some(Ok(parts)) => lines.extend(part_lines(&parts, self.units, |id| self.code(id))),
                Some(Err(short)) => lines.push(short),
                None => {}
            }
        }
        lines.extend(self.place_line(values));
        lines
    }

    fn code(&self, id: SeedLotId) -> String {
        self.lots.iter().find(|lot| lot.id == id).map_or_else(String::new, |lot| lot.code.clone())
    }

    fn seed_lines(&self, values: &Values) -> Vec<String> {
        let mut lines = Vec::new();
        let first = self.lots.first();
        match self.seeding().map(|seeding| seeding.grams_to_sow()) {
            Some(Ok(worked)) => lines.extend(worked.lines(self.units)),
            Some(Err(_)) if first.is_some_and(|lot| lot.germ_now() == Some(0)) => {
                lines.push("This lot germinates 0 %: nothing of it will grow.".into());
            }
            Some(Err(why)) => lines.push(format!("Not worked out: {why}.")),
            None => lines.push("Scaled by area only: the weight of 1000 seeds is not known.".into()),
        }
        if let Some((lot, why)) = first.and_then(|lot| Some((lot, lot.bar(self.day)?))) {
            lines.push(format!("{} is not to be sown: {why}.", lot.code));
        }
        if let Some((lot, why)) = first.and_then(|lot| Some((lot, lot.tested?.warning()?))) {
            lines.push(format!("{} {why}.", lot.code));
        }
        if let Some((lot, use_by)) = first.and_then(|lot| Some((lot, lot.use_by.filter(|day| *day < self.day)?))) {
            lines.push(format!("{} is past its use-by day, {use_by}: test a few seeds first.", lot.code));
        }
        if let (Some(typed), Some(proposed)) = (values.number("grams"), self.grams()) {
            let off = (typed - proposed) / proposed * 100.0;
            if off.abs() >= 1.0 {
                let (typed, proposed) = (self.shown(typed), self.shown(proposed));
                lines.push(format!("You sow {typed}: {off:+.0} % against {proposed}."));
            }
        }
        lines
    }

    fn shown(&self, grams: f64) -> String {
        #[expect(clippy::cast_possible_truncation, reason = "fields limit their numbers; the cast saturates")]
        self.units.weight((grams * 1000.0).round() as i64)
    }

    fn place_line(&self, values: &Values) -> Option<String> {
        let trays = usize::try_from(scaled(values, "trays", 1.0)?).ok()?;
        if trays > self.places.len() {
            return Some(self.too_few_places(trays));
        }
        let taken = self.places.get(..trays)?;
        let (first, last) = (taken.first()?, taken.last()?);
        if self.unclean == Some(first.id) {
            return Some(format!("{} is to be cleaned first: something bad stood there (r z).", first.label()));
        }
        if trays == 1 {
            return Some(format!("Stands at {} ({}).", first.label(), first.zone.shown()));
        }
        let zones: Vec<String> = Zone::ALL
            .iter()
            .map(|zone| (zone, taken.iter().filter(|place| place.zone == *zone).count()))
            .filter(|(_, n)| *n > 0)
            .map(|(zone, n)| format!("{n} {}", zone.shown()))
            .collect();
        Some(format!("Stand at {} to {}: {}.", first.label(), last.label(), zones.join(", ")))
    }

    pub fn too_few_places(&self, trays: usize) -> String {
        let clean = match self.left_out {
            0 => String::new(),
            n => format!(" {} to clean first (r z).", counted(n, "place")),
        };
        match self.places.len() {
            0 => format!("No place is free: cut or throw out trays first, or add a rack in settings.{clean}"),
            n => format!("{trays} trays, and only {} free: sow fewer, or free some.{clean}", counted(n, "place")),
        }
    }
}
