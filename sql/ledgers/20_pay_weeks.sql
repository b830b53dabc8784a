-- Pay of each employee's workweek, by 29 CFR 778.
--
-- Hours past a threshold earn a premium of (multiplier - 1) times the regular rate, and the
-- regular rate is all pay that counts over the hours worked (778.109): straight pay at each
-- punch's rate (778.115), piecework (778.111), bonuses and differentials (778.208); a salary
-- over the hours that it is for (778.113). Paid leave is no hours worked (778.218). A bonus
-- earned over several weeks raises the premium of each (778.209). Daily thresholds and the
-- seventh day are settings; an hour earns one premium only, the higher: hours that earn a
-- daily premium don't count towards the weekly threshold (as California Labor Code 510(a)
-- has it). Agency people cost hours times the bill rate. It costs labour; it is no
-- instruction to pay.
--
-- Unit of straight pay before rounding: second x ten-thousandth of a dollar an hour, of
-- which 360000 make a cent.

-- grain: one employee and workweek with hours worked
-- renewed: workweek_start >= since
-- reads: steps.minute_rows where workweek_start >= since
CREATE OR REPLACE TABLE steps.overtime_weeks AS
WITH workdays AS (
    SELECT m.employee, m.workweek_start, m.workday, sum(m.seconds)::BIGINT AS seconds
    FROM steps.minute_rows AS m
    WHERE m.use <> 'paid_not_worked'
    GROUP BY m.employee, m.workweek_start, m.workday
),
numbered AS (
    SELECT
        d.*, s.premium_e4, s.double_premium_e4, s.weekly_threshold_seconds,
        s.seventh_day_premium AND d.workday = d.workweek_start + 6 AND count(*) OVER (PARTITION BY d.employee, d.workweek_start) = 7 AS is_seventh,
        CASE WHEN s.daily_threshold_seconds > 0 THEN s.daily_threshold_seconds ELSE 10000000 END AS daily,
        CASE WHEN s.double_daily_threshold_seconds > 0 THEN s.double_daily_threshold_seconds ELSE 10000000 END AS double_daily,
        s.double_daily_threshold_seconds > 0 AS knows_double
    FROM workdays AS d
    CROSS JOIN settings AS s
),
-- On the seventh day the premium takes the place of straight time, and double time that of
-- the premium.
tiered AS (
    SELECT
        n.*,
        greatest(0, n.seconds - CASE WHEN n.is_seventh AND n.knows_double THEN n.daily ELSE n.double_daily END) AS double_seconds,
        CASE WHEN n.is_seventh THEN n.seconds ELSE greatest(0, n.seconds - n.daily) END AS past_daily
    FROM numbered AS n
),
summed AS (
    SELECT
        t.employee, t.workweek_start,
        sum(t.seconds)::BIGINT AS worked_seconds,
        sum(t.double_seconds)::BIGINT AS double_seconds,
        sum(t.past_daily - t.double_seconds)::BIGINT AS daily_seconds,
        greatest(0, sum(t.seconds - t.past_daily) - any_value(t.weekly_threshold_seconds))::BIGINT AS weekly_seconds,
        any_value(t.premium_e4) AS premium_e4, any_value(t.double_premium_e4) AS double_premium_e4
    FROM tiered AS t
    GROUP BY t.employee, t.workweek_start
)
SELECT
    s.employee, s.workweek_start, s.worked_seconds,
    s.daily_seconds + s.weekly_seconds AS premium_seconds, s.double_seconds,
    s.premium_e4, s.double_premium_e4,
    -- Premium hours weighed by their premium: seconds x ten-thousandths of the regular rate.
    (s.daily_seconds + s.weekly_seconds)::HUGEINT * s.premium_e4 + s.double_seconds::HUGEINT * s.double_premium_e4 AS weighted_e4
FROM summed AS s;
COMMENT ON TABLE steps.overtime_weeks IS 'hours of one employee and workweek that earn a premium, in seconds';

