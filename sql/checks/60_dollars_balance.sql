-- Each source row's dollars are in the dollar ledger exactly once.
-- grain: one row of a feed whose dollars differ
WITH dollars AS (
    SELECT 'billing' AS class, 'invoices' AS feed, import_id, import_line AS line, usd_to_cents(amount_usd) AS source_cents, 0::BIGINT AS posted_cents FROM invoices
    UNION ALL
    SELECT 'cost', 'job_costs', import_id, import_line, usd_to_cents(amount_usd), 0 FROM job_costs
    UNION ALL
    SELECT 'cost', 'opening_wip', import_id, import_line, usd_to_cents(amount_usd), 0 FROM opening_wip
    UNION ALL
    SELECT 'cost', 'overheads', import_id, import_line, usd_to_cents(actual_usd), 0 FROM overheads
    UNION ALL
    SELECT 'lumber', b.feed, b.import_id, b.import_line, -b.cents, 0
    FROM steps.board_rows AS b
    WHERE b.kind NOT IN ('receipt', 'opening', 'credit')
    UNION ALL
    SELECT 'lumber', 'receipts', k.import_id, k.import_line, -(k.cents - k.left_cents), 0
    FROM steps.layer_credits AS k
    UNION ALL
    SELECT CASE WHEN feed IN ('job_costs', 'opening_wip', 'overheads') THEN 'cost' ELSE class END, feed, import_id, line, 0, usd_to_cents(usd)
    FROM dollar_ledger
    WHERE class IN ('billing', 'lumber') OR feed IN ('job_costs', 'opening_wip', 'overheads')
),
summed AS (
    SELECT class, feed, import_id, line, coalesce(sum(source_cents), 0) AS source_cents, coalesce(sum(posted_cents), 0) AS posted_cents
    FROM dollars
    GROUP BY class, feed, import_id, line
    HAVING coalesce(sum(source_cents), 0) <> coalesce(sum(posted_cents), 0)
)
SELECT 'error' AS severity, 'dollars of a row and its postings differ' AS reason,
    concat(s.feed, ': ', cents_to_usd(s.source_cents), ' in the source, ', cents_to_usd(s.posted_cents), ' posted') AS keys,
    i.file_name, s.line
FROM summed AS s
LEFT JOIN imports AS i ON i.import_id = s.import_id
ORDER BY keys, s.line;
