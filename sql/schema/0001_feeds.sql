-- The first schema: the import log, what was refused, the feeds, and their history.
-- Forward only: a later change is a new numbered file. A test holds each feed's columns
-- against its Go declaration in ingest.

CREATE SCHEMA history;

-- grain: one file that was read into one feed
CREATE TABLE imports (
    import_id     BIGINT NOT NULL,
    feed          VARCHAR NOT NULL,
    file_name     VARCHAR NOT NULL,
    sha256        VARCHAR NOT NULL,
    archive_name  VARCHAR NOT NULL,
    lines         BIGINT NOT NULL,
    accepted      BIGINT NOT NULL,
    rejected      BIGINT NOT NULL,
    blank         BIGINT NOT NULL,
    rows_new      BIGINT NOT NULL,
    rows_changed  BIGINT NOT NULL,
    rows_unchanged BIGINT NOT NULL,
    rows_removed  BIGINT NOT NULL,
    first_on      DATE,
    last_on       DATE
);
COMMENT ON TABLE imports IS 'one file that was read into one feed';
COMMENT ON COLUMN imports.import_id IS 'number of the import, from 1, in order of reading';
COMMENT ON COLUMN imports.file_name IS 'name of the file, without its folder';
COMMENT ON COLUMN imports.sha256 IS 'SHA-256 of the file as it came, in hexadecimal';
COMMENT ON COLUMN imports.archive_name IS 'name of its copy in archive/';
COMMENT ON COLUMN imports.lines IS 'records after the header; accepted + rejected + blank';
COMMENT ON COLUMN imports.rows_unchanged IS 'rows that were already known and equal';
COMMENT ON COLUMN imports.first_on IS 'first date in the accepted rows, in the feed''s own main date';

-- grain: one thing wrong with one row of one import
CREATE TABLE rejects (
    import_id   BIGINT NOT NULL,
    feed        VARCHAR NOT NULL,
    file_name   VARCHAR NOT NULL,
    line        BIGINT NOT NULL,
    column_name VARCHAR,
    value       VARCHAR,
    code        VARCHAR NOT NULL,
    reason      VARCHAR NOT NULL
);
COMMENT ON TABLE rejects IS 'one thing wrong with one refused row of one import; pay is never in value';
COMMENT ON COLUMN rejects.code IS 'code word of the error; with = a good row of a refused group';

