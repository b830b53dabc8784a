-- What is in one truss, by its cut list or, without one, by its design board feet.

-- grain: one truss mark and design size, species and grade
-- renewed: job IN (SELECT job FROM listed_jobs)
-- reads: trusses where job IN (SELECT job FROM listed_jobs)
-- reads: cut_pieces where job IN (SELECT job FROM listed_jobs)
CREATE OR REPLACE TABLE steps.truss_parts AS
SELECT
    t.job, t.truss, c.size, c.species, c.grade,
    sum(wood(c.size, c.length_16ths * 4) * c.pieces_per_ply * t.plies)::BIGINT AS wood,
    sum(c.pieces_per_ply * t.plies)::BIGINT AS pieces
FROM trusses AS t
JOIN cut_pieces AS c ON c.job = t.job AND c.truss = t.truss
GROUP BY t.job, t.truss, c.size, c.species, c.grade;
COMMENT ON TABLE steps.truss_parts IS 'wood and pieces in one truss, all plies';

-- grain: one truss mark
CREATE OR REPLACE TABLE steps.truss_wood AS
SELECT
    t.job, t.truss, t.quoted_setup_min, t.quoted_build_min,
    coalesce(p.wood, (t.design_bf * 10000)::BIGINT * 147456 // 10000)::BIGINT AS wood,
    CASE WHEN p.job IS NOT NULL THEN 'cut list' WHEN t.design_bf > 0 THEN 'design board feet' END AS basis
FROM trusses AS t
LEFT JOIN (SELECT job, truss, sum(wood)::BIGINT AS wood FROM steps.truss_parts GROUP BY job, truss) AS p ON p.job = t.job AND p.truss = t.truss;
COMMENT ON TABLE steps.truss_wood IS 'wood in one truss, all plies; without a cut list by trusses.design_bf, and NULL where that is unknown too';
