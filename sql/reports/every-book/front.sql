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
-- column: sheet_row  | Look at | text  | - | sheet of this book, and what stands in the row, that it is read from; it leads there
-- link:   sheet_row | named
-- emphasis: topic | word | DOES NOT BALANCE
-- note:   Figures follow the policies listed below; the files they come from are on the last sheets. A blank is never zero: it says that something is not known.
-- sort:   topic as listed, what
WITH period AS (
    SELECT $from::DATE AS from_day, $until::DATE AS until_day, $book::VARCHAR AS book
),
failed AS (
    SELECT 10 AS place, 'DOES NOT BALANCE' AS topic, c.purpose AS item,
        'the books are not to be relied on until this is settled; trusstally check names the rows' AS detail, concat('checks: ', c.purpose) AS sheet_row,
        c.wrong_rows AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
    FROM check_results AS c
    WHERE c.severity = 'error' AND c.wrong_rows > 0
    UNION ALL
    SELECT 10, 'DOES NOT BALANCE', t.control, concat('against ', t.against, ', in ', t.unit), concat('checks: ', t.control), NULL, NULL,
        CASE WHEN t.unit = 'USD' THEN t.actual - t.expected END
    FROM tie_outs AS t
    WHERE t.actual IS DISTINCT FROM t.expected
),
balanced AS (
    SELECT 20, 'balances', 'every balance holds', concat((SELECT count(*) FROM tie_outs), ' tie-outs hold; of the checks ', (SELECT count(*) FROM check_results WHERE wrong_rows = 0), ' pass, ', (SELECT count(*) FROM check_results WHERE wrong_rows > 0), ' to look at'), 'checks',
        NULL, NULL, NULL
    WHERE NOT EXISTS (SELECT 1 FROM failed)
),
-- The first five findings in the book's own order lead, beside cautions; what is left is also said.
told AS (
    SELECT f.*, CASE WHEN f.place < 30 THEN 0 ELSE row_number() OVER (PARTITION BY f.place < 30 ORDER BY f.place, f.item, f.detail) END AS number
    FROM temp.book_findings AS f
    WHERE f.book = $book::VARCHAR AND f.from_day = $from::DATE AND f.until_day = $until::DATE
),
findings AS (
    SELECT CASE WHEN t.number > 5 THEN 39 ELSE t.place END AS place, CASE WHEN t.number > 5 THEN 'also' ELSE 'finding' END AS topic, t.item, t.detail, t.sheet_row, t.rows, t.people_min, t.amount_usd
    FROM told AS t
    UNION ALL
    SELECT 30, 'finding', 'nothing', CASE period.book
        WHEN 'job-margin' THEN 'no job shipped or was closed in the period'
        WHEN 'lumber-yield' THEN 'no batch of the period has a yield to weigh'
        WHEN 'crews-shifts' THEN 'no minute was paid in the period'
        ELSE 'nothing was sold in the period, and nothing stands in stock' END, NULL, NULL, NULL, NULL
    FROM period
    WHERE NOT EXISTS (SELECT 1 FROM told WHERE place >= 30)
),
unmeasured AS (
    SELECT p.job, p.missing, p.revenue_usd
    FROM job_position($until::DATE) AS p, period
    WHERE p.left_on >= period.from_day AND p.left_on < period.until_day AND p.missing IS NOT NULL
),
missing AS (
    SELECT 40 AS place, 'missing' AS topic, 'jobs without a margin' AS item,
        concat(string_agg(concat(u.missing, ': ', u.jobs), '. ' ORDER BY u.place) FILTER (WHERE u.place <= 5), CASE WHEN count(*) > 5 THEN concat('. And ', count(*) - 5, ' other reasons') END) AS detail,
        CASE any_value(period.book) WHEN 'job-margin' THEN row_of('margin_by_job', min(u.first_job)) END AS sheet_row,
        sum(u.number)::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, sum(u.revenue_usd) AS amount_usd
    FROM (
        SELECT missing, count(*) AS number, sum(revenue_usd) AS revenue_usd, min(job) AS first_job, row_number() OVER (ORDER BY count(*) DESC, missing) AS place,
            concat(array_to_string(list(job ORDER BY job)[:5], ', '), CASE WHEN count(*) > 5 THEN concat(' and ', count(*) - 5, ' more') END) AS jobs
        FROM unmeasured
        GROUP BY missing
    ) AS u
    CROSS JOIN period
    HAVING count(*) > 0
    UNION ALL
    SELECT 40, 'missing', concat('rows of ', r.feed, ' refused'), concat('in ', string_agg(DISTINCT r.file_name, ', ' ORDER BY r.file_name), '; mend the file in rejects/ and drop it into inbox/'), 'files',
        count(*), seconds_to_min(sum(r.touched_seconds)::BIGINT), sum(r.touched_usd)
    FROM steps.refused_rows AS r
    GROUP BY r.feed
    UNION ALL
    SELECT 40, 'missing', e.topic, concat(min_by(e.what, (e.on_day, e.code, e.what)), CASE WHEN count(*) > 1 THEN concat('; and ', count(*) - 1, ' more') END,
            CASE any_value(period.book) WHEN 'job-margin' THEN '' ELSE ' (sheet exceptions of job-margin, for this period)' END),
        CASE any_value(period.book) WHEN 'job-margin' THEN row_of('exceptions', e.topic) END,
        count(*), seconds_to_min(sum(e.seconds)::BIGINT), sum(e.usd)
    FROM exceptions AS e, period
    WHERE e.on_day >= period.from_day AND e.on_day < period.until_day AND e.code <> 'incomplete-job'
    GROUP BY e.place, e.topic
    UNION ALL
    SELECT 41, 'less', g.gap, g.effect, NULL, sum(g.rows)::BIGINT, seconds_to_min(sum(g.seconds)::BIGINT), sum(g.usd)
    FROM gaps AS g, period
    WHERE g.on_day IS NULL OR g.on_day >= period.from_day AND g.on_day < period.until_day
    GROUP BY g.code, g.gap, g.effect
),
reach AS (
    SELECT 50 AS place, 'data' AS topic, i.feed AS item, concat(coalesce('up to ' || max(i.last_on), 'no dates'), ', from ', count(*), CASE WHEN count(*) = 1 THEN ' file' ELSE ' files' END) AS detail, 'files' AS sheet_row, sum(i.accepted)::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
    FROM imports AS i
    WHERE i.undone_utc IS NULL
    GROUP BY i.feed
),
policies AS (
    SELECT 60 AS place, 'policy' AS topic, p.item, p.detail, NULL::VARCHAR AS sheet_row, NULL::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
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
    e.people_min::DECIMAL(18,2) AS people_min,
    e.amount_usd::DECIMAL(18,2) AS amount_usd,
    e.sheet_row::VARCHAR AS sheet_row
FROM everything AS e
ORDER BY e.place, e.item, e.detail;
