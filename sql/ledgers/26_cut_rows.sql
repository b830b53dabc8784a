-- What was cut: the completions that stand for cutting.

-- grain: one row of completions that counts as cutting. Saw rows count. A table row counts
-- where the saw logs none: none for its batch, and none of its mark without a batch; in
-- both, first-time work and remakes apart.
CREATE OR REPLACE TABLE steps.cut_rows AS
WITH sawn AS (
    SELECT DISTINCT batch, job, truss, coalesce(remake, '') AS remade
    FROM steps.run_rows
    WHERE station_kind = 'saw'
),
sawn_batches AS (
    SELECT DISTINCT batch, remade FROM sawn WHERE batch IS NOT NULL
),
sawn_marks AS (
    SELECT DISTINCT job, truss, remade, batch IS NULL AS without_batch FROM sawn WHERE truss IS NOT NULL
)
SELECT r.run_row_id, r.station, r.batch, r.job, r.truss, r.quantity, r.remake, r.finished_on, r.shift, r.station_kind AS counted_at
FROM steps.run_rows AS r
WHERE r.station_kind = 'saw'
    OR (r.station_kind = 'table'
        AND NOT EXISTS (SELECT 1 FROM sawn_batches AS b WHERE b.batch = r.batch AND b.remade = coalesce(r.remake, ''))
        AND NOT EXISTS (
            SELECT 1 FROM sawn_marks AS m
            WHERE m.job = r.job AND m.truss = r.truss AND m.remade = coalesce(r.remake, '') AND (m.without_batch OR r.batch IS NULL)));
