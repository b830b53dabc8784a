-- sheet:  buy_list
-- title:  What to buy for the jobs not yet cut
-- reader: purchasing
-- grain:  one row per size, species, grade and stock length of the plan or of today's habit, for trusses ordered and not cut by the period's end; and one for those without a cut list
-- param:  until DATE   day after the last
-- column: size            | Size         | text  | -   | nominal section
-- column: species         | Species      | text  | -   | as the design calls for
-- column: grade           | Grade        | text  | -   | as the design calls for
-- column: length          | Length       | text  | -   | stock length, feet-inches-sixteenths
-- column: plan_boards     | Plan         | count | sum | boards of the cheapest plan found for all parts still to be cut
-- column: plan_bf         | Plan         | bf    | sum | board feet of them
-- column: plan_usd        | Plan         | usd   | sum | at what each length cost when it last came
-- column: plan_yield_pct  | Plan yield   | pct   | -   | parts over boards of this size, species and grade, by the plan
-- column: habit_boards    | Habit        | count | sum | boards for the same parts in the mix of lengths and at the yield of the last 13 weeks, rounded up
-- column: habit_bf        | Habit        | bf    | sum | board feet of them
-- column: habit_usd       | Habit        | usd   | sum | at the same prices
-- column: habit_yield_pct | Habit yield  | pct   | -   | parts over boards of this size, species and grade, by habit
-- column: on_hand_boards  | On hand      | count | sum | at the end of the period
-- column: on_order_boards | On order     | count | sum | still to come
-- column: due_on          | First due    | on    | -   | day on which the first of them is due
-- column: lateness        | Order        | text  | -   | OVERDUE where that day is past at the period's end
-- column: short_boards    | Short        | count | sum | plan less on hand and on order, 0 where there is enough
-- column: packs           | Packs        | count | sum | whole units that cover it; blank where plant.toml has no pack of the size
-- column: buy_boards      | Buy          | count | sum | boards in those packs, else the boards short
-- column: spare_boards    | Spare        | count | sum | buy less short: stays in the yard
-- column: buy_usd         | Buy          | usd   | sum | at what the length cost when it last came
-- column: other_boards    | On hand, other lengths | count | - | boards of the same size, species and grade on hand in lengths that the plan takes none of
-- column: other_bf        | On hand, other lengths | bf | -    | board feet of them; a row's own length left out
-- emphasis: lateness | word | OVERDUE
-- chart:  bar 20 | Boards by plan and by habit, by stock length | item | plan_boards, habit_boards | boards | Bars of the boards that the plan and the habit take, for each item and length in the order of the rows
-- column: basis           | Parts by     | text  | -   | cut list; else which trusses are not in the list, because nobody knows their parts
-- column: item            | Item         | text  | -   | in one, for the chart
-- needs:  cutting
-- note:   A purchasing aid, not saw instructions; it never moves a part to another size, species or grade. Boards on order are netted whenever they are due: look at the day.
-- note:   A plan may choose lengths: before buying, see whether boards of other lengths on hand would serve.
-- sort:   size, species, grade, length
WITH classes AS (
    SELECT size, species, grade, wood(size, parts_64ths) AS parts
    FROM temp.buy_plans
),
recent AS (
    SELECT b.size, b.species, b.grade, b.length_16ths, greatest(0, sum(b.cut_boards + b.lost_boards))::BIGINT AS boards
    FROM steps.cut_boards AS b
    JOIN steps.yield_units AS u ON u.unit_kind = b.unit_kind AND u.unit = b.unit
    WHERE u.state = 'whole' AND u.cut_on >= $until::DATE - 91 AND u.cut_on < $until::DATE
    GROUP BY ALL
),
mix AS (
    SELECT r.*, r.boards * wood(r.size, r.length_16ths * 4) AS wood, sum(r.boards * wood(r.size, r.length_16ths * 4)) OVER (PARTITION BY r.size, r.species, r.grade) AS class_wood
    FROM recent AS r
    WHERE r.boards > 0
),
yielded AS (
    SELECT y.size, y.species, y.grade, sum(y.parts)::HUGEINT AS parts, sum(y.issued - y.returned)::HUGEINT AS net
    FROM steps.yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
    WHERE u.state = 'whole' AND u.cut_on >= $until::DATE - 91 AND u.cut_on < $until::DATE
    GROUP BY ALL
),
-- The wood that the parts take at the recent yield, in the recent mix of lengths.
habit AS (
    SELECT
        c.size, c.species, c.grade, m.length_16ths,
        ((c.parts::HUGEINT * y.net * m.wood + y.parts * m.class_wood * wood(m.size, m.length_16ths * 4) - 1) // (y.parts * m.class_wood * wood(m.size, m.length_16ths * 4)))::BIGINT AS boards
    FROM classes AS c
    JOIN mix AS m ON m.size = c.size AND m.species = c.species AND m.grade = c.grade
    JOIN yielded AS y ON y.size = c.size AND y.species = c.species AND y.grade = c.grade
    WHERE y.parts > 0 AND y.net > 0
),
lengths AS (
    SELECT size, species, grade, length_16ths FROM temp.buy_plan_boards
    UNION
    SELECT size, species, grade, length_16ths FROM habit WHERE boards > 0
),
on_hand AS (
    SELECT size, species, grade, length_16ths, greatest(0, sum(boards))::BIGINT AS boards
    FROM board_ledger
    WHERE moved_on < $until::DATE
    GROUP BY ALL
),
-- What lies there in lengths that the plan leaves alone.
idle AS (
    SELECT s.size, s.species, s.grade, sum(s.boards)::BIGINT AS boards, sum(s.boards * wood(s.size, s.length_16ths * 4))::BIGINT AS wood
    FROM on_hand AS s
    ANTI JOIN temp.buy_plan_boards AS b ON b.size = s.size AND b.species = s.species AND b.grade = s.grade AND b.length_16ths = s.length_16ths AND b.boards > 0
    GROUP BY s.size, s.species, s.grade
),
on_order AS (
    SELECT size, species, grade, length_16ths, sum(boards)::BIGINT AS boards, min(due_on) AS due_on
    FROM purchase_orders
    WHERE boards > 0
    GROUP BY ALL
),
priced AS (
    SELECT l.*, p.board_e4
    FROM (SELECT *, $until::DATE - 1 AS on_day FROM lengths) AS l
    ASOF LEFT JOIN steps.length_prices AS p
        ON p.size = l.size AND p.species = l.species AND p.grade = l.grade AND p.length_16ths = l.length_16ths AND l.on_day >= p.on_day
),
joined AS (
    SELECT
        l.*, coalesce(b.boards, 0) AS plan, coalesce(h.boards, 0) AS habit, coalesce(s.boards, 0) AS on_hand, coalesce(o.boards, 0) AS on_order, o.due_on,
        k.boards AS pack, greatest(0, coalesce(b.boards, 0) - coalesce(s.boards, 0) - coalesce(o.boards, 0)) AS short, c.parts,
        sum(coalesce(b.boards, 0) * wood(l.size, l.length_16ths * 4)) OVER class AS plan_wood, sum(coalesce(h.boards, 0) * wood(l.size, l.length_16ths * 4)) OVER class AS habit_wood
    FROM priced AS l
    LEFT JOIN temp.buy_plan_boards AS b ON b.size = l.size AND b.species = l.species AND b.grade = l.grade AND b.length_16ths = l.length_16ths
    LEFT JOIN habit AS h ON h.size = l.size AND h.species = l.species AND h.grade = l.grade AND h.length_16ths = l.length_16ths
    LEFT JOIN on_hand AS s ON s.size = l.size AND s.species = l.species AND s.grade = l.grade AND s.length_16ths = l.length_16ths
    LEFT JOIN on_order AS o ON o.size = l.size AND o.species = l.species AND o.grade = l.grade AND o.length_16ths = l.length_16ths
    LEFT JOIN packs AS k ON k.size = l.size
    LEFT JOIN classes AS c ON c.size = l.size AND c.species = l.species AND c.grade = l.grade
    WINDOW class AS (PARTITION BY l.size, l.species, l.grade)
),
bought AS (
    SELECT j.*, CASE WHEN j.pack IS NULL THEN j.short ELSE (j.short + j.pack - 1) // j.pack * j.pack END AS buy
    FROM joined AS j
),
unlisted AS (
    SELECT count(*) AS marks, sum(trusses)::BIGINT AS trusses, CASE WHEN count(*) = count(wood) THEN sum(wood)::BIGINT END AS wood
    FROM trusses_without_list($until::DATE)
    HAVING count(*) > 0
),
rows AS (
    SELECT b.*, 'cut list' AS basis
    FROM bought AS b
    UNION ALL BY NAME
    SELECT
        concat('no cut list: ', u.trusses, CASE u.trusses WHEN 1 THEN ' truss of ' ELSE ' trusses of ' END, u.marks, CASE u.marks WHEN 1 THEN ' mark' ELSE ' marks' END,
            CASE WHEN u.wood IS NOT NULL THEN concat(', ', wood_to_bf(u.wood)::DECIMAL(18,2), ' BF by design') END, ', not in this list') AS basis
    FROM unlisted AS u
)
SELECT
    b.size::VARCHAR AS size,
    b.species::VARCHAR AS species,
    b.grade::VARCHAR AS grade,
    CASE WHEN b.size IS NOT NULL THEN feet_inches(b.length_16ths) END::VARCHAR AS length,
    b.plan::BIGINT AS plan_boards,
    wood_to_bf(b.plan * wood(b.size, b.length_16ths * 4))::DECIMAL(14,4) AS plan_bf,
    cents_to_usd(rounded_quotient(b.plan * coalesce(b.board_e4, 0), 100))::DECIMAL(18,2) AS plan_usd,
    share_of(b.parts, b.plan_wood)::DECIMAL(18,6) AS plan_yield_pct,
    b.habit::BIGINT AS habit_boards,
    wood_to_bf(b.habit * wood(b.size, b.length_16ths * 4))::DECIMAL(14,4) AS habit_bf,
    cents_to_usd(rounded_quotient(b.habit * coalesce(b.board_e4, 0), 100))::DECIMAL(18,2) AS habit_usd,
    share_of(b.parts, b.habit_wood)::DECIMAL(18,6) AS habit_yield_pct,
    b.on_hand::BIGINT AS on_hand_boards,
    b.on_order::BIGINT AS on_order_boards,
    b.due_on::DATE AS due_on,
    CASE WHEN b.on_order > 0 AND b.due_on < $until::DATE THEN 'OVERDUE' END::VARCHAR AS lateness,
    b.short::BIGINT AS short_boards,
    CASE WHEN b.pack IS NOT NULL THEN b.buy // b.pack END::BIGINT AS packs,
    b.buy::BIGINT AS buy_boards,
    (b.buy - b.short)::BIGINT AS spare_boards,
    cents_to_usd(rounded_quotient(b.buy * coalesce(b.board_e4, 0), 100))::DECIMAL(18,2) AS buy_usd,
    CASE WHEN b.size IS NOT NULL THEN coalesce(i.boards, 0) - CASE WHEN b.plan = 0 THEN b.on_hand ELSE 0 END END::BIGINT AS other_boards,
    CASE WHEN b.size IS NOT NULL THEN wood_to_bf(coalesce(i.wood, 0) - CASE WHEN b.plan = 0 THEN b.on_hand * wood(b.size, b.length_16ths * 4) ELSE 0 END) END::DECIMAL(14,4) AS other_bf,
    b.basis::VARCHAR AS basis,
    CASE WHEN b.size IS NOT NULL THEN concat_ws(' ', b.size, b.species, b.grade, feet_inches(b.length_16ths)) ELSE 'no cut list' END::VARCHAR AS item
FROM rows AS b
LEFT JOIN idle AS i ON i.size = b.size AND i.species = b.species AND i.grade = b.grade
ORDER BY b.size, b.species, b.grade, b.length_16ths, b.basis;
