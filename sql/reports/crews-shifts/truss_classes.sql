-- sheet:  truss_classes
-- title:  Classes of trusses, and who built them
-- reader: owner
-- grain:  one row per class and crew with any of it, over the trailing weeks
-- param:  until DATE   day after the last
-- needs:  comparison
-- column: kind          | Truss kind    | text  | - | family of the truss
-- column: size_band     | Size          | text  | - | under or over the middle truss of its kind, board feet of one truss
-- column: batch_band    | Batch         | text  | - | trusses of the run
-- column: class_trusses | Plant's trusses | count | - | of the class, of all crews: its weight in the mix
-- column: mix_pct       | Share of mix  | pct   | - | the class's share of the plant's trusses
-- column: crew          | Crew          | text  | - | with at least four fifths of a run's minutes; else shared
-- column: runs          | Runs          | count | sum | whole first-time runs that count
-- column: trusses       | Trusses       | count | sum | good trusses
-- column: labour_min    | Labour        | min   | sum | people-minutes of set-up and build
-- column: each_min      | A truss       | min   | labour_min / trusses | people-minutes of a truss
-- column: compared      | In comparison | text  | - | yes where both the crew and the others built enough of it
-- note:   Classes keep unlike trusses apart: kind, size within the kind, batch size. The plant's mix of the trailing weeks weighs them.
-- note:   Differences within one class are mostly chance: the comparison is on like_for_like.
-- sort:   truss kind, size, batch, crew
WITH runs AS (
    SELECT * FROM compared_runs($until::DATE) WHERE left_out IS NULL
),
total AS (
    SELECT sum(trusses)::BIGINT AS trusses FROM runs
),
classes AS (
    SELECT class, sum(trusses)::BIGINT AS trusses FROM runs GROUP BY class
),
crews AS (
    SELECT
        class, any_value(kind) AS kind, any_value(size_band) AS size_band, any_value(batch_band) AS batch_band, crew, count(*) AS runs, sum(trusses)::BIGINT AS trusses,
        seconds_to_min(sum(setup_seconds + build_seconds)::BIGINT) AS labour_min
    FROM runs
    GROUP BY class, crew
)
SELECT
    coalesce(w.kind, 'kind not known')::VARCHAR AS kind,
    w.size_band::VARCHAR AS size_band,
    w.batch_band::VARCHAR AS batch_band,
    k.trusses::BIGINT AS class_trusses,
    share_of(k.trusses, t.trusses)::DECIMAL(18,6) AS mix_pct,
    w.crew::VARCHAR AS crew,
    w.runs::BIGINT AS runs,
    w.trusses::BIGINT AS trusses,
    w.labour_min::DECIMAL(18,2) AS labour_min,
    share_of(w.labour_min, w.trusses)::DECIMAL(18,6) AS each_min,
    CASE WHEN c.class IS NOT NULL THEN 'yes' WHEN w.crew = 'shared' THEN 'nobody''s' ELSE 'too thin' END::VARCHAR AS compared
FROM crews AS w
JOIN classes AS k USING (class)
CROSS JOIN total AS t
LEFT JOIN temp.comparison_classes AS c ON c.scope = 'crew' AND c.name = w.crew AND c.class = w.class
ORDER BY w.kind, w.size_band, w.batch_band, w.crew;
