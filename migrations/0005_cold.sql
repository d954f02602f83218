-- How long it keeps: cold stores and what they read, where each lot lay, warm and cold spells, scores of packs held back. Same
-- style as 0001: STRICT, named constraints, ON DELETE RESTRICT; facts are frozen.

INSERT INTO kind VALUES ('store'), ('put_away'), ('spell_decided'), ('scored'), ('refitted');
INSERT INTO noun VALUES ('store');

-- COLD STORES -----------------------------------------------------------------------------------------

-- min_dc, max_dc: colder or warmer for longer than over_min is a spell; gap_min: readings further apart leave a gap; plan_dc:
-- what it is kept at, for what is still here
CREATE TABLE store (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT store_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL CONSTRAINT store_name CHECK (length(name) BETWEEN 1 AND 50),
  min_dc INTEGER NOT NULL CONSTRAINT store_min CHECK (min_dc BETWEEN -200 AND 600),
  max_dc INTEGER NOT NULL CONSTRAINT store_max CHECK (max_dc BETWEEN -200 AND 600),
  over_min INTEGER NOT NULL CONSTRAINT store_over CHECK (over_min BETWEEN 0 AND 240),
  gap_min INTEGER NOT NULL CONSTRAINT store_gap CHECK (gap_min BETWEEN 1 AND 1440),
  plan_dc INTEGER NOT NULL CONSTRAINT store_plan CHECK (plan_dc BETWEEN -200 AND 600),
  UNIQUE (name),
  CONSTRAINT store_limits CHECK (min_dc < max_dc)
) STRICT;
CREATE TRIGGER store_kept BEFORE DELETE ON store BEGIN SELECT RAISE(ABORT, 'store_frozen'); END;

-- a sensor measures the air of a zone or a cold store; by_hand: the readings of a store that people wrote down
ALTER TABLE sensor ADD COLUMN store_id INTEGER REFERENCES store (id) ON DELETE RESTRICT
  CONSTRAINT sensor_one CHECK ((zone_id IS NULL) <> (store_id IS NULL));
ALTER TABLE sensor ADD COLUMN by_hand INTEGER NOT NULL DEFAULT 0
  CONSTRAINT sensor_by_hand CHECK (by_hand IN (0, 1) AND (NOT by_hand OR store_id IS NOT NULL));
CREATE INDEX sensor_store ON sensor (store_id) WHERE store_id IS NOT NULL;

-- thermometer, measured: of a reading by hand in a store; part: of a file too long for one import, counted from 1
ALTER TABLE reading_file ADD COLUMN thermometer TEXT
  CONSTRAINT reading_file_thermometer CHECK (length(thermometer) BETWEEN 1 AND 60);
ALTER TABLE reading_file ADD COLUMN measured TEXT
  CONSTRAINT reading_file_measured CHECK (measured IN ('air', 'product') AND thermometer NOT NULL OR measured IS NULL);
ALTER TABLE reading_file ADD COLUMN part INTEGER CONSTRAINT reading_file_part CHECK (part > 0);
DROP INDEX reading_file_once;
CREATE UNIQUE INDEX reading_file_once ON reading_file (sensor_id, sha256, coalesce(part, 0)) WHERE void_by IS NULL;
CREATE INDEX reading_file_void ON reading_file (void_by) WHERE void_by IS NOT NULL;
-- only the check of the chain asks for the readings of a file, and sorts them; the index doubled the time of an import
DROP INDEX reading_of_file;
DROP TRIGGER reading_file_frozen;
CREATE TRIGGER reading_file_frozen BEFORE UPDATE OF id, entry_id, sensor_id, sha256, name, rows, thermometer, measured, part ON reading_file
BEGIN SELECT RAISE(ABORT, 'reading_file_frozen'); END;

-- store_id: a cut of one store's power; warmest_dc: the warmest that was measured during it
ALTER TABLE power_cut ADD COLUMN store_id INTEGER REFERENCES store (id) ON DELETE RESTRICT
  CONSTRAINT power_cut_one CHECK (store_id IS NULL OR zone_id IS NULL);
ALTER TABLE power_cut ADD COLUMN warmest_dc INTEGER CONSTRAINT power_cut_warmest CHECK (warmest_dc BETWEEN -200 AND 600);
DROP TRIGGER power_cut_frozen;
CREATE TRIGGER power_cut_frozen BEFORE UPDATE OF id, entry_id, from_at, to_at, zone_id, store_id, warmest_dc ON power_cut
BEGIN SELECT RAISE(ABORT, 'power_cut_frozen'); END;

-- WHERE A LOT LAY --------------------------------------------------------------------------------------

