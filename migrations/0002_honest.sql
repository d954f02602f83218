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

-- CORRECTIONS ----------------------------------------------------------------------------------------

INSERT INTO kind VALUES ('corrected');

-- what a correction is about; the facts it replaces are void, the ones that count are its own
CREATE TABLE correction (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  about_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  what TEXT NOT NULL CONSTRAINT correction_what
    CHECK (what IN ('never', 'look', 'sowing', 'place', 'received', 'hands')),
  -- whose hands it was, as put right
  seen_by INTEGER REFERENCES person (id) ON DELETE RESTRICT,
  CONSTRAINT correction_order CHECK (about_id < entry_id),
  CONSTRAINT correction_hands CHECK ((what = 'hands') = (seen_by IS NOT NULL))
) STRICT;
CREATE INDEX correction_entry ON correction (entry_id);
CREATE INDEX correction_about ON correction (about_id);
CREATE TRIGGER correction_frozen BEFORE UPDATE OF id, entry_id, about_id, what, seen_by ON correction
BEGIN SELECT RAISE(ABORT, 'correction_frozen'); END;
CREATE TRIGGER correction_void_once BEFORE UPDATE OF void_by ON correction
  WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'correction_frozen'); END;
CREATE TRIGGER correction_kept BEFORE DELETE ON correction BEGIN SELECT RAISE(ABORT, 'correction_frozen'); END;

-- the newest live one counts instead of what the sowing said
CREATE TABLE sowing_fix (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  sowing_id INTEGER NOT NULL REFERENCES sowing (id) ON DELETE RESTRICT,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  grow_plan_id INTEGER NOT NULL REFERENCES grow_plan (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT sowing_fix_day CHECK (day IS date(day))
) STRICT;
CREATE INDEX sowing_fix_entry ON sowing_fix (entry_id);
CREATE INDEX sowing_fix_sowing ON sowing_fix (sowing_id);
CREATE TRIGGER sowing_fix_frozen BEFORE UPDATE OF id, entry_id, sowing_id, crop_id, grow_plan_id, day ON sowing_fix
BEGIN SELECT RAISE(ABORT, 'sowing_fix_frozen'); END;
CREATE TRIGGER sowing_fix_void_once BEFORE UPDATE OF void_by ON sowing_fix
  WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'sowing_fix_frozen'); END;
CREATE TRIGGER sowing_fix_kept BEFORE DELETE ON sowing_fix BEGIN SELECT RAISE(ABORT, 'sowing_fix_frozen'); END;

-- what an undone correction brings back
CREATE INDEX placement_void ON placement (void_by) WHERE void_by IS NOT NULL;
CREATE INDEX seed_move_void ON seed_move (void_by) WHERE void_by IS NOT NULL;
CREATE INDEX stage_void ON stage (void_by) WHERE void_by IS NOT NULL;
CREATE INDEX loss_void ON loss (void_by) WHERE void_by IS NOT NULL;
CREATE INDEX water_void ON water (void_by) WHERE void_by IS NOT NULL;

-- what an entry says of trays: once all of it is void, the entry no longer counts
CREATE VIEW happening AS
SELECT entry_id, tray_id, void_by FROM look
UNION ALL SELECT entry_id, tray_id, void_by FROM placement
UNION ALL SELECT entry_id, tray_id, void_by FROM stage
UNION ALL SELECT entry_id, tray_id, void_by FROM loss;

-- whose hands an entry is of: as put right last, as written, or who typed it; as_told: what its own line still says
-- where a correction with another time stands in its place
CREATE VIEW entry_hands AS
SELECT e.id,
  coalesce((SELECT c.seen_by FROM correction c WHERE c.about_id = e.id AND c.void_by IS NULL AND c.seen_by IS NOT NULL
    ORDER BY c.id DESC LIMIT 1), e.seen_by, e.who) AS person_id,
  coalesce((SELECT c.seen_by FROM correction c WHERE c.about_id = e.id AND c.void_by IS NULL AND c.seen_by IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM happening h WHERE h.entry_id = c.entry_id)
    ORDER BY c.id DESC LIMIT 1), e.seen_by, e.who) AS as_told
FROM entry e;

