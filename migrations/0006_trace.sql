-- A complaint traced to its seed lot, and everything it touches held. Same style as 0001: STRICT, named constraints, ON DELETE
-- RESTRICT; facts are frozen.

INSERT INTO kind VALUES ('tool'), ('complaint'), ('complaint_more'), ('complaint_lots'), ('complaint_closed'), ('blanked'),
  ('recalled'), ('contacted'), ('exercised'), ('reviewed');
INSERT INTO noun VALUES ('tool');

-- THE WALK FROM SEED TO PACK AND BACK -------------------------------------------------------------------

-- every step is answered by its index alone, of what counts and of what was taken back
DROP INDEX seed_move_lot;
CREATE INDEX seed_move_lot ON seed_move (seed_lot_id, void_by, sowing_id, mg);
DROP INDEX seed_move_sowing;
CREATE INDEX seed_move_sowing ON seed_move (sowing_id, void_by, seed_lot_id, mg);
DROP INDEX lot_input_lot;
CREATE INDEX lot_input_lot ON lot_input (lot_id, void_by, tray_id, from_lot_id, mats, grams, packs);
DROP INDEX lot_input_of_tray;
CREATE INDEX lot_input_of_tray ON lot_input (tray_id, void_by, lot_id, mats, again);
DROP INDEX lot_input_from;
CREATE INDEX lot_input_from ON lot_input (from_lot_id, void_by, lot_id, grams, packs);
DROP INDEX stock_move_lot;
CREATE INDEX stock_move_lot ON stock_move (lot_id, void_by, kind, packs, grams, delivery_id, round_id);
DROP INDEX sowing_before_lot;
CREATE INDEX sowing_before_lot ON sowing (before_lot_id, void_by) WHERE before_lot_id IS NOT NULL;
-- what was in someone's hands in some hours
CREATE INDEX entry_seen ON entry (coalesce(seen_at, at));
CREATE INDEX sowing_medium_lot ON sowing (medium_lot_id) WHERE medium_lot_id IS NOT NULL;
CREATE INDEX water_source ON water (source, day) WHERE source IS NOT NULL AND void_by IS NULL;

-- WHAT TOUCHED A LOT ------------------------------------------------------------------------------------

-- knives, scissors, tables, scales: by the name that is written on them
CREATE TABLE tool (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT tool_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL CONSTRAINT tool_name CHECK (length(name) BETWEEN 1 AND 60),
  UNIQUE (name)
) STRICT;
CREATE TRIGGER tool_kept BEFORE DELETE ON tool BEGIN SELECT RAISE(ABORT, 'tool_frozen'); END;

-- a tool that cut or packed a lot, or packaging of this lot around it
CREATE TABLE lot_use (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  tool_id INTEGER REFERENCES tool (id) ON DELETE RESTRICT,
  material_lot_id INTEGER REFERENCES material_lot (id) ON DELETE RESTRICT,
  CONSTRAINT lot_use_one CHECK ((tool_id IS NULL) <> (material_lot_id IS NULL))
) STRICT;
CREATE INDEX lot_use_entry ON lot_use (entry_id);
CREATE INDEX lot_use_lot ON lot_use (lot_id);
CREATE INDEX lot_use_tool ON lot_use (tool_id, lot_id) WHERE tool_id IS NOT NULL AND void_by IS NULL;
CREATE INDEX lot_use_material ON lot_use (material_lot_id, lot_id) WHERE material_lot_id IS NOT NULL AND void_by IS NULL;
CREATE TRIGGER lot_use_frozen BEFORE UPDATE OF id, entry_id, lot_id, tool_id, material_lot_id ON lot_use
BEGIN SELECT RAISE(ABORT, 'lot_use_frozen'); END;
CREATE TRIGGER lot_use_void_once BEFORE UPDATE OF void_by ON lot_use WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'lot_use_frozen'); END;
CREATE TRIGGER lot_use_kept BEFORE DELETE ON lot_use BEGIN SELECT RAISE(ABORT, 'lot_use_frozen'); END;

