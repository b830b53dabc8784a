-- sheet:  cost_of_goods_sold
-- title:  Cost of goods sold
-- reader: accountant
-- grain:  one row per job with cost of goods sold or revenue in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job            | Job            | text | -   | job number
-- column: kind           | Kind           | text | -   | shipped, part shipped, cancelled (closed without shipping), or later cost of a job that left before
-- column: revenue_usd    | Revenue        | usd  | sum | earned in the period, credits taken off
-- column: lumber_usd     | Lumber         | usd  | sum | cost of goods sold by class, in the period
-- column: plates_usd     | Plates         | usd  | sum | cost of goods sold by class, in the period
-- column: material_usd   | Other material | usd  | sum | cost of goods sold by class, in the period
-- column: labour_usd     | Labour         | usd  | sum | with burden, and overtime premium where it goes to jobs
-- column: delivery_usd   | Delivery       | usd  | sum | cost of goods sold by class, in the period
-- column: other_usd      | Other          | usd  | sum | repair, back-charges and other cost
-- column: overhead_usd   | Overhead       | usd  | sum | applied
-- column: sold_usd       | Cost of goods sold | usd | lumber_usd + plates_usd + material_usd + labour_usd + delivery_usd + other_usd + overhead_usd | the seven before it
-- column: margin_usd     | Margin         | usd  | revenue_usd - sold_usd | revenue less cost of goods sold
-- column: remake_normal_usd   | Remakes, normal   | usd | sum | labour of trusses made again in the ordinary course, job to date; part of labour
-- column: remake_abnormal_usd | Remakes, abnormal | usd | sum | the same out of the ordinary: the accountant may take it out of the job's cost
-- column: remake_customer_usd | Remakes, customer | usd | sum | the same at the customer's cause: to be back-charged; memo only until it is invoiced
-- column: basis          | Stands on      | text | -   | what stands in for something that the plant doesn't record; blank where all is measured
-- note:   A part-shipped job's cost moves by the share delivered. A draft for the plant's accountant.
-- sort:   job
WITH stock AS (
    SELECT job, class, sum(cents)::BIGINT AS sold
    FROM (
        SELECT job, class, sold_cents AS cents FROM job_stock($until::DATE)
        UNION ALL
        SELECT job, class, -sold_cents FROM job_stock($from::DATE)
    )
    GROUP BY job, class
),
classes AS (
    SELECT
        job, sum(sold)::BIGINT AS sold,
        sum(CASE WHEN class = 'lumber' THEN sold ELSE 0 END)::BIGINT AS lumber, sum(CASE WHEN class = 'plates' THEN sold ELSE 0 END)::BIGINT AS plates,
        sum(CASE WHEN class = 'other_material' THEN sold ELSE 0 END)::BIGINT AS material,
        sum(CASE WHEN class IN ('direct_labour', 'burden', 'overtime_premium') THEN sold ELSE 0 END)::BIGINT AS labour,
        sum(CASE WHEN class = 'delivery' THEN sold ELSE 0 END)::BIGINT AS delivery, sum(CASE WHEN class IN ('repair', 'other') THEN sold ELSE 0 END)::BIGINT AS other,
        sum(CASE WHEN class = 'overhead_applied' THEN sold ELSE 0 END)::BIGINT AS overhead
    FROM stock
    GROUP BY job
),
revenue AS (
    SELECT job, sum(usd_to_cents(usd))::BIGINT AS cents
    FROM dollar_ledger
    WHERE class = 'revenue' AND posted_on >= $from::DATE AND posted_on < $until::DATE
    GROUP BY job
),
remakes AS (
    SELECT
        job, sum(CASE WHEN remake = 'normal' THEN usd ELSE 0 END) AS normal, sum(CASE WHEN remake = 'abnormal' THEN usd ELSE 0 END) AS abnormal, sum(CASE WHEN remake = 'customer' THEN usd ELSE 0 END) AS customer
    FROM dollar_ledger
    WHERE remake IS NOT NULL AND class IN ('direct_labour', 'burden', 'overtime_premium') AND posted_on < $until::DATE
    GROUP BY job
)
SELECT
    coalesce(c.job, r.job)::VARCHAR AS job,
    CASE WHEN l.sold_on IS NULL THEN 'part shipped' WHEN l.sold_on < $from::DATE THEN 'later cost' WHEN l.was_cancelled THEN 'cancelled' ELSE 'shipped' END::VARCHAR AS kind,
    cents_to_usd(coalesce(r.cents, 0))::DECIMAL(18,2) AS revenue_usd,
    cents_to_usd(coalesce(c.lumber, 0))::DECIMAL(18,2) AS lumber_usd,
    cents_to_usd(coalesce(c.plates, 0))::DECIMAL(18,2) AS plates_usd,
    cents_to_usd(coalesce(c.material, 0))::DECIMAL(18,2) AS material_usd,
    cents_to_usd(coalesce(c.labour, 0))::DECIMAL(18,2) AS labour_usd,
    cents_to_usd(coalesce(c.delivery, 0))::DECIMAL(18,2) AS delivery_usd,
    cents_to_usd(coalesce(c.other, 0))::DECIMAL(18,2) AS other_usd,
    cents_to_usd(coalesce(c.overhead, 0))::DECIMAL(18,2) AS overhead_usd,
    cents_to_usd(coalesce(c.sold, 0))::DECIMAL(18,2) AS sold_usd,
    cents_to_usd(coalesce(r.cents, 0) - coalesce(c.sold, 0))::DECIMAL(18,2) AS margin_usd,
    coalesce(m.normal, 0)::DECIMAL(18,2) AS remake_normal_usd,
    coalesce(m.abnormal, 0)::DECIMAL(18,2) AS remake_abnormal_usd,
    coalesce(m.customer, 0)::DECIMAL(18,2) AS remake_customer_usd,
    n.basis::VARCHAR AS basis
FROM classes AS c
FULL JOIN revenue AS r ON r.job = c.job
LEFT JOIN left_jobs($until::DATE) AS l ON l.job = coalesce(c.job, r.job)
LEFT JOIN remakes AS m ON m.job = coalesce(c.job, r.job)
LEFT JOIN job_basis($until::DATE) AS n ON n.job = coalesce(c.job, r.job)
WHERE coalesce(c.sold, 0) <> 0 OR coalesce(r.cents, 0) <> 0
ORDER BY coalesce(c.job, r.job);
