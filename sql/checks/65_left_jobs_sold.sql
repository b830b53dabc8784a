-- A job that has left or was closed holds no work in process and no finished goods.
-- The day is read from the feed jobs itself, and from deliveries where the last of it left.
-- grain: one such job with a balance
WITH gone AS (
    SELECT job FROM jobs WHERE shipped_on IS NOT NULL OR closed_on IS NOT NULL
    UNION
    SELECT job FROM steps.delivered WHERE is_all
),
held AS (
    SELECT job, sum(wip_cents)::BIGINT AS wip, sum(finished_cents)::BIGINT AS finished
    FROM job_stock(DATE '2100-01-01')
    GROUP BY job
)
SELECT 'error' AS severity, 'a job that has left still holds cost' AS reason,
    concat(h.job, ': ', cents_to_usd(h.wip), ' in work in process, ', cents_to_usd(h.finished), ' in finished goods') AS keys,
    i.file_name, j.import_line AS line
FROM held AS h
JOIN gone AS g ON g.job = h.job
JOIN jobs AS j ON j.job = h.job
LEFT JOIN imports AS i ON i.import_id = j.import_id
WHERE h.wip <> 0 OR h.finished <> 0
ORDER BY keys;
