-- sheet:  labour_per_truss
-- title:  Labour per truss
-- reader: owner
-- grain:  one row per crew, shift, table and truss kind of whole runs that finished in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: crew                 | Crew             | text  | -   | crew with at least four fifths of a run's minutes; else shared
-- column: shift                | Shift            | text  | -   | as the completion log has it
-- column: station              | Table            | text  | -   | table station
-- column: kind                 | Truss kind       | text  | -   | family of the truss, as the job's list of trusses has it
-- column: runs                 | Runs             | count | sum | station, batch, job and truss
-- column: trusses              | Trusses          | count | sum | good trusses: first-time work, whole trusses and never plies
-- column: setup_min            | Set-up           | min   | sum | people-minutes of set-up, of the runs that recorded it
-- column: build_min            | Build            | min   | sum | people-minutes of building; holds the set-up of runs that didn't record it
-- column: labour_min           | Labour           | min   | sum | set-up and build, whether the set-up was recorded or not
-- column: labour_min_per_truss | Labour           | min   | labour_min / trusses | set-up and build over good trusses
-- column: trusses_with_setup   | Trusses with set-up | count | sum | good trusses of the runs that recorded their set-up
-- column: setup_min_per_truss  | Set-up           | min   | setup_min / trusses_with_setup | of the runs that recorded it
-- column: build_min_per_truss  | Build            | min   | build_min / trusses | build over good trusses
-- column: finished_bf          | Finished parts   | bf    | sum | nominal board feet in the trusses, where a cut list or design board feet are known
-- column: labour_hours         | Labour           | hours | sum | set-up and build of the runs whose board feet are known
-- column: bf_per_labour_hour   | Finished parts   | bf    | finished_bf / labour_hours | printed, never a ranking: big chords inflate it
-- column: quoted_min           | Quoted           | min   | sum | what the quote allows for these trusses: one set-up a run and build minutes a truss; blank where a truss has no quoted minutes
-- column: remade               | Remade           | count | sum | trusses of these crews that were made again in the period; their minutes are on the job, not here
-- column: left_out             | Left out         | count | sum | trusses of runs without people-minutes, or with an unknown job, truss, crew or employee
-- note:   Crews build different trusses: these figures compare no crews. Pace never stands alone; read it with quality, inspections and injuries.
-- note:   Whole runs, in the period in which they finish. A run without a recorded set-up stays out of the set-up columns.
-- sort:   crew, shift, table, truss kind
WITH runs AS (
    SELECT
        r.run_key,
        any_value(r.station) AS station, any_value(r.job) AS job, any_value(r.truss) AS truss,
        sum(r.quantity)::BIGINT AS quantity, max(r.finished_on) AS finished_on,
        bool_or(r.has_setup) AS has_setup,
        arg_max(r.crew, (r.finished_on, r.run_row_id)) AS logged_crew,
        arg_max(r.shift, (r.finished_on, r.run_row_id)) AS shift,
        any_value(r.remake) AS remake
    FROM steps.run_rows AS r
    WHERE r.station_kind = 'table'
    GROUP BY r.run_key
    HAVING max(r.finished_on) >= $from::DATE AND max(r.finished_on) < $until::DATE
),
minutes AS (
    SELECT
        x.run_key, coalesce(m.crew, x.crew) AS crew,
        sum(CASE WHEN m.use = 'setup' THEN m.seconds ELSE 0 END)::BIGINT AS setup_seconds,
        sum(CASE WHEN m.use = 'build' THEN m.seconds ELSE 0 END)::BIGINT AS build_seconds
    FROM minute_ledger AS m
    JOIN steps.run_rows AS x USING (run_row_id)
    SEMI JOIN runs AS r ON r.run_key = x.run_key
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
truss_bf AS (
    SELECT t.job, t.truss, any_value(t.kind) AS kind, any_value(t.quoted_setup_min) AS quoted_setup_min, any_value(t.quoted_build_min) AS quoted_build_min,
        coalesce(wood_to_bf(sum(p.wood)::BIGINT), any_value(t.design_bf))::DECIMAL(18,6) AS bf
    FROM trusses AS t
    LEFT JOIN steps.truss_parts AS p ON p.job = t.job AND p.truss = t.truss
    GROUP BY t.job, t.truss
),
judged AS (
    SELECT
        r.*, coalesce(t.setup_seconds, 0) AS setup_seconds, coalesce(t.build_seconds, 0) AS build_seconds,
        CASE WHEN t.main_seconds IS NULL THEN r.logged_crew
             WHEN 5 * t.main_seconds >= 4 * (t.setup_seconds + t.build_seconds) THEN t.main_crew
             ELSE 'shared' END AS crew,
        b.bf, b.kind, (b.quoted_setup_min + r.quantity * b.quoted_build_min)::DECIMAL(14,2) AS quoted_min,
        -- An abandoned set-up of 0 trusses stays on its job and out of rates.
        t.run_key IS NOT NULL AND k.run_key IS NULL AND r.quantity > 0 AS counts
    FROM runs AS r
    LEFT JOIN totals AS t USING (run_key)
    LEFT JOIN unknown_runs AS k ON k.run_key = r.run_key
    LEFT JOIN truss_bf AS b ON b.job = r.job AND b.truss = r.truss
),
grouped AS (
    SELECT
        j.crew, j.shift, j.station, j.kind,
        count(*) FILTER (WHERE j.counts AND j.remake IS NULL) AS runs,
        sum(CASE WHEN j.counts AND j.remake IS NULL THEN j.quantity ELSE 0 END)::BIGINT AS trusses,
        sum(CASE WHEN j.counts AND j.remake IS NULL AND j.has_setup THEN j.setup_seconds END)::BIGINT AS setup_seconds,
        sum(CASE WHEN j.counts AND j.remake IS NULL THEN j.build_seconds + CASE WHEN j.has_setup THEN 0 ELSE j.setup_seconds END ELSE 0 END)::BIGINT AS build_seconds,
        sum(CASE WHEN j.counts AND j.remake IS NULL AND j.has_setup THEN j.quantity END)::BIGINT AS trusses_with_setup,
        sum(CASE WHEN j.counts AND j.remake IS NULL THEN j.quantity * j.bf END)::DECIMAL(18,4) AS finished_bf,
        sum(CASE WHEN j.counts AND j.remake IS NULL AND j.bf IS NOT NULL THEN j.setup_seconds + j.build_seconds END)::BIGINT AS bf_seconds,
        CASE WHEN count(*) FILTER (WHERE j.counts AND j.remake IS NULL AND j.quoted_min IS NULL) = 0
            THEN sum(CASE WHEN j.counts AND j.remake IS NULL THEN j.quoted_min ELSE 0 END) END::DECIMAL(14,2) AS quoted_min,
        sum(CASE WHEN j.remake IS NOT NULL THEN j.quantity ELSE 0 END)::BIGINT AS remade,
        sum(CASE WHEN NOT j.counts AND j.remake IS NULL THEN j.quantity ELSE 0 END)::BIGINT AS left_out
    FROM judged AS j
    GROUP BY j.crew, j.shift, j.station, j.kind
),
measured AS (
    SELECT g.*, seconds_to_min(g.setup_seconds) AS setup_min, seconds_to_min(g.build_seconds) AS build_min, seconds_to_hours(g.bf_seconds) AS labour_hours
    FROM grouped AS g
)
SELECT
    m.crew::VARCHAR AS crew,
    m.shift::VARCHAR AS shift,
    m.station::VARCHAR AS station,
    m.kind::VARCHAR AS kind,
    m.runs::BIGINT AS runs,
    m.trusses::BIGINT AS trusses,
    m.setup_min::DECIMAL(14,2) AS setup_min,
    m.build_min::DECIMAL(14,2) AS build_min,
    (coalesce(m.setup_min, 0) + m.build_min)::DECIMAL(14,2) AS labour_min,
    share_of(coalesce(m.setup_min, 0) + m.build_min, m.trusses)::DECIMAL(18,6) AS labour_min_per_truss,
    m.trusses_with_setup::BIGINT AS trusses_with_setup,
    share_of(m.setup_min, m.trusses_with_setup)::DECIMAL(18,6) AS setup_min_per_truss,
    share_of(m.build_min, m.trusses)::DECIMAL(18,6) AS build_min_per_truss,
    m.finished_bf::DECIMAL(14,4) AS finished_bf,
    m.labour_hours::DECIMAL(14,4) AS labour_hours,
    share_of(m.finished_bf, m.labour_hours)::DECIMAL(18,6) AS bf_per_labour_hour,
    m.quoted_min::DECIMAL(14,2) AS quoted_min,
    m.remade::BIGINT AS remade,
    m.left_out::BIGINT AS left_out
FROM measured AS m
ORDER BY m.crew, m.shift, m.station, m.kind;
