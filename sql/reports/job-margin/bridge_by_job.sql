-- sheet:  bridge_by_job
-- title:  From quoted to actual margin, job by job
-- reader: general manager
-- grain:  one row per job that shipped or was closed in the period with both a quote and a margin
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job            | Job             | text | -   | job number
-- column: quoted_usd     | Quoted margin   | usd  | sum | as first given
-- column: changes_usd    | Change orders   | usd  | sum | later changes of price and quoted costs
-- column: price_usd      | Price           | usd  | sum | revenue less price
-- column: lumber_estimate_usd | Lumber estimating | usd | sum | quoted lumber less design board feet at quoting prices, over 1 less the quoted waste (a share of the boards issued)
-- column: lumber_use_usd | Lumber usage    | usd  | sum | that less the board feet used at the price of the grade meant
-- column: grade_above_usd | Higher grade   | usd  | sum | boards of a higher grade than meant
-- column: grade_below_usd | Lower grade: ask the truss designer | usd | sum | a question and no saving, whatever its sign
-- column: lumber_price_usd | Lumber price  | usd  | sum | board feet used at quoting prices less what they cost
-- column: lumber_whole_usd | Lumber, not split | usd | sum | where a quoting price or a cut list is missing, or lumber was taken over when the plant went live
-- column: labour_estimate_usd | Labour estimating | usd | sum | quoted labour less the trusses' quoted minutes
-- column: setup_usd      | Set-up          | usd  | sum | quoted less actual set-up minutes at the quoted rate
-- column: build_usd      | Build           | usd  | sum | quoted less actual build minutes at the quoted rate
-- column: remakes_usd    | Remakes         | usd  | sum | minutes of trusses made again
-- column: labour_rate_usd | Labour rate    | usd  | sum | actual minutes at the quoted rate less what they cost
-- column: labour_whole_usd | Labour, not split | usd | sum | where quoted minutes are missing, or labour was taken over when the plant went live
-- column: plates_usd     | Plates          | usd  | sum | quoted less actual
-- column: material_usd   | Other material  | usd  | sum | quoted less actual
-- column: delivery_usd   | Delivery        | usd  | sum | quoted less actual
-- column: other_usd      | Other           | usd  | sum | quoted less actual
-- column: overhead_usd   | Overhead        | usd  | sum | quoted less applied; 0 where the quote leaves it out
-- column: closed_usd     | Closed without shipping | usd | sum | the whole difference of a job that was closed and never left
-- column: actual_usd     | Margin          | usd  | quoted_usd + changes_usd + price_usd + lumber_estimate_usd + lumber_use_usd + grade_above_usd + grade_below_usd + lumber_price_usd + lumber_whole_usd + labour_estimate_usd + setup_usd + build_usd + remakes_usd + labour_rate_usd + labour_whole_usd + plates_usd + material_usd + delivery_usd + other_usd + overhead_usd + closed_usd | quoted margin and all terms: what the job earned
-- column: basis          | Stands on       | text | -   | what stands in for something that the plant doesn't record; blank where all is measured
-- link:   job | margin_by_job | job
-- note:   Above 0 a term raised the margin. The terms add up to the cent.
-- needs:  bridge
-- sort:   job
WITH shipped AS (
    SELECT job, basis, margin_cents, without_overhead
    FROM temp.period_jobs
    WHERE from_day = $from::DATE AND until_day = $until::DATE
),
wide AS (
    SELECT
        s.job, s.basis, s.margin_cents, s.without_overhead, sum(b.cents)::BIGINT AS all_terms,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 10), 0)::BIGINT AS t10, coalesce(sum(b.cents) FILTER (WHERE b.place = 20), 0)::BIGINT AS t20,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 30), 0)::BIGINT AS t30, coalesce(sum(b.cents) FILTER (WHERE b.place = 31), 0)::BIGINT AS t31,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 32), 0)::BIGINT AS t32, coalesce(sum(b.cents) FILTER (WHERE b.place = 33), 0)::BIGINT AS t33,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 34), 0)::BIGINT AS t34, coalesce(sum(b.cents) FILTER (WHERE b.place = 35), 0)::BIGINT AS t35,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 40), 0)::BIGINT AS t40, coalesce(sum(b.cents) FILTER (WHERE b.place = 41), 0)::BIGINT AS t41,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 42), 0)::BIGINT AS t42, coalesce(sum(b.cents) FILTER (WHERE b.place = 43), 0)::BIGINT AS t43,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 44), 0)::BIGINT AS t44, coalesce(sum(b.cents) FILTER (WHERE b.place = 45), 0)::BIGINT AS t45,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 50), 0)::BIGINT AS t50, coalesce(sum(b.cents) FILTER (WHERE b.place = 51), 0)::BIGINT AS t51,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 52), 0)::BIGINT AS t52, coalesce(sum(b.cents) FILTER (WHERE b.place = 53), 0)::BIGINT AS t53,
        coalesce(sum(b.cents) FILTER (WHERE b.place = 54), 0)::BIGINT AS t54, coalesce(sum(b.cents) FILTER (WHERE b.place = 60), 0)::BIGINT AS t60
    FROM shipped AS s
    JOIN temp.period_bridge AS b ON b.job = s.job AND b.from_day = $from::DATE AND b.until_day = $until::DATE
    GROUP BY s.job, s.basis, s.margin_cents, s.without_overhead
)
SELECT
    w.job::VARCHAR AS job,
    cents_to_usd(w.margin_cents)::DECIMAL(18,2) AS quoted_usd,
    cents_to_usd(w.t10)::DECIMAL(18,2) AS changes_usd,
    cents_to_usd(w.t20)::DECIMAL(18,2) AS price_usd,
    cents_to_usd(w.t30)::DECIMAL(18,2) AS lumber_estimate_usd,
    cents_to_usd(w.t31)::DECIMAL(18,2) AS lumber_use_usd,
    cents_to_usd(w.t32)::DECIMAL(18,2) AS grade_above_usd,
    cents_to_usd(w.t33)::DECIMAL(18,2) AS grade_below_usd,
    cents_to_usd(w.t34)::DECIMAL(18,2) AS lumber_price_usd,
    cents_to_usd(w.t35)::DECIMAL(18,2) AS lumber_whole_usd,
    cents_to_usd(w.t40)::DECIMAL(18,2) AS labour_estimate_usd,
    cents_to_usd(w.t41)::DECIMAL(18,2) AS setup_usd,
    cents_to_usd(w.t42)::DECIMAL(18,2) AS build_usd,
    cents_to_usd(w.t43)::DECIMAL(18,2) AS remakes_usd,
    cents_to_usd(w.t44)::DECIMAL(18,2) AS labour_rate_usd,
    cents_to_usd(w.t45)::DECIMAL(18,2) AS labour_whole_usd,
    cents_to_usd(w.t50)::DECIMAL(18,2) AS plates_usd,
    cents_to_usd(w.t51)::DECIMAL(18,2) AS material_usd,
    cents_to_usd(w.t52)::DECIMAL(18,2) AS delivery_usd,
    cents_to_usd(w.t53)::DECIMAL(18,2) AS other_usd,
    cents_to_usd(CASE WHEN w.without_overhead THEN 0 ELSE w.t54 END)::DECIMAL(18,2) AS overhead_usd,
    cents_to_usd(w.t60)::DECIMAL(18,2) AS closed_usd,
    cents_to_usd(w.margin_cents + w.all_terms)::DECIMAL(18,2) AS actual_usd,
    w.basis::VARCHAR AS basis
FROM wide AS w
ORDER BY w.job;
