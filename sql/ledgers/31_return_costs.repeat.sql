-- Cost of the layers that returns opened: the cents first posted for the issue that came
-- back, by boards and by length. A return may reverse an issue that took returned boards,
-- so this statement is run until it changes nothing; each pass adds what the one before
-- made known.
INSERT INTO steps.layer_costs
WITH known AS (
    SELECT out_id, sum(posted_cents) AS cents
    FROM steps.issue_costs
    GROUP BY out_id
    HAVING count(*) = count(posted_cents)
)
SELECT
    r.in_id,
    rounded_quotient(k.cents::HUGEINT * r.returned_boards * r.length_16ths, r.issued_boards::HUGEINT * r.parent_length_16ths),
    r.returned_boards
FROM steps.return_sources AS r
JOIN known AS k ON k.out_id = r.out_id
WHERE NOT r.below_minimum
    AND NOT EXISTS (SELECT 1 FROM steps.layer_costs AS c WHERE c.in_id = r.in_id);
