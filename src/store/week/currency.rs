//! What figures of money are followed by: one setting.

use rusqlite::Connection;

use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;
use crate::domain::week::Currency;
use crate::store::act::Wrote;
use crate::store::error::StoreError;
use crate::store::person::saved;
use crate::store::revision::same;
use crate::store::setting;
use crate::store::writer::Writer;

const KEY: &str = "currency";

/// The word, and how often it was changed.
pub(in crate::store) fn read(conn: &Connection) -> Result<(String, i64), StoreError> {
    let (Currency(word), rev) = setting::read(conn, KEY)?;
    Ok((word, rev))
}

pub(in crate::store) fn edit(w: &mut Writer<'_>, word: &str, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    let word = word.trim();
    if word.chars().count() > Currency::MOST || word.chars().any(|c| c.is_whitespace() || c.is_ascii_digit()) {
        let why = format!("Write a currency in at most {} letters, such as EUR.", Currency::MOST);
        return Err(Refusal::new("currency", why).at("currency").into());
    }
    saved(before != word)?;
    setting::write(w, KEY, &Currency(word.to_owned()))?;
    Ok(Wrote::said(if word.is_empty() {
        "Prices stand without a currency.".to_string()
    } else {
        format!("Prices are in {word}.")
    }))
}

/// What an entry set it to, if it did.
pub(in crate::store) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let word = setting::after::<Currency>(conn, entry, KEY)?;
    Ok(word.map(|Currency(word)| format!("prices are in {word}")))
}
