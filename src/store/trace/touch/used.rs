//! What was used on the way: bottles that were sprayed from, media, packaging, tools, and the checks at the knife.

use std::collections::BTreeSet;

use rusqlite::Connection;

use super::Log;
use crate::domain::code::Code;
use crate::domain::id::{EntryId, LotId, MaterialLotId, MixId, TrayId};
use crate::domain::text::counted;
use crate::domain::time::{Day, Now};
use crate::domain::trace::Node;
use crate::domain::trace::touch::{Section, Touch};
use crate::store::error::StoreError;
use crate::store::lot;
use crate::store::trace::event::stamp;

/// `growing mat, lot M-1`.
pub(super) fn material(conn: &Connection, id: MaterialLotId) -> Result<String, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT m.name || ', lot ' || l.code FROM material_lot l JOIN material m ON m.id = l.material_id WHERE l.id = ?",
        )?
        .query_row([id], |row| row.get(0))?)
}

impl Log<'_> {
    /// Entries of the bottles that trays were treated from, and of the checks at the knife.
    pub(super) fn used(&mut self, trays: &[TrayId], lots: &[LotId]) -> Result<(), StoreError> {
        for mix in self.mixes(trays)? {
            let code = Code::mix(mix.0).to_string();
            for entry in self.rows::<EntryId>(
                "SELECT entry_id FROM mix WHERE id = ?1 UNION SELECT entry_id FROM mix_end WHERE mix_id = ?1 AND void_by IS NULL",
                mix.0,
            )? {
                self.entry(entry, code.clone())?;
            }
        }
        lots.iter().try_for_each(|lot| self.checked(*lot))
    }

    /// Bottles of the trace, and those that trays were treated from. Index: `treatment_tray_tray`.
    fn mixes(&self, trays: &[TrayId]) -> Result<BTreeSet<MixId>, StoreError> {
        let own = self.nodes.iter().filter_map(|node| match node {
            Node::Mix(id) => Some(*id),
            _ => None,
        });
        let mut mixes: BTreeSet<MixId> = own.collect();
        for tray in trays {
            mixes.extend(self.rows::<MixId>(
                "SELECT DISTINCT m.mix_id FROM treatment_tray x JOIN treatment m ON m.id = x.treatment_id
                 WHERE x.tray_id = ? AND m.mix_id NOT NULL AND m.void_by IS NULL",
                tray.0,
            )?);
        }
        Ok(mixes)
    }

    /// Lots of what trays grew on, of what went into bottles, and of what is around lots. Index: `lot_use_lot`.
    pub(super) fn materials(&self, trays: &[TrayId], lots: &[LotId]) -> Result<BTreeSet<MaterialLotId>, StoreError> {
        let own = self.nodes.iter().filter_map(|node| match node {
            Node::Material(id) => Some(*id),
            _ => None,
        });
        let mut materials: BTreeSet<MaterialLotId> = own.collect();
        for tray in trays {
            materials.extend(self.rows::<MaterialLotId>(
                "SELECT s.medium_lot_id FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE t.id = ? AND s.medium_lot_id NOT NULL",
                tray.0,
            )?);
        }
        for mix in self.mixes(trays)? {
            materials.extend(self.rows::<MaterialLotId>(
                "SELECT DISTINCT material_lot_id FROM mix_part WHERE mix_id = ? AND material_lot_id NOT NULL",
                mix.0,
            )?);
        }
        for lot in lots {
            materials.extend(self.rows::<MaterialLotId>(
                "SELECT DISTINCT material_lot_id FROM lot_use WHERE lot_id = ? AND material_lot_id NOT NULL AND void_by IS NULL",
                lot.0,
            )?);
        }
        Ok(materials)
    }

    fn rows<T: rusqlite::types::FromSql>(&self, text: &str, key: i64) -> Result<Vec<T>, StoreError> {
        Ok(self.conn.prepare_cached(text)?.query_map([key], |row| row.get(0))?.collect::<Result<_, _>>()?)
    }

    /// What whoever cut a harvest lot checked that day before taking up the knife. Index: `cut_check_person`.
    fn checked(&mut self, id: LotId) -> Result<(), StoreError> {
        let entries: Vec<EntryId> = self.rows(
            "SELECT k.entry_id FROM lot l JOIN entry_hands h ON h.id = l.entry_id
             JOIN cut_check k ON k.person_id = h.person_id AND k.day = l.day
             WHERE l.id = ? AND l.kind = 'harvest' AND k.void_by IS NULL ORDER BY k.id",
            id.0,
        )?;
        let code = lot::code(self.conn, id)?;
        entries.into_iter().try_for_each(|entry| self.entry(entry, code.clone()))
    }
}

/// Lots of materials, each with when it came.
pub(super) fn materials(conn: &Connection, now: Now, all: &BTreeSet<MaterialLotId>) -> Result<Vec<Touch>, StoreError> {
    let mut touches = Vec::new();
    for id in all {
        let (entry, received, use_by): (EntryId, Day, Option<Day>) = conn
            .prepare_cached("SELECT entry_id, received, use_by FROM material_lot WHERE id = ?")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        let (name, stamp) = (material(conn, *id)?, stamp(conn, now, entry)?);
        let until = use_by.map_or_else(String::new, |day| format!(", use by {day}"));
        touches.push(Touch {
            who: stamp.saw,
            of: BTreeSet::from([name.clone()]),
            entry: Some(entry),
            put_right_by: stamp.put_right_by,
            ..Touch::worked_out(Section::Materials, stamp.seen_at, format!("{name}, received {received}{until}"))
        });
    }
    Ok(touches)
}

/// Tools and packaging that touched lots, each with its lots. Index: `lot_use_lot`.
pub(super) fn tools(conn: &Connection, now: Now, lots: &[LotId]) -> Result<Vec<Touch>, StoreError> {
    let mut touches = Vec::new();
    for id in lots {
        let code = lot::code(conn, *id)?;
        let used: Vec<(EntryId, Option<String>, Option<MaterialLotId>)> = conn
            .prepare_cached(
                "SELECT u.entry_id, t.name, u.material_lot_id FROM lot_use u LEFT JOIN tool t ON t.id = u.tool_id
                 WHERE u.lot_id = ? AND u.void_by IS NULL ORDER BY u.id",
            )?
            .query_map([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        for (entry, tool, around) in used {
            let stamp = stamp(conn, now, entry)?;
            let (section, words) = match (tool, around) {
                (Some(tool), _) => (Section::Tools, format!("{tool} was used on {code}")),
                (None, Some(id)) => (Section::Materials, format!("{} is around {code}", material(conn, id)?)),
                (None, None) => continue,
            };
            touches.push(Touch {
                who: stamp.saw,
                of: BTreeSet::from([code.clone()]),
                entry: Some(entry),
                put_right_by: stamp.put_right_by,
                ..Touch::worked_out(section, stamp.seen_at, words)
            });
        }
    }
    Ok(touches)
}

/// `12 readings`.
pub(super) fn readings(n: i64) -> String {
    counted(usize::try_from(n).unwrap_or(0), "reading")
}
