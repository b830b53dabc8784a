-- What the plant says about itself, for every statement after this one.
-- The rows come from plant.toml and from the plant's zone; Go fills them in before the
-- next file runs. Dropped and rebuilt with the ledgers.

-- grain: one row in all
CREATE OR REPLACE TABLE settings (
    plant_name             VARCHAR NOT NULL,
    timezone               VARCHAR NOT NULL,
    workweek_starts        VARCHAR NOT NULL,
    currency               VARCHAR NOT NULL,
    weekly_threshold_seconds BIGINT NOT NULL,
    premium_e4             BIGINT NOT NULL,
    daily_threshold_seconds BIGINT NOT NULL,
    double_daily_threshold_seconds BIGINT NOT NULL,
    double_premium_e4      BIGINT NOT NULL,
    seventh_day_premium    BOOLEAN NOT NULL,
    punch_rounding_seconds BIGINT NOT NULL,
    longest_punch_seconds  BIGINT NOT NULL,
    double_punch_seconds   BIGINT NOT NULL,
    meal_after_seconds     BIGINT NOT NULL,
    rate_rounding          VARCHAR NOT NULL,
    overtime_premium       VARCHAR NOT NULL,
    burden_pct_e6          BIGINT NOT NULL,
    burden_per_hour_e4     BIGINT NOT NULL,
    overhead_per_hour_e4   BIGINT NOT NULL,
    plates_source          VARCHAR NOT NULL,
    costing                VARCHAR NOT NULL,
    lumber_usage           VARCHAR NOT NULL,
    kerf_64ths             BIGINT NOT NULL,
    end_trim_64ths         BIGINT NOT NULL,
    remnant_min_16ths      BIGINT NOT NULL,
    quoted_waste_pct       DECIMAL(8,6) NOT NULL,
    revenue_rule           VARCHAR NOT NULL,
    trailing_weeks         INTEGER NOT NULL,
    learning_weeks         INTEGER NOT NULL,
    discount_pct           DECIMAL(8,6) NOT NULL,
    change_years           INTEGER NOT NULL,
    plant_toml_sha256      VARCHAR NOT NULL,
    ledgers_sha256         VARCHAR NOT NULL
);
COMMENT ON TABLE settings IS 'plant.toml as the ledgers were built with it, one row';
COMMENT ON COLUMN settings.ledgers_sha256 IS 'fingerprint of the SQL that built the ledgers: another version builds them anew';
COMMENT ON COLUMN settings.premium_e4 IS 'overtime multiplier less one, in ten-thousandths: 5000 for time and a half';
COMMENT ON COLUMN settings.daily_threshold_seconds IS 'hours of one workday past it earn the premium, in seconds; 0: no daily overtime';
COMMENT ON COLUMN settings.double_daily_threshold_seconds IS 'hours of one workday past it earn the double premium, in seconds; 0: none';
COMMENT ON COLUMN settings.double_premium_e4 IS 'double multiplier less one, in ten-thousandths: 10000 for double time';
COMMENT ON COLUMN settings.seventh_day_premium IS 'whether the seventh consecutive day worked of a workweek earns the premium from its first hour';
COMMENT ON COLUMN settings.punch_rounding_seconds IS 'punches are paid to the nearest so many seconds; 0: to the second';
COMMENT ON COLUMN settings.longest_punch_seconds IS 'a longer punch is odd: 0 hours and an exception';
COMMENT ON COLUMN settings.double_punch_seconds IS 'punches of one person this near to each other are one';
COMMENT ON COLUMN settings.burden_pct_e6 IS 'burden as a share of straight pay of direct run time, in millionths';
COMMENT ON COLUMN settings.burden_per_hour_e4 IS 'burden in ten-thousandths of a dollar for each hour of direct run time';
COMMENT ON COLUMN settings.overhead_per_hour_e4 IS 'overhead applied, ten-thousandths of a dollar for each labour hour';
COMMENT ON COLUMN settings.kerf_64ths IS 'width of one saw cut, 64ths of an inch';
COMMENT ON COLUMN settings.trailing_weeks IS 'weeks that comparisons look back';
COMMENT ON COLUMN settings.learning_weeks IS 'weeks of a new crew, and of a change at its stations, that comparisons leave out';
COMMENT ON COLUMN settings.discount_pct IS 'interest a year for net present values';
COMMENT ON COLUMN settings.change_years IS 'years over which a change is valued';
COMMENT ON COLUMN settings.end_trim_64ths IS 'trimmed off each board, 64ths of an inch';

