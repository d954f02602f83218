//! Products: name and pack are a record, what goes in is a new version each time.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{PRODUCT_PART, PRODUCT_VERSION};
use super::order;
use super::person::saved;
use super::revision::{PRODUCT, fresh};
use super::writer::Writer;
use crate::domain::gs1::Gtin;
use crate::domain::id::{CropId, EntryId, ProductId};
use crate::domain::product::{Kind, NewProduct, Part, Product};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::percent;
use crate::domain::time::Day;

pub(super) fn add(w: &mut Writer<'_>, new: &NewProduct) -> Result<Wrote, StoreError> {
    let gtin = checked(w.conn, new, &[])?;
    let name = new.name.trim();
    let cells = [
        ("name", &name as &dyn rusqlite::ToSql),
        ("kind", &new.kind),
        ("pack_g", &new.pack_g),
        ("gtin", &gtin),
        ("price_c", &new.price_c),
    ];
    // a name that packs had before does not become one of live trays
    let free = if new.kind == Kind::Live { "kind = 'live'" } else { "kind <> 'live'" };
    let id = ProductId(w.make("product", 1, free, &cells)?);
    version(w, id, new)?;
    Ok(Wrote::said(format!("Product {name}: written down.")).made(id.0))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    id: ProductId,
    new: &NewProduct,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "product", id.0, rev)?;
    let old: Vec<(CropId, i64)> = parts(w.conn, id)?.into_iter().map(|part| (part.crop, part.share_pm)).collect();
    let gtin = checked(w.conn, new, &old)?;
    same_sort(w.conn, id, new.kind)?;
    if retired {
        idle(w.conn, id, w.now.day())?;
    }
    let same = old == new.parts;
    if !same {
        version(w, id, new)?;
    }
    let name = new.name.trim();
    let changed = w.edit(
        "product",
        id.0,
        &[
            ("name", &name),
            ("kind", &new.kind),
            ("pack_g", &new.pack_g),
            ("gtin", &gtin),
            ("price_c", &new.price_c),
            ("retired", &retired),
        ],
    )?;
    saved(changed || !same)?;
    Ok(Wrote::said(format!("Product {name}: saved. Lots packed before keep what went into them.")).made(id.0))
}

/// The number on its label, once everything is as the book takes it. A crop out of use stays where it was one of the parts:
/// what is left of it is still sold.
fn checked(conn: &Connection, new: &NewProduct, old: &[(CropId, i64)]) -> Result<Option<String>, StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("product", why).at(field))?;
    for (crop, _) in new.parts.iter().filter(|(crop, _)| !old.iter().any(|(was, _)| was == crop)) {
        let used: Option<bool> = conn
            .prepare_cached("SELECT NOT retired FROM crop WHERE id = ?")?
            .query_row([crop], |row| row.get(0))
            .optional()?;
        if used != Some(true) {
            let why = "One of its crops is out of use: choose another, or put the crop to use first.";
            return Err(Refusal::new("product_crop", why).at("parts").into());
        }
    }
    let typed = new.gtin.as_deref().map(str::trim).filter(|text| !text.is_empty());
    let gtin = typed.map(str::parse::<Gtin>).transpose();
    Ok(gtin.map_err(|why| Refusal::new("product_gtin", why.to_string()).at("gtin"))?.map(|gtin| gtin.to_string()))
}

/// Refuses to make packs of live trays, or the other way round: lots and orders of it would say what they never were.
fn same_sort(conn: &Connection, id: ProductId, kind: Kind) -> Result<(), StoreError> {
    let was: Kind = conn.query_row("SELECT kind FROM product WHERE id = ?", [id], |row| row.get(0))?;
    if (was == Kind::Live) != (kind == Kind::Live) {
        let why = "Packs and live trays are two products: write down another one.";
        return Err(Refusal::new("product_kind", why).at("kind").into());
    }
    Ok(())
}

