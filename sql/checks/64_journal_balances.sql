-- The journal balances, entry by entry.
-- Anybody may read it, and a difference of labour could be somebody's pay: no amount.
-- grain: one entry whose debits and credits differ
SELECT 'error' AS severity, 'debits and credits differ' AS reason, concat('entry ', j.entry, ', ', j.memo, ': ', CASE WHEN sum(j.cents) > 0 THEN 'more debits than credits' ELSE 'more credits than debits' END) AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM journal_lines(DATE '1900-01-01', DATE '2100-01-01') AS j
GROUP BY j.entry, j.memo
HAVING sum(j.cents) <> 0
ORDER BY keys;
