-- Wages: which rate was in force, and which was paid.
--
-- A back-dated rate is in force from effective_on but was paid only from paid_from. Pay is
-- figured as it was paid; what the time between is owed besides is booked as retro.

-- grain: one employee, version (paid, owed) and day on which another row of wages begins to hold
CREATE OR REPLACE TABLE steps.wage_versions AS
WITH turns AS (
    SELECT employee, effective_on AS from_on FROM wages
    UNION
    SELECT employee, coalesce(paid_from, effective_on) FROM wages
),
paid AS (
    SELECT
        t.employee, t.from_on, w.effective_on, w.role, w.basis, w.rate_usd, w.salary_hours, w.overtime, w.overtime_bill_rate_usd, w.paid_from
    FROM turns AS t
    JOIN wages AS w ON w.employee = t.employee AND w.effective_on <= t.from_on AND coalesce(w.paid_from, w.effective_on) <= t.from_on
    QUALIFY row_number() OVER (PARTITION BY t.employee, t.from_on ORDER BY w.effective_on DESC) = 1
),
versions AS (
    SELECT 'paid' AS version, p.* FROM paid AS p
    UNION ALL
    SELECT 'owed', w.employee, w.effective_on, w.effective_on, w.role, w.basis, w.rate_usd, w.salary_hours, w.overtime, w.overtime_bill_rate_usd, w.paid_from
    FROM wages AS w
)
SELECT
    b.version, b.employee, b.from_on, b.effective_on, b.role, b.basis,
    (b.rate_usd * 10000)::BIGINT AS rate_e4,
    (b.salary_hours * 10000)::BIGINT AS salary_hours_e4,
    b.overtime IS DISTINCT FROM 'no' AS earns_overtime,
    (b.overtime_bill_rate_usd * 10000)::BIGINT AS overtime_bill_e4,
    b.paid_from
FROM versions AS b;
COMMENT ON TABLE steps.wage_versions IS 'one employee''s wage from one day on, as paid and as owed; wage data';
COMMENT ON COLUMN steps.wage_versions.rate_e4 IS 'ten-thousandths of a dollar: an hour (hourly, agency) or a week (salary)';