-- COMPLAINTS --------------------------------------------------------------------------------------------

-- day: when it was noticed; delivered: the day they say they got it; code: as it was read to us, whatever it is
CREATE TABLE complaint (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  customer_id INTEGER REFERENCES customer (id) ON DELETE RESTRICT,
  product_id INTEGER REFERENCES product (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT complaint_day CHECK (day IS date(day)),
  delivered TEXT CONSTRAINT complaint_delivered CHECK (delivered IS date(delivered) AND delivered <= day),
  code TEXT CONSTRAINT complaint_code CHECK (length(code) BETWEEN 1 AND 60),
  what TEXT NOT NULL CONSTRAINT complaint_what CHECK (what IN ('mould', 'slime', 'off_smell', 'short_life', 'foreign_matter',
    'illness', 'wrong_product', 'other')),
  severity TEXT NOT NULL CONSTRAINT complaint_severity CHECK (severity IN ('small', 'serious', 'grave'))
) STRICT;
CREATE INDEX complaint_entry ON complaint (entry_id);
CREATE INDEX complaint_by_day ON complaint (day) WHERE void_by IS NULL;
CREATE INDEX complaint_customer ON complaint (customer_id) WHERE customer_id IS NOT NULL;
CREATE TRIGGER complaint_frozen BEFORE UPDATE OF id, entry_id, customer_id, product_id, day, delivered, code, what, severity ON complaint
BEGIN SELECT RAISE(ABORT, 'complaint_frozen'); END;
CREATE TRIGGER complaint_void_once BEFORE UPDATE OF void_by ON complaint WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'complaint_frozen'); END;
CREATE TRIGGER complaint_kept BEFORE DELETE ON complaint BEGIN SELECT RAISE(ABORT, 'complaint_frozen'); END;

-- which lots it may be: the newest live row of a lot counts; why is what speaks for it, or against
CREATE TABLE complaint_lot (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  complaint_id INTEGER NOT NULL REFERENCES complaint (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  standing TEXT NOT NULL CONSTRAINT complaint_lot_standing CHECK (standing IN ('open', 'sure', 'ruled_out')),
  why TEXT NOT NULL CONSTRAINT complaint_lot_why CHECK (length(why) BETWEEN 1 AND 10000)
) STRICT;
CREATE INDEX complaint_lot_entry ON complaint_lot (entry_id);
CREATE INDEX complaint_lot_complaint ON complaint_lot (complaint_id, lot_id);
CREATE INDEX complaint_lot_lot ON complaint_lot (lot_id);
CREATE TRIGGER complaint_lot_frozen BEFORE UPDATE OF id, entry_id, complaint_id, lot_id, standing, why ON complaint_lot
BEGIN SELECT RAISE(ABORT, 'complaint_lot_frozen'); END;
CREATE TRIGGER complaint_lot_void_once BEFORE UPDATE OF void_by ON complaint_lot WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'complaint_lot_frozen'); END;
CREATE TRIGGER complaint_lot_kept BEFORE DELETE ON complaint_lot BEGIN SELECT RAISE(ABORT, 'complaint_lot_frozen'); END;

-- the customer was answered; what was found is the note of the entry
CREATE TABLE complaint_end (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  complaint_id INTEGER NOT NULL REFERENCES complaint (id) ON DELETE RESTRICT,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX complaint_end_entry ON complaint_end (entry_id);
CREATE UNIQUE INDEX complaint_end_once ON complaint_end (complaint_id) WHERE void_by IS NULL;
CREATE TRIGGER complaint_end_frozen BEFORE UPDATE OF id, entry_id, complaint_id, person_id ON complaint_end
BEGIN SELECT RAISE(ABORT, 'complaint_end_frozen'); END;
CREATE TRIGGER complaint_end_void_once BEFORE UPDATE OF void_by ON complaint_end WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'complaint_end_frozen'); END;
CREATE TRIGGER complaint_end_kept BEFORE DELETE ON complaint_end BEGIN SELECT RAISE(ABORT, 'complaint_end_frozen'); END;

