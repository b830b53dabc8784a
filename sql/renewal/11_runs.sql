-- Runs with a row that is renewed, or that is gone.
-- grain: one run
CREATE OR REPLACE TEMP TABLE renewed_runs AS
SELECT run_key FROM steps.run_rows WHERE run_row_id > kept_run_rows
UNION
SELECT run_key_of(station, batch, job, truss, remake) FROM history.completions WHERE superseded_by IN (SELECT import_id FROM new_imports);

SET VARIABLE first_run_row = (SELECT coalesce(min(r.run_row_id), 0) FROM steps.run_rows AS r SEMI JOIN renewed_runs AS n ON n.run_key = r.run_key);
