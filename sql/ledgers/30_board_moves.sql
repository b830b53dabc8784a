-- Board movements in the order in which they count, and which layer each issue takes.
--
-- Order within a day: receipts (document, line), then issues and returns (time, record,
-- line). First in, first out: the n-th board out is the n-th board in, so the matching is
-- the overlap of two running totals, exact. A layer may come after the issue that it
-- serves: then the issue was short, is priced provisionally and trued up by the receipt.

-- grain: one movement of one item
CREATE OR REPLACE TABLE steps.board_moves AS
WITH moves AS (
    SELECT
        r.size, r.species, r.grade, r.length_16ths, r.boards, 'receipt' AS kind,
        r.received_on AS moved_on, NULL::TIMESTAMP AS moved_at, 1 AS place, r.vendor, r.document, r.line AS document_line,
        NULL AS record, NULL AS corrects, NULL AS job, NULL AS batch, NULL AS station, NULL AS for_grade, NULL::INTEGER AS from_length_16ths,
        r.usd_per_mbf, r.freight_usd, 'receipts' AS feed, r.import_id, r.import_line
    FROM receipts AS r
    UNION ALL
    SELECT
        u.size, u.species, u.grade, u.length_16ths, -u.boards, CASE WHEN u.boards < 0 THEN 'return' ELSE u.reason END,
        u.used_at::DATE, u.used_at, 2, NULL, NULL, NULL,
        u.record, u.corrects, u.job, u.batch, u.station, u.for_grade, u.from_length_16ths,
        NULL, NULL, 'lumber_usage', u.import_id, u.import_line
    FROM lumber_usage AS u
),
ordered AS (
    SELECT
        m.*,
        row_number() OVER (
            ORDER BY m.moved_on, m.place, m.moved_at,
                try_cast(m.document AS BIGINT), m.document, try_cast(m.document_line AS BIGINT), m.document_line, m.vendor,
                try_cast(m.record AS BIGINT), m.record, m.import_line, m.size, m.species, m.grade, m.length_16ths, m.job, m.batch, m.station, m.kind, m.boards, m.import_id
        ) AS move_id
    FROM moves AS m
)
SELECT
    o.*,
    -- What the boards were taken for: job wins, then batch, then station.
    CASE WHEN o.job IS NOT NULL THEN 'job' WHEN o.batch IS NOT NULL THEN 'batch' WHEN o.station IS NOT NULL THEN 'station' END AS taken_by,
    coalesce(o.job, o.batch, o.station) AS taker,
    -- Price of an unpriced packing slip: the item's last landed price, flagged.
    coalesce(o.usd_per_mbf, CASE WHEN o.kind = 'receipt' THEN
        last_value(o.usd_per_mbf IGNORE NULLS) OVER (
            PARTITION BY o.size, o.species, o.grade, o.length_16ths ORDER BY o.move_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING)
    END) AS priced_usd_per_mbf,
    sum(CASE WHEN o.boards > 0 THEN o.boards ELSE 0 END) OVER moves_so_far AS in_to,
    sum(CASE WHEN o.boards < 0 THEN -o.boards ELSE 0 END) OVER moves_so_far AS out_to
FROM ordered AS o
WINDOW moves_so_far AS (PARTITION BY o.size, o.species, o.grade, o.length_16ths ORDER BY o.move_id ROWS UNBOUNDED PRECEDING);
COMMENT ON TABLE steps.board_moves IS 'one movement of one item; boards positive into stock, negative out of it; move_id is the ledger order';

-- grain: one stretch of boards of one item with one layer (or none) and one issue (or none)
CREATE OR REPLACE TABLE steps.board_matches AS
WITH marks AS (
    SELECT size, species, grade, length_16ths, in_to AS up_to, move_id AS in_id, NULL::BIGINT AS out_id
    FROM steps.board_moves WHERE boards > 0
    UNION ALL
    SELECT size, species, grade, length_16ths, out_to, NULL, move_id
    FROM steps.board_moves WHERE boards < 0
),
points AS (
    SELECT size, species, grade, length_16ths, up_to, any_value(in_id) AS in_id, any_value(out_id) AS out_id
    FROM marks
    GROUP BY size, species, grade, length_16ths, up_to
)
SELECT
    size, species, grade, length_16ths,
    coalesce(lag(up_to) OVER item, 0) AS above,
    up_to,
    first_value(in_id IGNORE NULLS) OVER following AS in_id,
    first_value(out_id IGNORE NULLS) OVER following AS out_id
