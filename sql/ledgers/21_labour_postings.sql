-- What paid time costs, to jobs and pools.
--
-- Cents are differences of a rounded running total: an employee's week for pay, a job for
-- burden and overhead. Later rows thereby never move earlier cents, and sums are exact.
-- What a back-dated rate owes is posted on the day from which it was paid, and keeps the
-- day on which it was earned.

-- grain: one posting of labour, burden or overhead
-- renewed: posted_on >= since
-- reads: steps.pay_rows where workweek_start >= since
CREATE OR REPLACE TABLE steps.labour_postings AS
WITH running AS (
    SELECT
        r.*, r.run_row_id IS NOT NULL AS on_run,
        sum(r.units) OVER (PARTITION BY r.version, r.employee, r.workweek_start, r.not_worked ORDER BY r.minute_row_id ROWS UNBOUNDED PRECEDING) AS units_to,
        -- Burden units: 360000 x 1000000 make a cent. An agency carries its own.
        CASE WHEN r.run_row_id IS NULL OR r.basis = 'agency' THEN 0
             ELSE r.units::HUGEINT * s.burden_pct_e6 + r.seconds::HUGEINT * s.burden_per_hour_e4 * 1000000 END AS burden_units,
        CASE WHEN r.run_row_id IS NOT NULL THEN r.seconds * s.overhead_per_hour_e4 ELSE 0 END AS overhead_units
    FROM steps.pay_rows AS r
    CROSS JOIN settings AS s
),
costed AS (
    SELECT r.*, rounded_quotient(r.units_to, 360000) - rounded_quotient(r.units_to - r.units, 360000) AS cents
    FROM running AS r
),
entries AS (
    SELECT
        c.minute_row_id, false AS is_retro, c.day AS posted_on, c.day AS occurred_on, c.workweek_start, c.employee, c.from_utc, c.on_run, c.not_worked,
        c.use, c.job, c.remake, c.cents, c.burden_units, c.overhead_units, c.import_id, c.import_line
    FROM costed AS c
    WHERE c.version = 'paid'
    UNION ALL
    SELECT
        o.minute_row_id, true, o.retro_on, o.day, w.paid_week, o.employee, o.from_utc, o.on_run, o.not_worked,
        o.use, o.job, o.remake, o.cents - p.cents, o.burden_units - p.burden_units, 0, o.import_id, o.import_line
    FROM costed AS o
    JOIN costed AS p ON p.version = 'paid' AND p.minute_row_id = o.minute_row_id
    JOIN steps.retro_weeks AS w ON w.employee = o.employee AND w.workweek_start = o.workweek_start
    WHERE o.version = 'owed' AND (o.units <> p.units OR o.cents <> p.cents)
),
totalled AS (
    SELECT
        e.*,
        coalesce(o.burden_units, 0) + sum(CASE WHEN e.on_run THEN e.burden_units ELSE 0 END) OVER by_job AS burden_to,
        coalesce(o.overhead_units, 0) + sum(CASE WHEN e.on_run THEN e.overhead_units ELSE 0 END) OVER by_job AS overhead_to
    FROM entries AS e
    LEFT JOIN steps.opening_jobs AS o ON o.job = e.job
    WINDOW by_job AS (PARTITION BY e.job ORDER BY e.posted_on, e.from_utc, e.minute_row_id, e.is_retro ROWS UNBOUNDED PRECEDING)
)
SELECT
    t.posted_on, t.occurred_on,
    CASE WHEN t.on_run THEN 'direct_labour' WHEN t.is_retro THEN 'retro' WHEN t.not_worked THEN 'leave' ELSE t.use END AS class,
    CASE WHEN t.on_run THEN NULL WHEN t.is_retro THEN 'retro' WHEN t.not_worked THEN 'leave' ELSE t.use END AS pool,
    t.job, t.cents, NULL::HUGEINT AS units, t.employee, t.workweek_start, t.is_retro, t.remake, t.import_id, t.import_line, t.minute_row_id