-- what was told of people, one row a call: outside the chain, so that it can be blanked, and nothing else
CREATE TABLE complaint_told (
  entry_id INTEGER PRIMARY KEY REFERENCES entry (id) ON DELETE RESTRICT,
  complaint_id INTEGER NOT NULL REFERENCES complaint (id) ON DELETE RESTRICT,
  caller TEXT,
  kept TEXT,
  words TEXT,
  photo TEXT,
  ill INTEGER CONSTRAINT complaint_told_ill CHECK (ill BETWEEN 0 AND 100000),
  ate TEXT,
  onset TEXT,
  others TEXT,
  blanked_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT
) STRICT;
CREATE INDEX complaint_told_complaint ON complaint_told (complaint_id);
CREATE TRIGGER complaint_told_blank BEFORE UPDATE ON complaint_told
WHEN OLD.blanked_by IS NOT NULL OR NEW.blanked_by IS NULL OR NEW.entry_id <> OLD.entry_id OR NEW.complaint_id <> OLD.complaint_id
  OR coalesce(NEW.caller, NEW.kept, NEW.words, NEW.photo, NEW.ill, NEW.ate, NEW.onset, NEW.others) IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'complaint_told_frozen'); END;
CREATE TRIGGER complaint_told_stays BEFORE DELETE ON complaint_told BEGIN SELECT RAISE(ABORT, 'complaint_told_frozen'); END;

-- HOLDS OF ANYTHING -------------------------------------------------------------------------------------

-- an exercise holds nothing back
ALTER TABLE hold ADD COLUMN complaint_id INTEGER REFERENCES complaint (id) ON DELETE RESTRICT;
ALTER TABLE hold ADD COLUMN exercise INTEGER CONSTRAINT hold_exercise CHECK (exercise IN (0, 1));
CREATE INDEX hold_complaint ON hold (complaint_id) WHERE complaint_id IS NOT NULL;
DROP TRIGGER hold_frozen;
CREATE TRIGGER hold_frozen BEFORE UPDATE OF id, entry_id, cause, scope_text, about_entry, complaint_id, exercise ON hold
BEGIN SELECT RAISE(ABORT, 'hold_frozen'); END;

ALTER TABLE hold_item ADD COLUMN seed_lot_id INTEGER REFERENCES seed_lot (id) ON DELETE RESTRICT;
ALTER TABLE hold_item ADD COLUMN mix_id INTEGER REFERENCES mix (id) ON DELETE RESTRICT;
ALTER TABLE hold_item ADD COLUMN material_lot_id INTEGER REFERENCES material_lot (id) ON DELETE RESTRICT;
ALTER TABLE hold_item ADD COLUMN tool_id INTEGER REFERENCES tool (id) ON DELETE RESTRICT;
CREATE INDEX hold_item_seed_lot ON hold_item (seed_lot_id) WHERE seed_lot_id IS NOT NULL;
CREATE INDEX hold_item_mix ON hold_item (mix_id) WHERE mix_id IS NOT NULL;
CREATE INDEX hold_item_material ON hold_item (material_lot_id) WHERE material_lot_id IS NOT NULL;
CREATE INDEX hold_item_tool ON hold_item (tool_id) WHERE tool_id IS NOT NULL;
DROP TRIGGER hold_item_one;
CREATE TRIGGER hold_item_one BEFORE INSERT ON hold_item
WHEN (NEW.sowing_id IS NOT NULL) + (NEW.tray_id IS NOT NULL) + (NEW.lot_id IS NOT NULL) + (NEW.seed_lot_id IS NOT NULL)
  + (NEW.mix_id IS NOT NULL) + (NEW.material_lot_id IS NOT NULL) + (NEW.tool_id IS NOT NULL) <> 1
