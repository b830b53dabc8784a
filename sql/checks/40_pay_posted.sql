-- Gross pay of each employee and workweek is posted to jobs and pools to the cent.
-- Anybody may read it: where nothing is posted, the difference would be somebody's pay.
-- grain: one employee and workweek whose dollars differ
WITH posted AS (
    SELECT employee, workweek_start, sum(cents) AS cents
    FROM (
        SELECT employee, workweek_start, cents FROM steps.labour_postings WHERE class NOT IN ('burden', 'overhead_applied')
        UNION ALL
        SELECT employee, workweek_start, cents FROM steps.premium_postings
        UNION ALL
        SELECT employee, workweek_start, cents FROM steps.other_pay_postings WHERE class <> 'reimbursement'
    )
    GROUP BY employee, workweek_start
)
SELECT 'error' AS severity, 'gross pay and postings of a workweek differ' AS reason,
    concat(coalesce(w.employee, p.employee), ' ', coalesce(w.workweek_start, p.workweek_start), ': ', CASE WHEN coalesce(p.cents, 0) < coalesce(usd_to_cents(w.gross_usd), 0) THEN 'too little is posted' ELSE 'too much is posted' END) AS keys,
    NULL AS file_name, NULL::BIGINT AS line
FROM pay_weeks AS w
FULL JOIN posted AS p ON p.employee = w.employee AND p.workweek_start = w.workweek_start
WHERE coalesce(p.cents, 0) <> coalesce(usd_to_cents(w.gross_usd), 0)
UNION ALL
SELECT 'error', 'gross pay and the dollar ledger differ', CASE WHEN d.usd < w.usd THEN 'too little is posted, in all' ELSE 'too much is posted, in all' END, NULL, NULL
FROM (SELECT coalesce(sum(usd), 0) AS usd FROM dollar_ledger WHERE class IN ('direct_labour', 'waiting', 'stoppage', 'indirect', 'leave', 'overtime_premium', 'bonus', 'rate_variance', 'retro') AND feed <> 'opening_wip') AS d
CROSS JOIN (SELECT coalesce(sum(gross_usd), 0) AS usd FROM pay_weeks) AS w
WHERE d.usd <> w.usd
ORDER BY keys;
