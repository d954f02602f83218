//! What is known of one thing in a trace, for one line of it.

use rusqlite::{Connection, OptionalExtension};

use crate::domain::code::Code;
use crate::domain::id::{DeliveryId, LotId, MaterialLotId, MixId, RoundId, SeedLotId, SowingId, ToolId, TrayId};
use crate::domain::lot::Kind;
use crate::domain::mix::MixEnd;
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::trace::{Node, Thing};
use crate::domain::tray::Stage;
use crate::store::error::StoreError;
use crate::store::{breach, hold, lot, room, stock};

pub(super) struct Reader<'a> {
    conn: &'a Connection,
    units: Units,
}

impl<'a> Reader<'a> {
    pub fn new(conn: &'a Connection) -> Result<Self, StoreError> {
        Ok(Self { conn, units: room::units(conn)? })
    }

    pub fn thing(&self, node: Node) -> Result<Thing, StoreError> {
        match node {
            Node::SeedLot(id) => self.seed_lot(id),
            Node::Material(id) => self.material(id),
            Node::Mix(id) => self.mix(id),
            Node::Tool(id) => self.tool(id),
            Node::Sowing(id) => self.sowing(id),
            Node::Tray(id) => self.tray(id),
            Node::Lot(id) => self.lot(id),
            Node::Delivery(id) => self.delivery(id),
            Node::Round(id) => self.round(id),
        }
    }

