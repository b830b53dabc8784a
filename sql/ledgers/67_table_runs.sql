-- Runs at the tables as rates count them: whole runs, for the crew that made them, by the
-- date on which they finish.

-- grain: one run at a table, remakes included
CREATE OR REPLACE TABLE steps.table_runs AS
WITH runs AS (
    SELECT
        r.run_key, any_value(r.station) AS station, any_value(r.jigging) AS jigging, any_value(r.batch) AS batch,
        any_value(r.job) AS job, any_value(r.truss) AS truss, any_value(r.remake) AS remake,
        sum(r.quantity)::BIGINT AS trusses, max(r.finished_on) AS finished_on, max(r.finished_utc) AS finished_utc,
        min(r.starts_utc) AS starts_utc, bool_or(r.has_setup) AS has_setup,
        sum(CASE WHEN r.has_setup THEN seconds_between(r.starts_utc, r.build_from_utc) END)::BIGINT AS setup_elapsed_seconds,
        arg_max(r.crew, (r.finished_on, r.run_row_id)) AS logged_crew,
        arg_max(r.shift, (r.finished_on, r.run_row_id)) AS shift,
        arg_max(r.shift_date, (r.finished_on, r.run_row_id)) AS shift_date
    FROM steps.run_rows AS r
    WHERE r.station_kind = 'table'
    GROUP BY r.run_key
),
minutes AS (
    SELECT
        x.run_key, coalesce(m.crew, x.crew) AS crew,
        sum(CASE WHEN m.use = 'setup' THEN m.seconds ELSE 0 END)::BIGINT AS setup_seconds,
        sum(CASE WHEN m.use = 'build' THEN m.seconds ELSE 0 END)::BIGINT AS build_seconds
    FROM minute_ledger AS m
    JOIN steps.run_rows AS x USING (run_row_id)
    WHERE x.station_kind = 'table'
    GROUP BY x.run_key, coalesce(m.crew, x.crew)
),
totals AS (
    SELECT
        run_key, sum(setup_seconds)::BIGINT AS setup_seconds, sum(build_seconds)::BIGINT AS build_seconds,
        arg_max(crew, (setup_seconds + build_seconds, crew)) AS main_crew,
        max(setup_seconds + build_seconds) AS main_seconds
    FROM minutes
    GROUP BY run_key
),
-- Runs that name a job, truss or crew that nothing else knows, or had somebody on them who
-- is not in wages: they are kept out of rates.
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
marks AS (
    SELECT
        t.job, t.truss, any_value(t.kind) AS kind, any_value(t.quoted_setup_min) AS quoted_setup_min, any_value(t.quoted_build_min) AS quoted_build_min,
        coalesce(wood_to_bf(sum(p.wood)::BIGINT), any_value(t.design_bf))::DECIMAL(18,6) AS truss_bf
    FROM trusses AS t
    LEFT JOIN steps.truss_parts AS p ON p.job = t.job AND p.truss = t.truss
    GROUP BY t.job, t.truss
),
-- The run that first built what a remake builds again: of the same batch before all, else one
-- of the mark that failed inspection (not for the customer's remakes), else the latest of the
-- mark; finished by then.
traced AS (
    SELECT m.run_key, f.run_key AS first_run_key
    FROM runs AS m
    JOIN runs AS f ON f.remake IS NULL AND f.job = m.job AND f.truss IS NOT DISTINCT FROM m.truss AND coalesce(f.finished_utc <= m.finished_utc, f.finished_on <= m.finished_on)
    LEFT JOIN steps.failed_runs AS n ON n.run_key = f.run_key
    WHERE m.remake IS NOT NULL
    QUALIFY row_number() OVER (
        PARTITION BY m.run_key
        ORDER BY f.batch IS NOT DISTINCT FROM m.batch DESC, n.run_key IS NOT NULL AND m.remake <> 'customer' DESC, f.finished_utc DESC, f.run_key
    ) = 1
)
SELECT
    r.run_key, r.station, r.jigging, r.batch, r.job, r.truss, r.remake, k.kind, k.truss_bf, r.trusses, r.finished_on, r.finished_utc, r.starts_utc,
    d.workweek_start, r.shift, r.shift_date, r.logged_crew,
    CASE WHEN t.main_seconds IS NULL THEN r.logged_crew
         WHEN 5 * t.main_seconds >= 4 * (t.setup_seconds + t.build_seconds) THEN t.main_crew
         ELSE 'shared' END AS crew,
    r.has_setup, coalesce(t.setup_seconds, 0)::BIGINT AS setup_seconds, coalesce(t.build_seconds, 0)::BIGINT AS build_seconds, r.setup_elapsed_seconds,
    (k.quoted_setup_min + r.trusses * k.quoted_build_min)::DECIMAL(14,2) AS quoted_min,
    c.first_run_key,
    -- An abandoned set-up of 0 trusses stays on its job and out of rates.
    CASE WHEN t.run_key IS NULL THEN 'no people-minutes'
         WHEN u.run_key IS NOT NULL THEN 'unknown names'
         WHEN r.trusses = 0 THEN 'no trusses'
         WHEN r.finished_on IS NULL THEN 'no date' END AS left_out
FROM runs AS r
LEFT JOIN totals AS t USING (run_key)
LEFT JOIN unknown_runs AS u ON u.run_key = r.run_key
LEFT JOIN marks AS k ON k.job = r.job AND k.truss = r.truss
LEFT JOIN traced AS c ON c.run_key = r.run_key
LEFT JOIN steps.day_weeks AS d ON d.day = r.finished_on;
COMMENT ON TABLE steps.table_runs IS 'one run at a table, first-time or remade, in the period in which it finishes';
COMMENT ON COLUMN steps.table_runs.crew IS 'crew with at least four fifths of the run''s minutes; else shared';
COMMENT ON COLUMN steps.table_runs.trusses IS 'whole trusses, never plies';
COMMENT ON COLUMN steps.table_runs.setup_seconds IS 'people-seconds of set-up; of a run without a recorded set-up they are in build_seconds';
COMMENT ON COLUMN steps.table_runs.setup_elapsed_seconds IS 'clock time from set-up start to build start; NULL where the set-up was not recorded';
COMMENT ON COLUMN steps.table_runs.quoted_min IS 'people-minutes that the quote allows at all stations, one set-up a run; NULL where the truss has none';
COMMENT ON COLUMN steps.table_runs.first_run_key IS 'of a remake: the run that built the truss first; NULL where none is known';
COMMENT ON COLUMN steps.table_runs.left_out IS 'why the run is kept out of rates; NULL for a run that counts';

-- Runs of the weeks before a day that can be compared like for like, each in a class of its
-- likes: truss kind, smaller or larger than the middle truss of its kind, and batch size
-- (batches of four to six handle well: common practice, no source).
-- grain: one first-time run that finished in the window
CREATE OR REPLACE MACRO compared_runs(until_day) AS TABLE
WITH window_days AS (
    SELECT CAST(until_day AS DATE) - 7 * s.trailing_weeks AS first_day, CAST(until_day AS DATE) AS end_day, s.learning_weeks
    FROM settings AS s
),
in_window AS (
    SELECT r.*
    FROM steps.table_runs AS r, window_days AS w
    WHERE r.remake IS NULL AND r.finished_on >= w.first_day AND r.finished_on < w.end_day
),
-- The middle truss of a kind, by board feet; a border of whole board feet.
borders AS (
    SELECT kind, ceil(quantile_disc(truss_bf, 0.5))::BIGINT AS border_bf
    FROM in_window
    WHERE kind IS NOT NULL AND truss_bf IS NOT NULL
    GROUP BY kind
),
-- A crew that joined after the log began learns for the first weeks.
first_weeks AS (
    SELECT crew, min(workweek_start) AS first_week, (SELECT min(workweek_start) FROM steps.table_runs) AS plant_first_week
    FROM steps.table_runs
    WHERE crew IS NOT NULL
    GROUP BY crew
)
SELECT
    r.run_key, r.station, r.jigging, r.job, r.truss, r.crew, coalesce(r.shift, 'not said') AS shift, r.shift_date, r.finished_on, r.workweek_start, r.trusses, r.has_setup,
    r.setup_seconds, r.build_seconds, r.quoted_min, r.kind, b.border_bf,
    CASE WHEN r.truss_bf IS NULL OR b.border_bf IS NULL THEN 'size not known' WHEN r.truss_bf < b.border_bf THEN 'under ' || b.border_bf || ' BF' ELSE b.border_bf || ' BF and over' END AS size_band,
    CASE WHEN r.trusses <= 3 THEN '1 to 3' WHEN r.trusses <= 6 THEN '4 to 6' ELSE '7 and more' END AS batch_band,
    concat(coalesce(r.kind, 'kind not known'), ', ', size_band, ', ', batch_band) AS class,
    CASE WHEN r.left_out IS NOT NULL THEN r.left_out
         -- Minutes that a quote or board feet shared out say nothing of a crew's pace.
         WHEN EXISTS (SELECT 1 FROM steps.run_bases AS a WHERE a.run_key = r.run_key AND a.basis IN ('allotted by quoted minutes', 'allotted by design board feet', 'allotted evenly')) THEN 'minutes allotted'
         WHEN f.first_week > f.plant_first_week AND r.workweek_start < f.first_week + 7 * w.learning_weeks THEN 'learning weeks'
    END AS left_out
FROM in_window AS r
CROSS JOIN window_days AS w
LEFT JOIN borders AS b ON b.kind = r.kind
LEFT JOIN first_weeks AS f ON f.crew = r.crew;

-- Which trusses were right the first time. A truss made again or failed counts against the
-- run that built it first, in the week in which that run finished: a week's figure can fall
-- later. One that failed and was made again is one truss.
-- grain: one first-time run that counts
CREATE OR REPLACE VIEW steps.first_pass AS
WITH made_again AS (
    SELECT
        first_run_key AS run_key, sum(trusses)::BIGINT AS trusses,
        sum(CASE WHEN remake = 'customer' THEN trusses ELSE 0 END)::BIGINT AS for_customer
    FROM steps.table_runs
    WHERE remake IS NOT NULL AND first_run_key IS NOT NULL
    GROUP BY first_run_key
)
SELECT
    r.run_key, r.station, r.crew, r.shift, r.shift_date, r.finished_on, r.workweek_start, r.trusses,
    least(r.trusses, greatest(coalesce(m.trusses, 0), coalesce(f.failed, 0)))::BIGINT AS not_first_pass,
    coalesce(m.trusses, 0)::BIGINT AS remade, coalesce(m.for_customer, 0)::BIGINT AS remade_for_customer, coalesce(f.failed, 0)::BIGINT AS failed
FROM steps.table_runs AS r
LEFT JOIN made_again AS m ON m.run_key = r.run_key
LEFT JOIN steps.failed_runs AS f ON f.run_key = r.run_key
WHERE r.remake IS NULL AND r.left_out IS NULL;
COMMENT ON VIEW steps.first_pass IS 'one first-time run with its trusses that were made again or failed inspection, as far as the files know';
