-- The trusses behind the standard plate cost of one job, each with the row of trusses that
-- says what the plates of one cost.
-- grain: one row of completions
SELECT
    'plates' AS class, p.posted_on AS original_on, p.posted_on AS occurred_on, 'completions' AS feed, p.import_id, p.import_line AS line, NULL::VARCHAR AS remake,
    cents_to_usd(p.cents) AS usd,
    concat(r.quantity, CASE r.quantity WHEN 1 THEN ' truss ' ELSE ' trusses ' END, p.truss) AS what,
    concat('at ', t.plate_usd, ' a truss, of') AS priced_as, t.import_id AS priced_import_id, t.import_line AS priced_line,
    p.truss, r.quantity, t.plate_usd
FROM steps.plate_postings AS p
JOIN steps.run_rows AS r ON r.import_id = p.import_id AND r.import_line = p.import_line
JOIN trusses AS t ON t.job = p.job AND t.truss = p.truss
WHERE p.job = $job AND $class = 'plates' AND p.posted_on < $until::DATE
ORDER BY p.posted_on, r.run_row_id;