-- grain: one employee, workweek and version whose straight pay is a salary
-- renewed: workweek_start >= since
-- reads: steps.minute_rows where workweek_start >= since
-- reads: steps.punches where shift_date >= since
CREATE OR REPLACE TABLE steps.salary_weeks AS
WITH salaried AS (
    SELECT DISTINCT m.employee, m.workweek_start
    FROM steps.minute_rows AS m
    SEMI JOIN (SELECT employee FROM wages WHERE basis = 'salary') AS s ON s.employee = m.employee
    UNION
    -- A timecard row is a week of the salary, whatever it counts: the week of its time, else of
    -- its date.
    SELECT p.employee, coalesce(w.workweek_start, d.workweek_start)
    FROM steps.punches AS p
    SEMI JOIN (SELECT employee FROM wages WHERE basis = 'salary') AS s ON s.employee = p.employee
    JOIN day_parts AS d ON d.day = p.shift_date
    LEFT JOIN workweeks AS w ON coalesce(p.started_utc, p.ended_utc) >= w.starts_utc AND coalesce(p.started_utc, p.ended_utc) < w.ends_utc
    QUALIFY row_number() OVER (PARTITION BY p.punch_id ORDER BY d.starts_utc DESC) = 1
),
versions AS (
    SELECT s.employee, s.workweek_start, v.version, (s.workweek_start + d.n)::DATE AS day
    FROM salaried AS s
    CROSS JOIN (VALUES ('paid'), ('owed')) AS v(version)
    CROSS JOIN (VALUES (0), (1), (2), (3), (4), (5), (6)) AS d(n)
),
-- A salary that changes within a week counts by sevenths.
priced AS (
    SELECT v.employee, v.workweek_start, v.version, v.day, w.rate_e4, w.salary_hours_e4, w.earns_overtime
    FROM versions AS v
    ASOF JOIN steps.wage_versions AS w ON v.employee = w.employee AND v.version = w.version AND v.day >= w.from_on
    WHERE w.basis = 'salary'
)
SELECT
    employee, workweek_start, version,
    sum(rate_e4)::BIGINT AS salary_e4, sum(salary_hours_e4)::BIGINT AS hours_e4,
    arg_max(earns_overtime, day) AS earns_overtime
FROM priced
GROUP BY employee, workweek_start, version;
COMMENT ON TABLE steps.salary_weeks IS 'seven days'' weekly salaries and hours added up: a seventh of each is the week''s; wage data';

-- grain: one employee and workweek whose salary as owed is not that paid
CREATE OR REPLACE TABLE steps.salary_retro AS
SELECT o.employee, o.workweek_start, max(w.paid_from) AS retro_on
FROM steps.salary_weeks AS o
LEFT JOIN steps.salary_weeks AS p ON p.version = 'paid' AND p.employee = o.employee AND p.workweek_start = o.workweek_start
JOIN wages AS w ON w.employee = o.employee AND w.paid_from > o.workweek_start AND w.effective_on < o.workweek_start + 7 AND w.paid_from > w.effective_on
WHERE o.version = 'owed' AND (o.salary_e4, o.hours_e4) IS DISTINCT FROM (p.salary_e4, p.hours_e4)
GROUP BY o.employee, o.workweek_start;

