-- Which batch (else job, else station day) boards and cuts belong to, and which jobs boards
-- without one were for.

-- grain: one movement without a job, and one job that it is allotted to
CREATE OR REPLACE TABLE steps.usage_shares AS
WITH loose AS (
    SELECT move_id, taken_by, taker, moved_on, size, species, for_grade
    FROM steps.board_moves
    WHERE feed = 'lumber_usage' AND job IS NULL AND kind <> 'shop'
),
cut AS (
    SELECT l.move_id, l.size, l.species, l.for_grade, c.job, c.truss, c.quantity
    FROM loose AS l
    JOIN steps.cut_rows AS c ON l.taken_by = 'batch' AND c.batch = l.taker
    UNION ALL
    SELECT l.move_id, l.size, l.species, l.for_grade, c.job, c.truss, c.quantity
    FROM loose AS l
    JOIN steps.cut_rows AS c ON l.taken_by = 'station' AND c.station = l.taker AND c.finished_on = l.moved_on
),
-- The closest parts win: same size, species and the grade meant; then size and species.
parted AS (
    SELECT
        c.move_id, c.job, sum(p.wood * c.quantity)::BIGINT AS weight,
        CASE WHEN p.size = c.size AND p.species = c.species AND p.grade = c.for_grade THEN 1
             WHEN p.size = c.size AND p.species = c.species THEN 2 ELSE 3 END AS closeness
    FROM cut AS c
    JOIN steps.truss_parts AS p ON p.job = c.job AND p.truss = c.truss
    GROUP BY ALL
),
-- With the grade meant in the batch only its parts count; else all of the size and species.
closest AS (
    SELECT move_id, min(closeness) AS closeness
    FROM parted
    WHERE weight > 0
    GROUP BY move_id
),
-- Where trusses without a cut list were cut, nobody can say of what size their parts are: all
-- trusses cut share the boards by their design board feet.
unlisted AS (
    SELECT c.move_id, c.job, sum(w.wood * c.quantity)::BIGINT AS weight
    FROM cut AS c
    JOIN steps.truss_wood AS w ON w.job = c.job AND w.truss = c.truss
    GROUP BY c.move_id, c.job
    HAVING sum(w.wood * c.quantity) > 0
    QUALIFY bool_or(bool_or(w.basis = 'design board feet' AND c.quantity > 0)) OVER (PARTITION BY c.move_id)
)
SELECT p.move_id, p.job, sum(p.weight)::BIGINT AS weight, 'cut list' AS basis
FROM parted AS p
JOIN closest AS c ON c.move_id = p.move_id AND p.closeness = c.closeness
WHERE c.closeness < 3 AND p.move_id NOT IN (SELECT move_id FROM unlisted)
GROUP BY p.move_id, p.job
UNION ALL
SELECT move_id, job, weight, 'design board feet'
FROM unlisted
UNION ALL
SELECT m.move_id, p.job, p.wood, 'backflush'
FROM steps.board_moves AS m
JOIN steps.backflush_parts AS p ON p.day = m.moved_on AND p.size = m.size AND p.species = m.species AND p.grade = m.grade AND p.length_16ths = m.length_16ths
WHERE m.kind = 'backflush';
COMMENT ON TABLE steps.usage_shares IS 'jobs that boards without a job are allotted to, by design wood of the parts cut';
COMMENT ON COLUMN steps.usage_shares.basis IS 'cut list; design board feet, where a truss cut has no cut list; backflush';

-- grain: one movement of lumber_usage and the yield unit that it belongs to
-- renewed: move_id > kept_board_moves
-- reads: steps.board_moves where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.usage_units AS
SELECT
    move_id,
    CASE WHEN batch IS NOT NULL THEN 'batch' WHEN job IS NOT NULL THEN 'job' ELSE 'station day' END AS unit_kind,
    CASE WHEN batch IS NOT NULL THEN batch WHEN job IS NOT NULL THEN job ELSE station || ' ' || moved_on::VARCHAR END AS unit
FROM steps.board_moves
WHERE feed = 'lumber_usage' AND kind IN ('cut', 'recut', 'cull', 'return');

-- grain: one cut row and the yield unit that it belongs to
CREATE OR REPLACE TABLE steps.cut_units AS
WITH units AS (
    SELECT DISTINCT unit_kind, unit FROM steps.usage_units
)
SELECT
    c.run_row_id,
    CASE WHEN b.unit IS NOT NULL THEN 'batch' WHEN j.unit IS NOT NULL THEN 'job' WHEN s.unit IS NOT NULL THEN 'station day'
         WHEN c.batch IS NOT NULL THEN 'batch' ELSE 'job' END AS unit_kind,
    coalesce(b.unit, j.unit, s.unit, c.batch, c.job) AS unit
FROM steps.cut_rows AS c
LEFT JOIN units AS b ON b.unit_kind = 'batch' AND b.unit = c.batch
LEFT JOIN units AS j ON j.unit_kind = 'job' AND j.unit = c.job
LEFT JOIN units AS s ON s.unit_kind = 'station day' AND s.unit = c.station || ' ' || c.finished_on::VARCHAR;
