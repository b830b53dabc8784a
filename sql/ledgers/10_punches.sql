-- Punches: what each timecard row says, made ready to be cut.
--
-- A missing or odd punch is worth 0 seconds and an exception: worked time is owed, and
-- nothing is guessed.

-- grain: one row of timecards
-- renewed: shift_date >= since
-- reads: timecards where coalesce(work_date, started_at::DATE) >= since
CREATE OR REPLACE TABLE steps.punches AS
WITH dated AS (
    SELECT
        t.employee, t.crew, t.shift, t.station, t.started_at, t.ended_at,
        coalesce(t.started_utc, c.started_utc) AS started_utc, coalesce(t.ended_utc, c.ended_utc) AS ended_utc,
        coalesce(t.work_date, t.started_at::DATE) AS shift_date,
        coalesce(t.unpaid_min, 0) AS unpaid_min, lower(t.pay_code) = 'worked' AS worked,
        t.pay_code, t.hours, t.rate_usd, t.record, coalesce(q.place, t.import_line) AS row_place, t.import_id, t.import_line,
        c.minutes AS clock_minutes, c.most_seconds AS clock_seconds,
        d.kept_line IS NOT NULL AS is_double
    FROM timecards AS t
    LEFT JOIN steps.row_order AS q ON q.import_id = t.import_id AND q.import_line = t.import_line
    LEFT JOIN steps.settled_clock AS c ON c.import_id = t.import_id AND c.import_line = t.import_line
    LEFT JOIN steps.double_punches AS d ON d.import_id = t.import_id AND d.import_line = t.import_line
),
-- Of a punch with one end and a corrected total of hours, the total says where the other
-- end is.
completed AS (
    SELECT
        d.* EXCLUDE (started_utc, ended_utc),
        d.worked AND d.hours IS NOT NULL AND (d.started_at IS NULL) <> (d.ended_at IS NULL) AND coalesce(d.started_utc, d.ended_utc) IS NOT NULL AS from_total,
        CASE WHEN d.worked AND d.started_at IS NULL AND d.hours IS NOT NULL
            THEN d.ended_utc - to_seconds(rounded_quotient((d.hours * 10000)::BIGINT * 3600, 10000) + rounded_quotient((d.unpaid_min * 100)::BIGINT * 60, 100))
            ELSE d.started_utc END AS started_utc,
        CASE WHEN d.worked AND d.ended_at IS NULL AND d.hours IS NOT NULL
            THEN d.started_utc + to_seconds(rounded_quotient((d.hours * 10000)::BIGINT * 3600, 10000) + rounded_quotient((d.unpaid_min * 100)::BIGINT * 60, 100))
            ELSE d.ended_utc END AS ended_utc
    FROM dated AS d
),
rated AS (
    SELECT
        c.* EXCLUDE (rate_usd), c.rate_usd AS own_rate_usd,
        p.role, p.basis, p.earns_overtime, p.overtime_bill_e4,
        CASE WHEN p.basis = 'salary' THEN NULL ELSE coalesce((c.rate_usd * 10000)::BIGINT, p.rate_e4) END AS rate_e4,
        coalesce(p.basis = 'salary', false) OR coalesce(c.rate_usd * 10000, p.rate_e4) IS NOT NULL AS has_wage,
        CASE WHEN p.basis = 'salary' THEN rounded_quotient(p.rate_e4 * 10000, p.salary_hours_e4) ELSE coalesce((c.rate_usd * 10000)::BIGINT, p.rate_e4) END AS worth_e4,
        o.basis AS owed_basis, o.overtime_bill_e4 AS owed_bill_e4, o.earns_overtime AS owed_earns,
        CASE WHEN o.basis = 'salary' THEN NULL ELSE coalesce((c.rate_usd * 10000)::BIGINT, o.rate_e4) END AS owed_rate_e4,
        CASE WHEN o.effective_on IS DISTINCT FROM p.effective_on THEN o.paid_from END AS retro_on
    FROM completed AS c
    ASOF LEFT JOIN (SELECT * FROM steps.wage_versions WHERE version = 'paid') AS p ON c.employee = p.employee AND c.shift_date >= p.from_on
    ASOF LEFT JOIN (SELECT * FROM steps.wage_versions WHERE version = 'owed') AS o ON c.employee = o.employee AND c.shift_date >= o.from_on
),
-- What the row can tell, before overlaps: the first fault that makes it worth 0 seconds.
judged AS (
    SELECT
        r.*,
        CASE
            WHEN NOT r.worked THEN NULL
            WHEN r.is_double THEN 'a double punch: the first of the two counts'
            WHEN r.started_at IS NULL AND r.ended_at IS NULL AND r.hours IS NULL THEN 'no times and no hours'
            WHEN r.started_at IS NULL AND r.ended_at IS NULL THEN NULL
            WHEN r.ended_at IS NULL AND r.hours IS NULL THEN 'missing punch-out'
            WHEN r.started_at IS NULL AND r.hours IS NULL THEN 'missing punch-in'
            WHEN (r.started_utc IS NULL OR r.ended_utc IS NULL) AND r.clock_minutes IS NOT NULL THEN concat('the clock repeated this hour: ', r.clock_minutes, ' minutes')
            WHEN r.started_utc IS NULL OR r.ended_utc IS NULL THEN 'a time that the clock change skipped or repeated'
            WHEN r.ended_utc <= r.started_utc THEN 'punch-out not after punch-in'
            WHEN seconds_between(r.started_utc, r.ended_utc) > s.longest_punch_seconds THEN concat('longer than ', s.longest_punch_seconds // 3600, ' hours')
        END AS fault
    FROM rated AS r
    CROSS JOIN settings AS s
),
sorted AS (
    SELECT
        j.*,
        CASE
            WHEN NOT j.worked THEN 'not worked'
            WHEN j.fault IS NOT NULL THEN 'faulty'
            WHEN j.started_utc IS NOT NULL THEN 'clocked'
            ELSE 'hours only'
        END AS kind
    FROM judged AS j
),
-- Of overlapping punches the later counts from the end of those before it.
followed AS (
    SELECT
        j.*,
        max(CASE WHEN j.kind = 'clocked' THEN j.ended_utc END) OVER (
            PARTITION BY j.employee
            ORDER BY j.started_utc, j.ended_utc, j.record, j.shift_date, j.row_place, j.import_id
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ) AS busy_until_utc
    FROM sorted AS j
),
bounded AS (
    SELECT
        f.*,
        CASE WHEN f.kind = 'clocked' THEN least(greatest(f.started_utc, coalesce(f.busy_until_utc, f.started_utc)), f.ended_utc) END AS counts_from_utc,
        f.kind = 'clocked' AND coalesce(f.busy_until_utc > f.started_utc, false) AS overlaps
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
        END AS elapsed_seconds,
        -- 29 CFR 785.48(b): to the nearest 5 minutes, tenth or quarter of an hour, where it
        -- averages out.
        CASE WHEN b.kind = 'clocked' AND NOT b.from_total AND b.counts_from_utc < b.ended_utc AND s.punch_rounding_seconds > 0
            THEN coalesce(CASE WHEN b.overlaps THEN 0 ELSE seconds_between(nearest(b.started_at, s.punch_rounding_seconds), b.started_at) END, 0)
                + coalesce(seconds_between(b.ended_at, nearest(b.ended_at, s.punch_rounding_seconds)), 0)
            ELSE 0 END AS rounding_seconds,
        -- A punched break: the time since the person's punch before it in the same shift.
        seconds_between(b.busy_until_utc, b.started_utc) AS break_seconds,
        lag(b.shift_date) OVER (PARTITION BY b.employee ORDER BY b.started_utc, b.ended_utc, b.record, b.shift_date, b.row_place, b.import_id) AS shift_before
    FROM bounded AS b
    CROSS JOIN settings AS s
),
-- An automatic deduction does not come off a punch too short for a meal.
deductible AS (
    SELECT
        m.*,
        CASE
            WHEN m.kind <> 'clocked' THEN 0 -- hours without times are what is paid
            WHEN m.elapsed_seconds < s.meal_after_seconds THEN 0
            ELSE rounded_quotient((m.unpaid_min * 100)::BIGINT * 60, 100)
        END AS deduction_seconds
    FROM measured AS m
    CROSS JOIN settings AS s
),
-- A punched break of the deduction's length, two hours at the most (common practice, no
-- source), is that lunch: it is not taken off once more.
breaks AS (
    SELECT
        d.*,
        row_number() OVER (shift_of ROWS UNBOUNDED PRECEDING) AS place,
        sum((d.deduction_seconds > 0)::INT) OVER (shift_of ROWS UNBOUNDED PRECEDING) AS deduction_number,
        max(d.deduction_seconds) OVER (PARTITION BY d.employee, d.shift_date) AS longest_deduction
    FROM deductible AS d
    WINDOW shift_of AS (PARTITION BY d.employee, d.shift_date ORDER BY d.started_utc, d.ended_utc, d.record, d.shift_date, d.row_place, d.import_id)
),
counted AS (
    SELECT
        b.*,
        sum(coalesce(b.kind = 'clocked' AND b.shift_before = b.shift_date AND b.longest_deduction > 0
            AND b.break_seconds BETWEEN b.longest_deduction AND 7200, false)::INT) OVER (PARTITION BY b.employee, b.shift_date) AS punched_breaks
    FROM breaks AS b
),
deducted AS (
    SELECT
        c.*,
        c.kind = 'clocked' AND c.deduction_seconds > 0 AND c.deduction_number <= c.punched_breaks AS lunch_twice,
        greatest(0, c.elapsed_seconds + c.rounding_seconds) AS rounded_seconds
    FROM counted AS c
),
paid AS (
    SELECT
        d.*,
        CASE WHEN d.lunch_twice THEN 0 ELSE least(d.rounded_seconds, d.deduction_seconds) END AS unpaid_seconds
    FROM deducted AS d
)
SELECT
    getvariable('kept_punches') + row_number() OVER (ORDER BY d.shift_date, d.employee, d.started_utc, d.ended_utc, d.record, d.row_place, d.import_id) AS punch_id,
    d.employee, d.crew, d.shift, d.station, d.shift_date, d.started_at, d.ended_at, d.started_utc, d.counts_from_utc, d.ended_utc,
    d.pay_code, d.kind,
    CASE WHEN d.fault IS NULL AND d.elapsed_seconds > 0 AND d.unpaid_seconds = d.rounded_seconds
        THEN CASE WHEN d.rounded_seconds = 0 THEN 'rounds to 0 minutes' ELSE 'unpaid minutes as long as the punch' END ELSE d.fault END AS fault,
    -- What a faulty punch may be worth, where its own times can say.
    CASE
        WHEN d.fault IS NULL THEN NULL
        WHEN d.clock_seconds IS NOT NULL AND d.started_utc IS NULL THEN d.clock_seconds
        WHEN d.ended_utc > d.started_utc THEN greatest(0, seconds_between(d.started_utc, d.ended_utc) - rounded_quotient((d.unpaid_min * 100)::BIGINT * 60, 100))
    END::BIGINT AS doubtful_seconds,
    d.overlaps, d.lunch_twice, d.deduction_seconds, d.from_total, d.is_double, d.role, d.basis, d.has_wage, d.earns_overtime, d.overtime_bill_e4,
    d.rate_e4, d.worth_e4, d.owed_basis, d.owed_rate_e4, d.owed_bill_e4, d.owed_earns, d.retro_on,
    d.elapsed_seconds, d.unpaid_seconds, CASE WHEN d.kind = 'clocked' THEN d.rounded_seconds - d.elapsed_seconds ELSE 0 END AS rounding_seconds,
    CASE WHEN d.kind = 'clocked' THEN d.rounded_seconds ELSE d.elapsed_seconds END - d.unpaid_seconds AS paid_seconds,
    d.import_id, d.import_line
FROM paid AS d;
COMMENT ON TABLE steps.punches IS 'one row of timecards with the seconds it is paid for; holds wages';
COMMENT ON COLUMN steps.punches.rounding_seconds IS 'what punch rounding adds (or takes, below 0) to the clocked time';
COMMENT ON COLUMN steps.punches.worth_e4 IS 'ten-thousandths of a dollar that an hour of it costs straight, a salary by the hours it is for';
COMMENT ON COLUMN steps.punches.doubtful_seconds IS 'what a faulty punch may be worth, where its own times can say; none of it is counted';
COMMENT ON COLUMN steps.punches.retro_on IS 'day on which payroll began to pay the back-dated rate that this time is owed at';
