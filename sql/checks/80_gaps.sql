-- What the plant's records leave out is named, with what stands in for it.
-- No fault: nothing is out of balance, and each figure that it touches is labelled.
-- grain: one gap and what comes of it
SELECT
    'info' AS severity, g.gap AS reason,
    concat(g.effect, ' (',
        concat_ws(', ', concat(sum(g.rows)::BIGINT, CASE WHEN sum(g.rows) = 1 THEN ' row' ELSE ' rows' END),
            CASE WHEN sum(g.seconds) IS NOT NULL THEN concat(seconds_to_min(sum(g.seconds)::BIGINT), ' people-minutes') END,
            CASE WHEN sum(g.usd) IS NOT NULL THEN concat(sum(g.usd)::DECIMAL(18,2), ' USD') END,
            CASE WHEN min(g.on_day) IS NOT NULL THEN concat(min(g.on_day), CASE WHEN max(g.on_day) > min(g.on_day) THEN concat(' to ', max(g.on_day)) END) END),
        ')') AS keys,
    arg_min(g.file_name, (g.on_day, g.file_name, g.line)) AS file_name, arg_min(g.line, (g.on_day, g.file_name, g.line)) AS line
FROM gaps AS g
GROUP BY g.code, g.gap, g.effect
ORDER BY g.code, g.effect;
