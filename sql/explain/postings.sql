-- The postings of one class of one job, to date before a day; those of one row of a feed on
-- one day are one.
-- grain: one class, row of a feed, day and day of the event
SELECT class, posted_on, occurred_on, feed, import_id, line, remake, sum(usd)::DECIMAL(18,2) AS usd
FROM dollar_ledger
WHERE job = $job AND class = $class AND posted_on < $until::DATE
GROUP BY ALL
ORDER BY posted_on, occurred_on, feed, import_id, line, remake;
