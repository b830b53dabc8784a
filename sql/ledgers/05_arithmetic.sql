-- The arithmetic of boards and cents, said once.

-- Half-up quotient of non-negative or negative integers: n/d to the nearest whole, halves
-- away from zero. d is above 0. Numbers of 64 bits are divided many times faster than longer
-- ones, so those that fit are.
CREATE OR REPLACE MACRO rounded_quotient(n, d) AS
    (CASE WHEN (n)::HUGEINT BETWEEN 0 AND 2000000000000000000 AND (d)::HUGEINT <= 2000000000000000000
               THEN (2 * (n)::BIGINT + (d)::BIGINT) // (2 * (d)::BIGINT)
          WHEN n < 0 THEN -((2 * -(n)::HUGEINT + d) // (2 * (d)::HUGEINT))
          ELSE (2 * (n)::HUGEINT + d) // (2 * (d)::HUGEINT) END)::BIGINT;

-- Cents to dollars, exactly.
CREATE OR REPLACE MACRO cents_to_usd(cents) AS ((cents)::DECIMAL(18,0) * 0.01::DECIMAL(3,2))::DECIMAL(18,2);

-- Dollars to cents, exactly.
CREATE OR REPLACE MACRO usd_to_cents(usd) AS ((usd)::DECIMAL(18,2) * 100)::BIGINT;

-- Seconds to minutes and hours for people, half up.
CREATE OR REPLACE MACRO seconds_to_min(s) AS (rounded_quotient(s * 100, 60)::DECIMAL(18,0) * 0.01::DECIMAL(3,2))::DECIMAL(14,2);
CREATE OR REPLACE MACRO seconds_to_hours(s) AS (rounded_quotient(s * 10000, 3600)::DECIMAL(18,0) * 0.0001::DECIMAL(5,4))::DECIMAL(14,4);

-- One run: station, batch, job and truss; remade trusses are a run of their own.
CREATE OR REPLACE MACRO run_key_of(station, batch, job, truss, remake) AS
    concat_ws(chr(31), station, coalesce(batch, ''), job, coalesce(truss, ''), coalesce(remake, ''));

-- Whole elapsed seconds between two instants.
CREATE OR REPLACE MACRO seconds_between(a, b) AS (epoch_us(b) - epoch_us(a)) // 1000000;

-- A clock time to the nearest step of so many seconds, halves up, counted from midnight.
CREATE OR REPLACE MACRO nearest(moment, step) AS
    (moment)::DATE::TIMESTAMP + to_seconds((seconds_between((moment)::DATE::TIMESTAMP, moment) * 2 + step) // (2 * step) * step);

-- A nominal dimension such as 2 or 5/4, in quarter inches.
CREATE OR REPLACE MACRO nominal_quarters(dimension) AS
    CASE WHEN contains(dimension, '/')
         THEN split_part(dimension, '/', 1)::INTEGER * 4 // split_part(dimension, '/', 2)::INTEGER
         ELSE (dimension::DECIMAL(8,2) * 4)::INTEGER
    END;

-- Nominal section of a size such as 2x4, in sixteenths of a square inch. Under one inch
-- thick counts as one inch (PS 20; US Navy Engineering Aid Basic 6-3).
CREATE OR REPLACE MACRO section_16ths(size) AS
    (greatest(4, nominal_quarters(split_part(size, 'x', 1))) * nominal_quarters(split_part(size, 'x', 2)))::BIGINT;

-- Wood as a whole number: nominal section (1/16 sq in) times length (1/64 in). One board
-- foot is 144 cubic inches = 144 x 16 x 64 = 147456 of these. Yields balance in this unit.
CREATE OR REPLACE MACRO wood(size, length_64ths) AS section_16ths(size) * length_64ths;

-- Wood to board feet, six decimals, half up.
CREATE OR REPLACE MACRO wood_to_bf(w) AS
    (rounded_quotient((w)::HUGEINT * 1000000, 147456)::DECIMAL(18,0) * 0.000001::DECIMAL(7,6))::DECIMAL(18,6);

-- Board feet of one board: nominal thickness (in) x nominal width (in) x length (ft) / 12.
CREATE OR REPLACE MACRO board_feet(size, length_16ths) AS wood_to_bf(wood(size, length_16ths * 4));

-- A ratio of two exact numbers as a decimal of six places; blank over zero.
CREATE OR REPLACE MACRO share_of(a, b) AS
    CASE WHEN b = 0 OR a IS NULL OR b IS NULL THEN NULL ELSE round((a)::DOUBLE / (b)::DOUBLE, 6)::DECIMAL(18,6) END;

-- A share of a base; blank where the base is 0 or below, where a loss would read as a gain.
CREATE OR REPLACE MACRO share_of_positive(a, b) AS CASE WHEN b > 0 THEN share_of(a, b) END;

-- A length for people, as feet-inches-sixteenths: 12-06-08.
CREATE OR REPLACE MACRO feet_inches(length_16ths) AS
    concat(length_16ths // 192, '-', lpad((length_16ths % 192 // 16)::VARCHAR, 2, '0'), '-', lpad((length_16ths % 16)::VARCHAR, 2, '0'));
