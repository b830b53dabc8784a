-- Jobs, trusses, employees and crews are known.
-- Those that are not are kept out of rates and named.
-- grain: one unknown name in one feed row
SELECT 'warn' AS severity, concat('unknown ', u.kind) AS reason, u.what AS keys, i.file_name, u.import_line AS line, u.on_day
FROM steps.unknown_names AS u
LEFT JOIN imports AS i USING (import_id)
ORDER BY u.kind, u.name, i.file_name, u.import_line;
