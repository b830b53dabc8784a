-- The figures of one job, to date before a day.
-- grain: the job
SELECT * FROM job_position($until::DATE) WHERE job = $job;
