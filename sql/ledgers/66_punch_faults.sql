-- Punches that somebody must settle before payroll, with what each touches. None is
-- guessed: an odd punch costs 0 hours here, and worked time is owed.

-- grain: one fault of one row of timecards
CREATE OR REPLACE TABLE steps.punch_faults AS
WITH found AS (
    SELECT
        p.punch_id,
        CASE
            WHEN p.is_double THEN 'double-punch'
            WHEN p.fault LIKE 'missing%' OR p.fault = 'no times and no hours' THEN 'missing-punch'
            WHEN p.fault LIKE 'longer than%' THEN 'long-punch'
            WHEN p.fault LIKE '%clock%' THEN 'clock-change'
            ELSE 'odd-punch'
        END AS code,
        concat('punch of ', p.employee, ': ', p.fault, '; 0 hours counted') AS what,
        p.doubtful_seconds AS seconds,
        CASE WHEN p.is_double THEN 'nothing, if it is one punch clocked twice; else correct the times'
             ELSE 'worked time is owed: complete the punch and import it again' END AS remedy
    FROM steps.punches AS p
    WHERE p.fault IS NOT NULL
    UNION ALL
    SELECT
        p.punch_id, 'no-wage', concat('no wage of ', p.employee, ' in force on this day; the time costs nothing yet'),
        p.paid_seconds, 'add the employee to wages, with an effective_on no later'
    FROM steps.punches AS p
    WHERE NOT p.has_wage AND p.paid_seconds > 0
    UNION ALL
    SELECT
        p.punch_id, 'overlapping-punches', concat('punches of ', p.employee, ' overlap; the later counts from the end of the earlier'),
        seconds_between(p.started_utc, p.counts_from_utc), 'correct one of the two punches'
    FROM steps.punches AS p
    WHERE p.overlaps AND p.fault IS NULL
    UNION ALL
    SELECT
        p.punch_id, 'lunch-twice', concat('lunch of ', p.employee, ' was punched and would come off once more; the automatic deduction is left out'),
        least(p.deduction_seconds, p.elapsed_seconds), 'nothing, if the break was the lunch; else take it off the punch'
    FROM steps.punches AS p
    WHERE p.lunch_twice
    UNION ALL
    SELECT
        p.punch_id, 'corrected-total', concat('punch of ', p.employee, ' has one end; its corrected total of hours says where the other is'),
        p.paid_seconds, 'nothing, if payroll settled it; else complete the punch'
    FROM steps.punches AS p
    WHERE p.from_total
    UNION ALL
    SELECT p.punch_id, 'unknown-crew', concat('crew ', u.name, ' of ', p.employee, ' has no runs in completions; the time is paid and at no known station'), p.paid_seconds, u.remedy
    FROM steps.unknown_names AS u
    JOIN steps.punches AS p ON p.import_id = u.import_id AND p.import_line = u.import_line
    WHERE u.feed = 'timecards' AND u.kind = 'crew'
)
SELECT
    f.code, f.what, p.employee, p.crew, p.station, p.shift_date, f.seconds::BIGINT AS seconds,
    cents_to_usd(rounded_quotient(f.seconds::HUGEINT * p.worth_e4, 360000)) AS usd, f.remedy, p.import_id, p.import_line
FROM found AS f
JOIN steps.punches AS p USING (punch_id);
COMMENT ON TABLE steps.punch_faults IS 'one punch to settle before payroll, with the seconds and straight pay that it touches where known; wage data';

-- grain: one crew, shift and shift date
CREATE OR REPLACE TABLE steps.punch_rounding AS
SELECT p.crew, p.shift, p.shift_date, sum(p.rounding_seconds)::BIGINT AS seconds
FROM steps.punches AS p
WHERE p.paid_seconds > 0
GROUP BY p.crew, p.shift, p.shift_date;
COMMENT ON TABLE steps.punch_rounding IS 'what punch rounding adds to the clocked time of one crew, shift and day, in seconds';
