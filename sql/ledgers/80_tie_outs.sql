-- Tie-outs: each ledger's total against its source's, over everything that was read. A
-- difference is shown by name and never spread or plugged.

-- grain: one control
CREATE OR REPLACE TABLE tie_outs AS
WITH people AS (
    SELECT count(DISTINCT employee) AS n FROM pay_weeks
),
pay AS (
    SELECT coalesce(sum(gross_usd), 0) AS usd FROM pay_weeks
),
posted_pay AS (
    SELECT coalesce(sum(usd), 0) AS usd FROM dollar_ledger WHERE class IN ('direct_labour', 'waiting', 'stoppage', 'indirect', 'leave', 'overtime_premium', 'bonus', 'rate_variance', 'retro') AND feed <> 'opening_wip'
),
positions AS (
    SELECT coalesce(sum(cost_usd), 0) AS cost_usd, coalesce(sum(revenue_usd), 0) AS revenue_usd
    FROM steps.last_positions
),
controls AS (
    SELECT 10 AS place, 'lines' AS unit, 'lines of all files' AS control, 'accepted + refused + blank + no rows' AS against,
        (SELECT coalesce(sum(lines), 0) FROM imports)::DECIMAL(18,2) AS expected,
        (SELECT coalesce(sum(accepted + rejected + blank + aside), 0) FROM imports)::DECIMAL(18,2) AS actual
    UNION ALL
    SELECT 20, 'seconds', 'seconds paid on punches', 'seconds put to a use in the minute ledger',
        (SELECT coalesce(sum(paid_seconds), 0) FROM steps.punches), (SELECT coalesce(sum(seconds), 0) FROM minute_ledger)
    UNION ALL
    -- The pay of one or two people is theirs alone.
    SELECT 30, 'USD', 'gross pay of all workweeks', 'wages posted to jobs and pools',
        CASE WHEN people.n >= 3 THEN pay.usd END, CASE WHEN people.n >= 3 THEN posted_pay.usd END
    FROM people, pay, posted_pay
    UNION ALL
    SELECT 40, 'boards', 'boards received less boards used, and what counts found', 'boards on hand in the board ledger',
        (SELECT coalesce(sum(boards), 0) FROM receipts) - (SELECT coalesce(sum(boards), 0) FROM lumber_usage)
            - (SELECT coalesce(sum(boards), 0) FROM steps.backflush_moves)
            + (SELECT coalesce(sum(boards), 0) FROM steps.board_moves WHERE feed = 'counts'),
        (SELECT coalesce(sum(boards), 0) FROM board_ledger)
    UNION ALL
    SELECT 50, 'USD', 'lumber taken from stock, less returned, and credits on boards used', 'lumber posted to jobs and pools',
        (SELECT coalesce(-sum(usd), 0) FROM board_ledger WHERE kind NOT IN ('receipt', 'opening', 'credit'))
            - (SELECT cents_to_usd(coalesce(sum(cents - left_cents), 0)::BIGINT) FROM steps.layer_credits),
        (SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE class = 'lumber' AND feed <> 'opening_wip')
    UNION ALL
    SELECT 60, 'BF', 'boards issued less returned, batches with a yield', 'parts, kerf and trim, offcut, recut, cull, unexplained',
        (SELECT coalesce(wood_to_bf(sum(issued - returned)::BIGINT), 0) FROM steps.yields),
        (SELECT coalesce(wood_to_bf(sum(parts + kerf + trim_ends + offcut + recut + cull + unexplained)::BIGINT), 0) FROM steps.yields)
    UNION ALL
    SELECT 70, 'USD', 'invoices and credits', 'billing in the dollar ledger',
        (SELECT coalesce(sum(amount_usd), 0) FROM invoices), (SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE class = 'billing')
    UNION ALL
    SELECT 80, 'USD', 'job costs', 'job costs in the dollar ledger',
        (SELECT coalesce(sum(amount_usd), 0) FROM job_costs), (SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE feed = 'job_costs')
    UNION ALL
    SELECT 85, 'USD', 'overheads', 'overheads in the dollar ledger',
        (SELECT coalesce(sum(actual_usd), 0) FROM overheads), (SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE feed = 'overheads')
    UNION ALL
    SELECT 90, 'USD', 'cost of known jobs in the dollar ledger', 'cost on job positions',
        (SELECT coalesce(sum(d.usd), 0) FROM dollar_ledger AS d SEMI JOIN jobs AS j ON j.job = d.job WHERE d.class NOT IN ('revenue', 'billing')),
        (SELECT cost_usd FROM positions)
    UNION ALL
    SELECT 91, 'USD', 'revenue of known jobs in the dollar ledger', 'revenue on job positions',
        (SELECT coalesce(sum(d.usd), 0) FROM dollar_ledger AS d SEMI JOIN jobs AS j ON j.job = d.job WHERE d.class = 'revenue'),
        (SELECT revenue_usd FROM positions)
)
SELECT place, control, against, unit, expected::DECIMAL(18,2) AS expected, actual::DECIMAL(18,2) AS actual
FROM controls
ORDER BY place;
COMMENT ON TABLE tie_outs IS 'one control: a source''s total and its ledger''s; blank where it would tell the pay of one or two people';
