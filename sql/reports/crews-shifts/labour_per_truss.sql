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
-- column: remade               | Remade           | count | sum | trusses made again in the period, with the crew that built them first; the minutes of making them again are on the job, not here
-- column: left_out             | Left out         | count | sum | trusses of runs without people-minutes, or with an unknown job, truss, crew or employee
-- column: basis                | Minutes          | text  | -   | how the minutes are known: clocked, or allotted by logged times, by quoted minutes, by design board feet or evenly
-- note:   Crews build different trusses: these figures compare no crews. Pace never stands alone; read it with quality, inspections and injuries.
-- note:   Whole runs, in the period in which they finish. A run without a recorded set-up stays out of the set-up columns.
-- sort:   crew, shift, table, truss kind
WITH finished AS (
    SELECT r.*
    FROM steps.table_runs AS r
    WHERE r.finished_on >= $from::DATE AND r.finished_on < $until::DATE
),
grouped AS (
    SELECT
        f.crew, f.shift, f.station, f.kind,
        count(*) FILTER (WHERE f.left_out IS NULL) AS runs,
        sum(CASE WHEN f.left_out IS NULL THEN f.trusses ELSE 0 END)::BIGINT AS trusses,
        sum(CASE WHEN f.left_out IS NULL AND f.has_setup THEN f.setup_seconds END)::BIGINT AS setup_seconds,
        sum(CASE WHEN f.left_out IS NULL THEN f.build_seconds + CASE WHEN f.has_setup THEN 0 ELSE f.setup_seconds END ELSE 0 END)::BIGINT AS build_seconds,
        sum(CASE WHEN f.left_out IS NULL AND f.has_setup THEN f.trusses END)::BIGINT AS trusses_with_setup,
        sum(CASE WHEN f.left_out IS NULL THEN f.trusses * f.truss_bf END)::DECIMAL(18,4) AS finished_bf,
        sum(CASE WHEN f.left_out IS NULL AND f.truss_bf IS NOT NULL THEN f.setup_seconds + f.build_seconds END)::BIGINT AS bf_seconds,
        sum(CASE WHEN f.left_out IS NOT NULL THEN f.trusses ELSE 0 END)::BIGINT AS left_out
    FROM finished AS f
    WHERE f.remake IS NULL
    GROUP BY f.crew, f.shift, f.station, f.kind
),
-- What a crew's work had to be made again counts against it, and never against the crew
-- that makes it again.
made_again AS (
    SELECT
        CASE WHEN o.run_key IS NULL THEN 'not known' ELSE o.logged_crew END AS crew, o.shift, o.station, m.kind, sum(m.trusses)::BIGINT AS remade
    FROM finished AS m
    LEFT JOIN steps.table_runs AS o ON o.run_key = m.first_run_key
    WHERE m.remake IS NOT NULL
    GROUP BY CASE WHEN o.run_key IS NULL THEN 'not known' ELSE o.logged_crew END, o.shift, o.station, m.kind
),
-- A crew that built nothing in the period can still be named for what was made again.
with_remakes AS (
    SELECT
        coalesce(g.crew, m.crew) AS crew, coalesce(g.shift, m.shift) AS shift, coalesce(g.station, m.station) AS station, coalesce(g.kind, m.kind) AS kind,
        coalesce(g.runs, 0) AS runs, coalesce(g.trusses, 0) AS trusses, g.setup_seconds, coalesce(g.build_seconds, 0) AS build_seconds, g.trusses_with_setup,
        g.finished_bf, g.bf_seconds,
        coalesce(m.remade, 0) AS remade, coalesce(g.left_out, 0) AS left_out
    FROM grouped AS g
    FULL JOIN made_again AS m
        ON m.crew = g.crew AND m.shift IS NOT DISTINCT FROM g.shift AND m.station IS NOT DISTINCT FROM g.station AND m.kind IS NOT DISTINCT FROM g.kind
),
bases AS (
    SELECT f.crew, f.shift, f.station, f.kind, string_agg(DISTINCT b.basis, ', ' ORDER BY b.basis) AS basis
    FROM finished AS f
    JOIN steps.run_bases AS b ON b.run_key = f.run_key
    WHERE f.left_out IS NULL AND f.remake IS NULL
    GROUP BY f.crew, f.shift, f.station, f.kind
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
    m.setup_min::DECIMAL(18,2) AS setup_min,
    m.build_min::DECIMAL(18,2) AS build_min,
    (coalesce(m.setup_min, 0) + m.build_min)::DECIMAL(18,2) AS labour_min,
    share_of(coalesce(m.setup_min, 0) + m.build_min, m.trusses)::DECIMAL(18,6) AS labour_min_per_truss,
    m.trusses_with_setup::BIGINT AS trusses_with_setup,
    share_of(m.setup_min, m.trusses_with_setup)::DECIMAL(18,6) AS setup_min_per_truss,
    share_of(m.build_min, m.trusses)::DECIMAL(18,6) AS build_min_per_truss,
    m.finished_bf::DECIMAL(14,4) AS finished_bf,
    m.labour_hours::DECIMAL(14,4) AS labour_hours,
    share_of(m.finished_bf, m.labour_hours)::DECIMAL(18,6) AS bf_per_labour_hour,
    m.remade::BIGINT AS remade,
    m.left_out::BIGINT AS left_out,
    b.basis::VARCHAR AS basis
FROM measured AS m
LEFT JOIN bases AS b ON b.crew = m.crew AND b.shift IS NOT DISTINCT FROM m.shift AND b.station IS NOT DISTINCT FROM m.station AND b.kind IS NOT DISTINCT FROM m.kind
ORDER BY m.crew, m.shift, m.station, m.kind;
