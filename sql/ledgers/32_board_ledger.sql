-- The board ledger: one movement of one item out of or into one purchase layer.

-- grain: one correcting row of lumber_usage and what of it cancels, at the cost of the row
-- that it corrects
-- renewed: move_id > kept_board_moves
-- reads: steps.issue_costs where out_id > kept_board_moves
CREATE OR REPLACE TABLE steps.paired_costs AS
WITH posted AS (
    SELECT o.record, sum(c.posted_cents)::BIGINT AS cents, sum(c.boards)::BIGINT AS boards, bool_or(c.posted_unpriced) AS unpriced
    FROM steps.issue_costs AS c
    JOIN steps.board_moves AS o ON o.move_id = c.out_id
    WHERE o.record IN (SELECT root FROM steps.usage_pairs WHERE paired_boards > 0)
    GROUP BY o.record
)
SELECT
    m.move_id, sign(m.boards)::BIGINT * p.paired_boards AS boards,
    sign(m.boards)::BIGINT * (rounded_quotient(p.paired_to * coalesce(o.cents, 0), coalesce(o.boards, 1)) - rounded_quotient((p.paired_to - p.paired_boards) * coalesce(o.cents, 0), coalesce(o.boards, 1))) AS cents,
    coalesce(o.unpriced, true) AS unpriced
FROM steps.usage_pairs AS p
JOIN steps.board_moves AS m ON m.feed = 'lumber_usage' AND m.import_id = p.import_id AND m.import_line = p.import_line
LEFT JOIN posted AS o ON o.record = p.root
WHERE p.paired_boards > 0;

-- grain: one movement and layer; true_up and credit rows move dollars and no boards
-- renewed: moved_on >= since
-- reads: steps.layer_costs where in_id > kept_board_moves
-- reads: steps.paired_costs where move_id > kept_board_moves
-- reads: steps.layer_credits where in_id > kept_board_moves
-- reads: steps.issue_costs where out_id > kept_board_moves
CREATE OR REPLACE TABLE steps.board_rows AS
WITH rows AS (
    SELECT m.move_id, m.move_id AS posted_id, m.move_id AS in_id, m.kind, m.queue_boards AS boards, c.cents, c.unpriced, NULL::DATE AS credited_on
    FROM steps.board_moves AS m
    JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    WHERE m.queue_boards > 0
    UNION ALL
    SELECT p.move_id, p.move_id, NULL, m.kind, p.boards, p.cents, p.unpriced, NULL
    FROM steps.paired_costs AS p
    JOIN steps.board_moves AS m ON m.move_id = p.move_id
    UNION ALL
    SELECT k.in_id, k.in_id, k.in_id, 'credit', 0, -k.left_cents, false, k.credited_on
    FROM steps.layer_credits AS k
    WHERE k.left_cents <> 0
    UNION ALL
    SELECT m.move_id, m.move_id, CASE WHEN NOT c.is_short THEN c.in_id END, m.kind, -c.boards, -c.posted_cents, c.unpriced, NULL
    FROM steps.issue_costs AS c
    JOIN steps.board_moves AS m ON m.move_id = c.out_id
    UNION ALL
    -- The receipt that serves an earlier shortage brings the difference, on its own day.
    SELECT c.out_id, c.in_id, c.in_id, 'true_up', 0, -(c.true_cents - c.posted_cents), false, NULL
    FROM steps.issue_costs AS c
    WHERE c.is_short AND c.true_cents <> c.posted_cents
)
SELECT
    getvariable('kept_board_rows') + row_number() OVER (ORDER BY r.posted_id, r.kind IN ('true_up', 'credit'), r.kind, r.move_id, r.in_id NULLS LAST, r.boards, r.cents, r.unpriced) AS board_row_id,
    r.move_id, r.kind, coalesce(r.credited_on, p.moved_on) AS moved_on, p.moved_at, m.moved_on AS occurred_on, m.size, m.species, m.grade, m.length_16ths,
    r.boards, r.cents, r.unpriced, m.job, m.batch, m.station, m.taken_by, m.for_grade, p.vendor, p.document,
    l.import_id AS layer_import_id, l.import_line AS layer_line, m.feed, m.import_id, m.import_line
