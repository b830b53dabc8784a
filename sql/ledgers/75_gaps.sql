-- What the plant's records leave out, what stands in for it, and what stays blank. No gap is
-- a fault: every figure that one touches is labelled where it stands.

-- grain: one gap, what comes of it, and day (NULL: of no day)
CREATE OR REPLACE TABLE gaps AS
WITH spent AS (
    SELECT p.kind, p.shift_date, m.basis, m.seconds, m.run_row_id, m.import_id, m.import_line
    FROM steps.minute_rows AS m
    JOIN steps.punches AS p USING (punch_id)
    WHERE m.use <> 'paid_not_worked'
),
-- Lumber that a job carries at a price that is not its own.
slips AS (
    SELECT m.moved_on, m.priced_e4 IS NOT NULL AS stands_in, c.cents, m.import_id, m.import_line
    FROM steps.board_moves AS m
    JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    WHERE m.kind = 'receipt' AND m.usd_per_mbf IS NULL
),
unit_lumber AS (
    SELECT unit_kind, unit, sum(lumber_cents)::BIGINT AS cents
    FROM steps.yields
    GROUP BY unit_kind, unit
),
found AS (
    SELECT
        'no-timecards' AS code, 'no timecards' AS gap, 'labour of jobs, crews and shifts stays blank, and every job that was cut or built is incomplete' AS effect,
        NULL::DATE AS on_day, count(*) AS rows, NULL::BIGINT AS seconds, NULL::BIGINT AS cents, NULL::BIGINT AS import_id, NULL::BIGINT AS line
    FROM completions
    HAVING count(*) > 0 AND NOT EXISTS (SELECT 1 FROM timecards)
    UNION ALL
    SELECT 'no-usage', 'no boards logged', 'lumber of jobs, yield and waste stay blank, and every job that was cut or built is incomplete; [lumber] usage = "backflush" takes boards by design',
        NULL, count(*), NULL, NULL, NULL, NULL
    FROM steps.cut_rows
    HAVING count(*) > 0 AND NOT EXISTS (SELECT 1 FROM lumber_usage) AND (SELECT lumber_usage FROM settings) = 'logged'
    UNION ALL
    SELECT 'no-completions', 'nothing logged as finished', 'all worked time waits or is indirect: labour of jobs, labour a truss and yield stay blank', NULL, count(*), NULL, NULL, NULL, NULL
    FROM timecards
    HAVING count(*) > 0 AND NOT EXISTS (SELECT 1 FROM completions)
    UNION ALL
    SELECT
        'hours-only', 'timecards without clock times',
        CASE WHEN s.run_row_id IS NOT NULL THEN concat('their hours are ', s.basis, ' over the runs of their crew; waiting and stoppages are not told apart')
             ELSE 'no run of their crew or station that day, or indirect people: their hours are waiting or indirect' END,
        s.shift_date, count(DISTINCT (s.import_id, s.import_line)), sum(s.seconds)::BIGINT, NULL, min(s.import_id), arg_min(s.import_line, (s.import_id, s.import_line))
    FROM spent AS s
    WHERE s.kind = 'hours only'
    GROUP BY ALL
    UNION ALL
    SELECT
        'runs-without-times', 'runs without usable times',
        coalesce(concat('their crew''s time without a place is ', s.basis, '; set-up stays blank'), 'nobody''s time is known to be theirs: no minutes, and the job is incomplete'),
        r.shift_date, count(DISTINCT r.run_row_id), sum(s.seconds)::BIGINT, NULL, min(r.import_id), arg_min(r.import_line, (r.import_id, r.import_line))
    FROM steps.run_rows AS r
    LEFT JOIN (SELECT run_row_id, basis, sum(seconds) AS seconds FROM spent GROUP BY run_row_id, basis) AS s ON s.run_row_id = r.run_row_id
    WHERE r.is_untimed
    GROUP BY ALL
    UNION ALL
    SELECT
        'runs-without-start', 'runs without a start', concat('counted from the ', r.start_basis, '; set-up stays blank'),
        r.shift_date, count(DISTINCT r.run_row_id), sum(s.seconds)::BIGINT, NULL, min(r.import_id), arg_min(r.import_line, (r.import_id, r.import_line))
    FROM steps.run_rows AS r
    LEFT JOIN (SELECT run_row_id, sum(seconds) AS seconds FROM spent GROUP BY run_row_id) AS s ON s.run_row_id = r.run_row_id
    WHERE r.start_basis IN ('previous finish', 'first punch')
    GROUP BY ALL
    UNION ALL
    SELECT
        'no-cut-list', 'batches with trusses without a cut list',
        CASE y.state WHEN 'no cut list' THEN 'design_bf is blank too: no yield, and nothing proves that the job has all its boards'
             ELSE 'yield and waste in all, by design_bf; by size, species and grade, kerf, trim and offcut stay blank, and there is no cutting plan' END,
        coalesce(y.cut_on, y.used_on), count(*), NULL, sum(u.cents)::BIGINT, NULL, NULL
    FROM steps.yield_units AS y
    LEFT JOIN unit_lumber AS u USING (unit_kind, unit)
    WHERE y.state IN ('no cut list', 'design board feet')
    GROUP BY ALL
    UNION ALL
    SELECT
        'shared-by-design', 'boards without a job, for trusses without a cut list', 'shared over the jobs cut by design board feet of all sizes together',
        m.moved_on, count(DISTINCT m.move_id), NULL, -sum(b.cents)::BIGINT, min(m.import_id), arg_min(m.import_line, (m.import_id, m.import_line))
    FROM steps.board_moves AS m
    JOIN steps.board_rows AS b USING (move_id)
    WHERE m.move_id IN (SELECT move_id FROM steps.usage_shares WHERE basis = 'design board feet')
    GROUP BY ALL
    UNION ALL
    SELECT
        'backflush', 'boards that nobody logs', 'taken by design board feet / (1 - quoted waste): jobs carry the quoted waste, and yield and waste of their own stay blank; what counts find is backflush_difference, of the plant',
        b.moved_on, count(*), NULL, -sum(b.cents)::BIGINT, min(b.import_id), arg_min(b.import_line, (b.import_id, b.import_line))
    FROM steps.board_rows AS b
    WHERE b.kind = 'backflush'
    GROUP BY ALL
    UNION ALL
    SELECT
        'backflush-all-stock', 'trusses without a cut list, under backflush', 'their boards are taken from all the plant''s stock, in the shares in which it came: the dollars of an average board foot, of no size, species or grade',
        p.day, count(*), NULL, NULL, NULL, NULL
    FROM steps.backflush_needs AS p
    WHERE p.size IS NULL AND EXISTS (SELECT 1 FROM steps.backflush_parts AS q WHERE q.day = p.day AND q.job = p.job AND q.from_all_stock)
    GROUP BY ALL
    UNION ALL
    SELECT
        'backflush-no-stock', 'lumber that no receipt or count knows, under backflush', 'nothing is taken for it, and the job is incomplete',
        day, count(*), NULL, NULL, NULL, NULL
    FROM (
        SELECT n.day
        FROM steps.backflush_needs AS n
        ANTI JOIN steps.backflush_parts AS p ON p.day = n.day AND p.job = n.job AND p.size = n.size AND p.species = n.species AND p.grade = n.grade
        WHERE n.wood > 0 AND n.size IS NOT NULL
        UNION ALL
        SELECT n.day
        FROM steps.backflush_needs AS n
        ANTI JOIN steps.backflush_parts AS p ON p.day = n.day AND p.job = n.job
        WHERE n.wood > 0 AND n.size IS NULL
    )
    GROUP BY ALL
    UNION ALL
    SELECT
        'slip-without-price', 'receipts without a price',
        CASE WHEN stands_in THEN 'the item''s last landed price stands in, else the quoting price, until the line comes with its own; what changes for a closed month is posted in the open one'
             ELSE 'no price is known: 0.00, and jobs that took them are incomplete' END,
        moved_on, count(*), NULL, sum(cents)::BIGINT, min(import_id), arg_min(import_line, (import_id, import_line))
    FROM slips
    GROUP BY ALL
)
SELECT f.code, f.gap, f.effect, f.on_day, f.rows::BIGINT AS rows, f.seconds, cents_to_usd(f.cents) AS usd, i.file_name, f.line
FROM found AS f
LEFT JOIN imports AS i USING (import_id)
ORDER BY f.code, f.effect, f.on_day;
COMMENT ON TABLE gaps IS 'what the plant does not record, by day: what stands in for it and what stays blank';
COMMENT ON COLUMN gaps.rows IS 'rows of the feed, batches or day''s takings that it touches';
COMMENT ON COLUMN gaps.seconds IS 'people-seconds that it touches, where known';
COMMENT ON COLUMN gaps.usd IS 'dollars of lumber that it touches, where known';
