//! Row numbers as types of their own, so that a tray can never be taken for a place.

/// Declares one identifier type per table.
macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub i64);
    )+};
}

ids!(
    /// One user action in the log.
    EntryId, PersonId, RackId, PlaceId, ZoneId, FormatId, CropId, PlanId, SupplierId, SeedLotId,
    MaterialLotId, SowingId, TrayId, WalkId, BreachId,
    CheckKindId, HoldId, RecipeId, MaterialId, MixId, SoakId, SensorId, StoreId,
    LotId, ProductId, CustomerId, OrderId, DeliveryId, RoundId, StockMoveId,
    ToolId, ComplaintId, RecallId, GermTestId,
);