FROM points
WINDOW
    item AS (PARTITION BY size, species, grade, length_16ths ORDER BY up_to),
    following AS (PARTITION BY size, species, grade, length_16ths ORDER BY up_to ROWS BETWEEN CURRENT ROW AND UNBOUNDED FOLLOWING);

-- grain: one movement and the item's last priced receipt before it
CREATE OR REPLACE TABLE steps.last_landed AS
SELECT
    move_id,
    last_value(CASE WHEN kind = 'receipt' AND priced_usd_per_mbf IS NOT NULL THEN move_id END IGNORE NULLS) OVER (
        PARTITION BY size, species, grade, length_16ths ORDER BY move_id ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW) AS receipt_id
FROM steps.board_moves;
COMMENT ON TABLE steps.last_landed IS 'where the last landed price of an item stands, for boards whose own cost is not known';

-- grain: one issue and the layer, or shortage, that part of it is served from
CREATE OR REPLACE TABLE steps.issue_parts AS
SELECT
    m.out_id, m.in_id, m.up_to - m.above AS boards,
    m.above - (i.in_to - i.boards) AS layer_above,
    m.up_to - (i.in_to - i.boards) AS layer_to,
    i.boards AS layer_boards,
    coalesce(m.in_id > m.out_id, true) AS is_short,
    l.receipt_id AS last_receipt_id
FROM steps.board_matches AS m
JOIN steps.last_landed AS l ON l.move_id = m.out_id
LEFT JOIN steps.board_moves AS i ON i.move_id = m.in_id
WHERE m.out_id IS NOT NULL;
COMMENT ON TABLE steps.issue_parts IS 'which boards of a layer an issue took; is_short: they were not there yet, or never came';

-- grain: one return and the earlier issue whose cost it goes back at. The issue is one of
-- the same job, else of the same batch, else of a batch of which parts of that job were
-- logged, else of the same station when neither row names more; of the board's own length
-- first, else of a longer one; then the latest.
CREATE OR REPLACE TABLE steps.return_sources AS
WITH returned AS (
    SELECT * FROM steps.board_moves WHERE kind = 'return'
),
issued AS (
    SELECT * FROM steps.board_moves WHERE boards < 0
),
job_batches AS (
    SELECT DISTINCT job, batch FROM completions WHERE batch IS NOT NULL
),
related AS (
    SELECT r.move_id AS in_id, i.move_id AS out_id, 0 AS distance
    FROM returned AS r
    JOIN issued AS i ON i.record = r.corrects
    UNION ALL
    SELECT r.move_id, i.move_id, 1
    FROM returned AS r
    JOIN issued AS i ON i.job = r.job AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    UNION ALL
    SELECT r.move_id, i.move_id, 2
    FROM returned AS r
    JOIN issued AS i ON i.batch = r.batch AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE r.job IS NULL OR i.job IS NULL
    UNION ALL
    SELECT r.move_id, i.move_id, 3
    FROM returned AS r
    JOIN job_batches AS b ON b.job = r.job
    JOIN issued AS i ON i.batch = b.batch AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE i.job IS NULL
    UNION ALL
    SELECT r.move_id, i.move_id, 4
    FROM returned AS r
    JOIN issued AS i ON i.station = r.station AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE r.taken_by = 'station' AND i.taken_by = 'station'
),
chosen AS (
    SELECT l.in_id, l.out_id
    FROM related AS l
    JOIN returned AS r ON r.move_id = l.in_id
    JOIN issued AS i ON i.move_id = l.out_id
    WHERE i.move_id < r.move_id
        AND (l.distance = 0
            OR i.length_16ths >= coalesce(r.from_length_16ths, r.length_16ths)
            AND (r.from_length_16ths IS NULL OR i.length_16ths = r.from_length_16ths))
    QUALIFY row_number() OVER (
        PARTITION BY l.in_id ORDER BY l.distance, i.length_16ths <> coalesce(r.from_length_16ths, r.length_16ths), i.move_id DESC) = 1
)
SELECT
    r.move_id AS in_id, i.move_id AS out_id, r.boards AS returned_boards, -i.boards AS issued_boards,
    r.length_16ths, i.length_16ths AS parent_length_16ths,
    coalesce(r.length_16ths < coalesce(r.from_length_16ths, i.length_16ths), false) AND r.length_16ths < s.remnant_min_16ths AS below_minimum
