-- sheet:  wip_rollforward
-- title:  Work in process and finished goods, roll-forward
-- reader: accountant
-- grain:  one row per job with a balance or a movement in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job             | Job           | text | -   | job number
-- column: wip_opening_usd | WIP opening   | usd  | sum | cost of trusses not yet built, at the start
-- column: added_usd       | Added         | usd  | sum | all job costs of the period
-- column: finished_usd    | Finished      | usd  | sum | moved to finished goods; below 0
-- column: closed_usd      | Closed unshipped | usd | sum | cost of jobs closed without shipping, straight to cost of goods sold; below 0
-- column: wip_closing_usd | WIP closing   | usd  | wip_opening_usd + added_usd + finished_usd + closed_usd | cost of trusses not yet built, at the end
-- column: fg_opening_usd  | Finished goods opening | usd | sum | cost of trusses built and not delivered, at the start
-- column: fg_in_usd       | From WIP      | usd  | sum | finished in the period
-- column: sold_usd        | Sold          | usd  | sum | moved from finished goods to cost of goods sold; below 0
-- column: fg_closing_usd  | Finished goods closing | usd | fg_opening_usd + fg_in_usd + sold_usd | cost of trusses built and not delivered, at the end
-- column: billed_usd      | Billed to date | usd  | sum | invoices less credits to date
-- column: earned_usd      | Earned to date | usd  | sum | revenue to date
-- column: deposits_usd    | Deposits      | usd  | sum | billed beyond earned: customer deposits
-- column: unbilled_usd    | Unbilled      | usd  | sum | earned beyond billed
-- column: basis           | Stands on     | text | -   | what stands in for something that the plant doesn't record; blank where all is measured
-- note:   Of a job's cost to date the share delivered is sold, the share built and not delivered is finished goods, the rest work in process; shares by design board feet. A job closed without shipping is never finished goods. A closed month's figures are those of its closing.
-- note:   A draft for the plant's accountant.
-- sort:   job
WITH positions AS (
    SELECT 'end' AS at_point, job, sum(cents)::BIGINT AS cents, sum(wip_cents)::BIGINT AS wip, sum(finished_cents)::BIGINT AS finished, sum(sold_cents)::BIGINT AS sold FROM job_stock($until::DATE) GROUP BY job
    UNION ALL
    SELECT 'start', job, sum(cents)::BIGINT, sum(wip_cents)::BIGINT, sum(finished_cents)::BIGINT, sum(sold_cents)::BIGINT FROM job_stock($from::DATE) GROUP BY job
),
moved AS (
    SELECT
        job,
        sum(CASE WHEN at_point = 'start' THEN wip ELSE 0 END)::BIGINT AS wip_opening, sum(CASE WHEN at_point = 'end' THEN wip ELSE 0 END)::BIGINT AS wip_closing,
        sum(CASE WHEN at_point = 'end' THEN cents ELSE -cents END)::BIGINT AS added,
        sum(CASE WHEN at_point = 'start' THEN finished ELSE 0 END)::BIGINT AS fg_opening, sum(CASE WHEN at_point = 'end' THEN finished ELSE 0 END)::BIGINT AS fg_closing,
        sum(CASE WHEN at_point = 'end' THEN sold ELSE -sold END)::BIGINT AS sold
    FROM positions
    GROUP BY job
),
-- A job closed without shipping was never finished: its work in process is cost of goods sold.
told AS (
    SELECT
        m.*, CASE WHEN x.job IS NULL THEN m.wip_opening + m.added - m.wip_closing ELSE 0 END AS finished,
        CASE WHEN x.job IS NOT NULL THEN m.wip_opening + m.added - m.wip_closing ELSE 0 END AS closed
    FROM moved AS m
    LEFT JOIN (SELECT job FROM left_jobs($until::DATE) WHERE was_cancelled) AS x ON x.job = m.job
),
billing AS (
    SELECT
        job, sum(CASE WHEN class = 'billing' THEN usd_to_cents(usd) ELSE 0 END)::BIGINT AS billed, sum(CASE WHEN class = 'revenue' THEN usd_to_cents(usd) ELSE 0 END)::BIGINT AS earned,
        bool_or(posted_on >= $from::DATE) AS in_period
    FROM dollar_ledger
    WHERE class IN ('billing', 'revenue') AND posted_on < $until::DATE
    GROUP BY job
)
SELECT
    coalesce(m.job, b.job)::VARCHAR AS job,
    cents_to_usd(coalesce(m.wip_opening, 0))::DECIMAL(18,2) AS wip_opening_usd,
    cents_to_usd(coalesce(m.added, 0))::DECIMAL(18,2) AS added_usd,
    cents_to_usd(coalesce(-m.finished, 0))::DECIMAL(18,2) AS finished_usd,
    cents_to_usd(coalesce(-m.closed, 0))::DECIMAL(18,2) AS closed_usd,
    cents_to_usd(coalesce(m.wip_closing, 0))::DECIMAL(18,2) AS wip_closing_usd,
    cents_to_usd(coalesce(m.fg_opening, 0))::DECIMAL(18,2) AS fg_opening_usd,
    cents_to_usd(coalesce(m.finished, 0))::DECIMAL(18,2) AS fg_in_usd,
    cents_to_usd(coalesce(m.closed - m.sold, 0))::DECIMAL(18,2) AS sold_usd,
    cents_to_usd(coalesce(m.fg_closing, 0))::DECIMAL(18,2) AS fg_closing_usd,
    cents_to_usd(coalesce(b.billed, 0))::DECIMAL(18,2) AS billed_usd,
    cents_to_usd(coalesce(b.earned, 0))::DECIMAL(18,2) AS earned_usd,
    cents_to_usd(greatest(0, coalesce(b.billed - b.earned, 0)))::DECIMAL(18,2) AS deposits_usd,
    cents_to_usd(greatest(0, coalesce(b.earned - b.billed, 0)))::DECIMAL(18,2) AS unbilled_usd,
    n.basis::VARCHAR AS basis
FROM told AS m
FULL JOIN billing AS b ON b.job = m.job
LEFT JOIN job_basis($until::DATE) AS n ON n.job = coalesce(m.job, b.job)
WHERE coalesce(m.wip_opening, 0) <> 0 OR coalesce(m.wip_closing, 0) <> 0 OR coalesce(m.added, 0) <> 0 OR coalesce(m.fg_opening, 0) <> 0 OR coalesce(m.fg_closing, 0) <> 0 OR coalesce(m.sold, 0) <> 0
    OR coalesce(b.billed, 0) <> coalesce(b.earned, 0) OR coalesce(b.in_period, false)
ORDER BY coalesce(m.job, b.job);
