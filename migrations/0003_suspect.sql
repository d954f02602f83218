-- Suspect trays: the evidence, what was mixed and sprayed, water and air, the room's checks. Same style as 0001: STRICT,
-- named constraints, ON DELETE RESTRICT; facts are frozen.

-- SIGNS AND VERDICTS ----------------------------------------------------------------------------------

-- DECISIONS AND HOLDS ---------------------------------------------------------------------------------

-- MIXES AND TREATMENTS --------------------------------------------------------------------------------

-- WATER AND AIR ---------------------------------------------------------------------------------------

-- CHECKS OF THE ROOM ----------------------------------------------------------------------------------
