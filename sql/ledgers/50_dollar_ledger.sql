-- The dollar ledger: every dollar of payroll, lumber, invoices and other cost, once.

-- grain: one row of the board ledger and the job or pool that pays for it
-- renewed: posted_on >= since
-- reads: steps.board_rows where moved_on >= since
-- reads: steps.layer_credits where credited_on >= since
CREATE OR REPLACE TABLE steps.lumber_postings AS
WITH spent AS (
    SELECT b.*, m.kind AS move_kind
    FROM steps.board_rows AS b
    JOIN steps.board_moves AS m USING (move_id)
    WHERE b.kind NOT IN ('receipt', 'opening', 'credit')
),
-- Boards without a job: all shares are known at once, so largest remainder.
shared AS (
    SELECT
        s.board_row_id, s.moved_on, s.occurred_on, -s.cents AS cents, h.job, s.feed, s.import_id, s.import_line,
        abs(s.cents)::HUGEINT * h.weight // sum(h.weight) OVER board_row AS base,
        abs(s.cents)::HUGEINT * h.weight % sum(h.weight) OVER board_row AS remainder
    FROM spent AS s
    JOIN steps.usage_shares AS h USING (move_id)
    WINDOW board_row AS (PARTITION BY s.board_row_id)
)
SELECT
    board_row_id, moved_on AS posted_on, occurred_on,
    CASE WHEN move_kind = 'shop' THEN 'shop' WHEN move_kind = 'count' AND s.lumber_usage = 'backflush' THEN 'backflush_difference' WHEN move_kind = 'count' THEN 'count' WHEN job IS NULL THEN 'lumber_unassigned' END AS pool,
    CASE WHEN move_kind <> 'shop' THEN job END AS job,
    -cents AS cents, feed, import_id, import_line
FROM spent
CROSS JOIN settings AS s
WHERE job IS NOT NULL OR move_kind = 'shop' OR move_id NOT IN (SELECT move_id FROM steps.usage_shares)
UNION ALL
SELECT
    board_row_id, moved_on, occurred_on, NULL, job,
    (sign(cents) * (base + CASE WHEN row_number() OVER (PARTITION BY board_row_id ORDER BY remainder DESC, job)
        <= abs(cents) - sum(base) OVER (PARTITION BY board_row_id) THEN 1 ELSE 0 END))::BIGINT,
    feed, import_id, import_line
FROM shared
UNION ALL
-- What a vendor credits for boards already used is no job's: jobs are never repriced.
SELECT NULL, credited_on, credited_on, 'lumber_credit', NULL, -(cents - left_cents), 'receipts', import_id, import_line
FROM steps.layer_credits
WHERE cents <> left_cents;

-- grain: one posting of standard plate cost: plate_usd a good truss, cents from the running
-- total of the job
CREATE OR REPLACE TABLE steps.plate_postings AS
WITH built AS (
    SELECT
        r.finished_on AS posted_on, r.job, r.truss, r.quantity * (t.plate_usd * 10000)::BIGINT AS units,
        sum(r.quantity * (t.plate_usd * 10000)::BIGINT) OVER (
            PARTITION BY r.job ORDER BY r.finished_on, r.run_row_id ROWS UNBOUNDED PRECEDING) AS units_to,
        r.import_id, r.import_line
    FROM steps.run_rows AS r
    JOIN trusses AS t ON t.job = r.job AND t.truss = r.truss
    CROSS JOIN settings AS s
    WHERE s.plates_source = 'standard' AND r.station_kind = 'table' AND r.remake IS NULL AND t.plate_usd IS NOT NULL
)
SELECT
    posted_on, job, truss,
    rounded_quotient(units_to, 100) - rounded_quotient(units_to - units, 100) AS cents,
    import_id, import_line
FROM built;

-- grain: one posting of cost
CREATE OR REPLACE VIEW steps.cost_postings AS
SELECT posted_on, occurred_on, class, pool, job, cents, 'timecards' AS feed, import_id, import_line, remake
FROM steps.labour_postings
UNION ALL
SELECT posted_on, occurred_on, class, pool, job, cents, 'timecards', import_id, import_line, remake
FROM steps.premium_postings
UNION ALL
SELECT posted_on, occurred_on, class, class, NULL, cents, feed, import_id, import_line, NULL
FROM steps.other_pay_postings
UNION ALL
SELECT posted_on, occurred_on, 'lumber', pool, job, cents, feed, import_id, import_line, NULL
FROM steps.lumber_postings
UNION ALL
SELECT posted_on, posted_on, 'plates', NULL, job, cents, 'completions', import_id, import_line, NULL
FROM steps.plate_postings
UNION ALL
SELECT c.incurred_on, c.incurred_on,
    CASE c.kind
        WHEN 'plate' THEN 'plates' WHEN 'hardware' THEN 'other_material' WHEN 'other_material' THEN 'other_material'
        WHEN 'delivery' THEN 'delivery' WHEN 'repair' THEN 'repair' ELSE 'other' END,
    NULL, c.job, usd_to_cents(c.amount_usd), 'job_costs', c.import_id, c.import_line, NULL
