-- sheet:  margin_summary
-- title:  Margin summary
-- reader: general manager
-- grain:  one row per stretch of time: this period, the one before, four and thirteen of them, the year to date; and the open jobs
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: stretch           | Stretch          | text  | - | what the row covers
-- column: from_on           | From             | on    | - | first day; where costs begin later, the first day of them
-- column: last_on           | To               | on    | - | last day
-- column: jobs              | Jobs shipped     | count | - | jobs that shipped, incomplete ones too; on the last row the open ones
-- column: closed            | Closed unshipped | count | - | jobs closed without shipping; their dollars are in the row
-- column: incomplete        | Incomplete       | count | - | of them without a margin
-- column: at_stake_usd      | No margin yet    | usd   | - | revenue of the incomplete jobs
-- column: revenue_usd       | Revenue          | usd   | - | of the jobs that have a margin; on the last row what part-shipped jobs have earned
-- column: lumber_usd        | Lumber           | usd   | - | of the jobs that have a margin
-- column: plates_usd        | Plates           | usd   | - | of the jobs that have a margin
-- column: other_material_usd | Other material  | usd   | - | of the jobs that have a margin
-- column: labour_usd        | Labour           | usd   | - | of the jobs that have a margin
-- column: delivery_other_usd | Delivery, other | usd   | - | delivery, repair, back-charges and other cost
-- column: overhead_usd      | Overhead         | usd   | - | applied by labour hour
-- column: margin_usd        | Margin           | usd   | - | revenue less the six costs before it
-- column: margin_pct        | Margin           | pct   | - | share of revenue
-- column: quoted_margin_usd | Quoted margin    | usd   | - | of the jobs that have both a quote and a margin
-- column: variance_usd      | Against quote    | usd   | - | margin less quoted margin of those jobs, like for like in overhead
-- column: unquoted          | Without a quote  | count | - | jobs shipped that no quote can be held against
-- column: stand_ins         | Not all measured | count | - | jobs that stand on something that the plant doesn't record: margin_by_job says what
-- note:   Where a longer stretch holds but the jobs of the two above it, and the later labour on them is of fewer than three people, its labour and margin are blank: they stand in the accountant's book.
-- note:   Jobs as they stood at the end of each stretch. The longer stretches end with this period and hold it.
-- note:   Open at the end: jobs ordered or begun that have not left whole; their costs so far are work in process, so no margin is shown.
-- note:   A draft for the plant's accountant, who has the last word on revenue timing.
-- sort:   shortest first
WITH stretches AS (
    SELECT 1 AS place, 'this period' AS stretch, $from::DATE AS from_day, $until::DATE AS until_day
    UNION ALL
    SELECT 2, 'the one before', $from::DATE - ($until::DATE - $from::DATE)::INTEGER, $from::DATE
    UNION ALL
    SELECT 3, 'four of them', $until::DATE - 4 * ($until::DATE - $from::DATE)::INTEGER, $until::DATE
    UNION ALL
    SELECT 4, 'thirteen of them', $until::DATE - 13 * ($until::DATE - $from::DATE)::INTEGER, $until::DATE
    UNION ALL
    SELECT 5, 'year to date', date_trunc('year', $until::DATE - 1)::DATE, $until::DATE
),
positions AS (
    SELECT $until::DATE AS until_day, p.* FROM job_position($until::DATE) AS p
    UNION ALL
    SELECT $from::DATE, p.* FROM job_position($from::DATE) AS p
),
shipped AS (
    SELECT s.place, p.*, p.missing IS NULL AS counts
    FROM stretches AS s
    JOIN positions AS p ON p.until_day = s.until_day AND p.left_on >= s.from_day AND p.left_on < s.until_day
),
summed AS (
    SELECT
        s.place, s.stretch, s.from_day, s.until_day,
        count(j.job) FILTER (WHERE NOT j.closed_unshipped) AS jobs,
        count(j.job) FILTER (WHERE j.closed_unshipped) AS closed,
        count(j.job) FILTER (WHERE NOT j.counts) AS incomplete,
        sum(CASE WHEN NOT j.counts THEN j.revenue_usd END) AS at_stake,
        coalesce(sum(CASE WHEN j.counts THEN j.revenue_usd END), 0) AS revenue,
        coalesce(sum(CASE WHEN j.counts THEN j.lumber_usd END), 0) AS lumber,
        coalesce(sum(CASE WHEN j.counts THEN j.plates_usd END), 0) AS plates,
        coalesce(sum(CASE WHEN j.counts THEN j.other_material_usd END), 0) AS other_material,
        coalesce(sum(CASE WHEN j.counts THEN j.labour_usd END), 0) AS labour,
        coalesce(sum(CASE WHEN j.counts THEN j.delivery_usd + j.other_usd END), 0) AS delivery_other,
        coalesce(sum(CASE WHEN j.counts THEN j.overhead_usd END), 0) AS overhead,
        coalesce(sum(j.margin_usd), 0) AS margin,
        sum(CASE WHEN j.counts THEN j.quoted_margin_usd END) AS quoted,
        sum(j.variance_usd) AS variance,
        count(j.job) FILTER (WHERE j.quote_basis = 'no quote') AS without_quote, count(j.basis) AS stand_ins
    FROM stretches AS s
    LEFT JOIN shipped AS j USING (place)
    GROUP BY s.place, s.stretch, s.from_day, s.until_day
),
-- Open jobs apart: what they cost so far, and no margin.
still_open AS (
    SELECT
        9 AS place, 'open at the end' AS stretch, NULL::DATE AS from_day, $until::DATE AS until_day, count(*) AS jobs, 0 AS closed, 0 AS incomplete, NULL::DECIMAL(18,2) AS at_stake,
        coalesce(sum(p.revenue_usd), 0) AS revenue, coalesce(sum(p.lumber_usd), 0) AS lumber, coalesce(sum(p.plates_usd), 0) AS plates, coalesce(sum(p.other_material_usd), 0) AS other_material,
        coalesce(sum(p.labour_usd), 0) AS labour, coalesce(sum(p.delivery_usd + p.other_usd), 0) AS delivery_other, coalesce(sum(p.overhead_usd), 0) AS overhead,
        NULL::DECIMAL(18,2) AS margin, sum(p.quoted_margin_usd) AS quoted, NULL::DECIMAL(18,2) AS variance, count(*) FILTER (WHERE p.quote_basis = 'no quote') AS without_quote, count(p.basis) AS stand_ins
    FROM positions AS p
    WHERE p.until_day = $until::DATE AND (p.left_on IS NULL OR p.left_on >= $until::DATE) AND (p.ordered_on IS NULL OR p.ordered_on < $until::DATE OR p.cost_usd <> 0)
),
-- The two periods taken off a longer stretch leave what was posted this period on the jobs of
-- the one before: of one or two people that is their pay.
telling AS (
    SELECT l.place
    FROM summed AS l
    JOIN summed AS a ON a.place = 1
    JOIN summed AS b ON b.place = 2
    WHERE l.place > 2 AND l.jobs + l.closed = a.jobs + a.closed + b.jobs + b.closed
        AND (SELECT count(DISTINCT e.employee)
             FROM steps.job_people AS e
             JOIN steps.left_days AS d ON d.job = e.job
             WHERE e.posted_on >= $from::DATE AND e.posted_on < $until::DATE AND d.left_on >= b.from_day AND d.left_on < b.until_day) IN (1, 2)
),
everything AS (
    SELECT s.* REPLACE (
        CASE WHEN t.place IS NULL THEN s.labour END AS labour, CASE WHEN t.place IS NULL THEN s.margin END AS margin,
        CASE WHEN t.place IS NULL THEN s.variance END AS variance)
    FROM summed AS s
    LEFT JOIN telling AS t USING (place)
    UNION ALL
    SELECT * FROM still_open
)
SELECT
    s.stretch::VARCHAR AS stretch,
    CASE WHEN s.from_day IS NOT NULL AND s.until_day > b.first_day THEN greatest(s.from_day, b.first_day) ELSE s.from_day END::DATE AS from_on,
    (s.until_day - 1)::DATE AS last_on,
    s.jobs::BIGINT AS jobs,
    s.closed::BIGINT AS closed,
    s.incomplete::BIGINT AS incomplete,
    s.at_stake::DECIMAL(18,2) AS at_stake_usd,
    s.revenue::DECIMAL(18,2) AS revenue_usd,
    s.lumber::DECIMAL(18,2) AS lumber_usd,
    s.plates::DECIMAL(18,2) AS plates_usd,
    s.other_material::DECIMAL(18,2) AS other_material_usd,
    s.labour::DECIMAL(18,2) AS labour_usd,
    s.delivery_other::DECIMAL(18,2) AS delivery_other_usd,
    s.overhead::DECIMAL(18,2) AS overhead_usd,
    s.margin::DECIMAL(18,2) AS margin_usd,
    share_of_positive(s.margin, s.revenue)::DECIMAL(18,6) AS margin_pct,
    s.quoted::DECIMAL(18,2) AS quoted_margin_usd,
    s.variance::DECIMAL(18,2) AS variance_usd,
    s.without_quote::BIGINT AS unquoted,
    s.stand_ins::BIGINT AS stand_ins
FROM everything AS s
CROSS JOIN (SELECT min(posted_on) AS first_day FROM dollar_ledger WHERE class NOT IN ('billing', 'revenue')) AS b
ORDER BY s.place;
