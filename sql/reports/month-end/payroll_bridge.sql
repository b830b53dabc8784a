-- sheet:  payroll_bridge
-- title:  Payroll bridge
-- reader: accountant
-- grain:  one row per workweek that touches the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: workweek         | Workweek        | text  | -   | ISO week of the workweek's fourth day
-- column: starts_on        | Starts          | on    | -   | first day of the workweek
-- column: people           | People          | count | -   | different people paid
-- column: worked_hours     | Worked          | hours | sum | hours worked in the whole workweek
-- column: overtime_hours   | Overtime        | hours | sum | of them, past the threshold
-- column: leave_hours      | Leave           | hours | sum | paid and not worked
-- column: direct_usd       | Direct labour   | usd   | sum | straight pay on runs
-- column: waiting_usd      | Waiting         | usd   | sum | straight pay of direct people with no run open
-- column: indirect_usd     | Indirect        | usd   | sum | straight pay of indirect people and stations
-- column: premium_usd      | Overtime premium| usd   | sum | what overtime earns on top of straight pay
-- column: leave_usd        | Leave           | usd   | sum | holiday and leave
-- column: posted_usd       | Posted          | usd   | sum | the five before it
-- column: gross_usd        | Gross pay       | usd   | sum | pay of the workweek by 29 CFR 778
-- column: difference_usd   | Difference      | usd   | sum | posted less gross; anything but 0.00 is an error
-- column: in_period_usd    | In the period   | usd   | sum | of posted, on calendar days of the period
-- column: outside_usd      | Outside         | usd   | sum | of posted, on days before or after: the cut-off
-- column: shift_dates_usd  | By shift date   | usd   | sum | straight pay in the period when a night shift counts whole on the day it began
-- column: over_midnight_usd| Over midnight   | usd   | sum | straight pay in the period by calendar day less by shift date
-- emphasis: difference_usd | negative
-- note:   Wage data: for the accountant only. These figures cost labour; they are no instruction to pay. State and local law and the plant's payroll counsel have the last word.
-- sort:   workweek
WITH postings AS (
    SELECT workweek_start, posted_on, class, cents FROM steps.labour_postings WHERE class NOT IN ('burden', 'overhead_applied')
    UNION ALL
    SELECT workweek_start, posted_on, 'overtime_premium', cents FROM steps.premium_postings
),
-- A workweek touches the period when one of its calendar days lies in it.
touched AS (
    SELECT DISTINCT w.workweek_start, w.label
    FROM workweeks AS w
    JOIN day_parts AS d ON d.workweek_start = w.workweek_start
    WHERE d.day >= $from::DATE AND d.day < $until::DATE
),
posted AS (
    SELECT
        p.workweek_start,
        sum(CASE WHEN p.class = 'direct_labour' THEN p.cents ELSE 0 END)::BIGINT AS direct,
        sum(CASE WHEN p.class = 'waiting' THEN p.cents ELSE 0 END)::BIGINT AS waiting,
        sum(CASE WHEN p.class = 'indirect' THEN p.cents ELSE 0 END)::BIGINT AS indirect,
        sum(CASE WHEN p.class = 'overtime_premium' THEN p.cents ELSE 0 END)::BIGINT AS premium,
        sum(CASE WHEN p.class = 'leave' THEN p.cents ELSE 0 END)::BIGINT AS leave,
        sum(p.cents)::BIGINT AS posted,
        sum(CASE WHEN p.posted_on >= $from::DATE AND p.posted_on < $until::DATE THEN p.cents ELSE 0 END)::BIGINT AS in_period,
        sum(CASE WHEN p.class <> 'overtime_premium' AND p.posted_on >= $from::DATE AND p.posted_on < $until::DATE THEN p.cents ELSE 0 END)::BIGINT AS straight_in_period
    FROM postings AS p
    GROUP BY p.workweek_start
),
-- A night shift over the workweek's start counts whole in the workweek in which it began.
punch_weeks AS (
    SELECT m.import_id, m.import_line, m.work_date, min(m.workweek_start) AS workweek_start
    FROM steps.minute_rows AS m
    GROUP BY m.import_id, m.import_line, m.work_date
),
by_shift AS (
    SELECT p.workweek_start, sum(l.cents)::BIGINT AS cents
    FROM steps.labour_postings AS l
    JOIN punch_weeks AS p ON p.import_id = l.import_id AND p.import_line = l.import_line
    WHERE l.class NOT IN ('burden', 'overhead_applied') AND p.work_date >= $from::DATE AND p.work_date < $until::DATE
    GROUP BY p.workweek_start
),
gross AS (
    SELECT
        workweek_start, count(*) AS people, sum(worked_seconds)::BIGINT AS worked, sum(overtime_seconds)::BIGINT AS overtime,
        sum(leave_seconds)::BIGINT AS leave_seconds, sum(gross_usd) AS gross_usd
    FROM pay_weeks
    GROUP BY workweek_start
)
SELECT
    t.label::VARCHAR AS workweek,
    t.workweek_start::DATE AS starts_on,
    g.people::BIGINT AS people,
    seconds_to_hours(g.worked)::DECIMAL(14,4) AS worked_hours,
    seconds_to_hours(g.overtime)::DECIMAL(14,4) AS overtime_hours,
    seconds_to_hours(g.leave_seconds)::DECIMAL(14,4) AS leave_hours,
    cents_to_usd(p.direct)::DECIMAL(14,2) AS direct_usd,
    cents_to_usd(p.waiting)::DECIMAL(14,2) AS waiting_usd,
    cents_to_usd(p.indirect)::DECIMAL(14,2) AS indirect_usd,
    cents_to_usd(p.premium)::DECIMAL(14,2) AS premium_usd,
    cents_to_usd(p.leave)::DECIMAL(14,2) AS leave_usd,
    cents_to_usd(p.posted)::DECIMAL(14,2) AS posted_usd,
    g.gross_usd::DECIMAL(14,2) AS gross_usd,
    (cents_to_usd(p.posted) - g.gross_usd)::DECIMAL(14,2) AS difference_usd,
    cents_to_usd(p.in_period)::DECIMAL(14,2) AS in_period_usd,
    cents_to_usd(p.posted - p.in_period)::DECIMAL(14,2) AS outside_usd,
    cents_to_usd(coalesce(s.cents, 0))::DECIMAL(14,2) AS shift_dates_usd,
    cents_to_usd(p.straight_in_period - coalesce(s.cents, 0))::DECIMAL(14,2) AS over_midnight_usd
FROM touched AS t
JOIN gross AS g ON g.workweek_start = t.workweek_start
JOIN posted AS p ON p.workweek_start = t.workweek_start
LEFT JOIN by_shift AS s ON s.workweek_start = t.workweek_start
ORDER BY t.workweek_start;
