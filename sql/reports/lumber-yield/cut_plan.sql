-- sheet:  cut_plan
-- title:  What the parts should have taken
-- reader: purchasing
-- grain:  one row per pool (batch, day, week), size and species of the parts whose cutting ended in the period, and one per reason why a batch has no plan
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: pool           | Pooled by     | text  | -   | parts that may share boards: those of one batch, of all batches of a day, of a workweek; none: no plan is possible
-- column: size           | Size          | text  | -   | nominal section
-- column: species        | Species       | text  | -   | as stamped
-- column: parts_bf       | Parts         | bf    | -   | real cut length, nominal section
-- column: cut_boards     | Cut           | count | -   | boards taken to cut, less those put back
-- column: cut_bf         | Cut           | bf    | -   | board feet of them, remnants put back taken off
-- column: cut_usd        | Cut           | usd   | -   | the same boards at the prices that the pool's plan is made with: those on the day of its last cut
-- column: plan_boards    | Plan          | count | -   | boards of a real plan, each part cut once, kerf and trim counted
-- column: plan_bf        | Plan          | bf    | -   | board feet of them
-- column: plan_usd       | Plan          | usd   | -   | the plan's boards at those prices
-- column: bound_boards   | Bound         | count | -   | no plan takes fewer boards; blank for a week
-- column: bound_bf       | Bound         | bf    | -   | no plan takes fewer board feet; blank for a week
-- column: bound_usd      | Bound         | usd   | -   | no plan of lengths on offer costs less at those prices
-- column: gap_pct        | Gap           | pct   | -     | plan less bound over plan: how far the plan can be from the cheapest
-- column: unavoidable_bf | Unavoidable   | bf    | -   | bound less parts: kerf, trim and offcut that no plan avoids; blank for a week, which has no bound of board feet
-- column: avoidable_bf   | By planning   | bf    | -   | cut less bound: what stock lengths and the order of cutting decide, at most; blank for a week
-- column: lost_bf        | On the floor  | bf    | -   | recuts and culls
-- column: waste_bf       | Waste         | bf    | -   | cut and lost less parts; the three before it where they are known
-- column: avoidable_usd  | By planning   | usd   | -   | cut less plan, in dollars: what the cheapest plan found would have saved
-- chart:  bar | Boards cut against plan and bound, by pool | label | cut_usd, plan_usd, bound_usd | USD | Bars of the dollars of the boards cut, of the plan and of the bound, for each pool, size and species
-- column: label          | Pool and lumber | text | -  | in one, for the chart
-- column: basis          | Parts by      | text  | -   | cut list; else why no plan is possible, and for how many batches
-- needs:  cutting
-- note:   The batch is the fair pool for the saw, which gets its boards batch by batch; the week is purchasing's, which can choose lengths for all of it. Plans take boards of the parts' own size, species and grade, of lengths that came within half a year, as many as they need.
-- note:   Plans go for the least dollars, not for the least wood: a plan may take more board feet than were cut and cost less. Boards cut of a length or grade that the plan was not offered can cost less than its bound.
-- note:   A plan is a bound for purchasing, not saw instructions. It never moves a part to another size, species or grade.
-- sort:   pool, size, species, parts by
WITH parts AS (
    SELECT size, species, sum(pieces * wood(size, length_64ths))::BIGINT AS wood
    FROM steps.cut_parts
    WHERE cut_on >= $from::DATE AND cut_on < $until::DATE
    GROUP BY size, species
),
plans AS (
    SELECT pool, size, species, sum(wood(size, parts_64ths))::BIGINT AS parts, sum(plan_e4)::BIGINT AS plan_e4, sum(bound_e4)::BIGINT AS bound_e4,
        sum(wood(size, bound_64ths))::BIGINT AS bound_wood, sum(bound_boards)::BIGINT AS bound_boards
    FROM temp.cut_plans
    GROUP BY pool, size, species
),
planned AS (
    SELECT pool, size, species, sum(boards)::BIGINT AS boards, sum(boards * wood(size, length_16ths * 4))::BIGINT AS wood
    FROM temp.cut_plan_boards
    GROUP BY pool, size, species
),
-- Batches that no plan can be made for.
unplanned AS (
    SELECT
        reason, count(*) AS units, CASE WHEN count(*) = count(parts) THEN sum(parts)::BIGINT END AS parts,
        sum(boards)::BIGINT AS boards, sum(wood)::BIGINT AS wood
    FROM steps.unplanned_units
    WHERE cut_on >= $from::DATE AND cut_on < $until::DATE
    GROUP BY reason
)
SELECT
    p.pool::VARCHAR AS pool,
    p.size::VARCHAR AS size,
    p.species::VARCHAR AS species,
    wood_to_bf(n.wood)::DECIMAL(14,4) AS parts_bf,
    coalesce(c.boards, 0)::BIGINT AS cut_boards,
    wood_to_bf(coalesce(c.wood, 0))::DECIMAL(14,4) AS cut_bf,
    cents_to_usd(rounded_quotient(coalesce(c.e4, 0), 100))::DECIMAL(18,2) AS cut_usd,
    coalesce(b.boards, 0)::BIGINT AS plan_boards,
    wood_to_bf(coalesce(b.wood, 0))::DECIMAL(14,4) AS plan_bf,
    cents_to_usd(rounded_quotient(p.plan_e4, 100))::DECIMAL(18,2) AS plan_usd,
    p.bound_boards::BIGINT AS bound_boards,
    wood_to_bf(p.bound_wood)::DECIMAL(14,4) AS bound_bf,
    cents_to_usd(rounded_quotient(p.bound_e4, 100))::DECIMAL(18,2) AS bound_usd,
    share_of(cents_to_usd(rounded_quotient(p.plan_e4, 100)) - cents_to_usd(rounded_quotient(p.bound_e4, 100)), cents_to_usd(rounded_quotient(p.plan_e4, 100)))::DECIMAL(18,6) AS gap_pct,
    wood_to_bf(p.bound_wood - p.parts)::DECIMAL(14,4) AS unavoidable_bf,
    wood_to_bf(coalesce(c.wood, 0) - p.bound_wood - (n.wood - p.parts))::DECIMAL(14,4) AS avoidable_bf,
    wood_to_bf(coalesce(c.lost, 0))::DECIMAL(14,4) AS lost_bf,
    wood_to_bf(coalesce(c.wood, 0) + coalesce(c.lost, 0) - n.wood)::DECIMAL(14,4) AS waste_bf,
    cents_to_usd(rounded_quotient(coalesce(c.e4, 0) - p.plan_e4, 100))::DECIMAL(18,2) AS avoidable_usd,
    concat(p.pool, ', ', p.size, ' ', p.species)::VARCHAR AS label,
    'cut list'::VARCHAR AS basis
FROM plans AS p
JOIN parts AS n ON n.size = p.size AND n.species = p.species
LEFT JOIN boards_cut($from::DATE, $until::DATE) AS c ON c.pool = p.pool AND c.size = p.size AND c.species = p.species
LEFT JOIN planned AS b ON b.pool = p.pool AND b.size = p.size AND b.species = p.species
UNION ALL
SELECT
    'none', NULL, NULL, wood_to_bf(u.parts)::DECIMAL(14,4), u.boards, wood_to_bf(u.wood)::DECIMAL(14,4), NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
    concat('none, ', u.reason), concat(u.reason, ': no plan is possible for ', u.units, CASE u.units WHEN 1 THEN ' batch' ELSE ' batches' END)
FROM unplanned AS u
ORDER BY pool, size, species, basis;
