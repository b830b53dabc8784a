-- Counts of the yard, quoting prices, purchase orders, and a vendor's credit on the line
-- that it is for.

ALTER TABLE receipts RENAME TO receipts_before;
ALTER TABLE history.receipts RENAME TO receipts_before;

-- grain: one line of lumber received
CREATE TABLE receipts (
    received_on              DATE,
    vendor                   VARCHAR,
    document                 VARCHAR,
    line                     VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    freight_usd              DECIMAL(14,2),
    invoice                  VARCHAR,
    invoiced_on              DATE,
    credit_usd               DECIMAL(14,2),
    credited_on              DATE,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE receipts IS 'one line of lumber received';
COMMENT ON COLUMN receipts.received_on IS 'day the lumber arrived';
COMMENT ON COLUMN receipts.vendor IS 'vendor code';
COMMENT ON COLUMN receipts.document IS 'packing slip or delivery note';
COMMENT ON COLUMN receipts.line IS 'line of the document';
COMMENT ON COLUMN receipts.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN receipts.species IS 'species or species group, as stamped';
COMMENT ON COLUMN receipts.grade IS 'grade, as stamped';
COMMENT ON COLUMN receipts.length_16ths IS 'length as feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12''6 1/2" (whole sixteenths of an inch)';
COMMENT ON COLUMN receipts.boards IS 'boards received';
COMMENT ON COLUMN receipts.usd_per_mbf IS 'price for a thousand board feet; blank while only the packing slip is here';
COMMENT ON COLUMN receipts.freight_usd IS 'freight of this line, spread over its boards';
COMMENT ON COLUMN receipts.invoice IS 'vendor''s invoice';
COMMENT ON COLUMN receipts.invoiced_on IS 'date of the vendor''s invoice';
COMMENT ON COLUMN receipts.credit_usd IS 'vendor''s credit for bad lumber of this line';
COMMENT ON COLUMN receipts.credited_on IS 'day of the vendor''s credit; blank: with the receipt';
COMMENT ON COLUMN receipts.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN receipts.import_id IS 'import that brought the row';
COMMENT ON COLUMN receipts.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one line of lumber received
CREATE TABLE history.receipts (
    received_on              DATE,
    vendor                   VARCHAR,
    document                 VARCHAR,
    line                     VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    freight_usd              DECIMAL(14,2),
    invoice                  VARCHAR,
    invoiced_on              DATE,
    credit_usd               DECIMAL(14,2),
    credited_on              DATE,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

INSERT INTO receipts (received_on, vendor, document, line, size, species, grade, length_16ths, boards, usd_per_mbf, freight_usd, invoice, invoiced_on, occurrence, import_id, import_line)
SELECT received_on, vendor, document, line, size, species, grade, length_16ths, boards, usd_per_mbf, freight_usd, invoice, invoiced_on, occurrence, import_id, import_line
FROM receipts_before;
INSERT INTO history.receipts (received_on, vendor, document, line, size, species, grade, length_16ths, boards, usd_per_mbf, freight_usd, invoice, invoiced_on, occurrence, import_id, import_line, superseded_by, superseded_as)
SELECT received_on, vendor, document, line, size, species, grade, length_16ths, boards, usd_per_mbf, freight_usd, invoice, invoiced_on, occurrence, import_id, import_line, superseded_by, superseded_as
FROM history.receipts_before;
DROP TABLE receipts_before;
DROP TABLE history.receipts_before;

-- grain: boards of one item counted in the yard
CREATE TABLE counts (
    counted_on               DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    scope                    VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE counts IS 'boards of one item counted in the yard';
COMMENT ON COLUMN counts.counted_on IS 'day of the count: opening stock on the plant''s first one, else after that day''s moves';
COMMENT ON COLUMN counts.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN counts.species IS 'species or species group, as stamped';
COMMENT ON COLUMN counts.grade IS 'grade, as stamped';
COMMENT ON COLUMN counts.length_16ths IS 'length as feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12''6 1/2" (whole sixteenths of an inch)';
COMMENT ON COLUMN counts.boards IS 'boards counted';
COMMENT ON COLUMN counts.usd_per_mbf IS 'landed cost of the boards found, for a thousand board feet; blank: last landed price, else the quoting price';
COMMENT ON COLUMN counts.scope IS 'listed: the items of the file were counted; full: all were, and what is not listed is not there';
COMMENT ON COLUMN counts.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN counts.import_id IS 'import that brought the row';
COMMENT ON COLUMN counts.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, boards of one item counted in the yard
CREATE TABLE history.counts (
    counted_on               DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    scope                    VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: the price that quotes use for one item from one day on
CREATE TABLE lumber_prices (
    effective_on             DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    usd_per_mbf              DECIMAL(12,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE lumber_prices IS 'the price that quotes use for one item from one day on';
COMMENT ON COLUMN lumber_prices.effective_on IS 'first day of this price';
COMMENT ON COLUMN lumber_prices.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN lumber_prices.species IS 'species or species group, as stamped';
COMMENT ON COLUMN lumber_prices.grade IS 'grade, as stamped';
COMMENT ON COLUMN lumber_prices.length_16ths IS 'stock length that the price is for; blank: any (whole sixteenths of an inch)';
COMMENT ON COLUMN lumber_prices.usd_per_mbf IS 'dollars for a thousand board feet, delivered';
COMMENT ON COLUMN lumber_prices.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN lumber_prices.import_id IS 'import that brought the row';
COMMENT ON COLUMN lumber_prices.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, the price that quotes use for one item from one day on
CREATE TABLE history.lumber_prices (
    effective_on             DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    usd_per_mbf              DECIMAL(12,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one line of lumber on order
CREATE TABLE purchase_orders (
    vendor                   VARCHAR,
    "order"                  VARCHAR,
    line                     VARCHAR,
    due_on                   DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE purchase_orders IS 'one line of lumber on order';
COMMENT ON COLUMN purchase_orders.vendor IS 'vendor code';
COMMENT ON COLUMN purchase_orders."order" IS 'purchase order';
COMMENT ON COLUMN purchase_orders.line IS 'line of the order';
COMMENT ON COLUMN purchase_orders.due_on IS 'day the lumber is due';
COMMENT ON COLUMN purchase_orders.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN purchase_orders.species IS 'species or species group, as stamped';
COMMENT ON COLUMN purchase_orders.grade IS 'grade, as stamped';
COMMENT ON COLUMN purchase_orders.length_16ths IS 'length as feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12''6 1/2" (whole sixteenths of an inch)';
COMMENT ON COLUMN purchase_orders.boards IS 'boards still to come; 0 when all are here';
COMMENT ON COLUMN purchase_orders.usd_per_mbf IS 'agreed price for a thousand board feet';
COMMENT ON COLUMN purchase_orders.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN purchase_orders.import_id IS 'import that brought the row';
COMMENT ON COLUMN purchase_orders.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one line of lumber on order
CREATE TABLE history.purchase_orders (
    vendor                   VARCHAR,
    "order"                  VARCHAR,
    line                     VARCHAR,
    due_on                   DATE,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    boards                   BIGINT,
    usd_per_mbf              DECIMAL(12,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);
