-- What purchasing reads first, in sentences, each with the place that it is read from (a sheet,
-- and a text of its row). A place lower than 40 is a finding; 29 is a caution.
-- grain: one finding
CREATE OR REPLACE TEMP MACRO lumber_yield_findings(from_day, until_day) AS TABLE
WITH whole AS (
    SELECT y.*
    FROM steps.yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
    WHERE u.state = 'whole' AND u.cut_on >= from_day AND u.cut_on < until_day
),
-- Batch by batch, as waste and waste_by figure it.
wasted AS (
    SELECT
        unit, sum(issued - returned) AS net, sum(issued - returned - parts) AS waste, sum(offcut) AS offcut,
        sum(CASE WHEN issued <> returned THEN rounded_quotient(lumber_cents::HUGEINT * (issued - returned - parts) * sign(issued - returned)::BIGINT, abs(issued - returned)) END)::BIGINT AS cents
    FROM whole
    GROUP BY unit
),
-- The plans and what was cut, in ten-thousandths of a dollar.
cut AS (
    SELECT
        (SELECT sum(plan_e4)::BIGINT FROM temp.cut_plans WHERE pool = 'batch') AS plan_e4,
        (SELECT sum(bound_e4)::BIGINT FROM temp.cut_plans WHERE pool = 'batch') AS bound_e4,
        (SELECT sum(t.cut_boards * p.board_e4)::BIGINT
         FROM (SELECT u.cut_on, b.* FROM steps.cut_boards AS b JOIN steps.yield_units AS u ON u.unit_kind = b.unit_kind AND u.unit = b.unit
            WHERE u.state = 'whole' AND u.cut_on >= from_day AND u.cut_on < until_day) AS t
         ASOF JOIN steps.length_prices AS p ON p.size = t.size AND p.species = t.species AND p.grade = t.grade AND p.length_16ths = t.length_16ths AND t.cut_on >= p.on_day) AS cut_e4
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
    30, 'waste', concat(format('{:.1f}', 100.0 * sum(waste) / nullif(sum(net), 0)), ' % of the board feet taken are not in finished parts'),
    'waste_by', NULL, NULL, cents_to_usd(sum(cents)::BIGINT)
FROM wasted
HAVING sum(net) > 0
UNION ALL
SELECT
    31, 'offcut', concat(format('{:.0f}', 100.0 * sum(offcut) / nullif(sum(waste), 0)), ' % of that waste is offcut: stock lengths and cutting plans decide it'),
    'waste_by', NULL, NULL, NULL
FROM wasted
HAVING sum(waste) > 0
UNION ALL
(SELECT
    32, 'dearest batch', concat(unit, ' lost the most: ', format('{:.1f}', 100.0 * waste / nullif(net, 0)), ' % of its boards are not in parts'),
    row_of('waste', unit), NULL, NULL, cents_to_usd(cents)
FROM wasted
WHERE cents > 0 AND net > 0 AND (SELECT count(*) FROM wasted) > 1
ORDER BY cents DESC, unit
LIMIT 1)
UNION ALL
SELECT
    33, 'stock lengths', concat('what other stock lengths would have saved the batches of the period, by plans within ', format('{:.2f}', 100.0 * (c.plan_e4 - c.bound_e4) / c.plan_e4), ' % of a proven bound'),
    'stock_lengths', NULL, NULL, cents_to_usd(rounded_quotient(c.cut_e4 - c.plan_e4, 100))
FROM cut AS c
WHERE c.plan_e4 > 0 AND c.cut_e4 > c.plan_e4
UNION ALL
SELECT
    34, 'grades', 'boards of a higher grade than specified: money given away',
    'grade_substitution', count(*), NULL, cents_to_usd(sum(rounded_quotient(s.wood::HUGEINT * (s.used_e4 - s.specified_e4), 147456::HUGEINT * 100000))::BIGINT)
FROM steps.substitutions AS s
WHERE s.verdict = 'above' AND s.moved_on >= from_day AND s.moved_on < until_day
HAVING count(*) > 0;
