INSERT INTO kind VALUES ('standing'), ('part_lost');

-- a tray that stood before the book was begun: the lot its seed came from, if anyone knows; grams are not known
ALTER TABLE sowing ADD COLUMN before_lot_id INTEGER REFERENCES seed_lot (id) ON DELETE RESTRICT;
CREATE TRIGGER sowing_before_lot_frozen BEFORE UPDATE OF before_lot_id ON sowing
BEGIN SELECT RAISE(ABORT, 'sowing_frozen'); END;
CREATE INDEX sowing_before_lot ON sowing (before_lot_id) WHERE before_lot_id IS NOT NULL;