FROM totalled AS t
UNION ALL
SELECT
    t.posted_on, t.occurred_on, 'burden', NULL, t.job,
    rounded_quotient(t.burden_to, 360000000000) - rounded_quotient(t.burden_to - t.burden_units, 360000000000), t.burden_units,
    t.employee, t.workweek_start, t.is_retro, t.remake, t.import_id, t.import_line, t.minute_row_id
FROM totalled AS t
WHERE t.on_run
UNION ALL
SELECT
    t.posted_on, t.occurred_on, 'overhead_applied', NULL, t.job,
    rounded_quotient(t.overhead_to, 360000) - rounded_quotient(t.overhead_to - t.overhead_units, 360000), t.overhead_units,
    t.employee, t.workweek_start, t.is_retro, t.remake, t.import_id, t.import_line, t.minute_row_id
FROM totalled AS t
WHERE t.on_run AND NOT t.is_retro;
COMMENT ON TABLE steps.labour_postings IS 'labour, burden and overhead in cents; workweek_start is the week that pays; holds wages';
COMMENT ON COLUMN steps.labour_postings.units IS 'of burden and overhead, what cents are rounded from: 360000 x 1000000 make a cent of burden, 360000 one of overhead';
COMMENT ON COLUMN steps.labour_postings.minute_row_id IS 'row of steps.minute_rows that costs it';

-- grain: one employee and workweek: where what belongs to no single row is posted
-- renewed: workweek_start >= since
-- reads: steps.minute_rows where workweek_start >= since
-- reads: steps.punches where shift_date >= since
-- reads: pay_weeks where workweek_start >= since
CREATE OR REPLACE TABLE steps.week_ends AS
WITH last_rows AS (
    SELECT m.employee, m.workweek_start, m.day, m.import_id, m.import_line
    FROM steps.minute_rows AS m
    QUALIFY row_number() OVER (PARTITION BY m.employee, m.workweek_start ORDER BY m.use = 'paid_not_worked', m.minute_row_id DESC) = 1
),
other_rows AS (
    SELECT o.employee, o.workweek_start, o.import_id, o.import_line
    FROM steps.other_pay_rows AS o
    QUALIFY row_number() OVER (PARTITION BY o.employee, o.workweek_start ORDER BY o.other_pay_id) = 1
),
cards AS (
    SELECT p.employee, d.workweek_start, min_by(p.import_id, p.punch_id) AS import_id, min_by(p.import_line, p.punch_id) AS import_line
    FROM steps.punches AS p
    JOIN day_parts AS d ON d.day = p.shift_date
    GROUP BY p.employee, d.workweek_start
)
SELECT
    p.employee, p.workweek_start, coalesce(l.day, (p.workweek_start + 6)::DATE) AS day,
    coalesce(l.import_id, c.import_id, o.import_id) AS import_id, coalesce(l.import_line, c.import_line, o.import_line) AS import_line
FROM pay_weeks AS p
LEFT JOIN cards AS c USING (employee, workweek_start)
LEFT JOIN last_rows AS l USING (employee, workweek_start)
LEFT JOIN other_rows AS o USING (employee, workweek_start);

