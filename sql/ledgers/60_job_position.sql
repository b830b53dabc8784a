-- Where each job stands on a day: revenue, cost by class, and whether it is complete.

-- grain: one job, day and net wood taken for it (issues less returns; loose lumber shipped
-- and shop use left out)
-- renewed: moved_on >= since
-- reads: steps.board_moves where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.job_wood AS
WITH moved AS (
    SELECT m.move_id, m.job, m.moved_on, -m.boards * wood(m.size, m.length_16ths * 4) AS wood
    FROM steps.board_moves AS m
    LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
    WHERE m.kind IN ('cut', 'recut', 'cull', 'return') AND NOT coalesce(r.below_minimum, false)
),
shares AS (
    SELECT move_id, job, weight, sum(weight) OVER (PARTITION BY move_id) AS whole
    FROM steps.usage_shares
)
SELECT m.job, m.moved_on, sum(m.wood)::BIGINT AS wood
FROM moved AS m
WHERE m.job IS NOT NULL
GROUP BY m.job, m.moved_on
UNION ALL
SELECT s.job, m.moved_on, sum(rounded_quotient(m.wood::HUGEINT * s.weight, s.whole))::BIGINT
FROM moved AS m
JOIN shares AS s USING (move_id)
WHERE m.job IS NULL
GROUP BY s.job, m.moved_on
UNION ALL
-- What backflush takes, before it is rounded to whole boards.
SELECT job, day, sum(wood)::BIGINT
FROM steps.backflush_parts
GROUP BY job, day;

-- grain: one run with the people-seconds on it
-- renewed: run_key IN (SELECT run_key FROM renewed_runs)
-- reads: steps.minute_rows where run_row_id >= getvariable('first_run_row') AND run_key IN (SELECT run_key FROM renewed_runs)
-- reads: steps.run_rows where run_row_id >= getvariable('first_run_row') AND run_key IN (SELECT run_key FROM renewed_runs)
CREATE OR REPLACE TABLE steps.run_seconds AS
SELECT
    r.run_key, any_value(r.job) AS job, max(r.finished_on) AS finished_on, min(r.run_row_id) AS run_row_id,
    coalesce(any_value(m.seconds), 0)::BIGINT AS seconds
FROM steps.run_rows AS r
LEFT JOIN (SELECT run_key, sum(seconds) AS seconds FROM steps.minute_rows WHERE run_key IS NOT NULL GROUP BY run_key) AS m USING (run_key)
GROUP BY r.run_key;

