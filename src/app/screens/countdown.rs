//! Why a lot keeps as long as the shelf life says: the sum, reading by reading.

use crate::app::model::Model;
use crate::domain::id::LotId;
use crate::domain::keeping::{Figure, Left, NO_CLEARANCE, Part, Place, Way};
use crate::domain::power_cut::lasting;
use crate::domain::time::Instant;

use super::text;

pub fn now_s(model: &Model) -> i64 {
    model.now.instant().0.timestamp()
}

/// `13 Jul 06:15` of a moment of the readings.
pub fn clock_words(model: &Model, at_s: i64) -> String {
    chrono::DateTime::from_timestamp(at_s, 0)
        .map_or_else(String::new, |at| model.now.local(Instant(at)).format("%d %b %H:%M").to_string())
}

/// Opens the sum of a lot.
pub fn open(model: &mut Model, lot: LotId) {
    let title = model
        .goods
        .lot(lot)
        .map_or_else(|| "How long it keeps".to_string(), |lot| format!("How long {} {} keeps", lot.code, lot.name));
    let lines = lines(model, lot);
    text::open(model, title, lines);
}

fn lines(model: &Model, id: LotId) -> Vec<String> {
    let (now, units) = (now_s(model), model.board.units());
    let Some((lot, left)) = model.cold.lot(id).zip(model.cold.left(id, now)) else {
        return vec!["Nothing was cut for it: there is no sum.".into()];
    };
    let plan_dc = model.cold.plan_dc(lot);
    let place = lot
        .store
        .and_then(|store| model.cold.store(store))
        .map_or_else(|| "as it is kept after it leaves us".to_string(), |store| format!("as {} is kept", store.name));
    let mut lines = vec![
        format!("Left at {}, {place}: {}.", units.temperature(plan_dc), left.words()),
        format!(
            "Left at {}, after it leaves us: {}.",
            units.temperature(model.cold.after_dc),
            model.cold.left_at(lot, model.cold.after_dc, now).words()
        ),
    ];
    lines.extend(said(&left));
    if let Some(clock) = model.cold.clock(id, now) {
        lines.push(format!("From the cut until a reading of 5 °C or colder: {}.", clock.words()));
    }
    lines.push(NO_CLEARANCE.into());
    for way in &lot.ways {
        lines.push(String::new());
        lines.extend(sum(model, way, plan_dc, left.hours().is_some()));
    }
    lines
}

/// What is to be said beside the figure.
fn said(left: &Left) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    match left.figure {
        Figure::Hours { .. } => {
            lines.push("In brackets the band, 40 % either way: published lives of one crop differ that much.".into());
        }
        Figure::Freezing => lines.push("It was at or below freezing: open it and look before anything else.".into()),
        Figure::Unknown => {
            lines.push("For some of the time nobody measured: someone who may decide says what becomes of it.".into());
        }
        Figure::NoRecord => lines.push("Its store has no readings: write one down, or read its logger's file.".into()),
        Figure::NoAnchors => lines.push("Set the shelf life of the crop in the settings.".into()),
    }
    if left.marks.gap {
        lines.push("Where readings were further apart than the store allows, the warmer of the two counts.".into());
    }
    if left.marks.extrapolated {
        lines.push("Some of it was warmer than any figure of the crop: extrapolated.".into());
    }
    if left.marks.chilling {
        lines.push("Colder than 10 °C harms this crop and lengthens nothing: chilling.".into());
    }
    lines
}

/// One harvest's way, a line a stretch.
fn sum(model: &Model, way: &Way, plan_dc: i64, figure: bool) -> Vec<String> {
    let units = model.board.units();
    let mut lines = vec![format!("{}, cut {}:", way.name, clock_words(model, way.cut_s))];
    let Some(rates) = model.cold.lives().get(&way.crop) else {
        lines.push("  no shelf life is set for this crop".into());
        return lines;
    };
    let mut used = 0.0;
    for part in model.cold.parts(way, now_s(model)) {
        used += part.share;
        let place = place(model, part.place);
        let head = format!("  {} {place}", clock_words(model, part.from_s));
        let long = lasting((part.to_s - part.from_s) / 60);
        lines.push(match part.dc {
            Some(dc) => format!(
                "{head}: {long} at {}{}, life there {:.1} d, used {:.2} %, together {:.2} %",
                units.temperature(dc),
                gap(&part),
                rates.life_h(dc) / 24.0,
                part.share * 100.0,
                used * 100.0
            ),
            None => format!("{head}: {long}, temperature unknown"),
        });
    }
    let life = rates.life_h(plan_dc) / 24.0;
    if figure {
        lines.push(format!(
            "  left: (100 % - {:.2} %) of {life:.1} d at {} = {:.1} d",
            used * 100.0,
            units.temperature(plan_dc),
            (1.0 - used).max(0.0) * life
        ));
    } else {
        lines.push("  no number comes of it".into());
    }
    lines
}

fn gap(part: &Part) -> &'static str {
    if part.gap { " (gap)" } else { "" }
}

fn place(model: &Model, place: Place) -> String {
    match place {
        Place::Store(store) => model.cold.store(store).map_or_else(|| "a store".into(), |store| store.name.clone()),
        Place::Outside(_) => "outside a store".into(),
    }
}
