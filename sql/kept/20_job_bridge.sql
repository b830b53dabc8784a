-- The bridge of each job on the day after a period's last, worked out once for its sheets.
-- grain: one job and term, as of the macro
CREATE TEMP TABLE kept_job_bridge AS
SELECT $until::DATE AS at_day, b.*
FROM job_bridge($until::DATE) AS b
WHERE $from::DATE IS NOT NULL;
