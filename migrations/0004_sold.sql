-- From the cut to the customer: harvest lots, blends, packs, stock, orders, rounds. Same style as 0001: STRICT, named
-- constraints, ON DELETE RESTRICT; facts are frozen.

-- WHAT IS SOLD, AND TO WHOM -----------------------------------------------------------------------

INSERT INTO kind VALUES ('product'), ('customer'), ('ordered');
INSERT INTO noun VALUES ('product'), ('customer'), ('sale_order'), ('order_line');

-- pack_g: NULL for a live tray; round: the round it is usually brought on
CREATE TABLE product (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT product_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL CONSTRAINT product_name CHECK (length(name) BETWEEN 1 AND 60),
  kind TEXT NOT NULL CONSTRAINT product_kind CHECK (kind IN ('crop', 'blend', 'live')),
  pack_g INTEGER CONSTRAINT product_pack CHECK (pack_g BETWEEN 1 AND 20000),
  gtin TEXT CONSTRAINT product_gtin CHECK (length(gtin) = 14 AND NOT gtin GLOB '*[^0-9]*'),
  UNIQUE (name),
  CONSTRAINT product_live CHECK ((kind = 'live') = (pack_g IS NULL))
) STRICT;
CREATE TRIGGER product_kept BEFORE DELETE ON product BEGIN SELECT RAISE(ABORT, 'product_frozen'); END;

