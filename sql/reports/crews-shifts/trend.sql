-- sheet:  trend
-- title:  Week by week, with limits and signals
-- reader: owner
-- grain:  one row per measure and workweek of the trailing weeks
-- needs:  comparison
-- column: measure     | Measure      | text   | - | what is followed
-- column: workweek    | Week         | text   | - | ISO week
-- column: value       | Value        | number | - | of the week, in the unit of the next column
-- column: unit        | Unit         | text   | - | of value, mean and limits
-- column: mean        | Mean         | number | - | of the weeks shown
-- column: low         | Lower limit  | number | - | mean less 3 x mean moving range / 1.128; blank where no share can be as low
-- column: high        | Upper limit  | number | - | mean plus 3 x mean moving range / 1.128; blank where no share can be as high
-- column: signal      | Signal       | text   | - | what is more than chance, by the four run rules; or that there are too few weeks
-- column: events      | On the floor | text   | - | changes under study, people who joined or left a crew
-- column: marked      | Marked       | number | - | the value of a week with something on the floor, for the chart
-- column: numerator   | Numerator    | number | - | of the value
-- column: denominator | Denominator  | number | - | of the value
-- column: base        | Of what      | text   | - | numerator / denominator, and what they count
-- chart:  line limits where measure = margin | Margin by week | workweek | value, marked, mean, low, high | per cent of revenue | Line of the weekly margin with its mean and control limits; weeks with a change on the floor are marked
-- chart:  line limits where measure = waste | Waste by week | workweek | value, marked, mean, low, high | per cent of net issue | Line of the weekly waste with its mean and control limits; weeks with a change on the floor are marked
-- chart:  line limits where measure = labour a truss, like for like | Labour a truss by week, like for like | workweek | value, marked, mean, low, high | people-minutes a truss | Line of the weekly people-minutes a truss on the plant's mix with its mean and control limits; weeks with a change on the floor are marked
-- chart:  line limits where measure = set-up share | Set-up share by week | workweek | value, marked, mean, low, high | per cent of table minutes | Line of the weekly share of set-up with its mean and control limits; weeks with a change on the floor are marked
-- chart:  line limits where measure = board feet a labour hour | Board feet a labour hour by week | workweek | value, marked, mean, low, high | board feet | Line of the weekly board feet a labour hour with its mean and control limits; weeks with a change on the floor are marked
-- chart:  line limits where measure = first pass | First pass by week | workweek | value, marked, mean, low, high | per cent of trusses | Line of the weekly share of trusses right the first time with its mean and control limits; weeks with a change on the floor are marked
-- note:   Margin and waste take jobs that left, and batches whose cutting ended, in the week, whole ones; the others first-time runs that finished in it. Labour is the week's minutes a truss over all weeks', both on the plant's mix of the classes that the week built, times the plant's minutes a truss.
-- note:   Individuals charts: limits are the mean and 3 x the mean moving range / 1.128 (NIST/SEMATECH e-Handbook 6.3.2.2). Signals: one week beyond the limits; two of three beyond two thirds of them; four of five beyond a third; eight on one side (Western Electric rules).
-- note:   A signal says that something changed, never what. Weeks without one differ by chance: they need no explanation. A week's figure can still move: a later cost, credit or remake belongs to it.
-- note:   Pace never stands alone: labour, first pass and quality_and_safety are read together. The big chords inflate board feet an hour: it ranks nobody.
-- sort:   measure as listed, week
WITH events AS (
    SELECT workweek_start, string_agg(event, '; ' ORDER BY place, event) AS events
    FROM steps.floor_events
    GROUP BY workweek_start
),
scaled AS (
    SELECT t.*, CASE WHEN t.unit LIKE 'share of %' THEN 100 ELSE 1 END AS factor
    FROM temp.trend_points AS t
)
SELECT
    t.measure::VARCHAR AS measure,
    t.workweek::VARCHAR AS workweek,
    (t.value * t.factor)::DECIMAL(18,6) AS value,
    CASE WHEN t.factor = 100 THEN '% ' || substr(t.unit, 7) ELSE t.unit END::VARCHAR AS unit,
    (t.mean * t.factor)::DECIMAL(18,6) AS mean,
    -- A limit that no share can pass is none; a margin can fall below 0.
    CASE WHEN t.factor = 1 OR t.measure = 'margin' OR t.low_limit > 0 THEN t.low_limit * t.factor END::DECIMAL(18,6) AS low,
    CASE WHEN t.factor = 1 OR t.high_limit < 1 THEN t.high_limit * t.factor END::DECIMAL(18,6) AS high,
    t.signal::VARCHAR AS signal,
    e.events::VARCHAR AS events,
    CASE WHEN e.events IS NOT NULL THEN t.value * t.factor END::DECIMAL(18,6) AS marked,
    t.numerator::DECIMAL(18,4) AS numerator,
    t.denominator::DECIMAL(18,4) AS denominator,
    t.base::VARCHAR AS base
FROM scaled AS t
LEFT JOIN events AS e USING (workweek_start)
ORDER BY t.place, t.workweek_start;
