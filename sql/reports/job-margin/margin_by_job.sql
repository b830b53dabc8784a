-- sheet:  margin_by_job
-- title:  Margin by job
-- reader: general manager
-- grain:  one row per job that shipped or was closed in the period, job to date at its end; and one per job shipped before that had postings in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job               | Job              | text | -                        | job number
-- column: customer          | Customer         | text | -                        | customer code
-- column: status            | Status           | text | -                        | complete; incomplete: something is not logged, so the margin is blank; prior: shipped earlier, the period's postings only
-- column: shipped_on        | Shipped          | on   | -                        | day the last load left, else the day the job was closed; the last column says where nothing left
-- column: price_usd         | Price            | usd  | sum                      | price sold at; blank on prior rows
-- column: revenue_usd       | Revenue          | usd  | sum                      | price when shipped, less credits; a closed job counts its invoices
-- column: lumber_usd        | Lumber           | usd  | sum                      | boards issued less returned, at landed cost, first in first out
-- column: plates_usd        | Plates           | usd  | sum                      | standard plate cost of good trusses, and plate costs charged to the job
-- column: other_material_usd| Other material   | usd  | sum                      | hardware and other material
-- column: labour_usd        | Labour           | usd  | sum                      | people-time on the job's runs at their rates, with burden (and overtime premium where the plant puts it on jobs); blank on prior rows of fewer than three people
-- column: delivery_usd      | Delivery         | usd  | sum                      | delivery charged to the job
-- column: other_usd         | Other            | usd  | sum                      | repair, back-charges and other cost
-- column: overhead_usd      | Overhead         | usd  | sum                      | applied by labour hour
-- column: cost_usd          | Cost             | usd  | sum                      | the seven costs before it; blank where labour is
-- column: margin_usd        | Margin           | usd  | sum                      | revenue less cost; blank while the job is incomplete, and where cost is
-- column: margin_pct        | Margin           | pct  | margin_usd / revenue_usd | share of revenue, of the rows that have a margin
-- column: quoted_margin_usd | Quoted margin    | usd  | sum                      | price less the quoted costs; blank without a quote
-- column: variance_usd      | Against quote    | usd  | sum                      | margin less quoted margin, like for like in overhead; blank without a quote or a margin
-- column: missing           | Remarks          | text | -                        | why a job has no margin, whether it was closed without shipping, and how its quote is to be read
-- column: basis             | Stands on         | text | -                        | what stands in for something that the plant doesn't record, such as minutes allotted by quoted minutes; blank where all is measured
-- chart:  bar 20 | Margin against quote, lowest first | job | margin_usd, quoted_margin_usd | USD | Bars of each job's margin beside its quoted margin
-- emphasis: status | word | incomplete
-- emphasis: margin_usd | negative
-- emphasis: variance_usd | negative
-- note:   A blank margin is not zero: the job lacks what the last column names, and its revenue is at stake until that is logged.
-- note:   Revenue when shipped. Drafts for the plant's accountant, who has the last word on timing.
-- sort:   status, margin, job
WITH positions AS (
    SELECT * FROM job_position($until::DATE)
),
shipped AS (
    SELECT
        p.job, p.customer,
        CASE WHEN p.missing IS NULL THEN 'complete' ELSE 'incomplete' END AS status,
        p.left_on, p.price_usd, p.revenue_usd, p.lumber_usd, p.plates_usd, p.other_material_usd, p.labour_usd, p.delivery_usd, p.other_usd,
        p.overhead_usd, p.cost_usd, p.margin_usd, p.quoted_margin_usd, p.variance_usd, p.quote_basis, p.basis,
        nullif(concat_ws('; ', CASE WHEN p.closed_unshipped THEN concat('closed without shipping: ', p.trusses_built, ' of ', p.trusses_ordered, ' trusses built') END, p.missing), '') AS missing
    FROM positions AS p
    WHERE p.left_on >= $from::DATE AND p.left_on < $until::DATE
),
-- Costs and credits that came after a job had shipped, in this period.
later AS (
    SELECT
        d.job,
        sum(d.revenue_usd) AS revenue_usd, sum(d.lumber_usd) AS lumber_usd, sum(d.plates_usd) AS plates_usd, sum(d.other_material_usd) AS other_material_usd,
        sum(d.labour_usd) AS labour_usd, sum(d.delivery_usd) AS delivery_usd, sum(d.other_usd) AS other_usd, sum(d.overhead_usd) AS overhead_usd
    FROM steps.job_days AS d
    WHERE d.posted_on >= $from::DATE AND d.posted_on < $until::DATE
    GROUP BY d.job
),
prior AS (
    SELECT
        p.job, p.customer, 'prior' AS status, p.left_on, NULL::DECIMAL(18,2) AS price_usd, l.revenue_usd, l.lumber_usd, l.plates_usd, l.other_material_usd,
        CASE WHEN t.job IS NULL THEN l.labour_usd END AS labour_usd, l.delivery_usd, l.other_usd, l.overhead_usd,
        CASE WHEN t.job IS NULL THEN l.lumber_usd + l.plates_usd + l.other_material_usd + l.labour_usd + l.delivery_usd + l.other_usd + l.overhead_usd END AS cost_usd,
        NULL::DECIMAL(18,2) AS quoted_margin_usd, p.basis,
        CASE WHEN t.job IS NOT NULL THEN 'labour of fewer than three people: in the accountant''s book' END AS missing
    FROM positions AS p
    JOIN later AS l ON l.job = p.job
    LEFT JOIN thin_labour($from::DATE, $until::DATE) AS t ON t.job = p.job
    WHERE p.left_on < $from::DATE
        AND (l.revenue_usd <> 0 OR l.lumber_usd + l.plates_usd + l.other_material_usd + l.labour_usd + l.delivery_usd + l.other_usd + l.overhead_usd <> 0)
),
rows AS (
    SELECT
        s.* EXCLUDE (quote_basis, missing),
        nullif(concat_ws('; ', s.missing, CASE s.quote_basis WHEN 'no quote' THEN 'no quote' WHEN 'contribution' THEN 'quoted without overhead' END), '') AS missing
    FROM shipped AS s
    UNION ALL BY NAME
    SELECT p.*, p.revenue_usd - p.cost_usd AS margin_usd, NULL::DECIMAL(18,2) AS variance_usd
    FROM prior AS p
)
SELECT
    r.job::VARCHAR AS job,
    r.customer::VARCHAR AS customer,
    r.status::VARCHAR AS status,
    r.left_on::DATE AS shipped_on,
    r.price_usd::DECIMAL(18,2) AS price_usd,
    r.revenue_usd::DECIMAL(18,2) AS revenue_usd,
    r.lumber_usd::DECIMAL(18,2) AS lumber_usd,
    r.plates_usd::DECIMAL(18,2) AS plates_usd,
    r.other_material_usd::DECIMAL(18,2) AS other_material_usd,
    r.labour_usd::DECIMAL(18,2) AS labour_usd,
    r.delivery_usd::DECIMAL(18,2) AS delivery_usd,
    r.other_usd::DECIMAL(18,2) AS other_usd,
    r.overhead_usd::DECIMAL(18,2) AS overhead_usd,
    r.cost_usd::DECIMAL(18,2) AS cost_usd,
    r.margin_usd::DECIMAL(18,2) AS margin_usd,
    share_of_positive(r.margin_usd, r.revenue_usd)::DECIMAL(18,6) AS margin_pct,
    r.quoted_margin_usd::DECIMAL(18,2) AS quoted_margin_usd,
    r.variance_usd::DECIMAL(18,2) AS variance_usd,
    r.missing::VARCHAR AS missing,
    r.basis::VARCHAR AS basis
FROM rows AS r
ORDER BY CASE r.status WHEN 'incomplete' THEN 1 WHEN 'complete' THEN 2 ELSE 3 END, r.margin_usd, r.job;