-- what goes into a product: a new version each time, never an edit
CREATE TABLE product_version (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  product_id INTEGER NOT NULL REFERENCES product (id) ON DELETE RESTRICT,
  version INTEGER NOT NULL CONSTRAINT product_version_number CHECK (version > 0),
  UNIQUE (product_id, version)
) STRICT;
CREATE INDEX product_version_entry ON product_version (entry_id);
CREATE TRIGGER product_version_frozen BEFORE UPDATE OF id, entry_id, product_id, version ON product_version
BEGIN SELECT RAISE(ABORT, 'product_version_frozen'); END;
CREATE TRIGGER product_version_void_once BEFORE UPDATE OF void_by ON product_version WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'product_version_frozen'); END;
CREATE TRIGGER product_version_kept BEFORE DELETE ON product_version BEGIN SELECT RAISE(ABORT, 'product_version_frozen'); END;
CREATE TABLE product_part (
  product_version_id INTEGER NOT NULL REFERENCES product_version (id) ON DELETE RESTRICT,
  n INTEGER NOT NULL,
  crop_id INTEGER NOT NULL REFERENCES crop (id) ON DELETE RESTRICT,
  share_pm INTEGER NOT NULL CONSTRAINT product_part_share CHECK (share_pm BETWEEN 1 AND 1000),
  PRIMARY KEY (product_version_id, n)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER product_part_frozen BEFORE UPDATE ON product_part BEGIN SELECT RAISE(ABORT, 'product_part_frozen'); END;
CREATE TRIGGER product_part_kept BEFORE DELETE ON product_part BEGIN SELECT RAISE(ABORT, 'product_part_frozen'); END;

CREATE TABLE customer (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT customer_retired CHECK (retired IN (0, 1)),
  name TEXT NOT NULL CONSTRAINT customer_name CHECK (length(name) BETWEEN 1 AND 60),
  address TEXT NOT NULL,
  phone TEXT NOT NULL,
  round TEXT NOT NULL,
  note TEXT NOT NULL,
  UNIQUE (name)
) STRICT;
CREATE TRIGGER customer_kept BEFORE DELETE ON customer BEGIN SELECT RAISE(ABORT, 'customer_frozen'); END;

-- an order for one day, or every week on a weekday (1 Monday to 7 Sunday) from one day to another
CREATE TABLE sale_order (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT sale_order_retired CHECK (retired IN (0, 1)),
  customer_id INTEGER NOT NULL REFERENCES customer (id) ON DELETE RESTRICT,
  day TEXT CONSTRAINT sale_order_day CHECK (day IS date(day)),
  weekday INTEGER CONSTRAINT sale_order_weekday CHECK (weekday BETWEEN 1 AND 7),
  from_day TEXT CONSTRAINT sale_order_from CHECK (from_day IS date(from_day)),
  to_day TEXT CONSTRAINT sale_order_to CHECK (to_day IS date(to_day)),
  CONSTRAINT sale_order_when CHECK ((day IS NULL) <> (weekday IS NULL))
) STRICT;
CREATE TRIGGER sale_order_kept BEFORE DELETE ON sale_order BEGIN SELECT RAISE(ABORT, 'sale_order_frozen'); END;
CREATE INDEX sale_order_by_day ON sale_order (day) WHERE NOT retired;
CREATE INDEX sale_order_customer ON sale_order (customer_id);
CREATE TABLE order_line (
  id INTEGER PRIMARY KEY,
  rev INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0 CONSTRAINT order_line_retired CHECK (retired IN (0, 1)),
  order_id INTEGER NOT NULL REFERENCES sale_order (id) ON DELETE RESTRICT,
  product_id INTEGER NOT NULL REFERENCES product (id) ON DELETE RESTRICT,
  packs INTEGER CONSTRAINT order_line_packs CHECK (packs BETWEEN 1 AND 100000),
  grams INTEGER CONSTRAINT order_line_grams CHECK (grams BETWEEN 1 AND 10000000),
  trays INTEGER CONSTRAINT order_line_trays CHECK (trays BETWEEN 1 AND 100000),
  CONSTRAINT order_line_amount CHECK ((packs IS NOT NULL) + (grams IS NOT NULL) + (trays IS NOT NULL) = 1)
) STRICT;
CREATE TRIGGER order_line_kept BEFORE DELETE ON order_line BEGIN SELECT RAISE(ABORT, 'order_line_frozen'); END;
CREATE INDEX order_line_order ON order_line (order_id) WHERE NOT retired;

-- HARVEST AND PACKING -----------------------------------------------------------------------------

INSERT INTO kind VALUES ('cut_checked'), ('harvested'), ('packed'), ('left_alive'), ('reissued');

-- before the knife is taken up: clean hands, well today, the blade whole, everything cleaned and with what; washed: whether
-- all of it was washed after a crop that is an allergen
CREATE TABLE cut_check (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT cut_check_day CHECK (day IS date(day)),
  hands INTEGER NOT NULL CONSTRAINT cut_check_hands CHECK (hands IN (0, 1)),
  well INTEGER NOT NULL CONSTRAINT cut_check_well CHECK (well IN (0, 1)),
  blade INTEGER NOT NULL CONSTRAINT cut_check_blade CHECK (blade IN (0, 1)),
  cleaned INTEGER NOT NULL CONSTRAINT cut_check_cleaned CHECK (cleaned IN (0, 1)),
  cleaned_with TEXT,
  washed INTEGER CONSTRAINT cut_check_washed CHECK (washed IN (0, 1)),
  CONSTRAINT cut_check_with CHECK (NOT cleaned OR length(cleaned_with) BETWEEN 1 AND 200)
) STRICT;
CREATE INDEX cut_check_entry ON cut_check (entry_id);
CREATE INDEX cut_check_person ON cut_check (person_id, day) WHERE void_by IS NULL;
CREATE TRIGGER cut_check_frozen BEFORE UPDATE OF id, entry_id, person_id, day, hands, well, blade, cleaned, cleaned_with, washed ON cut_check
BEGIN SELECT RAISE(ABORT, 'cut_check_frozen'); END;
CREATE TRIGGER cut_check_void_once BEFORE UPDATE OF void_by ON cut_check WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'cut_check_frozen'); END;
CREATE TRIGGER cut_check_kept BEFORE DELETE ON cut_check BEGIN SELECT RAISE(ABORT, 'cut_check_frozen'); END;

