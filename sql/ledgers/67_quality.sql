-- Quality: what became of first-time work at the tables, and what was inspected.

-- grain: one first-time run at a table
CREATE OR REPLACE TABLE steps.first_time_runs AS
WITH runs AS (
    SELECT
        r.run_key,
        any_value(r.station) AS station, any_value(r.job) AS job, any_value(r.truss) AS truss, any_value(r.batch) AS batch,
        sum(r.quantity)::BIGINT AS quantity, max(r.finished_on) AS finished_on, max(r.finished_utc) AS finished_utc,
        arg_max(r.crew, (r.finished_on, r.run_row_id)) AS logged_crew, arg_max(r.shift, (r.finished_on, r.run_row_id)) AS shift,
        any_value(r.remake) AS remake
    FROM steps.run_rows AS r
    WHERE r.station_kind = 'table'
    GROUP BY r.run_key
),
minutes AS (
    SELECT x.run_key, coalesce(m.crew, x.crew) AS crew, sum(m.seconds)::BIGINT AS seconds
    FROM minute_ledger AS m
    JOIN steps.run_rows AS x USING (run_row_id)
    WHERE x.station_kind = 'table'
    GROUP BY x.run_key, coalesce(m.crew, x.crew)
),
totals AS (
    SELECT run_key, sum(seconds)::BIGINT AS seconds, arg_max(crew, (seconds, crew)) AS main_crew, max(seconds) AS main_seconds
    FROM minutes
    GROUP BY run_key
),
-- Runs that name something unknown, or had somebody on them who is not in wages, are kept
-- out of rates.
unknown_runs AS (
    SELECT x.run_key
    FROM steps.run_rows AS x
    JOIN steps.unknown_names AS n ON n.feed = 'completions' AND n.import_id = x.import_id AND n.import_line = x.import_line
    UNION
    SELECT x.run_key
    FROM minute_ledger AS m
    JOIN steps.run_rows AS x USING (run_row_id)
    JOIN steps.unknown_names AS n ON n.kind = 'employee' AND n.name = m.employee
),
-- Failures of a mark are put to its runs of that shift and table, the earliest first.
failures AS (
    SELECT i.station, i.shift_date, i.shift, i.job, i.truss, count(*) AS failed
    FROM inspections AS i
    WHERE i.passed = 'no'
    GROUP BY ALL
),
shares AS (
    SELECT x.station, x.shift_date, x.shift, x.job, x.truss, x.run_key, sum(x.quantity)::BIGINT AS quantity, min(x.run_row_id) AS first_row_id
    FROM steps.run_rows AS x
    WHERE x.station_kind = 'table' AND x.remake IS NULL
    GROUP BY ALL
),
queued AS (
    SELECT
        s.run_key, s.quantity, f.failed,
        coalesce(sum(s.quantity) OVER (
            PARTITION BY s.station, s.shift_date, s.shift, s.job, s.truss
            ORDER BY s.first_row_id
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), 0) AS ahead
    FROM shares AS s
    JOIN failures AS f
        ON f.station = s.station AND f.shift_date = s.shift_date AND f.shift = s.shift AND f.job = s.job AND f.truss = s.truss
),
failed AS (
    SELECT run_key, sum(greatest(0, least(quantity, failed - ahead)))::BIGINT AS failed
    FROM queued
    GROUP BY run_key
    HAVING sum(greatest(0, least(quantity, failed - ahead))) > 0
),
-- What is made again counts against the run that built it first: of the same batch, else one
-- of the mark that failed inspection, else the latest of the mark.
traced AS (
    SELECT f.run_key, r.quantity, r.remake
    FROM runs AS r
    JOIN runs AS f ON f.remake IS NULL AND f.job = r.job AND f.truss IS NOT DISTINCT FROM r.truss AND f.finished_utc <= r.finished_utc
    LEFT JOIN failed AS n ON n.run_key = f.run_key
    WHERE r.remake IS NOT NULL
    QUALIFY row_number() OVER (
        PARTITION BY r.run_key
        ORDER BY f.batch IS NOT DISTINCT FROM r.batch DESC, n.run_key IS NOT NULL AND r.remake <> 'customer' DESC, f.finished_utc DESC, f.run_key
    ) = 1
),
remade AS (
    SELECT run_key, sum(quantity)::BIGINT AS remade, sum(CASE WHEN remake = 'customer' THEN quantity ELSE 0 END)::BIGINT AS remade_for_customer
    FROM traced
    GROUP BY run_key
)
SELECT
    r.run_key, r.job, r.truss, r.station, r.shift, r.finished_on, r.quantity,
    CASE WHEN t.seconds IS NULL THEN r.logged_crew WHEN 5 * t.main_seconds >= 4 * t.seconds THEN t.main_crew ELSE 'shared' END AS crew,
    t.seconds,
    u.run_key IS NULL AND r.quantity > 0 AS counts,
    coalesce(m.remade, 0)::BIGINT AS remade, coalesce(m.remade_for_customer, 0)::BIGINT AS remade_for_customer, coalesce(f.failed, 0)::BIGINT AS failed,
    -- A truss that failed and was made again is one truss.
    (r.quantity - least(r.quantity, greatest(coalesce(m.remade, 0), coalesce(f.failed, 0))))::BIGINT AS passed_first
