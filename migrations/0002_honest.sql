-- What makes the record honest. Same style as 0001: STRICT, named constraints, ON DELETE RESTRICT; facts are frozen.

INSERT INTO kind VALUES ('power_cut');

-- POWER ----------------------------------------------------------------------------------------------

-- no end: still out when it was noted; no zone: the whole room
CREATE TABLE power_cut (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  from_at TEXT NOT NULL CONSTRAINT power_cut_from
    CHECK (length(from_at) = 20 AND from_at IS strftime('%Y-%m-%dT%H:%M:%SZ', from_at)),
  to_at TEXT CONSTRAINT power_cut_to CHECK (to_at IS strftime('%Y-%m-%dT%H:%M:%SZ', to_at)),
  zone_id INTEGER REFERENCES zone (id) ON DELETE RESTRICT,
  CONSTRAINT power_cut_order CHECK (to_at > from_at)
) STRICT;
CREATE INDEX power_cut_entry ON power_cut (entry_id);

CREATE TRIGGER power_cut_frozen BEFORE UPDATE OF id, entry_id, from_at, to_at, zone_id ON power_cut
BEGIN SELECT RAISE(ABORT, 'power_cut_frozen'); END;
CREATE TRIGGER power_cut_void_once BEFORE UPDATE OF void_by ON power_cut WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'power_cut_frozen'); END;
CREATE TRIGGER power_cut_kept BEFORE DELETE ON power_cut BEGIN SELECT RAISE(ABORT, 'power_cut_frozen'); END;

-- DAY ONE --------------------------------------------------------------------------------------------

INSERT INTO kind VALUES ('standing'), ('part_lost');

-- a tray that stood before the book was begun: the lot its seed came from, if anyone knows; grams are not known
ALTER TABLE sowing ADD COLUMN before_lot_id INTEGER REFERENCES seed_lot (id) ON DELETE RESTRICT;
DROP TRIGGER sowing_frozen;
CREATE TRIGGER sowing_frozen BEFORE UPDATE OF id, entry_id, code, crop_id, grow_plan_id, day, medium, medium_lot_id, before_book, before_lot_id
  ON sowing
BEGIN SELECT RAISE(ABORT, 'sowing_frozen'); END;
CREATE INDEX sowing_before_lot ON sowing (before_lot_id) WHERE before_lot_id IS NOT NULL;

-- WHEN AND WHO ---------------------------------------------------------------------------------------

-- since when someone is on the list, and the day they left; unknown for those put there before
ALTER TABLE person ADD COLUMN from_day TEXT CONSTRAINT person_from_day CHECK (from_day IS date(from_day));
ALTER TABLE person ADD COLUMN to_day TEXT CONSTRAINT person_to_day CHECK (to_day IS date(to_day));

-- was anything looked at on a day
CREATE INDEX look_day ON look (day) WHERE void_by IS NULL AND skip IS NULL;
