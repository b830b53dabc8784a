-- What of a job's figures is not measured, in the words that its sheets label them with.

-- grain: one job and basis, with the first day that it touches
CREATE OR REPLACE TABLE steps.job_bases AS
WITH stand_in AS (
    SELECT b.move_id, b.job, b.moved_on
    FROM steps.board_rows AS b
    JOIN receipts AS r ON r.import_id = b.layer_import_id AND r.import_line = b.layer_line
    WHERE b.boards < 0 AND r.usd_per_mbf IS NULL AND NOT b.unpriced AND b.kind <> 'shop'
),
found AS (
    SELECT job, day AS on_day, concat('minutes ', CASE basis WHEN 'hours only' THEN 'without clock times' ELSE basis END) AS basis
    FROM steps.minute_rows
    WHERE run_row_id IS NOT NULL AND basis <> 'clocked'
    UNION ALL
    SELECT job, day, 'lumber by backflush'
    FROM steps.backflush_parts
    UNION ALL
    SELECT s.job, m.moved_on, 'lumber allotted by design board feet'
    FROM steps.usage_shares AS s
    JOIN steps.board_moves AS m USING (move_id)
    WHERE s.basis = 'design board feet'
    UNION ALL
    SELECT coalesce(p.job, s.job), p.moved_on, 'lumber at a stand-in price'
    FROM stand_in AS p
    LEFT JOIN steps.usage_shares AS s ON s.move_id = CASE WHEN p.job IS NULL THEN p.move_id END
    UNION ALL
    SELECT r.job, r.finished_on, 'parts by design board feet'
    FROM steps.run_rows AS r
    JOIN steps.truss_wood AS w ON w.job = r.job AND w.truss = r.truss
    WHERE w.basis = 'design board feet' AND r.station_kind IN ('saw', 'table') AND r.quantity > 0
)
SELECT job, basis, min(on_day) AS on_day
FROM found
WHERE job IS NOT NULL
GROUP BY job, basis;
COMMENT ON TABLE steps.job_bases IS 'what stands in a job''s figures for something that the plant does not record';

-- The words before a day; at a frozen day those of the closing. grain: one job that stands on
-- something
CREATE OR REPLACE MACRO job_basis(until_day) AS TABLE
SELECT job, string_agg(basis, '; ' ORDER BY basis) AS basis
FROM steps.job_bases
WHERE on_day < until_day AND until_day NOT IN (SELECT until_on FROM closed_positions WHERE bases_kept)
GROUP BY job
UNION ALL
SELECT job, basis
FROM closed_job_bases
WHERE until_on = until_day;
