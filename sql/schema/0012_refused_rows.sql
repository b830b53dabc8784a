-- What became of each refused row. The table rejects says what was wrong with it, and keeps
-- saying so; here stands whether it is still missing. The front sheet counts the open ones.

-- grain: one refused row of one import
CREATE TABLE refused_rows (
    import_id  BIGINT NOT NULL,
    feed       VARCHAR NOT NULL,
    line       BIGINT NOT NULL,
    row_key    VARCHAR,
    state      VARCHAR NOT NULL,
    settled_by BIGINT,
    again_line BIGINT
);
COMMENT ON TABLE refused_rows IS 'one refused row of one import, and what became of it';
COMMENT ON COLUMN refused_rows.line IS 'line of the file on which the row begins';
COMMENT ON COLUMN refused_rows.row_key IS 'key or group of the row as JSON, NULL where its cells don''t tell; never pay';
COMMENT ON COLUMN refused_rows.state IS 'open; mended = a later file named it and brought it in good shape; replaced = a later file brought its key or group; again = refused again, counted there; dropped = a rejects file gave it up';
COMMENT ON COLUMN refused_rows.settled_by IS 'import that settled it, NULL while it is open';
COMMENT ON COLUMN refused_rows.again_line IS 'line of the settling import''s file on which it was refused again, NULL unless it was';

INSERT INTO refused_rows
SELECT DISTINCT import_id, feed, line, NULL::VARCHAR, 'open', NULL::BIGINT, NULL::BIGINT
FROM rejects;
