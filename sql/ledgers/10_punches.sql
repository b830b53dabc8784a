-- Punches: what each timecard row says, made ready to be cut.

-- grain: one row of timecards
CREATE OR REPLACE TABLE steps.punches AS
WITH dated AS (
    SELECT
        t.employee, t.crew, t.shift, t.station, t.started_at, t.ended_at, t.started_utc, t.ended_utc,
        coalesce(t.work_date, t.started_at::DATE) AS shift_date,
        t.unpaid_min, t.pay_code, t.hours, t.rate_usd, t.record, t.import_id, t.import_line
    FROM timecards AS t
),
rated AS (
    SELECT d.* EXCLUDE (rate_usd), w.role, coalesce(d.rate_usd, w.rate_usd) AS rate_usd
    FROM dated AS d
    ASOF LEFT JOIN wages AS w ON d.employee = w.employee AND d.shift_date >= w.effective_on
),
-- What the row can tell, before overlaps: the first fault that makes it worth 0 seconds.
judged AS (
    SELECT
        r.*,
        CASE
            WHEN lower(r.pay_code) <> 'worked' THEN 'not worked'
            WHEN r.started_utc IS NOT NULL AND r.ended_utc > r.started_utc THEN 'clocked'
            WHEN r.started_at IS NULL AND r.ended_at IS NULL AND r.hours IS NOT NULL THEN 'hours only'
            ELSE 'faulty'
        END AS kind,
        CASE
            WHEN lower(r.pay_code) <> 'worked' THEN NULL
            WHEN r.started_at IS NULL AND r.ended_at IS NULL AND r.hours IS NULL THEN 'no times and no hours'
            WHEN r.started_at IS NULL AND r.ended_at IS NULL THEN NULL
            WHEN r.ended_at IS NULL THEN 'missing punch-out'
            WHEN r.started_at IS NULL THEN 'missing punch-in'
            WHEN r.started_utc IS NULL OR r.ended_utc IS NULL THEN 'a time that the clock change skipped or repeated'
            WHEN r.ended_utc <= r.started_utc THEN 'punch-out not after punch-in'
        END AS fault
    FROM rated AS r
),
-- Of overlapping punches the later counts from the end of those before it.
followed AS (
    SELECT
        j.*,
        max(CASE WHEN j.kind = 'clocked' THEN j.ended_utc END) OVER (
            PARTITION BY j.employee
            ORDER BY j.started_utc, j.ended_utc, j.record, j.import_id, j.import_line
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ) AS busy_until_utc
    FROM judged AS j
),
bounded AS (
    SELECT
        f.*,
        CASE WHEN f.kind = 'clocked' THEN least(greatest(f.started_utc, coalesce(f.busy_until_utc, f.started_utc)), f.ended_utc) END AS counts_from_utc,
        f.kind = 'clocked' AND f.busy_until_utc > f.started_utc AS overlaps
    FROM followed AS f
),
measured AS (
    SELECT
        b.*,
        CASE
            WHEN b.kind = 'clocked' THEN seconds_between(b.counts_from_utc, b.ended_utc)
            WHEN b.kind = 'hours only' THEN rounded_quotient((b.hours * 10000)::BIGINT * 3600, 10000)
            WHEN b.kind = 'not worked' AND b.hours IS NOT NULL THEN rounded_quotient((b.hours * 10000)::BIGINT * 3600, 10000)
            WHEN b.kind = 'not worked' AND b.ended_utc > b.started_utc THEN seconds_between(b.started_utc, b.ended_utc)
            ELSE 0
        END AS elapsed_seconds
    FROM bounded AS b
),
-- An automatic deduction does not come off a punch too short for a meal.
deducted AS (
    SELECT
        m.*,
        CASE
            WHEN m.kind NOT IN ('clocked', 'hours only') THEN 0
            WHEN m.elapsed_seconds < s.meal_after_seconds THEN 0
            ELSE least(m.elapsed_seconds, rounded_quotient((coalesce(m.unpaid_min, 0) * 100)::BIGINT * 60, 100))
        END AS unpaid_seconds
    FROM measured AS m
    CROSS JOIN settings AS s
)
SELECT
    row_number() OVER (ORDER BY d.employee, d.shift_date, d.started_utc, d.ended_utc, d.record, d.import_id, d.import_line) AS punch_id,
    d.employee, d.crew, d.shift, d.station, d.shift_date, d.started_at, d.ended_at, d.started_utc, d.counts_from_utc, d.ended_utc,
    d.pay_code, d.kind,
    CASE WHEN d.fault IS NULL AND d.elapsed_seconds > 0 AND d.unpaid_seconds = d.elapsed_seconds
        THEN 'unpaid minutes as long as the punch' ELSE d.fault END AS fault,
    d.overlaps, d.role, d.rate_usd,
    (d.rate_usd * 10000)::BIGINT AS rate_e4,
    d.elapsed_seconds, d.unpaid_seconds,
    d.elapsed_seconds - d.unpaid_seconds AS paid_seconds,
    d.import_id, d.import_line
FROM deducted AS d;
COMMENT ON TABLE steps.punches IS 'one row of timecards with the seconds it is paid for; holds wages';
