-- What an open job is heading for, cost class by cost class.
--
-- Lumber is spent when it is cut, plates, labour and overhead as trusses are built: what the
-- quote gives for the rest is added to the cost to date, and nothing is taken off for what is
-- already over the quote. The set-up of a mark that was cut or built is spent, whatever of the
-- mark is left. Delivery and other material stand at the quote until they cost more.

-- Before a day. grain: one job of the feed
CREATE OR REPLACE MACRO job_forecast(until_day) AS TABLE
WITH cut AS (
    SELECT job, truss, sum(quantity)::BIGINT AS trusses
    FROM steps.cut_rows
    WHERE finished_on < until_day AND remake IS NULL
    GROUP BY job, truss
),
made AS (
    SELECT job, truss, sum(CASE WHEN station_kind = 'table' AND remake IS NULL THEN quantity ELSE 0 END)::BIGINT AS built
    FROM steps.run_rows
    WHERE finished_on < until_day
    GROUP BY job, truss
),
marks AS (
    SELECT
        v.job, v.quantity, v.value, greatest(0, v.quantity - coalesce(c.trusses, 0)) AS uncut, greatest(0, v.quantity - coalesce(m.built, 0)) AS unbuilt,
        (t.quoted_setup_min * 100)::BIGINT AS setup_e2, (t.quoted_build_min * 100)::BIGINT AS build_e2, m.job IS NOT NULL AS is_begun
    FROM steps.truss_values AS v
    JOIN trusses AS t ON t.job = v.job AND t.truss = v.truss
    LEFT JOIN cut AS c ON c.job = v.job AND c.truss = v.truss
    LEFT JOIN made AS m ON m.job = v.job AND m.truss = v.truss
    WHERE v.quantity > 0
),
-- What the plant had built when it went live is of no mark: it comes off everything alike.
taken_over AS (
    SELECT job, max(trusses_built)::BIGINT AS trusses FROM opening_wip WHERE "on" < until_day GROUP BY job
),
-- Work left and work whole, in wood, in quoted minutes to build, and in all quoted minutes.
work AS (
    SELECT
        job, sum(quantity)::HUGEINT AS trusses, sum(uncut * value)::HUGEINT AS wood_left, sum(quantity * value)::HUGEINT AS wood,
        bool_and(setup_e2 IS NOT NULL AND build_e2 IS NOT NULL) AND sum(quantity * build_e2) > 0 AS has_minutes,
        sum(unbuilt)::HUGEINT AS trusses_left, sum(unbuilt * build_e2)::HUGEINT AS build_left, sum(quantity * build_e2)::HUGEINT AS build,
        sum(unbuilt * build_e2 + CASE WHEN is_begun THEN 0 ELSE setup_e2 END)::HUGEINT AS minutes_left, sum(quantity * build_e2 + setup_e2)::HUGEINT AS minutes
    FROM marks
    GROUP BY job
),
shares AS (
    SELECT
        w.job, w.has_minutes,
        greatest(0, w.wood_left * w.trusses - w.wood * coalesce(o.trusses, 0)) AS lumber_left, w.wood * w.trusses AS lumber_whole,
        CASE WHEN w.has_minutes THEN greatest(0, w.build_left * w.trusses - w.build * coalesce(o.trusses, 0)) ELSE greatest(0, w.trusses_left - coalesce(o.trusses, 0)) END AS plates_left,
        CASE WHEN w.has_minutes THEN w.build * w.trusses ELSE w.trusses END AS plates_whole,
        CASE WHEN w.has_minutes THEN greatest(0, w.minutes_left * w.trusses - w.minutes * coalesce(o.trusses, 0)) ELSE greatest(0, w.trusses_left - coalesce(o.trusses, 0)) END AS labour_left,
        CASE WHEN w.has_minutes THEN w.minutes * w.trusses ELSE w.trusses END AS labour_whole
    FROM work AS w
    LEFT JOIN taken_over AS o ON o.job = w.job
)
SELECT
    p.job,
    CASE WHEN j.quoted_lumber_usd IS NULL AND j.quoted_plate_usd IS NULL AND j.quoted_labour_usd IS NULL THEN 'no quote'
         ELSE nullif(concat_ws('; ', CASE WHEN s.job IS NULL THEN 'no list of trusses' END, CASE WHEN j.quoted_lumber_usd IS NULL THEN 'lumber not quoted' END,
            CASE WHEN j.quoted_plate_usd IS NULL THEN 'plates not quoted' END, CASE WHEN j.quoted_labour_usd IS NULL THEN 'labour not quoted' END), '') END AS without,
    s.has_minutes,
    usd_to_cents(p.lumber_usd) + rounded_quotient(usd_to_cents(j.quoted_lumber_usd) * s.lumber_left, s.lumber_whole) AS lumber_cents,
    usd_to_cents(p.plates_usd) + rounded_quotient(usd_to_cents(j.quoted_plate_usd) * s.plates_left, s.plates_whole) AS plates_cents,
    usd_to_cents(p.labour_usd) + rounded_quotient(usd_to_cents(j.quoted_labour_usd) * s.labour_left, s.labour_whole) AS labour_cents,
    greatest(usd_to_cents(p.other_material_usd), usd_to_cents(coalesce(j.quoted_other_usd, 0))) AS material_cents,
    greatest(usd_to_cents(p.delivery_usd), usd_to_cents(coalesce(j.quoted_delivery_usd, 0))) AS delivery_cents,
    usd_to_cents(p.other_usd) AS other_cents,
    CASE WHEN j.quoted_overhead_usd IS NULL THEN 0 ELSE usd_to_cents(p.overhead_usd) + rounded_quotient(usd_to_cents(j.quoted_overhead_usd) * s.labour_left, s.labour_whole) END AS overhead_cents
FROM job_position(until_day) AS p
JOIN jobs AS j ON j.job = p.job
LEFT JOIN shares AS s ON s.job = p.job;
