-- Every line of every file was accepted, refused or blank.
-- grain: one import whose lines don't add up
SELECT 'error' AS severity, 'lines are not accepted + rejected + blank' AS reason,
    concat(file_name, ': ', lines, ' lines, ', accepted, ' + ', rejected, ' + ', blank) AS keys, file_name, NULL::BIGINT AS line
FROM imports
WHERE lines <> accepted + rejected + blank
ORDER BY import_id;
