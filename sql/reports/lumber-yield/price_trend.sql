-- sheet:  price_trend
-- title:  Lumber prices by week
-- reader: purchasing
-- grain:  one row per workweek with receipts, of the 26 weeks to the period's end
-- param:  until DATE   day after the last
-- column: workweek        | Workweek        | text  | -   | ISO week of the workweek's fourth day
-- column: starts_on       | Starts          | on    | -   | first day
-- column: received_bf     | Received        | bf    | sum | nominal board feet received
-- column: landed_usd      | Landed          | usd   | sum | lumber and freight less what the vendor credited for these boards, whenever it did: as on prices_paid
-- column: quoting_usd     | At quoting prices | usd | sum | the same boards at the price that quotes used; blank where one is missing
-- column: per_mbf_usd     | Landed per MBF  | usd   | -   | a thousand board feet as received that week
-- column: quoting_per_mbf_usd | Quoting per MBF | usd | -  | the same boards at the quoting prices: the gap between the two is price, not mix
-- chart:  line | Landed and quoting price of the boards received | workweek | per_mbf_usd, quoting_per_mbf_usd | USD per thousand board feet | Two lines over the workweeks: what the boards received cost landed, and what quotes reckon for the same boards
-- note:   Each week's mix of items is its own; compare the two prices of one week, and a week with another only where the mix is alike.
-- sort:   workweek
WITH lines AS (
    SELECT
        w.label, w.workweek_start, m.boards * wood(m.size, m.length_16ths * 4) AS wood,
        c.cents - CASE WHEN r.credited_on <> r.received_on THEN coalesce(usd_to_cents(r.credit_usd), 0) ELSE 0 END AS cents,
        rounded_quotient(m.boards::HUGEINT * section_16ths(m.size) * m.length_16ths * m.quoting_e4, 36864::HUGEINT * 100000) AS quoting_cents
    FROM steps.board_moves AS m
    JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    JOIN receipts AS r ON r.import_id = m.import_id AND r.import_line = m.import_line
    JOIN workweeks AS w ON m.moved_on >= w.workweek_start AND m.moved_on < w.workweek_start + 7
    WHERE m.kind = 'receipt' AND m.moved_on >= $until::DATE - 182 AND m.moved_on < $until::DATE
),
summed AS (
    SELECT label, workweek_start, sum(wood)::BIGINT AS wood, sum(cents)::BIGINT AS cents, CASE WHEN count(*) = count(quoting_cents) THEN sum(quoting_cents)::BIGINT END AS quoting
    FROM lines
    GROUP BY label, workweek_start
)
SELECT
    s.label::VARCHAR AS workweek,
    s.workweek_start::DATE AS starts_on,
    wood_to_bf(s.wood)::DECIMAL(14,4) AS received_bf,
    cents_to_usd(s.cents)::DECIMAL(18,2) AS landed_usd,
    cents_to_usd(s.quoting)::DECIMAL(18,2) AS quoting_usd,
    cents_to_usd(rounded_quotient(s.cents::HUGEINT * 147456000, s.wood))::DECIMAL(18,2) AS per_mbf_usd,
    cents_to_usd(rounded_quotient(s.quoting::HUGEINT * 147456000, s.wood))::DECIMAL(18,2) AS quoting_per_mbf_usd
FROM summed AS s
ORDER BY s.workweek_start;
