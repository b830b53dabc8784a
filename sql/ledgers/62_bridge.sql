-- From the quoted margin to the actual one, term by term, to the cent.
--
-- The quote is frozen as first imported; what changed in it later is the term change orders.
-- p is the quoting price in force on the day of the order, D the design board feet at it,
-- over 1 less the waste that quotes assume, a share of the boards issued; r the dollars of a quoted minute. Every figure below
-- is rounded to the cent once, and the terms are differences of them: they add up exactly. The
-- difference of a job closed without shipping is one term: it says nothing of crews or prices.

-- grain: one job that was ever quoted, as it was quoted first
CREATE OR REPLACE TABLE steps.first_quotes AS
WITH versions AS (
    SELECT job, price_usd, quoted_lumber_usd, quoted_plate_usd, quoted_labour_usd, quoted_other_usd, quoted_delivery_usd, quoted_overhead_usd, import_id, import_line FROM jobs
    UNION ALL
    SELECT job, price_usd, quoted_lumber_usd, quoted_plate_usd, quoted_labour_usd, quoted_other_usd, quoted_delivery_usd, quoted_overhead_usd, import_id, import_line FROM history.jobs
)
SELECT
    job,
    usd_to_cents(price_usd - quoted_lumber_usd - quoted_plate_usd - quoted_labour_usd - coalesce(quoted_other_usd, 0) - coalesce(quoted_delivery_usd, 0) - coalesce(quoted_overhead_usd, 0)) AS margin_cents,
    quoted_overhead_usd IS NULL AS without_overhead
FROM versions
WHERE quoted_lumber_usd IS NOT NULL AND quoted_plate_usd IS NOT NULL AND quoted_labour_usd IS NOT NULL
QUALIFY row_number() OVER (PARTITION BY job ORDER BY import_id, import_line) = 1;
COMMENT ON TABLE steps.first_quotes IS 'the quote of a job as it was first imported';

-- grain: one job and size, species and grade with the quoting price on the day of the order
CREATE OR REPLACE TABLE steps.order_prices AS
WITH wanted AS (
    SELECT DISTINCT j.job, coalesce(j.ordered_on, j.promised_on, j.shipped_on) AS on_day, g.size, g.species, g.grade
    FROM jobs AS j
    JOIN (
        SELECT job, size, species, grade FROM steps.truss_parts
        UNION SELECT m.job, m.size, m.species, m.grade FROM steps.board_moves AS m WHERE m.job IS NOT NULL
        UNION SELECT m.job, m.size, m.species, m.for_grade FROM steps.board_moves AS m WHERE m.job IS NOT NULL AND m.for_grade IS NOT NULL
        UNION SELECT s.job, m.size, m.species, m.grade FROM steps.usage_shares AS s JOIN steps.board_moves AS m USING (move_id)
        UNION SELECT s.job, m.size, m.species, m.for_grade FROM steps.usage_shares AS s JOIN steps.board_moves AS m USING (move_id) WHERE m.for_grade IS NOT NULL
    ) AS g ON g.job = j.job
)
SELECT w.job, w.size, w.species, w.grade, (p.usd_per_mbf * 10000)::BIGINT AS price_e4
FROM wanted AS w
ASOF LEFT JOIN (SELECT * FROM lumber_prices WHERE length_16ths IS NULL) AS p
    ON p.size = w.size AND p.species = w.species AND p.grade = w.grade AND w.on_day >= p.effective_on;

