//! Writing one entry: facts and edits go in through here, so that all of them reach the chain and the derived rows.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{Connection, OptionalExtension, ToSql, params, params_from_iter};
use serde_json::{Map, Value as Json};

use super::air::Staged;
use super::breach::Already;
use super::chain::{ENTRY_COLUMNS, Hash, Link, ZERO, encode, encode_void};
use super::error::StoreError;
use super::facts::{self, ALL, Belongs, EDITABLE, Table};
use super::undo;
use crate::domain::hands::Seen;
use crate::domain::id::{EntryId, LotId, PersonId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant, Now};

/// A column and its value.
pub type Cell<'a> = (&'static str, &'a dyn ToSql);

/// Hears how much of long work is done, and of how much; false stops it.
pub type Watch<'w> = &'w dyn Fn(usize, usize) -> bool;

/// What the hash takes in at one place.
enum Part {
    Row(Vec<u8>),
    /// Many rows, each with its length in front.
    Rows(Vec<u8>),
}

/// An entry in the making, inside a transaction.
pub struct Writer<'c> {
    pub conn: &'c Connection,
    pub entry: EntryId,
    /// Who types.
    pub who: PersonId,
    pub seen: Seen,
    pub now: Now,
    own: Vec<u8>,
    parts: BTreeMap<(bool, usize, Vec<i64>), Part>,
    changes: i64,
    /// Trays whose derived rows are to be worked out again.
    pub touched: BTreeSet<TrayId>,
    /// The same of lots.
    pub touched_lots: BTreeSet<LotId>,
    head: Hash,
    /// Set when the act was over before it was written: rules it broke are noted, not refused.
    pub already: Option<Already>,
    /// Who is told how far long work is.
    pub watch: Option<Watch<'c>>,
    /// The readings of a file that were laid ready before.
    pub staged: Option<Staged>,
}

/// Refuses to go on with long work that is to stop; nothing of it is written then.
pub fn go_on(watch: Option<Watch<'_>>, done: usize, all: usize) -> Result<(), StoreError> {
    if watch.is_none_or(|watch| watch(done, all)) {
        return Ok(());
    }
    Err(Refusal::new("import_stopped", "Stopped: nothing of the file was written.").into())
}

fn owned(value: &dyn ToSql) -> Result<Value, StoreError> {
    Ok(match value.to_sql()? {
        ToSqlOutput::Borrowed(value) => value.try_into().map_err(rusqlite::Error::from)?,
        ToSqlOutput::Owned(value) => value,
        _ => Value::Null,
    })
}

fn json(value: &Value) -> Json {
    match value {
        Value::Integer(n) => Json::from(*n),
        Value::Real(x) => Json::from(*x),
        Value::Text(text) => Json::from(text.as_str()),
        Value::Null | Value::Blob(_) => Json::Null,
    }
}

fn sql(value: &Json) -> Value {
    match value {
        Json::Number(n) => n.as_i64().map_or(Value::Null, Value::Integer),
        Json::String(text) => Value::Text(text.clone()),
        _ => Value::Null,
    }
}