-- sowings as they count now
CREATE VIEW sowing_now AS
SELECT s.id, s.entry_id, s.void_by, s.code, coalesce(f.crop_id, s.crop_id) AS crop_id,
       coalesce(f.grow_plan_id, s.grow_plan_id) AS grow_plan_id, coalesce(f.day, s.day) AS day,
       s.medium, s.medium_lot_id, s.before_book, s.before_lot_id
FROM sowing s LEFT JOIN sowing_fix f
  ON f.id = (SELECT max(x.id) FROM sowing_fix x WHERE x.sowing_id = s.id AND x.void_by IS NULL);

-- BREACHES -------------------------------------------------------------------------------------------

INSERT INTO kind VALUES ('decided');

-- a rule about what is to be done that was broken before anyone asked; about_entry: what the rule speaks of
CREATE TABLE breach (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  rule TEXT NOT NULL CONSTRAINT breach_rule CHECK (length(rule) BETWEEN 1 AND 40),
  about_entry INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  reason TEXT NOT NULL CONSTRAINT breach_reason CHECK (length(reason) BETWEEN 1 AND 10000)
) STRICT;
CREATE INDEX breach_entry ON breach (entry_id);

-- what is held because of it, in the room or cut
CREATE TABLE breach_tray (
  breach_id INTEGER NOT NULL REFERENCES breach (id) ON DELETE RESTRICT,
  tray_id INTEGER NOT NULL REFERENCES tray (id) ON DELETE RESTRICT,
  PRIMARY KEY (breach_id, tray_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX breach_tray_tray ON breach_tray (tray_id);

-- the reason is the note of the entry
CREATE TABLE breach_decision (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  breach_id INTEGER NOT NULL REFERENCES breach (id) ON DELETE RESTRICT,
  what TEXT NOT NULL CONSTRAINT breach_decision_what CHECK (what IN ('accepted', 'thrown', 'watch')),
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX breach_decision_entry ON breach_decision (entry_id);
CREATE INDEX breach_decision_breach ON breach_decision (breach_id);

CREATE TRIGGER may_not_decide BEFORE INSERT ON breach_decision
BEGIN
  SELECT RAISE(ABORT, 'may_not_decide') FROM person WHERE id = NEW.person_id AND (retired OR NOT may_decide);
END;

CREATE TRIGGER breach_frozen BEFORE UPDATE OF id, entry_id, rule, about_entry, reason ON breach
BEGIN SELECT RAISE(ABORT, 'breach_frozen'); END;
CREATE TRIGGER breach_void_once BEFORE UPDATE OF void_by ON breach WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'breach_frozen'); END;
CREATE TRIGGER breach_kept BEFORE DELETE ON breach BEGIN SELECT RAISE(ABORT, 'breach_frozen'); END;
CREATE TRIGGER breach_tray_frozen BEFORE UPDATE ON breach_tray BEGIN SELECT RAISE(ABORT, 'breach_tray_frozen'); END;
CREATE TRIGGER breach_tray_kept BEFORE DELETE ON breach_tray BEGIN SELECT RAISE(ABORT, 'breach_tray_frozen'); END;
CREATE TRIGGER breach_decision_frozen BEFORE UPDATE OF id, entry_id, breach_id, what, person_id ON breach_decision
BEGIN SELECT RAISE(ABORT, 'breach_decision_frozen'); END;
CREATE TRIGGER breach_decision_void_once BEFORE UPDATE OF void_by ON breach_decision WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'breach_decision_frozen'); END;
CREATE TRIGGER breach_decision_kept BEFORE DELETE ON breach_decision BEGIN SELECT RAISE(ABORT, 'breach_decision_frozen'); END;

-- what a breach says of seed: by its own entry, and later (corrections, undo) by the trays it holds
CREATE VIEW seed_breach AS
SELECT b.rule, b.entry_id, t.sowing_id FROM breach b
  LEFT JOIN breach_tray h ON h.breach_id = b.id LEFT JOIN tray t ON t.id = h.tray_id
WHERE b.void_by IS NULL AND b.rule IN ('seed_treated', 'seed_below_zero');

-- seed goes below zero, or into the ground treated, only beside a breach that says why; what was taken back is never sown
DROP TRIGGER seed_below_zero_new;
CREATE TRIGGER seed_below_zero_new AFTER INSERT ON seed_move WHEN NEW.mg < 0
BEGIN
  SELECT RAISE(ABORT, 'seed_below_zero')
  WHERE (SELECT sum(mg) FROM seed_move WHERE seed_lot_id = NEW.seed_lot_id AND void_by IS NULL) < 0
    AND NOT EXISTS (SELECT 1 FROM seed_breach WHERE rule = 'seed_below_zero'
      AND (entry_id = NEW.entry_id OR sowing_id = NEW.sowing_id));
END;
-- taken back, a receipt or a count may uncover no more than what breaches say was sown too much
DROP TRIGGER seed_below_zero_void;
CREATE TRIGGER seed_below_zero_void AFTER UPDATE OF void_by ON seed_move WHEN OLD.mg > 0
BEGIN
  SELECT RAISE(ABORT, 'seed_below_zero')
  WHERE (SELECT coalesce(sum(mg), 0) FROM seed_move m WHERE seed_lot_id = NEW.seed_lot_id AND void_by IS NULL
    AND NOT (why = 'sown' AND EXISTS (SELECT 1 FROM seed_breach b WHERE b.rule = 'seed_below_zero'
      AND (b.entry_id = m.entry_id OR b.sowing_id = m.sowing_id)))) < 0;
END;

DROP TRIGGER seed_treated;
CREATE TRIGGER seed_treated BEFORE INSERT ON seed_move WHEN NEW.sowing_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'seed_treated') FROM seed_lot WHERE id = NEW.seed_lot_id AND treated <> 'no'
    AND NOT EXISTS (SELECT 1 FROM seed_breach WHERE rule = 'seed_treated'
      AND (entry_id = NEW.entry_id OR sowing_id = NEW.sowing_id));
