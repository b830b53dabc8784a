-- Each source row's dollars are in the dollar ledger exactly once.
-- grain: one row of a feed whose dollars differ
WITH sources AS (
    SELECT 'billing' AS class, 'invoices' AS feed, import_id, import_line AS line, sum(usd_to_cents(amount_usd)) AS cents FROM invoices GROUP BY ALL
    UNION ALL
    SELECT 'cost', 'job_costs', import_id, import_line, sum(usd_to_cents(amount_usd)) FROM job_costs GROUP BY ALL
    UNION ALL
    SELECT 'cost', 'opening_wip', import_id, import_line, sum(usd_to_cents(amount_usd)) FROM opening_wip GROUP BY ALL
    UNION ALL
    SELECT 'cost', 'overheads', import_id, import_line, sum(usd_to_cents(actual_usd)) FROM overheads GROUP BY ALL
    UNION ALL
    SELECT 'lumber', b.feed, b.import_id, b.import_line, -sum(b.cents)
    FROM steps.board_rows AS b
    WHERE b.kind NOT IN ('receipt', 'opening', 'credit')
    GROUP BY ALL
    UNION ALL
    SELECT 'lumber', 'receipts', k.import_id, k.import_line, -(k.cents - k.left_cents)
    FROM steps.layer_credits AS k
),
posted AS (
    SELECT CASE WHEN feed IN ('job_costs', 'opening_wip', 'overheads') THEN 'cost' ELSE class END AS class, feed, import_id, line, sum(usd_to_cents(usd)) AS cents
    FROM dollar_ledger
    WHERE class IN ('billing', 'lumber') OR feed IN ('job_costs', 'opening_wip', 'overheads')
    GROUP BY ALL
)
SELECT 'error' AS severity, 'dollars of a row and its postings differ' AS reason,
    concat(coalesce(s.feed, p.feed), ': ', cents_to_usd(coalesce(s.cents, 0)), ' in the source, ', cents_to_usd(coalesce(p.cents, 0)), ' posted') AS keys,
    i.file_name, coalesce(s.line, p.line) AS line
FROM sources AS s
FULL JOIN posted AS p ON p.class = s.class AND p.feed = s.feed AND p.import_id = s.import_id AND p.line = s.line
LEFT JOIN imports AS i ON i.import_id = coalesce(s.import_id, p.import_id)
WHERE coalesce(s.cents, 0) <> coalesce(p.cents, 0)
ORDER BY keys, line;
