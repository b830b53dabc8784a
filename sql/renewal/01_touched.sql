-- The first day that rows of the new files, or rows that they took the place of, may change.
-- A row whose group came in another order is touched too. No day stands for none, and the first
-- day of the calendar for a row that belongs to no day.
WITH timecard_days AS (
    SELECT least(work_date, started_at::DATE, ended_at::DATE) AS day, import_id, import_line, NULL::BIGINT AS superseded_by FROM timecards
    UNION ALL
    SELECT least(work_date, started_at::DATE, ended_at::DATE), import_id, import_line, superseded_by FROM history.timecards
),
completion_days AS (
    SELECT least(shift_date, setup_started_at::DATE, build_started_at::DATE, finished_at::DATE) AS day, import_id, import_line, NULL::BIGINT AS superseded_by FROM completions
    UNION ALL
    SELECT least(shift_date, setup_started_at::DATE, build_started_at::DATE, finished_at::DATE), import_id, import_line, superseded_by FROM history.completions
),
usage_days AS (
    SELECT used_at::DATE AS day, import_id, import_line, NULL::BIGINT AS superseded_by FROM lumber_usage
    UNION ALL
    SELECT used_at::DATE, import_id, import_line, superseded_by FROM history.lumber_usage
),
other_days AS (
    SELECT started_at::DATE AS day, import_id, import_line, NULL::BIGINT AS superseded_by FROM stoppages
    UNION ALL SELECT started_at::DATE, import_id, import_line, superseded_by FROM history.stoppages
    UNION ALL SELECT received_on, import_id, import_line, NULL FROM receipts
    UNION ALL SELECT received_on, import_id, import_line, superseded_by FROM history.receipts
    UNION ALL SELECT counted_on, import_id, import_line, NULL FROM counts
    UNION ALL SELECT counted_on, import_id, import_line, superseded_by FROM history.counts
    UNION ALL SELECT effective_on, import_id, import_line, NULL FROM lumber_prices
    UNION ALL SELECT effective_on, import_id, import_line, superseded_by FROM history.lumber_prices
    UNION ALL SELECT least(effective_on, paid_from), import_id, import_line, NULL FROM wages
    UNION ALL SELECT least(effective_on, paid_from), import_id, import_line, superseded_by FROM history.wages
    UNION ALL SELECT least(workweek_start, earned_from), import_id, import_line, NULL FROM other_pay
    UNION ALL SELECT least(workweek_start, earned_from), import_id, import_line, superseded_by FROM history.other_pay
),
-- A list of trusses counts from the first day on which its job was worked on.
listed_batches AS (
    SELECT DISTINCT c.batch FROM completions AS c SEMI JOIN listed_jobs AS l ON l.job = c.job WHERE c.batch IS NOT NULL
),
days_of AS (
    SELECT * FROM timecard_days
    UNION ALL SELECT * FROM completion_days
    UNION ALL SELECT * FROM usage_days
    UNION ALL SELECT * FROM other_days
),
touched AS (
    SELECT coalesce(day, DATE '0001-01-01') AS day
    FROM days_of
    WHERE superseded_by IS NULL AND import_id IN (SELECT import_id FROM new_imports) OR superseded_by IN (SELECT import_id FROM new_imports)
    UNION ALL
    SELECT coalesce(d.day, DATE '0001-01-01')
    FROM days_of AS d
    JOIN row_places AS p ON p.import_id = d.import_id AND p.import_line = d.import_line
    WHERE p.placed_by IN (SELECT import_id FROM new_imports)
    UNION ALL
    SELECT coalesce(c.finished_at::DATE, c.shift_date) FROM completions AS c SEMI JOIN listed_jobs AS l ON l.job = c.job
    UNION ALL
    SELECT u.used_at::DATE FROM lumber_usage AS u SEMI JOIN listed_jobs AS l ON l.job = u.job
    UNION ALL
    SELECT u.used_at::DATE FROM lumber_usage AS u SEMI JOIN listed_batches AS b ON b.batch = u.batch
)
SELECT min(day) FROM touched
