-- Undoing an import: when it was read, which later imports build on it, and in which order
-- the rows of a group stand when several files have brought them. What closing a month
-- still owes, and which imports it stands on.

ALTER TABLE imports ADD COLUMN read_utc TIMESTAMP;
ALTER TABLE imports ADD COLUMN undone_utc TIMESTAMP;
COMMENT ON COLUMN imports.read_utc IS 'instant of reading; blank for imports older than this column';
COMMENT ON COLUMN imports.undone_utc IS 'instant at which the import was undone; blank while it is in force';

-- grain: one earlier import that an import builds on
CREATE TABLE import_bases (
    import_id  BIGINT NOT NULL,
    earlier_id BIGINT NOT NULL
);
COMMENT ON TABLE import_bases IS 'one earlier import on whose rows, or whose removals, an import builds';
COMMENT ON COLUMN import_bases.import_id IS 'the later import: it found rows of the earlier one, or took their place';
COMMENT ON COLUMN import_bases.earlier_id IS 'the earlier import, which can''t be undone before the later one';

-- Imports from before this table did not note what they build on: each counts as building
-- on all earlier ones of its feed.
INSERT INTO import_bases
SELECT later.import_id, earlier.import_id
FROM imports AS later
JOIN imports AS earlier ON earlier.feed = later.feed AND earlier.import_id < later.import_id;

-- grain: one row that a newer file of its group left as it is
CREATE TABLE row_places (
    import_id   BIGINT NOT NULL,
    import_line BIGINT NOT NULL,
    place       BIGINT NOT NULL,
    placed_by   BIGINT NOT NULL
);
COMMENT ON TABLE row_places IS 'one row that a newer file of its group left as it is, and its line there';
COMMENT ON COLUMN row_places.import_id IS 'import that brought the row';
COMMENT ON COLUMN row_places.import_line IS 'line of that import''s file';
COMMENT ON COLUMN row_places.place IS 'line of the newer file, by which the rows of the group are in order';
COMMENT ON COLUMN row_places.placed_by IS 'import of the newer file';

ALTER TABLE closed_months ADD COLUMN book_written BOOLEAN DEFAULT true;
ALTER TABLE closed_months ADD COLUMN last_import_id BIGINT;
COMMENT ON COLUMN closed_months.book_written IS 'false from the moment of closing until the month-end book is written';
COMMENT ON COLUMN closed_months.last_import_id IS 'the newest import when the month was closed; blank for months closed before this column';
