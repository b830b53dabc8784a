-- sheet:  change_words
-- title:  Changes in words, and what the data can't tell
-- reader: owner
-- grain:  one row per change of plant.toml made by then and measure
-- needs:  comparison
-- column: change              | Change        | text  | - | code in plant.toml
-- column: measure             | Measure       | text  | - | set-up, build, or both
-- column: what                | What          | text  | - | what was changed, and where
-- column: words               | In words      | text  | - | the result with what it rests on
-- column: cannot_tell         | What the data can't tell | text | - | what else may be in it
-- column: before_shifts       | Shifts before | count | - | at its tables
-- column: after_shifts        | Shifts after  | count | - | at its tables
-- column: others_before_shifts | Others before | count | - | shifts at the tables that it is compared with
-- column: others_after_shifts | Others after  | count | - | shifts at the tables that it is compared with
-- column: covered_pct         | Mix in common | pct   | - | share of its tables' work in classes built before and after
-- column: year_units          | A year        | count | - | set-ups, or trusses, at its tables in 52 weeks like these
-- note:   A comparison before and after says what changed on that day, not why. The more weeks and the more tables without the change, the more it says.
-- sort:   date of the change, code, measure
SELECT
    s.code::VARCHAR AS change,
    s.measure::VARCHAR AS measure,
    concat_ws(', at ', c.what, c.stations)::VARCHAR AS what,
    s.words::VARCHAR AS words,
    s.caveats::VARCHAR AS cannot_tell,
    s.before_shifts::BIGINT AS before_shifts,
    s.after_shifts::BIGINT AS after_shifts,
    s.other_before_shifts::BIGINT AS others_before_shifts,
    s.other_after_shifts::BIGINT AS others_after_shifts,
    s.covered_pct::DECIMAL(18,6) AS covered_pct,
    s.year_units::BIGINT AS year_units
FROM temp.change_studies AS s
JOIN (SELECT code, any_value(what) AS what, any_value(changed_on) AS changed_on, string_agg(station, ', ' ORDER BY station) AS stations FROM changes GROUP BY code) AS c ON c.code = s.code
ORDER BY c.changed_on, s.code, s.place;