-- grain: one minute row and version: paid, and owed where a back-dated rate differs
-- renewed: workweek_start >= since
-- reads: steps.minute_rows where workweek_start >= since
-- reads: steps.punches where shift_date >= since
CREATE OR REPLACE TABLE steps.pay_rows AS
WITH back_dated AS (
    SELECT employee, workweek_start, max(retro_on) AS retro_on
    FROM (
        SELECT m.employee, m.workweek_start, p.retro_on
        FROM steps.minute_rows AS m
        JOIN steps.punches AS p USING (punch_id)
        WHERE p.retro_on IS NOT NULL
        UNION ALL
        -- A salary is owed for days without a card, too.
        SELECT employee, workweek_start, retro_on FROM steps.salary_retro
    )
    GROUP BY employee, workweek_start
),
versions AS (
    SELECT
        'paid' AS version, NULL::DATE AS retro_on, m.minute_row_id, m.employee, m.workweek_start, m.day, m.from_utc, m.seconds, m.use, m.reason, m.job, m.remake,
        m.run_row_id, m.import_id, m.import_line, p.basis, p.rate_e4, p.has_wage, p.earns_overtime, p.overtime_bill_e4
    FROM steps.minute_rows AS m
    JOIN steps.punches AS p USING (punch_id)
    UNION ALL
    SELECT
        'owed', b.retro_on, m.minute_row_id, m.employee, m.workweek_start, m.day, m.from_utc, m.seconds, m.use, m.reason, m.job, m.remake,
        m.run_row_id, m.import_id, m.import_line, p.owed_basis, p.owed_rate_e4, p.has_wage, p.owed_earns, p.owed_bill_e4
    FROM steps.minute_rows AS m
    JOIN steps.punches AS p USING (punch_id)
    JOIN back_dated AS b ON b.employee = m.employee AND b.workweek_start = m.workweek_start
),
running AS (
    SELECT
        b.*, b.use = 'paid_not_worked' AS not_worked,
        sum(CASE WHEN b.basis = 'salary' THEN b.seconds ELSE 0 END) OVER in_order AS salary_to,
        sum(CASE WHEN b.use <> 'paid_not_worked' THEN b.seconds ELSE 0 END) OVER in_order AS worked_to,
        sum(CASE WHEN b.use <> 'paid_not_worked' THEN b.seconds ELSE 0 END) OVER (PARTITION BY b.version, b.employee, b.workweek_start) AS worked_in_all
    FROM versions AS b
    WINDOW in_order AS (PARTITION BY b.version, b.employee, b.workweek_start ORDER BY b.minute_row_id ROWS UNBOUNDED PRECEDING)
),
-- Whole units a row: a salary at its hourly worth, piecework evenly over the hours worked.
spread AS (
    SELECT
        r.*,
        CASE WHEN r.basis = 'salary' THEN
            rounded_quotient(r.salary_to::HUGEINT * s.salary_e4 * 10000, s.hours_e4)
                - rounded_quotient((r.salary_to - r.seconds)::HUGEINT * s.salary_e4 * 10000, s.hours_e4)
            ELSE r.seconds * coalesce(r.rate_e4, 0) END AS rate_units,
        CASE WHEN r.not_worked OR coalesce(o.piecework_cents, 0) = 0 THEN 0 ELSE
            rounded_quotient(o.piecework_cents::HUGEINT * 360000 * r.worked_to, r.worked_in_all)
                - rounded_quotient(o.piecework_cents::HUGEINT * 360000 * (r.worked_to - r.seconds), r.worked_in_all) END AS piece_units
    FROM running AS r
    LEFT JOIN steps.salary_weeks AS s ON s.employee = r.employee AND s.workweek_start = r.workweek_start AND s.version = r.version
    LEFT JOIN steps.other_pay_weeks AS o ON o.employee = r.employee AND o.workweek_start = r.workweek_start
)
SELECT
    p.version, p.retro_on, p.minute_row_id, p.employee, p.workweek_start, p.day, p.from_utc, p.seconds, p.use, p.reason, p.job, p.remake, p.run_row_id,
    p.import_id, p.import_line, p.basis, p.has_wage, p.earns_overtime, p.overtime_bill_e4, p.not_worked,
    p.rate_units::BIGINT AS rate_units, (p.rate_units + p.piece_units)::BIGINT AS units
FROM spread AS p;
COMMENT ON TABLE steps.pay_rows IS 'straight pay of each minute row in 360000ths of a cent, as paid and as owed; wage data';
COMMENT ON COLUMN steps.pay_rows.rate_units IS 'of units, all but piecework';

