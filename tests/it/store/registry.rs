//! The lists the program keeps of its tables, against the tables themselves.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use rackwalk::store::facts::{ALL, Belongs, EDITABLE};
use rackwalk::store::migrate::{MIGRATIONS, latest};
use rusqlite::Connection;

use super::{number, raw, tables};
use crate::book::Book;

fn texts(conn: &Connection, sql: &str) -> Vec<String> {
    conn.prepare(sql).unwrap().query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

fn columns(conn: &Connection, table: &str) -> Vec<String> {
    texts(conn, &format!("SELECT name FROM pragma_table_info('{table}') ORDER BY cid"))
}

#[test]
fn every_column_of_a_fact_is_hashed_in_definition_order() {
    let book = Book::empty();
    let conn = raw(&book.path);
    for table in ALL {
        let mut real = columns(&conn, table.name);
        let voidable = real.iter().any(|c| c == "void_by");
        assert_eq!(voidable, table.belongs == Belongs::Fact, "{}", table.name);
        assert_eq!(
            real.iter().any(|c| c == "entry_id"),
            !matches!(table.belongs, Belongs::Child { .. }),
            "{}",
            table.name
        );
        real.retain(|c| c != "void_by");
        assert_eq!(real, table.columns, "{}", table.name);
        let key =
            texts(&conn, &format!("SELECT name FROM pragma_table_info('{}') WHERE pk > 0 ORDER BY pk", table.name));
        assert_eq!(key, table.key, "{}", table.name);
        let whole =
            format!("SELECT count(*) FROM pragma_table_info('{}') WHERE pk > 0 AND type <> 'INTEGER'", table.name);
        assert_eq!(number(&conn, &whole), 0, "{}", table.name);
        if let Belongs::Child { parent, column } = table.belongs {
            let text =
                format!("SELECT \"table\" FROM pragma_foreign_key_list('{}') WHERE \"from\" = '{column}'", table.name);
            assert_eq!(texts(&conn, &text), [parent]);
        }
    }
    let mut log = columns(&conn, "entry");
    log.retain(|c| c != "hash");
    assert_eq!(log, rackwalk::store::chain::ENTRY_COLUMNS);
}

#[test]
fn every_editable_record_lists_its_columns() {
    let book = Book::empty();
    let conn = raw(&book.path);
    for (noun, listed) in EDITABLE {
        let mut real = columns(&conn, noun);
        assert_eq!(&real[..3], ["id", "rev", "retired"], "{noun}");
        real.drain(..3);
        assert_eq!(real, *listed, "{noun}");
    }
    let nouns: BTreeSet<String> = texts(&conn, "SELECT name FROM noun").into_iter().collect();
    assert_eq!(nouns, EDITABLE.iter().map(|(noun, _)| (*noun).to_string()).collect());
}

#[test]
fn no_table_stands_outside_the_lists() {
    let book = Book::empty();
    let conn = raw(&book.path);
    let mut listed: BTreeSet<String> = ALL.iter().map(|table| table.name.to_string()).collect();
    listed.extend(EDITABLE.iter().map(|(noun, _)| (*noun).to_string()));
    listed.extend(["entry", "tray_now", "lot_now", "spell_now", "week_crop"].map(String::from));
    // what was told of people can be blanked, so no hash covers it
    listed.insert("complaint_told".into());
    assert_eq!(tables(&conn).into_iter().collect::<BTreeSet<_>>(), listed);
}

#[test]
fn every_table_has_its_triggers_and_every_fact_its_entry_index() {
    let book = Book::empty();
    let conn = raw(&book.path);
    let has = |kind: &str, name: &str| {
        number(&conn, &format!("SELECT count(*) FROM sqlite_schema WHERE type = '{kind}' AND name = '{name}'")) == 1
    };
    for table in ALL {
        let name = table.name;
        assert!(has("trigger", &format!("{name}_frozen")), "{name}");
        assert!(has("trigger", &format!("{name}_kept")), "{name}");
        assert_eq!(has("trigger", &format!("{name}_void_once")), table.belongs == Belongs::Fact, "{name}");
        if table.belongs == Belongs::Fact {
            // undo and the check of the chain find the rows of an entry without a search
            assert!(has("index", &format!("{name}_entry")) || table.key[0] == "entry_id", "{name}");
        }
    }
    for (noun, _) in EDITABLE {
        assert!(has("trigger", &format!("{noun}_kept")), "{noun}");
    }
    // a trigger that lists columns freezes every one of them
    for table in ALL.iter().filter(|table| table.belongs == Belongs::Fact) {
        let text = format!("SELECT sql FROM sqlite_schema WHERE name = '{}_frozen'", table.name);
        let sql = texts(&conn, &text).remove(0);
        let listed = sql.split_once("UPDATE OF ").unwrap().1.split_once(" ON ").unwrap().0;
        assert_eq!(listed.split(',').map(str::trim).collect::<Vec<_>>(), table.columns, "{}", table.name);
    }
}

#[test]
fn the_schema_is_that_of_its_issue() {
    let book = Book::empty();
    let conn = raw(&book.path);
    assert_eq!(number(&conn, "PRAGMA user_version"), i64::from(latest()));
    assert_eq!(number(&conn, "PRAGMA application_id"), i64::from(u32::from_be_bytes(*b"RWLK")));
    let strict =
        "SELECT count(*) FROM pragma_table_list WHERE type = 'table' AND NOT strict AND name NOT LIKE 'sqlite_%'";
    assert_eq!(number(&conn, strict), 0);
    let grown = Connection::open_in_memory().unwrap();
    for (n, migration) in MIGRATIONS.iter().enumerate() {
        let fixture = format!("schema_{:04}.sql", n + 1);
        grown.execute_batch(migration).unwrap();
        let now = texts(
            &grown,
            "SELECT sql || ';' FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'
             ORDER BY CASE type WHEN 'table' THEN 1 WHEN 'index' THEN 2 ELSE 3 END, name",
        )
        .join("\n");
        let frozen = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/fixtures").join(&fixture);
        let frozen = fs::read_to_string(frozen).unwrap();
        for (now, frozen) in now.lines().zip(frozen.lines()) {
            assert_eq!(
                now, frozen,
                "{fixture}: its migration was edited; books of it exist, so write a new one instead"
            );
        }
        assert_eq!(now.lines().count(), frozen.lines().count());
    }
}
