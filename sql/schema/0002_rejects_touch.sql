-- What a refused row touches, where its cells could be read: the front sheet says how many
-- minutes and dollars stand outside the books. Said once a row, on its first fault.

ALTER TABLE rejects ADD COLUMN touched_seconds BIGINT;
ALTER TABLE rejects ADD COLUMN touched_usd DECIMAL(18,2);
COMMENT ON COLUMN rejects.touched_seconds IS 'people-seconds of the refused row, where they can be read; on the first fault of the row only';
COMMENT ON COLUMN rejects.touched_usd IS 'dollars of the refused row, where they can be read; on the first fault of the row only; never pay';
