-- The quote-to-actual bridge of every quoted job adds up to its margin less its first quote.
-- grain: one job whose terms don't add up
WITH added AS (
    SELECT job, sum(cents) AS cents
    FROM job_bridge(DATE '2100-01-01')
    GROUP BY job
)
SELECT 'error' AS severity, 'the bridge does not add up' AS reason,
    concat(a.job, ': off by ', a.cents - (usd_to_cents(p.revenue_usd - p.cost_usd + CASE WHEN f.without_overhead THEN p.overhead_usd ELSE 0 END) - f.margin_cents), ' cents') AS keys,
    NULL AS file_name, NULL::BIGINT AS line
FROM added AS a
JOIN job_position(DATE '2100-01-01') AS p ON p.job = a.job
JOIN steps.first_quotes AS f ON f.job = a.job
WHERE a.cents <> usd_to_cents(p.revenue_usd - p.cost_usd + CASE WHEN f.without_overhead THEN p.overhead_usd ELSE 0 END) - f.margin_cents
ORDER BY keys;
