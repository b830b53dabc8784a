-- Pay of each employee's workweek, by 29 CFR 778: hours past the weekly threshold earn a
-- premium of (multiplier - 1) times the regular rate, and the regular rate is all straight
-- pay for hours worked over those hours (778.109, 778.115 for several rates). Paid leave is
-- no hours worked (778.218). It costs labour; it is no instruction to pay.
--
-- Unit of straight pay before rounding: second x ten-thousandth of a dollar an hour, of
-- which 360000 make a cent.

-- grain: one employee and workweek
CREATE OR REPLACE TABLE pay_weeks AS
WITH worked AS (
    SELECT
        m.employee, m.workweek_start,
        sum(CASE WHEN m.use <> 'paid_not_worked' THEN m.seconds ELSE 0 END)::BIGINT AS worked_seconds,
        sum(CASE WHEN m.use = 'paid_not_worked' THEN m.seconds ELSE 0 END)::BIGINT AS leave_seconds,
        coalesce(sum(CASE WHEN m.use <> 'paid_not_worked' THEN m.seconds * m.rate_e4 END), 0)::BIGINT AS straight_units,
        coalesce(sum(CASE WHEN m.use = 'paid_not_worked' THEN m.seconds * m.rate_e4 END), 0)::BIGINT AS leave_units,
        sum(CASE WHEN m.rate_e4 IS NULL THEN m.seconds ELSE 0 END)::BIGINT AS unpriced_seconds
    FROM steps.minute_rows AS m
    GROUP BY m.employee, m.workweek_start
),
past AS (
    SELECT w.*, greatest(0, w.worked_seconds - s.weekly_threshold_seconds) AS overtime_seconds, s.premium_e4, s.rate_rounding
    FROM worked AS w
    CROSS JOIN settings AS s
),
rated AS (
    SELECT
        p.*,
        CASE WHEN p.worked_seconds > 0 THEN rounded_quotient(p.straight_units::HUGEINT * 100, p.worked_seconds) END AS regular_rate_e6,
        CASE WHEN p.worked_seconds > 0 THEN rounded_quotient(p.straight_units, p.worked_seconds * 100) END AS regular_rate_cents
    FROM past AS p
),
costed AS (
    SELECT
        r.*,
        rounded_quotient(r.straight_units, 360000) AS straight_cents,
        rounded_quotient(r.leave_units, 360000) AS leave_cents,
        CASE
            WHEN r.overtime_seconds = 0 THEN 0
            -- The exact regular rate; the week's total is rounded once, and the premium is the
            -- last step of that running total.
            WHEN r.rate_rounding = 'none'
                THEN rounded_quotient(
                        r.straight_units::HUGEINT * (10000 * r.worked_seconds::HUGEINT + r.premium_e4 * r.overtime_seconds), r.worked_seconds::HUGEINT * 3600000000)
                    - rounded_quotient(r.straight_units, 360000)
            -- The rate and its half are each rounded to the cent first.
            ELSE rounded_quotient(rounded_quotient(r.regular_rate_cents * r.premium_e4, 10000) * r.overtime_seconds, 3600)
        END AS premium_cents
    FROM rated AS r
)
SELECT
    c.employee, c.workweek_start, c.worked_seconds, c.overtime_seconds,
    (c.regular_rate_e6::DECIMAL(18,0) * 0.000001::DECIMAL(7,6))::DECIMAL(18,6) AS regular_rate_usd,
    cents_to_usd(c.straight_cents) AS straight_usd,
    cents_to_usd(c.premium_cents) AS overtime_premium_usd,
    cents_to_usd(c.leave_cents) AS leave_usd,
    cents_to_usd(c.straight_cents + c.premium_cents + c.leave_cents) AS gross_usd,
    c.leave_seconds, c.unpriced_seconds
FROM costed AS c
ORDER BY c.employee, c.workweek_start;
COMMENT ON TABLE pay_weeks IS 'pay of one employee and workweek (29 CFR 778); wage data';
COMMENT ON COLUMN pay_weeks.worked_seconds IS 'hours worked, in seconds; paid leave is not in it';
COMMENT ON COLUMN pay_weeks.overtime_seconds IS 'of them, past the weekly threshold';
COMMENT ON COLUMN pay_weeks.regular_rate_usd IS 'straight pay over hours worked, dollars an hour, six decimals for reading only';
COMMENT ON COLUMN pay_weeks.straight_usd IS 'hours worked at their straight rates';
COMMENT ON COLUMN pay_weeks.overtime_premium_usd IS 'what overtime earns on top of straight pay';
COMMENT ON COLUMN pay_weeks.leave_usd IS 'paid and not worked';
COMMENT ON COLUMN pay_weeks.gross_usd IS 'straight + premium + leave';
COMMENT ON COLUMN pay_weeks.unpriced_seconds IS 'seconds of an employee without a wage: they cost 0 here and lead the exceptions';
