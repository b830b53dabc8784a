-- Locations: at which station each punch stands, moment by moment.
--
-- A punch with a station stands there. One without follows its crew: to the stations
-- where the crew has a run open or, between runs, where its last one was. Before the first
-- run of the person's shift it is where that first run will be: the last run before it
-- belongs to another shift, and often to a table where another crew now works.
-- A crew at two stations at once is shared equally between them.

-- grain: one clocked punch and part of a day
-- renewed: day >= since
-- reads: steps.punches where shift_date >= since
CREATE OR REPLACE TABLE steps.punch_days AS
SELECT
    p.punch_id, p.employee, p.crew, p.station, d.day, d.workweek_start, d.workday,
    greatest(p.counts_from_utc, d.starts_utc) AS from_utc,
    least(p.ended_utc, d.ends_utc) AS until_utc
FROM (
    SELECT q.*, unnest(generate_series(q.counts_from_utc::DATE - 1, q.ended_utc::DATE + 1, INTERVAL 1 DAY))::DATE AS day
    FROM steps.punches AS q
    WHERE q.kind = 'clocked' AND q.elapsed_seconds > 0
) AS p
JOIN day_parts AS d USING (day)
WHERE p.counts_from_utc < d.ends_utc AND p.ended_utc > d.starts_utc;

-- grain: one crew and day on which somebody follows it
-- renewed: day >= since
-- reads: steps.punch_days where day >= since
CREATE OR REPLACE TABLE steps.followed_crew_days AS
SELECT DISTINCT p.crew, p.day, d.starts_utc, d.ends_utc
FROM steps.punch_days AS p
JOIN days AS d USING (day)
WHERE p.station IS NULL AND p.crew IS NOT NULL
    AND p.crew IN (SELECT r.crew FROM steps.run_phases AS r);

-- grain: one stretch of one crew's day between two changes in its open runs
-- renewed: day >= since
-- reads: steps.followed_crew_days where day >= since
-- reads: steps.run_phase_days where day >= since
CREATE OR REPLACE TABLE steps.crew_stretches AS
WITH moments AS (
    SELECT crew, day, starts_utc AS at_utc FROM steps.followed_crew_days
    UNION
    SELECT crew, day, ends_utc FROM steps.followed_crew_days
    UNION
    SELECT r.crew, r.day, r.from_utc FROM steps.run_phase_days AS r SEMI JOIN steps.followed_crew_days AS f ON r.crew = f.crew AND r.day = f.day
    UNION
    SELECT r.crew, r.day, r.until_utc FROM steps.run_phase_days AS r SEMI JOIN steps.followed_crew_days AS f ON r.crew = f.crew AND r.day = f.day
),
stretches AS (
    SELECT crew, day, at_utc AS from_utc, lead(at_utc) OVER (PARTITION BY crew, day ORDER BY at_utc) AS until_utc
    FROM moments
)
SELECT
    s.crew, s.day, s.from_utc, s.until_utc,
    list_sort(list_distinct(list(r.station) FILTER (WHERE r.station IS NOT NULL))) AS open_stations
FROM stretches AS s
LEFT JOIN steps.run_phase_days AS r
    ON r.crew = s.crew AND r.day = s.day AND r.from_utc < s.until_utc AND r.until_utc > s.from_utc
WHERE s.until_utc IS NOT NULL
GROUP BY s.crew, s.day, s.from_utc, s.until_utc;