-- a harvest lot is of one crop, a pack lot of one product; codes without hyphens and check character, never used again;
-- instead_of: the lot whose code it takes over
CREATE TABLE lot (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  code TEXT NOT NULL CONSTRAINT lot_code CHECK (length(code) BETWEEN 10 AND 11 AND code GLOB '[A-Z][A-Z][A-Z][0-9][0-9][0-9][0-9][0-9][0-9][A-Z]*'),
  kind TEXT NOT NULL CONSTRAINT lot_kind CHECK (kind IN ('harvest', 'pack')),
  crop_id INTEGER REFERENCES crop (id) ON DELETE RESTRICT,
  product_id INTEGER REFERENCES product (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT lot_day CHECK (day IS date(day)),
  cut_at TEXT CONSTRAINT lot_cut_at CHECK (cut_at IS strftime('%Y-%m-%dT%H:%M:%SZ', cut_at)),
  pack_g INTEGER CONSTRAINT lot_pack CHECK (pack_g BETWEEN 1 AND 20000),
  best_before TEXT CONSTRAINT lot_best_before CHECK (best_before IS date(best_before)),
  instead_of INTEGER REFERENCES lot (id) ON DELETE RESTRICT,
  UNIQUE (code),
  CONSTRAINT lot_of CHECK ((kind = 'harvest') = (crop_id IS NOT NULL) AND (kind = 'pack') = (product_id IS NOT NULL)),
  CONSTRAINT lot_cut CHECK ((kind = 'harvest') = (cut_at IS NOT NULL)),
  CONSTRAINT lot_pack_size CHECK (kind = 'pack' OR pack_g IS NULL),
  CONSTRAINT lot_instead CHECK (instead_of < id)
) STRICT;
CREATE INDEX lot_entry ON lot (entry_id);
CREATE INDEX lot_kind_day ON lot (kind, day);
CREATE INDEX lot_instead_of ON lot (instead_of) WHERE instead_of IS NOT NULL;
CREATE TRIGGER lot_frozen BEFORE UPDATE OF id, entry_id, code, kind, crop_id, product_id, day, cut_at, pack_g, best_before, instead_of ON lot
BEGIN SELECT RAISE(ABORT, 'lot_frozen'); END;
CREATE TRIGGER lot_void_once BEFORE UPDATE OF void_by ON lot WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'lot_frozen'); END;
CREATE TRIGGER lot_kept BEFORE DELETE ON lot BEGIN SELECT RAISE(ABORT, 'lot_frozen'); END;

-- what went into a lot: mats of a tray, grams of a harvest lot, packs of a pack lot; grams NULL of a tray: weighed together
-- with others; again: the tray stays and grows again
CREATE TABLE lot_input (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  tray_id INTEGER REFERENCES tray (id) ON DELETE RESTRICT,
  from_lot_id INTEGER REFERENCES lot (id) ON DELETE RESTRICT,
  mats INTEGER CONSTRAINT lot_input_mats CHECK (mats BETWEEN 1 AND 8),
  grams INTEGER CONSTRAINT lot_input_grams CHECK (grams BETWEEN 0 AND 10000000),
  packs INTEGER CONSTRAINT lot_input_packs CHECK (packs BETWEEN 1 AND 100000),
  again INTEGER CONSTRAINT lot_input_again CHECK (again IN (0, 1)),
  CONSTRAINT lot_input_one CHECK ((tray_id IS NULL) <> (from_lot_id IS NULL)),
  CONSTRAINT lot_input_no_cycle CHECK (from_lot_id < lot_id),
  CONSTRAINT lot_input_tray CHECK ((tray_id IS NULL) = (mats IS NULL) AND (NOT again OR tray_id IS NOT NULL)),
  CONSTRAINT lot_input_drawn CHECK (from_lot_id IS NULL OR grams IS NOT NULL)
) STRICT;
CREATE INDEX lot_input_entry ON lot_input (entry_id);
CREATE INDEX lot_input_lot ON lot_input (lot_id, tray_id, from_lot_id);
CREATE INDEX lot_input_of_tray ON lot_input (tray_id, lot_id);
CREATE INDEX lot_input_from ON lot_input (from_lot_id, lot_id);
CREATE TRIGGER lot_input_frozen BEFORE UPDATE OF id, entry_id, lot_id, tray_id, from_lot_id, mats, grams, packs, again ON lot_input
BEGIN SELECT RAISE(ABORT, 'lot_input_frozen'); END;
CREATE TRIGGER lot_input_void_once BEFORE UPDATE OF void_by ON lot_input WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'lot_input_frozen'); END;
CREATE TRIGGER lot_input_kept BEFORE DELETE ON lot_input BEGIN SELECT RAISE(ABORT, 'lot_input_frozen'); END;

