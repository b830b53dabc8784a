-- grain: one job whose list of trusses or parts is new or another
CREATE OR REPLACE TEMP TABLE listed_jobs AS
SELECT job FROM trusses WHERE import_id IN (SELECT import_id FROM new_imports)
UNION SELECT job FROM history.trusses WHERE superseded_by IN (SELECT import_id FROM new_imports)
UNION SELECT job FROM cut_pieces WHERE import_id IN (SELECT import_id FROM new_imports)
UNION SELECT job FROM history.cut_pieces WHERE superseded_by IN (SELECT import_id FROM new_imports);
