-- Quality and safety: trusses inspected, and incidents as reported. No names.

-- grain: one truss inspected at one table
CREATE TABLE inspections (
    record                   VARCHAR,
    shift_date               DATE,
    station                  VARCHAR,
    shift                    VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    passed                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE inspections IS 'one truss inspected at one table';
COMMENT ON COLUMN inspections.record IS 'the inspector''s own number of the row; a row with one is corrected by it';
COMMENT ON COLUMN inspections.shift_date IS 'date on which the shift began that built the truss';
COMMENT ON COLUMN inspections.station IS 'table that built the truss';
COMMENT ON COLUMN inspections.shift IS 'shift that built the truss';
COMMENT ON COLUMN inspections.job IS 'job number';
COMMENT ON COLUMN inspections.truss IS 'truss mark';
COMMENT ON COLUMN inspections.passed IS 'whether the truss passed as it was built; one row a truss inspected';
COMMENT ON COLUMN inspections.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN inspections.import_id IS 'import that brought the row';
COMMENT ON COLUMN inspections.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one truss inspected at one table
CREATE TABLE history.inspections (
    record                   VARCHAR,
    shift_date               DATE,
    station                  VARCHAR,
    shift                    VARCHAR,
    job                      VARCHAR,
    truss                    VARCHAR,
    passed                   VARCHAR,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);

-- grain: one injury, illness, first aid case or near miss; never a name
CREATE TABLE incidents (
    record                   VARCHAR,
    occurred_at              TIMESTAMP,
    occurred_utc             TIMESTAMP,
    shift_date               DATE,
    station                  VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    recordable               VARCHAR,
    days_away                BIGINT,
    days_restricted          BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL
);
COMMENT ON TABLE incidents IS 'one injury, illness, first aid case or near miss; never a name';
COMMENT ON COLUMN incidents.record IS 'number of the report; no name';
COMMENT ON COLUMN incidents.occurred_at IS 'when it happened; a date alone is taken as that day''s start';
COMMENT ON COLUMN incidents.occurred_utc IS 'when it happened (UTC instant; NULL when the local time was skipped or repeated by a clock change)';
COMMENT ON COLUMN incidents.shift_date IS 'date on which the shift began';
COMMENT ON COLUMN incidents.station IS 'where it happened; no figure is ever made by it';
COMMENT ON COLUMN incidents.crew IS 'crew concerned; no figure is ever made by it';
COMMENT ON COLUMN incidents.shift IS 'shift code';
COMMENT ON COLUMN incidents.recordable IS 'yes: a recordable case; no: a report that is none; near_miss and first_aid: reports made';
COMMENT ON COLUMN incidents.days_away IS 'days away from work';
COMMENT ON COLUMN incidents.days_restricted IS 'days of restricted or other work';
COMMENT ON COLUMN incidents.occurrence IS 'number of this row among rows of the same key, from 1';
COMMENT ON COLUMN incidents.import_id IS 'import that brought the row';
COMMENT ON COLUMN incidents.import_line IS 'line of that file (named so because some feeds have a line of their own)';

-- grain: as superseded or removed, one injury, illness, first aid case or near miss; never a name
CREATE TABLE history.incidents (
    record                   VARCHAR,
    occurred_at              TIMESTAMP,
    occurred_utc             TIMESTAMP,
    shift_date               DATE,
    station                  VARCHAR,
    crew                     VARCHAR,
    shift                    VARCHAR,
    recordable               VARCHAR,
    days_away                BIGINT,
    days_restricted          BIGINT,
    occurrence               INTEGER NOT NULL,
    import_id                BIGINT NOT NULL,
    import_line              BIGINT NOT NULL,
    superseded_by            BIGINT NOT NULL,
    superseded_as            VARCHAR NOT NULL
);