-- grain: one employee, workweek and version
-- renewed: workweek_start >= since
-- reads: steps.pay_rows where workweek_start >= since
-- reads: steps.overtime_weeks where workweek_start >= since
-- reads: steps.salary_weeks where workweek_start >= since
CREATE OR REPLACE TABLE steps.pay_totals AS
WITH worked AS (
    SELECT
        r.version, r.employee, r.workweek_start, max(r.retro_on) AS retro_on,
        sum(CASE WHEN r.not_worked THEN 0 ELSE r.seconds END)::BIGINT AS worked_seconds,
        sum(CASE WHEN r.not_worked THEN r.seconds ELSE 0 END)::BIGINT AS leave_seconds,
        sum(CASE WHEN r.basis = 'salary' THEN r.seconds ELSE 0 END)::BIGINT AS salary_seconds,
        sum(CASE WHEN r.not_worked THEN 0 ELSE r.units END)::BIGINT AS straight_units,
        sum(CASE WHEN r.not_worked THEN 0 ELSE r.rate_units END)::BIGINT AS rate_units,
        sum(CASE WHEN r.not_worked THEN r.units ELSE 0 END)::BIGINT AS leave_units,
        sum(CASE WHEN r.has_wage THEN 0 ELSE r.seconds END)::BIGINT AS unpriced_seconds,
        bool_and(coalesce(r.basis = 'salary', false)) AS all_salary,
        bool_and(coalesce(r.basis = 'agency', false)) AS all_agency,
        arg_max(coalesce(r.earns_overtime, true), r.minute_row_id) AS earns_overtime,
        arg_max(r.overtime_bill_e4, r.minute_row_id) FILTER (WHERE r.basis = 'agency') AS overtime_bill_e4
    FROM steps.pay_rows AS r
    GROUP BY r.version, r.employee, r.workweek_start
    UNION ALL
    -- Weeks of a salary in which no row counts.
    SELECT s.version, s.employee, s.workweek_start, x.retro_on, 0, 0, 0, 0, 0, 0, 0, true, false, s.earns_overtime, NULL
    FROM steps.salary_weeks AS s
    LEFT JOIN steps.salary_retro AS x ON x.employee = s.employee AND x.workweek_start = s.workweek_start
    WHERE (s.version = 'paid' OR x.retro_on IS NOT NULL)
        AND NOT EXISTS (SELECT 1 FROM steps.pay_rows AS r WHERE r.employee = s.employee AND r.workweek_start = s.workweek_start)
),
joined AS (
    SELECT
        w.*, coalesce(o.premium_seconds, 0) AS premium_seconds, coalesce(o.double_seconds, 0) AS double_seconds,
        CASE WHEN w.earns_overtime AND NOT w.all_agency THEN coalesce(o.weighted_e4, 0) ELSE 0 END AS weighted_e4,
        coalesce(o.premium_e4, 0) AS premium_e4, coalesce(o.double_premium_e4, 0) AS double_premium_e4,
        -- Piecework is in straight pay already, but for a salary, which is a rate of its own.
        (coalesce(p.counting_cents, 0) + CASE WHEN w.all_salary THEN coalesce(p.piecework_cents, 0) ELSE 0 END)::HUGEINT * 360000 AS counting_units,
        s.salary_e4, s.hours_e4, s.earns_overtime AS salary_earns
    FROM worked AS w
    LEFT JOIN steps.overtime_weeks AS o USING (employee, workweek_start)
    LEFT JOIN steps.other_pay_weeks AS p USING (employee, workweek_start)
    LEFT JOIN steps.salary_weeks AS s ON s.employee = w.employee AND s.workweek_start = w.workweek_start AND s.version = w.version
),
-- The regular rate as a fraction, in ten-thousandths of a dollar an hour: straight pay and
-- what counts beside it over the hours worked; a salary over the hours that it is for.
rated AS (
    SELECT
        j.*,
        CASE WHEN j.worked_seconds = 0 THEN 0
             WHEN j.all_salary THEN j.salary_e4::HUGEINT * 10000 * j.worked_seconds + j.counting_units * j.hours_e4
             ELSE j.straight_units::HUGEINT + j.counting_units END AS rate_over,
        CASE WHEN j.worked_seconds = 0 THEN 1
             WHEN j.all_salary THEN j.hours_e4::HUGEINT * j.worked_seconds
             ELSE j.worked_seconds::HUGEINT END AS rate_under
    FROM joined AS j
),
priced AS (
    SELECT
        r.*,
        rounded_quotient(r.rate_over * 100, r.rate_under) AS regular_rate_e6,
        rounded_quotient(r.straight_units, 360000) AS straight_cents,
        rounded_quotient(r.leave_units, 360000) AS leave_cents,
        CASE WHEN r.all_agency AND r.overtime_bill_e4 IS NOT NULL AND r.worked_seconds > 0
            THEN greatest(0,
                rounded_quotient(r.straight_units::HUGEINT * r.worked_seconds
                    + (r.premium_seconds + r.double_seconds)::HUGEINT * (r.overtime_bill_e4 * r.worked_seconds::HUGEINT - r.rate_units), 360000 * r.worked_seconds::HUGEINT)
                - rounded_quotient(r.straight_units, 360000))
            ELSE 0 END AS agency_premium_cents,
        -- The exact regular rate; the week's total is rounded once, and the premium is the last
        -- step of that running total.
        CASE WHEN r.all_salary THEN rounded_quotient(r.rate_over * r.weighted_e4, r.rate_under * 3600000000)
             ELSE rounded_quotient(r.straight_units::HUGEINT * 10000 * r.rate_under + r.rate_over * r.weighted_e4, r.rate_under * 3600000000)
                - rounded_quotient(r.straight_units, 360000) END AS exact_premium_cents,
        -- The rate and its premium are each rounded to the cent first.
        rounded_quotient(
            rounded_quotient(rounded_quotient(r.rate_over, r.rate_under * 100) * r.premium_e4, 10000)::HUGEINT * CASE WHEN r.weighted_e4 > 0 THEN r.premium_seconds ELSE 0 END
            + rounded_quotient(rounded_quotient(r.rate_over, r.rate_under * 100) * r.double_premium_e4, 10000)::HUGEINT * CASE WHEN r.weighted_e4 > 0 THEN r.double_seconds ELSE 0 END,
            3600) AS cent_premium_cents,
        -- A salary is paid whole; hours past those it is for earn its hourly worth where they
        -- earn overtime at all.
        CASE WHEN r.salary_e4 IS NOT NULL THEN
            rounded_quotient(r.salary_e4::HUGEINT * CASE WHEN r.salary_earns THEN greatest(3600 * r.hours_e4::HUGEINT, r.salary_seconds::HUGEINT * 70000) ELSE 3600 * r.hours_e4::HUGEINT END,
                7 * r.hours_e4::HUGEINT * 360000) END AS salary_cents,
        s.rate_rounding
    FROM rated AS r
    CROSS JOIN settings AS s
),
-- What the salary pays beyond its applied hours, below 0 where unpaid hours were applied.
salaried AS (
    SELECT
        p.*,
        CASE WHEN p.salary_cents IS NULL THEN 0 ELSE p.salary_cents - coalesce(a.cents, 0) END AS variance_cents,
        CASE WHEN p.all_agency THEN p.agency_premium_cents
             WHEN p.rate_rounding = 'cent' THEN p.cent_premium_cents
             ELSE p.exact_premium_cents END AS premium_cents
    FROM priced AS p
    LEFT JOIN (
        SELECT version, employee, workweek_start,
            rounded_quotient(sum(CASE WHEN not_worked THEN 0 ELSE rate_units END), 360000)
                + rounded_quotient(sum(CASE WHEN not_worked THEN rate_units ELSE 0 END), 360000) AS cents
        FROM steps.pay_rows
        WHERE basis = 'salary'
        GROUP BY version, employee, workweek_start
    ) AS a ON a.version = p.version AND a.employee = p.employee AND a.workweek_start = p.workweek_start
)
SELECT
    s.version, s.employee, s.workweek_start, s.retro_on, s.worked_seconds, s.leave_seconds, s.unpriced_seconds,
    s.premium_seconds, s.double_seconds, s.weighted_e4, s.premium_e4, s.double_premium_e4, s.all_agency,
    s.regular_rate_e6, s.straight_cents, s.leave_cents, s.variance_cents, s.premium_cents,
    CASE WHEN s.all_agency THEN 0 ELSE s.premium_cents - s.exact_premium_cents END AS rounding_cents