-- grain: one job's cost and revenue by class and day, in dollars
-- renewed: job IN (SELECT job FROM renewed_jobs)
-- reads: dollar_ledger where posted_on >= getvariable('first_dollar_day') AND job IN (SELECT job FROM renewed_jobs)
CREATE OR REPLACE TABLE steps.job_days AS
SELECT
    d.job, d.posted_on,
    sum(CASE WHEN d.class = 'revenue' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS revenue_usd,
    sum(CASE WHEN d.class = 'billing' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS billed_usd,
    sum(CASE WHEN d.class = 'lumber' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS lumber_usd,
    sum(CASE WHEN d.class = 'plates' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS plates_usd,
    sum(CASE WHEN d.class = 'other_material' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS other_material_usd,
    sum(CASE WHEN d.class IN ('direct_labour', 'burden', 'overtime_premium') THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS labour_usd,
    sum(CASE WHEN d.class IN ('direct_labour', 'burden', 'overtime_premium') AND d.remake IS NOT NULL THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS remake_labour_usd,
    sum(CASE WHEN d.class = 'delivery' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS delivery_usd,
    sum(CASE WHEN d.class IN ('repair', 'other') THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS other_usd,
    sum(CASE WHEN d.class = 'overhead_applied' THEN d.usd ELSE 0 END)::DECIMAL(18,2) AS overhead_usd
FROM dollar_ledger AS d
WHERE d.job IS NOT NULL
GROUP BY d.job, d.posted_on;

-- grain: one job, day and employee with labour dollars on it
-- renewed: job IN (SELECT job FROM renewed_jobs)
-- reads: dollar_ledger where posted_on >= getvariable('first_dollar_day') AND job IN (SELECT job FROM renewed_jobs)
CREATE OR REPLACE TABLE steps.job_people AS
SELECT DISTINCT d.job, d.posted_on, t.employee
FROM dollar_ledger AS d
LEFT JOIN (
    SELECT import_id, import_line, employee FROM timecards
    UNION ALL
    SELECT import_id, import_line, employee FROM history.timecards
) AS t ON t.import_id = d.import_id AND t.import_line = d.line
WHERE d.job IS NOT NULL AND d.feed = 'timecards' AND d.class IN ('direct_labour', 'burden', 'overtime_premium') AND d.usd <> 0;
COMMENT ON TABLE steps.job_people IS 'whose time a job is charged with on a day, back-dated raises too';

-- What a job was charged in a period for one or two people is their pay, and stands in the
-- accountant's book alone. Jobs to date are exempt.
-- grain: one job with labour posted in the period from fewer than three people
CREATE OR REPLACE MACRO thin_labour(from_day, until_day) AS TABLE
SELECT job
FROM steps.job_people
WHERE posted_on >= from_day AND posted_on < until_day
GROUP BY job
HAVING count(DISTINCT employee) < 3;

-- Job to date before a day. grain: one job of the feed
CREATE OR REPLACE MACRO job_position(until_day) AS TABLE
WITH posted AS (
    SELECT
        job,
        sum(revenue_usd) AS revenue_usd, sum(billed_usd) AS billed_usd, sum(lumber_usd) AS lumber_usd, sum(plates_usd) AS plates_usd,
        sum(other_material_usd) AS other_material_usd, sum(labour_usd) AS labour_usd, sum(remake_labour_usd) AS remake_labour_usd,
        sum(delivery_usd) AS delivery_usd, sum(other_usd) AS other_usd, sum(overhead_usd) AS overhead_usd
    FROM steps.job_days
    WHERE posted_on < until_day
    GROUP BY job
),
made AS (
    SELECT
        job, truss,
        sum(CASE WHEN station_kind = 'saw' THEN quantity ELSE 0 END) AS cut,
        sum(CASE WHEN station_kind = 'table' THEN quantity ELSE 0 END) AS built,
        sum(CASE WHEN station_kind = 'table' AND remake IS NULL THEN quantity ELSE 0 END) AS good
    FROM steps.run_rows
    WHERE finished_on < until_day
    GROUP BY job, truss
),
needs AS (
    SELECT
        m.job, sum(greatest(m.cut, m.built) * w.wood)::BIGINT AS wood, sum(m.cut + m.built) AS made, sum(m.good)::BIGINT AS good,
        count(*) FILTER (WHERE m.good > 0 AND t.plate_usd IS NULL) AS marks_without_plate_usd
    FROM made AS m
    LEFT JOIN steps.truss_wood AS w ON w.job = m.job AND w.truss = m.truss
    LEFT JOIN trusses AS t ON t.job = m.job AND t.truss = m.truss
    GROUP BY m.job
),
taken AS (
    SELECT job, sum(wood)::BIGINT AS wood
    FROM steps.job_wood
    WHERE moved_on < until_day
    GROUP BY job
),
idle_runs AS (
    SELECT job, count(*) AS runs
    FROM steps.run_seconds
    WHERE seconds = 0 AND finished_on < until_day
    GROUP BY job
),
unpaid AS (
    SELECT job, count(*) AS rows
    FROM steps.pay_rows
    WHERE version = 'paid' AND NOT has_wage AND run_row_id IS NOT NULL AND day < until_day
    GROUP BY job
),
unpriced AS (
    SELECT coalesce(b.job, s.job) AS job, count(*) AS rows
    FROM steps.board_rows AS b
    LEFT JOIN steps.usage_shares AS s ON s.move_id = CASE WHEN b.job IS NULL THEN b.move_id END
    WHERE b.unpriced AND b.boards < 0 AND b.kind <> 'shop' AND b.moved_on < until_day
    GROUP BY ALL
),
plate_costs AS (
    SELECT DISTINCT job
    FROM job_costs
    WHERE kind = 'plate' AND incurred_on < until_day
),
ordered AS (
    SELECT job, sum(quantity)::BIGINT AS trusses, sum(design_bf * quantity) AS design_bf
    FROM trusses
    GROUP BY job
),
joined AS (
    SELECT
        j.job, j.customer, j.description, j.line, j.ordered_on, j.promised_on, j.shipped_on, j.closed_on,
        l.left_on, x.job IS NOT NULL AS closed_unshipped,
        j.price_usd,
        -- A quote has at least lumber, plates and labour; without overhead it is a contribution margin.
        CASE WHEN j.quoted_lumber_usd IS NOT NULL AND j.quoted_plate_usd IS NOT NULL AND j.quoted_labour_usd IS NOT NULL
            THEN (j.price_usd - j.quoted_lumber_usd - j.quoted_plate_usd - j.quoted_labour_usd
                - coalesce(j.quoted_other_usd, 0) - coalesce(j.quoted_delivery_usd, 0) - coalesce(j.quoted_overhead_usd, 0))::DECIMAL(18,2)
        END AS quoted_margin_usd,
        CASE WHEN j.quoted_lumber_usd IS NULL OR j.quoted_plate_usd IS NULL OR j.quoted_labour_usd IS NULL THEN 'no quote'
             WHEN j.quoted_overhead_usd IS NULL THEN 'contribution' ELSE 'full' END AS quote_basis,
        coalesce(p.revenue_usd, 0)::DECIMAL(18,2) AS revenue_usd, coalesce(p.billed_usd, 0)::DECIMAL(18,2) AS billed_usd,
        coalesce(p.lumber_usd, 0)::DECIMAL(18,2) AS lumber_usd, coalesce(p.plates_usd, 0)::DECIMAL(18,2) AS plates_usd,
        coalesce(p.other_material_usd, 0)::DECIMAL(18,2) AS other_material_usd, coalesce(p.labour_usd, 0)::DECIMAL(18,2) AS labour_usd,
        coalesce(p.remake_labour_usd, 0)::DECIMAL(18,2) AS remake_labour_usd,
        coalesce(p.delivery_usd, 0)::DECIMAL(18,2) AS delivery_usd, coalesce(p.other_usd, 0)::DECIMAL(18,2) AS other_usd,
        coalesce(p.overhead_usd, 0)::DECIMAL(18,2) AS overhead_usd,
        b.basis, coalesce(o.trusses, 0) AS trusses_ordered, coalesce(n.good, 0) + coalesce(w0.trusses_built, 0) AS trusses_built,
        wood_to_bf(coalesce(t.wood, 0)) AS issued_bf, wood_to_bf(coalesce(n.wood, 0)) AS needed_bf,
        concat_ws('; ',
            CASE WHEN coalesce(n.made, 0) = 0 AND w0.job IS NULL AND x.job IS NULL THEN 'nothing logged as cut or built' END,
            CASE WHEN coalesce(n.made, 0) > 0 AND coalesce(t.wood, 0) <= 0 THEN CASE s.lumber_usage WHEN 'backflush' THEN 'no boards to backflush' ELSE 'no boards logged' END
                 WHEN coalesce(t.wood, 0) < coalesce(n.wood, 0) THEN 'fewer boards than the parts need' END,
            CASE WHEN u.rows > 0 THEN 'lumber without a price' END,
            CASE WHEN i.runs > 0 THEN i.runs || CASE WHEN i.runs = 1 THEN ' run' ELSE ' runs' END || ' without people-minutes' END,
            CASE WHEN w.rows > 0 THEN 'people without a wage' END,
            CASE WHEN n.good > 0 AND c.job IS NULL
                AND (n.marks_without_plate_usd > 0 OR s.plates_source = 'invoiced') THEN 'no plate cost' END
        ) AS missing
    FROM jobs AS j
    CROSS JOIN settings AS s
    LEFT JOIN posted AS p ON p.job = j.job
    LEFT JOIN steps.left_days AS l ON l.job = j.job
    LEFT JOIN steps.closed_unshipped AS x ON x.job = j.job AND x.closed_on < until_day
    LEFT JOIN needs AS n ON n.job = j.job
    LEFT JOIN (SELECT job, max(trusses_built) AS trusses_built FROM opening_wip WHERE "on" < until_day GROUP BY job) AS w0 ON w0.job = j.job
    LEFT JOIN taken AS t ON t.job = j.job
    LEFT JOIN idle_runs AS i ON i.job = j.job
    LEFT JOIN unpaid AS w ON w.job = j.job
    LEFT JOIN unpriced AS u ON u.job = j.job
    LEFT JOIN plate_costs AS c ON c.job = j.job
    LEFT JOIN ordered AS o ON o.job = j.job
    LEFT JOIN job_basis(until_day) AS b ON b.job = j.job
)
SELECT
    q.* EXCLUDE (missing),
    nullif(q.missing, '') AS missing,
    (q.lumber_usd + q.plates_usd + q.other_material_usd + q.labour_usd + q.delivery_usd + q.other_usd + q.overhead_usd)::DECIMAL(18,2) AS cost_usd,
    -- Blank while something is missing; against the quote like for like in overhead.
    CASE WHEN q.missing = '' THEN q.revenue_usd - cost_usd END::DECIMAL(18,2) AS margin_usd,
    (margin_usd + CASE WHEN q.quote_basis = 'contribution' THEN q.overhead_usd ELSE 0 END - q.quoted_margin_usd)::DECIMAL(18,2) AS variance_usd
FROM joined AS q;
