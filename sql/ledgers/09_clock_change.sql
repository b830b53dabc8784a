-- Punches in the hour that the clock repeats in autumn. Such a time has two instants; it
-- counts only where the order of the person's punches leaves one of them.

-- grain: one row of timecards that repeats another punch of the same person
-- renewed: shift_date >= since
-- reads: timecards where coalesce(work_date, started_at::DATE) >= since
CREATE OR REPLACE TABLE steps.double_punches AS
WITH worked AS (
    SELECT
        t.employee, coalesce(t.work_date, t.started_at::DATE) AS shift_date, t.started_at, t.ended_at, t.import_id, t.import_line,
        row_number() OVER (
            PARTITION BY t.employee
            ORDER BY (t.started_at IS NULL)::INT + (t.ended_at IS NULL)::INT, t.started_at, t.ended_at, t.record, coalesce(t.work_date, t.started_at::DATE), coalesce(o.place, t.import_line), t.import_id
        ) AS place
    FROM timecards AS t
    LEFT JOIN steps.row_order AS o ON o.import_id = t.import_id AND o.import_line = t.import_line
    WHERE lower(t.pay_code) = 'worked' AND (t.started_at IS NOT NULL OR t.ended_at IS NOT NULL) AND (t.hours IS NULL OR t.started_at IS NOT NULL AND t.ended_at IS NOT NULL)
)
SELECT w.import_id, w.import_line, min_by(k.import_line, k.place) AS kept_line, w.shift_date
FROM worked AS w
CROSS JOIN settings AS s
JOIN worked AS k ON k.employee = w.employee AND k.shift_date = w.shift_date AND k.place < w.place
WHERE coalesce(abs(seconds_between(k.started_at, w.started_at)) <= s.double_punch_seconds, w.started_at IS NULL)
    AND coalesce(abs(seconds_between(k.ended_at, w.ended_at)) <= s.double_punch_seconds, w.ended_at IS NULL)
GROUP BY w.import_id, w.import_line, w.shift_date;

-- grain: one hour that the plant's clock repeats
CREATE OR REPLACE TABLE steps.repeated_hours AS
WITH turns AS (
    SELECT from_utc, offset_seconds, lag(offset_seconds) OVER (ORDER BY from_utc) AS before_seconds
    FROM zone_offsets
)
SELECT
    from_utc + to_seconds(offset_seconds) AS from_local, from_utc + to_seconds(before_seconds) AS until_local,
    before_seconds, offset_seconds AS after_seconds
FROM turns
WHERE offset_seconds < before_seconds;

-- grain: one punch with a repeated time and one reading of it
CREATE OR REPLACE TABLE steps.clock_readings AS
WITH worked AS (
    SELECT t.employee, t.started_at, t.ended_at, t.started_utc, t.ended_utc, t.import_id, t.import_line
    FROM timecards AS t
    ANTI JOIN steps.double_punches AS d ON d.import_id = t.import_id AND d.import_line = t.import_line
    WHERE t.started_at IS NOT NULL AND t.ended_at IS NOT NULL AND lower(t.pay_code) = 'worked'
    UNION ALL
    -- A punch with one end and a corrected total is as sure as that end.
    SELECT
        t.employee, t.started_at, t.ended_at,
        coalesce(t.started_utc, t.ended_utc - to_seconds(rounded_quotient((t.hours * 10000)::BIGINT * 3600, 10000) + rounded_quotient((t.unpaid_min * 100)::BIGINT * 60, 100))),
        coalesce(t.ended_utc, t.started_utc + to_seconds(rounded_quotient((t.hours * 10000)::BIGINT * 3600, 10000) + rounded_quotient((t.unpaid_min * 100)::BIGINT * 60, 100))),
        t.import_id, t.import_line
    FROM timecards AS t
    WHERE (t.started_at IS NULL) <> (t.ended_at IS NULL) AND t.hours IS NOT NULL AND lower(t.pay_code) = 'worked' AND coalesce(t.started_utc, t.ended_utc) IS NOT NULL
),
unsettled AS (
    SELECT * FROM worked WHERE started_utc IS NULL OR ended_utc IS NULL
),
starts AS (
    SELECT import_id, import_line, started_utc AS at_utc FROM unsettled WHERE started_utc IS NOT NULL
    UNION ALL
    SELECT u.import_id, u.import_line, u.started_at - to_seconds(unnest([r.before_seconds, r.after_seconds]))
    FROM unsettled AS u
    JOIN steps.repeated_hours AS r ON u.started_at >= r.from_local AND u.started_at < r.until_local
    WHERE u.started_utc IS NULL
),
ends AS (
    SELECT import_id, import_line, ended_utc AS at_utc FROM unsettled WHERE ended_utc IS NOT NULL
    UNION ALL
    SELECT u.import_id, u.import_line, u.ended_at - to_seconds(unnest([r.before_seconds, r.after_seconds]))
    FROM unsettled AS u
    JOIN steps.repeated_hours AS r ON u.ended_at >= r.from_local AND u.ended_at < r.until_local
    WHERE u.ended_utc IS NULL
),
readings AS (
    SELECT u.employee, u.started_at, u.import_id, u.import_line, s.at_utc AS started_utc, e.at_utc AS ended_utc
    FROM unsettled AS u
    JOIN starts AS s ON s.import_id = u.import_id AND s.import_line = u.import_line
    JOIN ends AS e ON e.import_id = u.import_id AND e.import_line = u.import_line
    WHERE e.at_utc > s.at_utc
),
-- Nobody is in two places: a reading over a punch whose times are sure is none.
free AS (
    SELECT r.*
    FROM readings AS r
    WHERE NOT EXISTS (
        SELECT 1 FROM worked AS w
        WHERE w.employee = r.employee AND w.started_utc < r.ended_utc AND w.ended_utc > r.started_utc
    )
)
-- Neither is one that no reading of the person's other unsettled punches leaves room for.
SELECT f.*
FROM free AS f
WHERE NOT EXISTS (
    SELECT 1
    FROM unsettled AS o
    WHERE o.employee = f.employee AND (o.import_id, o.import_line) <> (f.import_id, f.import_line)
        AND abs(epoch_us(o.started_at) - epoch_us(f.started_at)) < 86400000000
        AND NOT EXISTS (
            SELECT 1 FROM free AS g
            WHERE g.import_id = o.import_id AND g.import_line = o.import_line
                AND CASE WHEN (o.started_at, o.import_id, o.import_line) < (f.started_at, f.import_id, f.import_line)
                         THEN g.ended_utc <= f.started_utc ELSE g.started_utc >= f.ended_utc END
        )
);

-- grain: one punch with a repeated time: its instants where one reading is left
CREATE OR REPLACE TABLE steps.settled_clock AS
SELECT
    import_id, import_line, count(*) AS readings,
    CASE WHEN count(*) = 1 THEN min(started_utc) END AS started_utc,
    CASE WHEN count(*) = 1 THEN min(ended_utc) END AS ended_utc,
    max(seconds_between(started_utc, ended_utc)) AS most_seconds,
    string_agg(DISTINCT seconds_between(started_utc, ended_utc) // 60, ' or ' ORDER BY seconds_between(started_utc, ended_utc) // 60) AS minutes
FROM steps.clock_readings
GROUP BY import_id, import_line;
COMMENT ON TABLE steps.settled_clock IS 'one punch with a time that the clock repeated: its instants where the person''s punches leave one reading';
