-- Cost of the layers that returns opened: the cents first posted for the issue that came
-- back, by boards and by length; the last landed price where that issue has none. A return
-- may reverse an issue that took returned boards, so this statement is run until it
-- changes nothing; each pass adds what the one before made known.
-- reads: steps.return_sources where in_id > kept_board_moves
-- reads: steps.issue_costs where out_id >= getvariable('first_returned')
-- reads: steps.board_moves where move_id > kept_board_moves
INSERT INTO steps.layer_costs
WITH known AS (
    SELECT out_id, sum(posted_cents) AS cents, bool_or(posted_unpriced) AS unpriced
    FROM steps.issue_costs
    WHERE out_id IN (SELECT out_id FROM steps.return_sources)
    GROUP BY out_id
    HAVING count(*) = count(posted_cents)
)
SELECT
    r.in_id,
    CASE
        WHEN NOT k.unpriced THEN rounded_quotient(k.cents::HUGEINT * r.returned_boards * r.length_16ths, r.issued_boards::HUGEINT * r.parent_length_16ths)
        WHEN c.in_id IS NOT NULL THEN rounded_quotient(c.cents::HUGEINT * r.returned_boards, c.boards)
        ELSE rounded_quotient(r.returned_boards::HUGEINT * section_16ths(m.size) * m.length_16ths * coalesce(m.quoting_e4, 0), 36864::HUGEINT * 100000)
    END,
    r.returned_boards,
    k.unpriced AND c.in_id IS NULL AND m.quoting_e4 IS NULL
FROM steps.return_sources AS r
JOIN known AS k ON k.out_id = r.out_id
JOIN steps.board_moves AS m ON m.move_id = r.in_id
JOIN steps.last_landed AS l ON l.move_id = r.in_id
LEFT JOIN steps.layer_costs AS c ON c.in_id = l.receipt_id
WHERE NOT r.below_minimum
    AND NOT EXISTS (SELECT 1 FROM steps.layer_costs AS d WHERE d.in_id = r.in_id);
