-- Suspect trays: the evidence, what was mixed and sprayed, water and air, the room's checks. Same style as 0001: STRICT,
-- named constraints, ON DELETE RESTRICT; facts are frozen.

-- SIGNS AND VERDICTS ----------------------------------------------------------------------------------

INSERT INTO kind VALUES ('fuzz_points');

-- a fuzz check is one look at one tray: signs as bits in the order of the program's list, and what they came to
ALTER TABLE look ADD COLUMN signs INTEGER CONSTRAINT look_signs
  CHECK (signs IS NULL OR (signs > 0 AND fuzz = 1 AND basis = 'tray'));
ALTER TABLE look ADD COLUMN extent TEXT CONSTRAINT look_extent CHECK (extent IN ('seed', 'patch', 'spread'));
ALTER TABLE look ADD COLUMN verdict TEXT CONSTRAINT look_verdict CHECK (
  verdict IN ('hairs', 'looks_like_hairs', 'cannot_tell', 'mould', 'rot', 'mould_or_rot', 'hairs_and_mould'));
ALTER TABLE look ADD COLUMN hair INTEGER;
ALTER TABLE look ADD COLUMN mould INTEGER;
ALTER TABLE look ADD COLUMN rot INTEGER;
ALTER TABLE look ADD COLUMN points_version INTEGER CONSTRAINT look_check CHECK (
  (signs IS NULL) = (verdict IS NULL) AND (signs IS NULL) = (points_version IS NULL)
  AND (signs IS NULL) = (hair IS NULL) AND (signs IS NULL) = (mould IS NULL) AND (signs IS NULL) = (rot IS NULL)
  AND (extent IS NULL OR signs IS NOT NULL));
-- checks of a tray, and its fuzz day by day
CREATE INDEX look_verdict ON look (tray_id) WHERE verdict IS NOT NULL AND void_by IS NULL;
CREATE INDEX look_fuzz ON look (tray_id, day) WHERE fuzz = 1 AND void_by IS NULL;

DROP TRIGGER look_frozen;
CREATE TRIGGER look_frozen BEFORE UPDATE OF entry_id, tray_id, day, basis, roots, stand, fuzz, mist, watered, misted, faults, skip,
  seen_at, signs, extent, verdict, hair, mould, rot, points_version ON look
BEGIN SELECT RAISE(ABORT, 'look_frozen'); END;

-- what checks came to
CREATE VIEW verdict AS
SELECT entry_id, tray_id, entry_id AS look_entry, day, verdict, hair, mould, rot, extent, points_version, void_by
FROM look WHERE verdict IS NOT NULL;

