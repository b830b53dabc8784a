-- What reaches over the first renewed day: the earliest day that must be renewed with it.
-- NULL where the days before it stay as they are.
WITH new_completions AS (
    SELECT * FROM completions WHERE coalesce(finished_at::DATE, shift_date) >= since
),
-- What was taken out again may have held on to earlier days as well.
gone_completions AS (
    SELECT * FROM history.completions WHERE superseded_by IN (SELECT import_id FROM new_imports)
),
gone_usage AS (
    SELECT * FROM history.lumber_usage WHERE superseded_by IN (SELECT import_id FROM new_imports)
),
old_completions AS (
    SELECT * FROM completions WHERE coalesce(finished_at::DATE, shift_date) < since
),
new_usage AS (
    SELECT * FROM lumber_usage WHERE used_at::DATE >= since
),
old_usage AS (
    SELECT * FROM lumber_usage WHERE used_at::DATE < since
),
new_batches AS (
    SELECT DISTINCT job, batch FROM new_completions WHERE batch IS NOT NULL
    UNION SELECT DISTINCT job, batch FROM gone_completions WHERE batch IS NOT NULL
),
new_crews AS (
    SELECT crew FROM new_completions UNION SELECT crew FROM gone_completions
),
-- Items that get boards, and those of which more went out than had come.
filled AS (
    SELECT size, species, grade, length_16ths FROM receipts WHERE received_on >= since
    UNION SELECT size, species, grade, length_16ths FROM counts WHERE counted_on >= since
    UNION SELECT size, species, grade, length_16ths FROM history.receipts WHERE superseded_by IN (SELECT import_id FROM new_imports)
    UNION SELECT size, species, grade, length_16ths FROM history.counts WHERE superseded_by IN (SELECT import_id FROM new_imports)
    UNION SELECT size, species, grade, length_16ths FROM gone_usage WHERE boards < 0
    UNION SELECT size, species, grade, length_16ths FROM new_usage WHERE boards < 0
    UNION SELECT size, species, grade, length_16ths FROM steps.board_moves
    WHERE moved_on < since AND (EXISTS (SELECT 1 FROM counts WHERE counted_on >= since AND scope = 'full')
        OR EXISTS (SELECT 1 FROM history.counts WHERE scope = 'full' AND superseded_by IN (SELECT import_id FROM new_imports)))
),
short_items AS (
    SELECT m.size, m.species, m.grade, m.length_16ths, max(m.in_to) AS in_to
    FROM steps.board_moves AS m
    WHERE m.moved_on < since
    GROUP BY ALL
    HAVING max(m.out_to) > max(m.in_to)
),
-- Records that new rows correct, and those that these correct in turn.
corrected AS (
    SELECT corrects AS record FROM new_usage WHERE corrects IS NOT NULL
    UNION
    SELECT corrects FROM gone_usage WHERE corrects IS NOT NULL
    UNION
    SELECT o.corrects FROM lumber_usage AS o SEMI JOIN gone_usage AS n ON n.corrects = o.record WHERE o.corrects IS NOT NULL
    UNION
    SELECT o.corrects FROM lumber_usage AS o SEMI JOIN new_usage AS n ON n.corrects = o.record WHERE o.corrects IS NOT NULL
),
new_sawn AS (
    SELECT n.batch, n.job, n.truss FROM new_completions AS n JOIN stations AS s ON s.station = n.station AND s.kind = 'saw'
    UNION SELECT n.batch, n.job, n.truss FROM gone_completions AS n JOIN stations AS s ON s.station = n.station AND s.kind = 'saw'
),
-- Trusses at a table that count as cut there, or did not while the saw had them in its log.
old_built AS (
    SELECT r.batch, r.job, r.truss, r.finished_on
    FROM steps.run_rows AS r
    LEFT JOIN steps.cut_rows AS c USING (run_row_id)
    WHERE r.station_kind = 'table' AND r.finished_on < since AND (c.run_row_id IS NOT NULL OR EXISTS (SELECT 1 FROM gone_completions))
),
reaches AS (
    SELECT 'a punch' AS what, least(work_date, started_at::DATE, ended_at::DATE) AS day
    FROM timecards
    WHERE least(work_date, started_at::DATE, ended_at::DATE) < since AND greatest(work_date, started_at::DATE, ended_at::DATE) >= since
    UNION ALL
    SELECT 'a punch without a date', DATE '0001-01-01'
    FROM timecards
    WHERE coalesce(work_date, started_at::DATE) IS NULL
    UNION ALL
    -- A punch that the clock change leaves open looks a day to either side.
    SELECT 'a punch in the repeated hour', coalesce(work_date, started_at::DATE) - 3
    FROM timecards
    WHERE (started_at IS NOT NULL AND started_utc IS NULL OR ended_at IS NOT NULL AND ended_utc IS NULL)
        AND coalesce(work_date, started_at::DATE) BETWEEN since - 3 AND since + 3
    UNION ALL
    -- One end and a total of hours: the other end may be a day away.
    SELECT 'a punch with one end', coalesce(started_at, ended_at)::DATE - 1
    FROM timecards
    WHERE (started_at IS NULL) <> (ended_at IS NULL) AND hours IS NOT NULL AND coalesce(started_at, ended_at)::DATE BETWEEN since - 2 AND since + 1
    UNION ALL
    SELECT 'a run', least(shift_date, setup_started_at::DATE, build_started_at::DATE, finished_at::DATE)
    FROM completions
    WHERE least(shift_date, setup_started_at::DATE, build_started_at::DATE, finished_at::DATE) < since
        AND greatest(shift_date, setup_started_at::DATE, build_started_at::DATE, finished_at::DATE) >= since
    UNION ALL
    SELECT 'a completion without a date', DATE '0001-01-01'
    FROM completions
    WHERE coalesce(finished_at::DATE, shift_date) IS NULL
    UNION ALL
    -- A run that goes on without a start of its own was open all the time between.
    SELECT 'an open run', coalesce(o.finished_at::DATE, o.shift_date)
    FROM new_completions AS n
    JOIN old_completions AS o ON run_key_of(o.station, o.batch, o.job, o.truss, o.remake) = run_key_of(n.station, n.batch, n.job, n.truss, n.remake)
    WHERE n.setup_started_utc IS NULL AND n.build_started_utc IS NULL
    UNION ALL
    SELECT 'a stoppage', started_at::DATE
    FROM stoppages
    WHERE started_at::DATE < since AND ended_at::DATE >= since
    UNION ALL
    -- People who followed a crew before its first run are where that run will be.
    SELECT 'a crew before its first run', coalesce(t.work_date, t.started_at::DATE)
    FROM timecards AS t
    SEMI JOIN new_crews AS n ON n.crew = t.crew
    WHERE coalesce(t.work_date, t.started_at::DATE) < since
        AND t.crew NOT IN (SELECT p.crew FROM steps.run_phases AS p JOIN steps.run_rows AS r USING (run_row_id) WHERE r.finished_on < since)
    UNION ALL
    SELECT 'a back-dated wage', effective_on
    FROM wages
    WHERE effective_on < since AND paid_from >= since
    UNION ALL
    SELECT 'pay earned over weeks', least(earned_from, workweek_start)
    FROM other_pay
    WHERE least(earned_from, workweek_start) < since AND greatest(earned_until, workweek_start + 1) > since
    UNION ALL
    SELECT 'a credit', received_on
    FROM receipts
    WHERE received_on < since AND credited_on >= since
    UNION ALL
    SELECT 'boards issued before they came', m.moved_on
    FROM steps.board_moves AS m
    JOIN short_items AS s ON s.size = m.size AND s.species = m.species AND s.grade = m.grade AND s.length_16ths = m.length_16ths
    SEMI JOIN filled AS f ON f.size = m.size AND f.species = m.species AND f.grade = m.grade AND f.length_16ths = m.length_16ths
    WHERE m.moved_on < since AND m.queue_boards < 0 AND m.out_to > s.in_to
    UNION ALL
    SELECT 'a corrected row', o.used_at::DATE
    FROM old_usage AS o
    SEMI JOIN corrected AS c ON c.record = o.record
    UNION ALL
    SELECT 'a correction', o.used_at::DATE
    FROM old_usage AS o
    SEMI JOIN corrected AS c ON c.record = o.corrects
    UNION ALL
    SELECT 'a correction of what came later', o.used_at::DATE
    FROM old_usage AS o
    SEMI JOIN (SELECT record FROM new_usage UNION SELECT record FROM gone_usage) AS n ON n.record = o.corrects
    UNION ALL
    -- A return finds its issue through the batches of its job.
    SELECT 'a return', o.used_at::DATE
    FROM old_usage AS o
    JOIN new_batches AS n ON n.job = o.job
    WHERE o.boards < 0 AND EXISTS (SELECT 1 FROM old_usage AS i WHERE i.batch = n.batch AND i.job IS NULL AND i.boards > 0)
    UNION ALL
    SELECT 'boards of a batch', o.used_at::DATE
    FROM old_usage AS o
    SEMI JOIN new_batches AS n ON n.batch = o.batch
    WHERE o.job IS NULL AND o.reason <> 'shop'
    UNION ALL
    SELECT 'a batch cut', c.finished_on
    FROM old_built AS c
    SEMI JOIN new_sawn AS n ON n.batch = c.batch
    UNION ALL
    SELECT 'a mark cut', c.finished_on
    FROM old_built AS c
    SEMI JOIN new_sawn AS n ON n.job = c.job AND n.truss = c.truss
)
SELECT arg_min(what, day) AS what, min(least(day, since - 1)) AS day FROM reaches
