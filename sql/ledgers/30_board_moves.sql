-- Board movements in the order in which they count, and which layer each issue takes.
--
-- Order within a day: the opening count, receipts (document, line), issues and returns
-- (time, record, station, line in the newest file of the station's day), other counts. First
-- in, first out: the n-th board out is the n-th board in, so the matching is the overlap of
-- two running totals, exact. A layer may come after the issue that it serves: then the issue
-- was short, is priced provisionally and trued up by the receipt.
--
-- A count moves the difference from the book; the plant's first one is its opening stock.
-- A correction (lumber_usage.corrects) and the row that takes its place cancel at the
-- cost of the row that they correct, board for board; only what is left of them moves stock.

-- grain: one row of lumber_usage that corrects another of the same item, and how many of its
-- boards cancel against rows of the other sign
CREATE OR REPLACE TABLE steps.usage_pairs AS
WITH corrections AS (
    SELECT
        c.import_id, c.import_line, c.corrects, coalesce(o.corrects, o.record) AS root, c.size, c.species, c.grade, c.length_16ths, c.used_at, c.record, c.station, coalesce(q.place, c.import_line) AS row_place, c.boards
    FROM lumber_usage AS c
    LEFT JOIN steps.row_order AS q ON q.import_id = c.import_id AND q.import_line = c.import_line
    JOIN lumber_usage AS o
        ON o.record = c.corrects AND o.size = c.size AND o.species = c.species AND o.grade = c.grade AND o.length_16ths = c.length_16ths
    WHERE c.corrects IS NOT NULL AND c.corrects IS DISTINCT FROM c.record
),
running AS (
    SELECT
        c.*,
        sum(abs(c.boards)) OVER (PARTITION BY c.root, c.size, c.species, c.grade, c.length_16ths, c.boards < 0
            ORDER BY c.used_at, c.record, c.station, c.row_place, c.import_id ROWS UNBOUNDED PRECEDING) AS up_to,
        sum(CASE WHEN c.boards < 0 THEN -c.boards ELSE 0 END) OVER (PARTITION BY c.root, c.size, c.species, c.grade, c.length_16ths) AS reversed,
        sum(CASE WHEN c.boards > 0 THEN c.boards ELSE 0 END) OVER (PARTITION BY c.root, c.size, c.species, c.grade, c.length_16ths) AS replaced
    FROM corrections AS c
)
SELECT
    import_id, import_line, root,
    greatest(0, least(up_to, least(reversed, replaced)) - (up_to - abs(boards)))::BIGINT AS paired_boards,
    least(up_to, least(reversed, replaced))::BIGINT AS paired_to
FROM running;

-- grain: one row in all; NULL where nothing was ever counted
CREATE OR REPLACE TABLE steps.first_count AS
SELECT min(counted_on) AS counted_on
FROM counts;
COMMENT ON TABLE steps.first_count IS 'the day of the plant''s first count, which is its opening stock';

-- grain: one movement of one item
-- renewed: moved_on >= since
-- reads: receipts where received_on >= since
-- reads: lumber_usage where used_at::DATE >= since
-- reads: counts where counted_on >= since
CREATE OR REPLACE TABLE steps.board_moves AS
WITH moved AS (
    SELECT
        r.size, r.species, r.grade, r.length_16ths, r.boards, r.boards AS queue_boards, 'receipt' AS kind,
        r.received_on AS moved_on, NULL::TIMESTAMP AS moved_at, 1 AS place, r.vendor, r.document, r.line AS document_line,
        NULL AS record, NULL AS corrects, NULL AS job, NULL AS batch, NULL AS station, NULL AS for_grade, NULL::INTEGER AS from_length_16ths,
        r.usd_per_mbf, r.freight_usd, NULL::BIGINT AS counted, 'receipts' AS feed, r.occurrence AS row_place, r.import_id, r.import_line
    FROM receipts AS r
    UNION ALL
    SELECT
        u.size, u.species, u.grade, u.length_16ths, -u.boards, -sign(u.boards) * (abs(u.boards) - coalesce(p.paired_boards, 0)),
        CASE WHEN u.boards < 0 AND (u.corrects IS NULL OR u.reason = 'return') THEN 'return' ELSE u.reason END,
        u.used_at::DATE, u.used_at, 2, NULL, NULL, NULL,
        u.record, u.corrects, u.job, u.batch, u.station, u.for_grade, u.from_length_16ths,
        NULL, NULL, NULL, 'lumber_usage', coalesce(q.place, u.import_line), u.import_id, u.import_line
    FROM lumber_usage AS u
    LEFT JOIN steps.row_order AS q ON q.import_id = u.import_id AND q.import_line = u.import_line
    LEFT JOIN steps.usage_pairs AS p ON p.import_id = u.import_id AND p.import_line = u.import_line
    UNION ALL
    SELECT
        b.size, b.species, b.grade, b.length_16ths, -b.boards, -b.boards, 'backflush', b.day, NULL, 2, NULL, NULL, NULL,
        NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'completions', coalesce(q.place, b.import_line), b.import_id, b.import_line
    FROM steps.backflush_moves AS b
    LEFT JOIN steps.row_order AS q ON q.import_id = b.import_id AND q.import_line = b.import_line
),
items AS (
    SELECT size, species, grade, length_16ths, min(moved_on) AS first_on
    FROM (
        SELECT size, species, grade, length_16ths, moved_on FROM moved
        UNION ALL SELECT size, species, grade, length_16ths, counted_on FROM counts
        UNION ALL SELECT size, species, grade, length_16ths, first_on FROM steps.opening_items
    )
    GROUP BY ALL
),
-- A full count says of every item that it doesn't list that nothing is there.
full_counts AS (
    SELECT counted_on, min_by(import_id, (import_id, import_line)) AS import_id, min_by(import_line, (import_id, import_line)) AS import_line
    FROM counts
    WHERE scope = 'full'
    GROUP BY counted_on
),
counted AS (
    SELECT counted_on, size, species, grade, length_16ths, boards, usd_per_mbf, import_id, import_line
    FROM counts
    UNION ALL
    SELECT f.counted_on, i.size, i.species, i.grade, i.length_16ths, 0, NULL, f.import_id, f.import_line
    FROM full_counts AS f
    JOIN items AS i ON i.first_on <= f.counted_on
    WHERE NOT EXISTS (
        SELECT 1 FROM counts AS c
        WHERE c.counted_on = f.counted_on AND c.size = i.size AND c.species = i.species AND c.grade = i.grade AND c.length_16ths = i.length_16ths)
),
moves AS (
    SELECT * FROM moved
    UNION ALL
    SELECT
        c.size, c.species, c.grade, c.length_16ths, 0, 0, CASE WHEN c.counted_on = f.counted_on THEN 'opening' ELSE 'count' END,
        c.counted_on, NULL, CASE WHEN c.counted_on = f.counted_on THEN 0 ELSE 3 END, NULL, NULL, NULL,
        NULL, NULL, NULL, NULL, NULL, NULL, NULL,
        c.usd_per_mbf, NULL, c.boards, 'counts', 1, c.import_id, c.import_line
    FROM counted AS c
    CROSS JOIN steps.first_count AS f
),
ordered AS (
    SELECT
        m.*,
        row_number() OVER (
            ORDER BY m.moved_on, m.place, m.moved_at,
                try_cast(m.document AS BIGINT), m.document, try_cast(m.document_line AS BIGINT), m.document_line, m.vendor,
                try_cast(m.record AS BIGINT), m.record, m.station, m.row_place, m.size, m.species, m.grade, m.length_16ths, m.job, m.batch, m.kind, m.boards, m.import_id
        ) AS move_id
    FROM moves AS m
),
-- A number for each item: windows by one whole number take half the time of those by four
-- columns.
item_numbers AS (
    SELECT
        i.size, i.species, i.grade, i.length_16ths, (row_number() OVER (ORDER BY i.size, i.species, i.grade, i.length_16ths))::INTEGER AS item,
        coalesce(o.book, 0) AS book, coalesce(o.counted, 0) AS counted, coalesce(o.in_to, 0) AS in_to, coalesce(o.out_to, 0) AS out_to, o.landed_e4
    FROM (SELECT DISTINCT size, species, grade, length_16ths FROM ordered) AS i
    LEFT JOIN steps.opening_items AS o ON o.size = i.size AND o.species = i.species AND o.grade = i.grade AND o.length_16ths = i.length_16ths
),
numbered AS (
    SELECT o.move_id, n.item, o.kind, o.usd_per_mbf, o.counted, o.boards, o.queue_boards
    FROM ordered AS o
    JOIN item_numbers AS n ON n.size = o.size AND n.species = o.species AND n.grade = o.grade AND n.length_16ths = o.length_16ths
),
booked AS (
    SELECT
        o.move_id, o.item, o.counted, n.counted AS counted_before,
        n.book + sum(o.boards) OVER (PARTITION BY o.item ORDER BY o.move_id ROWS UNBOUNDED PRECEDING) AS book
    FROM numbered AS o
    JOIN item_numbers AS n USING (item)
),
-- What a count finds above or below the book, which it then becomes.
differences AS (
    SELECT
        b.move_id,
        (b.counted - b.book - coalesce(lag(b.counted - b.book) OVER (PARTITION BY b.item ORDER BY b.move_id), b.counted_before))::BIGINT AS boards
    FROM booked AS b
    WHERE b.counted IS NOT NULL
),
settled AS (
    SELECT
        o.move_id, o.item, coalesce(d.boards, o.boards)::BIGINT AS boards, coalesce(d.boards, o.queue_boards)::BIGINT AS queue_boards,
        CASE WHEN o.kind IN ('receipt', 'opening') THEN (o.usd_per_mbf * 10000)::BIGINT END AS landed_e4
    FROM numbered AS o
    LEFT JOIN differences AS d ON d.move_id = o.move_id
    WHERE coalesce(d.boards, o.boards) <> 0
),
-- Running totals and last prices, before the rest of each row is put beside them: sorting
-- whole rows would cost many times as much.
running AS (
    SELECT
        s.move_id, s.boards, s.queue_boards, s.landed_e4,
        -- A count that finds what the book says moves nothing, and has no number.
        getvariable('kept_board_moves') + row_number() OVER (ORDER BY s.move_id) AS number,
        coalesce(last_value(s.landed_e4 IGNORE NULLS) OVER (
            PARTITION BY s.item ORDER BY s.move_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING), n.landed_e4) AS last_e4,
        (n.in_to + sum(greatest(0, s.queue_boards)) OVER moves_so_far)::BIGINT AS in_to,
        (n.out_to + sum(greatest(0, -s.queue_boards)) OVER moves_so_far)::BIGINT AS out_to
    FROM settled AS s
    JOIN item_numbers AS n USING (item)
    WINDOW moves_so_far AS (PARTITION BY s.item ORDER BY s.move_id ROWS UNBOUNDED PRECEDING)
),
-- The price that quotes use, for boards of which no landed price is known.
item_days AS (
    SELECT DISTINCT size, species, grade, length_16ths, moved_on FROM ordered
),
quoted AS (
    SELECT s.*, (coalesce(l.usd_per_mbf, a.usd_per_mbf) * 10000)::BIGINT AS quoting_e4
    FROM item_days AS s
    ASOF LEFT JOIN (SELECT * FROM lumber_prices WHERE length_16ths IS NOT NULL) AS l
        ON l.size = s.size AND l.species = s.species AND l.grade = s.grade AND l.length_16ths = s.length_16ths AND s.moved_on >= l.effective_on
    ASOF LEFT JOIN (SELECT * FROM lumber_prices WHERE length_16ths IS NULL) AS a
        ON a.size = s.size AND a.species = s.species AND a.grade = s.grade AND s.moved_on >= a.effective_on
)
SELECT
    o.* REPLACE (r.boards AS boards, r.queue_boards AS queue_boards, r.number AS move_id),
    q.quoting_e4,
    -- What the boards were taken for: job wins, then batch, then station.
    CASE WHEN o.job IS NOT NULL THEN 'job' WHEN o.batch IS NOT NULL THEN 'batch' WHEN o.station IS NOT NULL THEN 'station' END AS taken_by,
    coalesce(o.job, o.batch, o.station) AS taker,
    -- Price of an unpriced packing slip or opening count: the item's last landed price, else
    -- the quoting price, flagged.
    CASE WHEN o.kind IN ('receipt', 'opening') THEN coalesce(r.landed_e4, r.last_e4, q.quoting_e4) END AS priced_e4,
    r.in_to, r.out_to
FROM ordered AS o
JOIN running AS r USING (move_id)
JOIN quoted AS q ON q.size = o.size AND q.species = o.species AND q.grade = o.grade AND q.length_16ths = o.length_16ths AND q.moved_on = o.moved_on;
COMMENT ON TABLE steps.board_moves IS 'one movement of one item; boards positive into stock, negative out of it; move_id is the ledger order';
COMMENT ON COLUMN steps.board_moves.queue_boards IS 'of boards, those that enter or leave a layer: what corrections cancel is left out';

-- grain: one stretch of boards of one item with one layer (or none) and one issue (or none)
-- renewed: r.up_to > coalesce((SELECT least(o.in_to, o.out_to) FROM steps.opening_items AS o WHERE o.size = r.size AND o.species = r.species AND o.grade = r.grade AND o.length_16ths = r.length_16ths), 0)
-- reads: steps.board_moves where r.move_id > kept_board_moves OR greatest(CASE WHEN r.queue_boards > 0 THEN r.in_to END, CASE WHEN r.queue_boards < 0 THEN r.out_to END) > (SELECT least(o.in_to, o.out_to) FROM steps.opening_items AS o WHERE o.size = r.size AND o.species = r.species AND o.grade = r.grade AND o.length_16ths = r.length_16ths)
CREATE OR REPLACE TABLE steps.board_matches AS
WITH marks AS (
    SELECT size, species, grade, length_16ths, in_to AS up_to, move_id AS in_id, NULL::BIGINT AS out_id
    FROM steps.board_moves WHERE queue_boards > 0
    UNION ALL
    SELECT size, species, grade, length_16ths, out_to, NULL, move_id
    FROM steps.board_moves WHERE queue_boards < 0
),
points AS (
    SELECT size, species, grade, length_16ths, up_to, any_value(in_id) AS in_id, any_value(out_id) AS out_id
    FROM marks
    GROUP BY size, species, grade, length_16ths, up_to
)
SELECT
    p.size, p.species, p.grade, p.length_16ths,
    coalesce(lag(p.up_to) OVER item, least(o.in_to, o.out_to), 0) AS above,
    p.up_to,
    first_value(p.in_id IGNORE NULLS) OVER following AS in_id,
    first_value(p.out_id IGNORE NULLS) OVER following AS out_id
FROM points AS p
LEFT JOIN steps.opening_items AS o ON o.size = p.size AND o.species = p.species AND o.grade = p.grade AND o.length_16ths = p.length_16ths
WINDOW
    item AS (PARTITION BY p.size, p.species, p.grade, p.length_16ths ORDER BY p.up_to),
    following AS (PARTITION BY p.size, p.species, p.grade, p.length_16ths ORDER BY p.up_to ROWS BETWEEN CURRENT ROW AND UNBOUNDED FOLLOWING);

-- grain: one movement and the item's last priced receipt or opening count before it
-- renewed: move_id > kept_board_moves
-- reads: steps.board_moves where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.last_landed AS
SELECT
    m.move_id,
    coalesce(last_value(CASE WHEN m.kind IN ('receipt', 'opening') AND m.priced_e4 IS NOT NULL AND m.boards > 0 THEN m.move_id END IGNORE NULLS) OVER (
        PARTITION BY m.size, m.species, m.grade, m.length_16ths ORDER BY m.move_id ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW), o.receipt_id) AS receipt_id
FROM steps.board_moves AS m
LEFT JOIN steps.opening_items AS o ON o.size = m.size AND o.species = m.species AND o.grade = m.grade AND o.length_16ths = m.length_16ths;
COMMENT ON TABLE steps.last_landed IS 'where the last landed price of an item stands, for boards whose own cost is not known';

-- grain: one issue and the layer, or shortage, that part of it is served from
-- renewed: out_id > kept_board_moves
-- reads: steps.board_matches where out_id > kept_board_moves
-- reads: steps.last_landed where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.issue_parts AS
SELECT
    m.out_id, m.in_id, m.up_to - m.above AS boards,
    m.above - (i.in_to - i.queue_boards) AS layer_above,
    m.up_to - (i.in_to - i.queue_boards) AS layer_to,
    i.queue_boards AS layer_boards,
    coalesce(m.in_id > m.out_id, true) AS is_short,
    l.receipt_id AS last_receipt_id,
    (sum(m.up_to - m.above) OVER (
        PARTITION BY m.out_id, coalesce(m.in_id > m.out_id, true) ORDER BY m.up_to - (i.in_to - i.queue_boards) NULLS LAST, m.in_id ROWS UNBOUNDED PRECEDING))::BIGINT AS short_to
FROM steps.board_matches AS m
JOIN steps.last_landed AS l ON l.move_id = m.out_id
LEFT JOIN steps.board_moves AS i ON i.move_id = m.in_id
WHERE m.out_id IS NOT NULL;
COMMENT ON TABLE steps.issue_parts IS 'which boards of a layer an issue took; is_short: they were not there yet, or never came';
COMMENT ON COLUMN steps.issue_parts.short_to IS 'running total of the boards of the issue that were there, or of those that were not';

-- grain: one issue of lumber_usage
CREATE OR REPLACE VIEW steps.issued_boards AS
SELECT *
FROM steps.board_moves
WHERE feed = 'lumber_usage' AND queue_boards < 0;

-- grain: one return and the earlier issue whose cost it goes back at. The issue is one of
-- the same job, else of the same batch, else of a batch of which parts of that job were
-- logged, else of the same station when neither row names more; of the board's own length
-- first, else of a longer one; then the latest.
-- renewed: in_id > kept_board_moves
-- reads: steps.board_moves where move_id > kept_board_moves
-- reads: steps.issued_boards where job IN (SELECT job FROM returned_for) OR batch IN (SELECT batch FROM returned_for) OR record IN (SELECT corrects FROM returned_for) OR taken_by = 'station' AND station IN (SELECT station FROM returned_for)
CREATE OR REPLACE TABLE steps.return_sources AS
WITH returned AS (
    SELECT move_id, kind, queue_boards, size, species, grade, length_16ths, from_length_16ths, job, batch, station, taken_by, corrects
    FROM steps.board_moves
    WHERE feed = 'lumber_usage' AND queue_boards > 0
),
issued AS (
    SELECT move_id, record, queue_boards, size, species, grade, length_16ths, job, batch, station, taken_by
    FROM steps.issued_boards
),
job_batches AS (
    SELECT DISTINCT job, batch FROM completions WHERE batch IS NOT NULL
),
related AS (
    SELECT r.move_id AS in_id, i.move_id AS out_id, 0 AS distance, r.length_16ths, r.from_length_16ths, i.length_16ths AS parent_length_16ths
    FROM returned AS r
    JOIN issued AS i ON i.record = r.corrects
    UNION ALL
    SELECT r.move_id, i.move_id, 1, r.length_16ths, r.from_length_16ths, i.length_16ths
    FROM returned AS r
    JOIN issued AS i ON i.job = r.job AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    UNION ALL
    SELECT r.move_id, i.move_id, 2, r.length_16ths, r.from_length_16ths, i.length_16ths
    FROM returned AS r
    JOIN issued AS i ON i.batch = r.batch AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE r.job IS NULL OR i.job IS NULL
    UNION ALL
    SELECT r.move_id, i.move_id, 3, r.length_16ths, r.from_length_16ths, i.length_16ths
    FROM returned AS r
    JOIN job_batches AS b ON b.job = r.job
    JOIN issued AS i ON i.batch = b.batch AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE i.job IS NULL
    UNION ALL
    SELECT r.move_id, i.move_id, 4, r.length_16ths, r.from_length_16ths, i.length_16ths
    FROM returned AS r
    JOIN issued AS i ON i.station = r.station AND i.size = r.size AND i.species = r.species AND i.grade = r.grade
    WHERE r.taken_by = 'station' AND i.taken_by = 'station'
),
chosen AS (
    SELECT l.in_id, l.out_id
    FROM related AS l
    WHERE l.out_id < l.in_id
        AND (l.distance = 0
            OR l.parent_length_16ths >= coalesce(l.from_length_16ths, l.length_16ths)
            AND (l.from_length_16ths IS NULL OR l.parent_length_16ths = l.from_length_16ths))
    QUALIFY row_number() OVER (
        PARTITION BY l.in_id ORDER BY l.distance, l.parent_length_16ths <> coalesce(l.from_length_16ths, l.length_16ths), l.out_id DESC) = 1
)
SELECT
    r.move_id AS in_id, i.move_id AS out_id, r.queue_boards AS returned_boards, -i.queue_boards AS issued_boards,
    r.length_16ths, i.length_16ths AS parent_length_16ths,
    r.kind = 'return' AND coalesce(r.length_16ths < coalesce(r.from_length_16ths, i.length_16ths), false) AND r.length_16ths < s.remnant_min_16ths AS below_minimum
FROM returned AS r
CROSS JOIN settings AS s
LEFT JOIN chosen AS c ON c.in_id = r.move_id
LEFT JOIN issued AS i ON i.move_id = c.out_id;
COMMENT ON TABLE steps.return_sources IS 'the issue that a return reverses; out_id is NULL when none is known, and the last landed price stands in';

-- grain: one layer whose cost is settled so far; receipts and counts first, returns below and
-- by the next file. Boards of which no price is known count at 0.00 and carry the flag.
-- renewed: in_id > kept_board_moves
-- reads: steps.board_moves where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.layer_costs AS
SELECT
    m.move_id AS in_id,
    rounded_quotient(m.boards::HUGEINT * section_16ths(m.size) * m.length_16ths * coalesce(m.priced_e4, 0), 36864::HUGEINT * 100000)
        + usd_to_cents(coalesce(m.freight_usd, 0)) - coalesce(usd_to_cents(r.credit_usd), 0) AS cents,
    m.boards,
    m.priced_e4 IS NULL AS unpriced
FROM steps.board_moves AS m
-- A vendor's credit that came with the lumber is part of its cost from the first board on.
LEFT JOIN receipts AS r ON r.import_id = CASE WHEN m.kind = 'receipt' THEN m.import_id END AND r.import_line = m.import_line AND coalesce(r.credited_on, r.received_on) = r.received_on
WHERE m.kind IN ('receipt', 'opening') AND m.boards > 0;
-- What a count finds, and a return without a known issue, takes the last landed price, else
-- the quoting price.
-- reads: steps.board_moves where move_id > kept_board_moves
-- reads: steps.return_sources where in_id > kept_board_moves
INSERT INTO steps.layer_costs
SELECT
    m.move_id,
    CASE WHEN r.below_minimum THEN 0
         WHEN c.in_id IS NOT NULL THEN rounded_quotient(c.cents::HUGEINT * m.queue_boards, c.boards)
         ELSE rounded_quotient(m.queue_boards::HUGEINT * section_16ths(m.size) * m.length_16ths * coalesce(m.quoting_e4, 0), 36864::HUGEINT * 100000) END,
    m.queue_boards,
    NOT coalesce(r.below_minimum, false) AND c.in_id IS NULL AND m.quoting_e4 IS NULL
FROM steps.board_moves AS m
JOIN steps.last_landed AS l ON l.move_id = m.move_id
LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
LEFT JOIN steps.layer_costs AS c ON c.in_id = l.receipt_id
WHERE m.kind = 'count' AND m.boards > 0 OR r.in_id IS NOT NULL AND (r.out_id IS NULL OR r.below_minimum);
COMMENT ON TABLE steps.layer_costs IS 'landed cost of a layer in cents, freight included; unpriced: no price is known, and the cents are 0';

-- grain: one receipt that a vendor credited later, and what of the credit its boards on hand
-- get that evening; the rest is for boards already used
CREATE OR REPLACE TABLE steps.layer_credits AS
WITH credits AS (
    SELECT m.move_id AS in_id, r.credited_on, usd_to_cents(r.credit_usd) AS cents, m.boards, r.import_id, r.import_line
    FROM receipts AS r
    JOIN steps.board_moves AS m ON m.kind = 'receipt' AND m.import_id = r.import_id AND m.import_line = r.import_line
    WHERE r.credit_usd > 0 AND r.credited_on > r.received_on
),
used AS (
    SELECT c.in_id, coalesce(max(CASE WHEN o.moved_on <= c.credited_on THEN p.layer_to END), 0)::BIGINT AS boards
    FROM credits AS c
    LEFT JOIN steps.issue_parts AS p ON p.in_id = c.in_id
    LEFT JOIN steps.board_moves AS o ON o.move_id = p.out_id
    GROUP BY c.in_id
)
SELECT
    c.in_id, c.credited_on, c.cents, u.boards AS used_boards, c.boards - u.boards AS left_boards,
    rounded_quotient(c.cents * (c.boards - u.boards), c.boards) AS left_cents, c.import_id, c.import_line
FROM credits AS c
JOIN used AS u USING (in_id);
COMMENT ON TABLE steps.layer_credits IS 'a vendor''s credit after the receipt: left_cents cheapen the boards still on hand, the rest goes to the pool lumber_credit';

-- grain: one part of an issue under moving average: its cost from the pool; filled between
-- this file and the next where plant.toml says average
CREATE OR REPLACE TABLE steps.average_costs (
    out_id      BIGINT NOT NULL,
    layer_to    BIGINT NOT NULL,
    in_id       BIGINT NOT NULL,
    posted_cents BIGINT NOT NULL,
    unpriced    BOOLEAN NOT NULL
);
COMMENT ON TABLE steps.average_costs IS 'cents of the boards of an issue that were on hand, at the moving average';

-- grain: one item under moving average
CREATE OR REPLACE TABLE steps.average_pools (
    item   VARCHAR NOT NULL,
    boards BIGINT NOT NULL,
    cents  BIGINT NOT NULL
);
COMMENT ON TABLE steps.average_pools IS 'boards on hand of one item (size, species, grade and length, joined) and what they cost, at the end';

-- grain: one part of an issue with the cents first posted for it; NULL while its layer waits
CREATE OR REPLACE VIEW steps.issue_costs AS
WITH parts AS (
    SELECT
        p.*, c.cents AS layer_cents, c.unpriced AS layer_unpriced,
        -- Price of boards that were not there: the last landed, else the quoting price.
        coalesce(l.cents::HUGEINT, section_16ths(o.size)::HUGEINT * o.length_16ths * o.quoting_e4) AS last_over,
        coalesce(l.boards::HUGEINT, 36864::HUGEINT * 100000) AS last_under,
        -- A credit that came before this issue cheapens it.
        CASE WHEN o.moved_on > k.credited_on AND k.left_boards > 0
            THEN rounded_quotient((p.layer_to - k.used_boards) * k.left_cents, k.left_boards) - rounded_quotient((p.layer_above - k.used_boards) * k.left_cents, k.left_boards)
            ELSE 0 END AS credit_cents,
        a.posted_cents AS average_cents, a.unpriced AS average_unpriced, s.costing
    FROM steps.issue_parts AS p
    JOIN steps.board_moves AS o ON o.move_id = p.out_id
    CROSS JOIN settings AS s
    LEFT JOIN steps.layer_costs AS c ON c.in_id = p.in_id
    LEFT JOIN steps.layer_costs AS l ON l.in_id = p.last_receipt_id
    LEFT JOIN steps.layer_credits AS k ON k.in_id = p.in_id
    LEFT JOIN steps.average_costs AS a ON a.out_id = p.out_id AND a.in_id = p.in_id AND a.layer_to = p.layer_to
)
SELECT
    out_id, in_id, boards, is_short, layer_to,
    CASE WHEN is_short AND last_over IS NULL THEN 0
         WHEN is_short THEN rounded_quotient(short_to * last_over, last_under) - rounded_quotient((short_to - boards) * last_over, last_under)
         WHEN costing = 'average' THEN average_cents
         ELSE rounded_quotient(layer_to * layer_cents, layer_boards) - rounded_quotient(layer_above * layer_cents, layer_boards) - credit_cents
    END AS posted_cents,
    CASE WHEN is_short
        THEN rounded_quotient(layer_to * layer_cents, layer_boards) - rounded_quotient(layer_above * layer_cents, layer_boards)
    END AS true_cents,
    -- Posted without a price, so that a return can't go back at it.
    CASE WHEN is_short THEN last_over IS NULL WHEN costing = 'average' THEN coalesce(average_unpriced, true) ELSE coalesce(layer_unpriced, true) END AS posted_unpriced,
    -- Unknown still: neither a price when issued nor one since.
    CASE WHEN is_short THEN last_over IS NULL AND coalesce(layer_unpriced, true)
         WHEN costing = 'average' THEN coalesce(average_unpriced, true) ELSE coalesce(layer_unpriced, true) END AS unpriced
FROM parts;
COMMENT ON VIEW steps.issue_costs IS 'cents of each part of an issue as first posted, and as the late receipt made them';
