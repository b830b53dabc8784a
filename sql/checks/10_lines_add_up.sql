-- Every line of every file was accepted, refused or blank, or is no row.
-- grain: one import whose lines don't add up
SELECT 'error' AS severity, 'lines are not accepted + rejected + blank + no rows' AS reason,
    concat(file_name, ': ', lines, ' lines, ', accepted, ' + ', rejected, ' + ', blank, ' + ', aside) AS keys, file_name, NULL::BIGINT AS line
FROM imports
WHERE lines <> accepted + rejected + blank + aside
ORDER BY import_id;