-- grain: one stretch of one crew's day without a run open, with the runs before and after
-- renewed: day >= since - 33
-- reads: steps.crew_stretches where day >= since - 33
-- reads: steps.run_phases where until_utc >= since - 35 OR (crew, until_utc) IN (SELECT (crew, max(until_utc)) FROM steps.run_phases WHERE until_utc < since - 35 GROUP BY crew)
CREATE OR REPLACE TABLE steps.crew_gaps AS
WITH finishes AS (
    SELECT crew, until_utc AS at_utc, list_sort(list_distinct(list(station))) AS stations
    FROM steps.run_phases
    GROUP BY crew, until_utc
),
beginnings AS (
    SELECT crew, from_utc AS at_utc, list_sort(list_distinct(list(station))) AS stations
    FROM steps.run_phases
    GROUP BY crew, from_utc
),
gaps AS (
    SELECT g.crew, g.day, g.from_utc, g.until_utc, l.at_utc AS last_utc, l.stations AS last_stations
    FROM steps.crew_stretches AS g
    ASOF LEFT JOIN finishes AS l ON l.crew = g.crew AND g.from_utc >= l.at_utc
    WHERE len(coalesce(g.open_stations, [])) = 0
)
-- No shift lasts a month: where a crew's last run is known, a later one says nothing.
SELECT
    g.*,
    CASE WHEN g.last_utc IS NULL OR n.at_utc < g.until_utc + INTERVAL 31 DAY THEN n.at_utc END AS next_utc,
    CASE WHEN g.last_utc IS NULL OR n.at_utc < g.until_utc + INTERVAL 31 DAY THEN n.stations END AS next_stations
FROM gaps AS g
ASOF LEFT JOIN beginnings AS n ON n.crew = g.crew AND g.until_utc <= n.at_utc;

-- grain: one punch, with the bounds of its person's shift
-- renewed: punch_id > kept_punches
-- reads: steps.punches where shift_date >= since
CREATE OR REPLACE TABLE steps.shift_bounds AS
SELECT
    punch_id,
    min(counts_from_utc) OVER shift_of AS shift_from_utc,
    max(ended_utc) OVER shift_of AS shift_until_utc
FROM steps.punches
WHERE kind = 'clocked' AND elapsed_seconds > 0
WINDOW shift_of AS (PARTITION BY employee, shift_date);

-- grain: one punch, stretch of time and station (NULL: nowhere that is known)
-- renewed: day >= since
-- reads: steps.punch_days where day >= since
-- reads: steps.followed_crew_days where day >= since
-- reads: steps.crew_stretches where day >= since
-- reads: steps.crew_gaps where day >= since
-- reads: steps.shift_bounds where punch_id > kept_punches
CREATE OR REPLACE TABLE steps.whereabouts AS
SELECT punch_id, station, 1 AS stations_at_once, day, workweek_start, workday, from_utc, until_utc
FROM steps.punch_days
WHERE station IS NOT NULL
UNION ALL
SELECT punch_id, NULL, 1, day, workweek_start, workday, from_utc, until_utc
FROM steps.punch_days AS p
WHERE station IS NULL
    AND NOT EXISTS (SELECT 1 FROM steps.followed_crew_days AS f WHERE f.crew = p.crew AND f.day = p.day)
UNION ALL
SELECT
    p.punch_id, unnest(c.open_stations), len(c.open_stations), p.day, p.workweek_start, p.workday,
    greatest(p.from_utc, c.from_utc), least(p.until_utc, c.until_utc)
FROM steps.punch_days AS p
JOIN steps.crew_stretches AS c
    ON c.crew = p.crew AND c.day = p.day AND c.from_utc < p.until_utc AND c.until_utc > p.from_utc
WHERE p.station IS NULL AND len(coalesce(c.open_stations, [])) > 0
UNION ALL
SELECT punch_id, unnest(stations), len(stations), day, workweek_start, workday, from_utc, until_utc
FROM (
    SELECT
        p.punch_id, p.day, p.workweek_start, p.workday,
        CASE
            WHEN g.last_utc > s.shift_from_utc THEN g.last_stations
            WHEN g.next_utc < s.shift_until_utc THEN g.next_stations
            ELSE coalesce(g.last_stations, g.next_stations)
        END AS stations,
        greatest(p.from_utc, g.from_utc) AS from_utc, least(p.until_utc, g.until_utc) AS until_utc
    FROM steps.punch_days AS p
    JOIN steps.shift_bounds AS s USING (punch_id)
    JOIN steps.crew_gaps AS g
        ON g.crew = p.crew AND g.day = p.day AND g.from_utc < p.until_utc AND g.until_utc > p.from_utc
    WHERE p.station IS NULL
);
