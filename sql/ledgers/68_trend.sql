-- What the owner's trend shows, week by week, and what comparisons value minutes at.

-- Weekly measures of the plant in the weeks before a day; the labour of comparable trusses is
-- worked out in Go. A week's figure may still move: a job's later costs, a later remake.
-- grain: one measure and workweek with anything to measure
CREATE OR REPLACE MACRO weekly_measures(until_day) AS TABLE
WITH shown AS (
    SELECT w.workweek_start, w.label
    FROM workweeks AS w, settings AS s
    WHERE w.workweek_start + 7 <= CAST(until_day AS DATE) AND w.workweek_start >= CAST(until_day AS DATE) - 7 * s.trailing_weeks
),
margins AS (
    SELECT w.workweek_start, sum(p.margin_usd)::DECIMAL(18,4) AS numerator, sum(p.revenue_usd)::DECIMAL(18,4) AS denominator
    FROM job_position(CAST(until_day AS DATE)) AS p
    JOIN steps.day_weeks AS w ON w.day = p.left_on
    WHERE p.missing IS NULL
    GROUP BY w.workweek_start
),
wastes AS (
    SELECT w.workweek_start, wood_to_bf(sum(y.waste)::BIGINT)::DECIMAL(18,4) AS numerator, wood_to_bf(sum(y.net)::BIGINT)::DECIMAL(18,4) AS denominator
    FROM steps.batch_waste AS y
    JOIN steps.day_weeks AS w ON w.day = y.cut_on
    GROUP BY w.workweek_start
),
setups AS (
    SELECT
        r.workweek_start, seconds_to_min(sum(r.setup_seconds)::BIGINT)::DECIMAL(18,4) AS numerator,
        seconds_to_min(sum(r.setup_seconds + r.build_seconds)::BIGINT)::DECIMAL(18,4) AS denominator
    FROM steps.table_runs AS r
    WHERE r.left_out IS NULL AND r.remake IS NULL
    GROUP BY r.workweek_start
),
board_feet AS (
    SELECT
        r.workweek_start, sum(r.trusses * r.truss_bf)::DECIMAL(18,4) AS numerator,
        seconds_to_hours(sum(r.setup_seconds + r.build_seconds)::BIGINT)::DECIMAL(18,4) AS denominator
    FROM steps.table_runs AS r
    WHERE r.left_out IS NULL AND r.remake IS NULL AND r.truss_bf IS NOT NULL
    GROUP BY r.workweek_start
),
first_pass AS (
    SELECT f.workweek_start, sum(f.trusses - f.not_first_pass)::DECIMAL(18,4) AS numerator, sum(f.trusses)::DECIMAL(18,4) AS denominator
    FROM steps.first_pass AS f
    GROUP BY f.workweek_start
),
everything AS (
    SELECT 1 AS place, 'margin' AS measure, 'share of revenue' AS unit, 'USD kept / USD earned, jobs that left' AS base, * FROM margins
    UNION ALL SELECT 2, 'waste', 'share of net issue', 'BF not in parts / BF of net issue', * FROM wastes
    UNION ALL SELECT 4, 'set-up share', 'share of table minutes', 'set-up min / set-up and build min', * FROM setups
    UNION ALL SELECT 5, 'board feet a labour hour', 'board feet', 'BF of trusses / labour hours', * FROM board_feet
    UNION ALL SELECT 6, 'first pass', 'share of trusses', 'right first time / trusses built', * FROM first_pass
)
SELECT e.place, e.measure, e.unit, e.base, e.workweek_start, s.label AS workweek, e.numerator, e.denominator
FROM everything AS e
JOIN shown AS s USING (workweek_start)
WHERE e.denominator > 0;