FROM runs AS r
LEFT JOIN totals AS t USING (run_key)
LEFT JOIN unknown_runs AS u ON u.run_key = r.run_key
LEFT JOIN remade AS m ON m.run_key = r.run_key
LEFT JOIN failed AS f ON f.run_key = r.run_key
WHERE r.remake IS NULL;
COMMENT ON TABLE steps.first_time_runs IS 'one first-time run at a table, and what of it failed inspection or was made again since';
COMMENT ON COLUMN steps.first_time_runs.crew IS 'crew with at least four fifths of the run''s minutes; else shared; without minutes, as logged';
COMMENT ON COLUMN steps.first_time_runs.seconds IS 'people-seconds on the run; NULL where none are known';
COMMENT ON COLUMN steps.first_time_runs.counts IS 'whether the run is in rates: trusses were built, and no name on it is unknown';
COMMENT ON COLUMN steps.first_time_runs.remade IS 'trusses of it made again at any later time';
COMMENT ON COLUMN steps.first_time_runs.failed IS 'trusses of it that failed inspection';
COMMENT ON COLUMN steps.first_time_runs.passed_first IS 'trusses that neither failed nor were made again, as far as the files know';

-- grain: one inspection
CREATE OR REPLACE TABLE steps.inspected AS
WITH weeks AS (
    SELECT day, arg_max(workweek_start, starts_utc) AS workweek_start
    FROM day_parts
    GROUP BY day
),
built AS (
    SELECT DISTINCT x.station, x.shift_date, x.shift, x.job, x.truss
    FROM steps.run_rows AS x
    WHERE x.station_kind = 'table'
),
unknown AS (
    SELECT DISTINCT import_id, import_line
    FROM steps.unknown_names
    WHERE feed = 'inspections'
)
SELECT
    i.station, i.shift, i.shift_date, w.workweek_start, i.job, i.truss, i.passed, u.import_id IS NULL AS is_known,
    b.station IS NOT NULL AS is_built, i.import_id, i.import_line
FROM inspections AS i
JOIN weeks AS w ON w.day = i.shift_date
LEFT JOIN built AS b ON b.station = i.station AND b.shift_date = i.shift_date AND b.shift = i.shift AND b.job = i.job AND b.truss = i.truss
LEFT JOIN unknown AS u ON u.import_id = i.import_id AND u.import_line = i.import_line;
COMMENT ON TABLE steps.inspected IS 'one inspection in the workweek of its shift date';
COMMENT ON COLUMN steps.inspected.is_known IS 'whether job and truss are known; else the inspection counts in no figure';
COMMENT ON COLUMN steps.inspected.is_built IS 'whether a completion of that table, shift and date has the truss';

-- In-plant quality, ANSI/TPI 1 chapter 3: at least three trusses inspected for each set-up
-- location, each shift, each week. A table is one set-up location here.
-- grain: one table, shift and workweek in which trusses were built
CREATE OR REPLACE TABLE steps.inspection_weeks AS
WITH weeks AS (
    SELECT day, arg_max(workweek_start, starts_utc) AS workweek_start
    FROM day_parts
    GROUP BY day
),
ran AS (
    SELECT x.station, x.shift, w.workweek_start, sum(x.quantity)::BIGINT AS trusses
    FROM steps.run_rows AS x
    JOIN weeks AS w ON w.day = x.shift_date
    WHERE x.station_kind = 'table'
    GROUP BY x.station, x.shift, w.workweek_start
    HAVING sum(x.quantity) > 0
),
done AS (
    SELECT station, shift, workweek_start, count(*) AS inspected, count(*) FILTER (WHERE passed = 'no') AS failed
    FROM steps.inspected
    WHERE is_known
    GROUP BY station, shift, workweek_start
)
SELECT
    r.station, r.shift, r.workweek_start, k.label, r.trusses,
    -- A week of fewer trusses can't have three inspected.
    least(3, r.trusses)::BIGINT AS required, coalesce(d.inspected, 0)::BIGINT AS inspected, coalesce(d.failed, 0)::BIGINT AS failed
FROM ran AS r
JOIN workweeks AS k USING (workweek_start)
LEFT JOIN done AS d ON d.station = r.station AND d.shift = r.shift AND d.workweek_start = r.workweek_start;
COMMENT ON TABLE steps.inspection_weeks IS 'one table, shift and workweek that ran, with the trusses to be inspected (ANSI/TPI 1 chapter 3) and those that were';