-- points of the room's own: a new version each time, never an edit; version 0 is in the program
CREATE TABLE fuzz_points (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  version INTEGER NOT NULL CONSTRAINT fuzz_points_version CHECK (version > 0),
  UNIQUE (version)
) STRICT;
CREATE INDEX fuzz_points_entry ON fuzz_points (entry_id);
CREATE TABLE fuzz_point (
  fuzz_points_id INTEGER NOT NULL REFERENCES fuzz_points (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  sign TEXT NOT NULL,
  hair INTEGER NOT NULL CONSTRAINT fuzz_point_hair CHECK (hair BETWEEN -20 AND 20),
  mould INTEGER NOT NULL CONSTRAINT fuzz_point_mould CHECK (mould BETWEEN -20 AND 20),
  rot INTEGER NOT NULL CONSTRAINT fuzz_point_rot CHECK (rot BETWEEN -20 AND 20),
  PRIMARY KEY (fuzz_points_id, n)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER fuzz_points_frozen BEFORE UPDATE OF id, entry_id, version ON fuzz_points
BEGIN SELECT RAISE(ABORT, 'fuzz_points_frozen'); END;
CREATE TRIGGER fuzz_points_void_once BEFORE UPDATE OF void_by ON fuzz_points
WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'fuzz_points_frozen'); END;
CREATE TRIGGER fuzz_points_kept BEFORE DELETE ON fuzz_points BEGIN SELECT RAISE(ABORT, 'fuzz_points_frozen'); END;
CREATE TRIGGER fuzz_point_frozen BEFORE UPDATE ON fuzz_point BEGIN SELECT RAISE(ABORT, 'fuzz_point_frozen'); END;
CREATE TRIGGER fuzz_point_kept BEFORE DELETE ON fuzz_point BEGIN SELECT RAISE(ABORT, 'fuzz_point_frozen'); END;

-- DECISIONS AND HOLDS ---------------------------------------------------------------------------------

-- DECISIONS

INSERT INTO kind VALUES ('suspect_decided');

-- what a person made of a suspect tray; about_entry: the look it rests on; the reason is the note of the entry
CREATE TABLE decision (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  what TEXT NOT NULL CONSTRAINT decision_what CHECK (what IN ('clear', 'watch', 'isolate')),
  about_entry INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT,
  next_at TEXT CONSTRAINT decision_next CHECK (next_at IS strftime('%Y-%m-%dT%H:%M:%SZ', next_at)),
  CONSTRAINT decision_evidence CHECK (what <> 'clear' OR about_entry IS NOT NULL),
  CONSTRAINT decision_watch CHECK ((what = 'watch') = (next_at IS NOT NULL))
) STRICT;
CREATE INDEX decision_entry ON decision (entry_id);
CREATE INDEX decision_tray ON decision (tray_id);
-- anyone may set a tray apart
CREATE TRIGGER decision_may_not_decide BEFORE INSERT ON decision WHEN NEW.what <> 'isolate'
BEGIN
  SELECT RAISE(ABORT, 'may_not_decide') FROM person WHERE id = NEW.person_id AND (retired OR NOT may_decide);
END;
CREATE TRIGGER decision_frozen BEFORE UPDATE OF id, entry_id, tray_id, what, about_entry, person_id, next_at ON decision
BEGIN SELECT RAISE(ABORT, 'decision_frozen'); END;
CREATE TRIGGER decision_void_once BEFORE UPDATE OF void_by ON decision WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'decision_frozen'); END;
CREATE TRIGGER decision_kept BEFORE DELETE ON decision BEGIN SELECT RAISE(ABORT, 'decision_frozen'); END;

-- what became of a bad tray and its place: bagged where it stood, the place cleaned
ALTER TABLE loss ADD COLUMN cleanup TEXT CONSTRAINT loss_cleanup CHECK (cleanup IN ('both', 'bagged', 'neither'));
DROP TRIGGER loss_frozen;
CREATE TRIGGER loss_frozen BEFORE UPDATE OF id, entry_id, tray_id, day, mats, reason, gear, cleanup ON loss
BEGIN SELECT RAISE(ABORT, 'loss_frozen'); END;

-- fuzz of the last days, in the room or gone
CREATE INDEX look_fuzz_day ON look (day) WHERE fuzz = 1 AND void_by IS NULL;

-- HOLDS: what must not be cut, packed or sold until someone who may decide has decided

INSERT INTO kind VALUES ('held'), ('hold_decided');

