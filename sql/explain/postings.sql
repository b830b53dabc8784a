-- The postings of one class of one job, to date before a day; those of one row of a feed on
-- one day are one. A correction of a closed month has its day in it as original_on. now_usd
-- is what the row comes to with all its corrections, whenever they are posted; those posted
-- on the day or after it are not in the job's figure (is_in).
-- grain: one class, row of a feed, day, day that it corrects and day of the event
WITH posted AS (
    SELECT class, posted_on, original_on, occurred_on, feed, import_id, line, remake, sum(usd)::DECIMAL(18,2) AS usd
    FROM dollar_ledger
    WHERE job = $job AND class = $class
    GROUP BY ALL
),
corrected AS (
    SELECT p.*, (sum(p.usd) OVER (PARTITION BY p.original_on, p.occurred_on, p.feed, p.import_id, p.line, p.remake))::DECIMAL(18,2) AS now_usd
    FROM posted AS p
)
SELECT class, posted_on, original_on, occurred_on, feed, import_id, line, remake, usd, now_usd, posted_on < $until::DATE AS is_in
FROM corrected
WHERE original_on < $until::DATE
ORDER BY posted_on, original_on, occurred_on, feed, import_id, line, remake;
