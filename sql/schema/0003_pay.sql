-- Stoppages, pay beside hours, and the payroll register; a back-dated rate says from which
-- day it was paid.

ALTER TABLE wages RENAME TO wages_before;
ALTER TABLE history.wages RENAME TO wages_before;

-- grain: an employee's rate from one day on
CREATE TABLE wages (
    employee                 VARCHAR,
    effective_on             DATE,
    role                     VARCHAR,
    basis                    VARCHAR,
    rate_usd                 DECIMAL(10,4),
    salary_hours             DECIMAL(8,4),
    overtime                 VARCHAR,
    overtime_bill_rate_usd   DECIMAL(10,4),
    paid_from                DATE,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE wages IS 'an employee''s rate from one day on';
COMMENT ON COLUMN wages.employee IS 'employee code';
COMMENT ON COLUMN wages.effective_on IS 'first day of this rate';
COMMENT ON COLUMN wages.role IS 'direct builds trusses, indirect serves, lead does both';
COMMENT ON COLUMN wages.basis IS 'how the rate is meant';
COMMENT ON COLUMN wages.rate_usd IS 'dollars an hour (hourly, agency) or a week (salary)';
COMMENT ON COLUMN wages.salary_hours IS 'hours a week that the salary is for';
COMMENT ON COLUMN wages.overtime IS 'whether hours past the threshold earn a premium';
COMMENT ON COLUMN wages.overtime_bill_rate_usd IS 'an agency''s rate past the threshold';
COMMENT ON COLUMN wages.paid_from IS 'day on which payroll began to pay a back-dated rate; blank: on effective_on';
COMMENT ON COLUMN wages.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN wages.import_id IS 'import that brought the row';
COMMENT ON COLUMN wages.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, an employee's rate from one day on
CREATE TABLE history.wages (
    employee                 VARCHAR,
    effective_on             DATE,
    role                     VARCHAR,
    basis                    VARCHAR,
    rate_usd                 DECIMAL(10,4),
    salary_hours             DECIMAL(8,4),
    overtime                 VARCHAR,
    overtime_bill_rate_usd   DECIMAL(10,4),
    paid_from                DATE,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

INSERT INTO wages (employee, effective_on, role, basis, rate_usd, salary_hours, overtime, overtime_bill_rate_usd, occurrence, import_id, import_line)
SELECT employee, effective_on, role, basis, rate_usd, salary_hours, overtime, overtime_bill_rate_usd, occurrence, import_id, import_line
FROM wages_before;
INSERT INTO history.wages (employee, effective_on, role, basis, rate_usd, salary_hours, overtime, overtime_bill_rate_usd, occurrence, import_id, import_line, superseded_by, superseded_as)
SELECT employee, effective_on, role, basis, rate_usd, salary_hours, overtime, overtime_bill_rate_usd, occurrence, import_id, import_line, superseded_by, superseded_as
FROM history.wages_before;
DROP TABLE wages_before;
DROP TABLE history.wages_before;

-- grain: one stretch of time during which a station could not work
CREATE TABLE stoppages (
    station                  VARCHAR,
    started_at               TIMESTAMP,
    started_utc              TIMESTAMP,
    ended_at                 TIMESTAMP,
    ended_utc                TIMESTAMP,
    reason                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE stoppages IS 'one stretch of time during which a station could not work';
COMMENT ON COLUMN stoppages.station IS 'station that stood still';
COMMENT ON COLUMN stoppages.started_at IS 'work stopped';
COMMENT ON COLUMN stoppages.started_utc IS 'work stopped (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN stoppages.ended_at IS 'work went on';
COMMENT ON COLUMN stoppages.ended_utc IS 'work went on (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN stoppages.reason IS 'why, in the plant''s own words, such as saw down or no lumber';
COMMENT ON COLUMN stoppages.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN stoppages.import_id IS 'import that brought the row';
COMMENT ON COLUMN stoppages.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one stretch of time during which a station could not work
CREATE TABLE history.stoppages (
    station                  VARCHAR,
    started_at               TIMESTAMP,
    started_utc              TIMESTAMP,
    ended_at                 TIMESTAMP,
    ended_utc                TIMESTAMP,
    reason                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: pay of one employee beside hours: bonus, differential, piecework and the like
CREATE TABLE other_pay (
    employee                 VARCHAR,
    workweek_start           DATE,
    kind                     VARCHAR,
    amount_usd               DECIMAL(14,2),
    earned_from              DATE,
    earned_until             DATE,
    record                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE other_pay IS 'pay of one employee beside hours: bonus, differential, piecework and the like';
COMMENT ON COLUMN other_pay.employee IS 'employee code';
COMMENT ON COLUMN other_pay.workweek_start IS 'first day of the workweek whose payroll pays it';
COMMENT ON COLUMN other_pay.kind IS 'bonus, differential and piecework count in the regular rate; discretionary pay and reimbursements do not';
COMMENT ON COLUMN other_pay.amount_usd IS 'dollars before deductions';
COMMENT ON COLUMN other_pay.earned_from IS 'first day on which it was earned; blank: in its own workweek';
COMMENT ON COLUMN other_pay.earned_until IS 'day after the last on which it was earned';
COMMENT ON COLUMN other_pay.record IS 'payroll''s own number of the row';
COMMENT ON COLUMN other_pay.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN other_pay.import_id IS 'import that brought the row';
COMMENT ON COLUMN other_pay.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, pay of one employee beside hours: bonus, differential, piecework and the like
CREATE TABLE history.other_pay (
    employee                 VARCHAR,
    workweek_start           DATE,
    kind                     VARCHAR,
    amount_usd               DECIMAL(14,2),
    earned_from              DATE,
    earned_until             DATE,
    record                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: the total of one payroll register, or of an agency's invoice for labour
CREATE TABLE payroll (
    source                   VARCHAR,
    "from"                   DATE,
    "until"                  DATE,
    gross_usd                DECIMAL(14,2),
    department               VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE payroll IS 'the total of one payroll register, or of an agency''s invoice for labour';
COMMENT ON COLUMN payroll.source IS 'payroll, or an agency''s code';
COMMENT ON COLUMN payroll."from" IS 'first day of the pay period: a first day of a workweek';
COMMENT ON COLUMN payroll."until" IS 'day after the last day of the pay period';
COMMENT ON COLUMN payroll.gross_usd IS 'the register''s gross pay, reimbursements left out';
COMMENT ON COLUMN payroll.department IS 'department, where the register has one; blank: the whole plant';
COMMENT ON COLUMN payroll.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN payroll.import_id IS 'import that brought the row';
COMMENT ON COLUMN payroll.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, the total of one payroll register, or of an agency's invoice for labour
CREATE TABLE history.payroll (
    source                   VARCHAR,
    "from"                   DATE,
    "until"                  DATE,
    gross_usd                DECIMAL(14,2),
    department               VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);