-- grain: one job and day of boards taken for it, by grade used and grade meant, in wood
-- renewed: moved_on >= since
-- reads: steps.board_moves where move_id > kept_board_moves
CREATE OR REPLACE TABLE steps.job_lumber AS
WITH moved AS (
    SELECT m.move_id, m.job, m.moved_on, m.size, m.species, m.grade, coalesce(m.for_grade, m.grade) AS meant, -m.boards * wood(m.size, m.length_16ths * 4) AS wood
    FROM steps.board_moves AS m
    LEFT JOIN steps.return_sources AS r ON r.in_id = m.move_id
    WHERE m.feed = 'lumber_usage' AND m.kind <> 'shop' AND NOT coalesce(r.below_minimum, false)
),
shares AS (
    SELECT move_id, job, weight, sum(weight) OVER (PARTITION BY move_id) AS whole
    FROM steps.usage_shares
)
SELECT job, moved_on, size, species, grade, meant, wood FROM moved WHERE job IS NOT NULL
UNION ALL
SELECT s.job, m.moved_on, m.size, m.species, m.grade, m.meant, rounded_quotient(m.wood::HUGEINT * s.weight, s.whole)
FROM moved AS m
JOIN shares AS s USING (move_id)
WHERE m.job IS NULL
UNION ALL
SELECT job, day, size, species, grade, grade, wood
FROM steps.backflush_parts;

-- grain: one job, day and use of its runs' people-seconds
-- renewed: day >= since
-- reads: steps.minute_rows where day >= since
CREATE OR REPLACE TABLE steps.job_minutes AS
SELECT
    job, day, CASE WHEN remake IS NOT NULL THEN 'remake' ELSE use END AS use, sum(seconds)::BIGINT AS seconds
FROM steps.minute_rows
WHERE run_row_id IS NOT NULL AND job IS NOT NULL
GROUP BY ALL;

