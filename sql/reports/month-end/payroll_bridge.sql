-- sheet:  payroll_bridge
-- title:  Payroll bridge
-- reader: accountant
-- grain:  one row per source and pay period that touches the period; a workweek that no register covers stands by itself
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: source           | Source          | text  | -   | payroll, or agency for all agencies together
-- column: pay_period       | Pay period      | text  | -   | ISO week of the workweek's fourth day, or the weeks from first to last
-- column: starts_on        | Starts          | on    | -   | first day of the pay period
-- column: people           | People          | count | -   | different people paid
-- column: worked_hours     | Worked          | hours | sum | hours worked in the whole pay period
-- column: overtime_hours   | Overtime        | hours | sum | of them, those that earn a premium
-- column: leave_hours      | Leave           | hours | sum | paid and not worked
-- column: direct_usd       | Direct labour   | usd   | sum | straight pay on runs, piecework included
-- column: waiting_usd      | Waiting         | usd   | sum | straight pay of direct people with no run open
-- column: stoppage_usd     | Stoppage        | usd   | sum | straight pay while the station stood still
-- column: indirect_usd     | Indirect        | usd   | sum | straight pay of indirect people and stations
-- column: premium_usd      | Overtime premium| usd   | sum | what overtime earns on top of straight pay, at the exact regular rate
-- column: rounding_usd     | Rounding        | usd   | sum | what rounding the regular rate to the cent adds to the premium
-- column: leave_usd        | Leave           | usd   | sum | holiday and leave
-- column: bonus_usd        | Bonus           | usd   | sum | bonuses, differentials and discretionary pay
-- column: retro_usd        | Retro           | usd   | sum | back-dated raises of earlier weeks, the overtime on them included
-- column: variance_usd     | Rate variance   | usd   | sum | salaries less their hourly worth times the hours
-- column: posted_usd       | Posted          | usd   | sum | the ten before it
-- column: gross_usd        | Gross pay       | usd   | sum | pay of the pay period by 29 CFR 778
-- column: difference_usd   | Difference      | usd   | sum | posted less gross; anything but 0.00 is an error
-- column: register_usd     | Register        | usd   | sum | gross pay by the payroll register, or the agency's invoices; blank where none was read
-- column: remainder_usd    | Not explained   | usd   | sum | register less gross pay
-- column: remainder        | In words        | text  | -   | what the remainder says
-- column: in_period_usd    | In the period   | usd   | sum | of posted, on calendar days of the period
-- column: outside_usd      | Outside         | usd   | sum | of posted, on days before or after: the cut-off
-- column: accrued_usd      | To accrue       | usd   | sum | of posted in the period, in workweeks that end after it: worked and not yet paid at its end
-- column: shift_dates_usd  | By shift date   | usd   | sum | straight pay in the period when a night shift counts whole on the day it began
-- column: over_midnight_usd| Over midnight   | usd   | sum | straight pay in the period by calendar day less by shift date
-- column: reimbursement_usd| Reimbursed      | usd   | sum | expenses paid back: no pay, and in none of the columns before
-- emphasis: difference_usd | negative
-- emphasis: remainder_usd  | negative
-- note:   Wage data: for the accountant only. These figures cost labour; they are no instruction to pay. State and local law and the plant's payroll counsel have the last word.
-- sort:   source, pay period
WITH postings AS (
    SELECT workweek_start, employee, posted_on, CASE WHEN is_retro THEN 'retro' ELSE class END AS class, cents, true AS is_straight
    FROM steps.labour_postings WHERE class NOT IN ('burden', 'overhead_applied')
    UNION ALL
    SELECT workweek_start, employee, posted_on, CASE WHEN is_retro THEN 'retro' ELSE 'overtime_premium' END, cents, false FROM steps.premium_postings
    UNION ALL
    SELECT workweek_start, employee, posted_on, class, cents, false FROM steps.other_pay_postings
),
-- A pay period touches the period when one of its calendar days lies in it.
spans AS (
    SELECT s.source, s.from_on, s.until_on, s.workweek_start, s.register_cents, w.ends_utc
    FROM steps.pay_spans AS s
    LEFT JOIN workweeks AS w ON w.workweek_start = s.workweek_start
    WHERE EXISTS (
        SELECT 1 FROM steps.pay_spans AS t
        JOIN day_parts AS d ON d.workweek_start = t.workweek_start
        WHERE t.source = s.source AND t.from_on = s.from_on AND t.until_on = s.until_on AND d.day >= $from::DATE AND d.day < $until::DATE
    ) OR s.workweek_start IS NULL AND s.from_on < $until::DATE AND s.until_on > $from::DATE
),
periods AS (
    SELECT source, from_on, until_on, any_value(register_cents) AS register_cents, min(workweek_start) AS first_week, max(workweek_start) AS last_week
    FROM spans
    GROUP BY source, from_on, until_on
),
posted AS (
    SELECT
        s.source, s.from_on, s.until_on,
        sum(CASE WHEN p.class = 'direct_labour' THEN p.cents ELSE 0 END)::BIGINT AS direct,
        sum(CASE WHEN p.class = 'waiting' THEN p.cents ELSE 0 END)::BIGINT AS waiting,
        sum(CASE WHEN p.class = 'stoppage' THEN p.cents ELSE 0 END)::BIGINT AS stoppage,
        sum(CASE WHEN p.class = 'indirect' THEN p.cents ELSE 0 END)::BIGINT AS indirect,
        sum(CASE WHEN p.class = 'overtime_premium' THEN p.cents ELSE 0 END)::BIGINT AS premium,
        sum(CASE WHEN p.class = 'leave' THEN p.cents ELSE 0 END)::BIGINT AS leave,
        sum(CASE WHEN p.class = 'bonus' THEN p.cents ELSE 0 END)::BIGINT AS bonus,
        sum(CASE WHEN p.class = 'retro' THEN p.cents ELSE 0 END)::BIGINT AS retro,
        sum(CASE WHEN p.class = 'rate_variance' THEN p.cents ELSE 0 END)::BIGINT AS variance,
        sum(CASE WHEN p.class = 'reimbursement' THEN p.cents ELSE 0 END)::BIGINT AS reimbursement,
        sum(CASE WHEN p.class <> 'reimbursement' THEN p.cents ELSE 0 END)::BIGINT AS posted,
        sum(CASE WHEN p.class <> 'reimbursement' AND p.posted_on >= $from::DATE AND p.posted_on < $until::DATE THEN p.cents ELSE 0 END)::BIGINT AS in_period,
        sum(CASE WHEN p.class <> 'reimbursement' AND p.posted_on >= $from::DATE AND p.posted_on < $until::DATE AND s.ends_utc > d.ends_utc THEN p.cents ELSE 0 END)::BIGINT AS accrued,
        sum(CASE WHEN p.is_straight AND p.class <> 'retro' AND p.posted_on >= $from::DATE AND p.posted_on < $until::DATE THEN p.cents ELSE 0 END)::BIGINT AS straight_in_period
    FROM postings AS p
    JOIN pay_weeks AS w ON w.employee = p.employee AND w.workweek_start = p.workweek_start
    JOIN spans AS s ON s.source = w.source AND s.workweek_start = p.workweek_start
    LEFT JOIN days AS d ON d.day = $until::DATE - 1
    GROUP BY s.source, s.from_on, s.until_on
),
-- A night shift over the workweek's start counts whole in the workweek in which it began.
punch_weeks AS (
    SELECT m.import_id, m.import_line, m.work_date, min(m.workweek_start) AS workweek_start
    FROM steps.minute_rows AS m
    GROUP BY m.import_id, m.import_line, m.work_date
),
by_shift AS (
    SELECT s.source, s.from_on, s.until_on, sum(l.cents)::BIGINT AS cents
    FROM steps.labour_postings AS l
    JOIN punch_weeks AS p ON p.import_id = l.import_id AND p.import_line = l.import_line
    JOIN pay_weeks AS w ON w.employee = l.employee AND w.workweek_start = p.workweek_start
    JOIN spans AS s ON s.source = w.source AND s.workweek_start = p.workweek_start
    WHERE l.class NOT IN ('burden', 'overhead_applied') AND NOT l.is_retro AND p.work_date >= $from::DATE AND p.work_date < $until::DATE
    GROUP BY s.source, s.from_on, s.until_on
),
gross AS (
    SELECT
        s.source, s.from_on, s.until_on, count(DISTINCT w.employee) AS people, sum(w.worked_seconds)::BIGINT AS worked, sum(w.overtime_seconds)::BIGINT AS overtime,
        sum(w.leave_seconds)::BIGINT AS leave_seconds, sum(usd_to_cents(w.gross_usd))::BIGINT AS gross, sum(usd_to_cents(w.rounding_usd))::BIGINT AS rounding
    FROM pay_weeks AS w
    JOIN spans AS s ON s.source = w.source AND s.workweek_start = w.workweek_start
    GROUP BY s.source, s.from_on, s.until_on
),
joined AS (
    SELECT
        t.*, f.label AS first_label, l.label AS last_label, coalesce(g.people, 0) AS people, coalesce(g.worked, 0) AS worked, coalesce(g.overtime, 0) AS overtime,
        coalesce(g.leave_seconds, 0) AS leave_seconds, coalesce(g.gross, 0) AS gross, coalesce(g.rounding, 0) AS rounding,
        coalesce(p.direct, 0) AS direct, coalesce(p.waiting, 0) AS waiting, coalesce(p.stoppage, 0) AS stoppage, coalesce(p.indirect, 0) AS indirect,
        coalesce(p.premium, 0) AS premium, coalesce(p.leave, 0) AS leave, coalesce(p.bonus, 0) AS bonus, coalesce(p.retro, 0) AS retro,
        coalesce(p.variance, 0) AS variance, coalesce(p.reimbursement, 0) AS reimbursement, coalesce(p.posted, 0) AS posted,
        coalesce(p.in_period, 0) AS in_period, coalesce(p.accrued, 0) AS accrued, coalesce(p.straight_in_period, 0) AS straight_in_period,
        coalesce(s.cents, 0) AS shift_cents
    FROM periods AS t
    LEFT JOIN workweeks AS f ON f.workweek_start = t.first_week
    LEFT JOIN workweeks AS l ON l.workweek_start = t.last_week
    LEFT JOIN gross AS g ON g.source = t.source AND g.from_on = t.from_on AND g.until_on = t.until_on
    LEFT JOIN posted AS p ON p.source = t.source AND p.from_on = t.from_on AND p.until_on = t.until_on
    LEFT JOIN by_shift AS s ON s.source = t.source AND s.from_on = t.from_on AND s.until_on = t.until_on
)
SELECT
    j.source::VARCHAR AS source,
    CASE WHEN j.first_week IS NULL THEN concat(j.from_on, ' to ', j.until_on - 1)
         WHEN j.first_week = j.last_week THEN j.first_label ELSE concat(j.first_label, ' to ', j.last_label) END::VARCHAR AS pay_period,
    j.from_on::DATE AS starts_on,
    j.people::BIGINT AS people,
    seconds_to_hours(j.worked)::DECIMAL(14,4) AS worked_hours,
    seconds_to_hours(j.overtime)::DECIMAL(14,4) AS overtime_hours,
    seconds_to_hours(j.leave_seconds)::DECIMAL(14,4) AS leave_hours,
    cents_to_usd(j.direct)::DECIMAL(18,2) AS direct_usd,
    cents_to_usd(j.waiting)::DECIMAL(18,2) AS waiting_usd,
    cents_to_usd(j.stoppage)::DECIMAL(18,2) AS stoppage_usd,
    cents_to_usd(j.indirect)::DECIMAL(18,2) AS indirect_usd,
    cents_to_usd(j.premium - j.rounding)::DECIMAL(18,2) AS premium_usd,
    cents_to_usd(j.rounding)::DECIMAL(18,2) AS rounding_usd,
    cents_to_usd(j.leave)::DECIMAL(18,2) AS leave_usd,
    cents_to_usd(j.bonus)::DECIMAL(18,2) AS bonus_usd,
    cents_to_usd(j.retro)::DECIMAL(18,2) AS retro_usd,
    cents_to_usd(j.variance)::DECIMAL(18,2) AS variance_usd,
    cents_to_usd(j.posted)::DECIMAL(18,2) AS posted_usd,
    cents_to_usd(j.gross)::DECIMAL(18,2) AS gross_usd,
    cents_to_usd(j.posted - j.gross)::DECIMAL(18,2) AS difference_usd,
    cents_to_usd(j.register_cents)::DECIMAL(18,2) AS register_usd,
    cents_to_usd(j.register_cents - j.gross)::DECIMAL(18,2) AS remainder_usd,
    CASE WHEN j.register_cents IS NULL THEN 'no register was read'
         WHEN j.register_cents > j.gross THEN 'the register paid more than the clock, wages and other pay say'
         WHEN j.register_cents < j.gross THEN 'the register paid less than the clock, wages and other pay say: is time still owed?'
         ELSE 'ties out' END::VARCHAR AS remainder,
    cents_to_usd(j.in_period)::DECIMAL(18,2) AS in_period_usd,
    cents_to_usd(j.posted - j.in_period)::DECIMAL(18,2) AS outside_usd,
    cents_to_usd(j.accrued)::DECIMAL(18,2) AS accrued_usd,
    cents_to_usd(j.shift_cents)::DECIMAL(18,2) AS shift_dates_usd,
    cents_to_usd(j.straight_in_period - j.shift_cents)::DECIMAL(18,2) AS over_midnight_usd,
    cents_to_usd(j.reimbursement)::DECIMAL(18,2) AS reimbursement_usd
FROM joined AS j
ORDER BY j.source DESC, j.from_on, j.until_on;
