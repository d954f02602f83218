//! The room itself: set-up, settings, racks, places, tray formats.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::breach::{against, hold};
use super::crop;
use super::error::StoreError;
use super::ids::day_sql;
use super::person::saved;
use super::revision::{self, fresh, same};
use super::writer::{Cell, Writer};
use crate::domain::board::Rack;
use crate::domain::id::{FormatId, PlaceId, RackId, TrayId};
use crate::domain::person::{parse_initials, parse_room_code};
use crate::domain::refusal::Refusal;
use crate::domain::room::{Place, RACK_SIDE_MAX, STACK_MAX, TrayFormat, Units, Zone};
use crate::domain::setup::{NewFormat, NewRack, NewRoom};
use crate::domain::text::counted;

/// Whether the book has no room yet.
pub(super) fn is_empty(conn: &Connection) -> Result<bool, StoreError> {
    Ok(conn.query_row("SELECT NOT EXISTS (SELECT 1 FROM entry)", [], |row| row.get(0))?)
}

pub(super) fn still_empty(conn: &Connection) -> Result<(), StoreError> {
    if is_empty(conn)? {
        Ok(())
    } else {
        Err(Refusal::new("setup_done", "This book has a room already: change it in settings.").into())
    }
}

pub(super) fn set_up(w: &mut Writer<'_>, new: &NewRoom) -> Result<Wrote, StoreError> {
    let initials = parse_initials(&new.initials).map_err(|why| Refusal::new("initials", why).at("initials"))?;
    let code = parse_room_code(&new.code).map_err(|why| Refusal::new("code", why).at("code"))?;
    let name = room_name(&new.name)?;
    w.create(
        "person",
        &[("initials", &initials), ("name", &initials), ("may_decide", &true), ("from_day", &day_sql(w.day()))],
    )?;
    for (key, value) in [("room_name", name), ("room_code", code.as_str()), ("units", new.units.stored())] {
        w.create("setting", &[("key", &key), ("value", &value)])?;
    }
    for zone in Zone::ALL {
        w.create("zone", &[("name", &zone.shown()), ("kind", zone)])?;
    }
    for rack in &new.racks {
        add_rack(w, rack)?;
    }
    add_format(w, &new.format)?;
    for letters in &new.crops {
        crop::add_starter(w, letters)?;
    }
    let apart = |rack: &&NewRack| rack.zones.iter().all(|zone| *zone == Zone::Isolation);
    let isolation = new.racks.iter().filter(apart).count();
    let racks = counted(new.racks.len() - isolation, "rack");
    let shelf = if isolation > 0 { " and an isolation shelf" } else { "" };
    Ok(Wrote::said(format!("{name} is ready: {racks}{shelf}, {}.", counted(new.crops.len(), "crop"))).made(1))
}

fn room_name(name: &str) -> Result<&str, StoreError> {
    let name = name.trim();
    if (1..=60).contains(&name.chars().count()) {
        Ok(name)
    } else {
        Err(Refusal::new("room_name", "The room's name has 1 to 60 characters.").at("name").into())
    }
}

pub(super) fn edit(w: &mut Writer<'_>, name: &str, code: &str, units: Units, rev: i64) -> Result<Wrote, StoreError> {
    same(revision::room(w.conn)?, rev)?;
    let code = parse_room_code(code).map_err(|why| Refusal::new("code", why).at("code"))?;
    let name = room_name(name)?;
    let mut changed = false;
    for (key, value) in [("room_name", name), ("room_code", code.as_str()), ("units", units.stored())] {
        let id: i64 = w.conn.query_row("SELECT id FROM setting WHERE key = ?", [key], |row| row.get(0))?;
        changed |= w.edit("setting", id, &[("value", &value)])?;
    }
    saved(changed)
}

pub(super) fn add_rack(w: &mut Writer<'_>, new: &NewRack) -> Result<Wrote, StoreError> {
    let side = 1..=usize::try_from(RACK_SIDE_MAX).unwrap_or(usize::MAX);
    if !side.contains(&new.zones.len()) || !(1..=RACK_SIDE_MAX).contains(&new.places) {
        let sentence = format!("A rack has 1 to {RACK_SIDE_MAX} shelves of 1 to {RACK_SIDE_MAX} places.");
        return Err(Refusal::new("rack_shape", sentence).at("shape").into());
    }
    let name = rack_name(&new.name)?;
    let sort: i64 = w.conn.query_row("SELECT coalesce(max(sort), 0) + 1 FROM rack", [], |row| row.get(0))?;
    let rack = w.make("rack", 1, "1", &[("name", &name), ("sort", &sort)])?;
    for (shelf, zone) in (1i64..).zip(&new.zones) {
        let zone = zone_id(w.conn, *zone)?;
        for pos in 1..=new.places {
            w.make(
                "place",
                3,
                "1",
                &[("rack_id", &rack), ("shelf", &shelf), ("pos", &pos), ("zone_id", &zone), ("stack", &1i64)],
            )?;
        }
    }
    Ok(Wrote::said(format!("Rack {name} stands.")).made(rack))
}

