-- The journal balances, entry by entry.
-- grain: one entry whose debits and credits differ
SELECT 'error' AS severity, 'debits and credits differ' AS reason, concat('entry ', j.entry, ', ', j.memo, ': off by ', sum(j.cents), ' cents') AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM journal_lines(DATE '1900-01-01', DATE '2100-01-01') AS j
GROUP BY j.entry, j.memo
HAVING sum(j.cents) <> 0
ORDER BY keys;
