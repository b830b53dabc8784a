-- Opening balances: what the days before the first renewed one hand on. Where ledgers are built
-- from scratch nothing is handed on, and once they are renewed nothing is needed any more: these
-- tables are empty then. sql/renewal/openings.sql fills them.

-- grain: one run with a row before the first renewed day and one after
CREATE OR REPLACE TABLE steps.opening_runs (
    run_key      VARCHAR NOT NULL,
    finished_utc TIMESTAMP
);
COMMENT ON TABLE steps.opening_runs IS 'open runs: when each was last finished before the first renewed day';

-- grain: one job with labour before the first renewed day
CREATE OR REPLACE TABLE steps.opening_jobs (
    job            VARCHAR,
    burden_units   HUGEINT NOT NULL,
    overhead_units HUGEINT NOT NULL
);
COMMENT ON TABLE steps.opening_jobs IS 'burden and overhead of a job to date, unrounded, as steps.labour_postings counts them';

-- grain: one item (size, species, grade, length) that moved before the first renewed day
CREATE OR REPLACE TABLE steps.opening_items (
    size         VARCHAR NOT NULL,
    species      VARCHAR NOT NULL,
    grade        VARCHAR NOT NULL,
    length_16ths INTEGER NOT NULL,
    first_on     DATE NOT NULL,
    book         BIGINT NOT NULL,
    counted      BIGINT NOT NULL,
    in_to        BIGINT NOT NULL,
    out_to       BIGINT NOT NULL,
    landed_e4    BIGINT,
    receipt_id   BIGINT
);
COMMENT ON TABLE steps.opening_items IS 'boards of one item to date and its last prices';
COMMENT ON COLUMN steps.opening_items.book IS 'boards received less boards used';
COMMENT ON COLUMN steps.opening_items.counted IS 'boards that counts found above (below 0: below) the book';
COMMENT ON COLUMN steps.opening_items.in_to IS 'boards that entered layers; out_to: that left them. Up to the lesser of the two all are matched';
COMMENT ON COLUMN steps.opening_items.landed_e4 IS 'last price of a receipt or opening count, ten-thousandths of a dollar a thousand board feet';
COMMENT ON COLUMN steps.opening_items.receipt_id IS 'move_id of the last receipt or opening count with a price of its own or a stand-in';
