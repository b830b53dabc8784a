-- What purchasing reads first, in sentences, each with the place that it is read from (a sheet,
-- and a text of its row). A place lower than 40 is a finding; 29 is a caution.
-- grain: one finding
CREATE OR REPLACE TEMP MACRO lumber_yield_findings(from_day, until_day) AS TABLE
WITH wasted AS (
    SELECT unit_kind, unit, sum(net) AS net, sum(waste) AS waste, sum(offcut) AS offcut, sum(waste_cents)::BIGINT AS cents
    FROM steps.batch_waste
    WHERE cut_on >= from_day AND cut_on < until_day
    GROUP BY unit_kind, unit
),
-- Batch by batch, size by size, as cut_plan has it.
planned AS (
    SELECT p.size, p.species, sum(p.plan_e4)::BIGINT AS plan_e4, sum(p.bound_e4)::BIGINT AS bound_e4
    FROM temp.cut_plans AS p
    WHERE p.pool = 'batch'
    GROUP BY p.size, p.species
),
cut AS (
    SELECT
        sum(p.plan_e4)::BIGINT AS plan_e4, sum(p.bound_e4)::BIGINT AS bound_e4,
        sum(rounded_quotient(coalesce(c.e4, 0) - p.plan_e4, 100))::BIGINT AS saved_cents
    FROM planned AS p
    LEFT JOIN boards_cut(from_day, until_day) AS c ON c.pool = 'batch' AND c.size = p.size AND c.species = p.species
)
SELECT
    29 AS place, 'STOP AND ASK' AS item,
    concat('the truss designer about lumber below or beside the design in ', string_agg(DISTINCT s.trusses, '; ' ORDER BY s.trusses)) AS detail,
    'grade_substitution' AS sheet_row, count(*)::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
FROM steps.substitutions AS s
WHERE s.verdict <> 'above' AND s.moved_on >= from_day AND s.moved_on < until_day
HAVING count(*) > 0
UNION ALL
SELECT
    30, 'waste', concat(pct(share_of(sum(waste), sum(net))), ' % of the board feet taken are not in finished parts'),
    'waste_by', NULL, NULL, cents_to_usd(sum(cents)::BIGINT)
FROM wasted
HAVING sum(net) > 0
UNION ALL
SELECT
    31, 'offcut', concat(pct(share_of(sum(offcut), sum(waste))), ' % of that waste is offcut: stock lengths and cutting plans decide it'),
    'waste_by', NULL, NULL, NULL
FROM wasted
HAVING sum(waste) > 0 AND sum(offcut) > 0
UNION ALL
(SELECT
    32, 'dearest batch', concat(unit, ' lost the most: ', pct(share_of(waste, net)), ' % of its boards are not in parts'),
    row_of('waste', unit), NULL, NULL, cents_to_usd(cents)
FROM wasted
WHERE cents > 0 AND net > 0 AND (SELECT count(*) FROM wasted) > 1
ORDER BY cents DESC, unit
LIMIT 1)
UNION ALL
SELECT
    33, 'stock lengths', concat('what other stock lengths would have saved the batches of the period, by plans within ', format('{:.2f}', 100.0 * (c.plan_e4 - c.bound_e4) / c.plan_e4), ' % of a proven bound'),
    'cut_plan: batch', NULL, NULL, cents_to_usd(c.saved_cents)
FROM cut AS c
WHERE c.plan_e4 > 0 AND c.saved_cents > 0
UNION ALL
SELECT
    34, 'grades', 'boards of a higher grade than specified: money given away',
    'grade_substitution', count(*), NULL, cents_to_usd(sum(rounded_quotient(s.wood::HUGEINT * (s.used_e4 - s.specified_e4), 147456::HUGEINT * 100000))::BIGINT)
FROM steps.substitutions AS s
WHERE s.verdict = 'above' AND s.moved_on >= from_day AND s.moved_on < until_day
HAVING count(*) > 0;
