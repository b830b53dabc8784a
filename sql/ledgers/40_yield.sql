-- Yield: what the boards became.
--
-- issued - returned = finished parts + kerf + trim + offcut + recut + cull + unexplained,
-- exact, in whole units of wood (nominal section in 1/16 sq in x length in 1/64 in), for
-- each batch and each size, species and grade of the boards issued.
-- Parts use the real cut length, boards the stock length, both the nominal section (PS 20).

-- grain: one yield unit: a batch, else a job, else a station's day
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.cut_units where run_row_id IN (SELECT run_row_id FROM renewed_cuts)
-- reads: steps.usage_units where move_id IN (SELECT move_id FROM renewed_moves)
CREATE OR REPLACE TABLE steps.yield_units AS
WITH cut AS (
    SELECT
        u.unit_kind, u.unit,
        max(c.finished_on) AS cut_on,
        string_agg(DISTINCT c.station, ', ' ORDER BY c.station) AS stations,
        string_agg(DISTINCT c.job, ', ' ORDER BY c.job) AS jobs,
        sum(c.quantity)::BIGINT AS trusses,
        CASE WHEN count(DISTINCT c.counted_at) > 1 THEN 'saw and table' ELSE any_value(c.counted_at) END AS counted_at,
        count(*) FILTER (WHERE p.basis IS DISTINCT FROM 'cut list' AND c.quantity > 0) AS rows_without_parts,
        count(*) FILTER (WHERE p.basis IS NULL AND c.quantity > 0) AS rows_without_wood
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
    LEFT JOIN steps.truss_wood AS p ON p.job = c.job AND p.truss = c.truss
    GROUP BY u.unit_kind, u.unit
),
used AS (
    SELECT u.unit_kind, u.unit, max(m.moved_on) AS used_on
    FROM steps.usage_units AS u
    JOIN steps.board_moves AS m USING (move_id)
    GROUP BY u.unit_kind, u.unit
)
SELECT
    coalesce(c.unit_kind, u.unit_kind) AS unit_kind, coalesce(c.unit, u.unit) AS unit,
    c.cut_on, u.used_on, c.stations, c.jobs, coalesce(c.trusses, 0) AS trusses, c.counted_at,
    CASE
        WHEN u.unit IS NULL AND s.lumber_usage = 'backflush' THEN 'backflushed'
        WHEN u.unit IS NULL THEN 'no boards logged'
        WHEN c.unit IS NULL THEN 'nothing logged as cut'
        WHEN c.rows_without_wood > 0 THEN 'no cut list'
        WHEN c.rows_without_parts > 0 THEN 'design board feet'
        ELSE 'whole'
    END AS state
FROM cut AS c
FULL JOIN used AS u ON u.unit_kind = c.unit_kind AND u.unit = c.unit
CROSS JOIN settings AS s;
COMMENT ON TABLE steps.yield_units IS 'one batch (else job, else station day); only whole ones have a yield by size, species and grade';
COMMENT ON COLUMN steps.yield_units.state IS 'whole; design board feet: no cut list of a truss, so a yield in all only; backflushed: the boards are figured from the trusses; else why it has no yield';

