-- What the saw was asked for: the parts of each batch, and the stock lengths on offer at
-- what they cost, for cutting bounds and plans. A plan never moves a part to another size,
-- species or grade.

-- grain: one item and day from which a board of it costs so much, freight included
CREATE OR REPLACE TABLE steps.length_prices AS
WITH landed AS (
    SELECT m.size, m.species, m.grade, m.length_16ths, m.moved_on AS on_day, m.move_id, rounded_quotient(c.cents * 100, c.boards) AS board_e4
    FROM steps.layer_costs AS c
    JOIN steps.board_moves AS m ON m.move_id = c.in_id
    WHERE m.kind IN ('receipt', 'opening') AND NOT c.unpriced AND c.cents > 0
)
SELECT size, species, grade, length_16ths, on_day, arg_max(board_e4, move_id) AS board_e4
FROM landed
GROUP BY ALL;
COMMENT ON TABLE steps.length_prices IS 'what a board of one item cost when it last came, in ten-thousandths of a dollar';

-- grain: one batch (else job, else station day), part length and size, species and grade
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.cut_units where run_row_id IN (SELECT run_row_id FROM renewed_cuts)
CREATE OR REPLACE TABLE steps.cut_parts AS
SELECT
    u.unit_kind, u.unit, y.cut_on, w.workweek_start, p.size, p.species, p.grade, p.length_16ths * 4 AS length_64ths,
    sum(p.pieces_per_ply * t.plies * c.quantity)::BIGINT AS pieces
FROM steps.cut_units AS u
JOIN steps.cut_rows AS c USING (run_row_id)
JOIN steps.yield_units AS y ON y.unit_kind = u.unit_kind AND y.unit = u.unit
JOIN trusses AS t ON t.job = c.job AND t.truss = c.truss
JOIN cut_pieces AS p ON p.job = c.job AND p.truss = c.truss
JOIN workweeks AS w ON y.cut_on >= w.workweek_start AND y.cut_on < w.workweek_start + 7
WHERE y.state = 'whole' AND c.quantity > 0
GROUP BY ALL;
COMMENT ON TABLE steps.cut_parts IS 'parts that a batch needed, by real cut length';

-- grain: one batch (else job, else station day) and stock length of boards taken for it: net
-- boards to cut, recuts and culls apart
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.usage_units where move_id IN (SELECT move_id FROM renewed_moves)
CREATE OR REPLACE TABLE steps.cut_boards AS
SELECT
    u.unit_kind, u.unit, m.size, m.species, m.grade, m.length_16ths,
    sum(CASE WHEN m.kind NOT IN ('recut', 'cull') THEN -m.boards ELSE 0 END)::BIGINT AS cut_boards,
    sum(CASE WHEN m.kind IN ('recut', 'cull') THEN -m.boards ELSE 0 END)::BIGINT AS lost_boards
FROM steps.usage_units AS u
JOIN steps.board_moves AS m USING (move_id)
LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
WHERE NOT coalesce(r.below_minimum, false)
GROUP BY ALL;
COMMENT ON TABLE steps.cut_boards IS 'boards taken for a batch by stock length, less those put back; remnants stand under their own length';

-- What was cut for whole batches of a period, by the way of pooling them, in boards, wood and
-- ten-thousandths of a dollar: beside it stand the plans of the same pools.
-- grain: one pool, size and species
CREATE OR REPLACE MACRO boards_cut(from_day, until_day) AS TABLE
WITH units AS (
    SELECT u.unit_kind, u.unit, u.cut_on
    FROM steps.yield_units AS u
    WHERE u.state = 'whole' AND u.cut_on >= from_day AND u.cut_on < until_day
),
-- What was cut, once for each way of pooling, priced on the day whose prices the plan has.
boards AS (
    SELECT v.pool, CASE v.pool WHEN 'week' THEN max(u.cut_on) OVER (PARTITION BY w.workweek_start) ELSE u.cut_on END AS on_day, b.size, b.species, b.grade, b.length_16ths, b.cut_boards, b.lost_boards
    FROM units AS u
    JOIN steps.cut_boards AS b ON b.unit_kind = u.unit_kind AND b.unit = u.unit
    JOIN workweeks AS w ON u.cut_on >= w.workweek_start AND u.cut_on < w.workweek_start + 7
    CROSS JOIN (VALUES ('batch'), ('day'), ('week')) AS v(pool)
),
priced AS (
    SELECT b.*, p.board_e4
    FROM boards AS b
    ASOF LEFT JOIN steps.length_prices AS p
        ON p.size = b.size AND p.species = b.species AND p.grade = b.grade AND p.length_16ths = b.length_16ths AND b.on_day >= p.on_day
),
-- A remnant has no price of its own: the average of the others of its size and species.
averages AS (
    SELECT pool, size, species, sum(abs(cut_boards) * board_e4)::HUGEINT AS e4, sum(abs(cut_boards) * wood(size, length_16ths * 4))::HUGEINT AS wood
    FROM priced
    WHERE board_e4 IS NOT NULL
    GROUP BY pool, size, species
)
SELECT
    p.pool, p.size, p.species, sum(p.cut_boards)::BIGINT AS boards,
    sum(p.cut_boards * wood(p.size, p.length_16ths * 4))::BIGINT AS wood,
    sum(p.lost_boards * wood(p.size, p.length_16ths * 4))::BIGINT AS lost,
    sum(CASE WHEN p.board_e4 IS NOT NULL THEN p.cut_boards * p.board_e4
             WHEN a.wood > 0 THEN rounded_quotient(p.cut_boards * wood(p.size, p.length_16ths * 4)::HUGEINT * a.e4, a.wood) ELSE 0 END)::BIGINT AS e4
