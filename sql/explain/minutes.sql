-- The minutes behind labour, burden, overtime premium or overhead of one job. Without
-- $wages no dollars of a person's time are shown, and never whose time it was. Straight pay
-- has the row of wages that it was paid by, unless the punch has a rate of its own.
-- grain: one row of minute_ledger (a punch, run, use and calendar day), posted on one day
WITH postings AS (
    SELECT class, job, posted_on, occurred_on, import_id, import_line, remake, minute_row_id, is_retro, cents
    FROM steps.labour_postings
    UNION ALL
    SELECT class, job, posted_on, occurred_on, import_id, import_line, remake, minute_row_id, is_retro, cents
    FROM steps.premium_postings
),
posted AS (
    SELECT
        p.class, p.posted_on, p.occurred_on, p.import_id, p.import_line, p.remake, p.is_retro, sum(p.cents)::BIGINT AS cents,
        m.workweek_start, m.work_date, m.employee, m.day, m.run_row_id, m.use, m.station
    FROM postings AS p
    JOIN steps.minute_rows AS m USING (minute_row_id)
    WHERE p.job = $job AND p.class = $class AND p.posted_on < $until::DATE AND ($wages::BOOLEAN OR p.class = 'overhead_applied')
    GROUP BY ALL
),
minutes AS (
    SELECT p.*, l.basis, l.seconds, l.started_at, l.ended_at, l.truss, l.crew, l.shift, t.rate_usd AS own_rate_usd, v.effective_on
    FROM posted AS p
    JOIN minute_ledger AS l
        ON l.import_id = p.import_id AND l.line = p.import_line AND l.workweek_start = p.workweek_start AND l.calendar_day = p.day
        AND l.run_row_id = p.run_row_id AND l.use = p.use AND l.station IS NOT DISTINCT FROM p.station
    JOIN timecards AS t ON t.import_id = p.import_id AND t.import_line = p.import_line
    ASOF LEFT JOIN steps.wage_versions AS v
        ON v.employee = p.employee AND v.version = CASE WHEN p.is_retro THEN 'owed' ELSE 'paid' END AND p.work_date >= v.from_on
)
SELECT
    m.class, m.posted_on AS original_on, m.occurred_on, 'timecards' AS feed, m.import_id, m.import_line AS line, m.remake, cents_to_usd(m.cents) AS usd,
    concat(CASE WHEN $wages::BOOLEAN THEN concat(m.employee, ': ') END, m.seconds, ' s of ', m.use, ', ', concat_ws(' ', m.truss, 'at', m.station),
        CASE WHEN m.remake IS NOT NULL THEN concat(', remake: ', m.remake) END, CASE WHEN m.is_retro THEN ', back-dated rate' END, CASE WHEN m.basis <> 'clocked' THEN concat(', ', m.basis) END) AS what,
    CASE WHEN m.class <> 'direct_labour' THEN NULL WHEN m.own_rate_usd IS NOT NULL THEN 'at the punch''s own rate' WHEN w.import_id IS NOT NULL THEN 'at the rate of'
         ELSE 'no wage is known' END AS priced_as,
    CASE WHEN m.class = 'direct_labour' AND m.own_rate_usd IS NULL THEN w.import_id END AS priced_import_id,
    CASE WHEN m.class = 'direct_labour' AND m.own_rate_usd IS NULL THEN w.import_line END AS priced_line,
    CASE WHEN $wages::BOOLEAN THEN m.employee END AS employee, m.seconds, m.use, m.truss, m.station, m.crew, m.shift, m.started_at, m.ended_at
FROM minutes AS m
LEFT JOIN wages AS w ON w.employee = m.employee AND w.effective_on = m.effective_on
ORDER BY m.posted_on, m.started_at, m.import_id, m.import_line, m.run_row_id, m.use;
