-- Loads to customers, overhead pools, and the cost that jobs carried when the plant went
-- live.

-- grain: trusses of one mark on one load to the customer
CREATE TABLE deliveries (
    delivered_on             DATE,
    load                     VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    quantity                 BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE deliveries IS 'trusses of one mark on one load to the customer';
COMMENT ON COLUMN deliveries.delivered_on IS 'day the load reached the customer';
COMMENT ON COLUMN deliveries.load IS 'load number';
COMMENT ON COLUMN deliveries.job IS 'job number';
COMMENT ON COLUMN deliveries.truss IS 'truss mark; blank: all of the job that is left';
COMMENT ON COLUMN deliveries.quantity IS 'trusses of the mark; blank: all of it that is left';
COMMENT ON COLUMN deliveries.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN deliveries.import_id IS 'import that brought the row';
COMMENT ON COLUMN deliveries.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, trusses of one mark on one load to the customer
CREATE TABLE history.deliveries (
    delivered_on             DATE,
    load                     VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    quantity                 BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one overhead pool of one month: what it was to cost and did
CREATE TABLE overheads (
    month                    DATE,
    pool                     VARCHAR,
    budget_usd               DECIMAL(14,2),
    actual_usd               DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE overheads IS 'one overhead pool of one month: what it was to cost and did';
COMMENT ON COLUMN overheads.month IS 'first day of the month';
COMMENT ON COLUMN overheads.pool IS 'rent, power, supervision and so on; burden for payroll taxes and insurance; wages that timecards hold are left out';
COMMENT ON COLUMN overheads.budget_usd IS 'what the month was to cost';
COMMENT ON COLUMN overheads.actual_usd IS 'what it cost';
COMMENT ON COLUMN overheads.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN overheads.import_id IS 'import that brought the row';
COMMENT ON COLUMN overheads.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one overhead pool of one month: what it was to cost and did
CREATE TABLE history.overheads (
    month                    DATE,
    pool                     VARCHAR,
    budget_usd               DECIMAL(14,2),
    actual_usd               DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: cost that one job carried when the plant went live
CREATE TABLE opening_wip (
    "on"                     DATE,
    job                      VARCHAR,
    class                    VARCHAR,
    amount_usd               DECIMAL(14,2),
    trusses_built            BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE opening_wip IS 'cost that one job carried when the plant went live';
COMMENT ON COLUMN opening_wip."on" IS 'day from which the ledgers hold everything';
COMMENT ON COLUMN opening_wip.job IS 'job number';
COMMENT ON COLUMN opening_wip.class IS 'cost class';
COMMENT ON COLUMN opening_wip.amount_usd IS 'cost to date';
COMMENT ON COLUMN opening_wip.trusses_built IS 'good trusses built by then; said once a job';
COMMENT ON COLUMN opening_wip.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN opening_wip.import_id IS 'import that brought the row';
COMMENT ON COLUMN opening_wip.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, cost that one job carried when the plant went live
CREATE TABLE history.opening_wip (
    "on"                     DATE,
    job                      VARCHAR,
    class                    VARCHAR,
    amount_usd               DECIMAL(14,2),
    trusses_built            BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);
