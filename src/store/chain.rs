//! The hash chain over the log: each entry's hash covers the one before, its own columns and every row it brought.

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Rows, Transaction, TransactionBehavior};
use sha2::{Digest, Sha256};

use super::error::StoreError;
use super::facts::{ALL, Belongs, Table};
use super::{Store, history};
use crate::domain::chain::{Broken, BrokenEntry, Proof};
use crate::domain::id::EntryId;
use crate::domain::text::clean_line;
use crate::domain::time::Instant;

/// A link of the chain.
pub type Hash = [u8; 32];
/// What stands before the first entry, and in an entry not finished yet.
pub const ZERO: Hash = [0; 32];

/// Columns of `entry` that are hashed.
pub const ENTRY_COLUMNS: &[&str] = &["id", "at", "day", "seen_at", "who", "seen_by", "paper", "kind", "undoes"];

/// The bytes of one row: table, then name and value of each column that is not NULL, lengths in front.
pub fn encode<'v>(table: &str, columns: impl Iterator<Item = (&'v str, ValueRef<'v>)>) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(96);
    encode_onto(&mut bytes, table, columns);
    bytes
}

/// The bytes of one row after those of others.
fn encode_onto<'v>(bytes: &mut Vec<u8>, table: &str, columns: impl Iterator<Item = (&'v str, ValueRef<'v>)>) {
    let mut put = |tag: u8, part: &[u8]| {
        bytes.push(tag);
        bytes.extend_from_slice(&u64::try_from(part.len()).unwrap_or(u64::MAX).to_be_bytes());
        bytes.extend_from_slice(part);
    };
    put(b'T', table.as_bytes());
    for (name, value) in columns {
        match value {
            ValueRef::Null => {}
            ValueRef::Integer(n) => {
                put(b'c', name.as_bytes());
                put(b'i', &n.to_be_bytes());
            }
            ValueRef::Real(x) => {
                put(b'c', name.as_bytes());
                put(b'r', &x.to_be_bytes());
            }
            ValueRef::Text(t) => {
                put(b'c', name.as_bytes());
                put(b't', t);
            }
            ValueRef::Blob(b) => {
                put(b'c', name.as_bytes());
                put(b'b', b);
            }
        }
    }
}

/// Rows of whole numbers, each with its length in front, as a link takes them.
pub fn encode_rows<const N: usize>(table: &Table, rows: impl Iterator<Item = [Option<i64>; N]>) -> Vec<u8> {
    /// What a row of a few short columns comes to.
    const ROW: usize = 192;
    let mut bytes = Vec::with_capacity(ROW * rows.size_hint().0);
    for row in rows {
        let start = bytes.len();
        bytes.extend_from_slice(&[0; 8]);
        let value = |n: Option<i64>| n.map_or(ValueRef::Null, ValueRef::Integer);
        encode_onto(&mut bytes, table.name, table.columns.iter().copied().zip(row.map(value)));
        let length = u64::try_from(bytes.len() - start - 8).unwrap_or(u64::MAX);
        if let Some(front) = bytes.get_mut(start..start + 8) {
            front.copy_from_slice(&length.to_be_bytes());
        }
    }
    bytes
}

/// The bytes that stand for a row made void by an entry.
pub fn encode_void(table: &str, key: &[i64]) -> Vec<u8> {
    let mut bytes = b"V".to_vec();
    bytes.extend_from_slice(table.as_bytes());
    for part in key {
        bytes.push(b'k');
        bytes.extend_from_slice(&part.to_be_bytes());
    }
    bytes
}

/// Hash of an entry in the making: from the one before, its own row, and the rows it brought in order.
pub struct Link(Sha256);

impl Link {
    pub fn new(before: &Hash, entry: &[u8]) -> Self {
        Self(Sha256::new().chain_update(before).chain_update(entry))
    }

    /// The next row.
    pub fn row(&mut self, bytes: &[u8]) {
        self.0.update(u64::try_from(bytes.len()).unwrap_or(u64::MAX).to_be_bytes());
        self.0.update(bytes);
    }