/// Refuses to put a product out of use of which something is there or promised.
fn idle(conn: &Connection, id: ProductId, today: Day) -> Result<(), StoreError> {
    let there: bool = conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM lot_now n CROSS JOIN lot l ON l.id = n.lot_id WHERE l.product_id = ?)",
        [id],
        |row| row.get(0),
    )?;
    if there {
        let why = "Packs of it are still there: sell or bin them first.";
        return Err(Refusal::new("product_there", why).at("used").into());
    }
    if order::wants(conn, id, today)? {
        let why = "It is ordered for today or later: call that off, or change it, first.";
        return Err(Refusal::new("product_ordered", why).at("used").into());
    }
    Ok(())
}

fn version(w: &mut Writer<'_>, product: ProductId, new: &NewProduct) -> Result<(), StoreError> {
    let next: i64 = w.conn.query_row(
        "SELECT coalesce(max(version), 0) + 1 FROM product_version WHERE product_id = ?",
        [product],
        |row| row.get(0),
    )?;
    let id = w.fact(PRODUCT_VERSION, &[("product_id", &product), ("version", &next)])?;
    for (n, (crop, share)) in (0i64..).zip(&new.parts) {
        w.fact(PRODUCT_PART, &[("product_version_id", &id), ("n", &n), ("crop_id", crop), ("share_pm", share)])?;
    }
    Ok(())
}

/// What goes into a product now.
pub(super) fn parts(conn: &Connection, product: ProductId) -> Result<Vec<Part>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT c.id, c.letters, c.name, p.share_pm, c.allergen FROM product_part p JOIN crop c ON c.id = p.crop_id
             WHERE p.product_version_id = (SELECT id FROM product_version WHERE product_id = ? AND void_by IS NULL
               ORDER BY version DESC LIMIT 1) ORDER BY p.n",
        )?
        .query_map([product], |row| {
            Ok(Part {
                crop: row.get(0)?,
                letters: row.get(1)?,
                name: row.get(2)?,
                share_pm: row.get(3)?,
                allergen: row.get(4)?,
            })
        })?
        .collect::<Result<_, _>>()?)
}

/// Products in use, by name.
pub(super) fn all(conn: &Connection) -> Result<Vec<Product>, StoreError> {
    let mut products: Vec<Product> = conn
        .prepare_cached(&format!(
            "SELECT id, {PRODUCT}, name, kind, pack_g, gtin, price_c FROM product WHERE NOT retired ORDER BY name"
        ))?
        .query_map([], |row| {
            Ok(Product {
                id: row.get(0)?,
                rev: row.get(1)?,
                name: row.get(2)?,
                kind: row.get(3)?,
                pack_g: row.get(4)?,
                gtin: row.get(5)?,
                price_c: row.get(6)?,
                parts: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    for product in &mut products {
        product.parts = parts(conn, product.id)?;
    }
    Ok(products)
}

/// Names of the products in use that are made of a crop.
pub(super) fn made_of(conn: &Connection, crop: CropId) -> Result<Vec<String>, StoreError> {
    let products = all(conn)?.into_iter().filter(|product| product.has(crop));
    Ok(products.map(|product| product.name).collect())
}

/// What an entry says of the parts of a product; `None` where it left them as they were.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let made: Option<(i64, i64, String)> = conn
        .prepare_cached(
            "SELECT v.id, v.version, p.name FROM product_version v JOIN product p ON p.id = v.product_id WHERE v.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((id, version, name)) = made else { return Ok(None) };
    let parts: Vec<(String, i64)> = conn
        .prepare_cached(
            "SELECT c.name, p.share_pm FROM product_part p JOIN crop c ON c.id = p.crop_id WHERE p.product_version_id = ? ORDER BY p.n",
        )?
        .query_map(params![id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let parts: Vec<String> = parts.into_iter().map(|(crop, share)| format!("{crop} {}", percent(share))).collect();
    Ok(Some(format!("what goes into {name}, version {version}: {}", parts.join(", "))))
}
