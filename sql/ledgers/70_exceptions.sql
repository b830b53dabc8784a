-- Exceptions: what a person should settle, in the order in which it matters, each with
-- its place in the files and what it touches.

-- grain: one refused row that no later file has mended, by its first fault
CREATE OR REPLACE TABLE steps.refused_rows AS
SELECT r.import_id, r.feed, r.file_name, r.line, r.column_name, r.code, r.reason, r.touched_seconds, r.touched_usd
FROM rejects AS r
SEMI JOIN main.refused_rows AS o ON o.import_id = r.import_id AND o.line = r.line AND o.state = 'open'
QUALIFY row_number() OVER (PARTITION BY r.import_id, r.line ORDER BY r.touched_seconds IS NULL AND r.touched_usd IS NULL, r.code = 'with', r.column_name NULLS FIRST, r.code) = 1;
COMMENT ON TABLE steps.refused_rows IS 'one refused row that is still open, those held back with a mistake of another too, and what it touches where known';

-- grain: one thing to settle
CREATE OR REPLACE TABLE exceptions AS
WITH names AS (
    SELECT import_id, file_name FROM imports
),
found AS (
    -- What a punch is worth in dollars is one person's pay: only the accountant's book has it.
    SELECT
        1 AS place, 'settle before payroll' AS topic, p.code, p.what,
        NULL AS job, p.station, p.shift_date AS on_day, p.seconds, NULL::DECIMAL(18,2) AS usd, p.import_id, p.import_line AS line, p.remedy
    FROM steps.punch_faults AS p
    WHERE p.code <> 'unknown-crew' -- among the names below
    UNION ALL
    SELECT
        1, 'settle before payroll', 'register', concat('the register of ', r.source, ' from ', r.from_on, ' differs from the pay figured here'),
        NULL, NULL, r.from_on, NULL, NULL, NULL, NULL, 'the accountant finds the amount on the sheet payroll_bridge of month-end: look for pay that no feed holds'
    FROM steps.register_differences AS r
    WHERE r.register_cents <> r.gross_cents
    UNION ALL
    SELECT
        2, 'job incomplete', 'incomplete-job', concat('margin of ', j.job, ' left blank: ', j.missing),
        j.job, NULL, j.left_on, NULL, j.revenue_usd, NULL, NULL, 'log what is missing; the revenue is at stake until then'
    FROM steps.last_positions AS j
    WHERE j.missing IS NOT NULL AND j.left_on IS NOT NULL
    UNION ALL
    SELECT
        2, 'ask the truss designer', 'ask-designer',
        concat(s.boards, ' boards of ', s.size, ' ', s.species, ' ', s.grade, ' cut ', CASE WHEN s.other_size THEN 'where the design has no such size' ELSE concat('where it calls for ', s.specified) END, ': ', s.trusses),
        s.jobs, s.station, s.moved_on, NULL, NULL, s.import_id, s.import_line, 'stop and ask the truss designer before the trusses leave; correct the log if it is wrong'
    FROM steps.substitutions AS s
    WHERE s.verdict <> 'above'
    UNION ALL
    SELECT
        3, 'labour', 'no-minutes', concat('run of ', r.job, ' ', coalesce(r.truss, ''), ' at ', r.station, ' has no people-minutes (', r.start_basis, ')'),
        r.job, r.station, r.finished_on, 0, NULL, r.import_id, r.import_line, 'check the times of the run and the punches at that station'
    FROM steps.run_seconds AS s
    JOIN steps.run_rows AS r USING (run_row_id)
    WHERE s.seconds = 0
    UNION ALL
    SELECT
        3, 'labour', 'no-station', concat('time of ', m.employee, ' at no known station'),
        NULL, NULL, m.work_date, sum(m.seconds)::BIGINT, NULL, m.import_id, m.import_line, 'give the punch a station, or a crew that has runs'
    FROM steps.minute_rows AS m
    WHERE m.reason = 'no station known' AND m.use = 'waiting'
    GROUP BY m.employee, m.work_date, m.import_id, m.import_line
    UNION ALL
    SELECT
        3, 'labour', 'two-stations', concat('crew ', c.crew, ' had runs open at ', array_to_string(c.open_stations, ' and '), ' at once; its people are shared equally'),
        NULL, NULL, c.day, sum(seconds_between(c.from_utc, c.until_utc))::BIGINT, NULL, NULL, NULL, 'give the punches a station'
    FROM steps.crew_stretches AS c
    WHERE len(c.open_stations) > 1
    GROUP BY c.crew, c.open_stations, c.day
    UNION ALL
    SELECT
        3, 'labour', 'start-not-logged', concat('run of ', r.job, ' ', coalesce(r.truss, ''), ' at ', r.station, ' has no start; counted from the ', r.start_basis),
        r.job, r.station, r.finished_on, (SELECT coalesce(sum(m.seconds), 0)::BIGINT FROM steps.minute_rows AS m WHERE m.run_row_id = r.run_row_id), NULL, r.import_id, r.import_line, 'log build_started_at'
    FROM steps.run_rows AS r
    WHERE r.start_basis IN ('previous finish', 'first punch')
    UNION ALL
    SELECT
        3, 'labour', 'outside-punches', concat('runs of crew ', o.crew, ' at ', o.station, ' are logged for ', o.seconds // 60, ' minutes before its first punch or after its last'),
        NULL, o.station, o.shift_date, NULL, NULL, o.import_id, o.import_line, 'compare the times of the runs with the punches of that shift'
    FROM steps.runs_outside AS o
    UNION ALL
    SELECT
        3, 'labour', 'runs-at-once', concat('runs are logged at ', s.station, ' at one time; its people are shared equally'),
        NULL, s.station, s.day, sum(seconds_between(s.from_utc, s.until_utc))::BIGINT, NULL, NULL, NULL, 'log one run at a time, or leave it: both were really open'
    FROM (SELECT DISTINCT station, day, from_utc, until_utc FROM steps.slices WHERE runs_at_once > 1) AS s
    GROUP BY s.station, s.day
    UNION ALL
    SELECT
        3, 'labour', 'stoppage-time', concat('stoppage at ', t.station, ': ', t.reason, ' has a time that the clock change skipped or repeated; it is left out'),
        NULL, t.station, t.started_at::DATE, NULL, NULL, t.import_id, t.import_line, 'give times outside the repeated hour'
    FROM stoppages AS t
    WHERE t.started_utc IS NULL OR t.ended_utc IS NULL
    UNION ALL
    SELECT
        4, 'lumber', 'short-stock', concat(p.boards, ' boards of ', m.size, ' ', m.species, ' ', m.grade, ' ', feet_inches(m.length_16ths), ' issued with none on hand'),
        m.job, m.station, m.moved_on, NULL, NULL, m.import_id, m.import_line,
        CASE WHEN p.last_receipt_id IS NULL AND p.in_id IS NULL THEN 'no price is known and no receipt covers them: look for a missing packing slip' WHEN p.in_id IS NULL THEN 'priced at the last landed price; no receipt covers them yet: look for a missing packing slip' WHEN p.last_receipt_id IS NULL THEN 'no price was known then; costed when the boards came' ELSE 'priced at the last landed price and trued up by the boards that came later' END
    FROM steps.issue_parts AS p
    JOIN steps.board_moves AS m ON m.move_id = p.out_id
    WHERE p.is_short
    UNION ALL
    SELECT
        4, 'lumber', 'no-price', concat('receipt ', m.document, ' line ', m.document_line, ' has no price; ',
            CASE WHEN m.priced_e4 IS NULL THEN 'none is known for the item' ELSE 'the last landed or quoting price stands in' END),
        NULL, NULL, m.moved_on, NULL, NULL, m.import_id, m.import_line, 'import the line again with usd_per_mbf'
    FROM steps.board_moves AS m
    WHERE m.kind = 'receipt' AND m.usd_per_mbf IS NULL
    UNION ALL
    SELECT
        4, 'lumber', 'unmatched-return', concat(m.boards, ' boards of ', m.size, ' ', m.species, ' ', m.grade, ' ', feet_inches(m.length_16ths), ' came back and no issue of them is known'),
        m.job, m.station, m.moved_on, NULL, NULL, m.import_id, m.import_line, 'they are in stock at the last landed price, or at 0.00 where there is none: name the job, the batch or from_length'
    FROM steps.return_sources AS r
    JOIN steps.board_moves AS m ON m.move_id = r.in_id
    WHERE r.out_id IS NULL
    UNION ALL
    SELECT
        4, 'lumber', 'no-job', concat(abs(m.boards), ' boards of ', m.size, ' ', m.species, ' ', m.grade, ' could not be allotted to a job'),
        NULL, m.station, m.moved_on, NULL, cents_to_usd(sum(l.cents)), m.import_id, m.import_line, 'name the job, or log what was cut from the batch'
    FROM steps.lumber_postings AS l
    JOIN steps.board_rows AS b USING (board_row_id)
    JOIN steps.board_moves AS m USING (move_id)
    WHERE l.pool = 'lumber_unassigned'
    GROUP BY ALL
    UNION ALL
    SELECT
        4, 'lumber', CASE y.state WHEN 'no cut list' THEN 'no-cut-list' ELSE 'no-yield' END,
        concat(y.unit_kind, ' ', y.unit, ': ', y.state, '; left out of yield and waste'),
        CASE WHEN y.unit_kind = 'job' THEN y.unit END, NULL, coalesce(y.cut_on, y.used_on), NULL, NULL, NULL, NULL,
        CASE y.state WHEN 'no boards logged' THEN 'log the boards taken' WHEN 'no cut list' THEN 'import cut_pieces of its trusses, or give their design_bf' ELSE 'log what was cut' END
    FROM steps.yield_units AS y
    WHERE y.state NOT IN ('whole', 'design board feet', 'backflushed')
    UNION ALL
    SELECT
        4, 'lumber', 'count-difference', concat('count of ', m.size, ' ', m.species, ' ', m.grade, ' ', feet_inches(m.length_16ths), ': ', abs(m.boards), CASE WHEN abs(m.boards) = 1 THEN ' board ' ELSE ' boards ' END, CASE WHEN m.boards > 0 THEN 'above the book' ELSE 'below the book' END),
        NULL, NULL, m.moved_on, NULL, cents_to_usd(-sum(b.cents)), m.import_id, m.import_line, 'look for issues or receipts that nobody logged, or for a length taken for another'
    FROM steps.board_moves AS m
    JOIN steps.board_rows AS b USING (move_id)
    WHERE m.kind = 'count'
    GROUP BY ALL
    UNION ALL
    SELECT
        4, 'lumber', 'correction', concat('a correction of record ', u.corrects, ' by ', -u.boards, ' boards: ', CASE WHEN o.record IS NULL THEN 'no row has that record' ELSE 'that row is of another item' END),
        u.job, u.station, u.used_at::DATE, NULL, NULL, u.import_id, u.import_line, 'name the record that the row corrects, of the same size, species, grade and length'
    FROM lumber_usage AS u
    LEFT JOIN lumber_usage AS o ON o.record = u.corrects
    WHERE u.corrects IS NOT NULL AND u.boards < 0
        AND (o.record IS NULL OR (o.size, o.species, o.grade, o.length_16ths) <> (u.size, u.species, u.grade, u.length_16ths))
    UNION ALL
    SELECT
        4, 'lumber', 'below-nothing', concat('corrections leave job ', n.job, ' with ', n.boards, ' boards of ', n.size, ' ', n.species, ' ', n.grade, ' ', feet_inches(n.length_16ths)),
        n.job, NULL, n.on_day, NULL, NULL, n.import_id, n.import_line, 'more was taken back than was ever issued: correct the log'
    FROM (
        SELECT job, size, species, grade, length_16ths, sum(boards)::BIGINT AS boards, max(used_at)::DATE AS on_day, arg_max(import_id, (used_at, import_line)) AS import_id, arg_max(import_line, (used_at, import_line)) AS import_line
        FROM lumber_usage
        WHERE job IS NOT NULL AND reason <> 'return'
        GROUP BY ALL
        HAVING sum(boards) < 0
    ) AS n
    UNION ALL
    SELECT
        5, 'names', 'unknown-name', u.what, u.job, NULL, u.on_day, p.paid_seconds, NULL, u.import_id, u.import_line, u.remedy
    FROM steps.unknown_names AS u
    LEFT JOIN steps.punches AS p ON p.import_id = CASE WHEN u.feed = 'timecards' THEN u.import_id END AND p.import_line = u.import_line
    UNION ALL
    SELECT
        5, 'quality', 'not-built', concat('inspection of ', i.job, ' ', i.truss, ' at ', i.station, ', shift ', i.shift, ': no completion of that shift has the truss'),
        i.job, i.station, i.shift_date, NULL, NULL, i.import_id, i.import_line, 'correct the station, shift, date or mark: a failure counts against no run as it stands'
    FROM steps.inspected AS i
    WHERE i.is_known AND NOT i.is_built
    UNION ALL
    SELECT
        6, 'dollars', 'charged-twice', concat('back-charge of ', c.job, ' is there as a cost and as a credit'),
        c.job, NULL, c.incurred_on, NULL, c.amount_usd, c.import_id, c.import_line, 'enter a back-charge once: as credit or as job cost'
    FROM job_costs AS c
    WHERE c.kind = 'backcharge' AND EXISTS (SELECT 1 FROM invoices AS i WHERE i.job = c.job AND i.kind = 'credit' AND i.amount_usd = -c.amount_usd)
    UNION ALL
    SELECT
        7, 'refused rows', r.code, concat(count(*), CASE WHEN count(*) = 1 THEN ' row of ' ELSE ' rows of ' END, r.feed, CASE WHEN r.code = 'with' THEN ' ' ELSE ' refused: ' END, min(r.reason)),
        NULL, NULL, NULL, sum(r.touched_seconds)::BIGINT, sum(r.touched_usd), r.import_id, min(r.line), 'mend the rows in rejects/ and drop the file into inbox/'
    FROM steps.refused_rows AS r
    GROUP BY r.import_id, r.feed, r.code, r.column_name
)
SELECT
    f.place, f.topic, f.code, f.what, f.job, f.station, f.on_day, f.seconds, f.usd, n.file_name, f.line, f.remedy
FROM found AS f
LEFT JOIN names AS n USING (import_id)
ORDER BY f.place, f.on_day, f.code, f.what, n.file_name, f.line;
COMMENT ON TABLE exceptions IS 'one thing to settle; on_day is NULL where it belongs to no day';
COMMENT ON COLUMN exceptions.seconds IS 'people-seconds that it touches, where known';
COMMENT ON COLUMN exceptions.usd IS 'dollars that it touches, where known';
