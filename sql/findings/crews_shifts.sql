-- What the owner reads first, in sentences, each with the place that it is read from (a sheet,
-- and a text of its row). Pace never stands alone: quality is among the first. A place lower
-- than 40 is a finding.
-- grain: one finding
CREATE OR REPLACE TEMP MACRO crews_shifts_findings(from_day, until_day) AS TABLE
WITH minutes AS (
    SELECT
        sum(m.seconds) AS paid,
        sum(CASE WHEN m.use = 'waiting' THEN m.seconds ELSE 0 END) AS waiting,
        sum(CASE WHEN m.use = 'setup' THEN m.seconds ELSE 0 END) AS setup,
        sum(CASE WHEN m.use IN ('setup', 'build') THEN m.seconds ELSE 0 END) AS runs
    FROM minute_ledger AS m
    WHERE m.work_date >= from_day AND m.work_date < until_day
),
crews AS (
    SELECT c.*
    FROM temp.comparisons AS c
    WHERE c.scope = 'crew'
),
passed AS (
    SELECT
        sum(CASE WHEN r.finished_on >= from_day THEN r.not_first_pass END) AS lost, sum(CASE WHEN r.finished_on >= from_day THEN r.trusses END) AS trusses,
        sum(CASE WHEN r.finished_on < from_day THEN r.not_first_pass END) AS lost_before, sum(CASE WHEN r.finished_on < from_day THEN r.trusses END) AS trusses_before
    FROM steps.first_pass AS r
    WHERE r.finished_on >= from_day - 91 AND r.finished_on < until_day
)
SELECT
    30 AS place, 'crews' AS item,
    concat('for the same mix of trusses ', string_agg(concat(c.name, ' took ', pct(abs(c.ratio - 1)), CASE WHEN c.ratio > 1 THEN ' % more' ELSE ' % fewer' END,
        ' minutes than the others (95 %: ', pct(c.low_ratio - 1), ' to ', pct(c.high_ratio - 1), ' %)'), ', ' ORDER BY c.name),
        '; as they stand, ', string_agg(concat(c.name, ' ', tenths(c.raw_min), ' against ', tenths(c.other_raw_min)), ', ' ORDER BY c.name), ' minutes a truss compare nothing') AS detail,
    'like_for_like' AS sheet_row, NULL::BIGINT AS rows, NULL::DECIMAL(18,2) AS people_min, NULL::DECIMAL(18,2) AS amount_usd
FROM crews AS c
WHERE c.verdict = 'different'
HAVING count(*) > 0
UNION ALL
SELECT 30, 'crews', 'no crew is shown to differ from the others, like for like', 'like_for_like', count(*), NULL, NULL
FROM crews AS c
HAVING count(*) > 1 AND count(*) FILTER (WHERE c.verdict = 'different') = 0
UNION ALL
SELECT
    31, 'inspections', concat(count(*) FILTER (WHERE w.inspected < w.required), ' of ', count(*), ' tables and shifts had fewer than three trusses inspected in a week (ANSI/TPI 1 chapter 3)'),
    'quality_and_safety: inspections', count(*) FILTER (WHERE w.inspected < w.required), NULL, NULL
FROM steps.inspection_weeks AS w
WHERE w.workweek_start + 6 >= from_day AND w.workweek_start + 6 < until_day
    AND EXISTS (SELECT 1 FROM imports WHERE feed = 'inspections' AND undone_utc IS NULL)
HAVING count(*) FILTER (WHERE w.inspected < w.required) > 0
UNION ALL
SELECT
    32, 'first pass', concat(pct(share_of(f.trusses - f.lost, f.trusses)), ' % of trusses were neither made again nor failed (', f.trusses - f.lost, ' of ', f.trusses, ')',
        CASE WHEN f.trusses_before > 0 THEN concat('; ', pct(share_of(f.trusses_before - f.lost_before, f.trusses_before)), ' % in the thirteen weeks before (', f.trusses_before - f.lost_before, ' of ', f.trusses_before, ')') END, '. Small numbers move by chance'),
    'quality_and_safety: first pass', f.lost, NULL, NULL
FROM passed AS f
WHERE f.trusses > 0
UNION ALL
(SELECT
    CASE WHEN c.verdict = 'found' THEN 33 ELSE 37 END, concat('change ', c.code),
    CASE WHEN c.verdict = 'found'
        THEN concat(c.measure, ' takes ', pct(abs(c.effect_pct)), CASE WHEN c.effect_pct < 0 THEN ' % less' ELSE ' % more' END, ' since (95 %: ', pct(c.low_pct), ' to ', pct(c.high_pct),
            ' %); the amount is a year''s worth', CASE WHEN c.payback_years IS NOT NULL THEN concat(', it pays back in ', tenths(c.payback_years), ' years') ELSE '' END)
        ELSE CASE c.verdict WHEN 'not shown' THEN 'no effect is shown' ELSE concat('nothing can be said of it: ', c.verdict) END END,
    row_of('change_study', c.code), NULL, CASE WHEN c.verdict = 'found' THEN c.year_min END, CASE WHEN c.verdict = 'found' THEN c.year_usd END
FROM temp.change_studies AS c
-- Of a change's measures the one that shows most: set-up before build before both.
QUALIFY row_number() OVER (PARTITION BY c.code ORDER BY c.verdict = 'found' DESC, c.place) = 1)
UNION ALL
SELECT 34, t.measure, concat(t.signal, ' (', t.workweek, ')'), row_of('trend', t.measure), NULL, NULL, NULL
FROM temp.trend_points AS t
WHERE t.signal IS NOT NULL AND t.mean IS NOT NULL AND t.workweek_start + 7 = until_day
UNION ALL
SELECT
    35, 'waiting', concat(pct(share_of(waiting, paid)), ' % of paid minutes were direct people waiting with no run open'),
    'minutes_accounted', NULL, seconds_to_min(waiting::BIGINT), NULL
FROM minutes
WHERE paid > 0
UNION ALL
SELECT
    36, 'set-up', concat(pct(share_of(setup, runs)), ' % of the minutes on runs were recorded set-up; read pace with quality, inspections and injuries'),
    'minutes_accounted', NULL, seconds_to_min(setup::BIGINT), NULL
FROM minutes
WHERE runs > 0;
