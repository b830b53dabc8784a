-- The minute ledger: every paid second of every punch, put to one use.
--
-- Precedence: a stoppage of the station, then an open run, then waiting (direct people),
-- then indirect (people whose role or station is indirect). Runs open together share the
-- people at the station equally.
-- Each punch's paid seconds are allotted over its rows by largest remainder, so nothing
-- is lost; unpaid minutes thereby come off evenly.
-- What would be waiting, and may have been spent on runs without usable times or by people
-- without clock times, is allotted over those runs (12_time_to_allot.sql) in whole seconds.

-- grain: one stoppage and calendar day
CREATE OR REPLACE TABLE steps.stoppage_days AS
SELECT s.station, s.reason, d.day, greatest(s.started_utc, d.starts_utc) AS from_utc, least(s.ended_utc, d.ends_utc) AS until_utc
FROM (
    SELECT q.*, unnest(generate_series(q.started_utc::DATE - 1, q.ended_utc::DATE + 1, INTERVAL 1 DAY))::DATE AS day
    FROM stoppages AS q
    WHERE q.ended_utc > q.started_utc
) AS s
JOIN days AS d USING (day)
WHERE s.started_utc < d.ends_utc AND s.ended_utc > d.starts_utc;

-- grain: one stretch of one station's day between two changes in its open runs or in its
-- stoppages, and one of the runs open in it (NULL when none is, or the station stands)
-- renewed: day >= since
-- reads: steps.whereabouts where day >= since
-- reads: steps.run_phase_days where day >= since
CREATE OR REPLACE TABLE steps.slices AS
WITH station_days AS (
    SELECT DISTINCT w.station, w.day, d.starts_utc, d.ends_utc
    FROM steps.whereabouts AS w
    JOIN days AS d USING (day)
    WHERE w.station IS NOT NULL
),
moments AS (
    SELECT station, day, starts_utc AS at_utc FROM station_days
    UNION
    SELECT station, day, ends_utc FROM station_days
    UNION
    SELECT r.station, r.day, r.from_utc FROM steps.run_phase_days AS r SEMI JOIN station_days AS s ON r.station = s.station AND r.day = s.day
    UNION
    SELECT r.station, r.day, r.until_utc FROM steps.run_phase_days AS r SEMI JOIN station_days AS s ON r.station = s.station AND r.day = s.day
    UNION
    SELECT t.station, t.day, t.from_utc FROM steps.stoppage_days AS t SEMI JOIN station_days AS s ON t.station = s.station AND t.day = s.day
    UNION
    SELECT t.station, t.day, t.until_utc FROM steps.stoppage_days AS t SEMI JOIN station_days AS s ON t.station = s.station AND t.day = s.day
),
stretches AS (
    SELECT station, day, at_utc AS from_utc, lead(at_utc) OVER (PARTITION BY station, day ORDER BY at_utc) AS until_utc
    FROM moments
),
-- Of stoppages at one time the one that began first gives the reason.
standing AS (
    SELECT s.station, s.day, s.from_utc, arg_min(t.reason, (t.from_utc, t.reason)) AS reason
    FROM stretches AS s
    JOIN steps.stoppage_days AS t
        ON t.station = s.station AND t.day = s.day AND t.from_utc < s.until_utc AND t.until_utc > s.from_utc
    GROUP BY s.station, s.day, s.from_utc
),
-- Where the station stands no run is open: open_station is a key, since a bare condition on
-- one side of an outer join would compare every row with every other.
told AS (
    SELECT s.*, t.reason AS stopped_for, CASE WHEN t.reason IS NULL THEN s.station END AS open_station
    FROM stretches AS s
    LEFT JOIN standing AS t ON t.station = s.station AND t.day = s.day AND t.from_utc = s.from_utc
    WHERE s.until_utc IS NOT NULL
)
SELECT
    s.station, s.day, s.from_utc, s.until_utc, s.stopped_for, r.run_row_id, r.phase,
    greatest(1, count(r.run_row_id) OVER (PARTITION BY s.station, s.day, s.from_utc)) AS runs_at_once
