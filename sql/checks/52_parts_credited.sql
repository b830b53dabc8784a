-- The wood of the parts cut is credited to boards exactly once.
-- grain: one yield unit whose credited parts differ from the parts cut
WITH cut AS (
    SELECT u.unit_kind, u.unit, sum(p.wood * c.quantity) AS wood
    FROM steps.cut_units AS u
    JOIN steps.cut_rows AS c USING (run_row_id)
    JOIN steps.truss_parts AS p ON p.job = c.job AND p.truss = c.truss
    GROUP BY ALL
),
credited AS (
    SELECT unit_kind, unit, sum(parts) AS wood FROM steps.yields GROUP BY ALL
)
SELECT 'error' AS severity, 'parts cut and parts credited differ' AS reason, concat(cut.unit_kind, ' ', cut.unit) AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM cut
LEFT JOIN credited AS k ON k.unit_kind = cut.unit_kind AND k.unit = cut.unit
WHERE coalesce(cut.wood, 0) <> coalesce(k.wood, 0)
ORDER BY keys;
