-- Boards of another grade or size than the design calls for. The plant's grade order is a
-- flag, no opinion on strength: whether another grade or size will do is the truss
-- designer's decision. A same-size substitution must meet or exceed the specified grade in
-- each design value, and a change of size needs re-analysis (ANSI/TPI 1 section 3.4.2).

-- grain: one movement of boards that are not what the design calls for
-- renewed: move_id > kept_board_moves OR move_id IN (SELECT move_id FROM renewed_moves)
-- reads: steps.cut_units where run_row_id IN (SELECT run_row_id FROM renewed_cuts)
-- reads: steps.usage_units where move_id IN (SELECT move_id FROM renewed_moves)
CREATE OR REPLACE TABLE steps.substitutions AS
WITH units AS (
    SELECT DISTINCT u.unit_kind, u.unit, c.job, c.truss
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
),
-- Boards of one unit, job and grade are judged alike, so they are judged once.
moved AS (
    SELECT m.move_id, u.unit_kind, u.unit, m.job, m.size, m.species, m.grade, m.for_grade
    FROM steps.board_moves AS m
    JOIN steps.usage_units AS u USING (move_id)
    WHERE m.boards < 0 AND m.kind IN ('cut', 'recut')
),
alike AS (
    SELECT min(move_id) AS alike_id, unit_kind, unit, job, size, species, grade, for_grade
    FROM moved
    GROUP BY ALL
),
-- The marks that the boards can have been for: those cut in their batch, else those of
-- their job.
meant AS (
    SELECT DISTINCT m.alike_id, t.job, t.truss, p.size, p.species, p.grade
    FROM alike AS m
    JOIN units AS t ON t.unit_kind = m.unit_kind AND t.unit = m.unit AND (m.job IS NULL OR t.job = m.job)
    JOIN steps.truss_parts AS p ON p.job = t.job AND p.truss = t.truss
),
-- Only what is no part's size and grade, or was meant for another grade, has to be told.
unlike AS (
    SELECT m.*
    FROM alike AS m
    WHERE m.for_grade <> m.grade
        OR NOT EXISTS (
            SELECT 1 FROM meant AS n
            WHERE n.alike_id = m.alike_id AND n.size = m.size AND n.species = m.species AND n.grade = m.grade)
),
fitting AS (
    SELECT
        m.alike_id, any_value(m.unit_kind) AS unit_kind, any_value(m.unit) AS unit, any_value(m.job) AS job, any_value(m.size) AS size,
        any_value(m.species) AS species, any_value(m.grade) AS grade, any_value(m.for_grade) AS for_grade,
        string_agg(DISTINCT n.job, ', ' ORDER BY n.job) AS jobs,
        string_agg(DISTINCT n.job || ' ' || n.truss, ', ' ORDER BY n.job || ' ' || n.truss)
            FILTER (WHERE n.size = m.size AND n.species = m.species AND n.grade = coalesce(m.for_grade, m.grade)) AS meant_trusses,
        string_agg(DISTINCT n.job || ' ' || n.truss, ', ' ORDER BY n.job || ' ' || n.truss) AS all_trusses,
        bool_or(n.size = m.size AND n.species = m.species) AS size_is_there,
        bool_or(n.size = m.size AND n.species = m.species AND n.grade = m.grade) AS grade_is_there,
        string_agg(DISTINCT n.grade, ', ' ORDER BY n.grade) FILTER (WHERE n.size = m.size AND n.species = m.species) AS grades
    FROM unlike AS m
    JOIN meant AS n USING (alike_id)
    GROUP BY m.alike_id
),
judged AS (
    SELECT
        m.move_id, m.moved_on, f.jobs, m.batch, m.station, m.size, m.species, m.grade,
        CASE WHEN NOT f.size_is_there THEN NULL ELSE coalesce(m.for_grade, f.grades) END AS specified,
        CASE WHEN NOT f.size_is_there THEN f.all_trusses ELSE coalesce(f.meant_trusses, f.all_trusses) END AS trusses,
        -m.boards AS boards, -m.boards * wood(m.size, m.length_16ths * 4) AS wood,
        NOT f.size_is_there AS other_size,
        u.place AS used_place, s.place AS specified_place, m.import_id, m.import_line, m.length_16ths
    FROM steps.board_moves AS m
    JOIN moved AS v USING (move_id)
    JOIN fitting AS f
        ON f.unit_kind = v.unit_kind AND f.unit = v.unit AND f.job IS NOT DISTINCT FROM v.job AND f.size = v.size AND f.species = v.species
        AND f.grade = v.grade AND f.for_grade IS NOT DISTINCT FROM v.for_grade
    LEFT JOIN grade_order AS u ON u.species = m.species AND u.grade = m.grade
    LEFT JOIN grade_order AS s ON s.species = m.species AND s.grade = coalesce(m.for_grade, f.grades)
    WHERE (NOT f.size_is_there OR m.for_grade IS NOT NULL AND m.for_grade <> m.grade OR m.for_grade IS NULL AND NOT f.grade_is_there)
),
-- What both grades cost by the quoting price of the day, else by what they last cost.
used_price AS (
    SELECT j.move_id, coalesce(q.usd_per_mbf, l.usd_per_mbf) AS usd_per_mbf
    FROM judged AS j
    ASOF LEFT JOIN (SELECT * FROM lumber_prices WHERE length_16ths IS NULL) AS q ON q.size = j.size AND q.species = j.species AND q.grade = j.grade AND j.moved_on >= q.effective_on
    ASOF LEFT JOIN (SELECT size, species, grade, moved_on, max(priced_e4) / 10000 AS usd_per_mbf FROM steps.board_moves WHERE priced_e4 IS NOT NULL GROUP BY ALL) AS l
        ON l.size = j.size AND l.species = j.species AND l.grade = j.grade AND j.moved_on >= l.moved_on
),
specified_price AS (
    SELECT j.move_id, coalesce(q.usd_per_mbf, l.usd_per_mbf) AS usd_per_mbf
    FROM judged AS j
    ASOF LEFT JOIN (SELECT * FROM lumber_prices WHERE length_16ths IS NULL) AS q ON q.size = j.size AND q.species = j.species AND q.grade = j.specified AND j.moved_on >= q.effective_on
    ASOF LEFT JOIN (SELECT size, species, grade, moved_on, max(priced_e4) / 10000 AS usd_per_mbf FROM steps.board_moves WHERE priced_e4 IS NOT NULL GROUP BY ALL) AS l
        ON l.size = j.size AND l.species = j.species AND l.grade = j.specified AND j.moved_on >= l.moved_on
)
SELECT
    j.*,
    CASE WHEN j.other_size THEN 'size' WHEN j.used_place < j.specified_place THEN 'above' WHEN j.used_place > j.specified_place THEN 'below' ELSE 'unlisted' END AS verdict,
    (round(p.usd_per_mbf * 10000))::BIGINT AS used_e4, (round(s.usd_per_mbf * 10000))::BIGINT AS specified_e4
FROM judged AS j
LEFT JOIN used_price AS p USING (move_id)
LEFT JOIN specified_price AS s USING (move_id);
COMMENT ON TABLE steps.substitutions IS 'boards of another grade or size than the design''s; verdict above is given away, every other is a question for the truss designer';