-- What happened on the floor in a week, in words and without names.
-- grain: one workweek and event
CREATE OR REPLACE VIEW steps.floor_events AS
WITH weeks AS (
    SELECT min(workweek_start) AS first_week, max(workweek_start) AS last_week FROM minute_ledger
),
-- Where somebody worked most of a week: a day's help elsewhere changes no roster.
mains AS (
    SELECT m.workweek_start, m.employee, m.crew
    FROM minute_ledger AS m
    SEMI JOIN (SELECT DISTINCT logged_crew AS crew FROM steps.table_runs WHERE left_out IS NULL OR left_out <> 'unknown names') AS k ON k.crew = m.crew
    GROUP BY m.workweek_start, m.employee, m.crew
    QUALIFY row_number() OVER (PARTITION BY m.workweek_start, m.employee ORDER BY sum(m.seconds) DESC, m.crew) = 1
),
moves AS (
    SELECT
        m.*,
        lag(m.crew) OVER person AS crew_before,
        lead(m.crew) OVER person AS crew_after
    FROM mains AS m
    WINDOW person AS (PARTITION BY m.employee ORDER BY m.workweek_start)
)
SELECT w.workweek_start, 1 AS place, concat('change ', c.code, ' at ', string_agg(c.station, ', ' ORDER BY c.station)) AS event
FROM changes AS c
JOIN workweeks AS w ON c.changed_on >= w.workweek_start AND c.changed_on < w.workweek_start + 7
GROUP BY w.workweek_start, c.code
UNION ALL
SELECT m.workweek_start, 2, concat(m.crew, ': ', count(*), ' joined')
FROM moves AS m, weeks AS w
WHERE m.workweek_start > w.first_week AND m.crew_before IS DISTINCT FROM m.crew
GROUP BY m.crew, m.workweek_start
UNION ALL
SELECT m.workweek_start + 7, 2, concat(m.crew, ': ', count(*), ' left')
FROM moves AS m, weeks AS w
-- Not seen for two weeks at the end is gone; before that it may be leave.
WHERE m.crew_after IS DISTINCT FROM m.crew AND m.workweek_start + 7 <= w.last_week - CASE WHEN m.crew_after IS NULL THEN 7 ELSE 0 END
GROUP BY m.crew, m.workweek_start;
COMMENT ON VIEW steps.floor_events IS 'changes under study, and people who joined or left a crew, by workweek';

-- What a people-minute at the tables costs, from what jobs were charged in the weeks before a
-- day: straight pay with burden over the seconds of set-up and build. For what a change is
-- worth; no posting. NULL where fewer than three people worked.
-- grain: one row in all
CREATE OR REPLACE MACRO minute_cost(until_day) AS TABLE
WITH charged AS (
    SELECT sum(usd_to_cents(d.usd))::BIGINT AS cents
    FROM dollar_ledger AS d, settings AS s
    WHERE d.class IN ('direct_labour', 'burden') AND d.job IS NOT NULL
        AND d.posted_on < CAST(until_day AS DATE) AND d.posted_on >= CAST(until_day AS DATE) - 7 * s.trailing_weeks
),
worked AS (
    SELECT sum(m.seconds)::BIGINT AS seconds, count(DISTINCT m.employee) AS people
    FROM minute_ledger AS m, settings AS s
    WHERE m.use IN ('setup', 'build') AND m.started_at::DATE < CAST(until_day AS DATE) AND m.started_at::DATE >= CAST(until_day AS DATE) - 7 * s.trailing_weeks
)
SELECT CASE WHEN w.seconds > 0 AND w.people >= 3 THEN c.cents END AS cents, w.seconds
FROM charged AS c, worked AS w;

