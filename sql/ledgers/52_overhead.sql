-- Overhead beside its dollars: the hours that it is applied for, what it was to cost, and the
-- account that a pool belongs to. Closed months keep theirs.

-- The journal's account of the dollars of a pool. Boards that a count finds or misses, that no
-- job took, and a vendor's credit on boards already used are lumber variance and no overhead.
CREATE OR REPLACE MACRO pool_account(class, pool) AS
    CASE WHEN class = 'lumber' AND pool <> 'shop' THEN 'lumber_variance'
         WHEN class = 'overhead_actual' AND lower(pool) = 'burden' THEN 'burden_actual'
         ELSE 'overhead_actual' END;

-- grain: one day with time on runs, and one day of a closed month that it corrects. What the
-- seconds of a closed month would be now less what they were counts on the first open day, as
-- the overhead applied for them does.
CREATE OR REPLACE TABLE steps.run_days AS
WITH closed AS (
    SELECT coalesce(max(until_on), DATE '1900-01-01') AS until_on FROM closed_positions
),
days_now AS (
    SELECT calendar_day, sum(seconds)::BIGINT AS seconds
    FROM minute_ledger
    WHERE use IN ('setup', 'build')
    GROUP BY calendar_day
),
compared AS (
    SELECT calendar_day AS original_on, seconds FROM days_now WHERE calendar_day < (SELECT until_on FROM closed)
    UNION ALL
    SELECT original_on, -seconds FROM closed_run_days
)
SELECT posted_on, original_on, seconds FROM closed_run_days
UNION ALL
SELECT (SELECT until_on FROM closed), original_on, sum(seconds)::BIGINT
FROM compared
GROUP BY original_on
HAVING sum(seconds) <> 0
UNION ALL
SELECT calendar_day, calendar_day, seconds
FROM days_now
WHERE calendar_day >= (SELECT until_on FROM closed);
COMMENT ON TABLE steps.run_days IS 'people-seconds on runs by the day on which their overhead is posted';

-- grain: one overhead pool of one month with a budget
CREATE OR REPLACE TABLE steps.overhead_budgets AS
SELECT for_month, pool, cents, overhead_per_hour_e4 FROM closed_budgets
UNION ALL
SELECT o.month, o.pool, usd_to_cents(o.budget_usd), s.overhead_per_hour_e4
FROM overheads AS o
CROSS JOIN settings AS s
WHERE o.budget_usd IS NOT NULL AND o.month >= (SELECT coalesce(max(until_on), DATE '1900-01-01') FROM closed_positions);
COMMENT ON TABLE steps.overhead_budgets IS 'what a pool was to cost in a month, and the rate at which overhead is applied; a closed month keeps both';

-- What overhead and burden cost in a period and what jobs were charged.
-- grain: one pool, or what was applied, of one part (overhead, burden)
CREATE OR REPLACE MACRO overhead_pools(from_day, until_day) AS TABLE
SELECT 'overhead' AS part, 1 AS place, replace(d.pool, '_', ' ') AS pool, CASE WHEN d.class = 'lumber' THEN 'lumber ledger' ELSE 'timecards and other pay' END AS source,
    NULL::DECIMAL(18,2) AS budget_usd, sum(d.usd)::DECIMAL(18,2) AS actual_usd, NULL::DECIMAL(18,2) AS applied_usd
FROM dollar_ledger AS d
WHERE d.pool IS NOT NULL AND d.class <> 'overhead_actual' AND pool_account(d.class, d.pool) = 'overhead_actual' AND d.posted_on >= from_day AND d.posted_on < until_day
GROUP BY ALL
UNION ALL
-- What came later for a closed month is a row of its own.
SELECT CASE WHEN lower(o.pool) = 'burden' THEN 'burden' ELSE 'overhead' END, 1, o.pool, o.source, cents_to_usd(sum(o.budget)::BIGINT), cents_to_usd(sum(o.actual)::BIGINT), NULL
FROM (
    SELECT d.pool, CASE WHEN d.posted_on <> d.original_on THEN concat('overheads of ', strftime(d.original_on, '%Y-%m')) ELSE 'overheads' END AS source, NULL::BIGINT AS budget, usd_to_cents(d.usd) AS actual
    FROM dollar_ledger AS d
    WHERE d.class = 'overhead_actual' AND d.posted_on >= from_day AND d.posted_on < until_day
    UNION ALL
    SELECT b.pool, 'overheads', b.cents, 0 FROM steps.overhead_budgets AS b WHERE last_day(b.for_month) >= from_day AND last_day(b.for_month) < until_day
) AS o
GROUP BY o.pool, o.source
UNION ALL
SELECT CASE d.class WHEN 'burden' THEN 'burden' ELSE 'overhead' END, 2, 'applied', 'jobs', NULL, NULL, sum(d.usd)
FROM dollar_ledger AS d
WHERE d.class IN ('burden', 'overhead_applied') AND d.feed <> 'opening_wip' AND d.posted_on >= from_day AND d.posted_on < until_day
GROUP BY d.class;
