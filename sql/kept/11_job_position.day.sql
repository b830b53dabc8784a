INSERT INTO temp.kept_job_position
SELECT $day::DATE, p.*
FROM job_position($day::DATE) AS p;