-- STOCK, DELIVERIES, ROUNDS -----------------------------------------------------------------------

INSERT INTO kind VALUES ('stock_moved'), ('stock_counted'), ('delivered'), ('round_out'), ('round_back'), ('returned'), ('empties');

-- a round brings packs to customers; a stall sells to the public, at a place and between hours
CREATE TABLE round (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  kind TEXT NOT NULL CONSTRAINT round_kind CHECK (kind IN ('round', 'stall')),
  name TEXT NOT NULL CONSTRAINT round_name CHECK (length(name) BETWEEN 1 AND 60),
  day TEXT NOT NULL CONSTRAINT round_day CHECK (day IS date(day)),
  out_at TEXT NOT NULL CONSTRAINT round_out_at CHECK (out_at IS strftime('%Y-%m-%dT%H:%M:%SZ', out_at)),
  temp_dc INTEGER CONSTRAINT round_temp CHECK (temp_dc BETWEEN -200 AND 600),
  place TEXT,
  hours TEXT,
  CONSTRAINT round_stall CHECK (kind = 'round' OR (length(place) > 0 AND length(hours) > 0))
) STRICT;
CREATE INDEX round_entry ON round (entry_id);
CREATE INDEX round_by_day ON round (day) WHERE void_by IS NULL;
CREATE TRIGGER round_frozen BEFORE UPDATE OF id, entry_id, kind, name, day, out_at, temp_dc, place, hours ON round
BEGIN SELECT RAISE(ABORT, 'round_frozen'); END;
CREATE TRIGGER round_void_once BEFORE UPDATE OF void_by ON round WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'round_frozen'); END;
CREATE TRIGGER round_kept BEFORE DELETE ON round BEGIN SELECT RAISE(ABORT, 'round_frozen'); END;

-- round_id: brought on that round, else from the room
CREATE TABLE delivery (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  customer_id INTEGER NOT NULL REFERENCES customer (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT delivery_day CHECK (day IS date(day)),
  order_id INTEGER REFERENCES sale_order (id) ON DELETE RESTRICT,
  round_id INTEGER REFERENCES round (id) ON DELETE RESTRICT,
  received_by TEXT,
  temp_dc INTEGER CONSTRAINT delivery_temp CHECK (temp_dc BETWEEN -200 AND 600)
) STRICT;
CREATE INDEX delivery_entry ON delivery (entry_id);
CREATE INDEX delivery_customer ON delivery (customer_id, day);
CREATE INDEX delivery_day ON delivery (day) WHERE void_by IS NULL;
CREATE INDEX delivery_order ON delivery (order_id) WHERE order_id IS NOT NULL AND void_by IS NULL;
CREATE TRIGGER delivery_frozen BEFORE UPDATE OF id, entry_id, customer_id, day, order_id, round_id, received_by, temp_dc ON delivery
BEGIN SELECT RAISE(ABORT, 'delivery_frozen'); END;
CREATE TRIGGER delivery_void_once BEFORE UPDATE OF void_by ON delivery WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'delivery_frozen'); END;
CREATE TRIGGER delivery_kept BEFORE DELETE ON delivery BEGIN SELECT RAISE(ABORT, 'delivery_frozen'); END;

