-- sheet:  margin_by_customer
-- title:  Margin by customer, last 13 weeks
-- reader: general manager
-- grain:  one row per customer with jobs that shipped or were closed in the 13 weeks to the period's end
-- param:  until DATE   day after the last
-- column: customer     | Customer     | text  | -   | customer code; blank where jobs name none
-- column: jobs         | Jobs         | count | sum | jobs that shipped or were closed
-- column: incomplete   | Incomplete   | count | sum | of them without a margin: left out of the dollars
-- column: revenue_usd  | Revenue      | usd   | sum | of the jobs that have a margin
-- column: cost_usd     | Cost         | usd   | sum | of the jobs that have a margin
-- column: margin_usd   | Margin       | usd   | revenue_usd - cost_usd | of the jobs that have a margin
-- column: margin_pct   | Margin       | pct   | margin_usd / revenue_usd | share of revenue
-- column: credits_usd  | Credits      | usd   | sum | credit memos to the customer in the 13 weeks, below 0
-- column: at_stake_usd | No margin yet | usd  | sum | revenue of the incomplete jobs
-- column: unquoted     | Without a quote | count | sum | jobs with no quote to hold them against
-- column: variance_usd | Against quote | usd  | sum | margin less quoted margin of the jobs that have both
-- column: stand_ins    | Not all measured | count | sum | jobs that stand on something that the plant doesn't record: margin_by_job says what
-- chart:  bar 20 | Margin by customer | customer | margin_usd | USD | Bars of the margin of each customer's jobs, in the order of the rows
-- sort:   margin, customer
WITH shipped AS (
    SELECT p.*
    FROM job_position($until::DATE) AS p
    WHERE p.left_on >= $until::DATE - 91 AND p.left_on < $until::DATE
),
credits AS (
    SELECT j.customer, sum(i.amount_usd) AS usd
    FROM invoices AS i
    JOIN jobs AS j ON j.job = i.job
    WHERE i.kind = 'credit' AND i.invoiced_on >= $until::DATE - 91 AND i.invoiced_on < $until::DATE
    GROUP BY j.customer
),
summed AS (
    SELECT
        s.customer, count(*) AS jobs, count(*) FILTER (WHERE s.missing IS NOT NULL) AS incomplete,
        coalesce(sum(CASE WHEN s.missing IS NULL THEN s.revenue_usd END), 0) AS revenue, coalesce(sum(CASE WHEN s.missing IS NULL THEN s.cost_usd END), 0) AS cost,
        coalesce(sum(CASE WHEN s.missing IS NOT NULL THEN s.revenue_usd END), 0) AS at_stake,
        count(*) FILTER (WHERE s.quote_basis = 'no quote') AS unquoted, count(s.basis) AS stand_ins,
        sum(s.variance_usd) AS variance
    FROM shipped AS s
    GROUP BY s.customer
)
SELECT
    s.customer::VARCHAR AS customer,
    s.jobs::BIGINT AS jobs,
    s.incomplete::BIGINT AS incomplete,
    s.revenue::DECIMAL(18,2) AS revenue_usd,
    s.cost::DECIMAL(18,2) AS cost_usd,
    (s.revenue - s.cost)::DECIMAL(18,2) AS margin_usd,
    share_of_positive(s.revenue - s.cost, s.revenue)::DECIMAL(18,6) AS margin_pct,
    coalesce(c.usd, 0)::DECIMAL(18,2) AS credits_usd,
    s.at_stake::DECIMAL(18,2) AS at_stake_usd,
    s.unquoted::BIGINT AS unquoted,
    s.variance::DECIMAL(18,2) AS variance_usd,
    s.stand_ins::BIGINT AS stand_ins
FROM summed AS s
LEFT JOIN credits AS c ON c.customer IS NOT DISTINCT FROM s.customer
ORDER BY s.revenue - s.cost DESC, s.customer;
