-- sheet:  minutes_accounted
-- title:  Where the paid minutes went
-- reader: owner
-- grain:  one row per crew and shift, by the date on which the shift began; crews of fewer than three people together, by shift
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: crew       | Crew            | text  | -   | crew on the punch; blank for people of no crew; fewer than three people: those of several crews, or of none, that no row may single out
-- column: shift      | Shift           | text  | -   | shift on the punch
-- column: people     | People          | count | -   | different people
-- column: paid_min   | Paid            | min   | sum | all paid minutes: the six uses after it
-- column: setup_min  | Set-up          | min   | sum | on runs being set up
-- column: build_min  | Build           | min   | sum | on runs being built or cut
-- column: stoppage_min | Stoppage      | min   | sum | station stopped, whatever runs were open
-- column: waiting_min | Waiting        | min   | sum | direct people at a station with no run open
-- column: indirect_min | Indirect      | min   | sum | people whose role or station is indirect
-- column: not_worked_min | Paid, not worked | min | sum | holiday and leave
-- column: waiting_pct | Waiting        | pct   | waiting_min / paid_min | share of paid minutes
-- column: remake_min | Of it remakes   | min   | sum | set-up and build minutes spent on making trusses again
-- column: stopped_for | Stopped for    | text  | -   | people-minutes of stoppage by reason, the longest first
-- column: rounding_min | Punch rounding | min  | sum | what rounding the punches adds to the clocked time: near 0 where it averages out (29 CFR 785.48(b)); in paid
-- column: allotted_min | Of it allotted | min  | sum | set-up and build minutes that no clock and no log places, shared over the crew's runs
-- column: basis      | Known by        | text  | -   | how the uses of the paid minutes are known; hours only: neither a clock nor a run says what they went on
-- column: crew_shift | Crew and shift  | text  | -   | crew and shift in one, for the chart
-- chart:  bar stacked | Where the paid minutes went | crew_shift | setup_min, build_min, stoppage_min, waiting_min, indirect_min, not_worked_min | people-minutes | Stacked bars of each crew's paid minutes by use, in the order of the rows
-- note:   No pace: minutes say nothing of how many trusses, of what kind or how well they were built, and rank nobody.
-- note:   Set-up here is all stations' by date, saws and parts of runs too; labour_per_truss has whole runs at the tables, in the period in which they finish.
-- note:   Every paid second is used exactly once; unpaid lunch comes off evenly over the punch.
-- sort:   crew, shift
WITH sizes AS (
    SELECT m.crew, m.shift, count(DISTINCT m.employee) < 3 AS is_small
    FROM minute_ledger AS m
    WHERE m.work_date >= $from::DATE AND m.work_date < $until::DATE
    GROUP BY m.crew, m.shift
),
minutes AS (
    SELECT m.* REPLACE (CASE WHEN s.is_small THEN 'fewer than three people' ELSE m.crew END AS crew)
    FROM minute_ledger AS m
    JOIN sizes AS s ON s.crew IS NOT DISTINCT FROM m.crew AND s.shift IS NOT DISTINCT FROM m.shift
    WHERE m.work_date >= $from::DATE AND m.work_date < $until::DATE
),
summed AS (
    SELECT
        m.crew, m.shift, count(DISTINCT m.employee) AS people,
        sum(m.seconds)::BIGINT AS paid,
        sum(CASE WHEN m.use = 'setup' THEN m.seconds ELSE 0 END)::BIGINT AS setup,
        sum(CASE WHEN m.use = 'build' THEN m.seconds ELSE 0 END)::BIGINT AS build,
        sum(CASE WHEN m.use = 'stoppage' THEN m.seconds ELSE 0 END)::BIGINT AS stoppage,
        sum(CASE WHEN m.use = 'waiting' THEN m.seconds ELSE 0 END)::BIGINT AS waiting,
        sum(CASE WHEN m.use = 'indirect' THEN m.seconds ELSE 0 END)::BIGINT AS indirect,
        sum(CASE WHEN m.use = 'paid_not_worked' THEN m.seconds ELSE 0 END)::BIGINT AS not_worked,
        sum(CASE WHEN m.remake IS NOT NULL THEN m.seconds ELSE 0 END)::BIGINT AS remake,
        sum(CASE WHEN m.basis LIKE 'allotted%' THEN m.seconds ELSE 0 END)::BIGINT AS allotted,
        string_agg(DISTINCT m.basis, ', ' ORDER BY m.basis) FILTER (WHERE m.use <> 'paid_not_worked') AS basis
    FROM minutes AS m
    GROUP BY m.crew, m.shift
),
reasons AS (
    SELECT m.crew, m.shift, m.reason, sum(m.seconds)::BIGINT AS seconds
    FROM minutes AS m
    WHERE m.use = 'stoppage'
    GROUP BY m.crew, m.shift, m.reason
),
listed AS (
    SELECT crew, shift, string_agg(concat(reason, ' ', format('{:.1f}', seconds / 60.0)), ', ' ORDER BY seconds DESC, reason) AS stopped_for
    FROM reasons
    GROUP BY crew, shift
),
rounded AS (
    SELECT CASE WHEN s.is_small THEN 'fewer than three people' ELSE p.crew END AS crew, p.shift, sum(p.seconds)::BIGINT AS seconds
    FROM steps.punch_rounding AS p
    LEFT JOIN sizes AS s ON s.crew IS NOT DISTINCT FROM p.crew AND s.shift IS NOT DISTINCT FROM p.shift
    WHERE p.shift_date >= $from::DATE AND p.shift_date < $until::DATE
    GROUP BY ALL
)
SELECT
    s.crew::VARCHAR AS crew,
    s.shift::VARCHAR AS shift,
    s.people::BIGINT AS people,
    seconds_to_min(s.paid)::DECIMAL(18,2) AS paid_min,
    seconds_to_min(s.setup)::DECIMAL(18,2) AS setup_min,
    seconds_to_min(s.build)::DECIMAL(18,2) AS build_min,
    seconds_to_min(s.stoppage)::DECIMAL(18,2) AS stoppage_min,
    seconds_to_min(s.waiting)::DECIMAL(18,2) AS waiting_min,
    seconds_to_min(s.indirect)::DECIMAL(18,2) AS indirect_min,
    seconds_to_min(s.not_worked)::DECIMAL(18,2) AS not_worked_min,
    share_of(seconds_to_min(s.waiting), seconds_to_min(s.paid))::DECIMAL(18,6) AS waiting_pct,
    seconds_to_min(s.remake)::DECIMAL(18,2) AS remake_min,
    l.stopped_for::VARCHAR AS stopped_for,
    seconds_to_min(coalesce(r.seconds, 0))::DECIMAL(18,2) AS rounding_min,
    seconds_to_min(s.allotted)::DECIMAL(18,2) AS allotted_min,
    s.basis::VARCHAR AS basis,
    concat_ws(' ', coalesce(s.crew, 'no crew'), s.shift)::VARCHAR AS crew_shift
FROM summed AS s
LEFT JOIN listed AS l ON l.crew IS NOT DISTINCT FROM s.crew AND l.shift IS NOT DISTINCT FROM s.shift
LEFT JOIN rounded AS r ON r.crew IS NOT DISTINCT FROM s.crew AND r.shift IS NOT DISTINCT FROM s.shift
ORDER BY s.crew NULLS LAST, s.shift NULLS LAST;