FROM priced AS p
LEFT JOIN averages AS a ON a.pool = p.pool AND a.size = p.size AND a.species = p.species
GROUP BY p.pool, p.size, p.species;

-- Parts of trusses ordered and not yet cut by a day, of jobs still open then.
-- grain: one size, species, grade and part length
CREATE OR REPLACE MACRO parts_to_cut(until_day) AS TABLE
WITH cut AS (
    SELECT job, truss, sum(quantity) AS quantity
    FROM steps.cut_rows
    WHERE finished_on < until_day AND remake IS NULL
    GROUP BY job, truss
)
SELECT p.size, p.species, p.grade, p.length_16ths * 4 AS length_64ths, sum(greatest(0, t.quantity - coalesce(c.quantity, 0)) * t.plies * p.pieces_per_ply)::BIGINT AS pieces
FROM trusses AS t
JOIN jobs AS j ON j.job = t.job
JOIN cut_pieces AS p ON p.job = t.job AND p.truss = t.truss
LEFT JOIN cut AS c ON c.job = t.job AND c.truss = t.truss
WHERE coalesce(j.shipped_on, j.closed_on, until_day) >= until_day AND coalesce(j.ordered_on, until_day - 1) < until_day
GROUP BY p.size, p.species, p.grade, p.length_16ths
HAVING pieces > 0;

-- grain: one batch (else job, else station day) that no plan can be made for
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.yield_units where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.cut_boards where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.design_yields where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
CREATE OR REPLACE TABLE steps.unplanned_units AS
SELECT
    y.unit_kind, y.unit, y.cut_on, CASE y.state WHEN 'backflushed' THEN 'boards by backflush' ELSE 'no cut list' END AS reason,
    d.parts, b.boards, b.wood
FROM steps.yield_units AS y
LEFT JOIN steps.design_yields AS d USING (unit_kind, unit)
LEFT JOIN (
    SELECT unit_kind, unit, sum(cut_boards)::BIGINT AS boards, sum(cut_boards * wood(size, length_16ths * 4))::BIGINT AS wood
    FROM steps.cut_boards
    GROUP BY unit_kind, unit
) AS b USING (unit_kind, unit)
WHERE y.state IN ('design board feet', 'no cut list', 'backflushed') AND y.cut_on IS NOT NULL;
COMMENT ON TABLE steps.unplanned_units IS 'what the cutting sheets leave out: nobody knows the parts, or what boards were cut; parts by design board feet where known';

-- Trusses ordered and not yet cut by a day, of jobs still open then, that have no cut list.
-- grain: one truss mark
CREATE OR REPLACE MACRO trusses_without_list(until_day) AS TABLE
WITH cut AS (
    SELECT job, truss, sum(quantity) AS quantity
    FROM steps.cut_rows
    WHERE finished_on < until_day AND remake IS NULL
    GROUP BY job, truss
)
SELECT t.job, t.truss, greatest(0, t.quantity - coalesce(c.quantity, 0))::BIGINT AS trusses, (greatest(0, t.quantity - coalesce(c.quantity, 0)) * w.wood)::BIGINT AS wood
FROM trusses AS t
JOIN jobs AS j ON j.job = t.job
JOIN steps.truss_wood AS w ON w.job = t.job AND w.truss = t.truss
LEFT JOIN cut AS c ON c.job = t.job AND c.truss = t.truss
WHERE w.basis IS DISTINCT FROM 'cut list' AND coalesce(j.shipped_on, j.closed_on, until_day) >= until_day AND coalesce(j.ordered_on, until_day - 1) < until_day
    AND t.quantity > coalesce(c.quantity, 0);
