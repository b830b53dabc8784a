-- Overhead and burden of the pools are what the journal books to their accounts.
-- Boards counted short, taken by no job or credited after use are lumber variance.
-- Anybody may read it, and a pool may be somebody's pay: no amount.
-- grain: one account whose figures differ
WITH pools AS (
    SELECT
        CASE WHEN class = 'lumber' AND pool IN ('count', 'backflush_difference', 'lumber_credit', 'lumber_unassigned') THEN 'lumber_variance'
             WHEN class = 'overhead_actual' AND lower(pool) = 'burden' THEN 'burden_actual' ELSE 'overhead_actual' END AS account,
        sum(usd_to_cents(usd))::BIGINT AS cents
    FROM dollar_ledger
    WHERE pool IS NOT NULL
    GROUP BY account
),
booked AS (
    SELECT account, sum(cents)::BIGINT AS cents
    FROM journal_lines(DATE '1900-01-01', DATE '2100-01-01')
    WHERE account IN ('lumber_variance', 'burden_actual', 'overhead_actual')
    GROUP BY account
)
SELECT 'error' AS severity, 'a pool is not in the journal''s account' AS reason,
    concat(replace(account, '_', ' '), ': ', CASE WHEN coalesce(b.cents, 0) < coalesce(p.cents, 0) THEN 'too little is booked' ELSE 'too much is booked' END) AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM pools AS p
FULL JOIN booked AS b USING (account)
WHERE coalesce(p.cents, 0) <> coalesce(b.cents, 0)
ORDER BY keys;
