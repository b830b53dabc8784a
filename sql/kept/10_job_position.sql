-- Where jobs stood on the first day of a period and on the day after its last: what many
-- sheets of the period ask, worked out once on their connection.
-- grain: one day and job
CREATE TEMP TABLE kept_job_position AS
SELECT $until::DATE AS at_day, p.*
FROM job_position($until::DATE) AS p
UNION ALL
SELECT $from::DATE AS at_day, p.*
FROM job_position($from::DATE) AS p
WHERE $from::DATE <> $until::DATE;
