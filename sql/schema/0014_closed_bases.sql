-- What the figures of jobs stood on at a frozen day, in words: a price that comes later leaves
-- the sheets of a closed month as they were. Months closed before have none kept.

-- grain: one job that stood on something then
CREATE TABLE closed_job_bases (
    month    DATE NOT NULL,
    until_on DATE NOT NULL,
    job      VARCHAR NOT NULL,
    basis    VARCHAR NOT NULL
);
COMMENT ON TABLE closed_job_bases IS 'what a job''s figures stood on at a frozen day';
ALTER TABLE closed_positions ADD COLUMN bases_kept BOOLEAN DEFAULT false;
COMMENT ON COLUMN closed_positions.bases_kept IS 'closed_job_bases has what jobs stood on that day';