END;

-- WHERE A TRAY REALLY IS ------------------------------------------------------------------------------

INSERT INTO kind VALUES ('sighted'), ('restacked');

-- not moved at a known time but some time after this, and before it was noticed; no place: it is missing
ALTER TABLE placement ADD COLUMN since TEXT
  CONSTRAINT placement_since CHECK (length(since) = 20 AND since IS strftime('%Y-%m-%dT%H:%M:%SZ', since));
DROP TRIGGER placement_frozen;
CREATE TRIGGER placement_frozen BEFORE UPDATE OF id, entry_id, tray_id, place_id, at, since ON placement
BEGIN SELECT RAISE(ABORT, 'placement_frozen'); END;

-- WHEN AND WHO ---------------------------------------------------------------------------------------

-- since when someone is on the list, and the day they left; unknown for those put there before
ALTER TABLE person ADD COLUMN from_day TEXT CONSTRAINT person_from_day CHECK (from_day IS date(from_day));
ALTER TABLE person ADD COLUMN to_day TEXT CONSTRAINT person_to_day CHECK (to_day IS date(to_day));

-- was anything looked at on a day
CREATE INDEX look_day ON look (day) WHERE void_by IS NULL AND skip IS NULL;

-- TWO WALKERS ----------------------------------------------------------------------------------------

INSERT INTO kind VALUES ('walk_shared');

-- a rack of a walk is this person's; of several takings the newest live one counts
CREATE TABLE walk_share (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  walk_id INTEGER NOT NULL REFERENCES walk (id) ON DELETE RESTRICT,
  rack_id INTEGER NOT NULL REFERENCES rack (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX walk_share_entry ON walk_share (entry_id);
CREATE INDEX walk_share_walk ON walk_share (walk_id);
CREATE TRIGGER walk_share_frozen BEFORE UPDATE OF id, entry_id, walk_id, rack_id ON walk_share
BEGIN SELECT RAISE(ABORT, 'walk_share_frozen'); END;
CREATE TRIGGER walk_share_void_once BEFORE UPDATE OF void_by ON walk_share
  WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'walk_share_frozen'); END;
CREATE TRIGGER walk_share_kept BEFORE DELETE ON walk_share BEGIN SELECT RAISE(ABORT, 'walk_share_frozen'); END;
