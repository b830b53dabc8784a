-- Boards taken by backflush are the wood of the trusses cut, to half a board of each item.
-- What was cut is read from the completions themselves, and no truss cut is taken twice.
-- grain: one item, or the plant, whose wood differs
WITH taken AS (
    SELECT size, species, grade, length_16ths, -sum(boards)::BIGINT * wood(size, length_16ths * 4) AS wood
    FROM board_ledger
    WHERE kind = 'backflush'
    GROUP BY size, species, grade, length_16ths
),
wanted AS (
    SELECT size, species, grade, length_16ths, sum(wood)::BIGINT AS wood
    FROM steps.backflush_parts
    GROUP BY size, species, grade, length_16ths
),
trusses_cut AS (
    SELECT coalesce(sum(w.wood::HUGEINT * c.quantity), 0) AS wood
    FROM steps.cut_rows AS c
    JOIN steps.truss_wood AS w ON w.job = c.job AND w.truss = c.truss
    CROSS JOIN settings AS s
    WHERE s.lumber_usage = 'backflush'
),
allowed AS (
    SELECT coalesce(sum(wood), 0)::HUGEINT AS wood, count(*) AS rows FROM steps.backflush_needs
)
SELECT 'error' AS severity, 'boards taken by backflush are not the wood of the trusses cut' AS reason,
    concat(coalesce(w.size, t.size), ' ', coalesce(w.species, t.species), ' ', coalesce(w.grade, t.grade), ' ', feet_inches(coalesce(w.length_16ths, t.length_16ths)), ': ',
        wood_to_bf(coalesce(w.wood, 0)), ' BF cut, ', wood_to_bf(coalesce(t.wood, 0)::BIGINT), ' BF taken') AS keys,
    NULL AS file_name, NULL::BIGINT AS line
FROM wanted AS w
FULL JOIN taken AS t USING (size, species, grade, length_16ths)
WHERE 2 * abs(coalesce(w.wood, 0) - coalesce(t.wood, 0)) > wood(coalesce(w.size, t.size), coalesce(w.length_16ths, t.length_16ths) * 4)
UNION ALL
SELECT 'error', 'backflush takes more than all trusses cut call for', concat(wood_to_bf(a.wood::BIGINT), ' BF'), NULL, NULL
FROM allowed AS a
CROSS JOIN trusses_cut AS c
CROSS JOIN settings AS s
WHERE a.wood > rounded_quotient(c.wood * 1000000, 1000000 - (s.quoted_waste_pct * 1000000)::BIGINT) + a.rows
ORDER BY keys;
