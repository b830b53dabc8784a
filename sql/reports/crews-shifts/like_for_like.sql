-- sheet:  like_for_like
-- title:  Crews, shifts and tables, like for like
-- reader: owner
-- grain:  one row per crew, shift, table, and crew on a shift, each against all the others together, over the trailing weeks
-- param:  until DATE   day after the last
-- needs:  comparison
-- column: scope          | Compared         | text  | - | what is compared: crews, shifts, tables, or crews on a shift
-- column: name           | Name             | text  | - | in order of name, never of result
-- column: finding        | Says             | text  | - | different only where the 99.8 % interval leaves no difference out; else no difference shown, mix too different (under 80 % of the mix in common) or not enough data
-- column: like_min       | Like for like    | min   | - | people-minutes a truss on the plant's mix, over the classes that both it and the others built
-- column: others_min     | Others, the same | min   | - | the others' people-minutes a truss on the same mix
-- column: difference_pct | Difference       | pct   | - | its minutes over the others', less one: above 0 takes longer
-- column: low_pct        | At least         | pct   | - | lower end of the 95 % interval, from resampling shifts
-- column: high_pct       | At most          | pct   | - | upper end of the 95 % interval, from resampling shifts
-- column: expected_pct   | Expect           | pct   | - | the difference pulled towards nothing as far as its shifts are few: what to expect next
-- column: covered_pct    | Mix in common    | pct   | - | share of the plant's trusses in classes that both built
-- column: shifts         | Shifts           | count | - | shifts worked at a table: the sample
-- column: trusses        | Trusses          | count | - | good trusses of whole first-time runs
-- column: raw_min        | As it stands     | min   | - | people-minutes a truss, whatever was built: no comparison
-- column: raw_others_min | Others as it stands | min | - | the others' people-minutes a truss, whatever they built
-- column: first_pass_pct | Right first time | pct   | - | trusses never made again over trusses built; it can fall later
-- column: left_out       | Left out         | count | - | runs left out: learning weeks, thin classes, without people-minutes of their own (none, or allotted), unknown names
-- chart:  bar | Minutes a truss on the same mix | name | like_min, others_min | people-minutes a truss | Bars of each one's minutes a truss on the plant's mix beside the others' on the same mix, in the order of the rows
-- note:   Direct standardisation: each one's minutes by class (truss kind, under or over the middle truss of the kind, batch size; sheet truss_classes) on the plant's own mix of the trailing weeks. Ratios to an expected time are not used: they favour whoever has the easy mix.
-- note:   No ranking, and no individuals: runs of less than four fifths of one crew are nobody's. Intervals come from resampling shifts, since the trusses of one shift are no independent evidence.
-- note:   Pace never stands alone: read it with right first time here, and with quality_and_safety. Late lumber, a saw that is down, who gets long runs, new people and overtime are not allowed for.
-- emphasis: finding | word | different
-- sort:   what is compared, name
WITH runs AS (
    SELECT r.*, f.not_first_pass
    FROM compared_runs($until::DATE) AS r
    JOIN steps.first_pass AS f ON f.run_key = r.run_key
    WHERE r.left_out IS NULL
),
units AS (
    SELECT 'crew' AS scope, crew AS name, trusses, not_first_pass FROM runs
    UNION ALL SELECT 'shift', shift, trusses, not_first_pass FROM runs
    UNION ALL SELECT 'table', station, trusses, not_first_pass FROM runs
    UNION ALL SELECT 'crew and shift', concat(crew, ', ', shift), trusses, not_first_pass FROM runs
),
passed AS (
    SELECT scope, name, sum(trusses)::BIGINT AS trusses, sum(trusses - not_first_pass)::BIGINT AS first_pass
    FROM units
    GROUP BY scope, name
)
SELECT
    c.scope::VARCHAR AS scope,
    c.name::VARCHAR AS name,
    CASE WHEN c.verdict = 'not enough data' THEN concat('not enough data (n = ', c.shifts, ' shifts)') ELSE c.verdict END::VARCHAR AS finding,
    c.like_min::DECIMAL(14,4) AS like_min,
    c.other_like_min::DECIMAL(14,4) AS others_min,
    (c.ratio - 1)::DECIMAL(18,6) AS difference_pct,
    (c.low_ratio - 1)::DECIMAL(18,6) AS low_pct,
    (c.high_ratio - 1)::DECIMAL(18,6) AS high_pct,
    (c.shrunk_ratio - 1)::DECIMAL(18,6) AS expected_pct,
    c.covered_pct::DECIMAL(18,6) AS covered_pct,
    c.shifts::BIGINT AS shifts,
    c.trusses::BIGINT AS trusses,
    c.raw_min::DECIMAL(14,4) AS raw_min,
    c.other_raw_min::DECIMAL(14,4) AS raw_others_min,
    share_of(p.first_pass, p.trusses)::DECIMAL(18,6) AS first_pass_pct,
    (c.left_out + c.thin)::BIGINT AS left_out
FROM temp.comparisons AS c
LEFT JOIN passed AS p ON p.scope = c.scope AND p.name = c.name
ORDER BY c.place, c.name;
