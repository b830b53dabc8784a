-- sheet:  biggest_moves
-- title:  Jobs that moved most against their quotes
-- reader: general manager
-- grain:  one row per job, the five that moved most of those that shipped or were closed in the period with a quote and a margin
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: job          | Job           | text | - | job number
-- column: customer     | Customer      | text | - | customer code
-- column: quoted_usd   | Quoted margin | usd  | - | as first given
-- column: actual_usd   | Margin        | usd  | - | what the job earned, before overhead where its quote leaves overhead out
-- column: moved_usd    | Moved         | usd  | - | margin less quoted margin
-- column: why          | Why           | text | - | the terms of its bridge that moved it most, with dollars
-- column: basis        | Stands on     | text | - | what stands in for something that the plant doesn't record; blank where all is measured
-- emphasis: moved_usd | negative
-- link:   job | bridge_by_job | job
-- needs:  bridge
-- sort:   distance from the quote
WITH shipped AS (
    SELECT job, customer, basis, margin_cents
    FROM temp.period_jobs
    WHERE from_day = $from::DATE AND until_day = $until::DATE
),
terms AS (
    SELECT b.job, b.term, b.cents, sum(b.cents) OVER (PARTITION BY b.job)::BIGINT AS moved, row_number() OVER (PARTITION BY b.job ORDER BY abs(b.cents) DESC, b.place) AS size_order
    FROM temp.period_bridge AS b
    SEMI JOIN shipped AS s ON s.job = b.job
    WHERE b.from_day = $from::DATE AND b.until_day = $until::DATE
),
moved AS (
    SELECT
        job, any_value(moved) AS moved,
        -- A lower grade is no saving, in words neither.
        string_agg(concat(term, ' ', CASE WHEN cents > 0 THEN '+' ELSE '' END, format('{:.2f}', cents / 100.0)), ', ' ORDER BY size_order)
            FILTER (WHERE size_order <= 4 AND abs(cents) * 10 >= abs(moved) AND term NOT LIKE 'grade below%') AS why
    FROM terms
    GROUP BY job
)
SELECT
    s.job::VARCHAR AS job,
    s.customer::VARCHAR AS customer,
    cents_to_usd(s.margin_cents)::DECIMAL(18,2) AS quoted_usd,
    cents_to_usd(s.margin_cents + m.moved)::DECIMAL(18,2) AS actual_usd,
    cents_to_usd(m.moved)::DECIMAL(18,2) AS moved_usd,
    m.why::VARCHAR AS why,
    s.basis::VARCHAR AS basis
FROM shipped AS s
JOIN moved AS m ON m.job = s.job
ORDER BY abs(m.moved) DESC, s.job
LIMIT 5;
