-- Boards that nobody logs: backflush, for plants with [lumber] usage = "backflush".
--
-- Each truss cut takes its design wood / (1 - quoted waste) from stock: of the size, species
-- and grade of its cut list, spread over the stock lengths of that class in the shares in
-- which boards of it came in the half year up to that day (else before it, else after). A
-- truss of which only design_bf is known takes from all the plant's stock, in the shares in
-- which all of it came. Boards are whole: of each item the running total of wood, rounded,
-- less what was taken before, at the end of each day, first in, first out (or at the average)
-- like any other issue; its cents are shared over the day's jobs by the wood of each.
-- What counts find beside that is one difference of the plant, never a job's.
-- Boards to cut that were logged win: what was cut of their job, batch or station and day is
-- not backflushed.

-- grain: one day, job and size, species and grade (NULL: only design board feet are known)
CREATE OR REPLACE TABLE steps.backflush_needs AS
WITH logged AS (
    SELECT DISTINCT job, batch, station, used_at::DATE AS used_on
    FROM lumber_usage
    WHERE reason = 'cut' AND boards > 0
),
unlogged AS (
    SELECT c.*
    FROM steps.cut_rows AS c
    CROSS JOIN settings AS s
    WHERE s.lumber_usage = 'backflush' AND c.quantity > 0
        -- Each by keys alone: with OR or CASE every row would be compared with every other.
        AND NOT EXISTS (SELECT 1 FROM logged AS u WHERE u.job = c.job AND u.batch = c.batch)
        AND NOT EXISTS (SELECT 1 FROM logged AS u WHERE u.job = c.job AND u.batch IS NULL)
        AND NOT EXISTS (SELECT 1 FROM logged AS u WHERE u.job IS NULL AND u.batch = c.batch)
        AND NOT EXISTS (SELECT 1 FROM logged AS u WHERE u.job IS NULL AND u.batch IS NULL AND u.station = c.station AND u.used_on = c.finished_on)
),
wanted AS (
    SELECT c.finished_on AS day, c.job, p.size, p.species, p.grade, p.wood::HUGEINT * c.quantity AS wood, c.run_row_id
    FROM unlogged AS c
    JOIN steps.truss_parts AS p ON p.job = c.job AND p.truss = c.truss
    UNION ALL
    SELECT c.finished_on, c.job, NULL, NULL, NULL, w.wood::HUGEINT * c.quantity, c.run_row_id
    FROM unlogged AS c
    JOIN steps.truss_wood AS w ON w.job = c.job AND w.truss = c.truss
    WHERE w.basis = 'design board feet'
)
SELECT
    w.day, w.job, w.size, w.species, w.grade,
    rounded_quotient(sum(w.wood) * 1000000, 1000000 - (any_value(s.quoted_waste_pct) * 1000000)::BIGINT) AS wood,
    max(w.run_row_id) AS run_row_id
FROM wanted AS w
CROSS JOIN settings AS s
GROUP BY w.day, w.job, w.size, w.species, w.grade;
COMMENT ON TABLE steps.backflush_needs IS 'wood that the trusses cut on one day take by their design and the waste that quotes assume';

-- grain: one day, job and item that its wood is taken from
CREATE OR REPLACE TABLE steps.backflush_parts AS
WITH arrivals AS (
    SELECT came_on, size, species, grade, length_16ths, sum(boards * wood(size, length_16ths * 4)) AS wood
    FROM (
        SELECT received_on AS came_on, size, species, grade, length_16ths, boards FROM receipts
        UNION ALL
        SELECT counted_on, size, species, grade, length_16ths, boards
        FROM counts
        WHERE counted_on = (SELECT min(counted_on) FROM counts)
    )
    WHERE boards > 0
    GROUP BY ALL
),
wanted AS (
    SELECT DISTINCT day, size, species, grade FROM steps.backflush_needs WHERE wood > 0
),
fitting AS (
    SELECT w.day, w.size AS class_size, w.species AS class_species, w.grade AS class_grade, a.*
    FROM wanted AS w
    JOIN arrivals AS a ON a.size = w.size AND a.species = w.species AND a.grade = w.grade
    UNION ALL
    SELECT w.day, w.size, w.species, w.grade, a.*
    FROM wanted AS w
    CROSS JOIN arrivals AS a
    WHERE w.size IS NULL
),
offered AS (
    SELECT
        day, class_size, class_species, class_grade, size, species, grade, length_16ths,
        CASE WHEN came_on > day THEN 3 WHEN came_on < day - 183 THEN 2 ELSE 1 END AS distance,
        sum(wood)::BIGINT AS wood
    FROM fitting
    GROUP BY ALL
),
nearest AS (
    SELECT *
    FROM offered
    QUALIFY distance = min(distance) OVER (PARTITION BY day, class_size, class_species, class_grade)
),
running AS (
    SELECT
        n.*,
        sum(n.wood) OVER (class ORDER BY n.size, n.species, n.grade, n.length_16ths ROWS UNBOUNDED PRECEDING) AS wood_to,
        sum(n.wood) OVER class AS wood_whole
    FROM nearest AS n
    WINDOW class AS (PARTITION BY n.day, n.class_size, n.class_species, n.class_grade)
),
split AS (
    SELECT
        d.day, d.job, r.size, r.species, r.grade, r.length_16ths,
        rounded_quotient(d.wood * r.wood_to, r.wood_whole) - rounded_quotient(d.wood * (r.wood_to - r.wood), r.wood_whole) AS wood,
        d.run_row_id, d.size IS NULL AS from_all_stock
    FROM steps.backflush_needs AS d
    JOIN running AS r
        ON r.day = d.day AND r.class_size IS NOT DISTINCT FROM d.size AND r.class_species IS NOT DISTINCT FROM d.species AND r.class_grade IS NOT DISTINCT FROM d.grade
)
SELECT day, job, size, species, grade, length_16ths, sum(wood)::BIGINT AS wood, max(run_row_id) AS run_row_id, bool_or(from_all_stock) AS from_all_stock
FROM split
WHERE wood > 0
GROUP BY day, job, size, species, grade, length_16ths;
COMMENT ON TABLE steps.backflush_parts IS 'wood that backflush takes of one item for one job on one day';

-- grain: one day and item with whole boards taken by backflush
CREATE OR REPLACE TABLE steps.backflush_moves AS
WITH taken AS (
    SELECT day, size, species, grade, length_16ths, sum(wood)::BIGINT AS wood, max(run_row_id) AS run_row_id
    FROM steps.backflush_parts
    GROUP BY day, size, species, grade, length_16ths
),
running AS (
    SELECT t.*, sum(t.wood) OVER (PARTITION BY t.size, t.species, t.grade, t.length_16ths ORDER BY t.day ROWS UNBOUNDED PRECEDING) AS wood_to
    FROM taken AS t
),
rounded AS (
    SELECT
        r.*,
        rounded_quotient(r.wood_to, wood(r.size, r.length_16ths * 4)) - rounded_quotient(r.wood_to - r.wood, wood(r.size, r.length_16ths * 4)) AS boards
    FROM running AS r
)
SELECT o.day, o.size, o.species, o.grade, o.length_16ths, o.boards, r.import_id, r.import_line
FROM rounded AS o
JOIN steps.run_rows AS r USING (run_row_id)
WHERE o.boards > 0;
COMMENT ON TABLE steps.backflush_moves IS 'boards of one item that backflush takes at the end of one day, in the name of its last row of completions';
