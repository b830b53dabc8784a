-- The days table covers every punch and run; without its day a second would vanish.
-- grain: one punch or run outside the days
WITH reach AS (
    SELECT min(starts_utc) AS from_utc, max(ends_utc) AS until_utc, min(day) AS first_day, max(day) AS last_day FROM days
)
SELECT 'error' AS severity, 'a punch lies outside the days table' AS reason, concat(p.employee, ' ', p.shift_date) AS keys, i.file_name, p.import_line AS line
FROM steps.punches AS p
CROSS JOIN reach AS r
LEFT JOIN imports AS i USING (import_id)
WHERE p.counts_from_utc < r.from_utc OR p.ended_utc > r.until_utc OR p.shift_date < r.first_day OR p.shift_date > r.last_day
UNION ALL
SELECT 'error', 'a run lies outside the days table', concat(x.station, ' ', x.job, ' ', x.finished_on), i.file_name, x.import_line
FROM steps.run_rows AS x
CROSS JOIN reach AS r
LEFT JOIN imports AS i USING (import_id)
WHERE x.starts_utc < r.from_utc OR x.finished_utc > r.until_utc OR x.finished_on < r.first_day OR x.finished_on > r.last_day
ORDER BY keys;