-- grain: one posting of overtime premium
-- renewed: posted_on >= since
-- reads: steps.minute_rows where workweek_start >= since
-- reads: pay_weeks where workweek_start >= since
-- reads: steps.retro_weeks where retro_on >= since
-- reads: steps.week_ends where workweek_start >= since
CREATE OR REPLACE TABLE steps.premium_postings AS
WITH premiums AS (
    SELECT p.employee, p.workweek_start AS paid_week, p.workweek_start AS earned_week, NULL::DATE AS retro_on, usd_to_cents(p.overtime_premium_usd) AS cents
    FROM pay_weeks AS p
    WHERE p.overtime_premium_usd <> 0
    UNION ALL
    SELECT r.employee, r.paid_week, r.workweek_start, r.retro_on, r.premium_cents
    FROM steps.retro_weeks AS r
    WHERE r.premium_cents <> 0
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
        p.paid_week, p.earned_week, p.retro_on, p.cents, s.* EXCLUDE (workweek_start),
        abs(p.cents)::HUGEINT * s.weight // sum(s.weight) OVER person_week AS base,
        abs(p.cents)::HUGEINT * s.weight % sum(s.weight) OVER person_week AS remainder
    FROM premiums AS p
    JOIN shares AS s ON s.employee = p.employee AND s.workweek_start = p.earned_week
    WINDOW person_week AS (PARTITION BY p.employee, p.earned_week, p.retro_on, p.paid_week)
)
SELECT
    coalesce(b.retro_on, b.day) AS posted_on, b.day AS occurred_on, 'overtime_premium' AS class, NULL AS pool, b.job,
    (sign(b.cents) * (b.base + CASE WHEN row_number() OVER (PARTITION BY b.employee, b.earned_week, b.retro_on, b.paid_week ORDER BY b.remainder DESC, b.minute_row_id)
        <= abs(b.cents) - sum(b.base) OVER (PARTITION BY b.employee, b.earned_week, b.retro_on, b.paid_week) THEN 1 ELSE 0 END))::BIGINT AS cents,
    b.employee, b.paid_week AS workweek_start, b.retro_on IS NOT NULL AS is_retro, b.remake, b.import_id, b.import_line, b.minute_row_id
FROM based AS b
UNION ALL
SELECT
    coalesce(p.retro_on, e.day), e.day, CASE WHEN p.retro_on IS NULL THEN 'overtime_premium' ELSE 'retro' END, CASE WHEN p.retro_on IS NULL THEN 'premium' ELSE 'retro' END,
    NULL, p.cents, p.employee, p.paid_week, p.retro_on IS NOT NULL, NULL, e.import_id, e.import_line, NULL
FROM premiums AS p
JOIN steps.week_ends AS e ON e.employee = p.employee AND e.workweek_start = p.earned_week
WHERE NOT EXISTS (SELECT 1 FROM shares AS s WHERE s.employee = p.employee AND s.workweek_start = p.earned_week);
COMMENT ON TABLE steps.premium_postings IS 'overtime premium in cents, in its pool or on jobs; workweek_start is the week that pays; holds wages';

-- grain: one posting of pay that no hour earns: bonuses, salaries beyond their hours, expenses
CREATE OR REPLACE TABLE steps.other_pay_postings AS
SELECT
    e.day AS posted_on, coalesce(o.earned_from, e.day) AS occurred_on, CASE o.kind WHEN 'reimbursement' THEN 'reimbursement' ELSE 'bonus' END AS class,
    o.cents, o.employee, o.workweek_start, false AS is_retro, 'other_pay' AS feed, o.import_id, o.import_line
FROM steps.other_pay_rows AS o
JOIN steps.week_ends AS e ON e.employee = o.employee AND e.workweek_start = o.workweek_start
LEFT JOIN steps.pay_totals AS t ON t.version = 'paid' AND t.employee = o.employee AND t.workweek_start = o.workweek_start
WHERE NOT (o.kind = 'piecework' AND NOT o.is_spread AND coalesce(t.worked_seconds, 0) > 0)
UNION ALL
SELECT e.day, e.day, 'rate_variance', t.variance_cents, t.employee, t.workweek_start, false, 'timecards', e.import_id, e.import_line
FROM steps.pay_totals AS t
JOIN steps.week_ends AS e USING (employee, workweek_start)
WHERE t.version = 'paid' AND t.variance_cents <> 0
UNION ALL
SELECT r.retro_on, e.day, 'retro', r.variance_cents, r.employee, r.paid_week, true, 'timecards', e.import_id, e.import_line
FROM steps.retro_weeks AS r
JOIN steps.week_ends AS e USING (employee, workweek_start)
WHERE r.variance_cents <> 0;
COMMENT ON TABLE steps.other_pay_postings IS 'bonuses, rate variance and reimbursements in cents, each in its pool; holds wages';
