-- sheet:  overhead
-- title:  Overhead and burden, actual against applied
-- reader: accountant
-- grain:  one row per pool of the period, what was applied, and the total of each part
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: part        | Part        | text  | -   | overhead, or burden (payroll taxes and insurance)
-- column: pool        | Pool        | text  | -   | pool of the ledgers or of the feed overheads; applied: what jobs were charged; TOTAL: all of the part
-- column: source      | Source      | text  | -   | where the figure comes from
-- column: budget_usd  | Budget      | usd   | -   | what the month was to cost, of the feed overheads
-- column: actual_usd  | Actual      | usd   | -   | what it cost
-- column: applied_usd | Applied     | usd   | -   | charged to jobs by labour hour (overhead) or straight pay (burden)
-- column: under_usd   | Under-applied | usd | -   | actual less applied, of all the part together; below 0 over-applied
-- column: normal_hours | Normal     | hours | -   | people-hours on runs at which the budget would be applied in full: budget over the rate
-- column: actual_hours | Hours      | hours | -   | people-hours on runs
-- emphasis: pool | word | TOTAL
-- note:   All pools less applied: above 0 jobs were charged too little. Fewer hours than normal leave part of the fixed cost unapplied.
-- note:   The overheads' actual leaves out the wages that timecards hold. A draft for the plant's accountant.
-- note:   Overhead and burden are two settlements: they have no total together.
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
    SELECT sum(m.seconds)::BIGINT AS seconds
    FROM minute_ledger AS m
    WHERE m.use IN ('setup', 'build') AND m.calendar_day >= $from::DATE AND m.calendar_day < $until::DATE
),
budget AS (
    SELECT sum(o.budget_usd) AS usd
    FROM overheads AS o
    WHERE lower(o.pool) <> 'burden' AND o.month >= $from::DATE AND o.month < $until::DATE
)
SELECT
    p.part::VARCHAR AS part,
    p.pool::VARCHAR AS pool,
    p.source::VARCHAR AS source,
    p.budget_usd::DECIMAL(14,2) AS budget_usd,
    p.actual_usd::DECIMAL(14,2) AS actual_usd,
    p.applied_usd::DECIMAL(14,2) AS applied_usd,
    p.under_usd::DECIMAL(14,2) AS under_usd,
    CASE WHEN p.part = 'overhead' AND p.place = 2 AND s.overhead_per_hour_e4 > 0 THEN (rounded_quotient(usd_to_cents(b.usd)::HUGEINT * 1000000, s.overhead_per_hour_e4)::DECIMAL(18,0) * 0.0001::DECIMAL(5,4)) END::DECIMAL(14,4) AS normal_hours,
    CASE WHEN p.place = 2 THEN seconds_to_hours(h.seconds) END::DECIMAL(14,4) AS actual_hours
FROM pools AS p
CROSS JOIN settings AS s
CROSS JOIN hours AS h
CROSS JOIN budget AS b
ORDER BY p.part DESC, p.place, p.pool, p.source;