BEGIN SELECT RAISE(ABORT, 'hold_item_one'); END;
DROP VIEW blocked;
CREATE VIEW blocked AS
SELECT i.hold_id, i.sowing_id, i.tray_id, i.lot_id, i.seed_lot_id, i.mix_id, i.material_lot_id, i.tool_id
FROM hold_item i JOIN hold h ON h.id = i.hold_id
WHERE h.void_by IS NULL AND h.exercise IS NOT 1 AND NOT EXISTS (SELECT 1 FROM hold_decision d
  WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what = 'accepted');

-- held seed is not sown, but beside the breach that says why; corrections and undo only repeat what was written
CREATE TRIGGER sow_held BEFORE INSERT ON seed_move WHEN NEW.sowing_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'sow_held') FROM blocked WHERE seed_lot_id = NEW.seed_lot_id
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'seed_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;

-- nor does it go into water before that
CREATE TRIGGER soak_held BEFORE INSERT ON soak
BEGIN
  SELECT RAISE(ABORT, 'soak_held') FROM blocked WHERE seed_lot_id = NEW.seed_lot_id
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'seed_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;

-- the same of a held bottle, or of one with a held lot in it, on trays
CREATE TRIGGER treat_held BEFORE INSERT ON treatment WHEN NEW.mix_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'treat_held') FROM blocked
    WHERE (mix_id = NEW.mix_id OR material_lot_id IN (SELECT material_lot_id FROM mix_part WHERE mix_id = NEW.mix_id))
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'mix_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;

-- of a held lot of a medium, an ingredient or packaging, and of a held knife or table
CREATE TRIGGER medium_held BEFORE INSERT ON sowing WHEN NEW.medium_lot_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'use_held') FROM blocked WHERE material_lot_id = NEW.medium_lot_id
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'material_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;
CREATE TRIGGER ingredient_held BEFORE INSERT ON mix_part WHEN NEW.material_lot_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'use_held') FROM blocked WHERE material_lot_id = NEW.material_lot_id
    AND NOT EXISTS (SELECT 1 FROM breach b JOIN mix m ON m.entry_id = b.entry_id
      WHERE m.id = NEW.mix_id AND b.rule = 'material_held');
END;
CREATE TRIGGER lot_use_held BEFORE INSERT ON lot_use
BEGIN
  SELECT RAISE(ABORT, 'use_held') FROM blocked WHERE tool_id = NEW.tool_id
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'tool_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo', 'reissued');
  SELECT RAISE(ABORT, 'use_held') FROM blocked WHERE material_lot_id = NEW.material_lot_id
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'material_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo', 'reissued');
END;

-- RECALLS AND EXERCISES ---------------------------------------------------------------------------------

-- the forward list of a hold becomes a call sheet; from_at: when the clock began, with the call or the hold
CREATE TABLE recall (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  hold_id INTEGER NOT NULL REFERENCES hold (id) ON DELETE RESTRICT,
  from_at TEXT NOT NULL CONSTRAINT recall_from CHECK (from_at IS strftime('%Y-%m-%dT%H:%M:%SZ', from_at))
) STRICT;
CREATE INDEX recall_entry ON recall (entry_id);
CREATE UNIQUE INDEX recall_hold ON recall (hold_id) WHERE void_by IS NULL;
CREATE TRIGGER recall_frozen BEFORE UPDATE OF id, entry_id, hold_id, from_at ON recall
BEGIN SELECT RAISE(ABORT, 'recall_frozen'); END;
CREATE TRIGGER recall_void_once BEFORE UPDATE OF void_by ON recall WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'recall_frozen'); END;
CREATE TRIGGER recall_kept BEFORE DELETE ON recall BEGIN SELECT RAISE(ABORT, 'recall_frozen'); END;

