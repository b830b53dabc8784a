-- sheet:  plants
-- title:  Plants
-- reader: everyone
-- grain:  one row per plant of the group, those left out too
-- column: plant          | Plant          | text  | -   | name in its plant.toml; of a plant whose plant.toml can't be read its folder
-- column: state          | State          | text  | -   | in; LEFT OUT: the plant is in no figure of this book; DOES NOT BALANCE: its figures are not to be relied on; NOTHING LOGGED: neither a minute, a truss nor a board in the period
-- column: says           | Says           | text  | -   | why a plant is left out, or which controls fail
-- column: jobs           | Jobs shipped   | count | sum | jobs that shipped, incomplete ones too (margin_summary)
-- column: incomplete     | Incomplete     | count | sum | of them without a margin
-- column: at_stake_usd   | No margin yet  | usd   | sum | revenue of the incomplete jobs
-- column: revenue_usd    | Revenue        | usd   | sum | of the jobs that have a margin, those closed without shipping too
-- column: cost_usd       | Cost           | usd   | sum | of those jobs: lumber, plates, other material, labour, delivery and other, overhead
-- column: margin_usd     | Margin         | usd   | revenue_usd - cost_usd | of those jobs
-- column: margin_pct     | Margin         | pct   | margin_usd / revenue_usd | share of revenue
-- column: net_bf         | Net issue      | bf    | sum | boards issued less returned, of batches whose cutting ended in the period (waste_by, by week)
-- column: waste_bf       | Waste          | bf    | sum | net issue less finished parts
-- column: waste_pct      | Waste          | pct   | waste_bf / net_bf | share of net issue
-- column: waste_usd      | Waste          | usd   | sum | its share of the lumber's landed cost
-- column: paid_min       | Paid           | min   | sum | all paid minutes (minutes_accounted)
-- column: waiting_min    | Waiting        | min   | sum | direct people at a station with no run open
-- column: waiting_pct    | Waiting        | pct   | waiting_min / paid_min | share of paid minutes
-- column: trusses        | Trusses        | count | sum | good trusses, first-time work (labour_per_truss)
-- column: finished_bf    | Finished parts | bf    | sum | nominal board feet in these trusses, where known
-- column: labour_min     | Labour         | min   | sum | set-up and build of these trusses
-- column: labour_min_per_truss | Labour   | min   | labour_min / trusses | never without the seven columns after it; plants build different trusses
-- column: passed         | Right first time | count | sum | trusses neither made again nor failed at inspection (quality_and_safety)
-- column: completed      | Completed      | count | sum | trusses completed first time, which the one before it is of
-- column: first_pass_pct | Right first time | pct | passed / completed | share of trusses completed first time
-- column: inspected      | Inspected      | count | sum | trusses inspected that count towards the three of each table, shift and week that ran; blank where no inspections were read
-- column: to_inspect     | To inspect     | count | sum | those three; blank where no inspections were read
-- column: inspected_pct  | Inspected      | pct   | inspected / to_inspect | share of them; whole weeks, in the period in which they end
-- column: cases          | Recordable cases | count | sum | in the twelve months to the period's end, or what timecards hold of them; blank where no incidents were read
-- column: worked_hours   | Worked         | hours | sum | hours worked in those months, where incidents were read
-- column: case_rate      | Case rate      | number | -  | cases per 200,000 hours worked; chance alone moves it far: quality_and_safety has its interval
-- column: failing        | Controls that fail | count | sum | of the sheet checks: balances that don't balance
-- column: looks          | To look at     | count | sum | rows that a person should look at (checks)
-- column: unrecorded     | Not recorded   | count | sum | rows of what the plant doesn't record, for which something stands in (checks)
-- chart:  bar | Revenue and cost by plant, in order of name | plant | revenue_usd, cost_usd | USD | Bars of each plant's revenue beside its cost, of the jobs that have a margin, in the order of the plants' names
-- emphasis: state | word | LEFT OUT
-- emphasis: state | word | DOES NOT BALANCE
-- emphasis: state | word | NOTHING LOGGED
-- emphasis: margin_usd | negative
-- note:   Every figure is a cell of the plant's own book for the same week, or a sum of cells of one column: the sheet that it is read from is named on the sheet definitions. The totals are those of the plants that are in.
-- note:   In order of name: no order of merit. Plants build different trusses with different people, prices and policies; pace is read with right first time, inspections and incidents, and injuries rank nobody.
-- note:   Month end is not in a group's books: it holds pay. A blank is never zero: it says that something is not known.
-- sort:   plant
WITH margins AS (
    SELECT
        s.plant, s.jobs, s.incomplete, s.at_stake_usd, s.revenue_usd, s.margin_usd, s.margin_pct,
        s.lumber_usd + s.plates_usd + s.other_material_usd + s.labour_usd + s.delivery_other_usd + s.overhead_usd AS cost_usd
    FROM temp.margin_summary AS s
    WHERE s.stretch = 'this period'
),
yields AS (
    SELECT w.plant, sum(w.net_bf) AS net_bf, sum(w.waste_bf) AS waste_bf, sum(w.waste_usd) AS waste_usd
    FROM temp.waste_by AS w
    WHERE w.seen_by = 'week'
    GROUP BY w.plant
),
minutes AS (
    SELECT m.plant, sum(m.paid_min) AS paid_min, sum(m.waiting_min) AS waiting_min
    FROM temp.minutes_accounted AS m
    GROUP BY m.plant
),
labour AS (
    SELECT l.plant, sum(l.trusses)::BIGINT AS trusses, sum(l.finished_bf) AS finished_bf, sum(l.labour_min) AS labour_min
    FROM temp.labour_per_truss AS l
    GROUP BY l.plant
),
quality AS (
    SELECT
        q.plant,
        max(CASE WHEN q.measure = 'first pass' THEN q.counted END) AS passed,
        max(CASE WHEN q.measure = 'first pass' THEN q.out_of END) AS completed,
        max(CASE WHEN q.measure = 'inspections' THEN q.counted END) AS inspected,
        max(CASE WHEN q.measure = 'inspections' AND q.counted IS NOT NULL THEN q.out_of END) AS to_inspect,
        max(CASE WHEN q.measure = 'incidents' THEN q.counted END) AS cases,
        max(CASE WHEN q.measure = 'incidents' AND q.counted IS NOT NULL THEN q.out_of END) AS worked_hours,
        max(CASE WHEN q.measure = 'incidents' THEN q.rate END) AS case_rate
    FROM temp.quality_and_safety AS q
    WHERE q.of_what = 'plant'
    GROUP BY q.plant
),
controls AS (
    SELECT
        c.plant, count(*) FILTER (WHERE c.result = 'FAIL') AS failing,
        coalesce(sum(CASE WHEN c.result = 'LOOK' THEN c.actual END), 0) AS looks,
        coalesce(sum(CASE WHEN c.result = 'LESS' THEN c.actual END), 0) AS unrecorded,
        string_agg(c.control, '; ' ORDER BY c.control) FILTER (WHERE c.result = 'FAIL') AS fails
    FROM temp.checks AS c
    GROUP BY c.plant
)
SELECT
    p.plant::VARCHAR AS plant,
    CASE
        WHEN p.left_out IS NOT NULL THEN 'LEFT OUT'
        WHEN c.failing > 0 THEN 'DOES NOT BALANCE'
        WHEN m.plant IS NULL AND y.plant IS NULL AND coalesce(l.trusses, 0) = 0 THEN 'NOTHING LOGGED'
        ELSE 'in'
    END::VARCHAR AS state,
    coalesce(p.left_out, c.fails)::VARCHAR AS says,
    g.jobs::BIGINT AS jobs,
    g.incomplete::BIGINT AS incomplete,
    g.at_stake_usd::DECIMAL(18,2) AS at_stake_usd,
    g.revenue_usd::DECIMAL(18,2) AS revenue_usd,
    g.cost_usd::DECIMAL(18,2) AS cost_usd,
    g.margin_usd::DECIMAL(18,2) AS margin_usd,
    g.margin_pct::DECIMAL(18,6) AS margin_pct,
    y.net_bf::DECIMAL(18,4) AS net_bf,
    y.waste_bf::DECIMAL(18,4) AS waste_bf,
    share_of_positive(y.waste_bf, y.net_bf)::DECIMAL(18,6) AS waste_pct,
    y.waste_usd::DECIMAL(18,2) AS waste_usd,
    m.paid_min::DECIMAL(18,2) AS paid_min,
    m.waiting_min::DECIMAL(18,2) AS waiting_min,
    share_of(m.waiting_min, m.paid_min)::DECIMAL(18,6) AS waiting_pct,
    l.trusses::BIGINT AS trusses,
    l.finished_bf::DECIMAL(18,4) AS finished_bf,
    l.labour_min::DECIMAL(18,2) AS labour_min,
    share_of(l.labour_min, l.trusses)::DECIMAL(18,6) AS labour_min_per_truss,
    q.passed::BIGINT AS passed,
    q.completed::BIGINT AS completed,
    share_of(q.passed, q.completed)::DECIMAL(18,6) AS first_pass_pct,
    q.inspected::BIGINT AS inspected,
    q.to_inspect::BIGINT AS to_inspect,
    share_of(q.inspected, q.to_inspect)::DECIMAL(18,6) AS inspected_pct,
    q.cases::BIGINT AS cases,
    q.worked_hours::DECIMAL(18,2) AS worked_hours,
    q.case_rate::DECIMAL(18,6) AS case_rate,
    c.failing::BIGINT AS failing,
    c.looks::BIGINT AS looks,
    c.unrecorded::BIGINT AS unrecorded
FROM temp.group_plants AS p
LEFT JOIN margins AS g ON g.plant = p.plant
LEFT JOIN yields AS y ON y.plant = p.plant
LEFT JOIN minutes AS m ON m.plant = p.plant
LEFT JOIN labour AS l ON l.plant = p.plant
LEFT JOIN quality AS q ON q.plant = p.plant
LEFT JOIN controls AS c ON c.plant = p.plant
ORDER BY p.plant;