FROM job_costs AS c
UNION ALL
-- What jobs carried when the plant went live.
SELECT o."on", o."on", o.class, NULL, o.job, usd_to_cents(o.amount_usd), 'opening_wip', o.import_id, o.import_line, NULL
FROM opening_wip AS o
UNION ALL
-- A month's overhead counts on its last day.
SELECT last_day(o.month), last_day(o.month), 'overhead_actual', o.pool, NULL, usd_to_cents(o.actual_usd), 'overheads', o.import_id, o.import_line, NULL
FROM overheads AS o;
COMMENT ON VIEW steps.cost_postings IS 'the dollar ledger but for revenue and billing; holds wages';

-- grain: one posting of revenue. Billing isn't revenue: the price is earned by the share of
-- the job that has left (shipped), or by cost to date over what the job is expected to cost
-- (over_time; 26 CFR 1.460-4(b)(2)); credits count on their own date, and a closed job counts
-- its invoices instead.
CREATE OR REPLACE TABLE steps.revenue_postings AS
WITH dated AS (
    SELECT i.*, j.closed_on, i.invoiced_on > j.closed_on AS after_close, i.kind IN ('credit', 'scrap') AS earned_when_invoiced
    FROM invoices AS i
    LEFT JOIN jobs AS j USING (job)
),
-- A quote says what the job is to cost; without one revenue over time waits for shipping.
expected AS (
    SELECT
        j.job,
        usd_to_cents(j.quoted_lumber_usd + j.quoted_plate_usd + j.quoted_labour_usd + coalesce(j.quoted_other_usd, 0) + coalesce(j.quoted_delivery_usd, 0) + coalesce(j.quoted_overhead_usd, 0)) AS cents,
        j.quoted_overhead_usd IS NULL AS without_overhead
    FROM jobs AS j
    CROSS JOIN settings AS s
    WHERE s.revenue_rule = 'over_time'
        AND j.quoted_lumber_usd IS NOT NULL AND j.quoted_plate_usd IS NOT NULL AND j.quoted_labour_usd IS NOT NULL
),
cost_days AS (
    SELECT c.job, c.posted_on, e.cents AS expected, sum(sum(c.cents)) OVER (PARTITION BY c.job ORDER BY c.posted_on)::BIGINT AS cost_to
    FROM steps.cost_postings AS c
    JOIN expected AS e ON e.job = c.job
    WHERE NOT (e.without_overhead AND c.class = 'overhead_applied')
    GROUP BY c.job, c.posted_on, e.cents
),
-- The share of the price earned by the end of each day on which it moves.
shares AS (
    SELECT d.job, d.left_on AS on_day, d.value_to::HUGEINT AS over, d.value_whole::HUGEINT AS under
    FROM steps.delivered AS d
    WHERE d.job NOT IN (SELECT job FROM expected)
    UNION ALL
    SELECT c.job, c.posted_on, greatest(0, c.cost_to)::HUGEINT, greatest(1, c.cost_to, c.expected)::HUGEINT
    FROM cost_days AS c
    LEFT JOIN steps.left_days AS l ON l.job = c.job
    WHERE l.left_on IS NULL OR c.posted_on < l.left_on
    UNION ALL
    SELECT l.job, l.left_on, 1, 1
    FROM steps.left_days AS l
    JOIN expected AS e ON e.job = l.job
    JOIN steps.delivered AS d ON d.job = l.job AND d.is_all
),
priced AS (
    SELECT
        h.job, h.on_day AS posted_on, rounded_quotient(usd_to_cents(j.price_usd) * h.over, h.under) AS cents_to, j.import_id, j.import_line
    FROM (SELECT DISTINCT * FROM shares) AS h
    JOIN jobs AS j ON j.job = h.job
    WHERE j.closed_on IS NULL OR h.on_day <= j.closed_on
),
stepped AS (
    SELECT p.*, p.cents_to - coalesce(lag(p.cents_to) OVER (PARTITION BY p.job ORDER BY p.posted_on, p.cents_to), 0) AS cents
    FROM priced AS p
),
earned AS (
    SELECT posted_on, job, cents, 'jobs' AS feed, import_id, import_line
    FROM stepped
    WHERE cents <> 0
    UNION ALL
    SELECT d.invoiced_on, d.job, usd_to_cents(d.amount_usd), 'invoices', d.import_id, d.import_line
    FROM dated AS d
    WHERE d.earned_when_invoiced OR coalesce(d.after_close, false)
),
-- On the day a job is closed its revenue becomes what was invoiced.
closing AS (
    SELECT
        j.closed_on AS posted_on, j.job,
        coalesce((SELECT sum(usd_to_cents(d.amount_usd)) FROM dated AS d WHERE d.job = j.job AND d.invoiced_on <= j.closed_on), 0)
            - coalesce((SELECT sum(e.cents) FROM earned AS e WHERE e.job = j.job AND e.posted_on <= j.closed_on), 0) AS cents,
        'jobs' AS feed, j.import_id, j.import_line
    FROM jobs AS j
    WHERE j.closed_on IS NOT NULL
)
SELECT posted_on, job, cents, feed, import_id, import_line FROM earned
UNION ALL
SELECT posted_on, job, cents, feed, import_id, import_line FROM closing WHERE cents <> 0;

