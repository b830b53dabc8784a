-- Jobs with a dollar that is renewed.

-- grain: one such job
CREATE OR REPLACE TEMP TABLE renewed_jobs AS
SELECT DISTINCT job FROM dollar_ledger WHERE (posted_on >= since OR original_on >= open_since) AND job IS NOT NULL
UNION
SELECT DISTINCT job FROM steps.job_days WHERE posted_on >= since
UNION
SELECT coalesce(b.job, a.job)
FROM dollars_before AS b
FULL JOIN (
    SELECT job, count(*) AS rows, sum(hash(d)::HUGEINT) AS hashes
    FROM dollar_ledger AS d
    WHERE moves_any_day(feed) AND job IS NOT NULL
    GROUP BY job
) AS a ON a.job = b.job
WHERE (a.rows, a.hashes) IS DISTINCT FROM (b.rows, b.hashes);

SET VARIABLE first_dollar_day = (
    SELECT coalesce(min(posted_on), DATE '0001-01-01')
    FROM (
        SELECT d.posted_on FROM steps.job_days AS d SEMI JOIN renewed_jobs AS n ON n.job = d.job
        UNION ALL
        SELECT posted_on FROM dollar_ledger WHERE moves_any_day(feed) AND job IN (SELECT job FROM renewed_jobs)
        UNION ALL
        SELECT since
    )
);
