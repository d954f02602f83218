//! What stood on the racks before the book: trays without a sowing of ours.

use super::act::Wrote;
use super::error::StoreError;
use super::facts::SOWING;
use super::ids::day_sql;
use super::writer::Writer;
use super::{crop, room, seed_lot, sowing};
use crate::domain::refusal::Refusal;
use crate::domain::standing::NewStanding;
use crate::domain::text::counted;

pub(super) fn stand(w: &mut Writer<'_>, new: &NewStanding) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("standing", why).at(field))?;
    let (name, _) = crop::grown(w.conn, new.crop)?;
    room::usable_format(w.conn, new.format)?;
    if let Some(id) = new.lot {
        let lots = seed_lot::lots(w.conn)?;
        if !lots.iter().any(|lot| lot.id == id && lot.crop == new.crop) {
            return Err(Refusal::new("seed_other_crop", "Choose a lot of that crop, or \"not recorded\".")
                .at("lot")
                .into());
        }
    }
    let plan = crop::plan_of(w.conn, new.crop)?;
    let code = sowing::next_code(w.conn)?;
    let batch = w.fact(
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
    let mut trays = Vec::new();
    for place in &new.places {
        trays.push(sowing::tray(w, batch, new.format, 1, *place, new.stage)?);
    }
    let sentence =
        format!("{} of {name} stood here already: batch {code}, sown {}.", counted(trays.len(), "tray"), new.sown);
    Ok(Wrote { sentence, made: None, trays })
}