FROM salaried AS s;
COMMENT ON TABLE steps.pay_totals IS 'pay of one employee and workweek before bonuses, as paid and as owed; wage data';

-- grain: one bonus earned over several workweeks and one of them: what it adds to the premium
CREATE OR REPLACE TABLE steps.spread_premiums AS
WITH covered AS (
    SELECT o.other_pay_id, o.employee, o.workweek_start AS paid_week, o.cents, m.workweek_start, sum(m.seconds)::BIGINT AS seconds
    FROM steps.other_pay_rows AS o
    JOIN steps.minute_rows AS m ON m.employee = o.employee AND m.day >= o.earned_from AND m.day < o.earned_until
    WHERE o.is_spread AND m.use <> 'paid_not_worked'
    GROUP BY o.other_pay_id, o.employee, o.workweek_start, o.cents, m.workweek_start
),
shared AS (
    SELECT
        c.*, sum(c.seconds) OVER (PARTITION BY c.other_pay_id) AS seconds_in_all,
        t.worked_seconds, t.weighted_e4
    FROM covered AS c
    JOIN steps.pay_totals AS t ON t.version = 'paid' AND t.employee = c.employee AND t.workweek_start = c.workweek_start
)
SELECT
    h.other_pay_id, h.employee, h.paid_week, h.workweek_start,
    CASE WHEN h.weighted_e4 = 0 THEN 0
         ELSE rounded_quotient(h.cents::HUGEINT * h.seconds * h.weighted_e4, h.seconds_in_all::HUGEINT * h.worked_seconds * 10000)
    END AS cents
