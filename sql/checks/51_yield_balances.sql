-- Boards issued less returned are parts, kerf, trim, offcut, recut, cull and unexplained.
-- grain: one yield unit, size, species and grade whose identity doesn't hold
SELECT 'error' AS severity, 'the waste identity does not hold' AS reason,
    concat(y.unit_kind, ' ', y.unit, ' ', y.size, ' ', y.species, ' ', y.grade) AS keys, NULL AS file_name, NULL::BIGINT AS line
FROM steps.yields AS y
WHERE y.issued - y.returned <> y.parts + y.kerf + y.trim_ends + y.offcut + y.recut + y.cull + y.unexplained
ORDER BY keys;
