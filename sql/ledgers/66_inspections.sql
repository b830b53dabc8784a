-- Inspections: which week they count for, what ran without them, and what failed.

-- grain: one inspection
CREATE OR REPLACE TABLE steps.inspected AS
WITH built AS (
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
JOIN steps.day_weeks AS w ON w.day = i.shift_date
LEFT JOIN built AS b ON b.station = i.station AND b.shift_date = i.shift_date AND b.shift = i.shift AND b.job = i.job AND b.truss = i.truss
LEFT JOIN unknown AS u ON u.import_id = i.import_id AND u.import_line = i.import_line;
COMMENT ON TABLE steps.inspected IS 'one inspection in the workweek of its shift date';
COMMENT ON COLUMN steps.inspected.is_known IS 'whether job and truss are known; else the inspection counts in no figure';
COMMENT ON COLUMN steps.inspected.is_built IS 'whether a completion of that table, shift and date has the truss';

-- In-plant quality, ANSI/TPI 1 chapter 3: at least three trusses inspected for each set-up
-- location, each shift, each week. A table is one set-up location here.
-- grain: one table, shift and workweek in which trusses were built
CREATE OR REPLACE TABLE steps.inspection_weeks AS
WITH ran AS (
    SELECT x.station, x.shift, w.workweek_start, sum(x.quantity)::BIGINT AS trusses
    FROM steps.run_rows AS x
    JOIN steps.day_weeks AS w ON w.day = x.shift_date
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

-- Failures of a mark are put to its runs of that shift and table, the earliest first.
-- grain: one first-time run with trusses that failed inspection
CREATE OR REPLACE TABLE steps.failed_runs AS
WITH failures AS (
    SELECT i.station, i.shift_date, i.shift, i.job, i.truss, count(*) AS failed
    FROM steps.inspected AS i
    WHERE i.passed = 'no' AND i.is_known
    GROUP BY ALL
),
built AS (
    SELECT x.station, x.shift_date, x.shift, x.job, x.truss, x.run_key, sum(x.quantity)::BIGINT AS trusses, min(x.run_row_id) AS first_row_id
    FROM steps.run_rows AS x
    WHERE x.station_kind = 'table' AND x.remake IS NULL
    GROUP BY ALL
),
queued AS (
    SELECT
        b.run_key, b.trusses, f.failed,
        coalesce(sum(b.trusses) OVER (
            PARTITION BY b.station, b.shift_date, b.shift, b.job, b.truss
            ORDER BY b.first_row_id
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), 0) AS ahead
    FROM built AS b
    JOIN failures AS f
        ON f.station = b.station AND f.shift_date = b.shift_date AND f.shift = b.shift AND f.job = b.job AND f.truss = b.truss
)
SELECT run_key, sum(greatest(0, least(trusses, failed - ahead)))::BIGINT AS failed
FROM queued
GROUP BY run_key
HAVING sum(greatest(0, least(trusses, failed - ahead))) > 0;
COMMENT ON TABLE steps.failed_runs IS 'one first-time run with trusses that failed inspection';
