//! The fact tables with their columns in definition order: what the chain hashes and what undo can void.
//!
//! A test compares this list with the database's own schema.

/// How a table's rows belong to an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Belongs {
    /// Has `entry_id` and `void_by`.
    Fact,
    /// Has `entry_id` but is never voided by itself.
    Log,
    /// Belongs to the fact `parent` through `column`, same entry.
    Child { parent: &'static str, column: &'static str },
}

/// One table of the chain.
#[derive(Debug, PartialEq, Eq)]
pub struct Table {
    pub name: &'static str,
    pub belongs: Belongs,
    /// Primary key, integers.
    pub key: &'static [&'static str],
    /// All columns but `void_by`.
    pub columns: &'static [&'static str],
}

const ID: &[&str] = &["id"];

macro_rules! tables {
    ($($constant:ident = $name:literal $belongs:expr, $key:expr, [$($column:literal),+];)+) => {
        $(pub const $constant: &Table = &Table { name: $name, belongs: $belongs, key: $key, columns: &[$($column),+] };)+
        /// Every table of the chain, in the order it is hashed.
        pub const ALL: &[&Table] = &[$($constant),+];
    };
}

const fn child(parent: &'static str, column: &'static str) -> Belongs {
    Belongs::Child { parent, column }
}

tables! {
    ENTRY_NOTE = "entry_note" Belongs::Log, &["entry_id"], ["entry_id", "text"];
    CHANGE = "change" Belongs::Log, &["entry_id", "n"], ["entry_id", "n", "noun", "row_id", "before", "after"];
    GROW_PLAN = "grow_plan" Belongs::Fact, ID,
        ["id", "entry_id", "crop_id", "version", "soak_h", "cover_d", "cut_from_d", "cut_to_d", "seeds_dm2", "source"];
    GROW_PLAN_DAY = "grow_plan_day" child("grow_plan", "grow_plan_id"), &["grow_plan_id", "day"],
        ["grow_plan_id", "day", "roots"];
    ANCHOR_SET = "anchor_set" Belongs::Fact, ID, ["id", "entry_id", "crop_id", "version", "source"];
    ANCHOR = "anchor" child("anchor_set", "anchor_set_id"), &["anchor_set_id", "temp_dc"],
        ["anchor_set_id", "temp_dc", "life_h"];
    SEED_LOT = "seed_lot" Belongs::Fact, ID,
        ["id", "entry_id", "rev", "code", "crop_id", "variety", "supplier_id", "supplier_lot", "received", "use_by",
         "germ_pm", "tsw_mg", "treated", "cert", "document", "kept"];
    MATERIAL_LOT = "material_lot" Belongs::Fact, ID, ["id", "entry_id", "material_id", "code", "received", "use_by"];
    SOWING = "sowing" Belongs::Fact, ID,
        ["id", "entry_id", "code", "crop_id", "grow_plan_id", "day", "medium", "medium_lot_id", "before_book",
         "before_lot_id"];
    SEED_MOVE = "seed_move" Belongs::Fact, ID, ["id", "entry_id", "seed_lot_id", "sowing_id", "mg", "why"];
    SOAK = "soak" Belongs::Fact, ID,
        ["id", "entry_id", "seed_lot_id", "mg", "start", "strength", "rinses", "drained", "product", "minutes"];
    TRAY = "tray" child("sowing", "sowing_id"), ID, ["id", "sowing_id", "format_id", "mats"];
    WALK = "walk" Belongs::Fact, ID, ["id", "entry_id", "mode", "racks", "started"];
    WALK_STOP = "walk_stop" Belongs::Fact, &["entry_id"], ["entry_id", "walk_id"];
    PLACEMENT = "placement" Belongs::Fact, ID, ["id", "entry_id", "tray_id", "place_id", "at", "since"];
    STAGE = "stage" Belongs::Fact, ID, ["id", "entry_id", "tray_id", "stage", "at"];
    LOOK = "look" Belongs::Fact, &["entry_id", "tray_id"],
        ["entry_id", "tray_id", "day", "basis", "roots", "stand", "fuzz", "mist", "watered", "misted", "faults", "skip",
         "seen_at", "signs", "extent", "verdict", "hair", "mould", "rot", "points_version"];
    WATER = "water" Belongs::Fact, ID, ["id", "entry_id", "day", "ml", "ph_100", "temp_dc", "ec_us", "source"];
    WATER_TRAY = "water_tray" child("water", "water_id"), &["water_id", "tray_id"], ["water_id", "tray_id"];
    LOSS = "loss" Belongs::Fact, ID, ["id", "entry_id", "tray_id", "day", "mats", "reason", "gear", "cleanup"];
    RECIPE_VERSION = "recipe_version" Belongs::Fact, ID, ["id", "entry_id", "recipe_id", "version"];
    RECIPE_PART = "recipe_part" child("recipe_version", "recipe_version_id"), &["recipe_version_id", "n"],
        ["recipe_version_id", "n", "material_id", "amount", "measure"];
    MIX = "mix" Belongs::Fact, ID,
        ["id", "entry_id", "code", "recipe_id", "ml", "expires_at", "recipe_version_id", "use_by"];
    MIX_PART = "mix_part" child("mix", "mix_id"), &["mix_id", "n"],
        ["mix_id", "n", "material_id", "material_lot_id", "amount", "measure"];
    MIX_END = "mix_end" Belongs::Fact, ID, ["id", "entry_id", "mix_id", "what"];
    TREATMENT = "treatment" Belongs::Fact, ID,
        ["id", "entry_id", "mix_id", "product", "reg_no", "at", "ml", "purpose", "listed", "wait_h", "reentry_h"];
    TREATMENT_TRAY = "treatment_tray" child("treatment", "treatment_id"), &["treatment_id", "tray_id"],
        ["treatment_id", "tray_id"];
    POWER_CUT = "power_cut" Belongs::Fact, ID, ["id", "entry_id", "from_at", "to_at", "zone_id", "store_id", "warmest_dc"];
    CORRECTION = "correction" Belongs::Fact, ID, ["id", "entry_id", "about_id", "what", "seen_by"];
    SOWING_FIX = "sowing_fix" Belongs::Fact, ID, ["id", "entry_id", "sowing_id", "crop_id", "grow_plan_id", "day"];
    BREACH = "breach" Belongs::Fact, ID, ["id", "entry_id", "rule", "about_entry", "reason"];
    BREACH_TRAY = "breach_tray" child("breach", "breach_id"), &["breach_id", "tray_id"], ["breach_id", "tray_id"];
    BREACH_DECISION = "breach_decision" Belongs::Fact, ID, ["id", "entry_id", "breach_id", "what", "person_id"];
    HOLD = "hold" Belongs::Fact, ID, ["id", "entry_id", "cause", "scope_text", "about_entry", "complaint_id", "exercise"];
    HOLD_ITEM = "hold_item" child("hold", "hold_id"), &["hold_id", "n"],
        ["hold_id", "n", "sowing_id", "tray_id", "lot_id", "seed_lot_id", "mix_id", "material_lot_id", "tool_id"];
    HOLD_DECISION = "hold_decision" Belongs::Fact, ID, ["id", "entry_id", "hold_id", "what", "person_id"];
    WALK_SHARE = "walk_share" Belongs::Fact, ID, ["id", "entry_id", "walk_id", "rack_id"];
    ROOM_CHECK = "room_check" Belongs::Fact, ID,
        ["id", "entry_id", "check_kind_id", "day", "result", "ok", "remedy", "with_what", "file_ref"];
    PLACE_CLEANED = "place_cleaned" Belongs::Fact, ID, ["id", "entry_id", "place_id"];
    SOAK_DRAIN = "soak_drain" Belongs::Fact, ID, ["id", "entry_id", "soak_id", "at", "rinses"];
    SOAK_SOWN = "soak_sown" Belongs::Fact, ID, ["id", "entry_id", "soak_id", "sowing_id", "mg"];
    READING_FILE = "reading_file" Belongs::Fact, ID,
        ["id", "entry_id", "sensor_id", "sha256", "name", "rows", "thermometer", "measured", "part"];
    READING = "reading" child("reading_file", "file_id"), &["sensor_id", "at_s", "file_id"],
        ["sensor_id", "at_s", "file_id", "temp_dc", "rh_pm"];
    FUZZ_POINTS = "fuzz_points" Belongs::Fact, ID, ["id", "entry_id", "version"];
    DECISION = "decision" Belongs::Fact, ID,
        ["id", "entry_id", "tray_id", "what", "about_entry", "person_id", "next_at"];
    FUZZ_POINT = "fuzz_point" child("fuzz_points", "fuzz_points_id"), &["fuzz_points_id", "n"],
        ["fuzz_points_id", "n", "sign", "hair", "mould", "rot"];
    PRODUCT_VERSION = "product_version" Belongs::Fact, ID, ["id", "entry_id", "product_id", "version"];
    PRODUCT_PART = "product_part" child("product_version", "product_version_id"), &["product_version_id", "n"],
        ["product_version_id", "n", "crop_id", "share_pm"];
    CUT_CHECK = "cut_check" Belongs::Fact, ID,
        ["id", "entry_id", "person_id", "day", "hands", "well", "blade", "cleaned", "cleaned_with", "washed"];
    LOT = "lot" Belongs::Fact, ID,
        ["id", "entry_id", "code", "kind", "crop_id", "product_id", "day", "cut_at", "pack_g", "best_before",
         "instead_of"];
    LOT_INPUT = "lot_input" Belongs::Fact, ID,
        ["id", "entry_id", "lot_id", "tray_id", "from_lot_id", "mats", "grams", "packs", "again"];
    ROUND = "round" Belongs::Fact, ID,
        ["id", "entry_id", "kind", "name", "day", "out_at", "temp_dc", "place", "hours"];
    DELIVERY = "delivery" Belongs::Fact, ID,
        ["id", "entry_id", "customer_id", "day", "order_id", "round_id", "received_by", "temp_dc"];
    STOCK_MOVE = "stock_move" Belongs::Fact, ID,
        ["id", "entry_id", "lot_id", "kind", "grams", "packs", "day", "delivery_id", "round_id", "customer_id", "extra",
         "what", "about_id", "temp_dc", "out_min", "person_id", "keep_until", "reason"];
    EMPTIES = "empties" Belongs::Fact, ID, ["id", "entry_id", "customer_id", "day", "trays", "washed_with"];
    STAY = "stay" Belongs::Fact, ID, ["id", "entry_id", "lot_id", "store_id", "at_s", "out_dc"];
    SPELL_DECISION = "spell_decision" Belongs::Fact, ID,
        ["id", "entry_id", "store_id", "kind", "from_s", "to_s", "worst_dc", "what", "person_id"];
    SCORE = "score" Belongs::Fact, ID, ["id", "entry_id", "lot_id", "at_s", "packs", "score"];
    BREACH_LOT = "breach_lot" child("breach", "breach_id"), &["breach_id", "lot_id"], ["breach_id", "lot_id"];
    LOT_USE = "lot_use" Belongs::Fact, ID, ["id", "entry_id", "lot_id", "tool_id", "material_lot_id"];
    COMPLAINT = "complaint" Belongs::Fact, ID,
        ["id", "entry_id", "customer_id", "product_id", "day", "delivered", "code", "what", "severity"];
    COMPLAINT_LOT = "complaint_lot" Belongs::Fact, ID, ["id", "entry_id", "complaint_id", "lot_id", "standing", "why"];
    COMPLAINT_END = "complaint_end" Belongs::Fact, ID, ["id", "entry_id", "complaint_id", "person_id"];
    RECALL = "recall" Belongs::Fact, ID, ["id", "entry_id", "hold_id", "from_at"];
    CONTACT = "contact" Belongs::Fact, ID,
        ["id", "entry_id", "recall_id", "delivery_id", "round_id", "reached", "destroyed"];
    EXERCISE = "exercise" Belongs::Fact, ID, ["id", "entry_id", "recall_id", "found_pm", "balance_pm", "minutes"];
    REVIEW = "review" Belongs::Fact, ID,
        ["id", "entry_id", "from_day", "to_day", "upto_id", "head", "person_id"];
    GERM_TEST = "germ_test" Belongs::Fact, ID, ["id", "entry_id", "seed_lot_id", "day", "replicates", "seeds", "temp_dc"];
    GERM_COUNT = "germ_count" Belongs::Fact, ID, ["id", "entry_id", "germ_test_id", "replicate", "day", "normal"];
    GERM_END = "germ_end" Belongs::Fact, ID, ["id", "entry_id", "germ_test_id", "day", "abnormal", "hard", "dead"];
    BASELINE = "baseline" Belongs::Fact, ID, ["id", "entry_id", "crop_id", "from_day", "to_day"];
    ODD_WEIGHT = "odd_weight" Belongs::Fact, ID, ["id", "entry_id", "lot_id", "tray_id", "odd"];
}