-- amounts are never negative but for a count: the kind says what they do. Packs of a pack lot, grams of a harvest lot; trim and
-- waste of a packing run are grams of the pack lot it gave. round_id: of what that round carries, else of what is in the room.
-- what: what becomes of packs that came back; about_id: the return it decides; keep_until: a kept sample
CREATE TABLE stock_move (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  kind TEXT NOT NULL CONSTRAINT stock_move_kind CHECK (kind IN (
    'made', 'trim', 'waste', 'sample', 'given', 'sold_public', 'delivered', 'refused', 'returned', 'decided', 'loaded', 'brought_back', 'count')),
  grams INTEGER CONSTRAINT stock_move_grams CHECK (kind = 'count' OR grams >= 0),
  packs INTEGER CONSTRAINT stock_move_packs CHECK (kind = 'count' OR packs > 0),
  day TEXT NOT NULL CONSTRAINT stock_move_day CHECK (day IS date(day)),
  delivery_id INTEGER REFERENCES delivery (id) ON DELETE RESTRICT,
  round_id INTEGER REFERENCES round (id) ON DELETE RESTRICT,
  customer_id INTEGER REFERENCES customer (id) ON DELETE RESTRICT,
  extra INTEGER CONSTRAINT stock_move_extra CHECK (extra IN (0, 1)),
  what TEXT CONSTRAINT stock_move_what CHECK (what IN ('binned', 'sample', 'undecided')),
  about_id INTEGER REFERENCES stock_move (id) ON DELETE RESTRICT,
  temp_dc INTEGER CONSTRAINT stock_move_temp CHECK (temp_dc BETWEEN -200 AND 600),
  out_min INTEGER CONSTRAINT stock_move_out CHECK (out_min BETWEEN 0 AND 100000),
  person_id INTEGER REFERENCES person (id) ON DELETE RESTRICT,
  keep_until TEXT CONSTRAINT stock_move_keep CHECK (keep_until IS date(keep_until)),
  reason TEXT,
  CONSTRAINT stock_move_amount CHECK ((grams IS NULL) <> (packs IS NULL)),
  CONSTRAINT stock_move_delivered CHECK (kind NOT IN ('delivered', 'returned') OR delivery_id IS NOT NULL),
  CONSTRAINT stock_move_round CHECK (kind NOT IN ('loaded', 'brought_back', 'sold_public') OR round_id IS NOT NULL),
  CONSTRAINT stock_move_back CHECK (kind <> 'brought_back' OR (temp_dc IS NOT NULL AND out_min IS NOT NULL AND person_id IS NOT NULL)),
  CONSTRAINT stock_move_came_back CHECK ((kind IN ('returned', 'decided')) = (what IS NOT NULL))
) STRICT;
CREATE INDEX stock_move_entry ON stock_move (entry_id);
CREATE INDEX stock_move_lot ON stock_move (lot_id, kind);
CREATE INDEX stock_move_delivery ON stock_move (delivery_id) WHERE delivery_id IS NOT NULL;
CREATE INDEX stock_move_customer ON stock_move (customer_id) WHERE customer_id IS NOT NULL;
CREATE INDEX stock_move_round ON stock_move (round_id) WHERE round_id IS NOT NULL;
CREATE INDEX stock_move_day ON stock_move (day);
CREATE TRIGGER stock_move_frozen BEFORE UPDATE OF id, entry_id, lot_id, kind, grams, packs, day, delivery_id, round_id, customer_id, extra, what, about_id, temp_dc, out_min, person_id, keep_until, reason ON stock_move
BEGIN SELECT RAISE(ABORT, 'stock_move_frozen'); END;
CREATE TRIGGER stock_move_void_once BEFORE UPDATE OF void_by ON stock_move WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'stock_move_frozen'); END;
CREATE TRIGGER stock_move_kept BEFORE DELETE ON stock_move BEGIN SELECT RAISE(ABORT, 'stock_move_frozen'); END;