-- grain: one yield unit and size, species and grade of issued boards
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.usage_units where move_id IN (SELECT move_id FROM renewed_moves)
-- reads: steps.cut_units where run_row_id IN (SELECT run_row_id FROM renewed_cuts)
CREATE OR REPLACE TABLE steps.yields AS
WITH issued AS (
    SELECT
        u.unit_kind, u.unit, m.size, m.species, m.grade, coalesce(m.for_grade, m.grade) AS meant_grade,
        sum(CASE WHEN m.kind = 'cut' THEN -m.boards * wood(m.size, m.length_16ths * 4) ELSE 0 END)::BIGINT AS cut,
        sum(CASE WHEN m.kind = 'recut' THEN -m.boards * wood(m.size, m.length_16ths * 4) ELSE 0 END)::BIGINT AS recut,
        sum(CASE WHEN m.kind = 'cull' THEN -m.boards * wood(m.size, m.length_16ths * 4) ELSE 0 END)::BIGINT AS cull,
        -- A remnant below the plant's minimum is trim, not a return.
        sum(CASE WHEN m.kind = 'return' AND NOT coalesce(r.below_minimum, false) THEN m.boards * wood(m.size, m.length_16ths * 4) ELSE 0 END)::BIGINT AS returned,
        sum(CASE WHEN m.kind = 'cut' THEN -m.boards
                 WHEN m.kind = 'return' AND coalesce(r.parent_length_16ths, m.length_16ths) = m.length_16ths THEN -m.boards ELSE 0 END)::BIGINT AS boards_cut
    FROM steps.usage_units AS u
    JOIN steps.board_moves AS m USING (move_id)
    LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
    GROUP BY ALL
),
needed AS (
    SELECT
        u.unit_kind, u.unit, p.size, p.species, p.grade,
        sum(p.wood * c.quantity)::BIGINT AS wood,
        sum(p.pieces * c.quantity)::BIGINT AS pieces
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
    JOIN steps.truss_parts AS p ON p.job = c.job AND p.truss = c.truss
    GROUP BY ALL
),
-- Parts are credited to the boards issued for them: those meant for their grade, else any
-- of their size and species, else nothing was issued.
pairs AS (
    SELECT
        n.unit_kind, n.unit, n.size, n.species, n.grade AS design_grade, n.wood, n.pieces, i.grade, i.meant_grade,
        greatest(i.cut + i.recut + i.cull, 1) AS weight,
        i.meant_grade IS NOT DISTINCT FROM n.grade AS is_meant
    FROM needed AS n
    LEFT JOIN issued AS i ON i.unit_kind = n.unit_kind AND i.unit = n.unit AND i.size = n.size AND i.species = n.species
        AND i.cut + i.recut + i.cull > 0
),
chosen AS (
    SELECT p.*, row_number() OVER (ORDER BY unit_kind, unit, size, species, design_grade, grade, meant_grade) AS pair_id
    FROM pairs AS p
    QUALIFY is_meant OR NOT bool_or(is_meant) OVER (PARTITION BY unit_kind, unit, size, species, design_grade)
),
based AS (
    SELECT
        c.*,
        c.wood::HUGEINT * coalesce(c.weight, 1) // sum(coalesce(c.weight, 1)) OVER need AS base_wood,
        c.wood::HUGEINT * coalesce(c.weight, 1) % sum(coalesce(c.weight, 1)) OVER need AS wood_remainder,
        c.pieces::HUGEINT * coalesce(c.weight, 1) // sum(coalesce(c.weight, 1)) OVER need AS base_pieces,
        c.pieces::HUGEINT * coalesce(c.weight, 1) % sum(coalesce(c.weight, 1)) OVER need AS pieces_remainder
    FROM chosen AS c
    WINDOW need AS (PARTITION BY c.unit_kind, c.unit, c.size, c.species, c.design_grade)
),
credited AS (
    SELECT
        b.unit_kind, b.unit, b.size, b.species, coalesce(b.grade, b.design_grade) AS grade,
        (b.base_wood + CASE WHEN row_number() OVER (PARTITION BY b.unit_kind, b.unit, b.size, b.species, b.design_grade ORDER BY b.wood_remainder DESC, b.pair_id)
            <= b.wood - sum(b.base_wood) OVER (PARTITION BY b.unit_kind, b.unit, b.size, b.species, b.design_grade) THEN 1 ELSE 0 END)::BIGINT AS wood,
        (b.base_pieces + CASE WHEN row_number() OVER (PARTITION BY b.unit_kind, b.unit, b.size, b.species, b.design_grade ORDER BY b.pieces_remainder DESC, b.pair_id)
            <= b.pieces - sum(b.base_pieces) OVER (PARTITION BY b.unit_kind, b.unit, b.size, b.species, b.design_grade) THEN 1 ELSE 0 END)::BIGINT AS pieces
    FROM based AS b
),
classes AS (
    SELECT unit_kind, unit, size, species, grade, sum(cut)::BIGINT AS cut, sum(recut)::BIGINT AS recut, sum(cull)::BIGINT AS cull,
        sum(returned)::BIGINT AS returned, sum(boards_cut)::BIGINT AS boards_cut, 0::BIGINT AS parts, 0::BIGINT AS pieces
    FROM issued
    GROUP BY ALL
    UNION ALL
    SELECT unit_kind, unit, size, species, grade, 0, 0, 0, 0, 0, sum(wood)::BIGINT, sum(pieces)::BIGINT
    FROM credited
    GROUP BY ALL
),
summed AS (
    SELECT
        unit_kind, unit, size, species, grade,
        sum(cut)::BIGINT AS cut, sum(recut)::BIGINT AS recut, sum(cull)::BIGINT AS cull, sum(returned)::BIGINT AS returned,
        greatest(0, sum(boards_cut))::BIGINT AS boards_cut, sum(parts)::BIGINT AS parts, sum(pieces)::BIGINT AS pieces
    FROM classes
    GROUP BY unit_kind, unit, size, species, grade
),
trimmed AS (
    SELECT
        s.*,
        s.pieces * section_16ths(s.size) * t.kerf_64ths AS kerf,
        s.boards_cut * section_16ths(s.size) * t.end_trim_64ths AS trim_ends
    FROM summed AS s
    CROSS JOIN settings AS t
),
lumber AS (
    SELECT u.unit_kind, u.unit, b.size, b.species, b.grade, -sum(b.cents)::BIGINT AS cents, bool_or(b.unpriced) AS unpriced
    FROM steps.board_rows AS b
    JOIN steps.usage_units AS u USING (move_id)
    GROUP BY ALL
)
SELECT
    t.unit_kind, t.unit, t.size, t.species, t.grade,
    t.cut + t.recut + t.cull AS issued, t.returned, t.parts, t.kerf, t.trim_ends,
    greatest(0, t.cut - t.returned - t.parts - t.kerf - t.trim_ends) AS offcut,
    t.recut, t.cull,
    least(0, t.cut - t.returned - t.parts - t.kerf - t.trim_ends) AS unexplained,
    coalesce(l.cents, 0) AS lumber_cents,
    coalesce(l.unpriced, false) AS unpriced
