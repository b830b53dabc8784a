-- Pay spans: the pay periods of the payroll register, and workweeks that no register covers.

-- grain: one source (payroll, agency) and pay period, or workweek outside all of them
CREATE OR REPLACE TABLE steps.pay_spans AS
WITH registers AS (
    SELECT CASE WHEN lower(source) = 'payroll' THEN 'payroll' ELSE 'agency' END AS source, "from" AS from_on, "until" AS until_on, usd_to_cents(sum(gross_usd)) AS register_cents
    FROM payroll
    GROUP BY ALL
),
-- Where pay periods overlap, a workweek belongs to the shortest.
placed AS (
    SELECT DISTINCT p.source, p.workweek_start, r.from_on, r.until_on
    FROM pay_weeks AS p
    LEFT JOIN registers AS r ON r.source = p.source AND p.workweek_start >= r.from_on AND p.workweek_start < r.until_on
    QUALIFY row_number() OVER (PARTITION BY p.source, p.workweek_start ORDER BY r.until_on - r.from_on, r.from_on) = 1
)
SELECT
    coalesce(p.source, r.source) AS source,
    coalesce(p.from_on, r.from_on, p.workweek_start)::DATE AS from_on,
    coalesce(p.until_on, r.until_on, p.workweek_start + 7)::DATE AS until_on,
    p.workweek_start, r.register_cents
FROM placed AS p
FULL JOIN registers AS r ON r.source = p.source AND r.from_on = p.from_on AND r.until_on = p.until_on;
COMMENT ON TABLE steps.pay_spans IS 'one source and workweek, with the pay period it is in (by itself where no register covers it) and the register''s gross; wage data';

-- grain: one source and pay period with a register
CREATE OR REPLACE TABLE steps.register_differences AS
SELECT
    s.source, s.from_on, s.until_on, any_value(s.register_cents) AS register_cents, coalesce(sum(usd_to_cents(w.gross_usd)), 0)::BIGINT AS gross_cents
FROM steps.pay_spans AS s
LEFT JOIN (SELECT source, workweek_start, sum(gross_usd) AS gross_usd FROM pay_weeks GROUP BY ALL) AS w ON w.source = s.source AND w.workweek_start = s.workweek_start
WHERE s.register_cents IS NOT NULL
GROUP BY s.source, s.from_on, s.until_on;
COMMENT ON TABLE steps.register_differences IS 'gross pay of one source and pay period by the register and by the ledger; wage data';