/// Editable tables: noun, and its columns beside `id`, `rev` and `retired`.
pub const EDITABLE: &[(&str, &[&str])] = &[
    ("person", &["initials", "name", "may_decide", "from_day", "to_day"]),
    ("setting", &["key", "value"]),
    ("supplier", &["name", "address", "lead_d"]),
    ("zone", &["name", "kind"]),
    ("rack", &["name", "sort"]),
    ("place", &["rack_id", "shelf", "pos", "zone_id", "stack"]),
    ("tray_format", &["name", "length_mm", "width_mm"]),
    (
        "crop",
        &[
            "letters",
            "name",
            "soak",
            "chilling",
            "hairs_expected",
            "roots_hidden",
            "second_cut",
            "weighted",
            "medium",
            "tsw_mg",
            "tray_mg",
            "yield_g",
            "min_germ_pm",
            "want_germ_pm",
            "allergen",
            "us_list",
            "light_hours",
            "sources",
            "most_d",
            "seed_kg_c",
            "tray_c",
        ],
    ),
    ("material", &["name", "measure"]),
    ("recipe", &["name", "ml", "life_d"]),
    ("sensor", &["name", "zone_id", "csv_map", "store_id", "by_hand"]),
    ("store", &["name", "min_dc", "max_dc", "over_min", "gap_min", "plan_dc"]),
    ("check_kind", &["name", "every_d", "limit_text", "remedy", "known"]),
    ("product", &["name", "kind", "pack_g", "gtin", "price_c"]),
    ("customer", &["name", "address", "phone", "round", "note"]),
    ("sale_order", &["customer_id", "day", "weekday", "from_day", "to_day"]),
    ("tool", &["name"]),
    ("order_line", &["order_id", "product_id", "packs", "grams", "trays"]),
];