FROM shared AS h;
COMMENT ON TABLE steps.spread_premiums IS 'overtime premium on pay that was earned over several workweeks (29 CFR 778.209), paid in paid_week; wage data';

-- grain: one employee and workweek whose back-dated rate is paid in another
CREATE OR REPLACE TABLE steps.retro_weeks AS
SELECT
    o.employee, o.workweek_start, w.workweek_start AS paid_week, o.retro_on,
    o.straight_cents - p.straight_cents AS straight_cents, o.leave_cents - p.leave_cents AS leave_cents,
    o.variance_cents - p.variance_cents AS variance_cents, o.premium_cents - p.premium_cents AS premium_cents
FROM steps.pay_totals AS o
JOIN steps.pay_totals AS p ON p.version = 'paid' AND p.employee = o.employee AND p.workweek_start = o.workweek_start
JOIN workweeks AS w ON o.retro_on >= w.workweek_start AND o.retro_on < w.workweek_start + 7
WHERE o.version = 'owed';
COMMENT ON TABLE steps.retro_weeks IS 'what a back-dated rate adds to one employee and workweek, and the workweek that pays it; wage data';

-- grain: one employee and workweek
CREATE OR REPLACE TABLE pay_weeks AS
WITH weeks AS (
    SELECT employee, workweek_start FROM steps.pay_totals
    UNION SELECT employee, workweek_start FROM steps.other_pay_rows
    UNION SELECT employee, paid_week FROM steps.retro_weeks
),
beside AS (
    SELECT
        o.employee, o.workweek_start,
        sum(CASE WHEN o.kind = 'reimbursement' OR o.kind = 'piecework' AND NOT o.is_spread AND t.worked_seconds > 0 THEN 0 ELSE o.cents END)::BIGINT AS bonus_cents,
        sum(CASE WHEN o.kind = 'reimbursement' THEN o.cents ELSE 0 END)::BIGINT AS reimbursement_cents
    FROM steps.other_pay_rows AS o
    LEFT JOIN steps.pay_totals AS t ON t.version = 'paid' AND t.employee = o.employee AND t.workweek_start = o.workweek_start
    GROUP BY o.employee, o.workweek_start
),
late AS (
    SELECT employee, paid_week AS workweek_start, sum(cents)::BIGINT AS cents FROM steps.spread_premiums GROUP BY ALL
),
retro AS (
    SELECT employee, paid_week AS workweek_start, sum(straight_cents + leave_cents + variance_cents + premium_cents)::BIGINT AS cents
    FROM steps.retro_weeks GROUP BY ALL
),
summed AS (
    SELECT
        w.employee, w.workweek_start, t.regular_rate_e6, coalesce(t.all_agency, false) AS is_agency,
        coalesce(t.worked_seconds, 0) AS worked_seconds, coalesce(t.premium_seconds + t.double_seconds, 0) AS overtime_seconds, coalesce(t.double_seconds, 0) AS double_seconds,
        coalesce(t.leave_seconds, 0) AS leave_seconds, coalesce(t.unpriced_seconds, 0) AS unpriced_seconds,
        coalesce(t.straight_cents, 0) AS straight, coalesce(t.leave_cents, 0) AS leave, coalesce(t.variance_cents, 0) AS variance,
        coalesce(t.premium_cents, 0) + coalesce(l.cents, 0) AS premium, coalesce(t.rounding_cents, 0) AS rounding,
        coalesce(b.bonus_cents, 0) AS bonus, coalesce(b.reimbursement_cents, 0) AS reimbursement, coalesce(r.cents, 0) AS retro
    FROM weeks AS w
    LEFT JOIN steps.pay_totals AS t ON t.version = 'paid' AND t.employee = w.employee AND t.workweek_start = w.workweek_start
    LEFT JOIN beside AS b ON b.employee = w.employee AND b.workweek_start = w.workweek_start
    LEFT JOIN late AS l ON l.employee = w.employee AND l.workweek_start = w.workweek_start
    LEFT JOIN retro AS r ON r.employee = w.employee AND r.workweek_start = w.workweek_start
)
SELECT
    s.employee, s.workweek_start, s.worked_seconds::BIGINT AS worked_seconds, s.overtime_seconds::BIGINT AS overtime_seconds,
    (s.regular_rate_e6::DECIMAL(18,0) * 0.000001::DECIMAL(7,6))::DECIMAL(18,6) AS regular_rate_usd,
    cents_to_usd(s.straight) AS straight_usd,
    cents_to_usd(s.premium) AS overtime_premium_usd,
    cents_to_usd(s.leave) AS leave_usd,
    cents_to_usd(s.variance) AS rate_variance_usd,
    cents_to_usd(s.bonus) AS bonus_usd,
    cents_to_usd(s.retro) AS retro_usd,
    cents_to_usd(s.straight + s.premium + s.leave + s.variance + s.bonus + s.retro) AS gross_usd,
    cents_to_usd(s.reimbursement) AS reimbursement_usd,
    cents_to_usd(s.rounding) AS rounding_usd,
    s.double_seconds::BIGINT AS double_seconds, s.leave_seconds::BIGINT AS leave_seconds, s.unpriced_seconds::BIGINT AS unpriced_seconds,
    CASE WHEN s.is_agency THEN 'agency' ELSE 'payroll' END AS source
