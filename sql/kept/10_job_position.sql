-- Where jobs stood on the days that the sheets of a period ask for: many of them do, so it is
-- worked out once on their connection.

-- grain: one day for which something is kept
CREATE TEMP TABLE kept_days (
    day DATE NOT NULL
);

-- grain: one day and job, as of the ledgers' macro
CREATE TEMP TABLE kept_job_position AS
SELECT DATE '1900-01-01' AS at_day, p.*
FROM job_position(DATE '1900-01-01') AS p
LIMIT 0;