    /// The next rows, each with its length in front already.
    pub fn rows(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    pub fn close(self) -> Hash {
        self.0.finalize().into()
    }
}

/// What a check of the chain found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    pub entries: i64,
    /// The first entry whose hash does not fit.
    pub broken_at: Option<i64>,
    /// The last hash, as 64 hexadecimal digits.
    pub head: String,
}

/// Lower-case hexadecimal.
pub fn hex(hash: &[u8]) -> String {
    use std::fmt::Write as _;
    hash.iter().fold(String::with_capacity(hash.len() * 2), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Rows of one table in the order of their entries, one ahead.
struct Cursor<'stmt> {
    rows: Rows<'stmt>,
    ahead: Option<(i64, Vec<u8>)>,
    table: &'static Table,
    void: bool,
}

impl Cursor<'_> {
    fn advance(&mut self) -> Result<(), StoreError> {
        self.ahead = match self.rows.next()? {
            None => None,
            Some(row) => {
                let entry: i64 = row.get(0)?;
                let bytes = if self.void {
                    let key = (1..=self.table.key.len()).map(|n| row.get(n)).collect::<Result<Vec<i64>, _>>()?;
                    encode_void(self.table.name, &key)
                } else {
                    let values =
                        (1..=self.table.columns.len()).map(|n| row.get_ref(n)).collect::<Result<Vec<_>, _>>()?;
                    encode(self.table.name, self.table.columns.iter().copied().zip(values))
                };
                Some((entry, bytes))
            }
        };
        Ok(())
    }

    /// Takes all rows of an entry.
    fn take(&mut self, entry: i64, link: &mut Link) -> Result<(), StoreError> {
        while let Some((owner, _)) = &self.ahead {
            if *owner > entry {
                break;
            }
            if let Some((_, bytes)) = self.ahead.take() {
                link.row(&bytes);
            }
            self.advance()?;
        }
        Ok(())
    }
}

/// The columns a table has in this book; none where the book is of an issue before the table.
fn columns_there(conn: &Connection, table: &Table) -> Result<Vec<String>, StoreError> {
    let names = conn
        .prepare_cached("SELECT name FROM pragma_table_info(?)")?
        .query_map([table.name], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(names)
}

/// Rows of a table that an entry brought, ordered by entry and key, without a sort. A column of a later issue than the
/// book's is NULL in all of them, which leaves the hash as it was.
fn rows_sql(table: &Table, there: &[String]) -> String {
    let column = |c: &&str| if there.iter().any(|name| name == c) { format!("t.{c}") } else { "NULL".into() };
    let columns = table.columns.iter().map(column).collect::<Vec<_>>().join(", ");
    let key = table.key.iter().map(|c| format!("t.{c}")).collect::<Vec<_>>().join(", ");
    let name = table.name;
    match table.belongs {
        Belongs::Fact | Belongs::Log => {
            format!("SELECT t.entry_id, {columns} FROM {name} t ORDER BY t.entry_id, {key}")
        }
        Belongs::Child { parent, column } => format!(
            "SELECT p.entry_id, {columns} FROM {parent} p JOIN {name} t ON t.{column} = p.id ORDER BY p.entry_id, {key}"
        ),
    }
}

fn voids_sql(table: &Table) -> String {
    let key = table.key.join(", ");
    format!("SELECT void_by, {key} FROM {} WHERE void_by IS NOT NULL ORDER BY void_by, {key}", table.name)
}

/// Recomputes the whole chain; `progress` hears of every thousandth entry.
pub fn verify(conn: &Connection, mut progress: impl FnMut(i64)) -> Result<Chain, StoreError> {
    // one view of the book from the first row to the last, while others go on writing
    let _view = view(conn)?;
    let whole = links(conn, &mut |entries| {
        progress(entries);
        true
    })?;
    whole.ok_or(StoreError::Stopped)
}

/// The book as it is now, until this is dropped.
pub(super) fn view(conn: &Connection) -> Result<Transaction<'_>, StoreError> {
    Ok(Transaction::new_unchecked(conn, TransactionBehavior::Deferred)?)
}

impl Store {
    /// Checks the hash chain and says in words where it breaks. `watch` hears of every thousandth entry and of how many there
    /// are, and gives it up by saying no: then there is no answer.
    pub fn proof(&self, watch: &mut dyn FnMut(i64, i64) -> bool) -> Result<Option<Proof>, StoreError> {
        let _view = view(&self.conn)?;
        proof(&self.conn, watch)
    }
}