-- grain: one job: what was sold to one customer at one price
CREATE TABLE jobs (
    job                      VARCHAR,
    customer                 VARCHAR,
    description              VARCHAR,
    line                     VARCHAR,
    ordered_on               DATE,
    due_on                   DATE,
    promised_on              DATE,
    shipped_on               DATE,
    closed_on                DATE,
    price_usd                DECIMAL(14,2),
    quoted_lumber_usd        DECIMAL(14,2),
    quoted_plate_usd         DECIMAL(14,2),
    quoted_labour_usd        DECIMAL(14,2),
    quoted_labour_min        DECIMAL(12,2),
    quoted_other_usd         DECIMAL(14,2),
    quoted_delivery_usd      DECIMAL(14,2),
    quoted_overhead_usd      DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE jobs IS 'one job: what was sold to one customer at one price';
COMMENT ON COLUMN jobs.job IS 'job number';
COMMENT ON COLUMN jobs.customer IS 'customer code';
COMMENT ON COLUMN jobs.description IS 'free text';
COMMENT ON COLUMN jobs.line IS 'product line';
COMMENT ON COLUMN jobs.ordered_on IS 'day the order was taken';
COMMENT ON COLUMN jobs.due_on IS 'day the customer wants it';
COMMENT ON COLUMN jobs.promised_on IS 'day the plant promised';
COMMENT ON COLUMN jobs.shipped_on IS 'day the last load left; blank while open';
COMMENT ON COLUMN jobs.closed_on IS 'day the job was closed: its invoices are then its revenue';
COMMENT ON COLUMN jobs.price_usd IS 'price sold at, sales tax left out';
COMMENT ON COLUMN jobs.quoted_lumber_usd IS 'lumber in the quote';
COMMENT ON COLUMN jobs.quoted_plate_usd IS 'connector plates in the quote';
COMMENT ON COLUMN jobs.quoted_labour_usd IS 'labour in the quote, burden included';
COMMENT ON COLUMN jobs.quoted_labour_min IS 'people-minutes in the quote';
COMMENT ON COLUMN jobs.quoted_other_usd IS 'hardware and other material in the quote';
COMMENT ON COLUMN jobs.quoted_delivery_usd IS 'delivery in the quote';
COMMENT ON COLUMN jobs.quoted_overhead_usd IS 'overhead in the quote; blank when the quote leaves overhead out';
COMMENT ON COLUMN jobs.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN jobs.import_id IS 'import that brought the row';
COMMENT ON COLUMN jobs.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one job: what was sold to one customer at one price
CREATE TABLE history.jobs (
    job                      VARCHAR,
    customer                 VARCHAR,
    description              VARCHAR,
    line                     VARCHAR,
    ordered_on               DATE,
    due_on                   DATE,
    promised_on              DATE,
    shipped_on               DATE,
    closed_on                DATE,
    price_usd                DECIMAL(14,2),
    quoted_lumber_usd        DECIMAL(14,2),
    quoted_plate_usd         DECIMAL(14,2),
    quoted_labour_usd        DECIMAL(14,2),
    quoted_labour_min        DECIMAL(12,2),
    quoted_other_usd         DECIMAL(14,2),
    quoted_delivery_usd      DECIMAL(14,2),
    quoted_overhead_usd      DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one truss mark of a job
CREATE TABLE trusses (
    job                      VARCHAR,
    truss                    VARCHAR,
    kind                     VARCHAR,
    quantity                 BIGINT,
    plies                    BIGINT,
    span_16ths               INTEGER,
    design_bf                DECIMAL(14,4),
    plate_usd                DECIMAL(14,4),
    quoted_setup_min         DECIMAL(12,2),
    quoted_build_min         DECIMAL(12,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE trusses IS 'one truss mark of a job';
COMMENT ON COLUMN trusses.job IS 'job number';
COMMENT ON COLUMN trusses.truss IS 'truss mark';
COMMENT ON COLUMN trusses.kind IS 'truss family, such as common, girder, hip, scissor, attic, floor';
COMMENT ON COLUMN trusses.quantity IS 'trusses ordered, whole trusses and never plies';
COMMENT ON COLUMN trusses.plies IS 'plies of one truss';
COMMENT ON COLUMN trusses.span_16ths IS 'out-to-out span (whole sixteenths of an inch)';
COMMENT ON COLUMN trusses.design_bf IS 'board feet in the finished parts of one truss, all plies';
COMMENT ON COLUMN trusses.plate_usd IS 'standard cost of the connector plates of one truss, all plies';
COMMENT ON COLUMN trusses.quoted_setup_min IS 'people-minutes for one set-up of the mark';
COMMENT ON COLUMN trusses.quoted_build_min IS 'people-minutes a truss, all plies and their joining';
COMMENT ON COLUMN trusses.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN trusses.import_id IS 'import that brought the row';
COMMENT ON COLUMN trusses.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one truss mark of a job
CREATE TABLE history.trusses (
    job                      VARCHAR,
    truss                    VARCHAR,
    kind                     VARCHAR,
    quantity                 BIGINT,
    plies                    BIGINT,
    span_16ths               INTEGER,
    design_bf                DECIMAL(14,4),
    plate_usd                DECIMAL(14,4),
    quoted_setup_min         DECIMAL(12,2),
    quoted_build_min         DECIMAL(12,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one piece mark of a truss: what the design calls for
CREATE TABLE cut_pieces (
    job                      VARCHAR,
    truss                    VARCHAR,
    piece                    VARCHAR,
    member                   VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    pieces_per_ply           BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE cut_pieces IS 'one piece mark of a truss: what the design calls for';
COMMENT ON COLUMN cut_pieces.job IS 'job number';
COMMENT ON COLUMN cut_pieces.truss IS 'truss mark';
COMMENT ON COLUMN cut_pieces.piece IS 'piece mark within the truss';
COMMENT ON COLUMN cut_pieces.member IS 'top chord, bottom chord, web and so on';
COMMENT ON COLUMN cut_pieces.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN cut_pieces.species IS 'species or species group, as stamped';
COMMENT ON COLUMN cut_pieces.grade IS 'grade, as stamped';
COMMENT ON COLUMN cut_pieces.length_16ths IS 'real cut length of the part, longest point to longest point (whole sixteenths of an inch)';
COMMENT ON COLUMN cut_pieces.pieces_per_ply IS 'pieces of this mark in one ply';
COMMENT ON COLUMN cut_pieces.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN cut_pieces.import_id IS 'import that brought the row';
COMMENT ON COLUMN cut_pieces.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one piece mark of a truss: what the design calls for
CREATE TABLE history.cut_pieces (
    job                      VARCHAR,
    truss                    VARCHAR,
    piece                    VARCHAR,
    member                   VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    pieces_per_ply           BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: trusses finished at one station, with when the run was set up, begun and finished
CREATE TABLE completions (
    record                   VARCHAR,
    station                  VARCHAR,
    batch                    VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    shift_date               DATE,
    setup_started_at         TIMESTAMP,
    setup_started_utc        TIMESTAMP,
    build_started_at         TIMESTAMP,
    build_started_utc        TIMESTAMP,
    finished_at              TIMESTAMP,
    finished_utc             TIMESTAMP,
    quantity                 BIGINT,
    remake                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE completions IS 'trusses finished at one station, with when the run was set up, begun and finished';
COMMENT ON COLUMN completions.record IS 'the log''s own number of the row; a row with one is corrected by it';
COMMENT ON COLUMN completions.station IS 'saw, table or finishing station of plant.toml';
COMMENT ON COLUMN completions.batch IS 'batch number';
COMMENT ON COLUMN completions.job IS 'job number';
COMMENT ON COLUMN completions.truss IS 'truss mark';
COMMENT ON COLUMN completions.crew IS 'crew code';
COMMENT ON COLUMN completions.shift IS 'shift code';
COMMENT ON COLUMN completions.shift_date IS 'date on which the shift began';
COMMENT ON COLUMN completions.setup_started_at IS 'set-up began; blank when not recorded (plant''s wall clock)';
COMMENT ON COLUMN completions.setup_started_utc IS 'set-up began; blank when not recorded (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN completions.build_started_at IS 'first truss begun (plant''s wall clock)';
COMMENT ON COLUMN completions.build_started_utc IS 'first truss begun (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN completions.finished_at IS 'last truss of this row finished (plant''s wall clock)';
COMMENT ON COLUMN completions.finished_utc IS 'last truss of this row finished (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN completions.quantity IS 'whole trusses finished, never plies';
COMMENT ON COLUMN completions.remake IS 'blank for first-time work; else why the truss was made again';
COMMENT ON COLUMN completions.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN completions.import_id IS 'import that brought the row';
COMMENT ON COLUMN completions.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, trusses finished at one station, with when the run was set up, begun and finished
CREATE TABLE history.completions (
    record                   VARCHAR,
    station                  VARCHAR,
    batch                    VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    shift_date               DATE,
    setup_started_at         TIMESTAMP,
    setup_started_utc        TIMESTAMP,
    build_started_at         TIMESTAMP,
    build_started_utc        TIMESTAMP,
    finished_at              TIMESTAMP,
    finished_utc             TIMESTAMP,
    quantity                 BIGINT,
    remake                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: boards of one item taken from stock, or put back
CREATE TABLE lumber_usage (
    record                   VARCHAR,
    corrects                 VARCHAR,
    used_at                  TIMESTAMP,
    used_utc                 TIMESTAMP,
    station                  VARCHAR,
    job                      VARCHAR,
    batch                    VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    from_length_16ths        INTEGER,
    boards                   BIGINT,
    reason                   VARCHAR,
    for_grade                VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE lumber_usage IS 'boards of one item taken from stock, or put back';
COMMENT ON COLUMN lumber_usage.record IS 'the log''s own number of the row';
COMMENT ON COLUMN lumber_usage.corrects IS 'record that this row corrects';
COMMENT ON COLUMN lumber_usage.used_at IS 'when the boards left or came back; a date alone is taken as that day''s start (plant''s wall clock)';
COMMENT ON COLUMN lumber_usage.used_utc IS 'when the boards left or came back; a date alone is taken as that day''s start (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN lumber_usage.station IS 'station that took the boards';
COMMENT ON COLUMN lumber_usage.job IS 'job number';
COMMENT ON COLUMN lumber_usage.batch IS 'batch number';
COMMENT ON COLUMN lumber_usage.size IS 'nominal section, such as 2x4';
COMMENT ON COLUMN lumber_usage.species IS 'species or species group, as stamped';
COMMENT ON COLUMN lumber_usage.grade IS 'grade, as stamped';
COMMENT ON COLUMN lumber_usage.length_16ths IS 'stock length of the boards (whole sixteenths of an inch)';
COMMENT ON COLUMN lumber_usage.from_length_16ths IS 'stock length that a returned remnant was cut from (whole sixteenths of an inch)';
COMMENT ON COLUMN lumber_usage.boards IS 'boards taken; negative for boards put back into stock';
COMMENT ON COLUMN lumber_usage.reason IS 'why the boards moved';
COMMENT ON COLUMN lumber_usage.for_grade IS 'grade that the design called for, when another was used';
COMMENT ON COLUMN lumber_usage.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN lumber_usage.import_id IS 'import that brought the row';
COMMENT ON COLUMN lumber_usage.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, boards of one item taken from stock, or put back
CREATE TABLE history.lumber_usage (
    record                   VARCHAR,
    corrects                 VARCHAR,
    used_at                  TIMESTAMP,
    used_utc                 TIMESTAMP,
    station                  VARCHAR,
    job                      VARCHAR,
    batch                    VARCHAR,
    size                     VARCHAR,
    species                  VARCHAR,
    grade                    VARCHAR,
    length_16ths             INTEGER,
    from_length_16ths        INTEGER,
    boards                   BIGINT,
    reason                   VARCHAR,
    for_grade                VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one punch pair of one employee, or hours paid and not worked
CREATE TABLE timecards (
    record                   VARCHAR,
    employee                 VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    station                  VARCHAR,
    work_date                DATE,
    started_at               TIMESTAMP,
    started_utc              TIMESTAMP,
    ended_at                 TIMESTAMP,
    ended_utc                TIMESTAMP,
    unpaid_min               DECIMAL(8,2),
    pay_code                 VARCHAR,
    job                      VARCHAR,
    hours                    DECIMAL(8,4),
    rate_usd                 DECIMAL(10,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE timecards IS 'one punch pair of one employee, or hours paid and not worked';
COMMENT ON COLUMN timecards.record IS 'the clock''s own number of the row';
COMMENT ON COLUMN timecards.employee IS 'employee code';
COMMENT ON COLUMN timecards.crew IS 'crew worked with';
COMMENT ON COLUMN timecards.shift IS 'shift code';
COMMENT ON COLUMN timecards.station IS 'station worked at; blank: follows the crew';
COMMENT ON COLUMN timecards.work_date IS 'date on which the shift began';
COMMENT ON COLUMN timecards.started_at IS 'punch in (plant''s wall clock)';
COMMENT ON COLUMN timecards.started_utc IS 'punch in (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN timecards.ended_at IS 'punch out (plant''s wall clock)';
COMMENT ON COLUMN timecards.ended_utc IS 'punch out (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN timecards.unpaid_min IS 'unpaid minutes inside the punch, such as an automatic lunch';
COMMENT ON COLUMN timecards.pay_code IS 'worked, or why time is paid and not worked (holiday, leave, …)';
COMMENT ON COLUMN timecards.job IS 'job, where the clock asks for one';
COMMENT ON COLUMN timecards.hours IS 'hours paid and not worked, or worked without punches';
COMMENT ON COLUMN timecards.rate_usd IS 'hourly rate of this time, when it has its own';
COMMENT ON COLUMN timecards.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN timecards.import_id IS 'import that brought the row';
COMMENT ON COLUMN timecards.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one punch pair of one employee, or hours paid and not worked
CREATE TABLE history.timecards (
    record                   VARCHAR,
    employee                 VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    station                  VARCHAR,
    work_date                DATE,
    started_at               TIMESTAMP,
    started_utc              TIMESTAMP,
    ended_at                 TIMESTAMP,
    ended_utc                TIMESTAMP,
    unpaid_min               DECIMAL(8,2),
    pay_code                 VARCHAR,
    job                      VARCHAR,
    hours                    DECIMAL(8,4),
    rate_usd                 DECIMAL(10,4),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

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
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

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
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one invoice line or credit to a customer, sales tax left out
CREATE TABLE invoices (
    invoice                  VARCHAR,
    line                     VARCHAR,
    job                      VARCHAR,
    invoiced_on              DATE,
    amount_usd               DECIMAL(14,2),
    kind                     VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE invoices IS 'one invoice line or credit to a customer, sales tax left out';
COMMENT ON COLUMN invoices.invoice IS 'invoice number';
COMMENT ON COLUMN invoices.line IS 'line of the invoice';
COMMENT ON COLUMN invoices.job IS 'job number';
COMMENT ON COLUMN invoices.invoiced_on IS 'invoice date';
COMMENT ON COLUMN invoices.amount_usd IS 'amount without sales tax; credits negative';
COMMENT ON COLUMN invoices.kind IS 'what the line is';
COMMENT ON COLUMN invoices.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN invoices.import_id IS 'import that brought the row';
COMMENT ON COLUMN invoices.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one invoice line or credit to a customer, sales tax left out
CREATE TABLE history.invoices (
    invoice                  VARCHAR,
    line                     VARCHAR,
    job                      VARCHAR,
    invoiced_on              DATE,
    amount_usd               DECIMAL(14,2),
    kind                     VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one cost charged to a job from outside: plates, hardware, delivery, repair
CREATE TABLE job_costs (
    vendor                   VARCHAR,
    document                 VARCHAR,
    line                     VARCHAR,
    job                      VARCHAR,
    incurred_on              DATE,
    kind                     VARCHAR,
    amount_usd               DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE job_costs IS 'one cost charged to a job from outside: plates, hardware, delivery, repair';
COMMENT ON COLUMN job_costs.vendor IS 'vendor code';
COMMENT ON COLUMN job_costs.document IS 'vendor''s document';
COMMENT ON COLUMN job_costs.line IS 'line of the document';
COMMENT ON COLUMN job_costs.job IS 'job number';
COMMENT ON COLUMN job_costs.incurred_on IS 'day the cost belongs to';
COMMENT ON COLUMN job_costs.kind IS 'class of the cost';
COMMENT ON COLUMN job_costs.amount_usd IS 'amount without sales tax; credits negative';
COMMENT ON COLUMN job_costs.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN job_costs.import_id IS 'import that brought the row';
COMMENT ON COLUMN job_costs.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one cost charged to a job from outside: plates, hardware, delivery, repair
CREATE TABLE history.job_costs (
    vendor                   VARCHAR,
    document                 VARCHAR,
    line                     VARCHAR,
    job                      VARCHAR,
    incurred_on              DATE,
    kind                     VARCHAR,
    amount_usd               DECIMAL(14,2),
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

