-- sheet:  front
-- title:  Front sheet
-- reader: everyone
-- grain:  one row per thing to know before reading on
-- param:  from DATE     first day
-- param:  until DATE    day after the last
-- param:  book VARCHAR  name of the book
-- column: topic      | Topic   | text  | - | balances that fail come first; less: what the plant doesn't record, and what stands in for it
-- column: item       | What    | text  | - | what it is about
-- column: detail     | Says    | text  | - | in words
-- column: rows       | Count   | count | - | how many, where that is meant
-- column: people_min | People  | min   | - | people-minutes that it touches, where known
-- column: amount_usd | Amount  | usd   | - | dollars that it touches, where known
-- emphasis: topic | word | DOES NOT BALANCE
-- note:   Figures follow the policies listed below; the files they come from are on the last sheets. A blank is never zero: it says that something is not known.
-- sort:   topic as listed, what
WITH period AS (
    SELECT $from::DATE AS from_day, $until::DATE AS until_day, $book::VARCHAR AS book
),
failed AS (
    SELECT 10 AS place, 'DOES NOT BALANCE' AS topic, c.purpose AS item,
        'the books are not to be relied on until this is settled; trusstally check names the rows' AS detail,
        c.wrong_rows AS rows, NULL::DECIMAL(14,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
    FROM check_results AS c
    WHERE c.severity = 'error' AND c.wrong_rows > 0
    UNION ALL
    SELECT 10, 'DOES NOT BALANCE', t.control, concat('against ', t.against, ', in ', t.unit), NULL, NULL,
        CASE WHEN t.unit = 'USD' THEN t.actual - t.expected END
    FROM tie_outs AS t
    WHERE t.actual IS DISTINCT FROM t.expected
),
balanced AS (
    SELECT 20, 'balances', 'every balance holds', concat((SELECT count(*) FROM tie_outs), ' tie-outs hold; of the checks ', (SELECT count(*) FROM check_results WHERE wrong_rows = 0), ' pass, ', (SELECT count(*) FROM check_results WHERE wrong_rows > 0), ' to look at: sheet checks'),
        NULL, NULL, NULL
    WHERE NOT EXISTS (SELECT 1 FROM failed)
),
shipped AS (
    SELECT
        p.*,
        CASE WHEN p.missing IS NULL THEN p.revenue_usd - p.cost_usd END AS margin_usd,
        CASE WHEN p.missing IS NULL
            THEN p.revenue_usd - p.cost_usd + CASE WHEN p.quote_basis = 'contribution' THEN p.overhead_usd ELSE 0 END - p.quoted_margin_usd
        END AS variance_usd
    FROM job_position($until::DATE) AS p, period
    WHERE p.left_on >= period.from_day AND p.left_on < period.until_day
),
whole AS (
    SELECT y.*
    FROM steps.yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
    CROSS JOIN period
    WHERE u.state = 'whole' AND u.cut_on >= period.from_day AND u.cut_on < period.until_day
),
minutes AS (
    SELECT
        sum(m.seconds) AS paid,
        sum(CASE WHEN m.use = 'waiting' THEN m.seconds ELSE 0 END) AS waiting,
        sum(CASE WHEN m.use = 'setup' THEN m.seconds ELSE 0 END) AS setup,
        sum(CASE WHEN m.use IN ('setup', 'build') THEN m.seconds ELSE 0 END) AS runs
    FROM minute_ledger AS m, period
    WHERE m.work_date >= period.from_day AND m.work_date < period.until_day
),
stock AS (
    SELECT b.size, b.species, b.grade, b.length_16ths, sum(b.boards) AS boards, sum(b.usd) AS usd
    FROM board_ledger AS b, period
    WHERE b.moved_on < period.until_day
    GROUP BY ALL
),
-- The month of the month-end book; in the general manager's, the last full one.
overhead AS (
    SELECT book, from_day, sum(actual_usd) AS actual, coalesce(sum(applied_usd), 0) AS applied
    FROM (
        SELECT book, from_day, o.actual_usd, o.applied_usd
        FROM period, overhead_pools($from::DATE, $until::DATE) AS o
        WHERE book = 'month-end' AND o.part = 'overhead'
        UNION ALL
        SELECT book, date_trunc('month', until_day - INTERVAL 1 MONTH)::DATE, o.actual_usd, o.applied_usd
        FROM period, overhead_pools(date_trunc('month', $until::DATE - INTERVAL 1 MONTH)::DATE, date_trunc('month', $until::DATE)::DATE) AS o
        WHERE book = 'job-margin' AND o.part = 'overhead' AND EXISTS (SELECT 1 FROM overheads WHERE month = date_trunc('month', $until::DATE - INTERVAL 1 MONTH))
            -- The time in pools of one or two people is their pay.
            AND (SELECT count(DISTINCT m.employee) FROM minute_ledger AS m WHERE m.use NOT IN ('setup', 'build') AND m.calendar_day >= date_trunc('month', $until::DATE - INTERVAL 1 MONTH) AND m.calendar_day < date_trunc('month', $until::DATE)) > 2
    )
    GROUP BY book, from_day
    HAVING sum(actual_usd) IS NOT NULL
),
findings AS (
    SELECT 39 AS place, 'finding' AS topic, 'overhead' AS item,
        concat(CASE WHEN o.book = 'job-margin' THEN concat('margins carry overhead at ', format('{:.2f}', s.overhead_per_hour_e4 / 10000.0), ' USD an hour; in ', strftime(o.from_day, '%Y-%m'), ': ') END,
            'overhead applied ', format('{:,.2f}', o.applied), ' of ', format('{:,.2f}', o.actual), ' actual: ', format('{:,.2f}', abs(o.actual - o.applied)),
            CASE WHEN o.actual >= o.applied THEN ' are on no job' ELSE ' more are on jobs than it cost' END) AS detail,
        NULL::BIGINT AS rows, NULL::DECIMAL(14,2) AS people_min, o.actual - o.applied AS amount_usd
    FROM overhead AS o
    CROSS JOIN settings AS s
    UNION ALL
    SELECT 30 AS place, 'finding' AS topic, 'margin' AS item,
        concat(count(*), ' jobs with a margin shipped; together they kept ', format('{:.1f}', 100.0 * sum(margin_usd) / nullif(sum(revenue_usd), 0)), ' % of their revenue') AS detail,
        count(*) AS rows, NULL::DECIMAL(14,2) AS people_min, sum(margin_usd) AS amount_usd
    FROM shipped
    WHERE margin_usd IS NOT NULL AND NOT closed_unshipped AND (SELECT book FROM period) = 'job-margin'
    HAVING count(*) > 0
    UNION ALL
    SELECT 31, 'finding', 'loss', concat('job ', job, ' was finished at a loss'), NULL, NULL, margin_usd
    FROM shipped
    WHERE margin_usd < 0 AND NOT closed_unshipped AND (SELECT book FROM period) = 'job-margin'
    UNION ALL
    SELECT 31, 'finding', 'closed', concat(job, ' was closed without shipping: ', trusses_built, ' of ', trusses_ordered, ' trusses built; what it earned less what it cost'), NULL, NULL, margin_usd
    FROM shipped
    WHERE closed_unshipped AND (SELECT book FROM period) = 'job-margin'
    UNION ALL
    (SELECT 32, 'finding', 'against quote', concat('job ', job, ' fell furthest below its quote'), NULL, NULL, variance_usd
    FROM shipped
    WHERE variance_usd < 0 AND NOT closed_unshipped AND (SELECT book FROM period) = 'job-margin'
    ORDER BY variance_usd, job
    LIMIT 1)
    UNION ALL
    SELECT 33, 'finding', 'waste', concat(format('{:.1f}', 100.0 * sum(issued - returned - parts) / nullif(sum(issued - returned), 0)), ' % of the board feet taken are not in finished parts'),
        -- Batch by batch, as waste and waste_by do.
        NULL, NULL, cents_to_usd(sum(CASE WHEN issued <> returned THEN rounded_quotient(lumber_cents::HUGEINT * (issued - returned - parts) * sign(issued - returned)::BIGINT, abs(issued - returned)) END)::BIGINT)
    FROM whole
    WHERE (SELECT book FROM period) = 'lumber-yield'
    HAVING sum(issued - returned) > 0
    UNION ALL
    SELECT 34, 'finding', 'offcut', concat(format('{:.0f}', 100.0 * sum(offcut) / nullif(sum(issued - returned - parts), 0)), ' % of that waste is offcut: stock lengths and cutting plans decide it'), NULL, NULL, NULL
    FROM whole
    WHERE (SELECT book FROM period) = 'lumber-yield'
    HAVING sum(issued - returned - parts) > 0
    UNION ALL
    SELECT 34, 'finding', 'stock lengths', concat('what other stock lengths would have saved the batches of the period, by plans within ', format('{:.2f}', 100.0 * (c.plan_e4 - c.bound_e4) / c.plan_e4), ' % of a proven bound: see cut_plan and stock_lengths'),
        NULL, NULL, cents_to_usd(rounded_quotient(c.cut_e4 - c.plan_e4, 100))
    FROM (
        SELECT
            (SELECT sum(plan_e4)::BIGINT FROM temp.cut_plans WHERE pool = 'batch') AS plan_e4,
            (SELECT sum(bound_e4)::BIGINT FROM temp.cut_plans WHERE pool = 'batch') AS bound_e4,
            (SELECT sum(t.cut_boards * p.board_e4)::BIGINT
             FROM (SELECT u.cut_on, b.* FROM steps.cut_boards AS b JOIN steps.yield_units AS u ON u.unit_kind = b.unit_kind AND u.unit = b.unit, period
                WHERE u.state = 'whole' AND u.cut_on >= period.from_day AND u.cut_on < period.until_day) AS t
             ASOF JOIN steps.length_prices AS p ON p.size = t.size AND p.species = t.species AND p.grade = t.grade AND p.length_16ths = t.length_16ths AND t.cut_on >= p.on_day) AS cut_e4
    ) AS c, period
    WHERE c.plan_e4 > 0 AND c.cut_e4 > c.plan_e4 AND period.book = 'lumber-yield'
    UNION ALL
    SELECT 29, 'finding', 'STOP AND ASK', concat('the truss designer about lumber below or beside the design in ', string_agg(DISTINCT s.trusses, '; ' ORDER BY s.trusses), CASE any_value(period.book) WHEN 'lumber-yield' THEN ': sheet grade_substitution' ELSE ': sheet grade_substitution of lumber-yield' END), count(*), NULL, NULL
    FROM steps.substitutions AS s, period
    WHERE s.verdict <> 'above' AND s.moved_on >= period.from_day AND s.moved_on < period.until_day AND period.book IN ('job-margin', 'lumber-yield')
    HAVING count(*) > 0
    UNION ALL
    SELECT 34, 'finding', 'grades', 'boards of a higher grade than specified: money given away', count(*), NULL,
        cents_to_usd(sum(rounded_quotient(s.wood::HUGEINT * (s.used_e4 - s.specified_e4), 147456::HUGEINT * 100000))::BIGINT)
    FROM steps.substitutions AS s, period
    WHERE s.verdict = 'above' AND s.moved_on >= period.from_day AND s.moved_on < period.until_day AND period.book = 'lumber-yield'
    HAVING count(*) > 0
    UNION ALL
    SELECT 35, 'finding', 'waiting', concat(format('{:.1f}', 100.0 * waiting / nullif(paid, 0)), ' % of paid minutes were direct people waiting with no run open'), NULL, seconds_to_min(waiting), NULL
    FROM minutes
    WHERE paid > 0 AND (SELECT book FROM period) = 'crews-shifts'
    UNION ALL
    SELECT 36, 'finding', 'set-up', concat(format('{:.1f}', 100.0 * setup / nullif(runs, 0)), ' % of the minutes on runs were recorded set-up; read pace with quality, inspections and injuries'), NULL, seconds_to_min(setup), NULL
    FROM minutes
    WHERE runs > 0 AND (SELECT book FROM period) = 'crews-shifts'
    UNION ALL
    SELECT 30, 'finding', 'crews', concat(c.name, ' took ', format('{:.1f}', 100 * abs(c.ratio - 1)::DOUBLE), CASE WHEN c.ratio > 1 THEN ' % more' ELSE ' % fewer' END,
            ' minutes than the others for the same mix of trusses (95 %: ', format('{:.1f}', 100 * (c.low_ratio - 1)::DOUBLE), ' to ', format('{:.1f}', 100 * (c.high_ratio - 1)::DOUBLE),
            ' %); as they stand, ', format('{:.1f}', c.raw_min::DOUBLE), ' against ', format('{:.1f}', c.other_raw_min::DOUBLE), ' minutes a truss compare nothing: see like_for_like'),
        NULL, NULL, NULL
    FROM temp.comparisons AS c
    WHERE c.scope = 'crew' AND c.verdict = 'different' AND (SELECT book FROM period) = 'crews-shifts'
    UNION ALL
    SELECT 30, 'finding', 'crews', 'no crew is shown to differ from the others, like for like: see like_for_like', count(*), NULL, NULL
    FROM temp.comparisons AS c
    WHERE c.scope = 'crew' AND (SELECT book FROM period) = 'crews-shifts'
    HAVING count(*) > 1 AND count(*) FILTER (WHERE c.verdict = 'different') = 0
    UNION ALL
    (SELECT 31, 'finding', concat('change ', c.code),
        CASE WHEN c.verdict = 'found'
            THEN concat(c.measure, ' takes ', format('{:.1f}', 100 * abs(c.effect_pct)::DOUBLE), CASE WHEN c.effect_pct < 0 THEN ' % less' ELSE ' % more' END, ' since (95 %: ', format('{:.1f}', 100 * c.low_pct::DOUBLE), ' to ', format('{:.1f}', 100 * c.high_pct::DOUBLE),
                ' %); the amount is a year''s worth', CASE WHEN c.payback_years IS NOT NULL THEN concat(', it pays back in ', format('{:.1f}', c.payback_years::DOUBLE), ' years') ELSE '' END, ': see change_study')
            ELSE concat(CASE c.verdict WHEN 'not shown' THEN 'no effect is shown' ELSE concat('nothing can be said of it: ', c.verdict) END, ': see change_study') END,
        NULL, CASE WHEN c.verdict = 'found' THEN c.year_min END, CASE WHEN c.verdict = 'found' THEN c.year_usd END
    FROM temp.change_studies AS c
    WHERE (SELECT book FROM period) = 'crews-shifts'
    -- Of a change's measures the one that shows most: set-up before build before both.
    QUALIFY row_number() OVER (PARTITION BY c.code ORDER BY c.verdict = 'found' DESC, c.place) = 1)
    UNION ALL
    SELECT 32, 'finding', t.measure, concat(t.signal, ' (', t.workweek, '): see trend'), NULL, NULL, NULL
    FROM temp.trend_points AS t, period
    WHERE t.signal IS NOT NULL AND t.mean IS NOT NULL AND t.workweek_start + 7 = period.until_day AND period.book = 'crews-shifts'
    UNION ALL
    SELECT 36, 'finding', 'inspections', concat(count(*) FILTER (WHERE w.inspected < w.required), ' of ', count(*), ' tables and shifts had fewer than three trusses inspected in a week (ANSI/TPI 1 chapter 3): see quality_and_safety'),
        count(*) FILTER (WHERE w.inspected < w.required), NULL, NULL
    FROM steps.inspection_weeks AS w, period
    WHERE w.workweek_start + 6 >= period.from_day AND w.workweek_start + 6 < period.until_day AND period.book = 'crews-shifts'
        AND EXISTS (SELECT 1 FROM imports WHERE feed = 'inspections' AND undone_utc IS NULL)
    HAVING count(*) FILTER (WHERE w.inspected < w.required) > 0
    UNION ALL
    SELECT 36, 'finding', 'first pass', concat(format('{:.1f}', 100.0 * (f.trusses - f.lost) / f.trusses), ' % of trusses were neither made again nor failed (', f.trusses - f.lost, ' of ', f.trusses, '); ',
        format('{:.1f}', 100.0 * (f.trusses_before - f.lost_before) / f.trusses_before), ' % in the thirteen weeks before (', f.trusses_before - f.lost_before, ' of ', f.trusses_before, '). Small numbers move by chance'),
        f.lost, NULL, NULL
    FROM (
        SELECT
            sum(CASE WHEN r.finished_on >= period.from_day THEN r.not_first_pass END) AS lost, sum(CASE WHEN r.finished_on >= period.from_day THEN r.trusses END) AS trusses,
            sum(CASE WHEN r.finished_on < period.from_day THEN r.not_first_pass END) AS lost_before, sum(CASE WHEN r.finished_on < period.from_day THEN r.trusses END) AS trusses_before
        FROM steps.first_pass AS r, period
        WHERE r.finished_on >= period.from_day - 91 AND r.finished_on < period.until_day AND period.book = 'crews-shifts'
    ) AS f
    WHERE f.lost * f.trusses_before > f.lost_before * f.trusses
    UNION ALL
    SELECT 37, 'finding', 'stock', 'landed cost of the boards on hand at the end', sum(boards), NULL, sum(usd)
    FROM stock
    WHERE (SELECT book FROM period) = 'month-end'
    HAVING count(*) > 0
    UNION ALL
    SELECT 38, 'finding', 'stock below 0', 'items of which more was issued than received', count(*), NULL, sum(usd)
    FROM stock
    WHERE boards < 0 AND (SELECT book FROM period) = 'month-end'
    HAVING count(*) > 0
),
missing AS (
    SELECT 40 AS place, 'missing' AS topic, 'jobs without a margin' AS item, string_agg(concat(job, ': ', missing), '. ' ORDER BY job) AS detail,
        count(*) AS rows, NULL::DECIMAL(14,2) AS people_min, sum(revenue_usd) AS amount_usd
    FROM shipped
    WHERE missing IS NOT NULL
    HAVING count(*) > 0
    UNION ALL
    SELECT 40, 'missing', concat('rows of ', r.feed, ' refused'), concat('in ', string_agg(DISTINCT r.file_name, ', ' ORDER BY r.file_name), '; mend the file in rejects/ and drop it into inbox/'),
        count(*), seconds_to_min(sum(r.touched_seconds)::BIGINT), sum(r.touched_usd)
    FROM steps.refused_rows AS r
    GROUP BY r.feed
    UNION ALL
    SELECT 40, 'missing', e.topic, concat(min_by(e.what, (e.on_day, e.code, e.what)), CASE WHEN count(*) > 1 THEN concat('; and ', count(*) - 1, ' more') END,
            CASE any_value(period.book) WHEN 'job-margin' THEN ': sheet exceptions' ELSE ': sheet exceptions of job-margin' END, ' for this period'),
        count(*), seconds_to_min(sum(e.seconds)::BIGINT), sum(e.usd)
    FROM exceptions AS e, period
    WHERE e.on_day >= period.from_day AND e.on_day < period.until_day AND e.code <> 'incomplete-job'
    GROUP BY e.place, e.topic
    UNION ALL
    SELECT 41, 'less', g.gap, g.effect, sum(g.rows)::BIGINT, seconds_to_min(sum(g.seconds)::BIGINT), sum(g.usd)
    FROM gaps AS g, period
    WHERE g.on_day IS NULL OR g.on_day >= period.from_day AND g.on_day < period.until_day
    GROUP BY g.code, g.gap, g.effect
),
reach AS (
    SELECT 50 AS place, 'data' AS topic, i.feed AS item, concat(coalesce('up to ' || max(i.last_on), 'no dates'), ', from ', count(*), CASE WHEN count(*) = 1 THEN ' file' ELSE ' files' END) AS detail, sum(i.accepted)::BIGINT AS rows, NULL::DECIMAL(14,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
    FROM imports AS i
    WHERE i.undone_utc IS NULL
    GROUP BY i.feed
),
policies AS (
    SELECT 60 AS place, 'policy' AS topic, p.item, p.detail, NULL::BIGINT AS rows, NULL::DECIMAL(14,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
    FROM settings AS s, (VALUES
        ('revenue', CASE s.revenue_rule WHEN 'over_time' THEN 'the price is earned by cost to date over expected cost, without a quote as the job leaves' ELSE 'the price is earned as the job leaves, by the design board feet of its loads' END || '; credits count on their date; a closed job counts its invoices'),
        ('lumber', 'landed cost with freight, ' || CASE s.costing WHEN 'average' THEN 'moving average' ELSE 'first in, first out' END),
        ('status', CASE WHEN (SELECT max(until_on) FROM closed_months) >= $until::DATE THEN 'CLOSED: these postings no longer change' ELSE 'DRAFT: the period is open' END),
        ('boards used', CASE s.lumber_usage WHEN 'backflush' THEN 'by backflush: design board feet / (1 - ' || format('{:g}', s.quoted_waste_pct * 100) || ' % quoted waste), trued to counts as one difference of the plant' ELSE 'as logged' END),
        ('board feet', 'nominal: thickness x width in inches x length in feet / 12'),
        ('time zone', s.timezone),
        ('workweek', 'starts ' || s.workweek_starts || '; a shift belongs to the day on which it begins'),
        ('overtime', 'past ' || s.weekly_threshold_seconds // 3600 || ' hours a workweek (29 CFR 778)' || CASE WHEN s.daily_threshold_seconds > 0 THEN ', past ' || format('{:g}', s.daily_threshold_seconds / 3600.0) || ' a day' ELSE '' END || CASE WHEN s.double_daily_threshold_seconds > 0 THEN ', double past ' || format('{:g}', s.double_daily_threshold_seconds / 3600.0) ELSE '' END || CASE WHEN s.seventh_day_premium THEN ', the seventh day in a row' ELSE '' END || ', premium ' || CASE s.overtime_premium WHEN 'job' THEN 'on the jobs of that week' ELSE 'in its pool' END || ', rate rounding ' || s.rate_rounding),
        ('punches', CASE WHEN s.punch_rounding_seconds > 0 THEN 'paid to the nearest ' || s.punch_rounding_seconds // 60 || ' minutes' ELSE 'paid to the second' END || '; longer than ' || format('{:g}', s.longest_punch_seconds / 3600.0) || ' hours is odd and counts 0'),
        ('burden', format('{:.2f}', s.burden_pct_e6 / 10000.0) || ' % of straight pay of run time and ' || format('{:.2f}', s.burden_per_hour_e4 / 10000.0) || ' USD an hour; agency labour bears none'),
        ('overhead', format('{:.2f}', s.overhead_per_hour_e4 / 10000.0) || ' USD for each labour hour'),
        ('plates', CASE s.plates_source WHEN 'standard' THEN 'standard cost of good trusses, and plate costs of the job' ELSE 'plate costs of the job' END),
        ('saw', 'kerf ' || s.kerf_64ths || '/64 in, end trim ' || s.end_trim_64ths || '/64 in')
    ) AS p(item, detail)
),
everything AS (
    SELECT * FROM failed
    UNION ALL SELECT * FROM balanced
    UNION ALL SELECT * FROM findings
    UNION ALL SELECT * FROM missing
    UNION ALL SELECT * FROM reach
    UNION ALL SELECT * FROM policies
)
SELECT
    e.topic::VARCHAR AS topic,
    e.item::VARCHAR AS item,
    e.detail::VARCHAR AS detail,
    e.rows::BIGINT AS rows,
    e.people_min::DECIMAL(14,2) AS people_min,
    e.amount_usd::DECIMAL(14,2) AS amount_usd
FROM everything AS e
ORDER BY e.place, e.item, e.detail;
