-- The book of a room: log, room, growing. STRICT tables, named constraints, ON DELETE RESTRICT.
-- Units stand in the column names: _mg _g _ml _mm _dc (tenths of a degree C) _pm (per mille) _h _d.
-- Facts carry entry_id and void_by, are inserted once and only ever voided (triggers at the end).
-- Editable records carry rev and retired; every edit is a row of "change".

-- LOG ------------------------------------------------------------------------------------------------

CREATE TABLE kind (
  name TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;
INSERT INTO kind VALUES ('setup'), ('seed_received'), ('seed_counted'), ('sown'), ('walk_started'), ('look'), ('moved'),
  ('cut'), ('thrown'), ('undo'), ('person'), ('setting'), ('rack'), ('place'), ('format'), ('crop');

CREATE TABLE noun (
  name TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;
INSERT INTO noun VALUES ('person'), ('setting'), ('supplier'), ('zone'), ('rack'), ('place'), ('tray_format'), ('crop'),
  ('recipe'), ('material');

CREATE TABLE person (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT person_retired CHECK (retired IN (0, 1)),
  initials TEXT NOT NULL CONSTRAINT person_initials CHECK (length(initials) BETWEEN 2 AND 4),
  name TEXT NOT NULL,
  may_decide INTEGER NOT NULL CONSTRAINT person_may_decide CHECK (may_decide IN (0, 1)),
  UNIQUE (initials)
) STRICT;

CREATE TABLE entry (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL CONSTRAINT entry_at CHECK (length(at) = 20 AND at IS strftime('%Y-%m-%dT%H:%M:%SZ', at)),
  day TEXT NOT NULL CONSTRAINT entry_day CHECK (day IS date(day)),
  seen_at TEXT CONSTRAINT entry_seen_at CHECK (seen_at IS strftime('%Y-%m-%dT%H:%M:%SZ', seen_at)),
  who INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT,
  seen_by INTEGER REFERENCES person (id) ON DELETE RESTRICT,
  paper INTEGER NOT NULL DEFAULT 0 CONSTRAINT entry_paper CHECK (paper IN (0, 1)),
  kind TEXT NOT NULL REFERENCES kind (name) ON DELETE RESTRICT,
  undoes INTEGER UNIQUE REFERENCES entry (id) ON DELETE RESTRICT,
  hash BLOB NOT NULL CONSTRAINT entry_hash CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX entry_who ON entry (who, id);

CREATE TABLE entry_note (
  entry_id INTEGER PRIMARY KEY REFERENCES entry (id) ON DELETE RESTRICT,
  text TEXT NOT NULL CONSTRAINT entry_note_text CHECK (length(text) BETWEEN 1 AND 10000)
) STRICT;

CREATE TABLE change (
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  noun TEXT NOT NULL REFERENCES noun (name) ON DELETE RESTRICT,
  row_id INTEGER NOT NULL,
  before TEXT CONSTRAINT change_before CHECK (json_valid(before)),
  after TEXT CONSTRAINT change_after CHECK (json_valid(after)),
  PRIMARY KEY (entry_id, n)
) STRICT, WITHOUT ROWID;
CREATE INDEX change_row ON change (noun, row_id);

-- ROOM -----------------------------------------------------------------------------------------------

CREATE TABLE setting (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT setting_retired CHECK (retired IN (0, 1)),
  key TEXT NOT NULL,
  value TEXT NOT NULL,
  UNIQUE (key)
) STRICT;

CREATE TABLE supplier (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT supplier_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  address TEXT NOT NULL,
  UNIQUE (name)
) STRICT;

CREATE TABLE zone (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT zone_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  kind TEXT NOT NULL CONSTRAINT zone_kind CHECK (kind IN ('covered', 'lit', 'isolation')),
  UNIQUE (name)
) STRICT;

CREATE TABLE rack (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT rack_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  sort INTEGER NOT NULL,
  UNIQUE (name)
) STRICT;

CREATE TABLE place (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT place_retired CHECK (retired IN (0, 1)),
  rack_id INTEGER NOT NULL REFERENCES rack (id) ON DELETE RESTRICT,
  shelf INTEGER NOT NULL CONSTRAINT place_shelf CHECK (shelf BETWEEN 1 AND 40),
  pos INTEGER NOT NULL CONSTRAINT place_pos CHECK (pos BETWEEN 1 AND 40),
  zone_id INTEGER NOT NULL REFERENCES zone (id) ON DELETE RESTRICT,
  stack INTEGER NOT NULL DEFAULT 1 CONSTRAINT place_stack CHECK (stack BETWEEN 1 AND 20),
  UNIQUE (rack_id, shelf, pos)
) STRICT;

CREATE TABLE tray_format (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT tray_format_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  length_mm INTEGER NOT NULL CONSTRAINT tray_format_length CHECK (length_mm BETWEEN 30 AND 3000),
  width_mm INTEGER NOT NULL CONSTRAINT tray_format_width CHECK (width_mm BETWEEN 30 AND 3000),
  UNIQUE (name)
) STRICT;

-- GROWING --------------------------------------------------------------------------------------------

CREATE TABLE crop (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT crop_retired CHECK (retired IN (0, 1)),
  letters TEXT NOT NULL CONSTRAINT crop_letters CHECK (letters GLOB '[A-Z][A-Z][A-Z]'),
  name TEXT NOT NULL,
  soak TEXT NOT NULL CONSTRAINT crop_soak CHECK (soak IN ('no', 'hours', 'never')),
  chilling INTEGER NOT NULL CONSTRAINT crop_chilling CHECK (chilling IN (0, 1)),
  hairs_expected INTEGER NOT NULL CONSTRAINT crop_hairs CHECK (hairs_expected IN (0, 1)),
  roots_hidden INTEGER NOT NULL CONSTRAINT crop_roots_hidden CHECK (roots_hidden IN (0, 1)),
  second_cut INTEGER NOT NULL CONSTRAINT crop_second_cut CHECK (second_cut IN (0, 1)),
  weighted INTEGER NOT NULL CONSTRAINT crop_weighted CHECK (weighted IN (0, 1)),
  medium TEXT NOT NULL CONSTRAINT crop_medium CHECK (medium IN ('mat', 'soil', 'coco', 'other')),
  tsw_mg INTEGER CONSTRAINT crop_tsw CHECK (tsw_mg BETWEEN 10 AND 5000000),
  tray_mg INTEGER NOT NULL CONSTRAINT crop_tray CHECK (tray_mg BETWEEN 1 AND 5000000),
  yield_g INTEGER CONSTRAINT crop_yield CHECK (yield_g BETWEEN 1 AND 20000),
  min_germ_pm INTEGER CONSTRAINT crop_min_germ CHECK (min_germ_pm BETWEEN 0 AND 1000),
  want_germ_pm INTEGER CONSTRAINT crop_want_germ CHECK (want_germ_pm BETWEEN 0 AND 1000),
  allergen TEXT NOT NULL,
  us_list TEXT NOT NULL CONSTRAINT crop_us_list CHECK (us_list IN ('yes', 'no', 'not sure')),
  light_hours TEXT NOT NULL,
  sources TEXT NOT NULL CONSTRAINT crop_sources CHECK (json_valid(sources)),
  UNIQUE (letters)
) STRICT;

CREATE TABLE grow_plan (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  version INTEGER NOT NULL,
  soak_h INTEGER NOT NULL CONSTRAINT grow_plan_soak CHECK (soak_h BETWEEN 0 AND 48),
  cover_d INTEGER NOT NULL CONSTRAINT grow_plan_cover CHECK (cover_d BETWEEN 0 AND 60),
  cut_from_d INTEGER NOT NULL,
  cut_to_d INTEGER NOT NULL,
  seeds_dm2 INTEGER CONSTRAINT grow_plan_seeds CHECK (seeds_dm2 > 0),
  source TEXT NOT NULL,
  UNIQUE (crop_id, version),
  CONSTRAINT grow_plan_order CHECK (cover_d < cut_from_d AND cut_from_d <= cut_to_d AND cut_to_d <= 90)
) STRICT;
CREATE INDEX grow_plan_entry ON grow_plan (entry_id);

CREATE TABLE grow_plan_day (
  grow_plan_id INTEGER NOT NULL REFERENCES grow_plan (id) ON DELETE RESTRICT,
  day INTEGER NOT NULL CONSTRAINT grow_plan_day_day CHECK (day BETWEEN 0 AND 90),
  roots TEXT NOT NULL CONSTRAINT grow_plan_day_roots CHECK (roots IN ('none', 'peeking', 'plenty', 'full')),
  PRIMARY KEY (grow_plan_id, day)
) STRICT, WITHOUT ROWID;

CREATE TABLE anchor_set (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  version INTEGER NOT NULL,
  source TEXT NOT NULL,
  UNIQUE (crop_id, version)
) STRICT;
CREATE INDEX anchor_set_entry ON anchor_set (entry_id);

CREATE TABLE anchor (
  anchor_set_id INTEGER NOT NULL REFERENCES anchor_set (id) ON DELETE RESTRICT,
  temp_dc INTEGER NOT NULL CONSTRAINT anchor_temp CHECK (temp_dc BETWEEN -50 AND 450),
  life_h INTEGER NOT NULL CONSTRAINT anchor_life CHECK (life_h BETWEEN 1 AND 9600),
  PRIMARY KEY (anchor_set_id, temp_dc)
) STRICT, WITHOUT ROWID;

CREATE TABLE seed_lot (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  rev INTEGER NOT NULL DEFAULT 0,
  code TEXT NOT NULL,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  variety TEXT,
  supplier_id INTEGER NOT NULL REFERENCES supplier (id) ON DELETE RESTRICT,
  supplier_lot TEXT NOT NULL,
  received TEXT NOT NULL CONSTRAINT seed_lot_received CHECK (received IS date(received)),
  use_by TEXT CONSTRAINT seed_lot_use_by CHECK (use_by IS date(use_by) AND use_by >= received),
  germ_pm INTEGER CONSTRAINT seed_lot_germ CHECK (germ_pm BETWEEN 0 AND 1000),
  tsw_mg INTEGER CONSTRAINT seed_lot_tsw CHECK (tsw_mg BETWEEN 10 AND 5000000),
  treated TEXT NOT NULL CONSTRAINT seed_lot_treated CHECK (treated IN ('no', 'yes', 'not_stated')),
  cert TEXT,
  document TEXT,
  kept TEXT,
  UNIQUE (code)
) STRICT;
CREATE INDEX seed_lot_entry ON seed_lot (entry_id);
-- lots of a crop in the order of use: sowing form, seed shelf
CREATE INDEX seed_lot_crop ON seed_lot (crop_id, use_by);

CREATE TABLE material (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT material_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  measure TEXT NOT NULL,
  UNIQUE (name)
) STRICT;

CREATE TABLE material_lot (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  material_id INTEGER NOT NULL REFERENCES material (id) ON DELETE RESTRICT,
  code TEXT NOT NULL,
  received TEXT NOT NULL CONSTRAINT material_lot_received CHECK (received IS date(received)),
  use_by TEXT CONSTRAINT material_lot_use_by CHECK (use_by IS date(use_by))
) STRICT;
CREATE INDEX material_lot_entry ON material_lot (entry_id);
CREATE INDEX material_lot_code ON material_lot (material_id, code);

CREATE TABLE sowing (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  code TEXT NOT NULL,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  grow_plan_id INTEGER NOT NULL REFERENCES grow_plan (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT sowing_day CHECK (day IS date(day)),
  medium TEXT CONSTRAINT sowing_medium CHECK (medium IN ('mat', 'soil', 'coco', 'other')),
  medium_lot_id INTEGER REFERENCES material_lot (id) ON DELETE RESTRICT,
  before_book INTEGER NOT NULL DEFAULT 0 CONSTRAINT sowing_before_book CHECK (before_book IN (0, 1)),
  UNIQUE (code)
) STRICT;
CREATE INDEX sowing_entry ON sowing (entry_id);
CREATE INDEX sowing_day_crop ON sowing (day, crop_id);

CREATE TABLE seed_move (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  seed_lot_id INTEGER NOT NULL REFERENCES seed_lot (id) ON DELETE RESTRICT,
  sowing_id INTEGER REFERENCES sowing (id) ON DELETE RESTRICT,
  mg INTEGER NOT NULL CONSTRAINT seed_move_mg CHECK (mg <> 0),
  why TEXT NOT NULL CONSTRAINT seed_move_why CHECK (why IN ('received', 'sown', 'counted')),
  CONSTRAINT seed_move_sown CHECK ((why = 'sown') = (sowing_id IS NOT NULL) AND (why <> 'sown' OR mg < 0))
) STRICT;
CREATE INDEX seed_move_entry ON seed_move (entry_id);
-- grams left of a lot; its history, what was taken back included
CREATE INDEX seed_move_lot ON seed_move (seed_lot_id, void_by, mg);
-- the lots of a sowing; its history
CREATE INDEX seed_move_sowing ON seed_move (sowing_id, seed_lot_id);

CREATE TABLE soak (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  seed_lot_id INTEGER NOT NULL REFERENCES seed_lot (id) ON DELETE RESTRICT,
  mg INTEGER NOT NULL CONSTRAINT soak_mg CHECK (mg > 0),
  start TEXT NOT NULL CONSTRAINT soak_start CHECK (start IS strftime('%Y-%m-%dT%H:%M:%SZ', start)),
  strength TEXT,
  rinses INTEGER,
  drained TEXT CONSTRAINT soak_drained CHECK (drained IS strftime('%Y-%m-%dT%H:%M:%SZ', drained))
) STRICT;
CREATE INDEX soak_entry ON soak (entry_id);

CREATE TABLE tray (
  id INTEGER PRIMARY KEY,
  sowing_id INTEGER NOT NULL REFERENCES sowing (id) ON DELETE RESTRICT,
  format_id INTEGER NOT NULL REFERENCES tray_format (id) ON DELETE RESTRICT,
  mats INTEGER NOT NULL CONSTRAINT tray_mats CHECK (mats BETWEEN 1 AND 8)
) STRICT;
CREATE INDEX tray_sowing ON tray (sowing_id);

CREATE TABLE walk (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  mode TEXT NOT NULL CONSTRAINT walk_mode CHECK (mode IN ('both', 'look', 'water')),
  racks TEXT CONSTRAINT walk_racks CHECK (json_valid(racks)),
  started TEXT NOT NULL CONSTRAINT walk_started CHECK (started IS strftime('%Y-%m-%dT%H:%M:%SZ', started))
) STRICT;
CREATE INDEX walk_entry ON walk (entry_id);

-- which entries belong to a walk
CREATE TABLE walk_stop (
  entry_id INTEGER PRIMARY KEY REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  walk_id INTEGER NOT NULL REFERENCES walk (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX walk_stop_walk ON walk_stop (walk_id) WHERE void_by IS NULL;

CREATE TABLE placement (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  place_id INTEGER REFERENCES place (id) ON DELETE RESTRICT,
  at TEXT CONSTRAINT placement_at CHECK (at IS strftime('%Y-%m-%dT%H:%M:%SZ', at))
) STRICT;
CREATE INDEX placement_entry ON placement (entry_id);
-- newest placement of a tray
CREATE INDEX placement_tray ON placement (tray_id);
CREATE INDEX placement_place ON placement (place_id);

CREATE TABLE stage (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  stage TEXT NOT NULL CONSTRAINT stage_stage
    CHECK (stage IN ('soaked', 'covered', 'lit', 'ready', 'cut', 'left_alive', 'thrown')),
  at TEXT CONSTRAINT stage_at CHECK (at IS strftime('%Y-%m-%dT%H:%M:%SZ', at))
) STRICT;
CREATE INDEX stage_entry ON stage (entry_id);
-- newest stage of a tray
CREATE INDEX stage_tray ON stage (tray_id);

CREATE TABLE look (
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT look_day CHECK (day IS date(day)),
  basis TEXT NOT NULL CONSTRAINT look_basis CHECK (basis IN ('tray', 'shelf', 'sowing')),
  roots TEXT CONSTRAINT look_roots CHECK (roots IN ('none', 'peeking', 'plenty', 'full', 'hidden')),
  stand TEXT CONSTRAINT look_stand CHECK (stand IN ('good', 'uneven', 'dry', 'yellow', 'fallen')),
  fuzz INTEGER NOT NULL CONSTRAINT look_fuzz CHECK (fuzz IN (0, 1)),
  mist TEXT CONSTRAINT look_mist CHECK (mist IN ('down', 'stands', 'untested')),
  watered INTEGER NOT NULL CONSTRAINT look_watered CHECK (watered IN (0, 1)),
  misted INTEGER NOT NULL CONSTRAINT look_misted CHECK (misted IN (0, 1)),
  faults INTEGER NOT NULL CONSTRAINT look_faults CHECK (faults >= 0),
  skip TEXT CONSTRAINT look_skip CHECK (skip IN ('out_of_reach', 'not_here', 'no_time', 'wet_enough', 'other')),
  seen_at TEXT CONSTRAINT look_seen_at CHECK (seen_at IS strftime('%Y-%m-%dT%H:%M:%SZ', seen_at)),
  PRIMARY KEY (entry_id, tray_id),
  CONSTRAINT look_fuzz_mist CHECK ((fuzz = 1) = (mist IS NOT NULL)),
  CONSTRAINT look_skip_empty
    CHECK (skip IS NULL OR (roots IS NULL AND stand IS NULL AND fuzz = 0 AND faults = 0 AND watered = 0)),
  CONSTRAINT look_glance CHECK (basis = 'tray' OR (fuzz = 0 AND faults = 0))
) STRICT, WITHOUT ROWID;
-- looks of a tray day by day
CREATE INDEX look_tray ON look (tray_id, day);

CREATE TABLE water (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT water_day CHECK (day IS date(day)),
  ml INTEGER CONSTRAINT water_ml CHECK (ml BETWEEN 1 AND 20000),
  ph_100 INTEGER CONSTRAINT water_ph CHECK (ph_100 BETWEEN 0 AND 1400),
  temp_dc INTEGER CONSTRAINT water_temp CHECK (temp_dc BETWEEN 0 AND 600),
  ec_us INTEGER CONSTRAINT water_ec CHECK (ec_us BETWEEN 0 AND 20000),
  source TEXT
) STRICT;
CREATE INDEX water_entry ON water (entry_id);

CREATE TABLE water_tray (
  water_id INTEGER NOT NULL REFERENCES water (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  PRIMARY KEY (water_id, tray_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX water_tray_tray ON water_tray (tray_id);

CREATE TABLE loss (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT loss_day CHECK (day IS date(day)),
  mats INTEGER NOT NULL CONSTRAINT loss_mats CHECK (mats BETWEEN 1 AND 8),
  reason TEXT NOT NULL CONSTRAINT loss_reason CHECK (reason IN ('mould', 'rot', 'poor_germination', 'dried_out',
    'fell_over', 'overgrown', 'accident', 'not_needed')),
  gear TEXT NOT NULL CONSTRAINT loss_gear CHECK (gear IN ('washed', 'binned', 'to_wash'))
) STRICT;
CREATE INDEX loss_entry ON loss (entry_id);
-- mats left of a tray; its history, what was taken back included
CREATE INDEX loss_tray ON loss (tray_id);
CREATE INDEX loss_day ON loss (day) WHERE void_by IS NULL;

CREATE TABLE recipe (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT recipe_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  ml INTEGER NOT NULL CONSTRAINT recipe_ml CHECK (ml > 0),
  life_d INTEGER NOT NULL CONSTRAINT recipe_life CHECK (life_d BETWEEN 0 AND 3650),
  UNIQUE (name)
) STRICT;

CREATE TABLE mix (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  code TEXT NOT NULL,
  recipe_id INTEGER REFERENCES recipe (id) ON DELETE RESTRICT,
  ml INTEGER NOT NULL CONSTRAINT mix_ml CHECK (ml > 0),
  expires_at TEXT CONSTRAINT mix_expires CHECK (expires_at IS strftime('%Y-%m-%dT%H:%M:%SZ', expires_at)),
  UNIQUE (code)
) STRICT;
CREATE INDEX mix_entry ON mix (entry_id);

CREATE TABLE treatment (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  mix_id INTEGER REFERENCES mix (id) ON DELETE RESTRICT,
  product TEXT NOT NULL,
  reg_no TEXT,
  at TEXT NOT NULL CONSTRAINT treatment_at CHECK (at IS strftime('%Y-%m-%dT%H:%M:%SZ', at)),
  ml INTEGER CONSTRAINT treatment_ml CHECK (ml > 0),
  purpose TEXT NOT NULL,
  listed TEXT NOT NULL CONSTRAINT treatment_listed CHECK (listed IN ('yes', 'no', 'unknown')),
  wait_h INTEGER NOT NULL CONSTRAINT treatment_wait CHECK (wait_h BETWEEN 0 AND 8760),
  reentry_h INTEGER NOT NULL CONSTRAINT treatment_reentry CHECK (reentry_h BETWEEN 0 AND 8760)
) STRICT;
CREATE INDEX treatment_entry ON treatment (entry_id);

CREATE TABLE treatment_tray (
  treatment_id INTEGER NOT NULL REFERENCES treatment (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  PRIMARY KEY (treatment_id, tray_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX treatment_tray_tray ON treatment_tray (tray_id);

-- DERIVED: rewritten for the touched trays in the same transaction; "check --rebuild" makes it anew -----

CREATE TABLE tray_now (
  tray_id INTEGER PRIMARY KEY REFERENCES tray (id) ON DELETE RESTRICT,
  place_id INTEGER REFERENCES place (id) ON DELETE RESTRICT,
  layer INTEGER NOT NULL,
  stage TEXT NOT NULL,
  mats_left INTEGER NOT NULL,
  last_day TEXT,
  last_entry INTEGER,
  watered_on TEXT,
  due_at TEXT NOT NULL,
  suspect INTEGER NOT NULL,
  bad INTEGER NOT NULL,
  wait_until TEXT,
  held INTEGER NOT NULL,
  CONSTRAINT tray_now_place UNIQUE (place_id, layer)
) STRICT;
CREATE INDEX tray_now_due ON tray_now (due_at);

-- RULES ACROSS ROWS: the name in RAISE is the error's code ---------------------------------------------

CREATE TRIGGER seed_below_zero_new AFTER INSERT ON seed_move WHEN NEW.mg < 0
BEGIN
  SELECT RAISE(ABORT, 'seed_below_zero')
  WHERE (SELECT sum(mg) FROM seed_move WHERE seed_lot_id = NEW.seed_lot_id AND void_by IS NULL) < 0;
END;
CREATE TRIGGER seed_below_zero_void AFTER UPDATE OF void_by ON seed_move WHEN OLD.mg > 0
BEGIN
  SELECT RAISE(ABORT, 'seed_below_zero')
  WHERE (SELECT coalesce(sum(mg), 0) FROM seed_move WHERE seed_lot_id = NEW.seed_lot_id AND void_by IS NULL) < 0;
END;

CREATE TRIGGER seed_treated BEFORE INSERT ON seed_move WHEN NEW.sowing_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'seed_treated') FROM seed_lot WHERE id = NEW.seed_lot_id AND treated <> 'no';
END;

CREATE TRIGGER sow_blocked BEFORE INSERT ON seed_move WHEN NEW.sowing_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'sow_blocked') FROM seed_lot WHERE id = NEW.seed_lot_id AND void_by IS NOT NULL;
END;

CREATE TRIGGER tray_mats_over AFTER INSERT ON loss
BEGIN
  SELECT RAISE(ABORT, 'tray_mats_over')
  WHERE (SELECT sum(mats) FROM loss WHERE tray_id = NEW.tray_id AND void_by IS NULL)
      > (SELECT mats FROM tray WHERE id = NEW.tray_id);
END;

-- FROZEN: facts change in nothing but void_by, once; nothing is deleted --------------------------------

CREATE TRIGGER entry_frozen BEFORE UPDATE ON entry
  WHEN OLD.hash <> zeroblob(32) OR NEW.id <> OLD.id OR NEW.at <> OLD.at OR NEW.day <> OLD.day OR NEW.who <> OLD.who
    OR NEW.kind <> OLD.kind OR NEW.seen_at IS NOT OLD.seen_at OR NEW.seen_by IS NOT OLD.seen_by
    OR NEW.paper <> OLD.paper OR NEW.undoes IS NOT OLD.undoes
BEGIN SELECT RAISE(ABORT, 'entry_frozen'); END;
CREATE TRIGGER person_kept BEFORE DELETE ON person BEGIN SELECT RAISE(ABORT, 'person_frozen'); END;
CREATE TRIGGER entry_kept BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'entry_frozen'); END;
CREATE TRIGGER entry_note_frozen BEFORE UPDATE ON entry_note BEGIN SELECT RAISE(ABORT, 'entry_note_frozen'); END;
CREATE TRIGGER entry_note_kept BEFORE DELETE ON entry_note BEGIN SELECT RAISE(ABORT, 'entry_note_frozen'); END;
CREATE TRIGGER change_frozen BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'change_frozen'); END;
CREATE TRIGGER change_kept BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'change_frozen'); END;
CREATE TRIGGER setting_kept BEFORE DELETE ON setting BEGIN SELECT RAISE(ABORT, 'setting_frozen'); END;
CREATE TRIGGER supplier_kept BEFORE DELETE ON supplier BEGIN SELECT RAISE(ABORT, 'supplier_frozen'); END;
CREATE TRIGGER zone_kept BEFORE DELETE ON zone BEGIN SELECT RAISE(ABORT, 'zone_frozen'); END;
CREATE TRIGGER rack_kept BEFORE DELETE ON rack BEGIN SELECT RAISE(ABORT, 'rack_frozen'); END;
CREATE TRIGGER place_kept BEFORE DELETE ON place BEGIN SELECT RAISE(ABORT, 'place_frozen'); END;
CREATE TRIGGER tray_format_kept BEFORE DELETE ON tray_format BEGIN SELECT RAISE(ABORT, 'tray_format_frozen'); END;
CREATE TRIGGER crop_kept BEFORE DELETE ON crop BEGIN SELECT RAISE(ABORT, 'crop_frozen'); END;
CREATE TRIGGER grow_plan_frozen BEFORE UPDATE OF id, entry_id, crop_id, version, soak_h, cover_d, cut_from_d, cut_to_d, seeds_dm2, source ON grow_plan
BEGIN SELECT RAISE(ABORT, 'grow_plan_frozen'); END;
CREATE TRIGGER grow_plan_void_once BEFORE UPDATE OF void_by ON grow_plan WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'grow_plan_frozen'); END;
CREATE TRIGGER grow_plan_kept BEFORE DELETE ON grow_plan BEGIN SELECT RAISE(ABORT, 'grow_plan_frozen'); END;
CREATE TRIGGER grow_plan_day_frozen BEFORE UPDATE ON grow_plan_day BEGIN SELECT RAISE(ABORT, 'grow_plan_day_frozen'); END;
CREATE TRIGGER grow_plan_day_kept BEFORE DELETE ON grow_plan_day BEGIN SELECT RAISE(ABORT, 'grow_plan_day_frozen'); END;
CREATE TRIGGER anchor_set_frozen BEFORE UPDATE OF id, entry_id, crop_id, version, source ON anchor_set
BEGIN SELECT RAISE(ABORT, 'anchor_set_frozen'); END;
CREATE TRIGGER anchor_set_void_once BEFORE UPDATE OF void_by ON anchor_set WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'anchor_set_frozen'); END;
CREATE TRIGGER anchor_set_kept BEFORE DELETE ON anchor_set BEGIN SELECT RAISE(ABORT, 'anchor_set_frozen'); END;
CREATE TRIGGER anchor_frozen BEFORE UPDATE ON anchor BEGIN SELECT RAISE(ABORT, 'anchor_frozen'); END;
CREATE TRIGGER anchor_kept BEFORE DELETE ON anchor BEGIN SELECT RAISE(ABORT, 'anchor_frozen'); END;
CREATE TRIGGER seed_lot_frozen BEFORE UPDATE OF id, entry_id, rev, code, crop_id, variety, supplier_id, supplier_lot, received, use_by, germ_pm, tsw_mg, treated, cert, document, kept ON seed_lot
BEGIN SELECT RAISE(ABORT, 'seed_lot_frozen'); END;
CREATE TRIGGER seed_lot_void_once BEFORE UPDATE OF void_by ON seed_lot WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'seed_lot_frozen'); END;
CREATE TRIGGER seed_lot_kept BEFORE DELETE ON seed_lot BEGIN SELECT RAISE(ABORT, 'seed_lot_frozen'); END;
CREATE TRIGGER material_kept BEFORE DELETE ON material BEGIN SELECT RAISE(ABORT, 'material_frozen'); END;
CREATE TRIGGER material_lot_frozen BEFORE UPDATE OF id, entry_id, material_id, code, received, use_by ON material_lot
BEGIN SELECT RAISE(ABORT, 'material_lot_frozen'); END;
CREATE TRIGGER material_lot_void_once BEFORE UPDATE OF void_by ON material_lot WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'material_lot_frozen'); END;
CREATE TRIGGER material_lot_kept BEFORE DELETE ON material_lot BEGIN SELECT RAISE(ABORT, 'material_lot_frozen'); END;
CREATE TRIGGER sowing_frozen BEFORE UPDATE OF id, entry_id, code, crop_id, grow_plan_id, day, medium, medium_lot_id, before_book ON sowing
BEGIN SELECT RAISE(ABORT, 'sowing_frozen'); END;
CREATE TRIGGER sowing_void_once BEFORE UPDATE OF void_by ON sowing WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'sowing_frozen'); END;
CREATE TRIGGER sowing_kept BEFORE DELETE ON sowing BEGIN SELECT RAISE(ABORT, 'sowing_frozen'); END;
CREATE TRIGGER seed_move_frozen BEFORE UPDATE OF id, entry_id, seed_lot_id, sowing_id, mg, why ON seed_move
BEGIN SELECT RAISE(ABORT, 'seed_move_frozen'); END;
CREATE TRIGGER seed_move_void_once BEFORE UPDATE OF void_by ON seed_move WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'seed_move_frozen'); END;
CREATE TRIGGER seed_move_kept BEFORE DELETE ON seed_move BEGIN SELECT RAISE(ABORT, 'seed_move_frozen'); END;
CREATE TRIGGER soak_frozen BEFORE UPDATE OF id, entry_id, seed_lot_id, mg, start, strength, rinses, drained ON soak
BEGIN SELECT RAISE(ABORT, 'soak_frozen'); END;
CREATE TRIGGER soak_void_once BEFORE UPDATE OF void_by ON soak WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'soak_frozen'); END;
CREATE TRIGGER soak_kept BEFORE DELETE ON soak BEGIN SELECT RAISE(ABORT, 'soak_frozen'); END;
CREATE TRIGGER tray_frozen BEFORE UPDATE ON tray BEGIN SELECT RAISE(ABORT, 'tray_frozen'); END;
CREATE TRIGGER tray_kept BEFORE DELETE ON tray BEGIN SELECT RAISE(ABORT, 'tray_frozen'); END;
CREATE TRIGGER walk_frozen BEFORE UPDATE OF id, entry_id, mode, racks, started ON walk
BEGIN SELECT RAISE(ABORT, 'walk_frozen'); END;
CREATE TRIGGER walk_void_once BEFORE UPDATE OF void_by ON walk WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'walk_frozen'); END;
CREATE TRIGGER walk_kept BEFORE DELETE ON walk BEGIN SELECT RAISE(ABORT, 'walk_frozen'); END;
CREATE TRIGGER walk_stop_frozen BEFORE UPDATE OF entry_id, walk_id ON walk_stop
BEGIN SELECT RAISE(ABORT, 'walk_stop_frozen'); END;
CREATE TRIGGER walk_stop_void_once BEFORE UPDATE OF void_by ON walk_stop WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'walk_stop_frozen'); END;
CREATE TRIGGER walk_stop_kept BEFORE DELETE ON walk_stop BEGIN SELECT RAISE(ABORT, 'walk_stop_frozen'); END;
CREATE TRIGGER placement_frozen BEFORE UPDATE OF id, entry_id, tray_id, place_id, at ON placement
BEGIN SELECT RAISE(ABORT, 'placement_frozen'); END;
CREATE TRIGGER placement_void_once BEFORE UPDATE OF void_by ON placement WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'placement_frozen'); END;
CREATE TRIGGER placement_kept BEFORE DELETE ON placement BEGIN SELECT RAISE(ABORT, 'placement_frozen'); END;
CREATE TRIGGER stage_frozen BEFORE UPDATE OF id, entry_id, tray_id, stage, at ON stage
BEGIN SELECT RAISE(ABORT, 'stage_frozen'); END;
CREATE TRIGGER stage_void_once BEFORE UPDATE OF void_by ON stage WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'stage_frozen'); END;
CREATE TRIGGER stage_kept BEFORE DELETE ON stage BEGIN SELECT RAISE(ABORT, 'stage_frozen'); END;
CREATE TRIGGER look_frozen BEFORE UPDATE OF entry_id, tray_id, day, basis, roots, stand, fuzz, mist, watered, misted, faults, skip, seen_at ON look
BEGIN SELECT RAISE(ABORT, 'look_frozen'); END;
CREATE TRIGGER look_void_once BEFORE UPDATE OF void_by ON look WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'look_frozen'); END;
CREATE TRIGGER look_kept BEFORE DELETE ON look BEGIN SELECT RAISE(ABORT, 'look_frozen'); END;
CREATE TRIGGER water_frozen BEFORE UPDATE OF id, entry_id, day, ml, ph_100, temp_dc, ec_us, source ON water
BEGIN SELECT RAISE(ABORT, 'water_frozen'); END;
CREATE TRIGGER water_void_once BEFORE UPDATE OF void_by ON water WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'water_frozen'); END;
CREATE TRIGGER water_kept BEFORE DELETE ON water BEGIN SELECT RAISE(ABORT, 'water_frozen'); END;
CREATE TRIGGER water_tray_frozen BEFORE UPDATE ON water_tray BEGIN SELECT RAISE(ABORT, 'water_tray_frozen'); END;
CREATE TRIGGER water_tray_kept BEFORE DELETE ON water_tray BEGIN SELECT RAISE(ABORT, 'water_tray_frozen'); END;
CREATE TRIGGER loss_frozen BEFORE UPDATE OF id, entry_id, tray_id, day, mats, reason, gear ON loss
BEGIN SELECT RAISE(ABORT, 'loss_frozen'); END;
CREATE TRIGGER loss_void_once BEFORE UPDATE OF void_by ON loss WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'loss_frozen'); END;
CREATE TRIGGER loss_kept BEFORE DELETE ON loss BEGIN SELECT RAISE(ABORT, 'loss_frozen'); END;
CREATE TRIGGER recipe_kept BEFORE DELETE ON recipe BEGIN SELECT RAISE(ABORT, 'recipe_frozen'); END;
CREATE TRIGGER mix_frozen BEFORE UPDATE OF id, entry_id, code, recipe_id, ml, expires_at ON mix
BEGIN SELECT RAISE(ABORT, 'mix_frozen'); END;
CREATE TRIGGER mix_void_once BEFORE UPDATE OF void_by ON mix WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'mix_frozen'); END;
CREATE TRIGGER mix_kept BEFORE DELETE ON mix BEGIN SELECT RAISE(ABORT, 'mix_frozen'); END;
CREATE TRIGGER treatment_frozen BEFORE UPDATE OF id, entry_id, mix_id, product, reg_no, at, ml, purpose, listed, wait_h, reentry_h ON treatment
BEGIN SELECT RAISE(ABORT, 'treatment_frozen'); END;
CREATE TRIGGER treatment_void_once BEFORE UPDATE OF void_by ON treatment WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'treatment_frozen'); END;
CREATE TRIGGER treatment_kept BEFORE DELETE ON treatment BEGIN SELECT RAISE(ABORT, 'treatment_frozen'); END;
CREATE TRIGGER treatment_tray_frozen BEFORE UPDATE ON treatment_tray BEGIN SELECT RAISE(ABORT, 'treatment_tray_frozen'); END;
CREATE TRIGGER treatment_tray_kept BEFORE DELETE ON treatment_tray BEGIN SELECT RAISE(ABORT, 'treatment_tray_frozen'); END;
