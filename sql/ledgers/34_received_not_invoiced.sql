-- What was received and not invoiced before a day: each line at what stock holds it at. At a
-- frozen day it is what it was at the closing: a slip that comes later is in the open month's
-- list, as its boards are in the open month's ledger.
-- grain: one line of a packing slip
CREATE OR REPLACE MACRO received_not_invoiced(until_day) AS TABLE
SELECT
    r.vendor, r.document, r.line, r.received_on, r.size, r.species, r.grade, r.length_16ths, r.boards::BIGINT AS boards,
    (c.cents - CASE WHEN k.credited_on < until_day THEN k.cents ELSE 0 END)::BIGINT AS cents,
    CASE WHEN r.usd_per_mbf IS NOT NULL THEN 'own price' WHEN c.unpriced THEN 'no price known' ELSE 'last landed or quoting price' END AS priced_by
FROM receipts AS r
JOIN steps.board_moves AS m ON m.kind = 'receipt' AND m.import_id = r.import_id AND m.import_line = r.import_line
JOIN steps.layer_costs AS c ON c.in_id = m.move_id
LEFT JOIN steps.layer_credits AS k ON k.in_id = m.move_id
WHERE r.received_on < until_day AND (r.invoice IS NULL OR r.invoiced_on >= until_day)
    AND until_day NOT IN (SELECT until_on FROM closed_positions)
UNION ALL
SELECT vendor, document, line, received_on, size, species, grade, length_16ths, boards, cents, priced_by
FROM closed_accruals
WHERE until_on = until_day;