-- cause: what came to light; by_hand: someone's word, in the note of the entry. about_entry: the entry with the news
CREATE TABLE hold (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  cause TEXT NOT NULL CONSTRAINT hold_cause CHECK (cause IN ('mould', 'fuzz', 'treated', 'by_hand')),
  scope_text TEXT NOT NULL CONSTRAINT hold_scope CHECK (length(scope_text) BETWEEN 1 AND 10000),
  about_entry INTEGER REFERENCES entry (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX hold_entry ON hold (entry_id);

-- a batch, and each of its trays: resolved when written
CREATE TABLE hold_item (
  hold_id INTEGER NOT NULL REFERENCES hold (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  sowing_id INTEGER REFERENCES sowing (id) ON DELETE RESTRICT,
  tray_id INTEGER REFERENCES tray (id) ON DELETE RESTRICT,
  PRIMARY KEY (hold_id, n)
) STRICT, WITHOUT ROWID;
CREATE INDEX hold_item_tray ON hold_item (tray_id) WHERE tray_id IS NOT NULL;
CREATE INDEX hold_item_sowing ON hold_item (sowing_id) WHERE sowing_id IS NOT NULL;
-- a trigger, so that later tables may be held as well
CREATE TRIGGER hold_item_one BEFORE INSERT ON hold_item WHEN (NEW.sowing_id IS NULL) = (NEW.tray_id IS NULL)
BEGIN SELECT RAISE(ABORT, 'hold_item_one'); END;

-- the reason is the note of the entry
CREATE TABLE hold_decision (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  hold_id INTEGER NOT NULL REFERENCES hold (id) ON DELETE RESTRICT,
  what TEXT NOT NULL CONSTRAINT hold_decision_what CHECK (what IN ('accepted', 'thrown', 'watch')),
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX hold_decision_entry ON hold_decision (entry_id);
CREATE INDEX hold_decision_hold ON hold_decision (hold_id);
CREATE TRIGGER hold_may_not_decide BEFORE INSERT ON hold_decision
BEGIN
  SELECT RAISE(ABORT, 'may_not_decide') FROM person WHERE id = NEW.person_id AND (retired OR NOT may_decide);
END;

-- what holds that nobody has lifted keep back
CREATE VIEW blocked AS
SELECT i.hold_id, i.sowing_id, i.tray_id FROM hold_item i JOIN hold h ON h.id = i.hold_id
WHERE h.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM hold_decision d
  WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what = 'accepted');

-- a tray leaves the room alive or cut only if nothing stands against it, or beside the breach that says why; corrections
-- and undo only repeat what was written
CREATE TRIGGER input_bad_tray BEFORE INSERT ON stage WHEN NEW.stage IN ('cut', 'left_alive')
BEGIN
  SELECT RAISE(ABORT, 'input_bad_tray') FROM tray_now n WHERE n.tray_id = NEW.tray_id AND (n.suspect OR n.bad)
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_suspect')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;
CREATE TRIGGER input_blocked BEFORE INSERT ON stage WHEN NEW.stage IN ('cut', 'left_alive')
BEGIN
  SELECT RAISE(ABORT, 'input_blocked') FROM tray_now n WHERE n.tray_id = NEW.tray_id AND n.held
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;
CREATE TRIGGER input_waiting BEFORE INSERT ON stage WHEN NEW.stage IN ('cut', 'left_alive')
BEGIN
  SELECT RAISE(ABORT, 'input_waiting') FROM tray_now n JOIN entry e ON e.id = NEW.entry_id
  WHERE n.tray_id = NEW.tray_id AND n.wait_until > coalesce(NEW.at, e.at)
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_waiting')
    AND e.kind NOT IN ('corrected', 'undo');
END;

CREATE TRIGGER hold_frozen BEFORE UPDATE OF id, entry_id, cause, scope_text, about_entry ON hold
BEGIN SELECT RAISE(ABORT, 'hold_frozen'); END;
CREATE TRIGGER hold_void_once BEFORE UPDATE OF void_by ON hold WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'hold_frozen'); END;
CREATE TRIGGER hold_kept BEFORE DELETE ON hold BEGIN SELECT RAISE(ABORT, 'hold_frozen'); END;
CREATE TRIGGER hold_item_frozen BEFORE UPDATE ON hold_item BEGIN SELECT RAISE(ABORT, 'hold_item_frozen'); END;
CREATE TRIGGER hold_item_kept BEFORE DELETE ON hold_item BEGIN SELECT RAISE(ABORT, 'hold_item_frozen'); END;
CREATE TRIGGER hold_decision_frozen BEFORE UPDATE OF id, entry_id, hold_id, what, person_id ON hold_decision
BEGIN SELECT RAISE(ABORT, 'hold_decision_frozen'); END;
CREATE TRIGGER hold_decision_void_once BEFORE UPDATE OF void_by ON hold_decision
WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'hold_decision_frozen'); END;
CREATE TRIGGER hold_decision_kept BEFORE DELETE ON hold_decision BEGIN SELECT RAISE(ABORT, 'hold_decision_frozen'); END;

-- MIXES AND TREATMENTS --------------------------------------------------------------------------------

INSERT INTO kind VALUES ('recipe'), ('material_received'), ('mixed'), ('mix_ended'), ('treated');

-- what goes into a recipe: a new version each time, never an edit; name, bottle and life are columns of the recipe
CREATE TABLE recipe_version (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  recipe_id INTEGER NOT NULL REFERENCES recipe (id) ON DELETE RESTRICT,
  version INTEGER NOT NULL CONSTRAINT recipe_version_number CHECK (version > 0),
  UNIQUE (recipe_id, version)
) STRICT;
CREATE INDEX recipe_version_entry ON recipe_version (entry_id);
-- amounts are thousandths of their measure: milligrams, microlitres, thousandths of a drop or spoon
CREATE TABLE recipe_part (
  recipe_version_id INTEGER NOT NULL REFERENCES recipe_version (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  material_id INTEGER NOT NULL REFERENCES material (id) ON DELETE RESTRICT,
  amount INTEGER NOT NULL CONSTRAINT recipe_part_amount CHECK (amount BETWEEN 1 AND 1000000000),
  measure TEXT NOT NULL CONSTRAINT recipe_part_measure CHECK (measure IN ('g', 'ml', 'drop', 'us_tsp', 'label_tsp', 'imperial_tsp')),
  PRIMARY KEY (recipe_version_id, n)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER recipe_version_frozen BEFORE UPDATE OF id, entry_id, recipe_id, version ON recipe_version
BEGIN SELECT RAISE(ABORT, 'recipe_version_frozen'); END;
CREATE TRIGGER recipe_version_void_once BEFORE UPDATE OF void_by ON recipe_version
WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'recipe_version_frozen'); END;
CREATE TRIGGER recipe_version_kept BEFORE DELETE ON recipe_version BEGIN SELECT RAISE(ABORT, 'recipe_version_frozen'); END;
CREATE TRIGGER recipe_part_frozen BEFORE UPDATE ON recipe_part BEGIN SELECT RAISE(ABORT, 'recipe_part_frozen'); END;
CREATE TRIGGER recipe_part_kept BEFORE DELETE ON recipe_part BEGIN SELECT RAISE(ABORT, 'recipe_part_frozen'); END;

-- of which version it was made, and until which day of the room it keeps; what went into it are rows of its own
ALTER TABLE mix ADD COLUMN recipe_version_id INTEGER REFERENCES recipe_version (id) ON DELETE RESTRICT;
ALTER TABLE mix ADD COLUMN use_by TEXT CONSTRAINT mix_use_by CHECK (use_by IS date(use_by));
DROP TRIGGER mix_frozen;
CREATE TRIGGER mix_frozen BEFORE UPDATE OF id, entry_id, code, recipe_id, ml, expires_at, recipe_version_id, use_by ON mix
BEGIN SELECT RAISE(ABORT, 'mix_frozen'); END;
CREATE TABLE mix_part (
  mix_id INTEGER NOT NULL REFERENCES mix (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  material_id INTEGER NOT NULL REFERENCES material (id) ON DELETE RESTRICT,
  -- NULL: nobody read it off the bottle
  material_lot_id INTEGER REFERENCES material_lot (id) ON DELETE RESTRICT,
  amount INTEGER NOT NULL CONSTRAINT mix_part_amount CHECK (amount BETWEEN 1 AND 1000000000),
  measure TEXT NOT NULL CONSTRAINT mix_part_measure CHECK (measure IN ('g', 'ml', 'drop', 'us_tsp', 'label_tsp', 'imperial_tsp')),
  PRIMARY KEY (mix_id, n)
) STRICT, WITHOUT ROWID;
CREATE INDEX mix_part_lot ON mix_part (material_lot_id);
CREATE TRIGGER mix_part_frozen BEFORE UPDATE ON mix_part BEGIN SELECT RAISE(ABORT, 'mix_part_frozen'); END;
CREATE TRIGGER mix_part_kept BEFORE DELETE ON mix_part BEGIN SELECT RAISE(ABORT, 'mix_part_frozen'); END;

-- the bottle is empty, or what was left in it is gone
CREATE TABLE mix_end (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  mix_id INTEGER NOT NULL REFERENCES mix (id) ON DELETE RESTRICT,
  what TEXT NOT NULL CONSTRAINT mix_end_what CHECK (what IN ('used_up', 'binned'))
) STRICT;
CREATE INDEX mix_end_entry ON mix_end (entry_id);
CREATE UNIQUE INDEX mix_end_mix ON mix_end (mix_id) WHERE void_by IS NULL;
CREATE TRIGGER mix_end_frozen BEFORE UPDATE OF id, entry_id, mix_id, what ON mix_end
BEGIN SELECT RAISE(ABORT, 'mix_end_frozen'); END;
CREATE TRIGGER mix_end_void_once BEFORE UPDATE OF void_by ON mix_end WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'mix_end_frozen'); END;
CREATE TRIGGER mix_end_kept BEFORE DELETE ON mix_end BEGIN SELECT RAISE(ABORT, 'mix_end_frozen'); END;

-- the bottles of a recipe, for its story; what is left of a mix; who must stay out
CREATE INDEX mix_recipe ON mix (recipe_id);
CREATE INDEX treatment_mix ON treatment (mix_id) WHERE mix_id IS NOT NULL;
CREATE INDEX treatment_reentry ON treatment (at) WHERE reentry_h > 0 AND void_by IS NULL;

-- WATER AND AIR ---------------------------------------------------------------------------------------

INSERT INTO kind VALUES ('sensor'), ('air_read'), ('air_imported'), ('watered');
INSERT INTO noun VALUES ('sensor');

-- what measures the air of a zone; csv_map: how its logger's files are read, as chosen last
CREATE TABLE sensor (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT sensor_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL CONSTRAINT sensor_name CHECK (length(name) BETWEEN 1 AND 60),
  zone_id INTEGER REFERENCES zone (id) ON DELETE RESTRICT,
  csv_map TEXT CONSTRAINT sensor_map CHECK (json_valid(csv_map)),
  UNIQUE (name)
) STRICT;
CREATE TRIGGER sensor_kept BEFORE DELETE ON sensor BEGIN SELECT RAISE(ABORT, 'sensor_frozen'); END;

-- a logger's file as it was read; a reading by hand is a file of one row
CREATE TABLE reading_file (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  sensor_id INTEGER NOT NULL REFERENCES sensor (id) ON DELETE RESTRICT,
  sha256 TEXT NOT NULL CONSTRAINT reading_file_sha256 CHECK (length(sha256) = 64),
  name TEXT NOT NULL CONSTRAINT reading_file_name CHECK (length(name) BETWEEN 1 AND 1000),
  rows INTEGER NOT NULL CONSTRAINT reading_file_rows CHECK (rows > 0)
) STRICT;
CREATE INDEX reading_file_entry ON reading_file (entry_id);
CREATE UNIQUE INDEX reading_file_once ON reading_file (sensor_id, sha256) WHERE void_by IS NULL;
CREATE TRIGGER reading_file_frozen BEFORE UPDATE OF id, entry_id, sensor_id, sha256, name, rows ON reading_file
BEGIN SELECT RAISE(ABORT, 'reading_file_frozen'); END;
CREATE TRIGGER reading_file_void_once BEFORE UPDATE OF void_by ON reading_file WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'reading_file_frozen'); END;
CREATE TRIGGER reading_file_kept BEFORE DELETE ON reading_file BEGIN SELECT RAISE(ABORT, 'reading_file_frozen'); END;

-- a hundred thousand of them a year and sensor: their instants are seconds since 1970, and one tree holds them
CREATE TABLE reading (
  sensor_id INTEGER NOT NULL REFERENCES sensor (id) ON DELETE RESTRICT,
  at_s INTEGER NOT NULL CONSTRAINT reading_at CHECK (at_s BETWEEN 946684800 AND 4102444799),
  file_id INTEGER NOT NULL REFERENCES reading_file (id) ON DELETE RESTRICT,
  temp_dc INTEGER NOT NULL CONSTRAINT reading_temp CHECK (temp_dc BETWEEN -200 AND 600),
  rh_pm INTEGER CONSTRAINT reading_rh CHECK (rh_pm BETWEEN 1 AND 1000),
  PRIMARY KEY (sensor_id, at_s, file_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX reading_of_file ON reading (file_id);
CREATE TRIGGER reading_frozen BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'reading_frozen'); END;
CREATE TRIGGER reading_kept BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'reading_frozen'); END;

-- CHECKS OF THE ROOM ----------------------------------------------------------------------------------

INSERT INTO kind VALUES ('check_kind'), ('room_checked');
INSERT INTO noun VALUES ('check_kind');

-- what is looked at every so often; known: since when it is kept here
CREATE TABLE check_kind (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT check_kind_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL,
  every_d INTEGER NOT NULL CONSTRAINT check_kind_every CHECK (every_d BETWEEN 1 AND 1000),
  limit_text TEXT NOT NULL,
  remedy TEXT NOT NULL,
  known TEXT NOT NULL CONSTRAINT check_kind_known CHECK (known IS date(known)),
  UNIQUE (name)
) STRICT;
CREATE TRIGGER check_kind_kept BEFORE DELETE ON check_kind BEGIN SELECT RAISE(ABORT, 'check_kind_frozen'); END;

CREATE TABLE room_check (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  check_kind_id INTEGER NOT NULL REFERENCES check_kind (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT room_check_day CHECK (day IS date(day)),
  result TEXT NOT NULL CONSTRAINT room_check_result CHECK (length(result) BETWEEN 1 AND 10000),
  ok INTEGER NOT NULL CONSTRAINT room_check_ok CHECK (ok IN (0, 1)),
  remedy TEXT,
  with_what TEXT,
  file_ref TEXT,
  CONSTRAINT room_check_remedy CHECK (ok OR remedy IS NOT NULL)
) STRICT;
CREATE INDEX room_check_entry ON room_check (entry_id);
CREATE INDEX room_check_kind ON room_check (check_kind_id, day);
CREATE TRIGGER room_check_frozen BEFORE UPDATE OF id, entry_id, check_kind_id, day, result, ok, remedy, with_what, file_ref ON room_check
BEGIN SELECT RAISE(ABORT, 'room_check_frozen'); END;
CREATE TRIGGER room_check_void_once BEFORE UPDATE OF void_by ON room_check WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'room_check_frozen'); END;
CREATE TRIGGER room_check_kept BEFORE DELETE ON room_check BEGIN SELECT RAISE(ABORT, 'room_check_frozen'); END;

-- where something bad stood, until someone writes that the place was cleaned; with what is the note of the entry
INSERT INTO kind VALUES ('place_cleaned');

CREATE TABLE place_cleaned (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  place_id INTEGER NOT NULL REFERENCES place (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX place_cleaned_entry ON place_cleaned (entry_id);
CREATE INDEX place_cleaned_place ON place_cleaned (place_id);
-- trays that make their places unclean
CREATE INDEX look_bad ON look (tray_id)
  WHERE void_by IS NULL AND (mist = 'stands' OR verdict IN ('mould', 'rot', 'mould_or_rot', 'hairs_and_mould'));
CREATE INDEX loss_bad ON loss (tray_id) WHERE void_by IS NULL AND (cleanup IS NOT NULL OR reason IN ('mould', 'rot'));
CREATE TRIGGER place_cleaned_frozen BEFORE UPDATE OF id, entry_id, place_id ON place_cleaned
BEGIN SELECT RAISE(ABORT, 'place_cleaned_frozen'); END;
CREATE TRIGGER place_cleaned_void_once BEFORE UPDATE OF void_by ON place_cleaned
WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'place_cleaned_frozen'); END;
CREATE TRIGGER place_cleaned_kept BEFORE DELETE ON place_cleaned
BEGIN SELECT RAISE(ABORT, 'place_cleaned_frozen'); END;

INSERT INTO kind VALUES ('soaked'), ('drained');

-- seed put in water or in a sanitiser before it is sown, and how long it was meant to stay there: drained is NULL, since what
-- became of it is another fact. Rows with drained are of sowings that said only for how many hours.
ALTER TABLE soak ADD COLUMN product TEXT CONSTRAINT soak_product CHECK (product IS NULL OR strength IS NOT NULL);
ALTER TABLE soak ADD COLUMN minutes INTEGER CONSTRAINT soak_minutes CHECK (
  (minutes IS NULL OR minutes BETWEEN 1 AND 2880) AND (minutes IS NULL) = (drained IS NOT NULL));
CREATE INDEX soak_lot ON soak (seed_lot_id);
CREATE INDEX soak_begun ON soak (id) WHERE drained IS NULL AND void_by IS NULL;
DROP TRIGGER soak_frozen;
CREATE TRIGGER soak_frozen BEFORE UPDATE OF id, entry_id, seed_lot_id, mg, start, strength, rinses, drained, product, minutes ON soak
BEGIN SELECT RAISE(ABORT, 'soak_frozen'); END;

-- rinses NULL: drained by a sowing that did not ask
CREATE TABLE soak_drain (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  soak_id INTEGER NOT NULL REFERENCES soak (id) ON DELETE RESTRICT,
  at TEXT NOT NULL CONSTRAINT soak_drain_at CHECK (at IS strftime('%Y-%m-%dT%H:%M:%SZ', at)),
  rinses INTEGER CONSTRAINT soak_drain_rinses CHECK (rinses BETWEEN 0 AND 50)
) STRICT;
CREATE INDEX soak_drain_entry ON soak_drain (entry_id);
CREATE UNIQUE INDEX soak_drain_live ON soak_drain (soak_id) WHERE void_by IS NULL;
CREATE TRIGGER soak_drain_frozen BEFORE UPDATE OF id, entry_id, soak_id, at, rinses ON soak_drain
BEGIN SELECT RAISE(ABORT, 'soak_drain_frozen'); END;
CREATE TRIGGER soak_drain_void_once BEFORE UPDATE OF void_by ON soak_drain WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'soak_drain_frozen'); END;
CREATE TRIGGER soak_drain_kept BEFORE DELETE ON soak_drain BEGIN SELECT RAISE(ABORT, 'soak_drain_frozen'); END;

-- dry grams of a soak that went into a batch; it counts as long as the batch has seed of that lot
CREATE TABLE soak_sown (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  soak_id INTEGER NOT NULL REFERENCES soak (id) ON DELETE RESTRICT,
  sowing_id INTEGER NOT NULL REFERENCES sowing (id) ON DELETE RESTRICT,
  mg INTEGER NOT NULL CONSTRAINT soak_sown_mg CHECK (mg > 0)
) STRICT;
CREATE INDEX soak_sown_entry ON soak_sown (entry_id);
CREATE INDEX soak_sown_soak ON soak_sown (soak_id);
CREATE INDEX soak_sown_sowing ON soak_sown (sowing_id);
CREATE TRIGGER soak_sown_frozen BEFORE UPDATE OF id, entry_id, soak_id, sowing_id, mg ON soak_sown
BEGIN SELECT RAISE(ABORT, 'soak_sown_frozen'); END;
CREATE TRIGGER soak_sown_void_once BEFORE UPDATE OF void_by ON soak_sown WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'soak_sown_frozen'); END;
CREATE TRIGGER soak_sown_kept BEFORE DELETE ON soak_sown BEGIN SELECT RAISE(ABORT, 'soak_sown_frozen'); END;
