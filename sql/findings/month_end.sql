-- What the accountant reads first, in sentences, each with the place that it is read from (a
-- sheet). A place lower than 40 is a finding.
-- grain: one finding
CREATE OR REPLACE TEMP MACRO month_end_findings(from_day, until_day) AS TABLE
WITH stock AS (
    SELECT size, species, grade, length_16ths, sum(boards) AS boards, sum(usd) AS usd
    FROM board_ledger
    WHERE moved_on < until_day
    GROUP BY ALL
),
jobs_then AS (
    SELECT 1 AS sign, job, wip_cents, finished_cents, sold_cents FROM job_stock(until_day)
    UNION ALL
    SELECT -1, job, wip_cents, finished_cents, sold_cents FROM job_stock(from_day)
),
sold AS (
    SELECT job, sum(sign * sold_cents)::BIGINT AS cents FROM jobs_then GROUP BY job
),
earned AS (
    SELECT job, sum(usd_to_cents(usd))::BIGINT AS cents
    FROM dollar_ledger
    WHERE class = 'revenue' AND posted_on >= from_day AND posted_on < until_day
    GROUP BY job
),
gross AS (
    SELECT count(*) AS jobs, coalesce(sum(e.cents), 0)::BIGINT AS revenue, coalesce(sum(s.cents), 0)::BIGINT AS cost
    FROM sold AS s
    FULL JOIN earned AS e ON e.job = s.job
    WHERE coalesce(s.cents, 0) <> 0 OR coalesce(e.cents, 0) <> 0
),
standing AS (
    SELECT sum(wip_cents)::BIGINT AS wip, sum(finished_cents)::BIGINT AS finished
    FROM jobs_then
    WHERE sign = 1
),
accrued AS (
    SELECT count(*) AS lines, sum(cents)::BIGINT AS cents FROM received_not_invoiced(until_day)
),
corrected AS (
    SELECT count(*) AS rows, string_agg(DISTINCT strftime(original_on, '%Y-%m'), ', ' ORDER BY strftime(original_on, '%Y-%m')) AS months
    FROM dollar_ledger
    WHERE posted_on <> original_on AND posted_on >= from_day AND posted_on < until_day
),
overhead AS (
    SELECT sum(actual_usd) AS actual, coalesce(sum(applied_usd), 0) AS applied
    FROM overhead_pools(from_day, until_day)
    WHERE part = 'overhead'
    HAVING sum(actual_usd) IS NOT NULL
)
SELECT
    30 AS place, 'cost of goods sold' AS item,
    concat(format('{:,.2f}', cost / 100.0), ' on revenue of ', format('{:,.2f}', revenue / 100.0), ' earned by ', jobs, CASE WHEN jobs = 1 THEN ' job' ELSE ' jobs' END,
        CASE WHEN revenue > 0 THEN concat('; what is left is ', pct(share_of(revenue - cost, revenue)), ' %') END) AS detail,
    'cost_of_goods_sold' AS sheet_row, jobs::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, cents_to_usd(revenue - cost) AS amount_usd
FROM gross
WHERE jobs > 0
UNION ALL
SELECT 31, 'work in process', concat('work in process stands at ', format('{:,.2f}', wip / 100.0), ', finished goods at ', format('{:,.2f}', finished / 100.0)), 'wip_rollforward', NULL, NULL, cents_to_usd(wip + finished)
FROM standing
WHERE wip <> 0 OR finished <> 0
UNION ALL
SELECT
    32, 'stock', concat('landed cost of the boards on hand at the end', CASE WHEN count(*) FILTER (WHERE boards < 0) > 0 THEN concat('; of ', count(*) FILTER (WHERE boards < 0), ' items more was issued than received') END),
    'board_rollforward', sum(boards)::BIGINT, NULL, sum(usd)
FROM stock
HAVING count(*) > 0
UNION ALL
SELECT 33, 'overhead', concat('overhead applied ', format('{:,.2f}', applied), ' of ', format('{:,.2f}', actual), ' actual: ', format('{:,.2f}', abs(actual - applied)), CASE WHEN actual >= applied THEN ' are on no job' ELSE ' more are on jobs than it cost' END),
    'overhead: TOTAL', NULL, NULL, actual - applied
FROM overhead
UNION ALL
SELECT 34, 'corrections', concat(rows, ' postings correct closed months: ', months), 'corrections', rows, NULL, NULL
FROM corrected
WHERE rows > 0
UNION ALL
SELECT 35, 'received, not invoiced', concat(lines, CASE WHEN lines = 1 THEN ' line' ELSE ' lines' END, ' of packing slips wait for the vendor''s invoice'), 'received_not_invoiced', lines, NULL, cents_to_usd(cents)
FROM accrued
WHERE lines > 0;