-- one try to reach who got a delivery, or the public notice about a stall; the newest live row of a line counts; destroyed: packs
-- they destroyed where they are
CREATE TABLE contact (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  recall_id INTEGER NOT NULL REFERENCES recall (id) ON DELETE RESTRICT,
  delivery_id INTEGER REFERENCES delivery (id) ON DELETE RESTRICT,
  round_id INTEGER REFERENCES round (id) ON DELETE RESTRICT,
  reached INTEGER NOT NULL CONSTRAINT contact_reached CHECK (reached IN (0, 1)),
  destroyed INTEGER CONSTRAINT contact_destroyed CHECK (destroyed BETWEEN 0 AND 100000),
  CONSTRAINT contact_one CHECK ((delivery_id IS NULL) <> (round_id IS NULL))
) STRICT;
CREATE INDEX contact_entry ON contact (entry_id);
CREATE INDEX contact_recall ON contact (recall_id);
CREATE TRIGGER contact_frozen BEFORE UPDATE OF id, entry_id, recall_id, delivery_id, round_id, reached, destroyed ON contact
BEGIN SELECT RAISE(ABORT, 'contact_frozen'); END;
CREATE TRIGGER contact_void_once BEFORE UPDATE OF void_by ON contact WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'contact_frozen'); END;
CREATE TRIGGER contact_kept BEFORE DELETE ON contact BEGIN SELECT RAISE(ABORT, 'contact_frozen'); END;

-- a mock recall that is over; found_pm: packs of which someone can say where they are; balance_pm: NULL where nothing was made;
-- the gaps are the note of the entry
CREATE TABLE exercise (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  recall_id INTEGER NOT NULL REFERENCES recall (id) ON DELETE RESTRICT,
  found_pm INTEGER NOT NULL CONSTRAINT exercise_found CHECK (found_pm BETWEEN 0 AND 100000),
  balance_pm INTEGER CONSTRAINT exercise_balance CHECK (balance_pm BETWEEN 0 AND 100000),
  minutes INTEGER NOT NULL CONSTRAINT exercise_minutes CHECK (minutes >= 0)
) STRICT;
CREATE INDEX exercise_entry ON exercise (entry_id);
CREATE UNIQUE INDEX exercise_recall ON exercise (recall_id) WHERE void_by IS NULL;
CREATE TRIGGER exercise_frozen BEFORE UPDATE OF id, entry_id, recall_id, found_pm, balance_pm, minutes ON exercise
BEGIN SELECT RAISE(ABORT, 'exercise_frozen'); END;
CREATE TRIGGER exercise_void_once BEFORE UPDATE OF void_by ON exercise WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'exercise_frozen'); END;
CREATE TRIGGER exercise_kept BEFORE DELETE ON exercise BEGIN SELECT RAISE(ABORT, 'exercise_frozen'); END;

-- SIGNED PERIODS ----------------------------------------------------------------------------------------

-- someone who may decide read the records of these days, up to an entry, whose hash stands here in full
CREATE TABLE review (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  from_day TEXT NOT NULL CONSTRAINT review_from CHECK (from_day IS date(from_day)),
  to_day TEXT NOT NULL CONSTRAINT review_to CHECK (to_day IS date(to_day)),
  upto_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  head TEXT NOT NULL CONSTRAINT review_head CHECK (length(head) = 64),
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT,
  CONSTRAINT review_order CHECK (from_day <= to_day AND upto_id < entry_id)
) STRICT;
CREATE INDEX review_entry ON review (entry_id);
CREATE INDEX review_days ON review (to_day) WHERE void_by IS NULL;
CREATE TRIGGER review_may_not_decide BEFORE INSERT ON review
BEGIN
  SELECT RAISE(ABORT, 'may_not_decide') FROM person WHERE id = NEW.person_id AND (retired OR NOT may_decide);
END;
CREATE TRIGGER review_frozen BEFORE UPDATE OF id, entry_id, from_day, to_day, upto_id, head, person_id ON review
BEGIN SELECT RAISE(ABORT, 'review_frozen'); END;
CREATE TRIGGER review_void_once BEFORE UPDATE OF void_by ON review WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'review_frozen'); END;
CREATE TRIGGER review_kept BEFORE DELETE ON review BEGIN SELECT RAISE(ABORT, 'review_frozen'); END;