-- live trays come back empty, and are washed before they are used again
CREATE TABLE empties (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES entry (id) ON DELETE RESTRICT,
  void_by INTEGER REFERENCES entry (id) ON DELETE RESTRICT,
  customer_id INTEGER NOT NULL REFERENCES customer (id) ON DELETE RESTRICT,
  day TEXT NOT NULL CONSTRAINT empties_day CHECK (day IS date(day)),
  trays INTEGER NOT NULL CONSTRAINT empties_trays CHECK (trays BETWEEN 1 AND 100000),
  washed_with TEXT NOT NULL CONSTRAINT empties_washed CHECK (length(washed_with) BETWEEN 1 AND 200)
) STRICT;
CREATE INDEX empties_entry ON empties (entry_id);
CREATE INDEX empties_customer ON empties (customer_id);
CREATE TRIGGER empties_frozen BEFORE UPDATE OF id, entry_id, customer_id, day, trays, washed_with ON empties
BEGIN SELECT RAISE(ABORT, 'empties_frozen'); END;
CREATE TRIGGER empties_void_once BEFORE UPDATE OF void_by ON empties WHEN OLD.void_by IS NOT NULL OR NEW.void_by IS NULL
BEGIN SELECT RAISE(ABORT, 'empties_frozen'); END;
CREATE TRIGGER empties_kept BEFORE DELETE ON empties BEGIN SELECT RAISE(ABORT, 'empties_frozen'); END;

-- what is there of a lot: grams of a harvest lot, packs of a pack lot, packs on rounds
CREATE VIEW lot_stock AS
SELECT l.id AS lot_id,
  CASE l.kind WHEN 'harvest' THEN
    (SELECT coalesce(sum(CASE WHEN m.kind IN ('made', 'count') THEN m.grams WHEN m.kind IN ('waste', 'sample', 'given') THEN -m.grams ELSE 0 END), 0)
     FROM stock_move m WHERE m.lot_id = l.id AND m.void_by IS NULL)
    - (SELECT coalesce(sum(i.grams), 0) FROM lot_input i WHERE i.from_lot_id = l.id AND i.void_by IS NULL)
  ELSE 0 END AS grams,
  CASE l.kind WHEN 'pack' THEN
    (SELECT coalesce(sum(CASE WHEN m.kind IN ('made', 'count', 'brought_back') THEN m.packs
       WHEN m.kind = 'loaded' OR (m.round_id IS NULL AND m.kind IN ('waste', 'sample', 'given', 'delivered')) THEN -m.packs ELSE 0 END), 0)
     FROM stock_move m WHERE m.lot_id = l.id AND m.void_by IS NULL AND m.packs IS NOT NULL)
    - (SELECT coalesce(sum(i.packs), 0) FROM lot_input i WHERE i.from_lot_id = l.id AND i.void_by IS NULL)
  ELSE 0 END AS packs,
  (SELECT coalesce(sum(CASE m.kind WHEN 'loaded' THEN m.packs ELSE -m.packs END), 0) FROM stock_move m
   WHERE m.lot_id = l.id AND m.void_by IS NULL AND m.round_id IS NOT NULL
   AND m.kind IN ('loaded', 'waste', 'sample', 'given', 'delivered', 'sold_public', 'brought_back')) AS out_packs
FROM lot l;

-- what one round still carries of a lot
CREATE VIEW round_stock AS
SELECT round_id, lot_id,
  sum(CASE kind WHEN 'loaded' THEN packs WHEN 'refused' THEN 0 ELSE -packs END) AS packs
FROM stock_move WHERE round_id IS NOT NULL AND void_by IS NULL GROUP BY round_id, lot_id;

