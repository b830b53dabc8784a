-- Runs that are logged while nobody of their crew was clocked in: the log or the clock is
-- wrong. Breaks between the first punch and the last are no fault.

-- grain: one crew, shift date and station with runs outside the crew's clocked span
-- renewed: shift_date >= since
-- reads: steps.punches where shift_date >= since
-- reads: steps.run_rows where run_row_id > kept_run_rows
CREATE OR REPLACE TABLE steps.runs_outside AS
WITH spans AS (
    SELECT p.crew, p.shift_date, min(p.counts_from_utc) AS from_utc, max(p.ended_utc) AS until_utc
    FROM steps.punches AS p
    WHERE p.kind = 'clocked' AND p.elapsed_seconds > 0
    GROUP BY p.crew, p.shift_date
),
outside AS (
    SELECT
        r.crew, r.shift_date, r.station,
        greatest(0, seconds_between(r.starts_utc, least(s.from_utc, r.finished_utc))) + greatest(0, seconds_between(greatest(s.until_utc, r.starts_utc), r.finished_utc)) AS seconds,
        r.import_id, r.import_line
    FROM steps.run_rows AS r
    JOIN spans AS s ON s.crew = r.crew AND s.shift_date = r.shift_date
    WHERE r.finished_utc > r.starts_utc
)
SELECT
    crew, shift_date, station, sum(seconds)::BIGINT AS seconds,
    min_by(import_id, (import_id, import_line)) FILTER (WHERE seconds > 0) AS import_id,
    min_by(import_line, (import_id, import_line)) FILTER (WHERE seconds > 0) AS import_line
FROM outside
GROUP BY crew, shift_date, station
-- Clocks and logs differ by a few minutes.
HAVING sum(seconds) > 300;
COMMENT ON TABLE steps.runs_outside IS 'runs logged for more than five minutes before the crew''s first punch or after its last';
