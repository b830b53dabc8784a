-- Punches that cost 0 hours until somebody settles them, and people without a wage.
-- grain: one thing to settle before payroll
SELECT 'warn' AS severity, topic AS reason, what AS keys, file_name, line
FROM exceptions
WHERE place = 1
ORDER BY code, what, file_name, line;