FROM returned AS r
CROSS JOIN settings AS s
LEFT JOIN chosen AS c ON c.in_id = r.move_id
LEFT JOIN issued AS i ON i.move_id = c.out_id;
COMMENT ON TABLE steps.return_sources IS 'the issue that a return reverses; out_id is NULL when none is known, and the last landed price stands in';

-- grain: one layer whose cost is settled so far; receipts first, returns below and by the
-- next file. Boards of which no price is known count at 0.00 and carry the flag.
CREATE OR REPLACE TABLE steps.layer_costs AS
SELECT
    m.move_id AS in_id,
    rounded_quotient(m.boards::HUGEINT * section_16ths(m.size) * m.length_16ths * coalesce((m.priced_usd_per_mbf * 10000)::BIGINT, 0), 36864::HUGEINT * 100000)
        + usd_to_cents(coalesce(m.freight_usd, 0)) AS cents,
    m.boards,
    m.priced_usd_per_mbf IS NULL AS unpriced
FROM steps.board_moves AS m
WHERE m.kind = 'receipt';
INSERT INTO steps.layer_costs
SELECT
    r.in_id,
    CASE WHEN r.below_minimum OR c.in_id IS NULL THEN 0 ELSE rounded_quotient(c.cents::HUGEINT * r.returned_boards, c.boards) END,
    r.returned_boards,
    NOT r.below_minimum AND c.in_id IS NULL
FROM steps.return_sources AS r
JOIN steps.last_landed AS l ON l.move_id = r.in_id
LEFT JOIN steps.layer_costs AS c ON c.in_id = l.receipt_id
WHERE r.out_id IS NULL OR r.below_minimum;
COMMENT ON TABLE steps.layer_costs IS 'landed cost of a layer in cents, freight included; unpriced: no price is known, and the cents are 0';

-- grain: one part of an issue with the cents first posted for it; NULL while its layer waits
CREATE OR REPLACE VIEW steps.issue_costs AS
WITH parts AS (
    SELECT
        p.*, c.cents AS layer_cents, c.unpriced AS layer_unpriced, l.cents AS last_cents, l.boards AS last_boards,
        sum(p.boards) OVER (PARTITION BY p.out_id, p.is_short ORDER BY p.layer_to NULLS LAST ROWS UNBOUNDED PRECEDING) AS short_to
    FROM steps.issue_parts AS p
    LEFT JOIN steps.layer_costs AS c ON c.in_id = p.in_id
    LEFT JOIN steps.layer_costs AS l ON l.in_id = p.last_receipt_id
)
SELECT
    out_id, in_id, boards, is_short,
    CASE WHEN is_short AND last_boards IS NULL THEN 0
         WHEN is_short THEN rounded_quotient(short_to * last_cents, last_boards) - rounded_quotient((short_to - boards) * last_cents, last_boards)
         ELSE rounded_quotient(layer_to * layer_cents, layer_boards) - rounded_quotient(layer_above * layer_cents, layer_boards)
    END AS posted_cents,
    CASE WHEN is_short
        THEN rounded_quotient(layer_to * layer_cents, layer_boards) - rounded_quotient(layer_above * layer_cents, layer_boards)
    END AS true_cents,
    -- Posted without a price, so that a return can't go back at it.
    CASE WHEN is_short THEN last_boards IS NULL ELSE coalesce(layer_unpriced, true) END AS posted_unpriced,
    -- Unknown still: neither a price when issued nor one since.
    CASE WHEN is_short THEN last_boards IS NULL AND coalesce(layer_unpriced, true) ELSE coalesce(layer_unpriced, true) END AS unpriced
FROM parts;
COMMENT ON VIEW steps.issue_costs IS 'cents of each part of an issue as first posted, and as the late receipt made them';
