-- What the sheets of a closed month need besides its postings: balances at a month's end, what
-- had left by then, what was received and not invoiced, the hours that overhead was applied
-- for, and the budget. month is that of the closing, as in the other tables of closed months.

-- grain: one month's start or end whose balances are frozen
CREATE TABLE closed_positions (
    month    DATE NOT NULL,
    until_on DATE NOT NULL
);
COMMENT ON TABLE closed_positions IS 'one day before which balances are frozen: start or end of a month up to the closed one';

-- grain: one job that had left by then
CREATE TABLE closed_left_jobs (
    month         DATE NOT NULL,
    until_on      DATE NOT NULL,
    job           VARCHAR NOT NULL,
    sold_on       DATE NOT NULL,
    was_cancelled BOOLEAN NOT NULL
);
COMMENT ON TABLE closed_left_jobs IS 'one job that had left or was closed before a frozen day';

-- grain: one line of a packing slip that had no invoice by then
CREATE TABLE closed_accruals (
    month        DATE NOT NULL,
    until_on     DATE NOT NULL,
    vendor       VARCHAR,
    document     VARCHAR,
    line         VARCHAR,
    received_on  DATE NOT NULL,
    size         VARCHAR NOT NULL,
    species      VARCHAR NOT NULL,
    grade        VARCHAR NOT NULL,
    length_16ths INTEGER NOT NULL,
    boards       BIGINT NOT NULL,
    cents        BIGINT NOT NULL,
    priced_by    VARCHAR NOT NULL
);
COMMENT ON TABLE closed_accruals IS 'one line received and not invoiced at a frozen day, as it stood then';

-- grain: one day of a closed month, and one day that it corrects
CREATE TABLE closed_run_days (
    month       DATE NOT NULL,
    posted_on   DATE NOT NULL,
    original_on DATE NOT NULL,
    seconds     BIGINT NOT NULL
);
COMMENT ON TABLE closed_run_days IS 'people-seconds on runs of a closed month, for which overhead was applied';

-- grain: one overhead pool of one closed month
CREATE TABLE closed_budgets (
    month                DATE NOT NULL,
    for_month            DATE NOT NULL,
    pool                 VARCHAR NOT NULL,
    cents                BIGINT NOT NULL,
    overhead_per_hour_e4 BIGINT NOT NULL
);
COMMENT ON TABLE closed_budgets IS 'one pool''s budget of a closed month, and the rate that was applied';

-- Overheads are postings from now on; those of months closed before stay in their months.
INSERT INTO closed_dollars
SELECT
    (SELECT min(c.month) FROM closed_months AS c WHERE c.until_on > last_day(o.month)),
    last_day(o.month), last_day(o.month), last_day(o.month), 'overhead_actual', o.pool, NULL, (o.actual_usd * 100)::BIGINT, 'overheads', o.import_id, o.import_line, NULL
FROM overheads AS o
WHERE last_day(o.month) < (SELECT max(until_on) FROM closed_months);