impl<'c> Writer<'c> {
    /// Opens an entry. `who` must exist unless this is the very first, where the person is part of the entry.
    pub fn begin(
        conn: &'c Connection,
        kind: &'static str,
        who: PersonId,
        seen: &Seen,
        now: Now,
        undoes: Option<EntryId>,
    ) -> Result<Self, StoreError> {
        let (last, head): (i64, Hash) = conn
            .prepare_cached("SELECT id, hash FROM entry ORDER BY id DESC LIMIT 1")?
            .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?
            .unwrap_or((0, ZERO));
        let seen_at = seen.at.map(|at| at.to_string());
        let (id, at, day) = (last + 1, now.instant().to_string(), happened(seen, now).to_string());
        conn.prepare_cached(
            "INSERT INTO entry (id, at, day, seen_at, who, seen_by, paper, kind, undoes, hash)
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, zeroblob(32))",
        )?
        .execute(params![id, at, day, seen_at, who, seen.by, seen.paper, kind, undoes])?;
        let values = [
            Value::Integer(id),
            Value::Text(at),
            Value::Text(day),
            seen_at.map_or(Value::Null, Value::Text),
            Value::Integer(who.0),
            seen.by.map_or(Value::Null, |by| Value::Integer(by.0)),
            Value::Integer(i64::from(seen.paper)),
            Value::Text(kind.into()),
            undoes.map_or(Value::Null, |e| Value::Integer(e.0)),
        ];
        let own = encode("entry", ENTRY_COLUMNS.iter().copied().zip(values.iter().map(ValueRef::from)));
        Ok(Self {
            conn,
            entry: EntryId(id),
            who,
            seen: *seen,
            now,
            own,
            parts: BTreeMap::new(),
            changes: 0,
            touched: BTreeSet::new(),
            touched_lots: BTreeSet::new(),
            head,
            already: None,
            watch: None,
            staged: None,
        })
    }

    /// The room's day on which it happened.
    pub fn day(&self) -> Day {
        happened(&self.seen, self.now)
    }

    /// The same moment on the room's clock.
    pub fn moment(&self) -> Now {
        Now(self.now.local(self.at()))
    }

    /// When it happened.
    pub fn at(&self) -> Instant {
        self.seen.at.unwrap_or(self.now.instant())
    }

    /// The entry before this one, and its hash.
    pub fn before(&self) -> (EntryId, &Hash) {
        (EntryId(self.entry.0 - 1), &self.head)
    }

    /// Inserts a fact or a child of one; returns its row number. `entry_id` is filled in where the table has it.
    pub fn fact(&mut self, table: &'static Table, cells: &[Cell<'_>]) -> Result<i64, StoreError> {
        let mut by_name: BTreeMap<&str, Value> = BTreeMap::new();
        if table.columns.contains(&"entry_id") {
            by_name.insert("entry_id", Value::Integer(self.entry.0));
        }
        for (name, value) in cells {
            debug_assert!(table.columns.contains(name), "{}.{name}", table.name);
            by_name.insert(name, owned(*value)?);
        }
        let columns: Vec<&str> = by_name.keys().copied().collect();
        let marks = vec!["?"; columns.len()].join(", ");
        let text = format!("INSERT INTO {} ({}) VALUES ({marks})", table.name, columns.join(", "));
        self.conn.prepare_cached(&text)?.execute(params_from_iter(by_name.values()))?;
        let row = self.conn.last_insert_rowid();
        if table.key == ["id"] {
            by_name.insert("id", Value::Integer(row));
        }
        let key = table.key.iter().map(|c| match by_name.get(c) {
            Some(Value::Integer(n)) => *n,
            _ => 0,
        });
        let values = table.columns.iter().map(|c| (*c, by_name.get(c).map_or(ValueRef::Null, ValueRef::from)));
        let bytes = encode(table.name, values);
        self.parts.insert((false, position(table), key.collect()), Part::Row(bytes));
        Ok(row)
    }

    /// Takes over rows that one statement inserted, all of this table that the entry has, as [`super::chain::encode_rows`] has
    /// them in the order of their keys; `first` is the key of the first.
    pub fn bulk(&mut self, table: &'static Table, first: &[i64], rows: Vec<u8>) {
        debug_assert!(self.rows(table).is_empty(), "{}", table.name);
        self.parts.insert((false, position(table), first.to_vec()), Part::Rows(rows));
    }

    /// Inserts a copy of a row under this entry, with other values in some columns; returns its row number.
    pub fn copy(&mut self, table: &'static Table, key: &[i64], instead: &[Cell<'_>]) -> Result<i64, StoreError> {
        let columns = table.columns.iter().copied().filter(|column| !["id", "entry_id"].contains(column));
        let columns: Vec<&str> = columns.filter(|column| !instead.iter().any(|(name, _)| name == column)).collect();
        let of = table.key.iter().map(|column| format!("{column} = ?")).collect::<Vec<_>>().join(" AND ");
        let text = format!("SELECT {} FROM {} WHERE {of}", columns.join(", "), table.name);
        let values: Vec<Value> = self
            .conn
            .prepare_cached(&text)?
            .query_row(params_from_iter(key), |row| (0..columns.len()).map(|n| row.get(n)).collect())?;
        let mut cells: Vec<Cell<'_>> =
            columns.into_iter().zip(values.iter().map(|value| value as &dyn ToSql)).collect();
        cells.extend(instead);
        self.fact(table, &cells)
    }

    /// The free text of the entry.
    pub fn note(&mut self, text: Option<&str>) -> Result<(), StoreError> {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            self.fact(facts::ENTRY_NOTE, &[("text", &text)])?;
        }
        Ok(())
    }

    /// Makes an editable record.
    pub fn create(&mut self, noun: &'static str, cells: &[Cell<'_>]) -> Result<i64, StoreError> {
        let names: Vec<&str> = cells.iter().map(|(name, _)| *name).collect();
        let marks = vec!["?"; names.len()].join(", ");
        let text = format!("INSERT INTO {noun} ({}) VALUES ({marks})", names.join(", "));
        let values = cells.iter().map(|(_, value)| owned(*value)).collect::<Result<Vec<_>, _>>()?;
        self.conn.prepare_cached(&text)?.execute(params_from_iter(&values))?;
        let row = self.conn.last_insert_rowid();
        let after: Map<String, Json> = names.iter().map(|n| (*n).to_string()).zip(values.iter().map(json)).collect();
        self.change(noun, row, None, Some(after))?;
        Ok(row)
    }

    /// Makes an editable record, or puts the one of the same key back to use that was taken back before.
    ///
    /// The key is the first `key` cells; `free` is the SQL condition under which a retired record may be taken again.
    pub fn make(&mut self, noun: &'static str, key: usize, free: &str, cells: &[Cell<'_>]) -> Result<i64, StoreError> {
        let (names, values): (Vec<String>, Vec<&dyn ToSql>) =
            cells.iter().take(key).map(|(name, value)| (format!("{name} = ?"), *value)).unzip();
        let text = format!("SELECT id FROM {noun} WHERE retired AND {} AND {free}", names.join(" AND "));
        let known: Option<i64> =
            self.conn.prepare_cached(&text)?.query_row(params_from_iter(values), |row| row.get(0)).optional()?;
        let Some(row) = known else { return self.create(noun, cells) };
        let mut back = cells.to_vec();
        back.push(("retired", &false));
        self.edit(noun, row, &back)?;
        Ok(row)
    }

    /// Changes columns of an editable record; columns that keep their value leave no trace. Returns whether any changed.
    pub fn edit(&mut self, noun: &'static str, row: i64, cells: &[Cell<'_>]) -> Result<bool, StoreError> {
        let mut after = Map::new();
        for (name, value) in cells {
            after.insert((*name).to_string(), json(&owned(*value)?));
        }
        self.edit_to(noun, row, after)
    }

    fn edit_to(&mut self, noun: &'static str, row: i64, after: Map<String, Json>) -> Result<bool, StoreError> {
        let known = EDITABLE.iter().find(|(name, _)| *name == noun).map_or(&[][..], |(_, columns)| columns);
        let mut old = Map::new();
        let mut new = Map::new();
        for (name, value) in after {
            debug_assert!(name == "retired" || known.contains(&name.as_str()), "{noun}.{name}");
            let before: Value = self
                .conn
                .prepare_cached(&format!("SELECT {name} FROM {noun} WHERE id = ?"))?
                .query_row([row], |r| r.get(0))?;
            let before = json(&before);
            if before != value {
                self.conn
                    .prepare_cached(&format!("UPDATE {noun} SET {name} = ? WHERE id = ?"))?
                    .execute(params![sql(&value), row])?;
                old.insert(name.clone(), before);
                new.insert(name, value);
            }
        }
        if new.is_empty() {
            return Ok(false);
        }
        self.conn.prepare_cached(&format!("UPDATE {noun} SET rev = rev + 1 WHERE id = ?"))?.execute([row])?;
        self.change(noun, row, Some(old), Some(new))?;
        Ok(true)
    }

    fn change(
        &mut self,
        noun: &str,
        row: i64,
        before: Option<Map<String, Json>>,
        after: Option<Map<String, Json>>,
    ) -> Result<(), StoreError> {
        self.changes += 1;
        let n = self.changes;
        let text = |map: Option<Map<String, Json>>| map.map(|m| Json::Object(m).to_string());
        self.fact(
            facts::CHANGE,
            &[("n", &n), ("noun", &noun), ("row_id", &row), ("before", &text(before)), ("after", &text(after))],
        )?;
        Ok(())
    }

    /// Voids every fact an entry brought and writes back its edits. What it held stays held: only a decision lifts that. An
    /// exercise held nothing, and goes.
    pub fn void_entry(&mut self, target: EntryId) -> Result<(), StoreError> {
        // newest tables first, so that what refers goes before what it refers to
        for table in ALL.iter().rev().filter(|table| table.belongs == Belongs::Fact) {
            let key = table.key.join(", ");
            let only = if table.name == facts::HOLD.name { " AND exercise" } else { "" };
            let mut select = self.conn.prepare_cached(&format!(
                "SELECT {key} FROM {} WHERE entry_id = ? AND void_by IS NULL{only} ORDER BY {}",
                table.name,
                table.key.iter().map(|c| format!("{c} DESC")).collect::<Vec<_>>().join(", "),
            ))?;
            let keys: Vec<Vec<i64>> = select
                .query_map([target.0], |row| (0..table.key.len()).map(|n| row.get(n)).collect())?
                .collect::<Result<_, _>>()?;
            // row by row, newest first: sums then only pass through what they were before, never below zero
            for key in keys {
                let stays = table.name == facts::MATERIAL_LOT.name
                    && undo::lot_stays(self.conn, key.first().copied().unwrap_or_default(), target)?;
                if !stays {
                    self.void_row(table, &key)?;
                }
            }
        }
        let mut select = self
            .conn
            .prepare_cached("SELECT noun, row_id, before, after FROM change WHERE entry_id = ? ORDER BY n DESC")?;
        let edits: Vec<(String, i64, Option<String>)> = select
            .query_map([target.0], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        for (noun, row, before) in edits {
            let Some((noun, _)) = EDITABLE.iter().find(|(name, _)| *name == noun) else { continue };
            let mut back = match before.as_deref().map(serde_json::from_str) {
                Some(Ok(Json::Object(map))) => map,
                // made by that entry: nothing is deleted, it is put out of use
                _ => Map::from_iter([("retired".to_string(), Json::from(1))]),
            };
            if undo::record_stays(self.conn, noun, row, target)? {
                back.remove("retired");
            }
            self.edit_to(noun, row, back)?;
        }
        Ok(())
    }

    /// Voids one row that this entry replaces.
    pub fn void_row(&mut self, table: &'static Table, key: &[i64]) -> Result<(), StoreError> {
        let of = table.key.iter().map(|column| format!("{column} = ?")).collect::<Vec<_>>().join(" AND ");
        let text = format!("UPDATE {} SET void_by = ? WHERE {of}", table.name);
        self.conn.prepare_cached(&text)?.execute(params_from_iter(std::iter::once(&self.entry.0).chain(key)))?;
        self.parts.insert((true, position(table), key.to_vec()), Part::Row(encode_void(table.name, key)));
        Ok(())
    }

    /// Keys of a table's rows that this entry brought or made void.
    pub fn rows(&self, table: &'static Table) -> Vec<i64> {
        let at = position(table);
        let of = self.parts.keys().filter(|(_, table, _)| *table == at);
        of.filter_map(|(.., key)| key.first().copied()).collect()
    }

    /// Closes the entry with its hash.
    pub fn finish(self) -> Result<EntryId, StoreError> {
        let mut link = Link::new(&self.head, &self.own);
        for part in self.parts.values() {
            match part {
                Part::Row(bytes) => link.row(bytes),
                Part::Rows(bytes) => link.rows(bytes),
            }
        }
        let hash = link.close();
        self.conn
            .prepare_cached("UPDATE entry SET hash = ? WHERE id = ?")?
            .execute(params![hash.as_slice(), self.entry.0])?;
        Ok(self.entry)
    }
}

fn happened(seen: &Seen, now: Now) -> Day {
    seen.at.map_or(now.day(), |at| now.local(at).date_naive())
}

fn position(table: &Table) -> usize {
    ALL.iter().position(|t| t.name == table.name).unwrap_or(ALL.len())
}