FROM summed AS s
ORDER BY s.employee, s.workweek_start;
COMMENT ON TABLE pay_weeks IS 'pay of one employee and workweek (29 CFR 778); wage data';
COMMENT ON COLUMN pay_weeks.worked_seconds IS 'hours worked, in seconds; paid leave is not in it';
COMMENT ON COLUMN pay_weeks.overtime_seconds IS 'of them, those that earn a premium: past a threshold or on the seventh day';
COMMENT ON COLUMN pay_weeks.double_seconds IS 'of those, at the double multiplier';
COMMENT ON COLUMN pay_weeks.regular_rate_usd IS 'pay that counts over hours worked, dollars an hour, six decimals for reading only';
COMMENT ON COLUMN pay_weeks.straight_usd IS 'hours worked at their straight rates, piecework included';
COMMENT ON COLUMN pay_weeks.overtime_premium_usd IS 'what overtime earns on top of straight pay, that on bonuses of earlier weeks paid now included';
COMMENT ON COLUMN pay_weeks.leave_usd IS 'paid and not worked';
COMMENT ON COLUMN pay_weeks.rate_variance_usd IS 'a salary less its hourly worth times the hours';
COMMENT ON COLUMN pay_weeks.bonus_usd IS 'bonuses, differentials and discretionary pay';
COMMENT ON COLUMN pay_weeks.retro_usd IS 'back-dated raises of earlier weeks, the overtime on them included, paid in this one';
COMMENT ON COLUMN pay_weeks.gross_usd IS 'the six before it';
COMMENT ON COLUMN pay_weeks.reimbursement_usd IS 'expenses paid back: no pay, and not in gross';
COMMENT ON COLUMN pay_weeks.rounding_usd IS 'of the premium, what rounding the rate to the cent makes of it';
COMMENT ON COLUMN pay_weeks.unpriced_seconds IS 'seconds of an employee without a wage: they cost 0 here and lead the exceptions';
COMMENT ON COLUMN pay_weeks.source IS 'payroll, or agency: whose register the pay is in';
