-- sheet:  overhead
-- title:  Overhead and burden, actual against applied
-- reader: accountant
-- grain:  one row per pool of the period, what was applied, and the total of each part
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: part        | Part        | text  | -   | overhead, or burden (payroll taxes and insurance)
-- column: pool        | Pool        | text  | -   | pool of the ledgers or of the feed overheads; applied: what jobs were charged; TOTAL: all of the part
-- column: source      | Source      | text  | -   | where the figure comes from
-- column: budget_usd  | Budget      | usd   | -   | what the month was to cost, of the feed overheads; a closed month's as it was then
-- column: actual_usd  | Actual      | usd   | -   | what it cost
-- column: applied_usd | Applied     | usd   | -   | charged to jobs by labour hour (overhead) or straight pay (burden; agency labour bears none)
-- column: under_usd   | Under-applied | usd | -   | actual less applied, of all the part together; below 0 over-applied
-- column: normal_hours | Normal     | hours | -   | people-hours on runs at which the budget would be applied in full: budget over the rate
-- column: actual_hours | Hours      | hours | -   | people-hours on runs that overhead is applied for; a closed month's as they were then, and what changed since in the open month
-- emphasis: pool | word | TOTAL
-- note:   All pools less applied: above 0 jobs were charged too little. Fewer hours than normal leave part of the fixed cost unapplied.
-- note:   Boards that counts miss or find, that no job took, and credits on boards already used are no overhead: the journal books them to lumber variance.
-- note:   A month's overheads count on its last day; what comes for a closed month is a row of its own in the open one. The overheads' actual leaves out the wages that timecards hold. A draft for the plant's accountant.
-- note:   Overhead and burden are two settlements: they have no total together.
-- private: a pool of one or two people is their pay
-- sort:   part, pools, applied, total
WITH pools AS (
    SELECT part, place, pool, source, budget_usd, actual_usd, applied_usd, NULL::DECIMAL(18,2) AS under_usd
    FROM overhead_pools($from::DATE, $until::DATE)
    UNION ALL
    SELECT part, 3, 'TOTAL', NULL, sum(budget_usd), coalesce(sum(actual_usd), 0), coalesce(sum(applied_usd), 0), coalesce(sum(actual_usd), 0) - coalesce(sum(applied_usd), 0)
    FROM overhead_pools($from::DATE, $until::DATE)
    GROUP BY part
),
hours AS (
    SELECT sum(r.seconds)::BIGINT AS seconds
    FROM steps.run_days AS r
    WHERE r.posted_on >= $from::DATE AND r.posted_on < $until::DATE
),
budget AS (
    SELECT sum(rounded_quotient(m.cents::HUGEINT * 1000000, m.overhead_per_hour_e4))::BIGINT AS hours_e4
    FROM (
        SELECT b.for_month, b.overhead_per_hour_e4, sum(b.cents)::BIGINT AS cents
        FROM steps.overhead_budgets AS b
        WHERE lower(b.pool) <> 'burden' AND b.overhead_per_hour_e4 > 0 AND last_day(b.for_month) >= $from::DATE AND last_day(b.for_month) < $until::DATE
        GROUP BY b.for_month, b.overhead_per_hour_e4
    ) AS m
)
SELECT
    p.part::VARCHAR AS part,
    p.pool::VARCHAR AS pool,
    p.source::VARCHAR AS source,
    p.budget_usd::DECIMAL(18,2) AS budget_usd,
    p.actual_usd::DECIMAL(18,2) AS actual_usd,
    p.applied_usd::DECIMAL(18,2) AS applied_usd,
    p.under_usd::DECIMAL(18,2) AS under_usd,
    CASE WHEN p.part = 'overhead' AND p.place = 2 THEN (b.hours_e4::DECIMAL(18,0) * 0.0001::DECIMAL(5,4)) END::DECIMAL(14,4) AS normal_hours,
    CASE WHEN p.place = 2 THEN seconds_to_hours(h.seconds) END::DECIMAL(14,4) AS actual_hours
FROM pools AS p
CROSS JOIN hours AS h
CROSS JOIN budget AS b
ORDER BY p.part DESC, p.place, p.pool, p.source;
