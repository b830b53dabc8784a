-- sheet:  setup_and_batch
-- title:  Set-up and batch size
-- reader: owner
-- grain:  one row per jigging of the table and batch size, of whole runs that finished in the period and recorded their set-up
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: jigging             | Jigging          | text  | -   | manual or automatic, as plant.toml has the table; blank where it doesn't say
-- column: batch_size          | Trusses a set-up | count | -   | good trusses built on one set-up of one mark
-- column: setups              | Set-ups          | count | sum | runs whose set-up was recorded; remakes left out
-- column: trusses             | Trusses          | count | sum | good trusses of these runs
-- column: setup_min           | Set-up           | min   | sum | people-minutes of set-up
-- column: build_min           | Build            | min   | sum | people-minutes of building
-- column: labour_min          | Labour           | min   | sum | the two before it
-- column: setup_each_min      | A set-up         | min   | setup_min / setups | people-minutes of one set-up
-- column: setup_per_truss_min | Set-up a truss   | min   | setup_min / trusses | what batch size spreads
-- column: build_per_truss_min | Build a truss    | min   | build_min / trusses | what batch size leaves as it is
-- column: measured_min        | Measured a truss | min   | labour_min / trusses | set-up and build
-- column: spread_setup_min    | Average set-up spread | min | - | the average set-up of this jigging over the trusses of one set-up
-- column: average_build_min   | Average build    | min   | -   | average build minutes a truss of this jigging
-- column: expected_min        | Expected a truss | min   | - | the two before it: what batch size alone explains; the rest of the measured figure is the mix of trusses, the crew or chance
-- column: repeated_setups     | Set up again     | count | sum | set-ups of a mark that a table had already been set up for
-- column: repeated_min        | Minutes of those | min   | sum | people-minutes that repeated set-ups of one mark cost
-- column: practice            | Batch            | text  | -   | batches of about four to six stage and handle well (common practice, no source)
-- column: jigging_size        | Jigging and size | text  | -   | both in one, for the chart
-- chart:  bar | Set-up minutes a truss by batch size | jigging_size | setup_per_truss_min | people-minutes a truss | Bars of set-up people-minutes a truss for each jigging and batch size, in the order of the rows
-- note:   Minutes a truss = set-up / trusses + build. Larger batches spread the set-up and cost room, staging and mistakes. Pace never stands alone: read it with quality, inspections and injuries.
-- sort:   jigging, batch size
WITH numbered AS (
    SELECT
        r.*,
        row_number() OVER (PARTITION BY r.job, r.truss ORDER BY r.finished_utc, r.run_key) AS setup_number
    FROM steps.table_runs AS r
    WHERE r.remake IS NULL AND r.has_setup
),
judged AS (
    SELECT n.jigging, n.trusses AS quantity, n.setup_number, n.setup_seconds, n.build_seconds
    FROM numbered AS n
    WHERE n.left_out IS NULL AND n.finished_on >= $from::DATE AND n.finished_on < $until::DATE
),
by_jigging AS (
    SELECT jigging, sum(setup_seconds)::BIGINT AS setup_seconds, count(*) AS setups, sum(build_seconds)::BIGINT AS build_seconds, sum(quantity)::BIGINT AS trusses
    FROM judged
    GROUP BY jigging
),
grouped AS (
    SELECT
        j.jigging, j.quantity AS batch_size, count(*) AS setups, sum(j.quantity)::BIGINT AS trusses,
        seconds_to_min(sum(j.setup_seconds)::BIGINT) AS setup_min, seconds_to_min(sum(j.build_seconds)::BIGINT) AS build_min,
        count(*) FILTER (WHERE j.setup_number > 1) AS repeated_setups,
        seconds_to_min(sum(CASE WHEN j.setup_number > 1 THEN j.setup_seconds ELSE 0 END)::BIGINT) AS repeated_min
    FROM judged AS j
    GROUP BY j.jigging, j.quantity
),
spread AS (
    SELECT
        g.*,
        (rounded_quotient(k.setup_seconds * 100, 60 * k.setups * g.batch_size) * 0.01::DECIMAL(3,2))::DECIMAL(18,2) AS spread_setup_min,
        (rounded_quotient(k.build_seconds * 100, 60 * k.trusses) * 0.01::DECIMAL(3,2))::DECIMAL(18,2) AS average_build_min
    FROM grouped AS g
    JOIN by_jigging AS k ON k.jigging IS NOT DISTINCT FROM g.jigging
)
SELECT
    s.jigging::VARCHAR AS jigging,
    s.batch_size::BIGINT AS batch_size,
    s.setups::BIGINT AS setups,
    s.trusses::BIGINT AS trusses,
    s.setup_min::DECIMAL(18,2) AS setup_min,
    s.build_min::DECIMAL(18,2) AS build_min,
    (s.setup_min + s.build_min)::DECIMAL(18,2) AS labour_min,
    share_of(s.setup_min, s.setups)::DECIMAL(18,6) AS setup_each_min,
    share_of(s.setup_min, s.trusses)::DECIMAL(18,6) AS setup_per_truss_min,
    share_of(s.build_min, s.trusses)::DECIMAL(18,6) AS build_per_truss_min,
    share_of(s.setup_min + s.build_min, s.trusses)::DECIMAL(18,6) AS measured_min,
    s.spread_setup_min::DECIMAL(18,2) AS spread_setup_min,
    s.average_build_min::DECIMAL(18,2) AS average_build_min,
    (s.spread_setup_min + s.average_build_min)::DECIMAL(18,2) AS expected_min,
    s.repeated_setups::BIGINT AS repeated_setups,
    s.repeated_min::DECIMAL(18,2) AS repeated_min,
    CASE WHEN s.batch_size > 6 THEN 'above common practice' END::VARCHAR AS practice,
    concat(coalesce(s.jigging, 'jigging not said'), ', ', s.batch_size)::VARCHAR AS jigging_size
FROM spread AS s
ORDER BY s.jigging, s.batch_size;
