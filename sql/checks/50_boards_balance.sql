-- Boards, board feet and dollars of each item balance between feeds, layers and ledger.
-- Receipts less usage is what the ledger has on hand, at what the layers' boards cost.
-- grain: one item that doesn't balance
WITH fed AS (
    SELECT size, species, grade, length_16ths, sum(boards) AS boards
    FROM (
        SELECT size, species, grade, length_16ths, boards FROM receipts
        UNION ALL
        SELECT size, species, grade, length_16ths, -boards FROM lumber_usage
    )
    GROUP BY ALL
),
kept AS (
    SELECT size, species, grade, length_16ths, sum(boards) AS boards, sum(usd) AS usd, sum(bf) AS bf
    FROM board_ledger
    GROUP BY ALL
),
-- What is left of each layer, at the layer's own cost; what was never there, at the price posted.
layers AS (
    SELECT
        m.size, m.species, m.grade, m.length_16ths,
        sum(coalesce(c.cents, 0)) - sum(coalesce(t.cents, 0)) AS cents
    FROM steps.board_moves AS m
    LEFT JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    LEFT JOIN (
        SELECT p.in_id, sum(rounded_quotient(p.layer_to * c.cents, c.boards) - rounded_quotient(p.layer_above * c.cents, c.boards)) AS cents
        FROM steps.issue_parts AS p
        JOIN steps.layer_costs AS c ON c.in_id = p.in_id
        GROUP BY p.in_id
    ) AS t ON t.in_id = m.move_id
    WHERE m.boards > 0
    GROUP BY ALL
),
owed AS (
    SELECT m.size, m.species, m.grade, m.length_16ths, sum(coalesce(c.posted_cents, 0)) AS cents
    FROM steps.issue_costs AS c
    JOIN steps.board_moves AS m ON m.move_id = c.out_id
    WHERE c.is_short AND c.in_id IS NULL
    GROUP BY ALL
)
SELECT 'error' AS severity, 'boards on hand differ between feeds and ledger' AS reason,
    concat(f.size, ' ', f.species, ' ', f.grade, ' ', feet_inches(f.length_16ths), ': ', f.boards, ' fed, ', coalesce(k.boards, 0), ' in the ledger') AS keys,
    NULL AS file_name, NULL::BIGINT AS line
FROM fed AS f
FULL JOIN kept AS k USING (size, species, grade, length_16ths)
WHERE coalesce(f.boards, 0) <> coalesce(k.boards, 0)
UNION ALL
SELECT 'error', 'board feet on hand are not boards x board feet of a board',
    concat(k.size, ' ', k.species, ' ', k.grade, ' ', feet_inches(k.length_16ths)), NULL, NULL
FROM kept AS k
WHERE k.bf <> k.boards * board_feet(k.size, k.length_16ths)
UNION ALL
SELECT 'error', 'stock dollars are not the cost of the boards left',
    concat(k.size, ' ', k.species, ' ', k.grade, ' ', feet_inches(k.length_16ths), ': ', k.usd, ' in the ledger, ', cents_to_usd(coalesce(l.cents, 0) - coalesce(o.cents, 0)), ' in the layers'), NULL, NULL
FROM kept AS k
LEFT JOIN layers AS l USING (size, species, grade, length_16ths)
LEFT JOIN owed AS o USING (size, species, grade, length_16ths)
WHERE usd_to_cents(k.usd) <> coalesce(l.cents, 0) - coalesce(o.cents, 0)
ORDER BY keys;
