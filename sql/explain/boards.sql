-- The boards behind the lumber of one job, each part of an issue with the row that it was
-- priced by: of a purchase layer the receipt or count that opened it, of a return the issue
-- that it reverses. Boards without a job are allotted by the design board feet of the parts
-- cut: share_bf of shares_bf.
-- grain: one row of board_ledger and the job
WITH shares AS (
    SELECT move_id, job, weight, (sum(weight) OVER (PARTITION BY move_id))::BIGINT AS whole
    FROM steps.usage_shares
),
posted AS (
    SELECT * FROM steps.lumber_postings WHERE job = $job AND $class = 'lumber' AND posted_on < $until::DATE
),
priced AS (
    SELECT
        p.posted_on AS original_on, p.occurred_on, p.feed, p.import_id, p.import_line, p.cents, b.*, m.batch AS of_batch,
        h.weight, h.whole, s.costing,
        o.import_id AS issue_import_id, o.import_line AS issue_line, r.below_minimum,
        c.import_id AS root_import_id, c.import_line AS root_line,
        l.import_id AS landed_import_id, l.import_line AS landed_line,
        CASE
            WHEN b.kind = 'true_up' THEN 'true-up'
            WHEN b.unpriced THEN 'no price'
            WHEN b.boards > 0 AND r.below_minimum THEN 'too short'
            WHEN b.boards > 0 AND o.move_id IS NOT NULL AND b.layer_import_id IS NOT NULL THEN 'issue'
            WHEN b.layer_import_id IS NULL AND m.corrects IS NOT NULL AND c.import_id IS NOT NULL THEN 'correction'
            WHEN (b.boards > 0 OR b.layer_import_id IS NULL) AND l.move_id IS NOT NULL THEN 'last landed'
            WHEN b.boards > 0 OR b.layer_import_id IS NULL THEN 'quoting'
            WHEN s.costing = 'average' THEN 'average'
            ELSE 'layer'
        END AS priced_as
    FROM posted AS p
    JOIN (SELECT * EXCLUDE (occurred_on, feed, import_id, import_line, job, cents), cents AS board_cents FROM steps.board_rows) AS b USING (board_row_id)
    JOIN steps.board_moves AS m ON m.move_id = b.move_id
    CROSS JOIN settings AS s
    LEFT JOIN shares AS h ON h.move_id = b.move_id AND h.job = p.job AND m.job IS NULL
    LEFT JOIN steps.return_sources AS r ON r.in_id = b.move_id
    LEFT JOIN steps.board_moves AS o ON o.move_id = r.out_id
    LEFT JOIN steps.usage_pairs AS q ON q.import_id = m.import_id AND q.import_line = m.import_line
    LEFT JOIN lumber_usage AS c ON c.record = q.root
    LEFT JOIN steps.last_landed AS d ON d.move_id = b.move_id
    LEFT JOIN steps.board_moves AS l ON l.move_id = d.receipt_id
)
SELECT
    'lumber' AS class, original_on, occurred_on, feed, import_id, import_line AS line, NULL::VARCHAR AS remake, cents_to_usd(cents) AS usd,
    concat(
        CASE WHEN kind = 'true_up' THEN 'what boards cost that came after they were used'
             ELSE concat(abs(boards), CASE abs(boards) WHEN 1 THEN ' board ' ELSE ' boards ' END, CASE WHEN boards > 0 THEN 'back, ' WHEN kind = 'backflush' THEN 'by backflush, ' ELSE concat(kind, ', ') END) END,
        CASE WHEN kind = 'true_up' THEN ', ' END, concat_ws(' ', size, species, grade, feet_inches(length_16ths)),
        CASE WHEN whole IS NOT NULL THEN concat(', allotted ', wood_to_bf(weight)::DECIMAL(18,4), ' of ', wood_to_bf(whole)::DECIMAL(18,4), ' BF of parts',
            CASE WHEN of_batch IS NOT NULL THEN concat(' of ', of_batch) END) END
    ) AS what,
    CASE priced_as
        WHEN 'true-up' THEN 'by the layer of' WHEN 'no price' THEN 'no price is known' WHEN 'too short' THEN 'worth nothing: shorter than the shortest remnant'
        WHEN 'issue' THEN 'at the cost of' WHEN 'correction' THEN 'at the cost of'
        WHEN 'last landed' THEN 'at the last landed price, of' WHEN 'quoting' THEN 'at the quoting price'
        WHEN 'average' THEN 'at the moving average; layer of' ELSE 'layer of' END AS priced_as,
    CASE WHEN priced_as IN ('true-up', 'layer', 'average') THEN layer_import_id WHEN priced_as = 'issue' THEN issue_import_id
         WHEN priced_as = 'correction' THEN root_import_id WHEN priced_as = 'last landed' THEN landed_import_id END AS priced_import_id,
    CASE WHEN priced_as IN ('true-up', 'layer', 'average') THEN layer_line WHEN priced_as = 'issue' THEN issue_line
         WHEN priced_as = 'correction' THEN root_line WHEN priced_as = 'last landed' THEN landed_line END AS priced_line,
    kind, boards, size, species, grade, feet_inches(length_16ths) AS length, of_batch AS batch,
    CASE WHEN whole IS NOT NULL THEN wood_to_bf(weight) END AS share_bf,
    wood_to_bf(whole) AS shares_bf,
    cents_to_usd(-board_cents) AS boards_usd
FROM priced
ORDER BY original_on, board_row_id;
