-- The week reviewed: what each crop gave, germination tests, what seed and trays cost. Same style as 0001: STRICT, named
-- constraints, ON DELETE RESTRICT; facts are frozen.

INSERT INTO kind VALUES ('germ_begun'), ('germ_counted'), ('germ_ended'), ('supplier'), ('baseline'), ('odd_weight');

-- GERMINATION -------------------------------------------------------------------------------------------

-- replicates of so many seeds each were laid out on a day
CREATE TABLE germ_test (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  seed_lot_id INTEGER NOT NULL REFERENCES seed_lot (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT germ_test_day CHECK (day IS date(day)),
  replicates INTEGER NOT NULL CONSTRAINT germ_test_replicates CHECK (replicates BETWEEN 1 AND 8),
  seeds INTEGER NOT NULL CONSTRAINT germ_test_seeds CHECK (seeds BETWEEN 1 AND 400),
  temp_dc INTEGER CONSTRAINT germ_test_temp CHECK (temp_dc BETWEEN 0 AND 450)
) STRICT;
CREATE INDEX germ_test_entry ON germ_test (entry_id);
CREATE INDEX germ_test_lot ON germ_test (seed_lot_id);
CREATE TRIGGER germ_test_frozen BEFORE UPDATE OF id, entry_id, seed_lot_id, day, replicates, seeds, temp_dc ON germ_test
BEGIN SELECT RAISE(ABORT, 'germ_test_frozen'); END;
CREATE TRIGGER germ_test_void_once BEFORE UPDATE OF void_by ON germ_test WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'germ_test_frozen'); END;
CREATE TRIGGER germ_test_kept BEFORE DELETE ON germ_test BEGIN SELECT RAISE(ABORT, 'germ_test_frozen'); END;

-- normal seedlings found and taken out on a day, of one replicate: what is counted later is a row of its own
CREATE TABLE germ_count (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  germ_test_id INTEGER NOT NULL REFERENCES germ_test (id) ON DELETE RESTRICT,
  replicate INTEGER NOT NULL CONSTRAINT germ_count_replicate CHECK (replicate BETWEEN 1 AND 8),
  day TEXT NOT NULL CONSTRAINT germ_count_day CHECK (day IS date(day)),
  normal INTEGER NOT NULL CONSTRAINT germ_count_normal CHECK (normal BETWEEN 0 AND 400)
) STRICT;
CREATE INDEX germ_count_entry ON germ_count (entry_id);
CREATE INDEX germ_count_test ON germ_count (germ_test_id, replicate, day);
CREATE TRIGGER germ_count_frozen BEFORE UPDATE OF id, entry_id, germ_test_id, replicate, day, normal ON germ_count
BEGIN SELECT RAISE(ABORT, 'germ_count_frozen'); END;
CREATE TRIGGER germ_count_void_once BEFORE UPDATE OF void_by ON germ_count WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'germ_count_frozen'); END;
CREATE TRIGGER germ_count_kept BEFORE DELETE ON germ_count BEGIN SELECT RAISE(ABORT, 'germ_count_frozen'); END;

-- the last count was made: what is left beside normal seedlings
CREATE TABLE germ_end (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  germ_test_id INTEGER NOT NULL REFERENCES germ_test (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT germ_end_day CHECK (day IS date(day)),
  abnormal INTEGER CONSTRAINT germ_end_abnormal CHECK (abnormal BETWEEN 0 AND 3200),
  hard INTEGER CONSTRAINT germ_end_hard CHECK (hard BETWEEN 0 AND 3200),
  dead INTEGER CONSTRAINT germ_end_dead CHECK (dead BETWEEN 0 AND 3200)
) STRICT;
CREATE INDEX germ_end_entry ON germ_end (entry_id);
CREATE UNIQUE INDEX germ_end_once ON germ_end (germ_test_id) WHERE void_by IS NULL;
CREATE TRIGGER germ_end_frozen BEFORE UPDATE OF id, entry_id, germ_test_id, day, abnormal, hard, dead ON germ_end
BEGIN SELECT RAISE(ABORT, 'germ_end_frozen'); END;
CREATE TRIGGER germ_end_void_once BEFORE UPDATE OF void_by ON germ_end WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'germ_end_frozen'); END;
CREATE TRIGGER germ_end_kept BEFORE DELETE ON germ_end BEGIN SELECT RAISE(ABORT, 'germ_end_frozen'); END;
-- of one replicate not more seedlings than it had seeds, nor a replicate that was not laid out
CREATE TRIGGER germ_over AFTER INSERT ON germ_count
BEGIN
  SELECT RAISE(ABORT, 'germ_over') FROM germ_test t WHERE t.id = NEW.germ_test_id AND (NEW.replicate > t.replicates OR t.seeds <
    (SELECT sum(normal) FROM germ_count WHERE germ_test_id = NEW.germ_test_id AND replicate = NEW.replicate AND void_by IS NULL));