FROM rows AS r
JOIN steps.board_moves AS m ON m.move_id = r.move_id
JOIN steps.board_moves AS p ON p.move_id = r.posted_id
LEFT JOIN steps.board_moves AS l ON l.move_id = r.in_id;

-- grain: one movement of one item out of or into one purchase layer. Closed months stand as
-- they were closed; what they would be now less what they were moves on the first open day,
-- and keeps its day in original_on.
-- renewed: original_on >= open_since
-- reads: steps.board_rows where moved_on >= open_since
-- reads: closed_boards where original_on >= open_since
CREATE OR REPLACE TABLE board_ledger AS
WITH closed AS (
    SELECT coalesce(max(until_on), DATE '1900-01-01') AS until_on FROM closed_months
),
now_rows AS (
    SELECT
        b.moved_on, b.moved_at, b.size, b.species, b.grade, b.length_16ths, b.boards, b.cents, b.kind, b.job, b.batch, b.station, b.vendor, b.document,
        b.layer_import_id, b.layer_line, b.import_id, b.import_line, b.for_grade, b.unpriced, b.board_row_id
    FROM steps.board_rows AS b
),
compared AS (
    SELECT moved_on AS original_on, moved_at, size, species, grade, length_16ths, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced, boards, cents
    FROM now_rows
    WHERE moved_on < (SELECT until_on FROM closed)
    UNION ALL
    SELECT original_on, moved_at, size, species, grade, length_16ths, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced, -boards, -cents
    FROM closed_boards
),
corrections AS (
    SELECT
        original_on, moved_at, size, species, grade, length_16ths, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced,
        sum(boards)::BIGINT AS boards, sum(cents)::BIGINT AS cents
    FROM compared
    GROUP BY ALL
    HAVING sum(boards) <> 0 OR sum(cents) <> 0
),
moves AS (
    SELECT moved_on, original_on, moved_at, size, species, grade, length_16ths, boards, cents, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced, NULL::BIGINT AS board_row_id
    FROM closed_boards
    UNION ALL
    SELECT (SELECT until_on FROM closed), original_on, moved_at, size, species, grade, length_16ths, boards, cents, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced, NULL
    FROM corrections
    WHERE EXISTS (SELECT 1 FROM closed_months)
    UNION ALL
    SELECT moved_on, moved_on, moved_at, size, species, grade, length_16ths, boards, cents, kind, job, batch, station, vendor, document, layer_import_id, layer_line, import_id, import_line, for_grade, unpriced, board_row_id
    FROM now_rows
    WHERE moved_on >= (SELECT until_on FROM closed)
)
SELECT
    m.moved_on, m.moved_at, m.size, m.species, m.grade, m.length_16ths, m.boards,
    (m.boards * board_feet(m.size, m.length_16ths))::DECIMAL(18,6) AS bf,
    cents_to_usd(m.cents) AS usd,
    m.kind, m.job, m.batch, m.station, m.vendor, m.document, m.layer_import_id, m.layer_line, m.import_id, m.import_line AS line,
    m.for_grade, m.unpriced, m.board_row_id, m.original_on
FROM moves AS m
ORDER BY m.moved_on, m.board_row_id NULLS FIRST, m.size, m.species, m.grade, m.length_16ths, m.kind, m.import_id, m.import_line, m.original_on;
COMMENT ON TABLE board_ledger IS 'one movement of one item out of or into one purchase layer; boards, bf and usd positive into stock, negative out of it';
COMMENT ON COLUMN board_ledger.bf IS 'board feet, nominal section by stock length, six decimals a board';
COMMENT ON COLUMN board_ledger.usd IS 'landed cost, freight included';
COMMENT ON COLUMN board_ledger.kind IS 'opening, receipt, cut, recut, cull, return, ship, shop, backflush, count, true_up or credit';
COMMENT ON COLUMN board_ledger.layer_import_id IS 'import of the row that opened the layer; NULL when nothing was on hand';
COMMENT ON COLUMN board_ledger.unpriced IS 'no price was known: the dollars are 0 and the job is incomplete';
COMMENT ON COLUMN board_ledger.original_on IS 'moved_on, but for a correction of a closed month: the day in it';
