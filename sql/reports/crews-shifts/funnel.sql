-- sheet:  funnel
-- title:  Is it more than chance?
-- reader: owner
-- grain:  one row per unit compared, and per number of shifts at which limits are drawn, over the trailing weeks
-- needs:  comparison
-- column: scope      | Compared          | text   | - | crews, shifts, tables, or crews on a shift
-- column: name       | Name              | text   | - | in order of name; "limits" on the rows that draw the lines
-- column: shifts     | Shifts            | count  | - | shifts worked at a table
-- column: ratio      | Over the others   | number | - | minutes like for like over the others'
-- column: low_95     | 95 % from         | number | - | chance alone stays within 95 times in 100
-- column: high_95    | 95 % to           | number | - | chance alone stays within 95 times in 100
-- column: low_998    | 99.8 % from       | number | - | outside these it is called different
-- column: high_998   | 99.8 % to         | number | - | outside these it is called different
-- chart:  scatter limits where scope = crew | Crews: within the lines is chance | shifts | ratio, low_95, high_95, low_998, high_998 | minutes over the others' | Points of each crew's minutes over the others' against its number of shifts, with lines within which 95 and 99.8 per cent fall by chance
-- chart:  scatter limits where scope = crew and shift | Crews on a shift: within the lines is chance | shifts | ratio, low_95, high_95, low_998, high_998 | minutes over the others' | Points of each crew and shift against its number of shifts, with lines within which 95 and 99.8 per cent fall by chance
-- note:   The limits narrow as shifts add up: the smallest units fill both ends of any list. They come from how much one shift differs from another at this plant.
-- note:   No ranking. Pace never stands alone: read it with quality_and_safety.
-- sort:   what is compared, limits, name
SELECT
    f.scope::VARCHAR AS scope,
    coalesce(f.name, 'limits')::VARCHAR AS name,
    f.shifts::BIGINT AS shifts,
    f.ratio::DECIMAL(18,6) AS ratio,
    CASE WHEN f.name IS NULL THEN f.low_95 END::DECIMAL(18,6) AS low_95,
    CASE WHEN f.name IS NULL THEN f.high_95 END::DECIMAL(18,6) AS high_95,
    CASE WHEN f.name IS NULL THEN f.low_998 END::DECIMAL(18,6) AS low_998,
    CASE WHEN f.name IS NULL THEN f.high_998 END::DECIMAL(18,6) AS high_998
FROM temp.funnel_points AS f
ORDER BY f.place, f.name NULLS FIRST, f.shifts;
