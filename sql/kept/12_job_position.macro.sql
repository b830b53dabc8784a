-- Stands before the ledgers' macro of this name on a connection that keeps the jobs. Another day
-- than those kept is an error, for no row would look like no job.
CREATE TEMP MACRO job_position(until_day) AS TABLE
SELECT p.* EXCLUDE (at_day)
FROM temp.kept_job_position AS p
WHERE p.at_day = (
    SELECT CASE WHEN bool_or(k.day = until_day) THEN any_value(until_day) ELSE error('job_position is not kept for this day') END
    FROM temp.kept_days AS k
);
