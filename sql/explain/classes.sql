-- The figures of a job's margin and the classes of dollar_ledger that add up to each. A
-- figure's total is the column of job_position that is named for it, with _usd; what is
-- behind the postings of a feed is in the file of sql/explain that parts names. What is_pay
-- is one employee's dollars at the grain of a posting.
-- grain: one class of dollar_ledger
SELECT figure, is_cost, class, is_pay, parts, parts_feed
FROM (VALUES
    (10, 'revenue', false, 'revenue', false, NULL, NULL),
    (20, 'lumber', true, 'lumber', false, 'boards', 'lumber_usage'),
    (30, 'plates', true, 'plates', false, 'plates', 'completions'),
    (40, 'other_material', true, 'other_material', false, NULL, NULL),
    (50, 'labour', true, 'direct_labour', true, 'minutes', 'timecards'),
    (51, 'labour', true, 'burden', true, 'minutes', 'timecards'),
    (52, 'labour', true, 'overtime_premium', true, 'minutes', 'timecards'),
    (60, 'delivery', true, 'delivery', false, NULL, NULL),
    (70, 'other', true, 'repair', false, NULL, NULL),
    (71, 'other', true, 'other', false, NULL, NULL),
    (80, 'overhead', true, 'overhead_applied', false, 'minutes', 'timecards')
) AS c (place, figure, is_cost, class, is_pay, parts, parts_feed)
ORDER BY place;
