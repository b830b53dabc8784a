-- sheet:  grade_substitution
-- title:  Grades and sizes against the design
-- reader: purchasing
-- grain:  one row per jobs, size, species, grade used and grade specified of boards taken in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: jobs           | Jobs           | text  | -   | jobs whose parts were cut of them
-- column: size           | Size           | text  | -   | nominal section of the boards
-- column: species        | Species        | text  | -   | as stamped
-- column: used_grade     | Used           | text  | -   | grade of the boards taken
-- column: specified      | Specified      | text  | -   | grade that the design calls for; blank where the design has no part of that size
-- column: boards         | Boards         | count | sum | taken to cut and recut
-- column: used_bf        | Used           | bf    | sum | nominal board feet of them
-- column: given_away_usd | Given away     | usd   | sum | board feet times what the higher grade costs more, by quoting prices; blank for a question
-- column: action         | What to do     | text  | -   | a higher grade is money given away; anything else is a question for the truss designer
-- column: trusses        | Trusses        | text  | -   | job and mark that the boards can have been for
-- emphasis: action | word | STOP AND ASK the truss designer
-- note:   The grade order of plant.toml is a flag, no opinion on strength. A same-size substitution must meet or exceed the specified grade in each design value, and a change of size needs re-analysis (ANSI/TPI 1 section 3.4.2): that is the truss designer's decision, and never a saving.
-- sort:   questions first, dollars given away, jobs, size, species, grades
WITH summed AS (
    SELECT
        s.jobs, s.size, s.species, s.grade, s.specified, s.verdict = 'above' AS is_above,
        sum(s.boards)::BIGINT AS boards, sum(s.wood)::BIGINT AS wood,
        sum(CASE WHEN s.verdict = 'above' THEN rounded_quotient(s.wood::HUGEINT * (s.used_e4 - s.specified_e4), 147456::HUGEINT * 100000) END)::BIGINT AS cents,
        string_agg(DISTINCT s.trusses, ', ' ORDER BY s.trusses) AS trusses
    FROM steps.substitutions AS s
    WHERE s.moved_on >= $from::DATE AND s.moved_on < $until::DATE
    GROUP BY ALL
)
SELECT
    s.jobs::VARCHAR AS jobs,
    s.size::VARCHAR AS size,
    s.species::VARCHAR AS species,
    s.grade::VARCHAR AS used_grade,
    s.specified::VARCHAR AS specified,
    s.boards::BIGINT AS boards,
    wood_to_bf(s.wood)::DECIMAL(14,4) AS used_bf,
    cents_to_usd(s.cents)::DECIMAL(18,2) AS given_away_usd,
    CASE WHEN s.is_above THEN 'a higher grade than specified' ELSE 'STOP AND ASK the truss designer' END::VARCHAR AS action,
    s.trusses::VARCHAR AS trusses
FROM summed AS s
ORDER BY s.is_above, s.cents DESC NULLS LAST, s.jobs, s.size, s.species, s.grade, s.specified;
