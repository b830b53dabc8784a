-- sheet:  waste_by
-- title:  Waste rolled up
-- reader: purchasing
-- grain:  one row per way of looking (week, size, species, grade, stock length, saw, shift, job) and value, of batches whose cutting ended in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: seen_by       | Seen by        | text  | -   | week, size, species, grade, stock length, saw, shift or job
-- column: value         | Which          | text  | -   | the week, size and so on; several saws or jobs of one batch stand together
-- column: net_bf        | Net issue      | bf    | -   | issued less returned
-- column: finished_bf   | Finished parts | bf    | -   | real cut length, nominal section
-- column: kerf_trim_bf  | Kerf and trim  | bf    | -   | one saw cut a part, end trim a board
-- column: offcut_bf     | Offcut         | bf    | -   | what is left of the boards issued
-- column: recut_cull_bf | Recut and cull | bf    | -   | boards for parts cut again, and those set aside
-- column: unexplained_bf | Unexplained   | bf    | -   | below 0: more parts than the boards issued can hold
-- column: not_split_bf  | Not split      | bf    | -   | waste of batches without a cut list, beside recuts and culls: kerf, trim and offcut in one
-- column: waste_bf      | Waste          | bf    | -   | the five before it
-- column: waste_pct     | Waste          | pct   | -   | share of net issue
-- column: waste_usd     | Waste          | usd   | -   | its share of the lumber's landed cost
-- column: per_good_bf_usd | Lumber per BF of good part | usd | - | price divided by yield: what a board foot in a part costs
-- column: basis         | Parts by       | text  | -   | cut list, or design board feet where a truss of a batch has none
-- note:   Each way of looking adds up to the whole; so there is no total over them. A batch's waste is allotted to stock lengths by the wood taken of each. A batch without a cut list has no size, species, grade or stock length here: it stands under no cut list.
-- sort:   seen by, dollars lost, which
WITH shifts AS (
    SELECT u.unit_kind, u.unit, string_agg(DISTINCT c.shift, ', ' ORDER BY c.shift) AS shift
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
    GROUP BY u.unit_kind, u.unit
),
measured AS (
    SELECT
        b.unit_kind, b.unit, b.size, b.species, b.grade, w.label AS week, b.stations, b.jobs, s.shift,
        b.net, b.parts, b.kerf_trim, b.offcut, b.recut + b.cull AS recut_cull, b.unexplained, b.not_split, b.basis,
        b.lumber_cents, coalesce(b.waste_cents, 0) AS waste_cents
    FROM steps.batch_waste AS b
    JOIN workweeks AS w ON b.cut_on >= w.workweek_start AND b.cut_on < w.workweek_start + 7
    LEFT JOIN shifts AS s ON s.unit_kind = b.unit_kind AND s.unit = b.unit
    WHERE b.cut_on >= $from::DATE AND b.cut_on < $until::DATE
),
taken AS (
    SELECT
        b.unit_kind, b.unit, b.size, b.species, b.grade, feet_inches(b.length_16ths) AS length,
        greatest(0, (b.cut_boards + b.lost_boards) * wood(b.size, b.length_16ths * 4)) AS wood
    FROM steps.cut_boards AS b
),
lengths AS (
    SELECT t.*, sum(t.wood) OVER (PARTITION BY t.unit_kind, t.unit, t.size, t.species, t.grade) AS class_wood
    FROM taken AS t
    WHERE t.wood > 0
),
seen AS (
    SELECT v.seen_by, v.value, m.net::HUGEINT AS net, m.parts, m.kerf_trim, m.offcut, m.recut_cull, m.unexplained, m.not_split, m.lumber_cents, m.waste_cents, m.basis
    FROM measured AS m, LATERAL (VALUES ('1 week', m.week), ('2 size', coalesce(m.size, 'no cut list')), ('3 species', coalesce(m.species, 'no cut list')), ('4 grade', CASE WHEN m.basis = 'cut list' THEN concat_ws(' ', m.species, m.grade) ELSE 'no cut list' END), ('6 saw', m.stations), ('7 shift', m.shift), ('8 job', m.jobs)) AS v(seen_by, value)
    UNION ALL
    SELECT
        '5 stock length', concat_ws(' ', m.size, l.length), rounded_quotient(m.net::HUGEINT * l.wood, l.class_wood::HUGEINT), rounded_quotient(m.parts::HUGEINT * l.wood, l.class_wood::HUGEINT),
        rounded_quotient(m.kerf_trim::HUGEINT * l.wood, l.class_wood::HUGEINT), rounded_quotient(m.offcut::HUGEINT * l.wood, l.class_wood::HUGEINT),
        rounded_quotient(m.recut_cull::HUGEINT * l.wood, l.class_wood::HUGEINT), rounded_quotient(m.unexplained::HUGEINT * l.wood, l.class_wood::HUGEINT), 0,
        rounded_quotient(m.lumber_cents::HUGEINT * l.wood, l.class_wood::HUGEINT), rounded_quotient(m.waste_cents::HUGEINT * l.wood, l.class_wood::HUGEINT), m.basis
    FROM measured AS m
    JOIN lengths AS l ON l.unit_kind = m.unit_kind AND l.unit = m.unit AND l.size = m.size AND l.species = m.species AND l.grade = m.grade
    UNION ALL
    SELECT '5 stock length', 'no cut list', m.net, m.parts, m.kerf_trim, m.offcut, m.recut_cull, m.unexplained, m.not_split, m.lumber_cents, m.waste_cents, m.basis
    FROM measured AS m
    WHERE m.basis <> 'cut list'
),
summed AS (
    SELECT
        seen_by, value, sum(net)::BIGINT AS net, sum(parts)::BIGINT AS parts, sum(kerf_trim)::BIGINT AS kerf_trim, sum(offcut)::BIGINT AS offcut,
        sum(recut_cull)::BIGINT AS recut_cull, sum(unexplained)::BIGINT AS unexplained, sum(not_split)::BIGINT AS not_split, string_agg(DISTINCT basis, ', ' ORDER BY basis) AS basis, sum(lumber_cents)::BIGINT AS lumber_cents, sum(waste_cents)::BIGINT AS waste_cents
    FROM seen
    GROUP BY seen_by, value
)
SELECT
    substr(s.seen_by, 3)::VARCHAR AS seen_by,
    s.value::VARCHAR AS value,
    wood_to_bf(s.net)::DECIMAL(14,4) AS net_bf,
    wood_to_bf(s.parts)::DECIMAL(14,4) AS finished_bf,
    wood_to_bf(s.kerf_trim)::DECIMAL(14,4) AS kerf_trim_bf,
    wood_to_bf(s.offcut)::DECIMAL(14,4) AS offcut_bf,
    wood_to_bf(s.recut_cull)::DECIMAL(14,4) AS recut_cull_bf,
    wood_to_bf(s.unexplained)::DECIMAL(14,4) AS unexplained_bf,
    wood_to_bf(s.not_split)::DECIMAL(14,4) AS not_split_bf,
    wood_to_bf(s.net - s.parts)::DECIMAL(14,4) AS waste_bf,
    share_of_positive(s.net - s.parts, s.net)::DECIMAL(18,6) AS waste_pct,
    cents_to_usd(s.waste_cents)::DECIMAL(18,2) AS waste_usd,
    share_of(cents_to_usd(s.lumber_cents), wood_to_bf(s.parts))::DECIMAL(18,6) AS per_good_bf_usd,
    s.basis::VARCHAR AS basis
FROM summed AS s
ORDER BY s.seen_by, s.waste_cents DESC, s.value;
