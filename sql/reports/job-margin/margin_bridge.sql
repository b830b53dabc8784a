-- sheet:  margin_bridge
-- title:  From quoted to actual margin
-- reader: general manager
-- grain:  one row per term, of the jobs that shipped or were closed in the period with both a quote and a margin
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: term       | Term          | text  | -   | what moved the margin, from the quote as first given down to what the jobs earned
-- column: jobs       | Jobs          | count | -   | jobs that the term touches
-- column: effect_usd | Effect        | usd   | -   | above 0 it raised the margin
-- column: running_usd | Margin so far | usd  | -   | quoted margin and all terms down to this one
-- column: base_usd   | Stands on     | usd   | -   | what the bar of the chart stands on
-- column: up_usd     | Raised        | usd   | -   | the bar of a term that raised the margin
-- column: down_usd   | Lowered       | usd   | -   | the bar of a term that lowered it
-- column: level_usd  | Margin        | usd   | -   | the bars of the two margins
-- column: meaning    | What it says  | text  | -   | how the term is figured
-- chart:  bar waterfall | From quoted to actual margin, term by term | term | base_usd, up_usd, down_usd, level_usd | USD | Bars that lead from the quoted margin over what each term added or took to the actual margin
-- emphasis: effect_usd | negative
-- note:   The terms add up to the cent. A job without a quote, or incomplete, is left out and counted on margin_summary. Where the quote leaves overhead out, contribution margin is bridged.
-- note:   Grade below the specified one is a question for the truss designer and no saving, whatever its sign.
-- needs:  bridge
-- sort:   order of the bridge
WITH shipped AS (
    SELECT job, actual_usd, margin_cents
    FROM temp.period_jobs
    WHERE from_day = $from::DATE AND until_day = $until::DATE
),
terms AS (
    SELECT 0 AS place, 'quoted margin, as first given' AS term, count(*) AS jobs, coalesce(sum(margin_cents), 0)::BIGINT AS cents FROM shipped
    UNION ALL
    SELECT b.place, b.term, count(*) FILTER (WHERE b.cents <> 0), sum(b.cents)::BIGINT
    FROM temp.period_bridge AS b
    SEMI JOIN shipped AS s ON s.job = b.job
    WHERE b.from_day = $from::DATE AND b.until_day = $until::DATE
    GROUP BY b.place, b.term
),
run AS (
    SELECT t.*, sum(t.cents) OVER (ORDER BY t.place ROWS UNBOUNDED PRECEDING)::BIGINT AS running FROM terms AS t
),
drawn AS (
    SELECT place, term, jobs, cents, running, running - cents AS before FROM run
    UNION ALL
    SELECT 99, 'actual margin', count(*), usd_to_cents(coalesce(sum(actual_usd), 0)), usd_to_cents(coalesce(sum(actual_usd), 0)), 0 FROM shipped
)
SELECT
    d.term::VARCHAR AS term,
    d.jobs::BIGINT AS jobs,
    cents_to_usd(d.cents)::DECIMAL(18,2) AS effect_usd,
    cents_to_usd(d.running)::DECIMAL(18,2) AS running_usd,
    cents_to_usd(CASE WHEN d.place IN (0, 99) THEN 0 WHEN d.before >= 0 AND d.running >= 0 THEN least(d.before, d.running) WHEN d.before <= 0 AND d.running <= 0 THEN greatest(d.before, d.running) ELSE 0 END)::DECIMAL(18,2) AS base_usd,
    cents_to_usd(CASE WHEN d.place IN (0, 99) OR d.cents <= 0 THEN 0 WHEN d.before >= 0 THEN d.cents WHEN d.running <= 0 THEN -d.cents ELSE d.running END)::DECIMAL(18,2) AS up_usd,
    cents_to_usd(CASE WHEN d.place IN (0, 99) OR d.cents >= 0 THEN 0 WHEN d.running >= 0 THEN -d.cents WHEN d.before <= 0 THEN d.cents ELSE d.running END)::DECIMAL(18,2) AS down_usd,
    cents_to_usd(CASE WHEN d.place IN (0, 99) THEN d.cents ELSE 0 END)::DECIMAL(18,2) AS level_usd,
    CASE d.place
        WHEN 0 THEN 'price less quoted costs, as first imported' WHEN 10 THEN 'later changes of price and quoted costs'
        WHEN 20 THEN 'revenue less price' WHEN 30 THEN 'quoted lumber less design board feet at quoting prices, over 1 less the quoted waste (a share of the boards issued)'
        WHEN 31 THEN 'that less the board feet used, at the price of the grade meant' WHEN 32 THEN 'boards of a higher grade than meant'
        WHEN 33 THEN 'boards of a lower grade than meant: no saving, a question' WHEN 34 THEN 'board feet used at quoting prices less what they cost'
        WHEN 35 THEN 'quoted lumber less lumber, where a quoting price or a cut list is missing, or lumber was taken over when the plant went live'
        WHEN 40 THEN 'quoted labour less the trusses'' quoted minutes at the quoted rate' WHEN 41 THEN 'quoted less actual set-up minutes, at the quoted rate'
        WHEN 42 THEN 'quoted less actual build minutes, at the quoted rate' WHEN 43 THEN 'minutes of trusses made again, at the quoted rate'
        WHEN 44 THEN 'actual minutes at the quoted rate less what they cost' WHEN 45 THEN 'quoted labour less labour, where quoted minutes are missing, or labour was taken over when the plant went live'
        WHEN 60 THEN 'the whole difference of jobs closed without shipping: price not earned less costs not spent'
        WHEN 99 THEN 'what the jobs earned; where a quote leaves overhead out, before overhead' ELSE 'quoted less actual'
    END::VARCHAR AS meaning
FROM drawn AS d
ORDER BY d.place;
