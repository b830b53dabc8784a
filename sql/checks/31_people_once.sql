-- Nobody is paid twice for one moment: an employee's counted punches never overlap.
-- grain: one punch that starts before an earlier one of the same employee ends
WITH ordered AS (
    SELECT p.employee, p.counts_from_utc, p.import_id, p.import_line,
        max(p.ended_utc) OVER (PARTITION BY p.employee ORDER BY p.counts_from_utc, p.ended_utc, p.punch_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS before_utc
    FROM steps.punches AS p
    WHERE p.elapsed_seconds > 0 AND p.kind = 'clocked'
)
SELECT 'error' AS severity, 'one moment is paid twice' AS reason, concat(o.employee, ' ', o.counts_from_utc, ' UTC') AS keys, i.file_name, o.import_line AS line
FROM ordered AS o
LEFT JOIN imports AS i USING (import_id)
WHERE o.counts_from_utc < o.before_utc
ORDER BY keys;
