-- Pay beside hours: which workweek pays it, and which it was earned in.

-- grain: one row of other_pay
CREATE OR REPLACE TABLE steps.other_pay_rows AS
SELECT
    row_number() OVER (ORDER BY o.employee, o.workweek_start, o.kind, o.record, o.occurrence, o.import_id, o.import_line) AS other_pay_id,
    o.employee, w.workweek_start, o.kind, usd_to_cents(o.amount_usd) AS cents, o.earned_from, o.earned_until,
    -- Earned over other time than the workweek that pays it: the premium of that time is
    -- figured again.
    o.kind IN ('bonus', 'differential', 'piecework') AND o.earned_from IS NOT NULL
        AND NOT (o.earned_from >= w.workweek_start AND o.earned_until <= w.workweek_start + 7) AS is_spread,
    o.import_id, o.import_line
FROM other_pay AS o
JOIN workweeks AS w ON o.workweek_start >= w.workweek_start AND o.workweek_start < w.workweek_start + 7;
COMMENT ON TABLE steps.other_pay_rows IS 'one row of other_pay with its workweek; wage data';

-- grain: one employee and workweek with pay that counts in its own regular rate
CREATE OR REPLACE TABLE steps.other_pay_weeks AS
SELECT
    employee, workweek_start,
    sum(CASE WHEN kind = 'piecework' AND NOT is_spread THEN cents ELSE 0 END)::BIGINT AS piecework_cents,
    sum(CASE WHEN kind IN ('bonus', 'differential') AND NOT is_spread THEN cents ELSE 0 END)::BIGINT AS counting_cents
FROM steps.other_pay_rows
GROUP BY employee, workweek_start;
