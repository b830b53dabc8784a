-- Batches (else jobs, else station days) whose boards or cuts are renewed, with all their rows.

-- grain: one batch and job of renewed boards and cuts
CREATE OR REPLACE TEMP TABLE renewed_work AS
SELECT DISTINCT job, batch FROM steps.board_moves WHERE move_id > kept_board_moves AND feed = 'lumber_usage'
UNION
SELECT DISTINCT job, batch FROM steps.run_rows WHERE run_row_id > kept_run_rows
UNION
SELECT DISTINCT job, batch FROM history.completions WHERE superseded_by IN (SELECT import_id FROM new_imports)
UNION
SELECT DISTINCT job, batch FROM history.lumber_usage WHERE superseded_by IN (SELECT import_id FROM new_imports);

-- grain: one row of cut_rows that may belong to another of them now
CREATE OR REPLACE TEMP TABLE renewed_rows AS
SELECT c.run_row_id, c.batch, c.job, c.station, c.finished_on
FROM steps.cut_rows AS c
WHERE c.run_row_id > kept_run_rows OR c.batch IN (SELECT batch FROM renewed_work) OR c.job IN (SELECT job FROM renewed_work);

-- grain: one batch, job or station day
CREATE OR REPLACE TEMP TABLE renewed_units AS
SELECT 'batch' AS unit_kind, batch AS unit FROM renewed_work WHERE batch IS NOT NULL
UNION SELECT 'job', job FROM renewed_work WHERE job IS NOT NULL
UNION SELECT 'batch', batch FROM renewed_rows WHERE batch IS NOT NULL
UNION SELECT 'job', job FROM renewed_rows
UNION SELECT 'station day', station || ' ' || finished_on::VARCHAR FROM renewed_rows
UNION SELECT u.unit_kind, u.unit FROM steps.usage_units AS u WHERE u.move_id > kept_board_moves
UNION SELECT y.unit_kind, y.unit FROM steps.yield_units AS y WHERE coalesce(y.cut_on >= since, true) OR coalesce(y.used_on >= since, true);

-- grain: one movement of such a batch
CREATE OR REPLACE TEMP TABLE renewed_moves AS
SELECT u.move_id FROM steps.usage_units AS u SEMI JOIN renewed_units AS n ON n.unit_kind = u.unit_kind AND n.unit = u.unit;

-- grain: one cut row of such a batch
CREATE OR REPLACE TEMP TABLE renewed_cuts AS
SELECT u.run_row_id FROM steps.cut_units AS u SEMI JOIN renewed_units AS n ON n.unit_kind = u.unit_kind AND n.unit = u.unit;
