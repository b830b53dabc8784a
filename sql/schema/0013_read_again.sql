-- What a version older than this one did not note of the files that it read: the minutes and
-- dollars of refused rows (0002) and which later file brought them (0012). The next command
-- that writes reads such files again from archive/ and notes it.

ALTER TABLE imports ADD COLUMN read_again BOOLEAN DEFAULT false;
COMMENT ON COLUMN imports.read_again IS 'true until what an older version did not note of the file is read from archive/';

-- An import of a feed with refused rows of which nothing is noted, from the first of them on.
UPDATE imports
SET read_again = true
WHERE undone_utc IS NULL AND import_id >= (
    SELECT min(r.import_id)
    FROM refused_rows AS r
    WHERE r.feed = imports.feed AND r.row_key IS NULL AND r.state = 'open'
);
