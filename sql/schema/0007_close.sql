-- Closed months: their postings as they stood when the month was closed. They never change;
-- whatever arrives later for a closed month is posted in the open one as a correction.

-- grain: one closed month
CREATE TABLE closed_months (
    month    DATE NOT NULL,
    until_on DATE NOT NULL
);
COMMENT ON TABLE closed_months IS 'one closed month, in the order of the calendar';
COMMENT ON COLUMN closed_months.until_on IS 'day after its last';

-- grain: one posting of a closed month
CREATE TABLE closed_dollars (
    month       DATE NOT NULL,
    posted_on   DATE NOT NULL,
    original_on DATE NOT NULL,
    occurred_on DATE,
    class       VARCHAR NOT NULL,
    pool        VARCHAR,
    job         VARCHAR,
    cents       BIGINT NOT NULL,
    feed        VARCHAR,
    import_id   BIGINT,
    import_line BIGINT,
    remake      VARCHAR
);
COMMENT ON TABLE closed_dollars IS 'one posting of a closed month; holds wages';

-- grain: one movement of a closed month
CREATE TABLE closed_boards (
    month           DATE NOT NULL,
    moved_on        DATE NOT NULL,
    original_on     DATE NOT NULL,
    moved_at        TIMESTAMP,
    size            VARCHAR NOT NULL,
    species         VARCHAR NOT NULL,
    grade           VARCHAR NOT NULL,
    length_16ths    INTEGER NOT NULL,
    boards          BIGINT NOT NULL,
    cents           BIGINT NOT NULL,
    kind            VARCHAR NOT NULL,
    job             VARCHAR,
    batch           VARCHAR,
    station         VARCHAR,
    vendor          VARCHAR,
    document        VARCHAR,
    layer_import_id BIGINT,
    layer_line      BIGINT,
    import_id       BIGINT,
    import_line     BIGINT,
    for_grade       VARCHAR,
    unpriced        BOOLEAN
);
COMMENT ON TABLE closed_boards IS 'one movement of the board ledger of a closed month';

-- grain: one job and cost class at the end of a closed month
CREATE TABLE closed_job_stock (
    month      DATE NOT NULL,
    until_on   DATE NOT NULL,
    job        VARCHAR NOT NULL,
    class      VARCHAR NOT NULL,
    cents      BIGINT NOT NULL,
    wip_cents  BIGINT NOT NULL,
    finished_cents BIGINT NOT NULL,
    sold_cents BIGINT NOT NULL
);
COMMENT ON TABLE closed_job_stock IS 'where the cost of a job stood at the end of a closed month: work in process, finished goods, cost of goods sold';