-- Minutes that would have been saved in the weeks before a day, from the plant's own history,
-- by what is asked for; a NULL asks for nothing. Set-ups that are quicker already stay.
-- grain: one assumption that was asked for
CREATE OR REPLACE MACRO what_if_savings(until_day, setup_min, batch_size, stoppage_reason, stoppage_less_pct) AS TABLE
WITH seen AS (
    SELECT r.*
    FROM steps.table_runs AS r, settings AS s
    WHERE r.left_out IS NULL AND r.remake IS NULL
        AND r.finished_on < CAST(until_day AS DATE) AND r.finished_on >= CAST(until_day AS DATE) - 7 * s.trailing_weeks
),
weeks AS (
    SELECT count(DISTINCT workweek_start) AS weeks FROM seen
),
set_up AS (
    SELECT
        count(*) AS units, sum(setup_seconds)::BIGINT AS now_seconds,
        sum(CASE WHEN setup_elapsed_seconds > CAST(setup_min AS DECIMAL(9,2)) * 60
            THEN rounded_quotient(setup_seconds * (setup_elapsed_seconds - (CAST(setup_min AS DECIMAL(9,2)) * 60)::BIGINT), setup_elapsed_seconds) ELSE 0 END)::BIGINT AS saved_seconds
    FROM seen
    WHERE has_setup AND setup_elapsed_seconds > 0
),
marks AS (
    SELECT job, truss, sum(trusses)::BIGINT AS trusses, count(*) FILTER (WHERE has_setup) AS setups, sum(CASE WHEN has_setup THEN setup_seconds ELSE 0 END)::BIGINT AS setup_seconds
    FROM seen
    GROUP BY job, truss
),
batches AS (
    SELECT
        sum(setups)::BIGINT AS units, sum(setup_seconds)::BIGINT AS now_seconds,
        -- Of a mark's set-ups, at whichever table, those that larger batches would not need; none is
        -- added where batches are larger already.
        sum(CASE WHEN setups > needed THEN rounded_quotient(setup_seconds * (setups - needed), setups) ELSE 0 END)::BIGINT AS saved_seconds
    FROM (SELECT *, (trusses + CAST(batch_size AS BIGINT) - 1) // nullif(CAST(batch_size AS BIGINT), 0) AS needed FROM marks)
),
stopped AS (
    SELECT count(DISTINCT (m.station, m.work_date, m.reason)) AS units, sum(m.seconds)::BIGINT AS now_seconds,
        rounded_quotient(sum(m.seconds)::BIGINT * (coalesce(CAST(stoppage_less_pct AS DECIMAL(8,6)), 1) * 1000000)::BIGINT, 1000000) AS saved_seconds
    FROM minute_ledger AS m, settings AS s
    WHERE m.use = 'stoppage' AND m.reason = CAST(stoppage_reason AS VARCHAR)
        AND m.work_date < CAST(until_day AS DATE) AND m.work_date >= CAST(until_day AS DATE) - 7 * s.trailing_weeks
),
asked AS (
    SELECT 1 AS place, concat('set-up in ', trim(trailing '.' FROM trim(trailing '0' FROM CAST(setup_min AS DECIMAL(9,2))::VARCHAR)), ' minutes on the clock') AS assumption, 'set-ups' AS unit, s.* FROM set_up AS s WHERE setup_min IS NOT NULL
    UNION ALL SELECT 2, concat('batches of ', batch_size, ' trusses of a mark'), 'set-ups', b.* FROM batches AS b WHERE batch_size IS NOT NULL
    UNION ALL SELECT 3, concat('stopped for "', stoppage_reason, '" less by ', round(100 * coalesce(CAST(stoppage_less_pct AS DECIMAL(8,6)), 1), 1)::DECIMAL(6,1), ' %'), 'stoppages', p.* FROM stopped AS p WHERE stoppage_reason IS NOT NULL
)
SELECT
    a.place, a.assumption, a.unit, w.weeks::BIGINT AS weeks, coalesce(a.units, 0)::BIGINT AS units,
    coalesce(a.now_seconds, 0)::BIGINT AS now_seconds, coalesce(a.saved_seconds, 0)::BIGINT AS saved_seconds,
    -- A year is 52 weeks like these.
    CASE WHEN w.weeks > 0 THEN rounded_quotient(coalesce(a.saved_seconds, 0)::BIGINT * 52, w.weeks) END AS year_seconds,
    CASE WHEN w.weeks > 0 THEN rounded_quotient(rounded_quotient(coalesce(a.saved_seconds, 0)::BIGINT * 52, w.weeks)::HUGEINT * c.cents, c.seconds) END AS year_cents
FROM asked AS a, weeks AS w, minute_cost(CAST(until_day AS DATE)) AS c;
