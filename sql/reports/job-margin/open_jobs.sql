-- sheet:  open_jobs
-- title:  Open jobs
-- reader: general manager
-- grain:  one row per job that was ordered or begun and had not shipped by the end of the period
-- param:  until DATE   day after the last
-- column: job             | Job             | text  | -                         | job number
-- column: customer        | Customer        | text  | -                         | customer code
-- column: promised_on     | Promised        | on    | -                         | day the plant promised
-- column: price_usd       | Price           | usd   | sum                       | price sold at
-- column: billed_usd      | Billed          | usd   | sum                       | invoiced so far, deposits and progress included; not revenue yet
-- column: trusses_ordered | Trusses ordered | count | sum                       | whole trusses
-- column: trusses_built   | Trusses built   | count | sum                       | good trusses finished at the tables
-- column: built_pct       | Built           | pct   | trusses_built / trusses_ordered | share of the trusses ordered
-- column: lumber_usd      | Lumber          | usd   | sum                       | boards issued less returned, at landed cost
-- column: labour_usd      | Labour          | usd   | sum                       | people-time on the job's runs, with burden
-- column: cost_usd        | Cost to date    | usd   | sum                       | all job costs so far, overhead applied included
-- column: quoted_cost_usd | Quoted cost     | usd   | sum                       | price less quoted margin; blank without a quote
-- column: cost_pct        | Cost           | pct   | -                         | share of the quoted cost spent, without overhead where the quote leaves it out; ahead of the share built it warns
-- column: forecast_cost_usd | Forecast cost | usd  | sum                       | cost to date and the quoted cost of the trusses still to build, both without overhead where the quote leaves it out; blank without a quote
-- column: forecast_margin_usd | Forecast margin | usd | sum                    | price less forecast cost
-- column: outlook         | Outlook         | text  | -                         | HEADING FOR A LOSS where the forecast margin is below 0
-- column: missing         | What is missing | text  | -                         | what is not logged yet
-- column: basis           | Stands on       | text  | -                         | what stands in for something that the plant doesn't record; blank where all is measured
-- emphasis: outlook | word | HEADING FOR A LOSS
-- note:   The forecast takes the quote for what is still to build, and nothing off for what is already over it.
-- note:   Costs of open jobs are work in process; no margin is shown before a job ships.
-- sort:   promised, job
WITH positions AS (
    SELECT
        p.*,
        CASE WHEN p.trusses_ordered > 0 AND p.quoted_margin_usd IS NOT NULL THEN p.cost_usd - CASE WHEN p.quote_basis = 'contribution' THEN p.overhead_usd ELSE 0 END
            + cents_to_usd(rounded_quotient(usd_to_cents(p.price_usd - p.quoted_margin_usd)::HUGEINT * greatest(0, p.trusses_ordered - p.trusses_built), p.trusses_ordered)) END AS forecast_usd
    FROM job_position($until::DATE) AS p
)
SELECT
    p.job::VARCHAR AS job,
    p.customer::VARCHAR AS customer,
    p.promised_on::DATE AS promised_on,
    p.price_usd::DECIMAL(14,2) AS price_usd,
    p.billed_usd::DECIMAL(14,2) AS billed_usd,
    p.trusses_ordered::BIGINT AS trusses_ordered,
    p.trusses_built::BIGINT AS trusses_built,
    share_of(p.trusses_built, p.trusses_ordered)::DECIMAL(18,6) AS built_pct,
    p.lumber_usd::DECIMAL(14,2) AS lumber_usd,
    p.labour_usd::DECIMAL(14,2) AS labour_usd,
    p.cost_usd::DECIMAL(14,2) AS cost_usd,
    (p.price_usd - p.quoted_margin_usd)::DECIMAL(14,2) AS quoted_cost_usd,
    share_of_positive(p.cost_usd - CASE WHEN p.quote_basis = 'contribution' THEN p.overhead_usd ELSE 0 END, p.price_usd - p.quoted_margin_usd)::DECIMAL(18,6) AS cost_pct,
    p.forecast_usd::DECIMAL(14,2) AS forecast_cost_usd,
    (p.price_usd - p.forecast_usd)::DECIMAL(14,2) AS forecast_margin_usd,
    CASE WHEN p.price_usd < p.forecast_usd THEN 'HEADING FOR A LOSS' END::VARCHAR AS outlook,
    -- A job that nobody has begun is not missing anything.
    CASE WHEN p.trusses_built > 0 OR p.cost_usd <> 0 THEN p.missing END::VARCHAR AS missing,
    p.basis::VARCHAR AS basis
FROM positions AS p
WHERE (p.left_on IS NULL OR p.left_on >= $until::DATE)
    AND (p.ordered_on IS NULL OR p.ordered_on < $until::DATE OR p.cost_usd <> 0)
ORDER BY p.promised_on NULLS LAST, p.job;
