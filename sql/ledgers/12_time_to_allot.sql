-- Time that no clock and no log places: on which runs it may have been spent.
--
-- Hours without clock times may be on every run of the person's crew of that shift date;
-- clocked time with no run open, on those of its runs that have no usable times. The crew's
-- runs are those at the punch's station where it names one, and of its shift where the crew
-- had any; a punch whose crew ran nothing there, or of no crew, takes its station's runs.
-- People whose role or station is indirect are on no run.
--
-- Time is allotted by the logged times where every such run has its own; else by quoted
-- minutes (one set-up of the mark and its build minutes); else by design board feet; else
-- evenly: each only where all the runs have it. Without logged times no set-up is known.

-- grain: one punch, run row and phase that its time without a place is allotted to
-- renewed: punch_id > kept_punches
-- reads: steps.punches where shift_date >= since
-- reads: steps.run_rows where run_row_id > kept_run_rows
-- reads: steps.run_phases where run_row_id > kept_run_rows
CREATE OR REPLACE TABLE steps.allotment_weights AS
WITH unplaced AS (
    SELECT p.punch_id, p.kind, p.crew, p.shift, p.station, p.shift_date
    FROM steps.punches AS p
    LEFT JOIN stations AS s USING (station)
    WHERE p.kind IN ('clocked', 'hours only') AND p.paid_seconds > 0
        AND p.role IS DISTINCT FROM 'indirect' AND s.kind IS DISTINCT FROM 'yard'
),
near AS (
    SELECT
        u.punch_id, u.kind, r.run_row_id, r.is_untimed,
        CASE WHEN r.crew = u.crew AND (u.shift IS NULL OR r.shift = u.shift) THEN 1 WHEN r.crew = u.crew THEN 2 ELSE 3 END AS distance
    FROM unplaced AS u
    JOIN steps.run_rows AS r
        ON r.shift_date = u.shift_date
            AND (r.crew = u.crew AND (u.station IS NULL OR r.station = u.station)
                OR r.station = u.station AND (u.shift IS NULL OR r.shift = u.shift))
),
nearest AS (
    SELECT punch_id, kind, run_row_id, is_untimed
    FROM near
    QUALIFY distance = min(distance) OVER (PARTITION BY punch_id)
),
-- One set-up a run, whatever its rows: on the first of them.
quoted AS (
    SELECT
        r.run_row_id, r.start_basis,
        CASE WHEN row_number() OVER (PARTITION BY r.run_key ORDER BY r.shift_date, r.finished_utc, r.run_row_id) = 1 AND o.run_key IS NULL THEN (w.quoted_setup_min * 100)::BIGINT
             WHEN w.quoted_setup_min IS NOT NULL THEN 0 END + r.quantity * (w.quoted_build_min * 100)::BIGINT AS quoted_e2,
        r.quantity::HUGEINT * w.wood AS wood
    FROM steps.run_rows AS r
    LEFT JOIN steps.opening_runs AS o ON o.run_key = r.run_key
    LEFT JOIN steps.truss_wood AS w ON w.job = r.job AND w.truss = r.truss
),
logged AS (
    SELECT run_row_id, phase, seconds_between(from_utc, until_utc) AS seconds
    FROM steps.run_phases
),
based AS (
    SELECT
        n.punch_id, n.run_row_id, q.quoted_e2, q.wood,
        CASE
            WHEN bool_and(q.start_basis = 'logged' AND l.seconds > 0) OVER punch THEN 'allotted by logged times'
            WHEN bool_and(q.quoted_e2 IS NOT NULL) OVER punch AND sum(q.quoted_e2) OVER punch > 0 THEN 'allotted by quoted minutes'
            WHEN bool_and(q.wood IS NOT NULL) OVER punch AND sum(q.wood) OVER punch > 0 THEN 'allotted by design board feet'
            ELSE 'allotted evenly'
        END AS basis
    FROM nearest AS n
    JOIN quoted AS q USING (run_row_id)
    LEFT JOIN (SELECT run_row_id, sum(seconds) AS seconds FROM logged GROUP BY run_row_id) AS l USING (run_row_id)
    WHERE n.kind = 'hours only' OR n.is_untimed
    WINDOW punch AS (PARTITION BY n.punch_id)
)
SELECT punch_id, run_row_id, 'build' AS use, basis,
    (CASE basis WHEN 'allotted by quoted minutes' THEN quoted_e2 WHEN 'allotted by design board feet' THEN wood ELSE 1 END)::HUGEINT AS weight
FROM based
WHERE basis <> 'allotted by logged times'
UNION ALL
SELECT b.punch_id, b.run_row_id, l.phase, b.basis, l.seconds::HUGEINT
FROM based AS b
JOIN logged AS l USING (run_row_id)
WHERE b.basis = 'allotted by logged times';
COMMENT ON TABLE steps.allotment_weights IS 'runs that a punch''s time without a place is shared over, by weight';
COMMENT ON COLUMN steps.allotment_weights.basis IS 'allotted by logged times, by quoted minutes, by design board feet or evenly';
