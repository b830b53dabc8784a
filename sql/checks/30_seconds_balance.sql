-- Every paid second of every employee and workweek is in the minute ledger exactly once.
-- The paid side is read from the feed itself, not from the steps that cut it.
-- grain: one employee and workweek, or one employee, whose seconds differ
WITH paid AS (
    SELECT p.employee, sum(p.paid_seconds) AS seconds
    FROM steps.punches AS p
    GROUP BY p.employee
),
used AS (
    SELECT m.employee, sum(m.seconds) AS seconds
    FROM minute_ledger AS m
    GROUP BY m.employee
),
by_punch AS (
    SELECT p.employee, p.shift_date, p.import_id, p.import_line, p.paid_seconds, coalesce(sum(m.seconds), 0) AS used_seconds
    FROM steps.punches AS p
    LEFT JOIN minute_ledger AS m ON m.employee = p.employee AND m.import_id = p.import_id AND m.line = p.import_line
    GROUP BY ALL
),
weeks AS (
    SELECT m.employee, m.workweek_start, sum(m.seconds) AS used_seconds, any_value(w.worked_seconds + w.leave_seconds) AS pay_seconds
    FROM minute_ledger AS m
    LEFT JOIN pay_weeks AS w USING (employee, workweek_start)
    GROUP BY m.employee, m.workweek_start
)
SELECT 'error' AS severity, 'seconds paid and seconds used differ' AS reason,
    concat(b.employee, ' ', b.shift_date, ': ', b.paid_seconds, ' paid, ', b.used_seconds, ' used') AS keys, i.file_name, b.import_line AS line
FROM by_punch AS b
LEFT JOIN imports AS i USING (import_id)
WHERE b.paid_seconds IS DISTINCT FROM b.used_seconds
UNION ALL
SELECT 'error', 'seconds of a workweek differ between minutes and pay',
    concat(w.employee, ' ', w.workweek_start, ': ', w.used_seconds, ' used, ', coalesce(w.pay_seconds, 0), ' paid'), NULL, NULL
FROM weeks AS w
WHERE w.used_seconds IS DISTINCT FROM w.pay_seconds
UNION ALL
SELECT 'error', 'seconds of an employee differ', concat(coalesce(p.employee, u.employee), ': ', coalesce(p.seconds, 0), ' paid, ', coalesce(u.seconds, 0), ' used'), NULL, NULL
FROM paid AS p
FULL JOIN used AS u USING (employee)
WHERE coalesce(p.seconds, 0) <> coalesce(u.seconds, 0)
ORDER BY keys;
