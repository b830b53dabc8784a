-- sheet:  like_for_like_detail
-- title:  What the comparisons rest on
-- reader: owner
-- grain:  one row per crew, shift, table, and crew on a shift, over the trailing weeks
-- param:  until DATE   day after the last
-- needs:  comparison
-- column: scope          | Compared            | text  | - | what is compared
-- column: name           | Name                | text  | - | in order of name
-- column: words          | In words            | text  | - | the comparison with the figures that it rests on
-- column: runs           | Runs                | count | - | whole first-time runs that count
-- column: classes        | Classes             | count | - | that both it and the others built
-- column: labour_hours   | Labour              | hours | - | people-hours of set-up and build
-- column: thin           | Thin classes        | count | - | runs left out, in classes that one side hardly built
-- column: learning       | Learning            | count | - | runs left out of a new crew's first weeks
-- column: no_minutes     | Without minutes     | count | - | runs left out without people-minutes of their own (none, or allotted), trusses or date
-- column: unknown        | Unknown names       | count | - | runs left out that name a job, truss, crew or person that nothing else knows
-- column: quoted_min     | Quoted              | min   | - | people-minutes that the quotes allow at all stations for those of its trusses that have any
-- column: table_min      | At the table        | min   | - | people-minutes of set-up and build at the table for the same trusses
-- column: earned         | Earned a minute     | number | - | quoted over table minutes; saw and finishing are in the quote, so only its comparison with the others' means anything
-- column: others_earned  | Others              | number | - | the same of the others
-- column: automatic_pct  | Automatic tables    | pct   | - | share of its trusses built at tables with automatic jigging
-- column: large_pct      | Batches of 4 and more | pct | - | share of its trusses in batches of four and more
-- note:   Second view: minutes earned against the quotes. A quote's errors look like a crew's, so the comparison on like_for_like comes first.
-- note:   The last two columns explain, they are not allowed for: who gets the automatic table and the long runs. Runs of several crews count for tables and shifts only.
-- sort:   what is compared, name
WITH runs AS (
    SELECT * FROM compared_runs($until::DATE)
),
units AS (
    SELECT 'crew' AS scope, crew AS name, * FROM runs
    UNION ALL SELECT 'shift', shift, * FROM runs
    UNION ALL SELECT 'table', station, * FROM runs
    UNION ALL SELECT 'crew and shift', concat(crew, ', ', shift), * FROM runs
),
summed AS (
    SELECT
        scope, name,
        count(*) FILTER (WHERE left_out = 'learning weeks') AS learning,
        count(*) FILTER (WHERE left_out IN ('no people-minutes', 'minutes allotted', 'no trusses', 'no date')) AS no_minutes,
        count(*) FILTER (WHERE left_out = 'unknown names') AS unknown,
        sum(CASE WHEN left_out IS NULL THEN quoted_min END)::DECIMAL(18,2) AS quoted_min,
        seconds_to_min(sum(CASE WHEN left_out IS NULL AND quoted_min IS NOT NULL THEN setup_seconds + build_seconds END)::BIGINT) AS table_min,
        sum(CASE WHEN left_out IS NULL THEN trusses ELSE 0 END)::BIGINT AS trusses,
        sum(CASE WHEN left_out IS NULL AND jigging = 'automatic' THEN trusses ELSE 0 END)::BIGINT AS automatic,
        sum(CASE WHEN left_out IS NULL AND batch_band <> '1 to 3' THEN trusses ELSE 0 END)::BIGINT AS large
    FROM units
    GROUP BY scope, name
),
totals AS (
    SELECT scope, sum(quoted_min) AS quoted_min, sum(table_min) AS table_min
    FROM summed
    GROUP BY scope
)
SELECT
    c.scope::VARCHAR AS scope,
    c.name::VARCHAR AS name,
    c.words::VARCHAR AS words,
    c.runs::BIGINT AS runs,
    c.classes::BIGINT AS classes,
    c.people_hours::DECIMAL(14,4) AS labour_hours,
    c.thin::BIGINT AS thin,
    coalesce(s.learning, 0)::BIGINT AS learning,
    coalesce(s.no_minutes, 0)::BIGINT AS no_minutes,
    coalesce(s.unknown, 0)::BIGINT AS unknown,
    s.quoted_min::DECIMAL(18,2) AS quoted_min,
    s.table_min::DECIMAL(18,2) AS table_min,
    share_of(s.quoted_min, s.table_min)::DECIMAL(18,6) AS earned,
    share_of(t.quoted_min - coalesce(s.quoted_min, 0), t.table_min - coalesce(s.table_min, 0))::DECIMAL(18,6) AS others_earned,
    share_of(s.automatic, s.trusses)::DECIMAL(18,6) AS automatic_pct,
    share_of(s.large, s.trusses)::DECIMAL(18,6) AS large_pct
FROM temp.comparisons AS c
LEFT JOIN summed AS s ON s.scope = c.scope AND s.name = c.name
LEFT JOIN totals AS t ON t.scope = c.scope
ORDER BY c.place, c.name;