-- never less than nothing, neither after a row comes nor after one goes
CREATE TRIGGER lot_below_zero_new AFTER INSERT ON stock_move
BEGIN
  SELECT RAISE(ABORT, 'lot_below_zero') FROM lot_stock s WHERE s.lot_id = NEW.lot_id AND (s.grams < 0 OR s.packs < 0 OR s.out_packs < 0);
  SELECT RAISE(ABORT, 'lot_below_zero') FROM round_stock r WHERE r.round_id = NEW.round_id AND r.lot_id = NEW.lot_id AND r.packs < 0;
END;
CREATE TRIGGER lot_below_zero_void AFTER UPDATE OF void_by ON stock_move
BEGIN
  SELECT RAISE(ABORT, 'lot_below_zero') FROM lot_stock s WHERE s.lot_id = NEW.lot_id AND (s.grams < 0 OR s.packs < 0 OR s.out_packs < 0);
  SELECT RAISE(ABORT, 'lot_below_zero') FROM round_stock r WHERE r.round_id = NEW.round_id AND r.lot_id = NEW.lot_id AND r.packs < 0;
END;
CREATE TRIGGER lot_below_zero_drawn AFTER INSERT ON lot_input WHEN NEW.from_lot_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'lot_below_zero') FROM lot_stock s WHERE s.lot_id = NEW.from_lot_id AND (s.grams < 0 OR s.packs < 0);
END;
-- not more comes back from a customer than went there
CREATE TRIGGER returned_over AFTER INSERT ON stock_move WHEN NEW.kind = 'returned'
BEGIN
  SELECT RAISE(ABORT, 'returned_over')
  WHERE (SELECT coalesce(sum(CASE kind WHEN 'delivered' THEN packs ELSE -packs END), 0) FROM stock_move
         WHERE delivery_id = NEW.delivery_id AND lot_id = NEW.lot_id AND kind IN ('delivered', 'returned') AND void_by IS NULL) < 0;
END;
CREATE TRIGGER returned_over_void AFTER UPDATE OF void_by ON stock_move WHEN OLD.kind = 'delivered'
BEGIN
  SELECT RAISE(ABORT, 'returned_over')
  WHERE (SELECT coalesce(sum(CASE kind WHEN 'delivered' THEN packs ELSE -packs END), 0) FROM stock_move
         WHERE delivery_id = NEW.delivery_id AND lot_id = NEW.lot_id AND kind IN ('delivered', 'returned') AND void_by IS NULL) < 0;
END;

-- a tray has as many mats as were sown, less those lost and cut for good
DROP TRIGGER tray_mats_over;
CREATE TRIGGER tray_mats_over AFTER INSERT ON loss
BEGIN
  SELECT RAISE(ABORT, 'tray_mats_over')
  WHERE (SELECT coalesce(sum(mats), 0) FROM loss WHERE tray_id = NEW.tray_id AND void_by IS NULL)
      + (SELECT coalesce(sum(mats), 0) FROM lot_input WHERE tray_id = NEW.tray_id AND again IS NOT 1 AND void_by IS NULL)
      > (SELECT mats FROM tray WHERE id = NEW.tray_id);
END;
CREATE TRIGGER tray_mats_over_cut AFTER INSERT ON lot_input WHEN NEW.tray_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'tray_mats_over')
  WHERE (SELECT coalesce(sum(mats), 0) FROM loss WHERE tray_id = NEW.tray_id AND void_by IS NULL)
      + (SELECT coalesce(sum(mats), 0) FROM lot_input WHERE tray_id = NEW.tray_id AND again IS NOT 1 AND void_by IS NULL)
      + CASE WHEN NEW.again THEN NEW.mats ELSE 0 END > (SELECT mats FROM tray WHERE id = NEW.tray_id);
END;

-- WHAT STANDS AGAINST IT --------------------------------------------------------------------------

