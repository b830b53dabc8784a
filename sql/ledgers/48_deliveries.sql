-- What left the plant: how much of each job is delivered on which day.
--
-- A delivery counts by the design board feet of its trusses, whole trusses where these are
-- not known; a row without truss or quantity takes all that is left. The day a job is
-- marked as shipped, all of it has left.

-- grain: one truss mark with what a truss of it weighs in its job's deliveries
CREATE OR REPLACE TABLE steps.truss_values AS
WITH design AS (
    SELECT t.job, t.truss, t.quantity, coalesce(p.wood, (t.design_bf * 10000)::BIGINT * 147456 // 10000) AS wood
    FROM trusses AS t
    LEFT JOIN (SELECT job, truss, sum(wood)::BIGINT AS wood FROM steps.truss_parts GROUP BY job, truss) AS p ON p.job = t.job AND p.truss = t.truss
)
SELECT
    job, truss, quantity, wood,
    CASE WHEN bool_and(coalesce(wood, 0) > 0) OVER (PARTITION BY job) THEN wood ELSE 1 END AS value
FROM design;

-- grain: one job and day on which some of it left
CREATE OR REPLACE TABLE steps.delivered AS
WITH named AS (
    SELECT d.delivered_on, d.load, d.job, v.truss, CASE WHEN d.truss IS NULL THEN NULL ELSE d.quantity END AS quantity, v.quantity AS ordered, v.value
    FROM deliveries AS d
    JOIN steps.truss_values AS v ON v.job = d.job AND (d.truss IS NULL OR v.truss = d.truss)
),
running AS (
    SELECT
        n.*,
        CASE WHEN bool_or(n.quantity IS NULL) OVER so_far THEN n.ordered ELSE least(n.ordered, sum(n.quantity) OVER so_far) END AS quantity_to
    FROM named AS n
    WINDOW so_far AS (PARTITION BY n.job, n.truss ORDER BY n.delivered_on, n.load, n.quantity NULLS LAST ROWS UNBOUNDED PRECEDING)
),
steps_of AS (
    SELECT
        r.job, r.delivered_on,
        (r.quantity_to - coalesce(lag(r.quantity_to) OVER (PARTITION BY r.job, r.truss ORDER BY r.delivered_on, r.load, r.quantity_to), 0)) AS trusses, r.value
    FROM running AS r
),
days_of AS (
    SELECT job, delivered_on, sum(trusses * value)::BIGINT AS value, sum(trusses)::BIGINT AS trusses
    FROM steps_of
    GROUP BY job, delivered_on
),
whole AS (
    SELECT job, sum(quantity * value)::BIGINT AS value, sum(quantity)::BIGINT AS trusses FROM steps.truss_values GROUP BY job
),
-- Loads of jobs without a list of trusses can't be weighed: shipped_on alone counts.
weighed AS (
    SELECT d.job, d.delivered_on AS left_on, sum(d.value) OVER (PARTITION BY d.job ORDER BY d.delivered_on)::BIGINT AS value_to, w.value AS value_whole,
        sum(d.trusses) OVER (PARTITION BY d.job ORDER BY d.delivered_on)::BIGINT AS trusses_to
    FROM days_of AS d
    JOIN whole AS w ON w.job = d.job
    WHERE w.value > 0
),
-- What left after the day the job was marked as shipped adds nothing.
timely AS (
    SELECT w.* FROM weighed AS w JOIN jobs AS j ON j.job = w.job
    WHERE j.shipped_on IS NULL OR w.left_on < j.shipped_on
    UNION ALL
    SELECT j.job, j.shipped_on, 1, 1, w.trusses FROM jobs AS j LEFT JOIN whole AS w ON w.job = j.job WHERE j.shipped_on IS NOT NULL
)
SELECT
    job, left_on, value_to, value_whole,
    value_to >= value_whole AS is_all, trusses_to
FROM timely;
COMMENT ON TABLE steps.delivered IS 'one job and day on which some of it left, with what had left by then over the whole';

-- A job has left when the last of it did, else when it was closed. Whichever is first ends its
-- cost: revenue is whole by then, and what is delivered later adds nothing to what is sold.
-- grain: one job that has left whole, with the day
CREATE OR REPLACE TABLE steps.left_days AS
WITH gone AS (
    SELECT j.job, j.closed_on, min(d.left_on) FILTER (WHERE d.is_all) AS all_left_on
    FROM jobs AS j
    LEFT JOIN steps.delivered AS d ON d.job = j.job
    GROUP BY j.job, j.closed_on
)
SELECT job, coalesce(all_left_on, closed_on) AS left_on, least(all_left_on, closed_on) AS sold_on
FROM gone
WHERE all_left_on IS NOT NULL OR closed_on IS NOT NULL;
COMMENT ON TABLE steps.left_days IS 'one job that has left whole or was closed';
COMMENT ON COLUMN steps.left_days.left_on IS 'day the last of it left, else the day it was closed';
COMMENT ON COLUMN steps.left_days.sold_on IS 'day from which all of its cost is sold: the last of it left or it was closed, whichever came first';

-- A job that was closed with trusses still to build and nothing of it ever sent or marked as
-- shipped was cancelled. A plant that records no shipping at all can't tell.
-- grain: one job closed without shipping
CREATE OR REPLACE TABLE steps.closed_unshipped AS
WITH ordered AS (
    SELECT job, sum(quantity)::BIGINT AS trusses FROM trusses GROUP BY job
),
built AS (
    SELECT job, sum(trusses)::BIGINT AS trusses
    FROM (
        SELECT job, quantity AS trusses FROM steps.run_rows WHERE station_kind = 'table' AND remake IS NULL
        UNION ALL
        SELECT job, max(trusses_built) FROM opening_wip GROUP BY job
    )
    GROUP BY job
)
SELECT j.job, j.closed_on
FROM jobs AS j
JOIN ordered AS o ON o.job = j.job
LEFT JOIN built AS b ON b.job = j.job
ANTI JOIN deliveries AS d ON d.job = j.job
WHERE j.closed_on IS NOT NULL AND j.shipped_on IS NULL AND coalesce(b.trusses, 0) < o.trusses
    AND (EXISTS (SELECT 1 FROM deliveries) OR EXISTS (SELECT 1 FROM jobs WHERE shipped_on IS NOT NULL));
COMMENT ON TABLE steps.closed_unshipped IS 'one job closed without shipping, with the day';

-- Jobs that have left or were closed before a day; at a frozen day those of the closing.
-- grain: one such job
CREATE OR REPLACE MACRO left_jobs(until_day) AS TABLE
SELECT l.job, l.sold_on, x.job IS NOT NULL AS was_cancelled
FROM steps.left_days AS l
LEFT JOIN steps.closed_unshipped AS x ON x.job = l.job
WHERE l.sold_on < until_day AND until_day NOT IN (SELECT until_on FROM closed_positions)
UNION ALL
SELECT job, sold_on, was_cancelled
FROM closed_left_jobs
WHERE until_on = until_day;

-- Share of a job that is sold before a day, as a fraction: what was delivered, and from sold_on
-- all of it. grain: one job with some of it gone
CREATE OR REPLACE MACRO share_delivered(until_day) AS TABLE
SELECT job, arg_max(value_to, on_day) AS value_to, arg_max(value_whole, on_day) AS value_whole
FROM (
    SELECT d.job, d.left_on AS on_day, d.value_to, d.value_whole
    FROM steps.delivered AS d
    LEFT JOIN steps.left_days AS l ON l.job = d.job
    WHERE l.sold_on IS NULL OR d.left_on < l.sold_on
    UNION ALL
    SELECT job, sold_on, 1, 1 FROM steps.left_days
)
WHERE on_day < until_day
GROUP BY job;
