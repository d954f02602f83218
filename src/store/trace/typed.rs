//! From a typed or scanned code to what it stands for. A wrong one is never corrected silently.

use rusqlite::{Connection, OptionalExtension};

use crate::domain::code::{Code, Kind, one_edit_from};
use crate::domain::id::{EntryId, LotId, MixId, SeedLotId, SowingId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::text::clean_line;
use crate::domain::trace::{Start, Typed};
use crate::store::Store;
use crate::store::error::StoreError;
use crate::store::{lot, room};

/// As much of what was typed is read, and said again.
const LONGEST: usize = 60;

impl Store {
    /// What a code of any kind stands for, also with `LOT` and the room's two letters in front as on a label.
    pub fn find_start(&self, typed: &str) -> Result<Typed, StoreError> {
        find(&self.conn, typed)
    }
}

fn find(conn: &Connection, typed: &str) -> Result<Typed, StoreError> {
    let typed = clean_line(typed, LONGEST).text;
    let typed = typed.trim();
    if typed.is_empty() {
        let why = "Type or scan a code as it stands on the label, like T0001-W.";
        return Err(Refusal::new("code_wrong", why).at("code").into());
    }
    let bare = without_room(conn, typed)?;
    let code = match Code::parse(bare) {
        Ok(code) => code,
        Err(why) => {
            let near = known_near(conn, bare)?;
            let why = if near.is_empty() { format!("{typed}: {why}.") } else { meant(typed, &near) };
            return Err(Refusal::new("code_wrong", why).at("code").into());
        }
    };
    match standing(conn, &code)? {
        Some(Standing::Here(start)) => Ok(Typed { start, note: None }),
        Some(Standing::Now(id, now)) => {
            let note = format!("{code} has another label now: {now}.");
            Ok(Typed { start: Start::Lot(id), note: Some(note) })
        }
        Some(Standing::Void(entry)) => {
            let why = format!("{code} was taken back by entry {}: look at what was written instead of it.", entry.0);
            Err(Refusal::new("code_void", why).at("code").into())
        }
        None => {
            let near = known_near(conn, bare)?;
            let why = if near.is_empty() {
                format!("The book has no {code}: read the label again, or look the thing up in a list.")
            } else {
                meant(&code.to_string(), &near)
            };
            Err(Refusal::new("code_unknown", why).at("code").into())
        }
    }
}

fn meant(typed: &str, near: &[String]) -> String {
    let near = match near {
        [one] => one.clone(),
        [some @ .., last] => format!("{} or {last}", some.join(", ")),
        [] => String::new(),
    };
    format!("The book has no {typed}: is {near} meant? Type the one that stands on the label.")
}

/// The code alone; letters of another room in front are refused.
fn without_room<'t>(conn: &Connection, typed: &'t str) -> Result<&'t str, StoreError> {
    let typed = typed.strip_prefix("LOT ").map_or(typed, str::trim_start);
    let Some((letters, rest)) = typed.split_once(' ') else { return Ok(typed) };
    if letters.len() != 2 || !letters.bytes().all(|b| b.is_ascii_uppercase()) {
        return Ok(typed);
    }
    let own = room::setting(conn, "room_code")?.unwrap_or_default();
    if letters == own {
        return Ok(rest.trim_start());
    }
    let why = format!("{typed} is of the room {letters}, and this book is of {own}: open that room's book.");
    Err(Refusal::new("code_room", why).at("code").into())
}

/// What became of the thing with a code.
enum Standing {
    Here(Start),
    /// Another lot, with its code, stands in its place.
    Now(LotId, String),
    Void(EntryId),
}

fn standing(conn: &Connection, code: &Code) -> Result<Option<Standing>, StoreError> {
    let numbered = |text: &str, start: &dyn Fn(i64) -> Start| -> Result<Option<Standing>, StoreError> {
        let Some(id) = code.number() else { return Ok(None) };
        let void: Option<Option<EntryId>> = conn.prepare_cached(text)?.query_row([id], |row| row.get(0)).optional()?;
        Ok(void.map(|void| void.map_or_else(|| Standing::Here(start(id)), Standing::Void)))
    };
    match code.kind() {
        Kind::Tray => {
            numbered("SELECT s.void_by FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE t.id = ?", &|id| {
                Start::Tray(TrayId(id))
            })
        }
        Kind::SeedLot => numbered("SELECT void_by FROM seed_lot WHERE id = ?", &|id| Start::SeedLot(SeedLotId(id))),
        Kind::Sowing => numbered("SELECT void_by FROM sowing WHERE id = ?", &|id| Start::Sowing(SowingId(id))),
        Kind::Mix => numbered("SELECT void_by FROM mix WHERE id = ?", &|id| Start::Mix(MixId(id))),
        Kind::Lot => lot_now(conn, code),
    }
}

/// A lot, or the one that took its code over. Indexes: `lot.code`, `lot_instead_of`.
fn lot_now(conn: &Connection, code: &Code) -> Result<Option<Standing>, StoreError> {
    let found: Option<(LotId, String, Option<EntryId>)> = conn
        .prepare_cached(
            "SELECT id, code, void_by FROM lot WHERE id = (WITH RECURSIVE next (id) AS (SELECT id FROM lot WHERE code = ?
               UNION SELECT x.id FROM next JOIN lot x ON x.instead_of = next.id) SELECT max(id) FROM next)",
        )?
        .query_row([code.body()], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    Ok(match found {
        None => None,
        Some((.., Some(entry))) => Some(Standing::Void(entry)),
        Some((id, body, None)) if body == code.body() => Some(Standing::Here(Start::Lot(id))),
        Some((id, body, None)) => Some(Standing::Now(id, lot::shown(&body)?)),
    })
}

/// Codes of the book that are one slip away. Every slip is tried, so that the cost does not go with the size of the book.
fn known_near(conn: &Connection, typed: &str) -> Result<Vec<String>, StoreError> {
    let mut known = Vec::new();
    for code in one_edit_from(typed) {
        if matches!(standing(conn, &code)?, Some(Standing::Here(_) | Standing::Now(..))) {
            known.push(code.to_string());
        }
    }
    Ok(known)
}
