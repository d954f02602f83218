//! What is held and is not to be used: seed, mixes, lots of materials, tools.

use rusqlite::Connection;

use crate::domain::history::{Of, Record};
use crate::domain::id::{EntryId, HoldId};
use crate::domain::refusal::Refusal;
use crate::store::breach::About;
use crate::store::error::StoreError;

/// The newest hold of a seed lot that nobody lifted; none where it may be sown. Index: `hold_item_seed_lot`.
pub(in crate::store) const SEED: &str =
    "SELECT max(h.entry_id) FROM blocked b JOIN hold h ON h.id = b.hold_id WHERE b.seed_lot_id = ?";

/// The same of a bottle, or of a lot that went into it. Indexes: `hold_item_mix`, `hold_item_material`.
pub(in crate::store) const MIX: &str = "SELECT max(entry) FROM (
      SELECT h.entry_id AS entry FROM blocked b JOIN hold h ON h.id = b.hold_id WHERE b.mix_id = ?1
      UNION ALL SELECT h.entry_id FROM mix_part p CROSS JOIN blocked b ON b.material_lot_id = p.material_lot_id
        JOIN hold h ON h.id = b.hold_id WHERE p.mix_id = ?1)";

/// The same of a lot of a medium, an ingredient or packaging. Index: `hold_item_material`.
pub(in crate::store) const MATERIAL: &str =
    "SELECT max(h.entry_id) FROM blocked b JOIN hold h ON h.id = b.hold_id WHERE b.material_lot_id = ?";

/// The same of a tool. Index: `hold_item_tool`.
pub(in crate::store) const TOOL: &str =
    "SELECT max(h.entry_id) FROM blocked b JOIN hold h ON h.id = b.hold_id WHERE b.tool_id = ?";

/// Whether such a hold is there.
pub(in crate::store) fn bars(conn: &Connection, about: About) -> Result<bool, StoreError> {
    let newest: Option<EntryId> = conn.prepare_cached(about.0)?.query_row([about.1], |row| row.get(0))?;
    Ok(newest.is_some())
}

/// Seed lots, mixes, lots of materials and tools that a hold is of, each with its name, as they were named.
pub(super) fn named(conn: &Connection, hold: HoldId) -> Result<Vec<(Of, String)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT i.seed_lot_id, i.mix_id, i.material_lot_id, i.tool_id,
                    CASE WHEN i.seed_lot_id NOT NULL THEN 'seed lot ' || s.code || ' ' || c.name
                      WHEN i.mix_id NOT NULL THEN 'mix ' || x.code || coalesce(' ' || r.name, '')
                      WHEN i.material_lot_id NOT NULL THEN m.name || ', lot ' || l.code ELSE t.name END
             FROM hold_item i LEFT JOIN seed_lot s ON s.id = i.seed_lot_id LEFT JOIN crop c ON c.id = s.crop_id
             LEFT JOIN mix x ON x.id = i.mix_id LEFT JOIN recipe r ON r.id = x.recipe_id
             LEFT JOIN material_lot l ON l.id = i.material_lot_id LEFT JOIN material m ON m.id = l.material_id
             LEFT JOIN tool t ON t.id = i.tool_id
             WHERE i.hold_id = ? AND coalesce(i.seed_lot_id, i.mix_id, i.material_lot_id, i.tool_id) NOT NULL ORDER BY i.n",
        )?
        .query_map([hold], |row| {
            let (seed, mix, material) = (row.get(0)?, row.get(1)?, row.get(2)?);
            let of = match (seed, mix, material) {
                (Some(id), ..) => Of::SeedLot(id),
                (_, Some(id), _) => Of::Mix(id),
                (.., Some(id)) => Of::Material(id),
                _ => Of::Record(Record::Tool, row.get(3)?),
            };
            Ok((of, row.get(4)?))
        })?
        .collect::<Result<_, _>>()?)
}

/// Held seed is not sown.
pub(in crate::store) fn held_seed(code: &str) -> Refusal {
    let why = format!("{code} is held: take another lot. Someone who may decide lifts the hold (d in the room).");
    Refusal::new("seed_held", why)
}

/// A held lot of a material is not used.
pub(in crate::store) fn held_material(name: &str, code: &str) -> Refusal {
    let why = format!(
        "{name}, lot {code}, is held: take another lot. Someone who may decide lifts the hold (d in the room)."
    );
    Refusal::new("material_held", why)
}