-- The bridge of every job with a quote, to date before a day.
-- grain: one job and term
CREATE OR REPLACE MACRO job_bridge(until_day) AS TABLE
WITH positions AS (
    SELECT p.*, f.margin_cents AS first_margin, f.without_overhead
    FROM job_position(until_day) AS p
    JOIN steps.first_quotes AS f ON f.job = p.job
    WHERE p.quoted_margin_usd IS NOT NULL AND (p.quote_basis = 'contribution') = f.without_overhead
),
quotes AS (
    SELECT p.*, j.quoted_lumber_usd, j.quoted_plate_usd, j.quoted_labour_usd, j.quoted_labour_min, j.quoted_other_usd, j.quoted_delivery_usd, j.quoted_overhead_usd
    FROM positions AS p
    JOIN jobs AS j ON j.job = p.job
),
design AS (
    SELECT
        t.job, bool_and(o.price_e4 IS NOT NULL) AS priced,
        sum(p.wood::HUGEINT * t.quantity * coalesce(o.price_e4, 0)) AS wood_price
    FROM trusses AS t
    JOIN steps.truss_parts AS p ON p.job = t.job AND p.truss = t.truss
    LEFT JOIN steps.order_prices AS o ON o.job = t.job AND o.size = p.size AND o.species = p.species AND o.grade = p.grade
    GROUP BY t.job
),
unlisted AS (
    SELECT DISTINCT t.job
    FROM trusses AS t
    ANTI JOIN steps.truss_parts AS p ON p.job = t.job AND p.truss = t.truss
    WHERE t.quantity > 0
),
used AS (
    SELECT
        l.job, bool_and(a.price_e4 IS NOT NULL AND b.price_e4 IS NOT NULL) AS priced,
        sum(l.wood::HUGEINT * coalesce(a.price_e4, 0)) AS at_meant,
        sum(l.wood::HUGEINT * coalesce(b.price_e4, 0)) AS at_used,
        sum(CASE WHEN u.place > m.place THEN l.wood::HUGEINT * (coalesce(a.price_e4, 0) - coalesce(b.price_e4, 0)) ELSE 0 END) AS below
    FROM steps.job_lumber AS l
    LEFT JOIN steps.order_prices AS a ON a.job = l.job AND a.size = l.size AND a.species = l.species AND a.grade = l.meant
    LEFT JOIN steps.order_prices AS b ON b.job = l.job AND b.size = l.size AND b.species = l.species AND b.grade = l.grade
    LEFT JOIN grade_order AS u ON u.species = l.species AND u.grade = l.grade
    LEFT JOIN grade_order AS m ON m.species = l.species AND m.grade = l.meant
    WHERE l.moved_on < until_day
    GROUP BY l.job
),
quoted_minutes AS (
    SELECT
        job, bool_and(quoted_setup_min IS NOT NULL AND quoted_build_min IS NOT NULL) AS given,
        sum((quoted_setup_min * 100)::BIGINT) AS setup_e2, sum((quoted_build_min * 100)::BIGINT * quantity) AS build_e2
    FROM trusses
    WHERE quantity > 0
    GROUP BY job
),
minutes AS (
    SELECT
        job, sum(CASE WHEN use = 'setup' THEN seconds ELSE 0 END)::BIGINT AS setup, sum(CASE WHEN use = 'build' THEN seconds ELSE 0 END)::BIGINT AS build,
        sum(CASE WHEN use = 'remake' THEN seconds ELSE 0 END)::BIGINT AS remake
    FROM steps.job_minutes
    WHERE day < until_day
    GROUP BY job
),
-- What a job carried when the plant went live is in its dollars, but not in boards or minutes.
taken_over AS (
    SELECT job, bool_or(class = 'lumber') AS lumber, bool_or(class IN ('direct_labour', 'burden', 'overtime_premium')) AS labour
    FROM opening_wip
    WHERE "on" < until_day AND amount_usd <> 0
    GROUP BY job
),
-- Everything in cents, each rounded once. 147456 x 100000 units of wood at a price make a cent.
figures AS (
    SELECT
        q.job, q.closed_unshipped, q.first_margin, usd_to_cents(q.quoted_margin_usd) AS revised_margin, usd_to_cents(q.revenue_usd) AS revenue, usd_to_cents(q.price_usd) AS price,
        usd_to_cents(q.quoted_lumber_usd) AS quoted_lumber, usd_to_cents(q.lumber_usd) AS lumber,
        coalesce(d.priced, false) AND coalesce(u.priced, true) AND x.job IS NULL AND NOT coalesce(o.lumber, false) AS lumber_split,
        rounded_quotient(coalesce(d.wood_price, 0) * 1000000, 147456::HUGEINT * 100000 * (1000000 - (s.quoted_waste_pct * 1000000)::BIGINT)) AS design,
        rounded_quotient(coalesce(u.at_meant, 0), 147456::HUGEINT * 100000) AS at_meant,
        rounded_quotient(coalesce(u.at_used, 0), 147456::HUGEINT * 100000) AS at_used,
        rounded_quotient(coalesce(u.below, 0), 147456::HUGEINT * 100000) AS below,
        usd_to_cents(q.quoted_labour_usd) AS quoted_labour, usd_to_cents(q.labour_usd) AS labour,
        coalesce(q.quoted_labour_min, 0) > 0 AND coalesce(m.given, false) AND NOT coalesce(o.labour, false) AS labour_split,
        -- r is quoted_labour_usd over quoted_labour_min.
        rounded_quotient(usd_to_cents(q.quoted_labour_usd)::HUGEINT * coalesce(m.setup_e2, 0), greatest(1, (q.quoted_labour_min * 100)::BIGINT)) AS quoted_setup,
        rounded_quotient(usd_to_cents(q.quoted_labour_usd)::HUGEINT * coalesce(m.setup_e2 + m.build_e2, 0), greatest(1, (q.quoted_labour_min * 100)::BIGINT)) AS quoted_trusses,
        rounded_quotient(usd_to_cents(q.quoted_labour_usd)::HUGEINT * coalesce(a.setup, 0) * 100, greatest(1, (q.quoted_labour_min * 100)::BIGINT) * 60) AS actual_setup,
        rounded_quotient(usd_to_cents(q.quoted_labour_usd)::HUGEINT * coalesce(a.setup + a.build, 0) * 100, greatest(1, (q.quoted_labour_min * 100)::BIGINT) * 60) AS actual_first,
        rounded_quotient(usd_to_cents(q.quoted_labour_usd)::HUGEINT * coalesce(a.setup + a.build + a.remake, 0) * 100, greatest(1, (q.quoted_labour_min * 100)::BIGINT) * 60) AS actual_all,
        usd_to_cents(q.quoted_plate_usd) - usd_to_cents(q.plates_usd) AS plates,
        usd_to_cents(coalesce(q.quoted_other_usd, 0)) - usd_to_cents(q.other_material_usd) AS other_material,
        usd_to_cents(coalesce(q.quoted_delivery_usd, 0)) - usd_to_cents(q.delivery_usd) AS delivery,
        -usd_to_cents(q.other_usd) AS other,
        CASE WHEN q.without_overhead THEN NULL ELSE usd_to_cents(q.quoted_overhead_usd) - usd_to_cents(q.overhead_usd) END AS overhead
    FROM quotes AS q
    CROSS JOIN settings AS s
    LEFT JOIN design AS d ON d.job = q.job
    LEFT JOIN unlisted AS x ON x.job = q.job
    LEFT JOIN used AS u ON u.job = q.job
    LEFT JOIN quoted_minutes AS m ON m.job = q.job
    LEFT JOIN minutes AS a ON a.job = q.job
    LEFT JOIN taken_over AS o ON o.job = q.job
),
terms AS (
    SELECT job, 10 AS place, 'change orders' AS term, revised_margin - first_margin AS cents FROM figures
    UNION ALL SELECT job, 20, 'price', revenue - price FROM figures
    UNION ALL SELECT job, 30, 'lumber estimating', quoted_lumber - design FROM figures WHERE lumber_split
    UNION ALL SELECT job, 31, 'lumber usage', design - at_meant FROM figures WHERE lumber_split
    UNION ALL SELECT job, 32, 'grade above specified', at_meant - at_used - below FROM figures WHERE lumber_split
    UNION ALL SELECT job, 33, 'grade below specified: ask the truss designer', below FROM figures WHERE lumber_split
    UNION ALL SELECT job, 34, 'lumber price', at_used - lumber FROM figures WHERE lumber_split
    UNION ALL SELECT job, 35, 'lumber, not split', quoted_lumber - lumber FROM figures WHERE NOT lumber_split
    UNION ALL SELECT job, 40, 'labour estimating', quoted_labour - quoted_trusses FROM figures WHERE labour_split
    UNION ALL SELECT job, 41, 'set-up', quoted_setup - actual_setup FROM figures WHERE labour_split
    UNION ALL SELECT job, 42, 'build', (quoted_trusses - quoted_setup) - (actual_first - actual_setup) FROM figures WHERE labour_split
    UNION ALL SELECT job, 43, 'remakes', -(actual_all - actual_first) FROM figures WHERE labour_split
    UNION ALL SELECT job, 44, 'labour rate', actual_all - labour FROM figures WHERE labour_split
    UNION ALL SELECT job, 45, 'labour, not split', quoted_labour - labour FROM figures WHERE NOT labour_split
    UNION ALL SELECT job, 50, 'plates', plates FROM figures
    UNION ALL SELECT job, 51, 'other material', other_material FROM figures
    UNION ALL SELECT job, 52, 'delivery', delivery FROM figures
    UNION ALL SELECT job, 53, 'other', other FROM figures
    UNION ALL SELECT job, 54, 'overhead', overhead FROM figures WHERE overhead IS NOT NULL
)
SELECT t.job, t.place, t.term, t.cents::BIGINT AS cents
FROM terms AS t
JOIN figures AS f ON f.job = t.job
WHERE NOT f.closed_unshipped
UNION ALL
SELECT t.job, 60, 'closed without shipping', sum(t.cents)::BIGINT
FROM terms AS t
JOIN figures AS f ON f.job = t.job
WHERE f.closed_unshipped
GROUP BY t.job;

-- The jobs of a period that the bridge's sheets show: with a quote of the kind first given, and
-- a margin. grain: one job that shipped or was closed in the period
CREATE OR REPLACE MACRO bridged_jobs(from_day, until_day) AS TABLE
SELECT
    p.job, p.customer, p.basis, f.margin_cents, f.without_overhead,
    p.margin_usd + CASE WHEN f.without_overhead THEN p.overhead_usd ELSE 0 END AS actual_usd
FROM job_position(until_day) AS p
JOIN steps.first_quotes AS f ON f.job = p.job
WHERE p.left_on >= from_day AND p.left_on < until_day AND p.margin_usd IS NOT NULL AND p.quoted_margin_usd IS NOT NULL
    AND (p.quote_basis = 'contribution') = f.without_overhead;
