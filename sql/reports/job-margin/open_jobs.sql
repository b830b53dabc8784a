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
-- column: delivered       | Delivered       | count | sum                       | trusses that have left so far
-- column: earned_usd      | Earned          | usd   | sum                       | revenue of what has left, or over time; less credits
-- column: lumber_usd      | Lumber          | usd   | sum                       | boards issued less returned, at landed cost
-- column: labour_usd      | Labour          | usd   | sum                       | people-time on the job's runs, with burden
-- column: cost_usd        | Cost to date    | usd   | sum                       | all job costs so far, overhead applied included
-- column: quoted_cost_usd | Quoted cost     | usd   | sum                       | price less quoted margin; blank without a quote
-- column: cost_pct        | Cost           | pct   | -                         | share of the quoted cost spent, without overhead where the quote leaves it out; ahead of the share built it warns
-- column: forecast_cost_usd | Forecast cost | usd  | sum                       | cost to date and what the quote gives for the rest, class by class; without overhead where the quote leaves it out
-- column: forecast_margin_usd | Forecast margin | usd | sum                    | price less forecast cost
-- column: forecast_by     | Forecast by     | text  | -                         | what the share of trusses built is weighed by, or why there is no forecast
-- column: outlook         | Outlook         | text  | -                         | HEADING FOR A LOSS where the forecast margin is below 0
-- column: missing         | What is missing | text  | -                         | what is not logged yet
-- column: basis           | Stands on       | text  | -                         | what stands in for something that the plant doesn't record; blank where all is measured
-- emphasis: outlook | word | HEADING FOR A LOSS
-- note:   Forecast: lumber to date and the quoted lumber of the design board feet not yet cut; plates, labour and overhead to date and the quoted ones of the trusses not yet built, by quoted minutes where every truss has them, the set-up of marks cut or built left out; delivery and other material at the quote or what they cost by now, whichever is more. Nothing is taken off for what is over the quote.
-- note:   Costs of open jobs are work in process; no margin is shown before a job ships.
-- sort:   promised, job
WITH positions AS (
    SELECT
        p.*,
        CASE WHEN f.without IS NULL THEN cents_to_usd((f.lumber_cents + f.plates_cents + f.labour_cents + f.material_cents + f.delivery_cents + f.other_cents + f.overhead_cents)::BIGINT) END AS forecast_usd,
        CASE WHEN f.without IS NOT NULL THEN concat('no forecast: ', f.without)
             ELSE concat_ws('; ', CASE WHEN f.has_minutes THEN 'quoted minutes' ELSE 'number of trusses' END, CASE WHEN p.quote_basis = 'contribution' THEN 'quoted without overhead' END) END AS forecast_by
    FROM job_position($until::DATE) AS p
    JOIN job_forecast($until::DATE) AS f ON f.job = p.job
)
SELECT
    p.job::VARCHAR AS job,
    p.customer::VARCHAR AS customer,
    p.promised_on::DATE AS promised_on,
    p.price_usd::DECIMAL(18,2) AS price_usd,
    p.billed_usd::DECIMAL(18,2) AS billed_usd,
    p.trusses_ordered::BIGINT AS trusses_ordered,
    p.trusses_built::BIGINT AS trusses_built,
    share_of(p.trusses_built, p.trusses_ordered)::DECIMAL(18,6) AS built_pct,
    coalesce(d.trusses, 0)::BIGINT AS delivered,
    p.revenue_usd::DECIMAL(18,2) AS earned_usd,
    p.lumber_usd::DECIMAL(18,2) AS lumber_usd,
    p.labour_usd::DECIMAL(18,2) AS labour_usd,
    p.cost_usd::DECIMAL(18,2) AS cost_usd,
    (p.price_usd - p.quoted_margin_usd)::DECIMAL(18,2) AS quoted_cost_usd,
    share_of_positive(p.cost_usd - CASE WHEN p.quote_basis = 'contribution' THEN p.overhead_usd ELSE 0 END, p.price_usd - p.quoted_margin_usd)::DECIMAL(18,6) AS cost_pct,
    p.forecast_usd::DECIMAL(18,2) AS forecast_cost_usd,
    (p.price_usd - p.forecast_usd)::DECIMAL(18,2) AS forecast_margin_usd,
    p.forecast_by::VARCHAR AS forecast_by,
    CASE WHEN p.price_usd < p.forecast_usd THEN 'HEADING FOR A LOSS' END::VARCHAR AS outlook,
    -- A job that nobody has begun is not missing anything.
    CASE WHEN p.trusses_built > 0 OR p.cost_usd <> 0 THEN p.missing END::VARCHAR AS missing,
    p.basis::VARCHAR AS basis
FROM positions AS p
LEFT JOIN (SELECT job, max(trusses_to) AS trusses FROM steps.delivered WHERE left_on < $until::DATE GROUP BY job) AS d ON d.job = p.job
WHERE (p.left_on IS NULL OR p.left_on >= $until::DATE)
    AND (p.ordered_on IS NULL OR p.ordered_on < $until::DATE OR p.cost_usd <> 0)
ORDER BY p.promised_on NULLS LAST, p.job;