    /// Index: `seed_move_lot`.
    fn seed_lot(&self, id: SeedLotId) -> Result<Thing, StoreError> {
        let (mut thing, supplier, theirs, left_mg): (Thing, String, String, i64) = self
            .conn
            .prepare_cached(
                "SELECT l.code, c.name || coalesce(' ' || l.variety, ''), l.received,
                        EXISTS (SELECT 1 FROM blocked WHERE seed_lot_id = l.id), s.name, l.supplier_lot,
                        (SELECT coalesce(sum(mg), 0) FROM seed_move WHERE seed_lot_id = l.id AND void_by IS NULL)
                 FROM seed_lot l JOIN crop c ON c.id = l.crop_id JOIN supplier s ON s.id = l.supplier_id WHERE l.id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::SeedLot(id), row)?, row.get(4)?, row.get(5)?, row.get(6)?)))?;
        thing.words = format!("{supplier}, their lot {theirs}");
        if left_mg > 0 {
            thing.here = self.units.stock(left_mg);
        }
        Ok(thing)
    }

    fn material(&self, id: MaterialLotId) -> Result<Thing, StoreError> {
        let (mut thing, use_by): (Thing, Option<Day>) = self
            .conn
            .prepare_cached(
                "SELECT l.code, m.name, l.received, EXISTS (SELECT 1 FROM blocked WHERE material_lot_id = l.id), l.use_by
                 FROM material_lot l JOIN material m ON m.id = l.material_id WHERE l.id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::Material(id), row)?, row.get(4)?)))?;
        thing.words = use_by.map_or_else(String::new, |day| format!("use by {day}"));
        Ok(thing)
    }

    /// Indexes: `treatment_mix`, `mix_end_mix`.
    fn mix(&self, id: MixId) -> Result<Thing, StoreError> {
        let (mut thing, ml, left, ended): (Thing, i64, i64, Option<MixEnd>) = self
            .conn
            .prepare_cached(
                "SELECT m.code, coalesce(r.name, ''), e.day, EXISTS (SELECT 1 FROM blocked WHERE mix_id = m.id), m.ml,
                        m.ml - (SELECT coalesce(sum(ml), 0) FROM treatment WHERE mix_id = m.id AND void_by IS NULL),
                        (SELECT what FROM mix_end x WHERE x.mix_id = m.id AND x.void_by IS NULL)
                 FROM mix m JOIN entry e ON e.id = m.entry_id LEFT JOIN recipe r ON r.id = m.recipe_id WHERE m.id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::Mix(id), row)?, row.get(4)?, row.get(5)?, row.get(6)?)))?;
        thing.words = self.units.volume(ml);
        match ended {
            Some(what) => thing.words = format!("{}, {}", thing.words, what.shown()),
            None if left > 0 => thing.here = self.units.volume(left),
            None => {}
        }
        Ok(thing)
    }

    fn tool(&self, id: ToolId) -> Result<Thing, StoreError> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT name, 'tool', NULL, EXISTS (SELECT 1 FROM blocked WHERE tool_id = tool.id) FROM tool WHERE id = ?",
            )?
            .query_row([id], |row| thing(Node::Tool(id), row))?)
    }

    /// Held itself, or by its seed or medium. Indexes: `tray_sowing`, `seed_move_sowing`.
    fn sowing(&self, id: SowingId) -> Result<Thing, StoreError> {
        let (mut thing, trays, here): (Thing, i64, i64) = self
            .conn
            .prepare_cached(
                "SELECT s.code, c.name, s.day,
                        EXISTS (SELECT 1 FROM blocked WHERE sowing_id = s.id)
                          OR EXISTS (SELECT 1 FROM seed_move m JOIN blocked b ON b.seed_lot_id = m.seed_lot_id
                                     WHERE m.sowing_id = s.id AND m.void_by IS NULL)
                          OR EXISTS (SELECT 1 FROM blocked WHERE seed_lot_id = s.before_lot_id)
                          OR EXISTS (SELECT 1 FROM blocked WHERE material_lot_id = s.medium_lot_id),
                        (SELECT count(*) FROM tray WHERE sowing_id = s.id),
                        (SELECT count(*) FROM tray t JOIN tray_now n ON n.tray_id = t.id WHERE t.sowing_id = s.id)
                 FROM sowing_now s JOIN crop c ON c.id = s.crop_id WHERE s.id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::Sowing(id), row)?, row.get(4)?, row.get(5)?)))?;
        let all = counted(usize::try_from(trays).unwrap_or(0), "tray");
        if here > 0 {
            thing.here = format!("{here} of {all} in the room");
        }
        thing.words = all;
        Ok(thing)
    }

    /// Where it stands, or how it ended. Index: `stage_tray`.
    fn tray(&self, id: TrayId) -> Result<Thing, StoreError> {
        type Now = (Option<Stage>, Option<i64>, Option<String>, bool);
        let ((name, day, mats), (stage, left, place, held)): ((String, Day, i64), Now) = self
            .conn
            .prepare_cached(
                "SELECT c.name, s.day, t.mats, n.stage, n.mats_left, r.name || ' ' || p.shelf || '-' || p.pos, coalesce(n.held, 0)
                 FROM tray t JOIN sowing_now s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id
                 LEFT JOIN tray_now n ON n.tray_id = t.id LEFT JOIN place p ON p.id = n.place_id
                 LEFT JOIN rack r ON r.id = p.rack_id WHERE t.id = ?",
            )?
            .query_row([id], |row| {
                let now = (row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?);
                Ok(((row.get(0)?, row.get(1)?, row.get(2)?), now))
            })?;
        let code = Code::tray(id.0).to_string();
        let thing =
            Thing { node: Node::Tray(id), code, name, day: Some(day), words: String::new(), here: String::new(), held };
        if let (Some(stage), Some(left)) = (stage, left) {
            let here = place.map_or_else(|| "missing".to_string(), |place| format!("stands at {place}"));
            let some = if left < mats { format!(", {left} of {mats} mats left") } else { String::new() };
            return Ok(Thing { words: format!("{}{some}", stage.shown()), here, ..thing });
        }
        let ended: Option<(Stage, Day)> = self
            .conn
            .prepare_cached(
                "SELECT s.stage, e.day FROM stage s JOIN entry e ON e.id = s.entry_id
                 WHERE s.tray_id = ? AND s.void_by IS NULL AND s.stage IN ('cut', 'left_alive', 'thrown') ORDER BY s.id DESC",
            )?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let words = ended.map_or_else(String::new, |(stage, day)| format!("{} {day}", stage.shown()));
        let held = hold::holds(self.conn, id)? || breach::holds(self.conn, id)?;
        Ok(Thing { words, held, ..thing })
    }

    /// Indexes: `stock_move_lot`, `lot_now`.
    fn lot(&self, id: LotId) -> Result<Thing, StoreError> {
        let lot = lot::get(self.conn, id)?;
        let made: i64 = self
            .conn
            .prepare_cached(
                "SELECT coalesce(sum(coalesce(grams, packs)), 0) FROM stock_move
                 WHERE lot_id = ? AND void_by IS NULL AND kind = 'made'",
            )?
            .query_row([id], |row| row.get(0))?;
        let given: i64 = self
            .conn
            .prepare_cached(
                "SELECT coalesce(sum(coalesce(grams, packs)), 0) FROM stock_move
                 WHERE lot_id = ? AND void_by IS NULL AND kind = 'given' AND round_id IS NULL",
            )?
            .query_row([id], |row| row.get(0))?;
        let old: Option<String> = self
            .conn
            .prepare_cached("SELECT o.code FROM lot l JOIN lot o ON o.id = l.instead_of WHERE l.id = ?")?
            .query_row([id], |row| row.get(0))
            .optional()?;
        let amount = |n| stock::amount(lot.kind, n, self.units);
        let mut words = vec![match lot.kind {
            Kind::Harvest => format!("{} cut", amount(made)),
            Kind::Pack => format!("{} made", amount(made)),
        }];
        words.extend((given > 0).then(|| format!("{} given away", amount(given))));
        if let Some(old) = old {
            words.push(format!("was {}", lot::shown(&old)?));
        }
        let mut here: Vec<String> = (lot.here() > 0).then(|| amount(lot.here())).into_iter().collect();
        here.extend((lot.out_packs > 0).then(|| format!("{} on the way", amount(lot.out_packs))));
        let here = here.join(", ");
        Ok(Thing {
            node: Node::Lot(id),
            code: lot.code,
            name: lot.name,
            day: Some(lot.day),
            words: words.join(", "),
            here,
            held: lot.held,
        })
    }

    fn delivery(&self, id: DeliveryId) -> Result<Thing, StoreError> {
        let (mut thing, phone): (Thing, String) = self
            .conn
            .prepare_cached(
                "SELECT CAST(d.id AS TEXT), c.name, d.day, 0, c.phone FROM delivery d JOIN customer c ON c.id = d.customer_id
                 WHERE d.id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::Delivery(id), row)?, row.get(4)?)))?;
        thing.words = if phone.is_empty() { "no phone".into() } else { phone };
        Ok(thing)
    }

    fn round(&self, id: RoundId) -> Result<Thing, StoreError> {
        let (mut thing, hours): (Thing, String) = self
            .conn
            .prepare_cached(
                "SELECT CAST(id AS TEXT), name || coalesce(', ' || nullif(place, ''), ''), day, 0, coalesce(hours, '')
                 FROM round WHERE id = ?",
            )?
            .query_row([id], |row| Ok((thing(Node::Round(id), row)?, row.get(4)?)))?;
        thing.words = hours;
        Ok(thing)
    }
}

/// Code, name, day and whether it is held, from the first four columns.
fn thing(node: Node, row: &rusqlite::Row<'_>) -> rusqlite::Result<Thing> {
    Ok(Thing {
        node,
        code: row.get(0)?,
        name: row.get(1)?,
        day: row.get(2)?,
        words: String::new(),
        here: String::new(),
        held: row.get(3)?,
    })
}
