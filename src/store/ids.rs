//! Domain identifiers and word lists as SQL values.

use rusqlite::ToSql;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSqlOutput, ValueRef};

use crate::domain::breach::Verdict;
use crate::domain::cold::{Kind as SpellKind, Measured};
use crate::domain::complaint::{Severity, Standing, What};
use crate::domain::crop::{Medium, Soak};
use crate::domain::fuzz::{Extent, Sign, Verdict as Finding};
use crate::domain::hold::Cause;
use crate::domain::id::{
    BreachId, CheckKindId, ComplaintId, CropId, CustomerId, DeliveryId, EntryId, FormatId, GermTestId, HoldId, LotId,
    MaterialId, MaterialLotId, MixId, OrderId, PersonId, PlaceId, PlanId, ProductId, RackId, RecallId, RecipeId,
    RoundId, SeedLotId, SensorId, SoakId, SowingId, StockMoveId, StoreId, SupplierId, ToolId, TrayId, WalkId, ZoneId,
};
use crate::domain::look::{Basis, Mist, Roots, Skip, Stand};
use crate::domain::lot::Kind as LotKind;
use crate::domain::measure::Measure;
use crate::domain::mix::MixEnd;
use crate::domain::product::Kind as ProductKind;
use crate::domain::room::{Units, Zone};
use crate::domain::round::Kind as RoundKind;
use crate::domain::seed_lot::Treated;
use crate::domain::stock::{Away, CameBack, Kind as MoveKind};
use crate::domain::suspect::Decision;
use crate::domain::time::{Day, Instant};
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage};
use crate::domain::treatment::Listed;
use crate::domain::walk::Mode;

macro_rules! ids {
    ($($name:ident),+ $(,)?) => {$(
        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> { Ok(ToSqlOutput::from(self.0)) }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> { i64::column_result(value).map(Self) }
        }
    )+};
}
ids!(
    EntryId,
    PersonId,
    RackId,
    PlaceId,
    ZoneId,
    FormatId,
    CropId,
    PlanId,
    SupplierId,
    SeedLotId,
    MaterialLotId,
    SowingId,
    TrayId,
    WalkId,
    BreachId,
    CheckKindId,
    ComplaintId,
    RecallId,
    ToolId,
    HoldId,
    RecipeId,
    MaterialId,
    MixId,
    SoakId,
    StoreId,
    SensorId,
    LotId,
    ProductId,
    CustomerId,
    OrderId,
    DeliveryId,
    RoundId,
    StockMoveId,
    GermTestId,
);

macro_rules! stored_words {
    ($($name:ident),+ $(,)?) => {$(
        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> { Ok(ToSqlOutput::from(self.stored())) }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                Self::from_stored(value.as_str()?).ok_or(FromSqlError::InvalidType)
            }
        }
    )+};
}
stored_words!(
    Soak,
    Medium,
    Roots,
    Stand,
    Mist,
    Basis,
    Skip,
    Units,
    Zone,
    Treated,
    Stage,
    LossReason,
    Gear,
    Mode,
    Verdict,
    Extent,
    Sign,
    Finding,
    Cause,
    Decision,
    Cleanup,
    Measure,
    MixEnd,
    Listed,
    LotKind,
    ProductKind,
    MoveKind,
    CameBack,
    Away,
    RoundKind,
    SpellKind,
    Measured,
    What,
    Severity,
    Standing,
);

impl ToSql for Instant {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::from(self.to_string()))
    }
}

impl FromSql for Instant {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        Self::parse(value.as_str()?).ok_or(FromSqlError::InvalidType)
    }
}

/// A day of a row, read digit by digit: the general reader of days takes most of the time where there are many.
pub(super) fn day(row: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<Day> {
    let text = row.get_ref(at)?.as_str()?;
    let part = |range: std::ops::Range<usize>| text.get(range).and_then(|digits| digits.parse::<u32>().ok());
    let day = part(0..4)
        .zip(part(5..7))
        .zip(part(8..10))
        .and_then(|((year, month), day)| Day::from_ymd_opt(i32::try_from(year).ok()?, month, day));
    day.map_or_else(|| row.get(at), Ok)
}

/// A calendar day as SQL text; `chrono`'s own form is the same `YYYY-MM-DD`.
pub fn day_sql(day: Day) -> String {
    day.format("%Y-%m-%d").to_string()
}