-- grain: one station of plant.toml
CREATE OR REPLACE TABLE stations (
    station VARCHAR NOT NULL,
    kind    VARCHAR NOT NULL,
    jigging VARCHAR
);
COMMENT ON TABLE stations IS 'one station of plant.toml: saw, table, finish or yard';

-- grain: one change and station that it was made at
CREATE OR REPLACE TABLE changes (
    code       VARCHAR NOT NULL,
    changed_on DATE NOT NULL,
    station    VARCHAR NOT NULL,
    what       VARCHAR,
    cost_usd   DECIMAL(14,2) NOT NULL
);
COMMENT ON TABLE changes IS 'the changes to the floor under study, one row a station; cost_usd is the whole change''s';

-- grain: one account of plant.toml
CREATE OR REPLACE TABLE accounts (
    name VARCHAR NOT NULL,
    code VARCHAR NOT NULL
);
COMMENT ON TABLE accounts IS 'the plant''s account codes for the journal, by the names that plant.toml gives them';

-- grain: one size of which boards come in packs
CREATE OR REPLACE TABLE packs (
    size   VARCHAR NOT NULL,
    boards BIGINT NOT NULL
);
COMMENT ON TABLE packs IS 'boards in one unit as the vendors pack them, by size';

-- grain: one grade of one species
CREATE OR REPLACE TABLE grade_order (
    species VARCHAR NOT NULL,
    grade   VARCHAR NOT NULL,
    place   INTEGER NOT NULL
);
COMMENT ON TABLE grade_order IS 'the plant''s own order of grades, 1 the highest; a flag, no opinion on strength';

-- grain: one calendar day of the plant
CREATE OR REPLACE TABLE days (
    day        DATE NOT NULL,
    starts_utc TIMESTAMP NOT NULL,
    ends_utc   TIMESTAMP NOT NULL
);
COMMENT ON TABLE days IS 'each calendar day''s start and end as UTC instants: 23, 24 or 25 hours';

-- grain: one calendar day of the plant, or the part of it before or after a workday starts
CREATE OR REPLACE TABLE day_parts (
    day            DATE NOT NULL,
    workweek_start DATE NOT NULL,
    workday        DATE NOT NULL,
    starts_utc     TIMESTAMP NOT NULL,
    ends_utc       TIMESTAMP NOT NULL
);
COMMENT ON TABLE day_parts IS 'days, cut where workdays start at another time than midnight';
COMMENT ON COLUMN day_parts.workday IS 'the 24 hours, by the day on which they begin, that start at the clock time of the workweek''s start';

-- grain: one workweek: a fixed period of 168 hours (29 CFR 778.105)
CREATE OR REPLACE TABLE workweeks (
    workweek_start DATE NOT NULL,
    label          VARCHAR NOT NULL,
    starts_utc     TIMESTAMP NOT NULL,
    ends_utc       TIMESTAMP NOT NULL
);
COMMENT ON TABLE workweeks IS 'one workweek; 168 hours of elapsed time but for the two weeks of the clock change';
COMMENT ON COLUMN workweeks.label IS 'ISO week of the workweek''s fourth day, such as 2026-W46';

-- grain: one stretch of time with one offset from UTC
CREATE OR REPLACE TABLE zone_offsets (
    from_utc       TIMESTAMP NOT NULL,
    offset_seconds BIGINT NOT NULL
);
COMMENT ON TABLE zone_offsets IS 'seconds to add to a UTC instant for the plant''s wall clock, from that instant on';