END;

-- MONEY, IN HUNDREDTHS, AND TIME -------------------------------------------------------------------------

-- from the order to the delivery
ALTER TABLE supplier ADD COLUMN lead_d INTEGER CONSTRAINT supplier_lead CHECK (lead_d BETWEEN 0 AND 365);
-- a kilogram of seed; all else that a tray costs
ALTER TABLE crop ADD COLUMN seed_kg_c INTEGER CONSTRAINT crop_seed_kg CHECK (seed_kg_c BETWEEN 0 AND 100000000);
ALTER TABLE crop ADD COLUMN tray_c INTEGER CONSTRAINT crop_tray_c CHECK (tray_c BETWEEN 0 AND 1000000);
-- a pack, or a live tray
ALTER TABLE product ADD COLUMN price_c INTEGER CONSTRAINT product_price CHECK (price_c BETWEEN 0 AND 10000000);

-- THE WEEK ----------------------------------------------------------------------------------------------

-- the days against which a crop's later weights are held; the newest live row of a crop counts
CREATE TABLE baseline (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  from_day TEXT NOT NULL CONSTRAINT baseline_from CHECK (from_day IS date(from_day)),
  to_day TEXT NOT NULL CONSTRAINT baseline_to CHECK (to_day IS date(to_day)),
  CONSTRAINT baseline_order CHECK (from_day <= to_day)
) STRICT;
CREATE INDEX baseline_entry ON baseline (entry_id);
CREATE INDEX baseline_crop ON baseline (crop_id);
CREATE TRIGGER baseline_frozen BEFORE UPDATE OF id, entry_id, crop_id, from_day, to_day ON baseline
BEGIN SELECT RAISE(ABORT, 'baseline_frozen'); END;
CREATE TRIGGER baseline_void_once BEFORE UPDATE OF void_by ON baseline WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'baseline_frozen'); END;
CREATE TRIGGER baseline_kept BEFORE DELETE ON baseline BEGIN SELECT RAISE(ABORT, 'baseline_frozen'); END;

-- a weight that someone says is not right, and is shown with and without; the newest live row counts. tray_id NULL: what was
-- weighed together
CREATE TABLE odd_weight (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  tray_id INTEGER REFERENCES tray (id) ON DELETE RESTRICT,
  odd INTEGER NOT NULL CONSTRAINT odd_weight_odd CHECK (odd IN (0, 1))
) STRICT;
CREATE INDEX odd_weight_entry ON odd_weight (entry_id);
CREATE INDEX odd_weight_lot ON odd_weight (lot_id);
CREATE TRIGGER odd_weight_frozen BEFORE UPDATE OF id, entry_id, lot_id, tray_id, odd ON odd_weight
BEGIN SELECT RAISE(ABORT, 'odd_weight_frozen'); END;
CREATE TRIGGER odd_weight_void_once BEFORE UPDATE OF void_by ON odd_weight WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'odd_weight_frozen'); END;
CREATE TRIGGER odd_weight_kept BEFORE DELETE ON odd_weight BEGIN SELECT RAISE(ABORT, 'odd_weight_frozen'); END;

CREATE INDEX sowing_fix_day ON sowing_fix (day) WHERE void_by IS NULL;
-- trays taken off the rack without a lot
CREATE INDEX entry_cut ON entry (day) WHERE kind = 'cut';

-- what a crop gave in an ISO week, by its Monday: worked out from the facts of that week, never patched. Of trays sown in it: sown,
-- sown_mg. Of trays that ended in it: ended, lost, cut. Weights of it: n values of what one tray gave, in tenths of a gram, several
-- trays weighed together being one value; grams in all, and the seed of what was cut
CREATE TABLE week_crop (
  week TEXT NOT NULL CONSTRAINT week_crop_monday CHECK (week IS date(week) AND strftime('%w', week) = '1'),
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  sown INTEGER NOT NULL,
  sown_mg INTEGER NOT NULL,
  ended INTEGER NOT NULL,
  lost INTEGER NOT NULL,
  cut INTEGER NOT NULL,
  n INTEGER NOT NULL,
  sum_dg INTEGER NOT NULL,
  sum_dg2 INTEGER NOT NULL,
  median_dg INTEGER,
  grams INTEGER NOT NULL,
  cut_mg INTEGER NOT NULL,
  PRIMARY KEY (crop_id, week)
) STRICT, WITHOUT ROWID;