/// The same within a view.
pub(super) fn proof(conn: &Connection, watch: &mut dyn FnMut(i64, i64) -> bool) -> Result<Option<Proof>, StoreError> {
    let all: i64 = conn.query_row("SELECT coalesce(max(id), 0) FROM entry", [], |row| row.get(0))?;
    let Some(chain) = links(conn, &mut |done| watch(done, all))? else { return Ok(None) };
    let broken = chain.broken_at.map(|entry| broken(conn, entry)).transpose()?;
    Ok(Some(Proof { entries: chain.entries, head: chain.head, broken }))
}

/// What can still be read of the entry at which a chain breaks.
fn broken(conn: &Connection, entry: i64) -> Result<Broken, StoreError> {
    let told = conn
        .prepare("SELECT e.kind, p.initials, e.at FROM entry e LEFT JOIN person p ON p.id = e.who WHERE e.id = ?")?
        .query_row([entry], |row| {
            let who: Option<String> = row.get(1)?;
            let at: String = row.get(2)?;
            Ok(BrokenEntry {
                kind: row.get(0)?,
                who: who.unwrap_or_else(|| "nobody on the list".into()),
                at: Instant::parse(&at),
                says: String::new(),
            })
        })
        .optional()?;
    // what was changed from outside may say anything, or nothing that can be read
    let says = history::line(conn, EntryId(entry)).map(|line| clean_line(&line.text, SAYS).text).unwrap_or_default();
    Ok(Broken { entry, told: told.map(|told| BrokenEntry { says, ..told }) })
}

/// Graphemes of what a broken entry says.
const SAYS: usize = 120;

/// Link by link, within a view; `go_on` hears of every thousandth entry and stops it by saying no.
fn links(conn: &Connection, go_on: &mut dyn FnMut(i64) -> bool) -> Result<Option<Chain>, StoreError> {
    let mut sources: Vec<(rusqlite::Statement<'_>, &'static Table, bool)> = Vec::new();
    let mut voids = Vec::new();
    for table in ALL {
        let there = columns_there(conn, table)?;
        if there.is_empty() {
            continue;
        }
        sources.push((conn.prepare(&rows_sql(table, &there))?, table, false));
        if table.belongs == Belongs::Fact {
            voids.push((conn.prepare(&voids_sql(table))?, *table, true));
        }
    }
    sources.append(&mut voids);
    let mut cursors = Vec::with_capacity(sources.len());
    for (statement, table, void) in &mut sources {
        let mut cursor = Cursor { rows: statement.query([])?, ahead: None, table, void: *void };
        cursor.advance()?;
        cursors.push(cursor);
    }
    let columns = ENTRY_COLUMNS.join(", ");
    let mut entries = conn.prepare(&format!("SELECT hash, {columns} FROM entry ORDER BY id"))?;
    let mut rows = entries.query([])?;
    let mut chain = Chain { entries: 0, broken_at: None, head: hex(&ZERO) };
    let mut before = ZERO;
    while let Some(row) = rows.next()? {
        let stored: Hash = row.get(0)?;
        let id: i64 = row.get(1)?;
        let values = (1..=ENTRY_COLUMNS.len()).map(|n| row.get_ref(n)).collect::<Result<Vec<_>, _>>()?;
        let own = encode("entry", ENTRY_COLUMNS.iter().copied().zip(values));
        let mut link = Link::new(&before, &own);
        for cursor in &mut cursors {
            cursor.take(id, &mut link)?;
        }
        let due = link.close();
        if due != stored && chain.broken_at.is_none() {
            chain.broken_at = Some(id);
        }
        chain.entries += 1;
        if chain.entries % 1000 == 0 && !go_on(chain.entries) {
            return Ok(None);
        }
        before = stored;
        chain.head = hex(&stored);
    }
    // a row of an entry that does not exist was slipped in past the end
    if chain.broken_at.is_none() {
        chain.broken_at = cursors.iter().filter_map(|c| c.ahead.as_ref().map(|(entry, _)| *entry)).min();
    }
    Ok(Some(chain))
}
