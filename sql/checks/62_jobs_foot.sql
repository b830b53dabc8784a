-- Job positions add up to the dollar ledger: no job's cost is lost on the way to a sheet.
-- grain: one class of dollars whose jobs don't add up
WITH sheets AS (
    SELECT sum(cost_usd) AS cost_usd, sum(revenue_usd) AS revenue_usd
    FROM job_position(DATE '2100-01-01')
),
ledger AS (
    SELECT
        sum(CASE WHEN d.class NOT IN ('revenue', 'billing') THEN d.usd ELSE 0 END) AS cost_usd,
        sum(CASE WHEN d.class = 'revenue' THEN d.usd ELSE 0 END) AS revenue_usd
    FROM dollar_ledger AS d
    SEMI JOIN jobs AS j ON j.job = d.job
)
SELECT 'error' AS severity, 'job positions and the dollar ledger differ' AS reason,
    concat('cost ', s.cost_usd, ' against ', l.cost_usd, ', revenue ', s.revenue_usd, ' against ', l.revenue_usd) AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM sheets AS s
CROSS JOIN ledger AS l
WHERE coalesce(s.cost_usd, 0) <> coalesce(l.cost_usd, 0) OR coalesce(s.revenue_usd, 0) <> coalesce(l.revenue_usd, 0);
