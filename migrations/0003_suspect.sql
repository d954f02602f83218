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

-- MIXES AND TREATMENTS --------------------------------------------------------------------------------

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