-- what is there now of the lots that are there: worked out from the facts of one lot, never patched
CREATE TABLE lot_now (
  lot_id INTEGER PRIMARY KEY REFERENCES lot (id) ON DELETE RESTRICT,
  grams INTEGER NOT NULL,
  packs INTEGER NOT NULL,
  out_packs INTEGER NOT NULL,
  held INTEGER NOT NULL CONSTRAINT lot_now_held CHECK (held IN (0, 1))
) STRICT;

CREATE TABLE breach_lot (
  breach_id INTEGER NOT NULL REFERENCES breach (id) ON DELETE RESTRICT,
  lot_id INTEGER NOT NULL REFERENCES lot (id) ON DELETE RESTRICT,
  PRIMARY KEY (breach_id, lot_id)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER breach_lot_frozen BEFORE UPDATE ON breach_lot BEGIN SELECT RAISE(ABORT, 'breach_lot_frozen'); END;
CREATE TRIGGER breach_lot_kept BEFORE DELETE ON breach_lot BEGIN SELECT RAISE(ABORT, 'breach_lot_frozen'); END;
CREATE INDEX breach_lot_lot ON breach_lot (lot_id);

ALTER TABLE hold_item ADD COLUMN lot_id INTEGER REFERENCES lot (id) ON DELETE RESTRICT;
CREATE INDEX hold_item_lot ON hold_item (lot_id) WHERE lot_id IS NOT NULL;
DROP TRIGGER hold_item_one;
CREATE TRIGGER hold_item_one BEFORE INSERT ON hold_item
WHEN (NEW.sowing_id IS NOT NULL) + (NEW.tray_id IS NOT NULL) + (NEW.lot_id IS NOT NULL) <> 1
BEGIN SELECT RAISE(ABORT, 'hold_item_one'); END;
DROP VIEW blocked;
CREATE VIEW blocked AS
SELECT i.hold_id, i.sowing_id, i.tray_id, i.lot_id FROM hold_item i JOIN hold h ON h.id = i.hold_id
WHERE h.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM hold_decision d
  WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what = 'accepted');

-- mats cut off a tray that stays: the same rules as of a tray that leaves
CREATE TRIGGER input_bad_tray_cut BEFORE INSERT ON lot_input WHEN NEW.tray_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'input_bad_tray') FROM tray_now n WHERE n.tray_id = NEW.tray_id AND (n.suspect OR n.bad)
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_suspect')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;
CREATE TRIGGER input_blocked_cut BEFORE INSERT ON lot_input WHEN NEW.tray_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'input_blocked') FROM tray_now n WHERE n.tray_id = NEW.tray_id AND n.held
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo');
END;
CREATE TRIGGER input_waiting_cut BEFORE INSERT ON lot_input WHEN NEW.tray_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'input_waiting') FROM tray_now n JOIN entry e ON e.id = NEW.entry_id
  WHERE n.tray_id = NEW.tray_id AND n.wait_until > coalesce(e.seen_at, e.at)
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'cut_waiting')
    AND e.kind NOT IN ('corrected', 'undo');
END;
-- a held lot is neither packed, nor sold, nor given away
CREATE TRIGGER input_blocked_lot BEFORE INSERT ON lot_input WHEN NEW.from_lot_id IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'input_blocked') FROM lot_now n WHERE n.lot_id = NEW.from_lot_id AND n.held
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'pack_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo', 'reissued');
END;
CREATE TRIGGER delivery_blocked BEFORE INSERT ON stock_move
WHEN NEW.kind IN ('delivered', 'loaded', 'sold_public', 'given')
BEGIN
  SELECT RAISE(ABORT, 'delivery_blocked') FROM lot_now n WHERE n.lot_id = NEW.lot_id AND n.held
    AND NOT EXISTS (SELECT 1 FROM breach WHERE entry_id = NEW.entry_id AND rule = 'deliver_held')
    AND (SELECT kind FROM entry WHERE id = NEW.entry_id) NOT IN ('corrected', 'undo', 'reissued');
END;
