-- Runs: who built what when, from the completion log.

-- grain: one row of completions, with the stretch of time it stands for
-- renewed: finished_on >= since
-- reads: completions where coalesce(finished_at::DATE, shift_date) >= since
-- reads: steps.punches where shift_date >= since
CREATE OR REPLACE TABLE steps.run_rows AS
WITH logged AS (
    SELECT
        getvariable('kept_run_rows') + row_number() OVER (
            ORDER BY coalesce(c.finished_at::DATE, c.shift_date), c.station, c.finished_utc, c.job, c.truss, c.batch, c.remake, c.record, c.shift_date, coalesce(o.place, c.import_line), c.import_id
        ) AS run_row_id,
        c.station, s.kind AS station_kind, s.jigging, c.batch, c.job, c.truss, c.crew, c.shift, c.quantity, c.remake,
        coalesce(c.shift_date, coalesce(c.build_started_at, c.setup_started_at, c.finished_at)::DATE) AS shift_date,
        coalesce(c.finished_at::DATE, c.shift_date) AS finished_on,
        c.setup_started_utc, c.build_started_utc, c.finished_utc, c.finished_at, c.import_id, c.import_line,
        run_key_of(c.station, c.batch, c.job, c.truss, c.remake) AS run_key
    FROM completions AS c
    LEFT JOIN stations AS s USING (station)
    LEFT JOIN steps.row_order AS o ON o.import_id = c.import_id AND o.import_line = c.import_line
),
followed AS (
    SELECT
        l.*,
        coalesce(max(l.finished_utc) OVER (
            PARTITION BY l.run_key ORDER BY l.finished_utc, l.run_row_id
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), o.finished_utc) AS run_before_utc,
        max(l.finished_utc) OVER (
            PARTITION BY l.station, l.shift_date ORDER BY l.finished_utc
            RANGE BETWEEN UNBOUNDED PRECEDING AND INTERVAL 1 MICROSECOND PRECEDING
        ) AS station_before_utc
    FROM logged AS l
    LEFT JOIN steps.opening_runs AS o USING (run_key)
),
first_punches AS (
    SELECT p.crew, p.shift_date, min(p.counts_from_utc) AS first_utc
    FROM steps.punches AS p
    WHERE p.kind = 'clocked' AND p.crew IS NOT NULL
    GROUP BY p.crew, p.shift_date
),
started AS (
    SELECT
        f.*,
        coalesce(f.setup_started_utc, f.build_started_utc) AS own_start_utc,
        CASE WHEN p.first_utc < f.finished_utc THEN p.first_utc END AS first_punch_utc
    FROM followed AS f
    LEFT JOIN first_punches AS p ON p.crew = f.crew AND p.shift_date = f.shift_date
),
bounded AS (
    SELECT
        s.*,
        least(s.finished_utc, CASE
            WHEN s.run_before_utc IS NOT NULL THEN greatest(coalesce(s.own_start_utc, s.run_before_utc), s.run_before_utc)
            ELSE coalesce(s.own_start_utc, s.station_before_utc, s.first_punch_utc, s.finished_utc)
        END) AS starts_utc,
        CASE
            WHEN s.finished_utc IS NULL THEN 'no finish time'
            WHEN s.run_before_utc IS NOT NULL THEN 'logged'
            WHEN s.own_start_utc IS NOT NULL THEN 'logged'
            WHEN s.station_before_utc IS NOT NULL THEN 'previous finish'
            WHEN s.first_punch_utc IS NOT NULL THEN 'first punch'
            ELSE 'no start time'
        END AS start_basis,
        -- A set-up belongs to this row when it was begun after the run's last finish.
        s.setup_started_utc IS NOT NULL AND s.build_started_utc IS NOT NULL
            AND s.setup_started_utc >= coalesce(s.run_before_utc, s.setup_started_utc) AND s.finished_utc IS NOT NULL AS has_setup
    FROM started AS s
)
SELECT
    b.run_row_id, b.run_key, b.station, b.station_kind, b.jigging, b.batch, b.job, b.truss, b.crew, b.shift, b.shift_date,
    b.finished_on, b.finished_at, b.quantity, b.remake, b.starts_utc,
    CASE WHEN b.has_setup THEN least(greatest(b.build_started_utc, b.starts_utc), b.finished_utc) ELSE b.starts_utc END AS build_from_utc,
    b.finished_utc, b.has_setup, b.start_basis, b.start_basis IN ('no finish time', 'no start time') AS is_untimed, b.import_id, b.import_line
FROM bounded AS b;
COMMENT ON TABLE steps.run_rows IS 'one row of completions: set-up from starts_utc to build_from_utc, build until finished_utc';
COMMENT ON COLUMN steps.run_rows.is_untimed IS 'its times say for no moment that it was open: the crew''s time is allotted to it';
COMMENT ON COLUMN steps.run_rows.has_setup IS 'whether the minutes of its set-up are known; false too where people''s time is allotted to it without them';

-- grain: one run and phase of it with a length above zero
-- renewed: run_row_id > kept_run_rows
-- reads: steps.run_rows where run_row_id > kept_run_rows
CREATE OR REPLACE TABLE steps.run_phases AS
SELECT r.run_row_id, r.station, r.crew, 'setup' AS phase, r.starts_utc AS from_utc, r.build_from_utc AS until_utc
FROM steps.run_rows AS r
WHERE r.build_from_utc > r.starts_utc
UNION ALL
SELECT r.run_row_id, r.station, r.crew, 'build', r.build_from_utc, r.finished_utc
FROM steps.run_rows AS r
WHERE r.finished_utc > r.build_from_utc;

-- grain: one run phase and calendar day
-- renewed: day >= since
-- reads: steps.run_phases where run_row_id > kept_run_rows
CREATE OR REPLACE TABLE steps.run_phase_days AS
SELECT
    p.run_row_id, p.station, p.crew, p.phase, d.day,
    greatest(p.from_utc, d.starts_utc) AS from_utc,
    least(p.until_utc, d.ends_utc) AS until_utc
FROM (
    SELECT q.*, unnest(generate_series(q.from_utc::DATE - 1, q.until_utc::DATE + 1, INTERVAL 1 DAY))::DATE AS day
    FROM steps.run_phases AS q
) AS p
JOIN days AS d USING (day)
WHERE p.from_utc < d.ends_utc AND p.until_utc > d.starts_utc;
