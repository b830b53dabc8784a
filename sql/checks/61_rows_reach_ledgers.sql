-- Every row of a feed that should reach a ledger does.
-- grain: one row that is in no ledger
WITH missing AS (
    SELECT 'a receipt is not in the board ledger' AS reason, r.import_id, r.import_line AS line
    FROM receipts AS r
    ANTI JOIN board_ledger AS b ON b.import_id = r.import_id AND b.line = r.import_line
    UNION ALL
    SELECT 'boards used are not in the board ledger', u.import_id, u.import_line
    FROM lumber_usage AS u
    ANTI JOIN board_ledger AS b ON b.import_id = u.import_id AND b.line = u.import_line
    UNION ALL
    SELECT 'a paid punch is not in the minute ledger', p.import_id, p.import_line
    FROM steps.punches AS p
    ANTI JOIN minute_ledger AS m ON m.import_id = p.import_id AND m.line = p.import_line
    WHERE p.paid_seconds > 0
    UNION ALL
    SELECT 'an invoice is not in the dollar ledger', i.import_id, i.import_line
    FROM invoices AS i
    ANTI JOIN dollar_ledger AS d ON d.feed = 'invoices' AND d.import_id = i.import_id AND d.line = i.import_line
    UNION ALL
    SELECT 'a job cost is not in the dollar ledger', c.import_id, c.import_line
    FROM job_costs AS c
    ANTI JOIN dollar_ledger AS d ON d.feed = 'job_costs' AND d.import_id = c.import_id AND d.line = c.import_line
    UNION ALL
    SELECT 'an inspection is in no week', n.import_id, n.import_line
    FROM inspections AS n
    ANTI JOIN steps.inspected AS s ON s.import_id = n.import_id AND s.import_line = n.import_line
    UNION ALL
    SELECT 'a shipped job has no revenue', j.import_id, j.import_line
    FROM jobs AS j
    ANTI JOIN dollar_ledger AS d ON d.class = 'revenue' AND d.job = j.job
    WHERE j.shipped_on IS NOT NULL AND j.closed_on IS NULL AND j.price_usd <> 0
)
SELECT 'error' AS severity, m.reason, concat('import ', m.import_id) AS keys, i.file_name, m.line
FROM missing AS m
LEFT JOIN imports AS i USING (import_id)
ORDER BY m.reason, m.import_id, m.line;
