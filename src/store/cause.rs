//! Common cause: trays or pack lots of a period, how each came out, and every group it belongs to. Read only.

mod packs;
mod trays;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::types::FromSql;
use rusqlite::{Connection, params};

use super::Store;
use super::error::StoreError;
use crate::domain::cause::{Asked, By, Counted, Of};
use crate::domain::time::Now;

/// Names of groups, each with its number, and what belongs to which.
#[derive(Debug, Default)]
struct Names {
    numbers: BTreeMap<(By, String), usize>,
    list: Vec<(By, String)>,
}

impl Names {
    fn number(&mut self, by: By, name: String) -> usize {
        let list = &mut self.list;
        *self.numbers.entry((by, name)).or_insert_with_key(|key| {
            list.push(key.clone());
            list.len() - 1
        })
    }
}

/// Numbers of the groups that things belong to, by row number of the things.
type Groups = BTreeMap<i64, BTreeSet<usize>>;

impl Store {
    /// What went bad in a period of what there was, with all that each shares with others.
    pub fn cause(&self, asked: &Asked, now: Now) -> Result<Counted, StoreError> {
        match asked.of {
            Of::Mould | Of::Suspects => trays::sown(&self.conn, asked, now),
            Of::Losses => trays::ended(&self.conn, asked, now),
            Of::Complaints => packs::gone_out(&self.conn, asked, self.complaints()?, now),
        }
    }
}

/// `[1,2,3]`, for `json_each`.
pub(super) fn list(ids: impl IntoIterator<Item = i64>) -> String {
    format!("[{}]", ids.into_iter().map(|id| id.to_string()).collect::<Vec<_>>().join(","))
}

/// Rows of a row number and something about it, of the things of a list (?1).
pub(super) fn pairs<T: FromSql>(conn: &Connection, text: &str, ids: &str) -> Result<Vec<(i64, T)>, StoreError> {
    Ok(conn
        .prepare_cached(text)?
        .query_map(params![ids], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}

/// The same as groups of one kind.
fn grouped(
    conn: &Connection,
    by: By,
    text: &str,
    ids: &str,
    names: &mut Names,
    into: &mut Groups,
) -> Result<(), StoreError> {
    for (id, name) in pairs::<String>(conn, text, ids)? {
        into.entry(id).or_default().insert(names.number(by, name));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #[test]
    fn ids_are_written_as_a_list() {
        assert_eq!(super::list([1, 3]), "[1,3]");
    }
}
