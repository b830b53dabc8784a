-- Jobs, trusses, employees and crews that nothing else knows. They are kept out of rates.
-- grain: one unknown name in one feed row
SELECT 'warn' AS severity, concat('unknown ', u.kind) AS reason, u.what AS keys, i.file_name, u.import_line AS line
FROM steps.unknown_names AS u
LEFT JOIN imports AS i USING (import_id)
ORDER BY u.kind, u.name, i.file_name, u.import_line;
