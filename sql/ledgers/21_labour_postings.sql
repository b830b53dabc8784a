-- What paid time costs, to jobs and pools.
--
-- Cents are differences of a rounded running total: an employee's week for pay, a job for
-- burden and overhead. Later rows thereby never move earlier cents, and sums are exact.

-- grain: one posting of labour, burden or overhead
CREATE OR REPLACE TABLE steps.labour_postings AS
WITH running AS (
    SELECT
        m.minute_row_id, m.employee, m.workweek_start, m.day, m.seconds, m.use, m.job, m.remake, m.run_row_id, m.rate_e4, m.import_id, m.import_line,
        m.run_row_id IS NOT NULL AS on_run,
        m.use = 'paid_not_worked' AS not_worked,
        coalesce(m.seconds * m.rate_e4, 0)::BIGINT AS units,
        sum(coalesce(m.seconds * m.rate_e4, 0)) OVER week AS units_to,
        -- Burden units: 360000 x 1000000 make a cent.
        sum(CASE WHEN m.run_row_id IS NOT NULL
            THEN m.seconds::HUGEINT * (coalesce(m.rate_e4, 0) * s.burden_pct_e6 + s.burden_per_hour_e4 * 1000000) ELSE 0 END) OVER by_job AS burden_to,
        CASE WHEN m.run_row_id IS NOT NULL
            THEN m.seconds::HUGEINT * (coalesce(m.rate_e4, 0) * s.burden_pct_e6 + s.burden_per_hour_e4 * 1000000) ELSE 0 END AS burden_units,
        sum(CASE WHEN m.run_row_id IS NOT NULL THEN m.seconds * s.overhead_per_hour_e4 ELSE 0 END) OVER by_job AS overhead_to,
        CASE WHEN m.run_row_id IS NOT NULL THEN m.seconds * s.overhead_per_hour_e4 ELSE 0 END AS overhead_units
    FROM steps.minute_rows AS m
    CROSS JOIN settings AS s
    WINDOW
        week AS (PARTITION BY m.employee, m.workweek_start, m.use = 'paid_not_worked' ORDER BY m.minute_row_id ROWS UNBOUNDED PRECEDING),
        by_job AS (PARTITION BY m.job ORDER BY m.day, m.from_utc, m.minute_row_id ROWS UNBOUNDED PRECEDING)
)
SELECT
    r.day AS posted_on,
    CASE WHEN r.on_run THEN 'direct_labour' WHEN r.not_worked THEN 'leave' ELSE r.use END AS class,
    CASE WHEN r.on_run THEN NULL WHEN r.not_worked THEN 'leave' ELSE r.use END AS pool,
    r.job,
    rounded_quotient(r.units_to, 360000) - rounded_quotient(r.units_to - r.units, 360000) AS cents,
    r.employee, r.workweek_start, r.remake, r.import_id, r.import_line
FROM running AS r
UNION ALL
SELECT
    r.day, 'burden', NULL, r.job,
    rounded_quotient(r.burden_to, 360000000000) - rounded_quotient(r.burden_to - r.burden_units, 360000000000),
    r.employee, r.workweek_start, r.remake, r.import_id, r.import_line
FROM running AS r
WHERE r.on_run
UNION ALL
SELECT
    r.day, 'overhead_applied', NULL, r.job,
    rounded_quotient(r.overhead_to, 360000) - rounded_quotient(r.overhead_to - r.overhead_units, 360000),
    r.employee, r.workweek_start, r.remake, r.import_id, r.import_line
FROM running AS r
WHERE r.on_run;
COMMENT ON TABLE steps.labour_postings IS 'labour, burden and overhead in cents; holds wages';

-- grain: one posting of overtime premium
CREATE OR REPLACE TABLE steps.premium_postings AS
WITH premiums AS (
    SELECT p.employee, p.workweek_start, usd_to_cents(p.overtime_premium_usd) AS cents
    FROM pay_weeks AS p
    WHERE p.overtime_premium_usd <> 0
),
-- With premium to the job it follows all of the person's run time of the workweek;
-- otherwise, and for a week without run time, it stays in its pool.
shares AS (
    SELECT
        m.employee, m.workweek_start, m.minute_row_id, m.day, m.job, m.remake, m.import_id, m.import_line, m.seconds AS weight
    FROM steps.minute_rows AS m
    CROSS JOIN settings AS s
    WHERE m.run_row_id IS NOT NULL AND s.overtime_premium = 'job'
),
based AS (
    SELECT
        p.cents, s.*,
        p.cents * s.weight // sum(s.weight) OVER person_week AS base,
        p.cents * s.weight % sum(s.weight) OVER person_week AS remainder
    FROM premiums AS p
    JOIN shares AS s USING (employee, workweek_start)
    WINDOW person_week AS (PARTITION BY s.employee, s.workweek_start)
),
last_rows AS (
    SELECT m.employee, m.workweek_start, m.day, m.import_id, m.import_line
    FROM steps.minute_rows AS m
    WHERE m.use <> 'paid_not_worked'
    QUALIFY row_number() OVER (PARTITION BY m.employee, m.workweek_start ORDER BY m.minute_row_id DESC) = 1
)
SELECT
    b.day AS posted_on, NULL AS pool, b.job,
    (b.base + CASE WHEN row_number() OVER (PARTITION BY b.employee, b.workweek_start ORDER BY b.remainder DESC, b.minute_row_id)
        <= b.cents - sum(b.base) OVER (PARTITION BY b.employee, b.workweek_start) THEN 1 ELSE 0 END)::BIGINT AS cents,
    b.employee, b.workweek_start, b.remake, b.import_id, b.import_line
FROM based AS b
UNION ALL
SELECT l.day, 'premium', NULL, p.cents, p.employee, p.workweek_start, NULL, l.import_id, l.import_line
FROM premiums AS p
JOIN last_rows AS l USING (employee, workweek_start)
WHERE NOT EXISTS (SELECT 1 FROM shares AS s WHERE s.employee = p.employee AND s.workweek_start = p.workweek_start);
COMMENT ON TABLE steps.premium_postings IS 'overtime premium in cents, in its pool or on jobs; holds wages';