FROM told AS s
LEFT JOIN steps.run_phase_days AS r
    ON r.station = s.open_station AND r.day = s.day AND r.from_utc < s.until_utc AND r.until_utc > s.from_utc;

-- grain: one punch, run row (or none), use, station and part of a day
-- renewed: day >= since
-- reads: steps.whereabouts where day >= since
-- reads: steps.slices where day >= since
-- reads: steps.punches where shift_date >= since
-- reads: steps.run_rows where run_row_id > kept_run_rows
-- reads: steps.allotment_weights where punch_id > kept_punches
CREATE OR REPLACE TABLE steps.minute_rows AS
WITH pieces AS (
    SELECT
        w.punch_id, w.day, w.workweek_start, w.workday, w.station, s.run_row_id, s.phase, s.stopped_for,
        greatest(w.from_utc, s.from_utc) AS from_utc,
        least(w.until_utc, s.until_utc) AS until_utc,
        w.stations_at_once * s.runs_at_once AS shared_by
    FROM steps.whereabouts AS w
    JOIN steps.slices AS s
        ON s.station = w.station AND s.day = w.day AND s.from_utc < w.until_utc AND s.until_utc > w.from_utc
    UNION ALL
    SELECT w.punch_id, w.day, w.workweek_start, w.workday, NULL, NULL, NULL, NULL, w.from_utc, w.until_utc, 1
    FROM steps.whereabouts AS w
    WHERE w.station IS NULL
),
-- 232792560 is divisible by every number up to 20, so equal shares weigh exactly the same.
weighed AS (
    SELECT
        p.punch_id, p.day, p.workweek_start, p.workday, p.station, p.run_row_id, p.stopped_for,
        CASE
            WHEN p.stopped_for IS NOT NULL THEN 'stoppage'
            WHEN p.phase IS NOT NULL THEN p.phase
            WHEN u.role = 'indirect' OR t.kind = 'yard' THEN 'indirect'
            ELSE 'waiting'
        END AS use,
        min(p.from_utc) AS from_utc,
        max(p.until_utc) AS until_utc,
        sum((epoch_us(p.until_utc) - epoch_us(p.from_utc)) // 1000000 * (232792560 // p.shared_by))::HUGEINT AS weight
    FROM pieces AS p
    JOIN steps.punches AS u USING (punch_id)
    LEFT JOIN stations AS t ON t.station = p.station
    GROUP BY ALL
),
punch_weights AS (
    SELECT punch_id, sum(weight) AS weight FROM weighed GROUP BY punch_id
),
based AS (
    SELECT
        w.*, u.paid_seconds, r.run_key,
        u.paid_seconds * w.weight // t.weight AS base_seconds,
        u.paid_seconds * w.weight % t.weight AS remainder
    FROM weighed AS w
    JOIN punch_weights AS t USING (punch_id)
    JOIN steps.punches AS u USING (punch_id)
    LEFT JOIN steps.run_rows AS r USING (run_row_id)
),
punch_bases AS (
    SELECT punch_id, sum(base_seconds) AS base_seconds FROM based GROUP BY punch_id
),
allotted AS (
    SELECT
        b.*,
        (b.base_seconds + CASE
            WHEN row_number() OVER (PARTITION BY b.punch_id ORDER BY b.remainder DESC, b.from_utc, b.run_key, b.run_row_id, b.use, b.station, b.stopped_for, b.workday)
                <= b.paid_seconds - t.base_seconds
            THEN 1 ELSE 0 END)::BIGINT AS seconds
    FROM based AS b
    JOIN punch_bases AS t USING (punch_id)
),
placed AS (
    SELECT
        a.punch_id, a.day, a.workweek_start, a.workday, a.station, a.run_row_id, a.use,
        CASE WHEN a.use = 'stoppage' THEN a.stopped_for WHEN a.use IN ('waiting', 'indirect') AND a.station IS NULL THEN 'no station known' END AS reason,
        a.from_utc, a.until_utc, a.seconds, 'clocked' AS basis
    FROM allotted AS a
    WHERE a.seconds > 0
    UNION ALL
    -- Hours without clock times can't be cut.
    SELECT
        p.punch_id, p.shift_date, d.workweek_start, d.workday, p.station, NULL,
        CASE
            WHEN p.kind = 'not worked' THEN 'paid_not_worked'
            WHEN p.role = 'indirect' OR t.kind = 'yard' THEN 'indirect'
            ELSE 'waiting'
        END,
        CASE WHEN p.kind = 'not worked' THEN p.pay_code ELSE 'no clock times' END,
        NULL, NULL, p.paid_seconds, 'hours only'
    FROM steps.punches AS p
    JOIN day_parts AS d ON d.day = p.shift_date
    LEFT JOIN stations AS t ON t.station = p.station
    WHERE p.kind IN ('hours only', 'not worked') AND p.paid_seconds > 0
    QUALIFY row_number() OVER (PARTITION BY p.punch_id ORDER BY d.starts_utc DESC) = 1
),
-- Time that nothing places, of people whose crew has runs that it may have been spent on.
unplaced AS (
    SELECT
        a.punch_id, a.day, a.workweek_start, a.workday, min(a.from_utc) AS from_utc, max(a.until_utc) AS until_utc, sum(a.seconds)::BIGINT AS seconds
    FROM placed AS a
    WHERE a.use = 'waiting' AND a.punch_id IN (SELECT punch_id FROM steps.allotment_weights)
    GROUP BY a.punch_id, a.day, a.workweek_start, a.workday
),
shared AS (
    SELECT
        u.*, w.run_row_id, w.use, w.basis, r.station, r.finished_utc, r.run_key,
        u.seconds * w.weight // sum(w.weight) OVER unplaced_time AS base_seconds,
        u.seconds * w.weight % sum(w.weight) OVER unplaced_time AS remainder
    FROM unplaced AS u
    JOIN steps.allotment_weights AS w USING (punch_id)
    JOIN steps.run_rows AS r USING (run_row_id)
    WINDOW unplaced_time AS (PARTITION BY u.punch_id, u.day, u.workday)
),
spread AS (
    SELECT
        s.*,
        (s.base_seconds + CASE
            WHEN row_number() OVER (PARTITION BY s.punch_id, s.day, s.workday ORDER BY s.remainder DESC, s.finished_utc, s.run_key, s.run_row_id, s.use)
                <= s.seconds - sum(s.base_seconds) OVER (PARTITION BY s.punch_id, s.day, s.workday)
            THEN 1 ELSE 0 END)::BIGINT AS spread_seconds
    FROM shared AS s
),
all_rows AS (
    SELECT p.*
    FROM placed AS p
    WHERE NOT (p.use = 'waiting' AND p.punch_id IN (SELECT punch_id FROM steps.allotment_weights))
    UNION ALL
    SELECT s.punch_id, s.day, s.workweek_start, s.workday, s.station, s.run_row_id, s.use, NULL, s.from_utc, s.until_utc, s.spread_seconds, s.basis
    FROM spread AS s
    WHERE s.spread_seconds > 0
)
SELECT
    getvariable('kept_minute_rows') + row_number() OVER (
        ORDER BY a.workweek_start, p.employee, a.day, a.from_utc, a.station, r.run_key, a.run_row_id, a.use, a.reason, a.workday, p.punch_id
    ) AS minute_row_id,
    a.punch_id, p.employee, p.shift_date AS work_date, a.workweek_start, a.workday, p.crew, p.shift, a.station, a.day, a.from_utc, a.until_utc,
    a.seconds, a.use, a.reason, a.run_row_id, r.run_key, r.job, r.batch, r.truss, r.remake,
    p.import_id, p.import_line, a.basis
FROM all_rows AS a
JOIN steps.punches AS p USING (punch_id)
LEFT JOIN steps.run_rows AS r USING (run_row_id);
COMMENT ON TABLE steps.minute_rows IS 'the minute ledger before it is written: rows are also cut where a workday starts';

-- grain: one punch, run, use and calendar day
-- renewed: calendar_day >= since
-- reads: steps.minute_rows where day >= since
CREATE OR REPLACE TABLE minute_ledger AS
WITH days_whole AS (
    SELECT
        min(minute_row_id) AS minute_row_id, day, workweek_start, station,
        min(from_utc) AS from_utc, max(until_utc) AS until_utc, sum(seconds)::BIGINT AS seconds,
        use, reason, run_row_id, basis
    FROM steps.minute_rows
    GROUP BY punch_id, day, workweek_start, station, use, reason, run_row_id, basis
),
-- The offsets in force from a day's first moment to its last, that one included.
offsets AS (
    SELECT from_utc, lead(from_utc, 1, TIMESTAMP '9999-01-01') OVER (ORDER BY from_utc) AS until_utc, offset_seconds
    FROM zone_offsets
),
day_offsets AS (
    SELECT d.day, z.from_utc, z.until_utc, z.offset_seconds
    FROM days AS d
    JOIN offsets AS z ON z.from_utc <= d.ends_utc AND z.until_utc > d.starts_utc
),
clocked AS (
    SELECT
        m.*,
        m.from_utc + to_seconds(s.offset_seconds) AS started_at,
        m.until_utc + to_seconds(e.offset_seconds) AS ended_at
    FROM days_whole AS m
    LEFT JOIN day_offsets AS s ON s.day = m.day AND s.from_utc <= m.from_utc AND s.until_utc > m.from_utc
    LEFT JOIN day_offsets AS e ON e.day = m.day AND e.from_utc <= m.until_utc AND e.until_utc > m.until_utc
)
SELECT
    m.employee, m.work_date, p.workweek_start, m.crew, m.shift, p.station,
    p.started_at, p.ended_at, p.seconds, p.use, p.reason, m.job, m.batch, m.truss, m.import_id, m.import_line AS line,
    p.day AS calendar_day, m.remake, p.run_row_id, p.basis
FROM clocked AS p
JOIN steps.minute_rows AS m USING (minute_row_id)
ORDER BY p.minute_row_id;
COMMENT ON TABLE minute_ledger IS 'every paid second put to one use; one row per punch, run, use and calendar day';
COMMENT ON COLUMN minute_ledger.work_date IS 'date on which the shift began';
COMMENT ON COLUMN minute_ledger.workweek_start IS 'first day of the workweek that the time falls in';
COMMENT ON COLUMN minute_ledger.station IS 'where the time was spent; NULL when no station is known';
COMMENT ON COLUMN minute_ledger.started_at IS 'the earliest moment of the row, plant''s wall clock; the row may be shared with others until ended_at';
COMMENT ON COLUMN minute_ledger.seconds IS 'whole paid seconds';
COMMENT ON COLUMN minute_ledger.use IS 'setup, build, stoppage, waiting, indirect or paid_not_worked';
COMMENT ON COLUMN minute_ledger.remake IS 'NULL for first-time work, else why the truss was made again';
COMMENT ON COLUMN minute_ledger.run_row_id IS 'row of steps.run_rows that the time was spent on';
COMMENT ON COLUMN minute_ledger.basis IS 'how the use is known: clocked; hours only, where nothing says more; else allotted by logged times, by quoted minutes, by design board feet or evenly';

-- grain: one run and basis of the people-minutes on it
-- renewed: run_key IN (SELECT run_key FROM renewed_runs)
-- reads: steps.minute_rows where run_row_id >= getvariable('first_run_row') AND run_key IN (SELECT run_key FROM renewed_runs)
CREATE OR REPLACE TABLE steps.run_bases AS
SELECT run_key, basis, sum(seconds)::BIGINT AS seconds
FROM steps.minute_rows
WHERE run_key IS NOT NULL
GROUP BY run_key, basis;
COMMENT ON TABLE steps.run_bases IS 'how the people-minutes of a run are known';

-- Of a run with time that is allotted without logged times the set-up is not known, whatever
-- the log says of its beginning.
UPDATE steps.run_rows
SET has_setup = false
WHERE has_setup AND run_row_id IN (SELECT run_row_id FROM minute_ledger WHERE basis IN ('allotted by quoted minutes', 'allotted by design board feet', 'allotted evenly'));
