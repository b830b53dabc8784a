-- The quote-to-actual bridge of every quoted job adds up to its margin less its first quote.
-- The margin is read from the dollar ledger itself, not from the position that the bridge uses.
-- grain: one job whose terms don't add up
WITH added AS (
    SELECT job, sum(cents) AS cents
    FROM job_bridge(DATE '2100-01-01')
    GROUP BY job
),
earned AS (
    SELECT
        d.job, sum(CASE WHEN d.class = 'billing' OR d.class = 'overhead_applied' AND f.without_overhead THEN 0 WHEN d.class = 'revenue' THEN usd_to_cents(d.usd) ELSE -usd_to_cents(d.usd) END) AS cents,
        any_value(f.margin_cents) AS quoted_cents
    FROM dollar_ledger AS d
    JOIN steps.first_quotes AS f ON f.job = d.job
    GROUP BY d.job
)
SELECT 'error' AS severity, 'the bridge does not add up' AS reason,
    concat(a.job, ': off by ', a.cents - (coalesce(e.cents, 0) - coalesce(e.quoted_cents, f.margin_cents)), ' cents') AS keys,
    NULL AS file_name, NULL::BIGINT AS line
FROM added AS a
JOIN steps.first_quotes AS f ON f.job = a.job
LEFT JOIN earned AS e ON e.job = a.job
WHERE a.cents <> coalesce(e.cents, 0) - coalesce(e.quoted_cents, f.margin_cents)
ORDER BY keys;
