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
-- column: remade               | Remade           | count | sum | trusses made again in the period, with the crew that built them first; the minutes of making them again are on the job, not here
-- column: left_out             | Left out         | count | sum | trusses of runs without people-minutes, or with an unknown job, truss, crew or employee
-- column: basis                | Minutes          | text  | -   | how the minutes are known: clocked, or allotted by logged times, by quoted minutes (then near the quote by making), by design board feet or evenly
-- note:   Crews build different trusses: these figures compare no crews. Pace never stands alone; read it with quality, inspections and injuries.
-- note:   Whole runs, in the period in which they finish. A run without a recorded set-up stays out of the set-up columns.
-- sort:   crew, shift, table, truss kind
WITH runs AS (
    SELECT
        r.run_key,
        any_value(r.station) AS station, any_value(r.job) AS job, any_value(r.truss) AS truss, any_value(r.batch) AS batch,
        sum(r.quantity)::BIGINT AS quantity, max(r.finished_on) AS finished_on, max(r.finished_utc) AS finished_utc,
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
        count(*) FILTER (WHERE j.counts) AS runs,
        sum(CASE WHEN j.counts THEN j.quantity ELSE 0 END)::BIGINT AS trusses,
        sum(CASE WHEN j.counts AND j.has_setup THEN j.setup_seconds END)::BIGINT AS setup_seconds,
        sum(CASE WHEN j.counts THEN j.build_seconds + CASE WHEN j.has_setup THEN 0 ELSE j.setup_seconds END ELSE 0 END)::BIGINT AS build_seconds,
        sum(CASE WHEN j.counts AND j.has_setup THEN j.quantity END)::BIGINT AS trusses_with_setup,
        sum(CASE WHEN j.counts THEN j.quantity * j.bf END)::DECIMAL(18,4) AS finished_bf,
        sum(CASE WHEN j.counts AND j.bf IS NOT NULL THEN j.setup_seconds + j.build_seconds END)::BIGINT AS bf_seconds,
        CASE WHEN count(*) FILTER (WHERE j.counts AND j.quoted_min IS NULL) = 0
            THEN sum(CASE WHEN j.counts THEN j.quoted_min ELSE 0 END) END::DECIMAL(14,2) AS quoted_min,
        sum(CASE WHEN NOT j.counts THEN j.quantity ELSE 0 END)::BIGINT AS left_out
    FROM judged AS j
    WHERE j.remake IS NULL
    GROUP BY j.crew, j.shift, j.station, j.kind
),
-- What a crew's work had to be made again counts against it, and never against the crew
-- that makes it again. The first-time run of the same batch comes first, else the latest.
first_runs AS (
    SELECT
        x.run_key, any_value(x.job) AS job, any_value(x.truss) AS truss, any_value(x.batch) AS batch, any_value(x.station) AS station, max(x.finished_utc) AS finished_utc,
        arg_max(x.crew, (x.finished_on, x.run_row_id)) AS crew, arg_max(x.shift, (x.finished_on, x.run_row_id)) AS shift
    FROM steps.run_rows AS x
    WHERE x.station_kind = 'table' AND x.remake IS NULL
    GROUP BY x.run_key
),
traced AS (
    SELECT r.run_key, r.quantity, f.crew, f.shift, f.station
    FROM (SELECT run_key, job, truss, quantity, batch, finished_utc FROM runs WHERE remake IS NOT NULL) AS r
    LEFT JOIN first_runs AS f ON f.job = r.job AND f.truss IS NOT DISTINCT FROM r.truss AND f.finished_utc <= r.finished_utc
    QUALIFY row_number() OVER (PARTITION BY r.run_key ORDER BY f.batch IS NOT DISTINCT FROM r.batch DESC, f.finished_utc DESC, f.run_key) = 1
),
made_again AS (
    SELECT coalesce(t.crew, 'not known') AS crew, t.shift, t.station, b.kind, sum(t.quantity)::BIGINT AS remade
    FROM traced AS t
    JOIN runs AS r ON r.run_key = t.run_key
    LEFT JOIN truss_bf AS b ON b.job = r.job AND b.truss = r.truss
    GROUP BY coalesce(t.crew, 'not known'), t.shift, t.station, b.kind
),
-- A crew that built nothing in the period can still be named for what was made again.
with_remakes AS (
    SELECT
        coalesce(g.crew, m.crew) AS crew, coalesce(g.shift, m.shift) AS shift, coalesce(g.station, m.station) AS station, coalesce(g.kind, m.kind) AS kind,
        coalesce(g.runs, 0) AS runs, coalesce(g.trusses, 0) AS trusses, g.setup_seconds, coalesce(g.build_seconds, 0) AS build_seconds, g.trusses_with_setup,
        g.finished_bf, g.bf_seconds, CASE WHEN g.crew IS NOT NULL THEN g.quoted_min ELSE 0 END AS quoted_min,
        coalesce(m.remade, 0) AS remade, coalesce(g.left_out, 0) AS left_out
    FROM grouped AS g
    FULL JOIN made_again AS m
        ON m.crew = g.crew AND m.shift IS NOT DISTINCT FROM g.shift AND m.station IS NOT DISTINCT FROM g.station AND m.kind IS NOT DISTINCT FROM g.kind
),
bases AS (
    SELECT j.crew, j.shift, j.station, j.kind, string_agg(DISTINCT b.basis, ', ' ORDER BY b.basis) AS basis
    FROM judged AS j
    JOIN steps.run_bases AS b ON b.run_key = j.run_key
    WHERE j.counts AND j.remake IS NULL
    GROUP BY j.crew, j.shift, j.station, j.kind
),
measured AS (
    SELECT g.*, seconds_to_min(g.setup_seconds) AS setup_min, seconds_to_min(g.build_seconds) AS build_min, seconds_to_hours(g.bf_seconds) AS labour_hours
    FROM with_remakes AS g
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
    m.left_out::BIGINT AS left_out,
    b.basis::VARCHAR AS basis
FROM measured AS m
LEFT JOIN bases AS b ON b.crew = m.crew AND b.shift IS NOT DISTINCT FROM m.shift AND b.station IS NOT DISTINCT FROM m.station AND b.kind IS NOT DISTINCT FROM m.kind
ORDER BY m.crew, m.shift, m.station, m.kind;
