-- sheet:  board_rollforward
-- title:  Board roll-forward
-- reader: accountant
-- grain:  one row per item: size, species, grade and length
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: size           | Size        | text  | -   | nominal section
-- column: species        | Species     | text  | -   | as stamped
-- column: grade          | Grade       | text  | -   | as stamped
-- column: length         | Length      | text  | -   | feet-inches-sixteenths
-- column: opening_boards | Opening     | count | sum | boards on hand at the start, the opening count included
-- column: received_boards| Received    | count | sum | receipts
-- column: issued_boards  | Issued      | count | sum | taken to cut, recut, cull, ship or for the shop; below 0
-- column: returned_boards| Returned    | count | sum | put back
-- column: counted_boards | Counted     | count | sum | what counts found above the book, below 0 what they missed
-- column: closing_boards | Closing     | count | sum | the five before it
-- column: opening_bf     | Opening     | bf    | sum | nominal board feet
-- column: received_bf    | Received    | bf    | sum | nominal board feet
-- column: issued_bf      | Issued      | bf    | sum | nominal board feet, below 0
-- column: returned_bf    | Returned    | bf    | sum | nominal board feet
-- column: counted_bf     | Counted     | bf    | sum | nominal board feet
-- column: closing_bf     | Closing     | bf    | sum | nominal board feet
-- column: opening_usd    | Opening     | usd   | sum | landed cost of the boards on hand
-- column: received_usd   | Received    | usd   | sum | landed cost, freight included
-- column: issued_usd     | Issued      | usd   | sum | first in, first out, or at the moving average; below 0
-- column: returned_usd   | Returned    | usd   | sum | at the cost first posted for the issue
-- column: true_up_usd    | Trued up    | usd   | sum | difference between the price assumed for boards not yet received and the receipt's
-- column: counted_usd    | Counted     | usd   | sum | count losses take the oldest boards, gains the last landed price
-- column: credit_usd     | Credited    | usd   | sum | vendors' credits on boards still on hand
-- column: closing_usd    | Closing     | usd   | sum | the seven before it
-- column: basis          | Stands on   | text  | -   | issued by backflush, where nobody logs boards; received at a stand-in price, or with no price known, where the packing slip had none at the period's end; blank where all is recorded
-- note:   Below 0 on hand: more boards were issued than received; see the sheet exceptions of job-margin.
-- note:   A draft for the plant's accountant.
-- sort:   size, species, grade, length
WITH slips AS (
    -- As the list of lines received and not invoiced has it, which is frozen with a closed month.
    SELECT
        vendor, document, size, species, grade, length_16ths,
        CASE WHEN bool_or(priced_by = 'no price known') THEN 'received with no price known' ELSE 'received at a stand-in price' END AS basis
    FROM received_not_invoiced($until::DATE)
    WHERE priced_by <> 'own price'
    GROUP BY vendor, document, size, species, grade, length_16ths
),
moved AS (
    SELECT
        b.size, b.species, b.grade, b.length_16ths, b.boards, b.bf, b.usd,
        CASE
            WHEN b.moved_on < $from::DATE OR b.kind = 'opening' THEN 'opening'
            WHEN b.kind IN ('receipt', 'return', 'true_up', 'count', 'credit') THEN b.kind
            ELSE 'issue'
        END AS part,
        CASE WHEN b.moved_on < $from::DATE THEN NULL WHEN b.kind = 'backflush' THEN 'issued by backflush' WHEN b.kind = 'receipt' THEN s.basis END AS basis
    FROM board_ledger AS b
    LEFT JOIN slips AS s ON b.kind = 'receipt' AND s.vendor IS NOT DISTINCT FROM b.vendor AND s.document IS NOT DISTINCT FROM b.document
        AND s.size = b.size AND s.species = b.species AND s.grade = b.grade AND s.length_16ths = b.length_16ths
    WHERE b.moved_on < $until::DATE
)
SELECT
    m.size::VARCHAR AS size,
    m.species::VARCHAR AS species,
    m.grade::VARCHAR AS grade,
    feet_inches(m.length_16ths)::VARCHAR AS length,
    sum(CASE WHEN m.part = 'opening' THEN m.boards ELSE 0 END)::BIGINT AS opening_boards,
    sum(CASE WHEN m.part = 'receipt' THEN m.boards ELSE 0 END)::BIGINT AS received_boards,
    sum(CASE WHEN m.part = 'issue' THEN m.boards ELSE 0 END)::BIGINT AS issued_boards,
    sum(CASE WHEN m.part = 'return' THEN m.boards ELSE 0 END)::BIGINT AS returned_boards,
    sum(CASE WHEN m.part = 'count' THEN m.boards ELSE 0 END)::BIGINT AS counted_boards,
    sum(m.boards)::BIGINT AS closing_boards,
    sum(CASE WHEN m.part = 'opening' THEN m.bf ELSE 0 END)::DECIMAL(18,6) AS opening_bf,
    sum(CASE WHEN m.part = 'receipt' THEN m.bf ELSE 0 END)::DECIMAL(18,6) AS received_bf,
    sum(CASE WHEN m.part = 'issue' THEN m.bf ELSE 0 END)::DECIMAL(18,6) AS issued_bf,
    sum(CASE WHEN m.part = 'return' THEN m.bf ELSE 0 END)::DECIMAL(18,6) AS returned_bf,
    sum(CASE WHEN m.part = 'count' THEN m.bf ELSE 0 END)::DECIMAL(18,6) AS counted_bf,
    sum(m.bf)::DECIMAL(18,6) AS closing_bf,
    sum(CASE WHEN m.part = 'opening' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS opening_usd,
    sum(CASE WHEN m.part = 'receipt' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS received_usd,
    sum(CASE WHEN m.part = 'issue' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS issued_usd,
    sum(CASE WHEN m.part = 'return' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS returned_usd,
    sum(CASE WHEN m.part = 'true_up' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS true_up_usd,
    sum(CASE WHEN m.part = 'count' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS counted_usd,
    sum(CASE WHEN m.part = 'credit' THEN m.usd ELSE 0 END)::DECIMAL(18,2) AS credit_usd,
    sum(m.usd)::DECIMAL(18,2) AS closing_usd,
    string_agg(DISTINCT m.basis, '; ' ORDER BY m.basis)::VARCHAR AS basis
FROM moved AS m
GROUP BY m.size, m.species, m.grade, m.length_16ths
ORDER BY m.size, m.species, m.grade, m.length_16ths;
