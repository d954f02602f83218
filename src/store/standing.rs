//! What stood on the racks before the book: trays without a sowing of ours.

use rusqlite::OptionalExtension;

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{PLACEMENT, SOWING, STAGE, TRAY};
use super::ids::day_sql;
use super::writer::Writer;
use super::{crop, room, seed_lot};
use crate::domain::code::Code;
use crate::domain::id::TrayId;
use crate::domain::refusal::Refusal;
use crate::domain::standing::NewStanding;
use crate::domain::text::counted;
use crate::domain::time::Instant;

pub(super) fn stand(w: &mut Writer<'_>, new: &NewStanding) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("standing", why).at(field))?;
    let name: Option<String> = w
        .conn
        .query_row("SELECT name FROM crop WHERE id = ? AND NOT retired", [new.crop], |row| row.get(0))
        .optional()?;
    let Some(name) = name else {
        return Err(Refusal::new("crop_unknown", "Choose one of the room's crops.").at("crop").into());
    };
    if let Some(id) = new.lot {
        let lots = seed_lot::lots(w.conn)?;
        if !lots.iter().any(|lot| lot.id == id && lot.crop == new.crop) {
            return Err(Refusal::new("seed_other_crop", "Choose a lot of that crop, or \"not recorded\".")
                .at("lot")
                .into());
        }
    }
    let plan = crop::plan_of(w.conn, new.crop)?;
    let next: i64 = w.conn.query_row("SELECT coalesce(max(id), 0) + 1 FROM sowing", [], |row| row.get(0))?;
    let code = Code::sowing(next).to_string();
    let sowing = w.fact(
        SOWING,
        &[
            ("code", &code),
            ("crop_id", &new.crop),
            ("grow_plan_id", &plan.id),
            ("day", &day_sql(new.sown)),
            ("before_book", &1i64),
            ("before_lot_id", &new.lot),
        ],
    )?;
    let at: Option<Instant> = None;
    let mut trays = Vec::new();
    for place in &new.places {
        let tray = TrayId(w.fact(TRAY, &[("sowing_id", &sowing), ("format_id", &new.format), ("mats", &1i64)])?);
        room::usable_place(w, *place, tray)?;
        w.fact(PLACEMENT, &[("tray_id", &tray), ("place_id", place), ("at", &at)])?;
        w.fact(STAGE, &[("tray_id", &tray), ("stage", &new.stage), ("at", &at)])?;
        w.touched.insert(tray);
        trays.push(tray);
    }
    let sentence =
        format!("{} of {name} stood here already: batch {code}, sown {}.", counted(trays.len(), "tray"), new.sown);
    Ok(Wrote { sentence, made: None, trays })
}
