-- Boards, board feet and dollars of each item balance between feeds, layers and ledger.
-- Receipts less usage is what the ledger has on hand, at what the layers' boards cost.
-- grain: one item that doesn't balance
WITH first_count AS (
    SELECT min(counted_on) AS counted_on FROM counts
),
flows AS (
    SELECT size, species, grade, length_16ths, received_on AS day, boards FROM receipts
    UNION ALL
    SELECT size, species, grade, length_16ths, used_at::DATE, -boards FROM lumber_usage
    UNION ALL
    SELECT size, species, grade, length_16ths, day, -boards FROM steps.backflush_moves
),
-- The last count of each item, listed or by a full one, and what moved after it.
counted AS (
    SELECT c.counted_on, c.size, c.species, c.grade, c.length_16ths, c.boards, 1 AS listed FROM counts AS c
    UNION ALL
    SELECT f.counted_on, i.size, i.species, i.grade, i.length_16ths, 0, 0
    FROM (SELECT DISTINCT counted_on FROM counts WHERE scope = 'full') AS f
    CROSS JOIN (SELECT DISTINCT size, species, grade, length_16ths FROM flows UNION SELECT DISTINCT size, species, grade, length_16ths FROM counts) AS i
),
last_count AS (
    SELECT size, species, grade, length_16ths, max(counted_on) AS counted_on, arg_max(boards, (counted_on, listed)) AS boards
    FROM counted
    GROUP BY ALL
),
fed AS (
    SELECT
        coalesce(f.size, c.size) AS size, coalesce(f.species, c.species) AS species, coalesce(f.grade, c.grade) AS grade, coalesce(f.length_16ths, c.length_16ths) AS length_16ths,
        coalesce(any_value(c.boards), 0)
            + coalesce(sum(CASE WHEN c.counted_on IS NULL OR f.day > c.counted_on OR f.day = c.counted_on AND c.counted_on = o.counted_on THEN f.boards END), 0) AS boards
    FROM flows AS f
    FULL JOIN last_count AS c ON c.size = f.size AND c.species = f.species AND c.grade = f.grade AND c.length_16ths = f.length_16ths
    CROSS JOIN first_count AS o
    GROUP BY ALL
),
kept AS (
    SELECT size, species, grade, length_16ths, sum(boards) AS boards, sum(usd) AS usd, sum(bf) AS bf
    FROM board_ledger
    GROUP BY ALL
),
-- What is left of each layer at its own cost (or of the item's pool, at the moving
-- average); what was never there, at the price posted.
left_over AS (
    SELECT c.in_id, c.cents, c.boards, coalesce(max(p.layer_to), 0) AS used_boards
    FROM steps.layer_costs AS c
    LEFT JOIN steps.issue_parts AS p ON p.in_id = c.in_id
    GROUP BY c.in_id, c.cents, c.boards
),
layers AS (
    SELECT
        m.size, m.species, m.grade, m.length_16ths,
        sum(l.cents - rounded_quotient(l.used_boards * l.cents, l.boards)
            - CASE WHEN k.left_boards > 0 THEN k.left_cents - rounded_quotient((l.used_boards - k.used_boards) * k.left_cents, k.left_boards) ELSE 0 END) AS cents
    FROM left_over AS l
    JOIN steps.board_moves AS m ON m.move_id = l.in_id
    LEFT JOIN steps.layer_credits AS k ON k.in_id = l.in_id
    WHERE (SELECT costing FROM settings) = 'fifo'
    GROUP BY ALL
    UNION ALL
    SELECT split_part(item, chr(31), 1), split_part(item, chr(31), 2), split_part(item, chr(31), 3), split_part(item, chr(31), 4)::INTEGER, cents
    FROM steps.average_pools
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
