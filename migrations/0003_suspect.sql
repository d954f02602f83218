-- Suspect trays: the evidence, what was mixed and sprayed, water and air, the room's checks. Same style as 0001: STRICT,
-- named constraints, ON DELETE RESTRICT; facts are frozen.

-- SIGNS AND VERDICTS ----------------------------------------------------------------------------------

-- DECISIONS AND HOLDS ---------------------------------------------------------------------------------

-- MIXES AND TREATMENTS --------------------------------------------------------------------------------

-- WATER AND AIR ---------------------------------------------------------------------------------------

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