-- grain: one posting, as it would be if no month were closed
CREATE OR REPLACE VIEW steps.postings_now AS
SELECT posted_on, occurred_on, class, pool, job, cents, feed, import_id, import_line, remake
FROM steps.cost_postings
UNION ALL
SELECT posted_on, posted_on, 'revenue', NULL, job, cents, feed, import_id, import_line, NULL
FROM steps.revenue_postings
UNION ALL
SELECT i.invoiced_on, i.invoiced_on, 'billing', NULL, i.job, usd_to_cents(i.amount_usd), 'invoices', i.import_id, i.import_line, NULL
FROM invoices AS i;
COMMENT ON VIEW steps.postings_now IS 'the dollar ledger before closed months are put in; holds wages';

-- Feeds with few rows whose dollars can change on any day, whatever day their files bring: a
-- job's revenue from the start when its price changes. They are renewed whole.
CREATE OR REPLACE MACRO moves_any_day(feed) AS
    feed IN ('jobs', 'invoices', 'job_costs', 'opening_wip', 'overheads', 'other_pay');

-- grain: one posting. Closed months stand as they were closed; what they would be now less
-- what they were is posted on the first open day, and keeps its day in original_on.
-- renewed: original_on >= open_since OR moves_any_day(feed)
-- reads: steps.postings_now where posted_on >= open_since OR moves_any_day(feed)
-- reads: closed_dollars where original_on >= open_since OR moves_any_day(feed)
CREATE OR REPLACE TABLE dollar_ledger AS
WITH closed AS (
    SELECT coalesce(max(until_on), DATE '1900-01-01') AS until_on FROM closed_months
),
compared AS (
    SELECT posted_on AS original_on, occurred_on, class, pool, job, feed, import_id, import_line, remake, cents
    FROM steps.postings_now
    WHERE posted_on < (SELECT until_on FROM closed) AND EXISTS (SELECT 1 FROM closed_months)
    UNION ALL
    SELECT original_on, occurred_on, class, pool, job, feed, import_id, import_line, remake, -cents
    FROM closed_dollars
),
corrections AS (
    SELECT original_on, occurred_on, class, pool, job, feed, import_id, import_line, remake, sum(cents)::BIGINT AS cents
    FROM compared
    GROUP BY ALL
    HAVING sum(cents) <> 0
),
postings AS (
    SELECT posted_on, original_on, occurred_on, class, pool, job, cents, feed, import_id, import_line, remake FROM closed_dollars
    UNION ALL
    SELECT (SELECT until_on FROM closed), original_on, occurred_on, class, pool, job, cents, feed, import_id, import_line, remake FROM corrections
    UNION ALL
    SELECT posted_on, posted_on, occurred_on, class, pool, job, cents, feed, import_id, import_line, remake
    FROM steps.postings_now
    WHERE posted_on >= (SELECT until_on FROM closed)
)
SELECT posted_on, occurred_on, class, pool, job, cents_to_usd(cents) AS usd, feed, import_id, import_line AS line, remake, original_on
FROM postings
ORDER BY posted_on, class, pool, job, feed, import_id, line, original_on, cents;
COMMENT ON TABLE dollar_ledger IS 'one posting; revenue and cost are both positive, the class says which; labour rows are wage data';
COMMENT ON COLUMN dollar_ledger.posted_on IS 'calendar day in plant time on which it counts';
COMMENT ON COLUMN dollar_ledger.occurred_on IS 'day of the event; earlier than posted_on for a true-up';
COMMENT ON COLUMN dollar_ledger.class IS 'revenue, lumber, plates, other_material, direct_labour, overtime_premium, burden, overhead_applied, delivery, repair, other; a pool''s name; overhead_actual, which the feed overheads brings; or billing, which is in no margin';
COMMENT ON COLUMN dollar_ledger.pool IS 'set when no job bears it: waiting, indirect, leave, premium, shop, count (backflush_difference where nobody logs boards), lumber_credit, lumber_unassigned; with class overhead_actual a pool of the feed overheads';
COMMENT ON COLUMN dollar_ledger.original_on IS 'posted_on, but for a correction of a closed month: the day in it';
