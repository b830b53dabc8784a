-- Jobs with a dollar that is renewed.

-- grain: one such job
CREATE OR REPLACE TEMP TABLE renewed_jobs AS
SELECT DISTINCT job FROM dollar_ledger WHERE (posted_on >= since OR original_on >= open_since) AND job IS NOT NULL
UNION
SELECT DISTINCT job FROM steps.job_days WHERE posted_on >= since
UNION
SELECT DISTINCT job
FROM (
    (SELECT * FROM dollars_before EXCEPT ALL SELECT * FROM dollar_ledger WHERE feed IN ('jobs', 'invoices', 'job_costs', 'opening_wip', 'overheads', 'other_pay'))
    UNION ALL
    (SELECT * FROM dollar_ledger WHERE feed IN ('jobs', 'invoices', 'job_costs', 'opening_wip', 'overheads', 'other_pay') EXCEPT ALL SELECT * FROM dollars_before)
)
WHERE job IS NOT NULL;

SET VARIABLE first_dollar_day = (
    SELECT coalesce(min(posted_on), DATE '0001-01-01')
    FROM (
        SELECT d.posted_on FROM steps.job_days AS d SEMI JOIN renewed_jobs AS n ON n.job = d.job
        UNION ALL
        SELECT posted_on FROM dollar_ledger WHERE feed IN ('jobs', 'invoices', 'job_costs', 'opening_wip', 'overheads', 'other_pay') AND job IN (SELECT job FROM renewed_jobs)
        UNION ALL
        SELECT since
    )
);
