-- sheet:  prices_paid
-- title:  Prices paid by vendor, last 13 weeks
-- reader: purchasing
-- grain:  one row per size, species, grade, length and vendor
-- param:  until DATE   day after the last
-- column: size            | Size           | text  | -   | nominal section
-- column: species         | Species        | text  | -   | as stamped
-- column: grade           | Grade          | text  | -   | as stamped
-- column: length          | Length         | text  | -   | feet-inches-sixteenths
-- column: vendor          | Vendor         | text  | -   | vendor code
-- column: boards          | Boards         | count | sum | boards received
-- column: received_bf     | Received       | bf    | sum | nominal board feet
-- column: lumber_usd      | Lumber         | usd   | sum | price of the boards, an unpriced packing slip at the price that stands in
-- column: freight_usd     | Freight        | usd   | sum | of these lines
-- column: credit_usd      | Credit         | usd   | sum | credited by the vendor for bad lumber
-- column: landed_usd      | Landed         | usd   | sum | lumber and freight less credit
-- column: per_mbf_usd     | Landed per MBF | usd   | -   | a thousand board feet, landed
-- column: quoting_per_mbf_usd | Quoting per MBF | usd | -  | the price that quotes used for the same boards on the same days; blank where one is missing
-- column: variance_usd    | Over quoting   | usd   | sum | landed less the same boards at the quoting price
-- column: others_per_mbf_usd | Others per MBF | usd | -    | what other vendors took for the same item in these weeks; blank where nobody else sold it
-- column: against_others_usd | Over others  | usd  | -   | landed less the same board feet at the others' price
-- column: unpriced_lines  | Without price  | count | sum | lines of packing slips that still wait for a price
-- note:   Like for like: same size, species, grade and length.
-- sort:   over quoting, size, species, grade, length, vendor
WITH lines AS (
    SELECT
        m.size, m.species, m.grade, m.length_16ths, m.vendor, m.boards, c.cents - usd_to_cents(coalesce(m.freight_usd, 0))
            + CASE WHEN coalesce(r.credited_on, r.received_on) = r.received_on THEN coalesce(usd_to_cents(r.credit_usd), 0) ELSE 0 END AS lumber_cents,
        usd_to_cents(coalesce(m.freight_usd, 0)) AS freight_cents, coalesce(usd_to_cents(r.credit_usd), 0) AS credit_cents,
        rounded_quotient(m.boards::HUGEINT * section_16ths(m.size) * m.length_16ths * m.quoting_e4, 36864::HUGEINT * 100000) AS quoting_cents,
        m.usd_per_mbf IS NULL AS no_price
    FROM steps.board_moves AS m
    JOIN steps.layer_costs AS c ON c.in_id = m.move_id
    JOIN receipts AS r ON r.import_id = m.import_id AND r.import_line = m.import_line
    WHERE m.kind = 'receipt' AND m.moved_on >= $until::DATE - 91 AND m.moved_on < $until::DATE
),
summed AS (
    SELECT
        size, species, grade, length_16ths, vendor, sum(boards)::BIGINT AS boards, sum(boards * wood(size, length_16ths * 4))::BIGINT AS wood,
        sum(lumber_cents)::BIGINT AS lumber, sum(freight_cents)::BIGINT AS freight, sum(credit_cents)::BIGINT AS credit,
        sum(lumber_cents + freight_cents - credit_cents)::BIGINT AS landed,
        CASE WHEN count(*) = count(quoting_cents) THEN sum(quoting_cents)::BIGINT END AS quoting,
        sum(no_price::INT)::BIGINT AS unpriced_lines
    FROM lines
    GROUP BY size, species, grade, length_16ths, vendor
),
compared AS (
    SELECT
        s.*, sum(s.landed) OVER item - s.landed AS others_landed, sum(s.wood) OVER item - s.wood AS others_wood
    FROM summed AS s
    WINDOW item AS (PARTITION BY s.size, s.species, s.grade, s.length_16ths)
)
SELECT
    c.size::VARCHAR AS size,
    c.species::VARCHAR AS species,
    c.grade::VARCHAR AS grade,
    feet_inches(c.length_16ths)::VARCHAR AS length,
    c.vendor::VARCHAR AS vendor,
    c.boards::BIGINT AS boards,
    wood_to_bf(c.wood)::DECIMAL(14,4) AS received_bf,
    cents_to_usd(c.lumber)::DECIMAL(18,2) AS lumber_usd,
    cents_to_usd(c.freight)::DECIMAL(18,2) AS freight_usd,
    cents_to_usd(c.credit)::DECIMAL(18,2) AS credit_usd,
    cents_to_usd(c.landed)::DECIMAL(18,2) AS landed_usd,
    cents_to_usd(rounded_quotient(c.landed::HUGEINT * 147456000, c.wood))::DECIMAL(18,2) AS per_mbf_usd,
    cents_to_usd(rounded_quotient(c.quoting::HUGEINT * 147456000, c.wood))::DECIMAL(18,2) AS quoting_per_mbf_usd,
    cents_to_usd(c.landed - c.quoting)::DECIMAL(18,2) AS variance_usd,
    CASE WHEN c.others_wood > 0 THEN cents_to_usd(rounded_quotient(c.others_landed::HUGEINT * 147456000, c.others_wood::HUGEINT)) END::DECIMAL(18,2) AS others_per_mbf_usd,
    CASE WHEN c.others_wood > 0 THEN cents_to_usd(c.landed - rounded_quotient(c.others_landed::HUGEINT * c.wood, c.others_wood::HUGEINT)) END::DECIMAL(18,2) AS against_others_usd,
    c.unpriced_lines::BIGINT AS unpriced_lines
FROM compared AS c
ORDER BY c.landed - c.quoting DESC NULLS LAST, c.size, c.species, c.grade, c.length_16ths, c.vendor;