FROM trimmed AS t
LEFT JOIN lumber AS l ON l.unit_kind = t.unit_kind AND l.unit = t.unit AND l.size = t.size AND l.species = t.species AND l.grade = t.grade;
COMMENT ON TABLE steps.yields IS 'issued - returned = parts + kerf + trim_ends + offcut + recut + cull + unexplained, whole units of wood';
COMMENT ON COLUMN steps.yields.unexplained IS 'below 0: more parts than the boards issued can hold; never clamped';

-- grain: one yield unit with a truss without a cut list, of which design board feet are known
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.cut_units where run_row_id IN (SELECT run_row_id FROM renewed_cuts)
-- reads: steps.yields where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.yield_units where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
CREATE OR REPLACE TABLE steps.design_yields AS
WITH cut AS (
    SELECT u.unit_kind, u.unit, sum(w.wood * c.quantity)::BIGINT AS parts
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
    JOIN steps.truss_wood AS w ON w.job = c.job AND w.truss = c.truss
    GROUP BY u.unit_kind, u.unit
),
taken AS (
    SELECT
        unit_kind, unit, sum(issued)::BIGINT AS issued, sum(returned)::BIGINT AS returned, sum(recut)::BIGINT AS recut, sum(cull)::BIGINT AS cull,
        sum(lumber_cents)::BIGINT AS lumber_cents
    FROM steps.yields
    GROUP BY unit_kind, unit
)
SELECT
    t.unit_kind, t.unit, t.issued, t.returned, c.parts, t.recut, t.cull,
    t.issued - t.returned - c.parts - t.recut - t.cull AS not_split, t.lumber_cents
FROM taken AS t
JOIN cut AS c USING (unit_kind, unit)
JOIN steps.yield_units AS u USING (unit_kind, unit)
WHERE u.state = 'design board feet';
COMMENT ON TABLE steps.design_yields IS 'issued - returned = parts + recut + cull + not_split, whole units of wood, all sizes, species and grades together';
COMMENT ON COLUMN steps.design_yields.parts IS 'by cut lists where there are some, else by trusses.design_bf';
COMMENT ON COLUMN steps.design_yields.not_split IS 'kerf, trim and offcut, which only a cut list can tell apart; below 0: more parts than the boards can hold';

-- What the sheets of waste, their trend and the front sheet's finding read.
-- grain: one batch (else job, else station day) with a yield, and size, species and grade of
-- its boards; one row of all of them where a truss has no cut list
-- renewed: EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.yields where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.design_yields where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
-- reads: steps.yield_units where EXISTS (SELECT 1 FROM renewed_units AS n WHERE n.unit_kind = r.unit_kind AND n.unit = r.unit)
CREATE OR REPLACE TABLE steps.batch_waste AS
WITH yields AS (
    SELECT
        y.unit_kind, y.unit, u.cut_on, u.jobs, u.stations, u.counted_at, u.trusses, y.size, y.species, y.grade, y.issued, y.returned, y.parts,
        y.kerf + y.trim_ends AS kerf_trim, y.offcut, y.recut, y.cull, y.unexplained, 0::BIGINT AS not_split, y.lumber_cents, 'cut list' AS basis
    FROM steps.yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
    WHERE u.state = 'whole'
    UNION ALL
    SELECT
        y.unit_kind, y.unit, u.cut_on, u.jobs, u.stations, u.counted_at, u.trusses, NULL, NULL, NULL, y.issued, y.returned, y.parts,
        NULL, NULL, y.recut, y.cull, NULL, y.not_split, y.lumber_cents, 'design board feet'
    FROM steps.design_yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
)
SELECT
    y.*, y.issued - y.returned AS net, y.issued - y.returned - y.parts AS waste,
    CASE WHEN y.issued <> y.returned
        THEN rounded_quotient(y.lumber_cents::HUGEINT * (y.issued - y.returned - y.parts) * sign(y.issued - y.returned)::BIGINT, abs(y.issued - y.returned))::BIGINT
    END AS waste_cents
FROM yields AS y;
COMMENT ON TABLE steps.batch_waste IS 'issued - returned = parts + waste of one batch and kind of board, in wood; what became of the waste where a cut list tells it';
COMMENT ON COLUMN steps.batch_waste.net IS 'issued less returned, wood';
COMMENT ON COLUMN steps.batch_waste.waste_cents IS 'its share of the lumber''s landed cost; NULL when as much was put back as was issued';
