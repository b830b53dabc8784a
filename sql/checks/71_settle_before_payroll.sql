-- Every punch has both ends, and everybody paid has a wage.
-- Otherwise the time costs nothing here until somebody settles it.
-- grain: one thing to settle before payroll
SELECT 'warn' AS severity, topic AS reason, what AS keys, file_name, line, on_day
FROM exceptions
WHERE place = 1
ORDER BY code, what, file_name, line;
