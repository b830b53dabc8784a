-- Names that the plant doesn't know. They are never refused: they land, are kept out of
-- rates, and are named.

-- grain: one row of a feed that names something unknown
CREATE OR REPLACE TABLE steps.unknown_names AS
WITH known_crews AS (
    SELECT DISTINCT crew FROM completions
),
punched_crews AS (
    SELECT DISTINCT crew FROM timecards WHERE crew IS NOT NULL
),
mentions AS (
    SELECT 'trusses' AS feed, job, NULL AS truss, NULL::DATE AS on_day, import_id, import_line FROM trusses
    UNION ALL SELECT 'cut_pieces', job, truss, NULL, import_id, import_line FROM cut_pieces
    UNION ALL SELECT 'completions', job, truss, coalesce(shift_date, finished_at::DATE), import_id, import_line FROM completions
    UNION ALL SELECT 'lumber_usage', job, NULL, used_at::DATE, import_id, import_line FROM lumber_usage
    UNION ALL SELECT 'timecards', job, NULL, coalesce(work_date, started_at::DATE), import_id, import_line FROM timecards
    UNION ALL SELECT 'invoices', job, NULL, invoiced_on, import_id, import_line FROM invoices
    UNION ALL SELECT 'job_costs', job, NULL, incurred_on, import_id, import_line FROM job_costs
    UNION ALL SELECT 'inspections', job, truss, shift_date, import_id, import_line FROM inspections
)
SELECT
    m.feed, 'job' AS kind, m.job AS name, m.job, concat('job ', m.job, ' of ', m.feed, ' is not in jobs') AS what, m.on_day, m.import_id, m.import_line,
    'add the job to jobs, or correct the number' AS remedy
FROM mentions AS m
ANTI JOIN jobs AS j ON j.job = m.job
WHERE m.job IS NOT NULL
UNION ALL
SELECT
    m.feed, 'truss', m.truss, m.job, concat('truss ', m.truss, ' of job ', m.job, ' in ', m.feed, ' is not in trusses'), m.on_day, m.import_id, m.import_line,
    'add the mark to trusses, or correct it'
FROM mentions AS m
ANTI JOIN trusses AS t ON t.job = m.job AND t.truss = m.truss
WHERE m.truss IS NOT NULL
UNION ALL
SELECT
    'timecards', 'employee', t.employee, NULL, concat('employee ', t.employee, ' is not in wages'), coalesce(t.work_date, t.started_at::DATE), t.import_id, t.import_line,
    'add the employee to wages, or correct the code'
FROM timecards AS t
ANTI JOIN wages AS w ON w.employee = t.employee
UNION ALL
SELECT
    'timecards', 'crew', t.crew, NULL, concat('crew ', t.crew, ' of ', t.employee, ' has no runs in completions'), coalesce(t.work_date, t.started_at::DATE), t.import_id, t.import_line,
    'correct the crew code, or give the punch a station'
FROM timecards AS t
ANTI JOIN known_crews AS k ON k.crew = t.crew
WHERE t.crew IS NOT NULL AND t.station IS NULL
UNION ALL
SELECT
    'completions', 'crew', c.crew, c.job, concat('crew ', c.crew, ' of completions has no punches'), coalesce(c.shift_date, c.finished_at::DATE), c.import_id, c.import_line,
    'correct the crew code, or import its timecards'
FROM completions AS c
ANTI JOIN punched_crews AS p ON p.crew = c.crew
-- A clock that knows no crews makes none of them unknown.
WHERE EXISTS (SELECT 1 FROM punched_crews)
UNION ALL
-- No figure is made by an incident's crew, but a mistyped one is a mistake in a record that
-- the law may ask for.
SELECT
    'incidents', 'crew', n.crew, NULL, concat('crew ', n.crew, ' of incident ', n.record, ' is in no completion and no timecard'), n.shift_date, n.import_id, n.import_line,
    'correct the crew code, or leave it blank'
FROM incidents AS n
ANTI JOIN known_crews AS k ON k.crew = n.crew
ANTI JOIN punched_crews AS p ON p.crew = n.crew
WHERE n.crew IS NOT NULL;
COMMENT ON TABLE steps.unknown_names IS 'one row of a feed that names a job, truss, employee or crew that nothing else knows';
