-- sheet:  quality_and_safety
-- title:  Quality and safety beside pace
-- reader: owner
-- grain:  one row per measure and what it is of
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: measure   | Measure  | text   | - | pace, first pass, made again, inspections, stoppages, overtime, incidents, reports made
-- column: of_what   | Of       | text   | - | plant, shift, table, crew, table and shift, cause or reason; incidents only of the plant, and of a shift above 20,000 hours
-- column: name      | Name     | text   | - | which one, in the order of names: no order of merit
-- column: counted   | Counted  | number | - | the numerator; blank where it isn't known
-- column: out_of    | Out of   | number | - | the denominator
-- column: base      | Base     | text   | - | what the two before it count
-- column: share_pct | Share    | pct    | - | counted over out of, where the one is part of the other
-- column: rate      | Rate     | number | - | counted over out of, in the unit beside it, where it is no share
-- column: rate_low  | From     | number | - | low end of the rate's 95 % interval (exact, Poisson): what chance alone leaves open
-- column: rate_high | To       | number | - | high end of it
-- column: rate_unit | Rate in  | text   | - | unit of the three before it
-- column: remark    | Remark   | text   | - | what the figure holds and what it leaves out
-- needs:  intervals
-- note:   Pace never stands alone: a crew can look fast by skipping inspections or by work that others make again. Crews and shifts build different trusses: pace is compared on the sheet like_for_like, never here.
-- note:   First pass counts trusses by the day on which they were first completed, with the crew that built them then; a remake or a failure that comes later lowers it later.
-- note:   Inspections: at least three trusses for each set-up location, each shift, each week (ANSI/TPI 1 chapter 3); here a table is one set-up location. Whole weeks, in the period in which they end.
-- note:   Injuries rank nobody: no figure by crew or station, no target, no days since. Many reports of near misses and first aid say that people report, not that a plant is worse.
-- note:   Rates are cases x 200,000 / hours worked, leave left out (BLS and OSHA). Local law, and the records kept for the safety authority, have the last word.
-- sort:   measure as listed, then what it is of, then name
WITH files AS (
    SELECT
        count(*) FILTER (WHERE feed = 'inspections') > 0 AS has_inspections,
        count(*) FILTER (WHERE feed = 'incidents') > 0 AS has_incidents,
        count(*) FILTER (WHERE feed = 'stoppages') > 0 AS has_stoppages
    FROM imports
    WHERE undone_utc IS NULL
),
runs AS (
    SELECT f.*, r.setup_seconds + r.build_seconds AS seconds
    FROM steps.first_pass AS f
    JOIN steps.table_runs AS r ON r.run_key = f.run_key
    WHERE f.finished_on >= $from::DATE AND f.finished_on < $until::DATE
),
-- One row a run and what it is looked at by.
faces AS (
    SELECT r.*, unnest([
        {'place': 1, 'of_what': 'plant', 'name': 'plant'}, {'place': 2, 'of_what': 'shift', 'name': r.shift},
        {'place': 3, 'of_what': 'table', 'name': r.station}, {'place': 4, 'of_what': 'crew', 'name': r.crew}
    ]) AS face
    FROM runs AS r
),
pace AS (
    SELECT
        10 AS place, f.face.place AS of_place, 'pace' AS measure, f.face.of_what AS of_what, f.face.name AS name,
        seconds_to_min(sum(f.seconds)::BIGINT) AS counted, sum(f.trusses) AS out_of,
        'set-up and build people-minutes of good trusses' AS base,
        NULL::DECIMAL(18,6) AS share_pct, share_of(seconds_to_min(sum(f.seconds)::BIGINT), sum(f.trusses)) AS rate,
        NULL::DECIMAL(18,6) AS rate_low, NULL::DECIMAL(18,6) AS rate_high, 'people-minutes a truss' AS rate_unit,
        CASE WHEN f.face.place = 2 THEN 'the mix of trusses is in it: compare on like_for_like' END AS remark
    FROM faces AS f
    WHERE f.face.place <= 2
    GROUP BY f.face
),
first_pass AS (
    SELECT
        20, f.face.place, 'first pass', f.face.of_what, f.face.name,
        sum(f.trusses - f.not_first_pass), sum(f.trusses), 'trusses neither made again nor failed at inspection, of trusses completed first time',
        share_of(sum(f.trusses - f.not_first_pass), sum(f.trusses)), NULL, NULL, NULL, NULL,
        concat_ws('; ',
            CASE WHEN sum(f.remade) > 0 THEN concat(sum(f.remade), ' made again', CASE WHEN sum(f.remade_for_customer) > 0 THEN concat(', ', sum(f.remade_for_customer), ' of them for the customer') END) END,
            CASE WHEN sum(f.failed) > 0 THEN concat(sum(f.failed), ' failed inspection') END,
            CASE WHEN NOT (SELECT has_inspections FROM files) THEN 'no inspections were read: remakes alone' END)
    FROM faces AS f
    GROUP BY f.face
),
remakes AS (
    SELECT r.remake AS cause, r.trusses
    FROM steps.table_runs AS r
    WHERE r.remake IS NOT NULL AND (r.left_out IS NULL OR r.left_out = 'no people-minutes')
        AND r.finished_on >= $from::DATE AND r.finished_on < $until::DATE
),
made_again AS (
    SELECT
        30, c.place, 'made again', 'cause', c.cause, coalesce(sum(m.trusses), 0), (SELECT coalesce(sum(trusses), 0) FROM runs),
        'trusses made again in the period, of trusses completed first time in it',
        share_of(coalesce(sum(m.trusses), 0), (SELECT coalesce(sum(trusses), 0) FROM runs)), NULL, NULL, NULL, NULL, c.says
    FROM (VALUES (1, 'normal', 'what such work brings with it'), (2, 'abnormal', 'a mistake of the plant'), (3, 'customer', 'caused by the customer')) AS c(place, cause, says)
    LEFT JOIN remakes AS m ON m.cause = c.cause
    GROUP BY c.place, c.cause, c.says
),
weeks AS (
    SELECT w.*, w.inspected < w.required AS is_short
    FROM steps.inspection_weeks AS w
    WHERE w.workweek_start + 6 >= $from::DATE AND w.workweek_start + 6 < $until::DATE
),
week_faces AS (
    SELECT w.*, unnest([
        {'place': 1, 'of_what': 'plant', 'name': 'plant'}, {'place': 3, 'of_what': 'table and shift', 'name': concat(w.station, ' ', w.shift)}
    ]) AS face
    FROM weeks AS w
),
inspections_done AS (
    SELECT
        40, f.face.place, 'inspections', f.face.of_what, f.face.name,
        CASE WHEN r.has_inspections THEN sum(least(f.inspected, f.required)) END, sum(f.required),
        'trusses inspected that count towards the three of each table, shift and week that ran',
        CASE WHEN r.has_inspections THEN share_of(sum(least(f.inspected, f.required)), sum(f.required)) END, NULL, NULL, NULL, NULL,
        CASE WHEN r.has_inspections THEN concat_ws('; ', concat(sum(f.inspected), ' inspected, ', sum(f.failed), ' failed'),
            CASE WHEN bool_or(f.is_short) THEN concat(count(*) FILTER (WHERE f.is_short), ' of ', count(*), ' short: ',
                array_to_string(list_slice(list(concat(f.station, ' ', f.shift, ' ', f.label, ' ', f.inspected, ' of ', f.required) ORDER BY f.workweek_start, f.station, f.shift) FILTER (WHERE f.is_short), 1, 5), ', '),
                CASE WHEN count(*) FILTER (WHERE f.is_short) > 5 THEN ' and more' END) END)
        ELSE 'no inspections were read: 0 is not known' END
    FROM week_faces AS f
    CROSS JOIN files AS r
    GROUP BY f.face, r.has_inspections
),
minutes AS (
    SELECT m.use, m.reason, sum(m.seconds)::BIGINT AS seconds
    FROM minute_ledger AS m
    WHERE m.work_date >= $from::DATE AND m.work_date < $until::DATE AND m.use <> 'paid_not_worked'
    GROUP BY m.use, m.reason
),
stopped AS (
    SELECT 1 AS place, 'plant' AS of_what, 'all reasons' AS name, sum(CASE WHEN use = 'stoppage' THEN seconds ELSE 0 END)::BIGINT AS seconds
    FROM minutes
    HAVING count(*) > 0
    UNION ALL
    SELECT 5, 'reason', reason, sum(seconds)::BIGINT
    FROM minutes
    WHERE use = 'stoppage'
    GROUP BY reason
),
stoppage AS (
    SELECT
        50, s.place, 'stoppages', s.of_what, s.name,
        CASE WHEN f.has_stoppages THEN seconds_to_min(s.seconds) END, seconds_to_min((SELECT sum(seconds)::BIGINT FROM minutes)),
        'people-minutes at a station that stood still, of people-minutes worked',
        CASE WHEN f.has_stoppages THEN share_of(s.seconds, (SELECT sum(seconds) FROM minutes)) END, NULL, NULL, NULL, NULL,
        CASE WHEN NOT f.has_stoppages THEN 'no stoppages were read: 0 is not known' END
    FROM stopped AS s
    CROSS JOIN files AS f
),
overtime AS (
    SELECT
        60, 1, 'overtime', 'plant', 'plant', seconds_to_hours(sum(o.premium_seconds + o.double_seconds)::BIGINT), seconds_to_hours(sum(o.worked_seconds)::BIGINT),
        'hours past a threshold of the day or week, of hours worked', share_of(sum(o.premium_seconds + o.double_seconds), sum(o.worked_seconds)), NULL, NULL, NULL, NULL,
        'whole workweeks, in the period in which they end'
    FROM steps.overtime_weeks AS o
    WHERE o.workweek_start + 6 >= $from::DATE AND o.workweek_start + 6 < $until::DATE
    HAVING sum(o.worked_seconds) > 0
),
-- Twelve months to the period's end, or what the timecards hold of them: cases of a time
-- without hours would raise the rate.
rolling AS (
    SELECT greatest(($until::DATE - INTERVAL 12 MONTH)::DATE, min(m.work_date)) AS from_day, $until::DATE AS until_day
    FROM minute_ledger AS m
    WHERE m.use <> 'paid_not_worked'
),
stated AS (
    SELECT r.*, concat(r.from_day, ' to ', r.until_day - 1) AS says FROM rolling AS r
),
hours AS (
    SELECT m.shift, sum(m.seconds)::BIGINT AS seconds
    FROM minute_ledger AS m
    CROSS JOIN rolling AS r
    WHERE m.work_date >= r.from_day AND m.work_date < r.until_day AND m.use <> 'paid_not_worked'
    GROUP BY m.shift
),
told AS (
    SELECT n.recordable, n.shift, n.days_away, n.days_restricted
    FROM incidents AS n
    CROSS JOIN rolling AS r
    WHERE n.shift_date >= r.from_day AND n.shift_date < r.until_day
),
recordable AS (
    SELECT
        1 AS place, 'plant' AS of_what, 'plant' AS name, coalesce((SELECT sum(seconds) FROM hours), 0)::BIGINT AS seconds,
        (SELECT count(*) FROM told WHERE recordable = 'yes') AS cases, true AS is_enough
    UNION ALL
    SELECT 2, 'shift', h.shift, h.seconds, (SELECT count(*) FROM told AS t WHERE t.recordable = 'yes' AND t.shift = h.shift), h.seconds > 20000 * 3600
    FROM hours AS h
    WHERE h.shift IS NOT NULL
),
cases AS (
    SELECT
        70, c.place, 'incidents', c.of_what, c.name,
        CASE WHEN f.has_incidents AND c.is_enough THEN c.cases END, seconds_to_hours(c.seconds),
        concat('recordable cases and hours worked, ', s.says),
        NULL, CASE WHEN f.has_incidents AND c.is_enough THEN share_of(c.cases * 720000000, c.seconds) END,
        CASE WHEN f.has_incidents AND c.is_enough THEN share_of(i.low * 720000000, c.seconds) END,
        CASE WHEN f.has_incidents AND c.is_enough THEN share_of(i.high * 720000000, c.seconds) END,
        'cases per 200,000 hours worked',
        CASE WHEN NOT f.has_incidents THEN 'no incidents were read: 0 is not known'
             WHEN NOT c.is_enough THEN 'no more than 20,000 hours: too few for a figure'
             WHEN c.place = 1 THEN concat((SELECT coalesce(sum(days_away), 0) FROM told WHERE recordable = 'yes'), ' days away, ', (SELECT coalesce(sum(days_restricted), 0) FROM told WHERE recordable = 'yes'), ' days restricted; punches still to be settled have no hours') END
    FROM recordable AS c
    CROSS JOIN files AS f
    CROSS JOIN stated AS s
    LEFT JOIN temp.incident_intervals AS i ON i.cases = c.cases
),
reported AS (
    SELECT
        80, k.place, 'reports made', 'plant', k.name, CASE WHEN f.has_incidents THEN count(t.recordable) END, NULL,
        concat('reports, ', s.says), NULL, NULL, NULL, NULL, NULL,
        CASE WHEN f.has_incidents THEN 'as reported: no rate, no target' ELSE 'no incidents were read: 0 is not known' END
    FROM (VALUES (1, 'first_aid', 'first aid'), (2, 'near_miss', 'near misses'), (3, 'no', 'not recordable')) AS k(place, recordable, name)
    CROSS JOIN files AS f
    CROSS JOIN stated AS s
    LEFT JOIN told AS t ON t.recordable = k.recordable
    GROUP BY k.place, k.name, f.has_incidents, s.says
),
everything AS (
    SELECT * FROM pace
    UNION ALL SELECT * FROM first_pass
    UNION ALL SELECT * FROM made_again
    UNION ALL SELECT * FROM inspections_done
    UNION ALL SELECT * FROM stoppage
    UNION ALL SELECT * FROM overtime
    UNION ALL SELECT * FROM cases
    UNION ALL SELECT * FROM reported
)
SELECT
    e.measure::VARCHAR AS measure,
    e.of_what::VARCHAR AS of_what,
    e.name::VARCHAR AS name,
    e.counted::DECIMAL(18,2) AS counted,
    e.out_of::DECIMAL(18,2) AS out_of,
    e.base::VARCHAR AS base,
    e.share_pct::DECIMAL(18,6) AS share_pct,
    e.rate::DECIMAL(18,6) AS rate,
    e.rate_low::DECIMAL(18,6) AS rate_low,
    e.rate_high::DECIMAL(18,6) AS rate_high,
    e.rate_unit::VARCHAR AS rate_unit,
    nullif(e.remark, '')::VARCHAR AS remark
FROM everything AS e
ORDER BY e.place, e.of_place, e.name;
