//! Seed lots: received, counted, and what is left.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::crop;
use super::error::StoreError;
use super::facts::{SEED_LOT, SEED_MOVE};
use super::ids::day_sql;
use super::room;
use super::writer::Writer;
use crate::domain::code::Code;
use crate::domain::germ_test::Tested;
use crate::domain::id::SeedLotId;
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::{NewSeedLot, SEED_MG_MAX, SeedLot, use_order};
use crate::domain::time::Day;

pub(super) fn receive(w: &mut Writer<'_>, new: &NewSeedLot) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("seed_lot", why).at(field))?;
    let (crop, _) = crop::grown(w.conn, new.crop)?;
    let supplier = supplier(w, &new.supplier, &new.supplier_address)?;
    let next: i64 = w.conn.query_row("SELECT coalesce(max(id), 0) + 1 FROM seed_lot", [], |row| row.get(0))?;
    let code = Code::seed_lot(next).to_string();
    let variety = Some(new.variety.trim()).filter(|text| !text.is_empty());
    let id = w.fact(
        SEED_LOT,
        &[
            ("rev", &0i64),
            ("code", &code),
            ("crop_id", &new.crop),
            ("variety", &variety),
            ("supplier_id", &supplier),
            ("supplier_lot", &new.supplier_lot),
            ("received", &day_sql(new.received)),
            ("use_by", &new.use_by.map(day_sql)),
            ("germ_pm", &new.germ_pm),
            ("tsw_mg", &new.tsw_mg),
            ("treated", &new.treated),
            ("cert", &new.cert),
            ("document", &new.document),
            ("kept", &new.kept),
        ],
    )?;
    w.fact(SEED_MOVE, &[("seed_lot_id", &id), ("mg", &new.mg), ("why", &"received")])?;
    let weight = room::units(w.conn)?.weight(new.mg);
    Ok(Wrote::said(format!("{crop} seed is lot {code}, {weight}: write {code} on the jar.")).made(id))
}

/// Finds or makes the supplier; a newly stated address replaces the old one.
fn supplier(w: &mut Writer<'_>, name: &str, address: &str) -> Result<i64, StoreError> {
    let (name, address) = (name.trim(), address.trim());
    let known: Option<i64> =
        w.conn.query_row("SELECT id FROM supplier WHERE name = ?", [name], |row| row.get(0)).optional()?;
    match known {
        Some(id) => {
            w.edit("supplier", id, &[("retired", &false)])?;
            if !address.is_empty() {
                w.edit("supplier", id, &[("address", &address)])?;
            }
            Ok(id)
        }
        None => w.create("supplier", &[("name", &name), ("address", &address)]),
    }
}

pub(super) fn count(w: &mut Writer<'_>, lot: SeedLotId, counted_mg: i64) -> Result<Wrote, StoreError> {
    if !(0..=SEED_MG_MAX).contains(&counted_mg) {
        return Err(Refusal::new("grams", "A jar holds 0 to 1 000 000 g.").at("counted").into());
    }
    let known: Option<(String, i64)> = w
        .conn
        .query_row(
            "SELECT code, (SELECT coalesce(sum(mg), 0) FROM seed_move WHERE seed_lot_id = l.id AND void_by IS NULL)
             FROM seed_lot l WHERE id = ? AND void_by IS NULL",
            [lot],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let Some((code, book_mg)) = known else {
        return Err(Refusal::new("seed_lot_unknown", "This seed lot is not in the book: choose another.").into());
    };
    let units = room::units(w.conn)?;
    let difference = counted_mg - book_mg;
    if difference == 0 {
        return Err(Refusal::new(
            "count_same",
            format!("The book has {} of {code} as well: nothing to correct.", units.weight(book_mg)),
        )
        .into());
    }
    w.fact(SEED_MOVE, &[("seed_lot_id", &lot), ("mg", &difference), ("why", &"counted")])?;
    let sign = if difference > 0 { "+" } else { "-" };
    let (holds, off) = (units.weight(counted_mg), units.weight(difference.abs()));
    Ok(Wrote::said(format!("{code} holds {holds} ({sign}{off}).")).made(lot.0))
}

const SELECT: &str =
    "SELECT l.id, l.code, l.crop_id, c.name, coalesce(l.variety, ''), s.name, l.supplier_lot, l.received,
    l.use_by, l.germ_pm, l.tsw_mg, l.treated, l.cert, l.document, l.kept,
    (SELECT coalesce(sum(mg), 0) FROM seed_move WHERE seed_lot_id = l.id AND why = 'received' AND void_by IS NULL),
    (SELECT coalesce(sum(mg), 0) FROM seed_move WHERE seed_lot_id = l.id AND void_by IS NULL),
    EXISTS (SELECT 1 FROM blocked WHERE seed_lot_id = l.id), l.supplier_id, n.day, t.replicates * t.seeds, c.min_germ_pm,
    (SELECT coalesce(sum(normal), 0) FROM germ_count WHERE germ_test_id = t.id AND void_by IS NULL)
    FROM seed_lot l JOIN crop c ON c.id = l.crop_id JOIN supplier s ON s.id = l.supplier_id
    LEFT JOIN germ_end n ON n.id = (SELECT x.id FROM germ_test g CROSS JOIN germ_end x ON x.germ_test_id = g.id AND x.void_by IS NULL
      WHERE g.seed_lot_id = l.id AND g.void_by IS NULL ORDER BY x.day DESC, x.id DESC LIMIT 1)
    LEFT JOIN germ_test t ON t.id = n.germ_test_id
    WHERE l.void_by IS NULL";

/// Lots in the order of use. Indexes: of the sums `seed_move_lot`; of the newest test `germ_test_lot`, `germ_end_once`,
/// `germ_count_test`.
pub(super) fn lots(conn: &Connection) -> Result<Vec<SeedLot>, StoreError> {
    let mut lots = conn.prepare_cached(SELECT)?.query_map([], read)?.collect::<Result<Vec<_>, _>>()?;
    lots.sort_by_key(|lot| (lot.left_mg <= 0, use_order(lot)));
    Ok(lots)
}

fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<SeedLot> {
    let ended: Option<Day> = row.get(19)?;
    let tested = match ended {
        Some(day) => Some(Tested { day, seeds: row.get(20)?, min_pm: row.get(21)?, normal: row.get(22)? }),
        None => None,
    };
    Ok(SeedLot {
        id: row.get(0)?,
        code: row.get(1)?,
        crop: row.get(2)?,
        crop_name: row.get(3)?,
        variety: row.get(4)?,
        supplier_id: row.get(18)?,
        supplier: row.get(5)?,
        supplier_lot: row.get(6)?,
        received: row.get(7)?,
        use_by: row.get(8)?,
        germ_pm: row.get(9)?,
        tsw_mg: row.get(10)?,
        treated: row.get(11)?,
        cert: row.get(12)?,
        document: row.get(13)?,
        kept: row.get(14)?,
        received_mg: row.get(15)?,
        left_mg: row.get(16)?,
        held: row.get(17)?,
        tested,
    })
}
