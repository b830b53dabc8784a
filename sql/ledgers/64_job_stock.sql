-- Where the cost of each job stands: work in process, finished goods, cost of goods sold.
--
-- Of a job's cost to date the share delivered is sold, the share built and not delivered is
-- finished goods, the rest work in process; shares by design board feet, as in deliveries.
-- A job that has left is sold whole, whatever comes later. A closed month's figures are those
-- of its closing.

-- grain: one job, day and cost class
-- renewed: job IN (SELECT job FROM renewed_jobs)
-- reads: dollar_ledger where posted_on >= getvariable('first_dollar_day') AND job IN (SELECT job FROM renewed_jobs)
CREATE OR REPLACE TABLE steps.job_class_days AS
SELECT job, posted_on, class, sum(usd_to_cents(usd))::BIGINT AS cents
FROM dollar_ledger
WHERE job IS NOT NULL AND class NOT IN ('revenue', 'billing')
GROUP BY job, posted_on, class;

-- grain: one job and day with good trusses built, weighed as deliveries are
CREATE OR REPLACE TABLE steps.built_days AS
SELECT r.job, r.finished_on, sum(r.quantity * v.value)::BIGINT AS value
FROM steps.run_rows AS r
JOIN steps.truss_values AS v ON v.job = r.job AND v.truss = r.truss
WHERE r.station_kind = 'table' AND r.remake IS NULL
GROUP BY r.job, r.finished_on
UNION ALL
SELECT o.job, o.on_day, (o.trusses * w.value // greatest(1, w.trusses))::BIGINT
FROM (SELECT job, max("on") AS on_day, max(trusses_built) AS trusses FROM opening_wip GROUP BY job) AS o
JOIN (SELECT job, sum(quantity * value)::BIGINT AS value, sum(quantity)::BIGINT AS trusses FROM steps.truss_values GROUP BY job) AS w ON w.job = o.job
WHERE o.trusses > 0;

-- Cost of each job to date before a day. grain: one job and cost class
CREATE OR REPLACE MACRO job_stock(until_day) AS TABLE
WITH costs AS (
    SELECT job, class, sum(cents)::BIGINT AS cents
    FROM steps.job_class_days
    WHERE posted_on < until_day
    GROUP BY job, class
),
sold AS (
    SELECT job, value_to::HUGEINT AS over, value_whole::HUGEINT AS under FROM share_delivered(until_day)
),
built AS (
    SELECT b.job, least(sum(b.value)::HUGEINT, any_value(w.value)::HUGEINT) AS over, any_value(w.value)::HUGEINT AS under
    FROM steps.built_days AS b
    JOIN (SELECT job, sum(quantity * value)::BIGINT AS value FROM steps.truss_values GROUP BY job) AS w ON w.job = b.job
    WHERE b.finished_on < until_day AND w.value > 0
    GROUP BY b.job
),
shared AS (
    SELECT
        c.job, c.class, c.cents,
        CASE WHEN s.job IS NULL THEN 0 ELSE rounded_quotient(c.cents * least(s.over, s.under), s.under) END AS sold_cents,
        CASE WHEN b.job IS NULL THEN 0 ELSE rounded_quotient(c.cents * b.over, b.under) END AS built_cents,
        coalesce(b.over * coalesce(s.under, 1) >= coalesce(s.over, 0) * b.under, false) AS built_is_more
    FROM costs AS c
    LEFT JOIN sold AS s ON s.job = c.job
    LEFT JOIN built AS b ON b.job = c.job
)
SELECT h.job, h.class, h.cents, h.cents - CASE WHEN h.built_is_more THEN h.built_cents ELSE h.sold_cents END AS wip_cents,
    CASE WHEN h.built_is_more THEN h.built_cents - h.sold_cents ELSE 0 END AS finished_cents, h.sold_cents
FROM shared AS h
WHERE until_day NOT IN (SELECT until_on FROM closed_months) AND until_day NOT IN (SELECT until_on FROM closed_positions)
UNION ALL
SELECT job, class, cents, wip_cents, finished_cents, sold_cents
FROM closed_job_stock
WHERE until_on = until_day;

-- The journal of a period: what the ledgers say to the plant's books. A draft for the
-- accountant. grain: one entry, account and source
CREATE OR REPLACE MACRO journal_lines(from_day, until_day) AS TABLE
WITH dollars AS MATERIALIZED (
    SELECT
        d.class, d.pool, d.job IS NOT NULL AS on_job, d.feed,
        CASE WHEN d.posted_on <> d.original_on THEN strftime(d.original_on, '%Y-%m') ELSE 'the month' END AS of_month,
        sum(usd_to_cents(d.usd))::BIGINT AS cents, count(*) AS rows
    FROM dollar_ledger AS d
    WHERE d.posted_on >= from_day AND d.posted_on < until_day
    GROUP BY ALL
),
boards AS MATERIALIZED (
    SELECT b.kind, sum(usd_to_cents(b.usd))::BIGINT AS cents, count(*) AS rows
    FROM board_ledger AS b
    WHERE b.moved_on >= from_day AND b.moved_on < until_day
    GROUP BY b.kind
),
stock AS (
    SELECT 1 AS sign, job, class, cents, wip_cents, finished_cents, sold_cents FROM job_stock(until_day)
    UNION ALL
    SELECT -1, job, class, cents, wip_cents, finished_cents, sold_cents FROM job_stock(from_day)
),
moved AS MATERIALIZED (
    SELECT
        x.job IS NOT NULL AS closed, sum(s.sign * s.cents)::BIGINT AS added, sum(s.sign * s.wip_cents)::BIGINT AS wip, sum(s.sign * s.finished_cents)::BIGINT AS finished,
        sum(s.sign * s.sold_cents)::BIGINT AS sold, count(DISTINCT s.job) AS jobs
    FROM stock AS s
    LEFT JOIN (SELECT job FROM left_jobs(until_day) WHERE was_cancelled) AS x ON x.job = s.job
    GROUP BY x.job IS NOT NULL
),
lines AS (
    -- Debits above 0, credits below.
    SELECT 1 AS entry, 'lumber received' AS memo, 'lumber' AS account, 'board ledger' AS source, sum(cents) AS cents, sum(rows) AS rows FROM boards WHERE kind = 'receipt'
    UNION ALL SELECT 1, 'lumber received', 'payables', 'board ledger', -sum(cents), sum(rows) FROM boards WHERE kind = 'receipt'
    UNION ALL SELECT 2, 'opening stock counted', 'lumber', 'board ledger', sum(cents), sum(rows) FROM boards WHERE kind = 'opening'
    UNION ALL SELECT 2, 'opening stock counted', 'opening_balances', 'board ledger', -sum(cents), sum(rows) FROM boards WHERE kind = 'opening'
    UNION ALL SELECT 3, 'vendors'' credits', 'lumber', 'board ledger', sum(cents), sum(rows) FROM boards WHERE kind = 'credit'
    UNION ALL SELECT 3, 'vendors'' credits', 'lumber_variance', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class = 'lumber' AND pool = 'lumber_credit'
    UNION ALL SELECT 3, 'vendors'' credits', 'payables', 'both', -sum(cents), sum(rows) FROM (SELECT sum(cents) AS cents, sum(rows) AS rows FROM boards WHERE kind = 'credit' UNION ALL SELECT sum(cents), sum(rows) FROM dollars WHERE class = 'lumber' AND pool = 'lumber_credit')
    UNION ALL SELECT 4, 'lumber used', CASE WHEN on_job THEN 'work_in_process' ELSE pool_account(class, pool) END, 'dollar ledger', sum(cents), sum(rows)
        FROM dollars WHERE class = 'lumber' AND coalesce(pool, '') <> 'lumber_credit' AND feed <> 'opening_wip' GROUP BY ALL
    UNION ALL SELECT 4, 'lumber used', 'lumber', 'board ledger', sum(cents), sum(rows) FROM boards WHERE kind NOT IN ('receipt', 'opening', 'credit')
    UNION ALL SELECT 5, 'pay and agency labour', CASE WHEN on_job THEN 'work_in_process' ELSE 'overhead_actual' END, 'dollar ledger', sum(cents), sum(rows)
        FROM dollars WHERE class IN ('direct_labour', 'overtime_premium', 'waiting', 'stoppage', 'indirect', 'leave', 'bonus', 'rate_variance', 'retro', 'reimbursement') AND feed <> 'opening_wip' GROUP BY ALL
    UNION ALL SELECT 5, 'pay and agency labour', 'wages_payable', 'dollar ledger', -sum(cents), sum(rows)
        FROM dollars WHERE class IN ('direct_labour', 'overtime_premium', 'waiting', 'stoppage', 'indirect', 'leave', 'bonus', 'rate_variance', 'retro', 'reimbursement') AND feed <> 'opening_wip'
    UNION ALL SELECT 6, 'burden and overhead applied', 'work_in_process', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class IN ('burden', 'overhead_applied') AND feed <> 'opening_wip'
    UNION ALL SELECT 6, 'burden and overhead applied', CASE class WHEN 'burden' THEN 'burden_applied' ELSE 'overhead_applied' END, 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE class IN ('burden', 'overhead_applied') AND feed <> 'opening_wip' GROUP BY class
    UNION ALL SELECT 7, 'connector plates at standard', 'work_in_process', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class = 'plates' AND feed = 'completions'
    UNION ALL SELECT 7, 'connector plates at standard', 'plates', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE class = 'plates' AND feed = 'completions'
    UNION ALL SELECT 8, 'costs charged to jobs', 'work_in_process', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE feed = 'job_costs'
    UNION ALL SELECT 8, 'costs charged to jobs', 'payables', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE feed = 'job_costs'
    UNION ALL SELECT 9, 'work in process taken over', 'work_in_process', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE feed = 'opening_wip'
    UNION ALL SELECT 9, 'work in process taken over', 'opening_balances', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE feed = 'opening_wip'
    UNION ALL SELECT 10, concat('overhead of ', of_month), pool_account(class, pool), 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class = 'overhead_actual' GROUP BY ALL
    UNION ALL SELECT 10, concat('overhead of ', of_month), 'payables', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE class = 'overhead_actual' GROUP BY ALL
    -- What was added to work in process and is in it no more was finished, but for jobs closed
    -- without shipping; what was finished and is no more on hand was sold.
    UNION ALL SELECT 11, 'trusses finished', 'finished_goods', 'job costs', added - wip, jobs FROM moved WHERE NOT closed
    UNION ALL SELECT 11, 'trusses finished', 'work_in_process', 'job costs', -(added - wip), jobs FROM moved WHERE NOT closed
    UNION ALL SELECT 12, 'jobs closed without shipping', 'cost_of_goods_sold', 'job costs', sold, jobs FROM moved WHERE closed
    UNION ALL SELECT 12, 'jobs closed without shipping', 'work_in_process', 'job costs', -(added - wip), jobs FROM moved WHERE closed
    UNION ALL SELECT 12, 'jobs closed without shipping', 'finished_goods', 'job costs', finished, jobs FROM moved WHERE closed
    UNION ALL SELECT 13, 'trusses delivered', 'cost_of_goods_sold', 'job costs', sold, jobs FROM moved WHERE NOT closed
    UNION ALL SELECT 13, 'trusses delivered', 'finished_goods', 'job costs', -(added - wip - finished), jobs FROM moved WHERE NOT closed
    UNION ALL SELECT 14, 'invoices and credits', 'receivables', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class = 'billing'
    UNION ALL SELECT 14, 'invoices and credits', 'customer_deposits', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE class = 'billing'
    UNION ALL SELECT 15, 'revenue earned', 'customer_deposits', 'dollar ledger', sum(cents), sum(rows) FROM dollars WHERE class = 'revenue'
    UNION ALL SELECT 15, 'revenue earned', 'revenue', 'dollar ledger', -sum(cents), sum(rows) FROM dollars WHERE class = 'revenue'
)
SELECT entry, memo, account, source, cents::BIGINT AS cents, rows::BIGINT AS rows
FROM lines
WHERE cents <> 0;