-- store_id NULL: taken out of every store; out_dc: the warmest it was where it lay until then, outside a store
CREATE TABLE stay (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  store_id INTEGER REFERENCES store (id) ON DELETE RESTRICT,
  at_s INTEGER NOT NULL CONSTRAINT stay_at CHECK (at_s BETWEEN 946684800 AND 4102444799),
  out_dc INTEGER CONSTRAINT stay_out CHECK (out_dc BETWEEN -200 AND 600)
) STRICT;
CREATE INDEX stay_entry ON stay (entry_id);
CREATE INDEX stay_lot ON stay (lot_id, at_s) WHERE void_by IS NULL;
CREATE INDEX stay_store ON stay (store_id, at_s) WHERE void_by IS NULL;
CREATE INDEX stay_void ON stay (void_by) WHERE void_by IS NOT NULL;
CREATE TRIGGER stay_frozen BEFORE UPDATE OF id, entry_id, lot_id, store_id, at_s, out_dc ON stay
BEGIN SELECT RAISE(ABORT, 'stay_frozen'); END;
CREATE TRIGGER stay_void_once BEFORE UPDATE OF void_by ON stay WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'stay_frozen'); END;
CREATE TRIGGER stay_kept BEFORE DELETE ON stay BEGIN SELECT RAISE(ABORT, 'stay_frozen'); END;

-- SPELLS -----------------------------------------------------------------------------------------------

-- worked out from the readings, written anew for the stores an entry touched; to_s: its last reading, going_on: none came after
CREATE TABLE spell_now (
  store_id INTEGER NOT NULL REFERENCES store (id) ON DELETE RESTRICT,
  kind TEXT NOT NULL CONSTRAINT spell_now_kind CHECK (kind IN ('warm', 'cold', 'freezing', 'chilling')),
  from_s INTEGER NOT NULL,
  to_s INTEGER NOT NULL CONSTRAINT spell_now_order CHECK (to_s >= from_s),
  going_on INTEGER NOT NULL CONSTRAINT spell_now_going_on CHECK (going_on IN (0, 1)),
  worst_dc INTEGER NOT NULL,
  PRIMARY KEY (store_id, kind, from_s)
) STRICT, WITHOUT ROWID;

-- what was decided about a spell as it was known then: one that grew, or got worse, asks again
CREATE TABLE spell_decision (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  store_id INTEGER NOT NULL REFERENCES store (id) ON DELETE RESTRICT,
  kind TEXT NOT NULL CONSTRAINT spell_decision_kind CHECK (kind IN ('warm', 'cold', 'freezing', 'chilling')),
  from_s INTEGER NOT NULL,
  to_s INTEGER NOT NULL CONSTRAINT spell_decision_order CHECK (to_s >= from_s),
  worst_dc INTEGER NOT NULL,
  what TEXT NOT NULL CONSTRAINT spell_decision_what CHECK (what IN ('accepted', 'thrown', 'watch')),
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX spell_decision_entry ON spell_decision (entry_id);
CREATE INDEX spell_decision_of ON spell_decision (store_id, kind, from_s) WHERE void_by IS NULL;
CREATE TRIGGER spell_decision_frozen BEFORE UPDATE OF id, entry_id, store_id, kind, from_s, to_s, worst_dc, what, person_id ON spell_decision
BEGIN SELECT RAISE(ABORT, 'spell_decision_frozen'); END;
CREATE TRIGGER spell_decision_void_once BEFORE UPDATE OF void_by ON spell_decision
  WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'spell_decision_frozen'); END;
CREATE TRIGGER spell_decision_kept BEFORE DELETE ON spell_decision BEGIN SELECT RAISE(ABORT, 'spell_decision_frozen'); END;

-- HOW LONG IT REALLY KEPT ------------------------------------------------------------------------------

-- packs of a lot that were held back and looked at: 9 as cut, 5 the last that is sold, 1 gone
CREATE TABLE score (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  at_s INTEGER NOT NULL CONSTRAINT score_at CHECK (at_s BETWEEN 946684800 AND 4102444799),
  packs INTEGER NOT NULL CONSTRAINT score_packs CHECK (packs BETWEEN 1 AND 1000),
  score INTEGER NOT NULL CONSTRAINT score_score CHECK (score BETWEEN 1 AND 9)
) STRICT;
CREATE INDEX score_entry ON score (entry_id);
CREATE INDEX score_lot ON score (lot_id, at_s) WHERE void_by IS NULL;
CREATE INDEX score_void ON score (void_by) WHERE void_by IS NOT NULL;
CREATE TRIGGER score_frozen BEFORE UPDATE OF id, entry_id, lot_id, at_s, packs, score ON score
BEGIN SELECT RAISE(ABORT, 'score_frozen'); END;
CREATE TRIGGER score_void_once BEFORE UPDATE OF void_by ON score WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'score_frozen'); END;
CREATE TRIGGER score_kept BEFORE DELETE ON score BEGIN SELECT RAISE(ABORT, 'score_frozen'); END;

-- the grower's own limit, days from the cut: never sold longer, whatever the sum says
ALTER TABLE crop ADD COLUMN most_d INTEGER CONSTRAINT crop_most CHECK (most_d BETWEEN 1 AND 400);