fn rack_name(name: &str) -> Result<&str, StoreError> {
    let name = name.trim();
    if (1..=8).contains(&name.chars().count()) {
        Ok(name)
    } else {
        Err(Refusal::new("rack_name", "A rack's name has 1 to 8 characters.").at("name").into())
    }
}

/// The word of a zone by its row.
pub(super) fn zone_word(conn: &Connection, id: Option<i64>) -> String {
    let word = conn.query_row("SELECT kind FROM zone WHERE id = ?", [id], |row| row.get::<_, Zone>(0));
    word.map_or_else(|_| "unknown".into(), |zone| zone.shown().into())
}

pub(super) fn zone_id(conn: &Connection, zone: Zone) -> Result<i64, StoreError> {
    Ok(conn.query_row("SELECT id FROM zone WHERE kind = ? ORDER BY id LIMIT 1", [zone], |row| row.get(0))?)
}

pub(super) fn edit_places(
    w: &mut Writer<'_>,
    places: &[PlaceId],
    zone: Zone,
    retired: bool,
    rev: i64,
    stack: Option<i64>,
) -> Result<Wrote, StoreError> {
    if stack.is_some_and(|stack| !(1..=STACK_MAX).contains(&stack)) {
        let sentence = format!("A place holds 1 to {STACK_MAX} trays on each other: give such a number.");
        return Err(Refusal::new("stack_range", sentence).at("stack").into());
    }
    let zone_id = zone_id(w.conn, zone)?;
    let revs = revision::places(w.conn)?;
    same(places.iter().filter_map(|place| revs.get(place)).sum(), rev)?;
    let mut changed = false;
    for place in places {
        let (label, _) = known_place(w.conn, *place)?;
        let stand: i64 =
            w.conn.query_row("SELECT count(*) FROM tray_now WHERE place_id = ?", [place], |row| row.get(0))?;
        if stack.is_some_and(|stack| stand > stack) {
            let sentence = format!("{stand} trays stand on each other at {label}: unstack them first, then say fewer.");
            return Err(Refusal::new("stack_standing", sentence).at("stack").into());
        }
        if retired && stand > 0 {
            return Err(Refusal::new(
                "place_taken",
                "A tray stands there: move it first, then take the place out of use.",
            )
            .into());
        }
        let mut cells: Vec<Cell<'_>> = vec![("zone_id", &zone_id), ("retired", &retired)];
        cells.extend(stack.as_ref().map(|stack| -> Cell<'_> { ("stack", stack) }));
        changed |= w.edit("place", place.0, &cells)?;
    }
    saved(changed)?;
    let use_word = match stack {
        _ if retired => "out of use".to_string(),
        None => zone.shown().to_string(),
        Some(n) => format!("{}, up to {n} trays on each other", zone.shown()),
    };
    Ok(Wrote::said(format!("{}: {use_word}.", counted(places.len(), "place"))))
}

pub(super) fn add_format(w: &mut Writer<'_>, new: &NewFormat) -> Result<Wrote, StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("format", why).at(field))?;
    let id = w.make(
        "tray_format",
        1,
        "1",
        &[("name", &new.name.trim()), ("length_mm", &new.length_mm), ("width_mm", &new.width_mm)],
    )?;
    Ok(Wrote::said(format!("Tray format {} is there.", new.name.trim())).made(id))
}

pub(super) fn rename_rack(w: &mut Writer<'_>, rack: RackId, name: &str, rev: i64) -> Result<Wrote, StoreError> {
    let name = rack_name(name)?;
    if !w.conn.query_row("SELECT EXISTS (SELECT 1 FROM rack WHERE id = ?)", [rack], |row| row.get(0))? {
        return Err(Refusal::new("rack_unknown", "There is no such rack in the room: choose another.").into());
    }
    fresh(w.conn, "rack", rack.0, rev)?;
    saved(w.edit("rack", rack.0, &[("name", &name)])?)?;
    Ok(Wrote::said(format!("The rack is called {name}.")).made(rack.0))
}

pub(super) fn edit_format(
    w: &mut Writer<'_>,
    format: FormatId,
    name: &str,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "tray_format", format.0, rev)?;
    let name = name.trim();
    if !(1..=30).contains(&name.chars().count()) {
        return Err(Refusal::new("format", "A tray format's name has 1 to 30 characters.").at("name").into());
    }
    let others: i64 =
        w.conn
            .query_row("SELECT count(*) FROM tray_format WHERE id <> ? AND NOT retired", [format], |row| row.get(0))?;
    if retired && others == 0 {
        return Err(Refusal::new("last_format", "One tray format must stay in use: add another first.").into());
    }
    saved(w.edit("tray_format", format.0, &[("name", &name), ("retired", &retired)])?)?;
    Ok(Wrote::said(format!("Tray format {name}: saved.")).made(format.0))
}

/// What the screens show, and so the sentences of the store.
pub(super) fn units(conn: &Connection) -> Result<Units, StoreError> {
    Ok(setting(conn, "units")?.and_then(|word| Units::from_stored(&word)).unwrap_or(Units::Metric))
}

/// One setting's value.
pub(super) fn setting(conn: &Connection, key: &str) -> Result<Option<String>, StoreError> {
    let value = conn
        .prepare_cached("SELECT value FROM setting WHERE key = ? AND NOT retired")?
        .query_row([key], |row| row.get(0))
        .optional()?;
    Ok(value)
}

/// Racks with their places in walking order: those in use, or those out of use.
pub(super) fn racks(conn: &Connection, in_use: bool) -> Result<Vec<Rack>, StoreError> {
    let mut racks: Vec<Rack> = Vec::new();
    let mut select = conn.prepare_cached(
        "SELECT p.id, r.id, r.name, r.sort, p.shelf, p.pos, z.kind, p.stack, r.rev
         FROM place p JOIN rack r ON r.id = p.rack_id JOIN zone z ON z.id = p.zone_id
         WHERE (NOT p.retired AND NOT r.retired) = ? ORDER BY r.sort, r.id, p.shelf, p.pos",
    )?;
    for found in select.query_map([in_use], |row| Ok((place(row, 0)?, row.get(8)?)))? {
        let (place, rev) = found?;
        match racks.last_mut() {
            Some(rack) if rack.id == place.rack => rack.places.push(place),
            _ => racks.push(Rack { id: place.rack, name: place.rack_name.clone(), places: vec![place], rev }),
        }
    }
    Ok(racks)
}

/// Reads a place from eight columns beginning at `from`.
pub(super) fn place(row: &rusqlite::Row<'_>, from: usize) -> rusqlite::Result<Place> {
    Ok(Place {
        id: row.get(from)?,
        rack: row.get(from + 1)?,
        rack_name: row.get(from + 2)?,
        rack_sort: row.get(from + 3)?,
        shelf: row.get(from + 4)?,
        pos: row.get(from + 5)?,
        zone: row.get(from + 6)?,
        stack: row.get(from + 7)?,
    })
}

pub(super) fn formats(conn: &Connection) -> Result<Vec<TrayFormat>, StoreError> {
    let formats = conn
        .prepare_cached("SELECT id, name, length_mm, width_mm, rev FROM tray_format WHERE NOT retired ORDER BY id")?
        .query_map([], |row| {
            Ok(TrayFormat {
                id: row.get(0)?,
                name: row.get(1)?,
                length_mm: row.get(2)?,
                width_mm: row.get(3)?,
                rev: row.get(4)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    Ok(formats)
}

/// Refuses a tray format out of use; one that is not in the book is the database's to refuse.
pub(super) fn usable_format(conn: &Connection, id: FormatId) -> Result<(), StoreError> {
    let retired: bool = conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM tray_format WHERE id = ? AND retired)")?
        .query_row([id], |row| row.get(0))?;
    if retired {
        return Err(Refusal::new("format_retired", "That tray is out of use: choose another.").at("format").into());
    }
    Ok(())
}

/// The label of the place a tray goes to. One out of use is refused; if the tray stands there already, the place is
/// put to use again, so that the tray is not lost to sight.
pub(super) fn usable_place(w: &mut Writer<'_>, id: PlaceId, tray: TrayId) -> Result<String, StoreError> {
    let (label, idle) = known_place(w.conn, id)?;
    if idle {
        let why = format!("Place {label} is out of use: choose another.");
        let breach = against(w, Refusal::new("place_retired", why).at("places"), None)?;
        hold(w, breach, &[tray])?;
        let rack: i64 = w.conn.query_row("SELECT rack_id FROM place WHERE id = ?", [id], |row| row.get(0))?;
        w.edit("place", id.0, &[("retired", &false)])?;
        w.edit("rack", rack, &[("retired", &false)])?;
    }
    Ok(label)
}

/// Label of a place, and whether it is out of use.
pub(super) fn known_place(conn: &Connection, id: PlaceId) -> Result<(String, bool), StoreError> {
    conn.prepare_cached(
        "SELECT r.name || ' ' || p.shelf || '-' || p.pos, p.retired OR r.retired
         FROM place p JOIN rack r ON r.id = p.rack_id WHERE p.id = ?",
    )?
    .query_row(params![id], |row| Ok((row.get(0)?, row.get(1)?)))
    .optional()?
    .ok_or_else(|| {
        Refusal::new("place_unknown", "There is no such place in the room: choose another.").at("places").into()
    })
}
