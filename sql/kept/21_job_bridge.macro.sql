-- Stands before the ledgers' macro of this name, as job_position does, for the day after the
-- period's last alone.
CREATE TEMP MACRO job_bridge(until_day) AS TABLE
SELECT b.* EXCLUDE (at_day)
FROM temp.kept_job_bridge AS b
WHERE b.at_day = (
    SELECT CASE WHEN max(k.day) = any_value(until_day) THEN any_value(until_day) ELSE error('job_bridge is not kept for this day') END
    FROM temp.kept_days AS k
);
