-- sheet:  on_time_backlog
-- title:  On time, and what is still to build
-- reader: general manager
-- grain:  one row per job that shipped or was closed in the period, and one per job still open at its end
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job          | Job            | text  | -   | job number
-- column: customer     | Customer       | text  | -   | customer code
-- column: state        | State          | text  | -   | shipped on time, shipped late, open, open and late, part shipped, part shipped and late; closed unshipped, which is neither on time nor late
-- column: due_on       | Wanted         | on    | -   | day the customer wants it
-- column: promised_on  | Promised       | on    | -   | day the plant promised
-- column: left_on      | Left           | on    | -   | day the last of it left, or the job was closed; blank while open
-- column: late_days    | Days late      | count | -   | days past the promise, at the period's last day while open; blank on time or without a promise
-- column: ordered      | Trusses        | count | sum | trusses ordered
-- column: built        | Built          | count | sum | good trusses by the period's end
-- column: to_build     | To build       | count | sum | ordered less built, of open jobs
-- column: to_build_bf  | To build       | bf    | sum | design board feet of those trusses, where known
-- column: to_build_usd | To build       | usd   | sum | their share of the price, by design board feet, else by number
-- emphasis: state | word | late
-- sort:   state, promised, job
WITH built AS (
    SELECT job, truss, sum(quantity)::BIGINT AS good
    FROM steps.run_rows
    WHERE station_kind = 'table' AND remake IS NULL AND finished_on < $until::DATE
    GROUP BY job, truss
),
marks AS (
    SELECT v.job, v.quantity, greatest(0, v.quantity - coalesce(b.good, 0)) AS left_over, v.wood, v.value
    FROM steps.truss_values AS v
    LEFT JOIN built AS b ON b.job = v.job AND b.truss = v.truss
),
remaining AS (
    SELECT job, sum(left_over)::BIGINT AS trusses, sum(left_over * coalesce(wood, 0))::BIGINT AS wood, sum(left_over * value)::HUGEINT AS value, sum(quantity * value)::HUGEINT AS whole
    FROM marks
    GROUP BY job
),
positions AS (
    SELECT p.*, j.due_on, p.left_on IS NULL OR p.left_on >= $until::DATE AS is_open
    FROM job_position($until::DATE) AS p
    JOIN jobs AS j ON j.job = p.job
    WHERE p.left_on >= $from::DATE AND p.left_on < $until::DATE
        OR (p.left_on IS NULL OR p.left_on >= $until::DATE) AND (p.ordered_on IS NULL OR p.ordered_on < $until::DATE OR p.cost_usd <> 0)
),
judged AS (
    SELECT
        p.*, EXISTS (SELECT 1 FROM steps.delivered AS d WHERE d.job = p.job AND d.left_on < $until::DATE AND d.value_to > 0) AS has_left,
        CASE WHEN p.is_open THEN $until::DATE - 1 - p.promised_on WHEN NOT p.closed_unshipped THEN p.left_on - p.promised_on END AS days_over,
        CASE WHEN p.is_open THEN r.trusses ELSE 0 END AS to_build, CASE WHEN p.is_open THEN r.wood ELSE 0 END AS to_build_wood,
        CASE WHEN p.is_open AND r.whole > 0 THEN rounded_quotient(usd_to_cents(p.price_usd) * r.value, r.whole) ELSE 0 END AS to_build_cents
    FROM positions AS p
    LEFT JOIN remaining AS r ON r.job = p.job
)
SELECT
    j.job::VARCHAR AS job,
    j.customer::VARCHAR AS customer,
    CASE WHEN j.is_open AND j.has_left THEN concat('part shipped', CASE WHEN j.days_over > 0 THEN ' and late' END)
         WHEN j.is_open AND j.days_over > 0 THEN 'open and late' WHEN j.is_open THEN 'open' WHEN j.closed_unshipped THEN 'closed unshipped' WHEN j.days_over > 0 THEN 'shipped late'
         WHEN j.promised_on IS NULL THEN 'shipped, nothing promised' ELSE 'shipped on time' END::VARCHAR AS state,
    j.due_on::DATE AS due_on,
    j.promised_on::DATE AS promised_on,
    CASE WHEN NOT j.is_open THEN j.left_on END::DATE AS left_on,
    CASE WHEN j.days_over > 0 THEN j.days_over END::BIGINT AS late_days,
    j.trusses_ordered::BIGINT AS ordered,
    j.trusses_built::BIGINT AS built,
    coalesce(j.to_build, 0)::BIGINT AS to_build,
    wood_to_bf(coalesce(j.to_build_wood, 0))::DECIMAL(14,4) AS to_build_bf,
    cents_to_usd(j.to_build_cents)::DECIMAL(18,2) AS to_build_usd
FROM judged AS j
ORDER BY CASE WHEN j.is_open AND j.days_over > 0 THEN 1 WHEN NOT j.is_open AND j.days_over > 0 THEN 2 WHEN j.is_open THEN 3 WHEN NOT j.closed_unshipped THEN 4 ELSE 5 END, j.promised_on NULLS LAST, j.job;
