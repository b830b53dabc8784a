-- sheet:  stock_lengths
-- title:  Stock lengths taken against those that fit
-- reader: purchasing
-- grain:  one row per size, species, grade and stock length taken or planned for batches whose cutting ended in the period, and one per reason why a batch has no plan
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: size           | Size        | text  | -   | nominal section
-- column: species        | Species     | text  | -   | as stamped
-- column: grade          | Grade       | text  | -   | as stamped
-- column: length         | Length      | text  | -   | stock length, feet-inches-sixteenths
-- column: taken_boards   | Taken       | count | sum | to cut, less those put back; recuts and culls left out
-- column: batch_boards   | Batch plan  | count | sum | boards that the cheapest plans found take, batch by batch
-- column: week_boards    | Week plan   | count | sum | the same with all parts of a workweek sharing boards
-- column: over_boards    | Over        | count | sum | taken less batch plan: above 0, another length would have fitted better
-- column: taken_bf       | Taken       | bf    | sum | board feet of the boards taken
-- column: batch_bf       | Batch plan  | bf    | sum | board feet of the batch plans
-- column: board_usd      | Price of a board | usd   | -   | what one cost when it last came, freight included
-- column: on_hand_boards | On hand     | count | sum | at the end of the period
-- column: basis          | Parts by    | text  | -   | cut list; else why batches are left out, and how many
-- column: item           | Item        | text  | -   | in one, for the chart
-- chart:  bar 20 | Boards taken against the batch plans, by stock length | item | taken_boards, batch_boards | boards | Bars of the boards taken and of those that the batch plans take, for each item and length in the order of the rows
-- needs:  cutting
-- note:   Remnants put back stand under their own length. A plan is a bound for purchasing, not saw instructions; it never moves a part to another size, species or grade.
-- sort:   size, species, grade, length
WITH taken AS (
    SELECT b.size, b.species, b.grade, b.length_16ths, sum(b.cut_boards)::BIGINT AS boards
    FROM steps.cut_boards AS b
    JOIN steps.yield_units AS u ON u.unit_kind = b.unit_kind AND u.unit = b.unit
    WHERE u.state = 'whole' AND u.cut_on >= $from::DATE AND u.cut_on < $until::DATE
    GROUP BY ALL
),
planned AS (
    SELECT size, species, grade, length_16ths,
        sum(CASE WHEN pool = 'batch' THEN boards ELSE 0 END)::BIGINT AS batch_boards, sum(CASE WHEN pool = 'week' THEN boards ELSE 0 END)::BIGINT AS week_boards
    FROM temp.cut_plan_boards
    GROUP BY ALL
),
on_hand AS (
    SELECT size, species, grade, length_16ths, sum(boards)::BIGINT AS boards
    FROM board_ledger
    WHERE moved_on < $until::DATE
    GROUP BY ALL
),
lengths AS (
    SELECT size, species, grade, length_16ths FROM taken WHERE boards <> 0
    UNION
    SELECT size, species, grade, length_16ths FROM planned WHERE batch_boards + week_boards > 0
),
priced AS (
    SELECT l.*, p.board_e4
    FROM (SELECT *, $until::DATE - 1 AS on_day FROM lengths) AS l
    ASOF LEFT JOIN steps.length_prices AS p
        ON p.size = l.size AND p.species = l.species AND p.grade = l.grade AND p.length_16ths = l.length_16ths AND l.on_day >= p.on_day
),
unplanned AS (
    SELECT reason, count(*) AS units
    FROM steps.unplanned_units
    WHERE cut_on >= $from::DATE AND cut_on < $until::DATE
    GROUP BY reason
),
rows AS (
    SELECT l.*, 'cut list' AS basis, NULL AS reason
    FROM priced AS l
    UNION ALL BY NAME
    SELECT concat(u.reason, ': ', u.units, CASE u.units WHEN 1 THEN ' batch' ELSE ' batches' END, ' left out') AS basis, u.reason
    FROM unplanned AS u
)
SELECT
    l.size::VARCHAR AS size,
    l.species::VARCHAR AS species,
    l.grade::VARCHAR AS grade,
    CASE WHEN l.size IS NOT NULL THEN feet_inches(l.length_16ths) END::VARCHAR AS length,
    CASE WHEN l.size IS NOT NULL THEN coalesce(t.boards, 0) END::BIGINT AS taken_boards,
    CASE WHEN l.size IS NOT NULL THEN coalesce(p.batch_boards, 0) END::BIGINT AS batch_boards,
    CASE WHEN l.size IS NOT NULL THEN coalesce(p.week_boards, 0) END::BIGINT AS week_boards,
    CASE WHEN l.size IS NOT NULL THEN coalesce(t.boards, 0) - coalesce(p.batch_boards, 0) END::BIGINT AS over_boards,
    wood_to_bf(coalesce(t.boards, 0) * wood(l.size, l.length_16ths * 4))::DECIMAL(14,4) AS taken_bf,
    wood_to_bf(coalesce(p.batch_boards, 0) * wood(l.size, l.length_16ths * 4))::DECIMAL(14,4) AS batch_bf,
    cents_to_usd(rounded_quotient(l.board_e4, 100))::DECIMAL(18,2) AS board_usd,
    CASE WHEN l.size IS NOT NULL THEN coalesce(h.boards, 0) END::BIGINT AS on_hand_boards,
    l.basis::VARCHAR AS basis,
    CASE WHEN l.size IS NOT NULL THEN concat_ws(' ', l.size, l.species, l.grade, feet_inches(l.length_16ths)) ELSE l.reason END::VARCHAR AS item
FROM rows AS l
LEFT JOIN taken AS t ON t.size = l.size AND t.species = l.species AND t.grade = l.grade AND t.length_16ths = l.length_16ths
LEFT JOIN planned AS p ON p.size = l.size AND p.species = l.species AND p.grade = l.grade AND p.length_16ths = l.length_16ths
LEFT JOIN on_hand AS h ON h.size = l.size AND h.species = l.species AND h.grade = l.grade AND h.length_16ths = l.length_16ths
ORDER BY l.size, l.species, l.grade, l.length_16ths, l.basis;
