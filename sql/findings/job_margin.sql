-- What the general manager reads first, in sentences, each with the place that it is read from
-- (a sheet, and a text of its row). A place lower than 40 is a finding; 29 is a caution.
-- grain: one finding
CREATE OR REPLACE TEMP MACRO job_margin_findings(from_day, until_day) AS TABLE
WITH shipped AS (
    SELECT p.*
    FROM job_position(until_day) AS p
    WHERE p.left_on >= from_day AND p.left_on < until_day
),
losses AS (
    SELECT job, margin_usd, row_number() OVER (ORDER BY margin_usd, job) AS place
    FROM shipped
    WHERE margin_usd < 0 AND NOT closed_unshipped
),
terms AS (
    SELECT b.job, b.place, b.term, b.cents
    FROM temp.period_bridge AS b
    SEMI JOIN shipped AS s ON s.job = b.job AND NOT s.closed_unshipped AND s.variance_usd < 0
    -- A lower grade is no saving and no cause: a question for the truss designer. Change orders
    -- move the quote, not the job against it.
    WHERE b.from_day = from_day AND b.until_day = until_day AND b.cents < 0 AND b.term NOT LIKE 'grade below%' AND b.term <> 'change orders'
),
-- The term that took most from the jobs finished at a loss, all together.
loss_term AS (
    SELECT t.term, sum(t.cents)::BIGINT AS cents
    FROM terms AS t
    SEMI JOIN losses AS l ON l.job = t.job
    GROUP BY t.place, t.term
    ORDER BY sum(t.cents), t.place
    LIMIT 1
),
furthest AS (
    SELECT job, variance_usd
    FROM shipped
    WHERE variance_usd < 0 AND NOT closed_unshipped
    ORDER BY variance_usd, job
    LIMIT 1
),
-- Of the last full month.
overhead AS (
    SELECT date_trunc('month', until_day - INTERVAL 1 MONTH)::DATE AS from_day, sum(o.actual_usd) AS actual, coalesce(sum(o.applied_usd), 0) AS applied
    FROM overhead_pools(date_trunc('month', until_day - INTERVAL 1 MONTH)::DATE, date_trunc('month', until_day)::DATE) AS o
    WHERE o.part = 'overhead' AND EXISTS (SELECT 1 FROM overheads WHERE month = date_trunc('month', until_day - INTERVAL 1 MONTH))
        -- The time in pools of one or two people is their pay.
        AND (SELECT count(DISTINCT m.employee) FROM minute_ledger AS m WHERE m.use NOT IN ('setup', 'build') AND m.calendar_day >= date_trunc('month', until_day - INTERVAL 1 MONTH) AND m.calendar_day < date_trunc('month', until_day)) > 2
    HAVING sum(o.actual_usd) IS NOT NULL
)
SELECT
    29 AS place, 'STOP AND ASK' AS item,
    concat('the truss designer about lumber below or beside the design in ', string_agg(DISTINCT s.trusses, '; ' ORDER BY s.trusses), ': sheet grade_substitution of lumber-yield') AS detail,
    NULL::VARCHAR AS sheet_row, count(*)::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
FROM steps.substitutions AS s
WHERE s.verdict <> 'above' AND s.moved_on >= from_day AND s.moved_on < until_day
HAVING count(*) > 0
UNION ALL
SELECT
    30, 'margin',
    concat(format('{:,}', count(*) FILTER (WHERE NOT closed_unshipped)), CASE WHEN count(*) FILTER (WHERE NOT closed_unshipped) = 1 THEN ' job with a margin shipped' ELSE ' jobs with a margin shipped' END,
        CASE WHEN count(*) FILTER (WHERE closed_unshipped) > 0 THEN concat(' and ', count(*) FILTER (WHERE closed_unshipped), CASE WHEN count(*) FILTER (WHERE closed_unshipped) = 1 THEN ' was' ELSE ' were' END, ' closed without shipping') END,
        CASE WHEN count(*) = 1 THEN '; it kept ' ELSE '; together they kept ' END, pct(share_of(sum(margin_usd), sum(revenue_usd))), ' % of their revenue'),
    'margin_summary', count(*) FILTER (WHERE NOT closed_unshipped), NULL, sum(margin_usd)
FROM shipped
WHERE margin_usd IS NOT NULL
HAVING count(*) > 0
UNION ALL
SELECT
    31, 'loss',
    concat(format('{:,}', count(*)), CASE WHEN count(*) = 1 THEN ' job was finished at a loss: ' ELSE ' jobs were finished at a loss: ' END,
        string_agg(job, ', ' ORDER BY place) FILTER (WHERE place <= 5), CASE WHEN count(*) > 5 THEN concat(' and ', format('{:,}', count(*) - 5), ' more') END,
        (SELECT concat('; what took most from ', CASE WHEN (SELECT count(*) FROM losses) = 1 THEN 'it' ELSE 'them' END, ' against the quote is ', term, ', ', format('{:,.2f}', cents / 100.0), ' USD') FROM loss_term)),
    row_of('margin_by_job', min_by(job, place)), count(*), NULL, sum(margin_usd)
FROM losses
HAVING count(*) > 0
UNION ALL
SELECT
    32, 'closed',
    concat(count(*), CASE WHEN count(*) = 1 THEN ' job was closed without shipping: ' ELSE ' jobs were closed without shipping: ' END,
        string_agg(concat(job, ' (', trusses_built, ' of ', trusses_ordered, ' trusses built)'), ', ' ORDER BY job), '; what was earned less what was spent'),
    row_of('margin_by_job', min(job)), count(*), NULL, sum(margin_usd)
FROM shipped
WHERE closed_unshipped
HAVING count(*) > 0
UNION ALL
SELECT
    33, 'against quote',
    concat(f.job, ' fell furthest below its quote',
        (SELECT concat('; most of it by ', t.term, ', ', format('{:,.2f}', t.cents / 100.0), ' USD') FROM terms AS t WHERE t.job = f.job ORDER BY t.cents, t.place LIMIT 1)),
    row_of('margin_by_job', f.job), NULL, NULL, f.variance_usd
FROM furthest AS f
UNION ALL
SELECT
    39, 'overhead',
    concat('margins carry overhead at ', format('{:.2f}', s.overhead_per_hour_e4 / 10000.0), ' USD an hour; in ', strftime(o.from_day, '%Y-%m'), ' overhead applied was ', format('{:,.2f}', o.applied), ' of ', format('{:,.2f}', o.actual), ' actual: ', format('{:,.2f}', abs(o.actual - o.applied)),
        CASE WHEN o.actual >= o.applied THEN ' are on no job' ELSE ' more are on jobs than it cost' END, ' (sheet overhead of month-end)'),
    NULL, NULL, NULL, o.actual - o.applied
FROM overhead AS o
CROSS JOIN settings AS s;
