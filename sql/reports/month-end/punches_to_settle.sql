-- sheet:  punches_to_settle
-- title:  Punches to settle before payroll
-- reader: accountant
-- grain:  one row per fault of a punch whose shift began in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: employee    | Employee     | text  | -   | employee code
-- column: shift_on    | Shift        | on    | -   | day on which the shift began
-- column: crew        | Crew         | text  | -   | crew on the punch
-- column: what        | What         | text  | -   | what was found, and what was counted
-- column: touched_min | Touched      | min   | sum | minutes that it touches, where the punch can tell
-- column: touched_usd | If all of it was worked | usd   | sum | straight pay of those minutes, without premium; nobody says that it is owed
-- column: remedy      | What to do   | text  | -   | how to settle it
-- column: file_name   | File         | text  | -   | file that it came from
-- column: line        | Line         | count | -   | line of that file
-- note:   Wage data: for the accountant only. Worked time is owed, whatever the clock says; nothing here is guessed, and no hour is paid or refused by this sheet.
-- sort:   shift, employee, line
SELECT
    f.employee::VARCHAR AS employee,
    f.shift_date::DATE AS shift_on,
    f.crew::VARCHAR AS crew,
    f.what::VARCHAR AS what,
    seconds_to_min(f.seconds)::DECIMAL(18,2) AS touched_min,
    f.usd::DECIMAL(18,2) AS touched_usd,
    f.remedy::VARCHAR AS remedy,
    i.file_name::VARCHAR AS file_name,
    f.import_line::BIGINT AS line
FROM steps.punch_faults AS f
LEFT JOIN imports AS i USING (import_id)
WHERE f.shift_date >= $from::DATE AND f.shift_date < $until::DATE
ORDER BY f.shift_date, f.employee, i.file_name, f.import_line, f.code;
