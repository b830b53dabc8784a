-- a parameter that nothing fills
SELECT job FROM jobs WHERE job = $jbo ORDER BY job
-- a parameter by position
SELECT job FROM jobs WHERE job = ? ORDER BY job
-- two SELECTs
SELECT 1; SELECT 2
-- a SELECT and a change
SELECT 1; DROP TABLE jobs
-- a change and a SELECT
DELETE FROM jobs; SELECT 1
-- DESCRIBE
DESCRIBE jobs
-- DESCRIBE inside
SELECT * FROM (DESCRIBE wages) ORDER BY 1
-- SUMMARIZE
SUMMARIZE wages
-- SUMMARIZE inside
SELECT * FROM (SUMMARIZE wages) ORDER BY 1
-- SHOW
SHOW TABLES
-- SHOW inside
SELECT * FROM (SHOW ALL TABLES) ORDER BY 1
-- PRAGMA
PRAGMA database_list
-- CALL
CALL pragma_database_size()
-- EXPLAIN
EXPLAIN ANALYZE SELECT * FROM wages
-- nothing
-- ATTACH
ATTACH 'a.duckdb' AS other
-- DETACH
DETACH plant
-- COPY to a file
COPY jobs TO 'out.csv'
-- COPY of a SELECT
COPY (SELECT * FROM wages) TO 'out.csv'
-- COPY from a file
COPY jobs FROM 'a.csv'
-- EXPORT
EXPORT DATABASE 'out'
-- IMPORT
IMPORT DATABASE 'out'
-- INSTALL
INSTALL httpfs
-- LOAD
LOAD httpfs
-- SET
SET enable_external_access = true
-- RESET
RESET memory_limit
-- SET VARIABLE
SET VARIABLE x = 1
-- USE
USE memory
-- CREATE
CREATE TABLE x AS SELECT 1
-- CREATE TEMP VIEW
CREATE TEMP VIEW x AS SELECT * FROM wages
-- CREATE MACRO
CREATE MACRO w() AS TABLE SELECT * FROM wages
-- CREATE SECRET
CREATE SECRET s (TYPE http)
-- INSERT
INSERT INTO jobs (job) VALUES ('J9')
-- UPDATE
UPDATE jobs SET job = 'J9'
-- INSERT in a WITH
WITH x AS (INSERT INTO jobs (job) VALUES ('J9') RETURNING job) SELECT * FROM x
-- MERGE
MERGE INTO jobs USING trusses ON jobs.job = trusses.job WHEN MATCHED THEN DELETE
-- DROP
DROP TABLE jobs
-- ALTER
ALTER TABLE jobs ADD COLUMN x INTEGER
-- CHECKPOINT
CHECKPOINT
-- VACUUM
VACUUM
-- BEGIN
BEGIN
-- PREPARE
PREPARE p AS SELECT 1
-- EXECUTE
EXECUTE p
-- a file in place of a table
SELECT * FROM 'a.csv' ORDER BY 1
-- a file in double quotes
SELECT * FROM "a.csv" ORDER BY 1
-- a Parquet file
SELECT * FROM 'archive/x.parquet' ORDER BY 1
-- a JSON file
SELECT * FROM './a.json' ORDER BY 1
-- a pattern of files
SELECT * FROM '*.csv' ORDER BY 1
-- another database's file
SELECT * FROM 'plant.duckdb' ORDER BY 1
-- an address
SELECT * FROM 'https://example.org/a.csv' ORDER BY 1
-- a bucket, whose extension would be loaded
SELECT * FROM 's3://bucket/a.parquet' ORDER BY 1
-- read_text
SELECT * FROM read_text('plant.toml') ORDER BY 1
-- read_blob
SELECT * FROM read_blob('plant.toml') ORDER BY 1
-- glob
SELECT * FROM glob('*') ORDER BY 1
-- read_csv
SELECT * FROM read_csv('a.csv') ORDER BY 1
-- read_csv_auto
SELECT * FROM read_csv_auto('a.csv') ORDER BY 1
-- READ_CSV in capitals and quotes
SELECT * FROM "READ_CSV"('a.csv') ORDER BY 1
-- a reader with its schema
SELECT * FROM system.main.read_csv('a.csv') ORDER BY 1
-- sniff_csv
SELECT * FROM sniff_csv('a.csv') ORDER BY 1
-- read_json
SELECT * FROM read_json('a.json') ORDER BY 1
-- read_ndjson_objects
SELECT * FROM read_ndjson_objects('a.json') ORDER BY 1
-- read_parquet
SELECT * FROM read_parquet('a.parquet') ORDER BY 1
-- parquet_scan
SELECT * FROM parquet_scan('a.parquet') ORDER BY 1
-- parquet_metadata
SELECT * FROM parquet_metadata('a.parquet') ORDER BY 1
-- read_duckdb
SELECT * FROM read_duckdb('plant.duckdb') ORDER BY 1
-- a reader within a subquery of a column
SELECT (SELECT content FROM read_text('plant.toml')) AS x ORDER BY 1
-- a function of an extension
SELECT * FROM st_read('a.shp') ORDER BY 1
-- a function of another extension
SELECT st_point(1, 2) AS x ORDER BY 1
-- getenv
SELECT getenv('HOME') AS x ORDER BY 1
-- query()
SELECT * FROM query('SELECT * FROM wages') ORDER BY 1
-- query_table()
SELECT * FROM query_table('wages') ORDER BY 1
-- query_table() with a list
SELECT * FROM query_table(['wages', 'jobs']) ORDER BY 1
-- serialised SQL
SELECT * FROM json_execute_serialized_sql(json_serialize_sql('SELECT * FROM wages')) ORDER BY 1
-- serialised SQL as text
SELECT * FROM json_execute_serialized_sql('{}') ORDER BY 1
-- serialising
SELECT json_serialize_sql('SELECT 1') AS x ORDER BY 1
-- the plan of a SELECT
SELECT json_serialize_plan('SELECT * FROM wages') AS x ORDER BY 1
-- seq_scan
SELECT * FROM seq_scan('wages') ORDER BY 1
-- logging to a file
SELECT * FROM enable_logging(storage = 'file', storage_config = {'path': 'log'}) ORDER BY 1
-- profiling
SELECT * FROM enable_profiling() ORDER BY 1
-- the log
SELECT * FROM duckdb_logs ORDER BY 1
-- writing a log
SELECT write_log('x') AS x ORDER BY 1
-- settings
SELECT * FROM duckdb_settings() ORDER BY 1
-- one setting
SELECT current_setting('temp_directory') AS x ORDER BY 1
-- a variable
SELECT getvariable('x') AS x ORDER BY 1
-- secrets
SELECT * FROM duckdb_secrets() ORDER BY 1
-- which secret
SELECT * FROM which_secret('s3://x', 's3') ORDER BY 1
-- databases with their paths
SELECT * FROM duckdb_databases() ORDER BY 1
-- pragma_database_size
SELECT * FROM pragma_database_size() ORDER BY 1
-- lowest and highest wage by the storage
SELECT * FROM pragma_storage_info('wages') ORDER BY 1
-- columns of a table of pay
SELECT * FROM pragma_table_info('wages') ORDER BY 1
-- a sample kept by the engine
SELECT * FROM duckdb_table_sample('wages') ORDER BY 1
-- the engine's tables
SELECT * FROM duckdb_tables ORDER BY 1
-- information_schema
SELECT * FROM information_schema.columns ORDER BY 1
-- pg_catalog
SELECT * FROM pg_catalog.pg_views ORDER BY 1
-- sqlite_master
SELECT * FROM sqlite_master ORDER BY 1
-- lowest and highest of a column by the engine's statistics
SELECT stats(price_usd) AS x FROM jobs ORDER BY 1
-- waiting
SELECT pg_sleep(100) AS x ORDER BY 1
-- waiting in thousandths
SELECT sleep_ms(100000) AS x ORDER BY 1
-- a message of one's own
SELECT error('x') AS x ORDER BY 1
-- a sequence
SELECT nextval('x') AS x ORDER BY 1
-- chance
SELECT random() AS x ORDER BY 1
-- wages
SELECT * FROM wages ORDER BY 1
-- wages without SELECT
FROM wages
-- TABLE wages
TABLE wages
-- wages in quotes and capitals
SELECT * FROM "WAGES" ORDER BY 1
-- wages with schema and catalog
SELECT * FROM "plant"."main"."Wages" ORDER BY 1
-- wages behind a remark
SELECT * FROM/**/wages ORDER BY 1
-- wages under another name
SELECT jobs.* FROM wages AS jobs ORDER BY 1
-- wages in a column
SELECT (SELECT max(w.rate_usd) FROM wages AS w) AS x ORDER BY 1
-- wages in a condition
SELECT job FROM jobs WHERE EXISTS (FROM wages WHERE salary_hours > 20) ORDER BY 1
-- wages in a sort
SELECT job FROM jobs ORDER BY (SELECT max(effective_on) FROM wages)
-- wages in a window
SELECT job, sum(1) FILTER (WHERE job IN (SELECT employee FROM wages)) OVER () AS x FROM jobs ORDER BY 1
-- wages in a WITH
WITH x AS MATERIALIZED (SELECT * FROM wages) SELECT count(*) AS x FROM x ORDER BY 1
-- wages in a recursive WITH
WITH RECURSIVE x AS (SELECT employee FROM wages UNION SELECT employee FROM x) SELECT * FROM x ORDER BY 1
-- wages in a pivot
SELECT * FROM (PIVOT wages ON role IN ('direct') USING sum(rate_usd)) ORDER BY 1
-- a pivot as a statement
PIVOT wages ON role USING sum(rate_usd)
-- wages in an unpivot
SELECT * FROM (UNPIVOT wages ON rate_usd) ORDER BY 1
-- wages sideways
SELECT x.* FROM jobs, LATERAL (SELECT max(employee) FROM wages) AS x ORDER BY 1
-- wages by position
SELECT #1 FROM wages ORDER BY 1
-- wages by a pattern of columns
SELECT COLUMNS('rate.*') FROM wages ORDER BY 1
-- wages hidden in one place of two
SELECT * FROM wages, (WITH wages AS (SELECT 1 AS x) SELECT * FROM wages) ORDER BY 1
-- a WITH named as a table of pay
WITH wages AS (SELECT 1 AS x) SELECT x FROM wages ORDER BY 1
-- letters that only look like those of wages
SELECT * FROM ｗages ORDER BY 1
-- a capital that folds to a letter
SELECT * FROM "pacKs" ORDER BY 1
-- the rate of timecards
SELECT rate_usd FROM timecards ORDER BY 1
-- timecards past the veil
SELECT * FROM main.timecards ORDER BY 1
-- timecards past the veil with the catalog
SELECT * FROM plant.main.timecards ORDER BY 1
-- timecards past the veil by the catalog alone
SELECT * FROM "PLANT".timecards ORDER BY 1
-- the rate in the whole row of timecards
SELECT t.rate_usd FROM (SELECT unnest(timecards) FROM timecards) AS t ORDER BY 1
-- the rate by a field of the row
SELECT timecards['rate_usd'] AS x FROM timecards ORDER BY 1
-- the dollar ledger past the veil
SELECT * FROM main.dollar_ledger ORDER BY 1
-- the payroll in all past the veil
SELECT * FROM plant.main.tie_outs ORDER BY 1
-- superseded wages
SELECT * FROM history.wages ORDER BY 1
-- superseded timecards
SELECT * FROM history."TIMECARDS" ORDER BY 1
-- punches with their rate
SELECT * FROM steps.punches ORDER BY 1
-- postings by employee
SELECT * FROM steps.labour_postings ORDER BY 1
-- labour of a job by day
SELECT * FROM steps.job_days ORDER BY 1
-- pay weeks
SELECT employee, gross_usd FROM pay_weeks ORDER BY 1
-- closed postings
SELECT * FROM closed_dollars ORDER BY 1
-- a macro that adds up pay
SELECT * FROM journal_lines(DATE '2026-03-01', DATE '2026-04-01') ORDER BY 1
-- a job's premium by itself
SELECT * FROM job_stock(DATE '2026-04-01') ORDER BY 1
-- the same, frozen
SELECT * FROM closed_job_stock ORDER BY 1
-- a macro in capitals
SELECT * FROM "JOURNAL_LINES"(DATE '2026-03-01', DATE '2026-04-01') ORDER BY 1
-- a macro of what a minute costs
SELECT * FROM minute_cost(DATE '2026-04-01') ORDER BY 1
-- a macro of pools
SELECT * FROM overhead_pools(DATE '2026-03-01', DATE '2026-04-01') ORDER BY 1
-- the crew of an incident
SELECT crew FROM incidents ORDER BY 1
-- the station of an incident past the veil
SELECT station FROM main.incidents ORDER BY 1
-- the crew of a superseded incident
SELECT crew FROM history.incidents ORDER BY 1
-- the program's own state
SELECT * FROM schema_versions ORDER BY 1
-- a table that isn't there
SELECT * FROM jbos ORDER BY 1
-- a recursion without end
WITH RECURSIVE x AS (SELECT 1 AS n UNION ALL SELECT n FROM x) SELECT count(*) AS x FROM x ORDER BY 1
-- a join of everything
SELECT count(*) AS x FROM range(1000000000) AS a, range(1000000000) AS b WHERE hash(a.range + b.range) = 1 ORDER BY 1
-- a range without end
SELECT count(DISTINCT range % 7) AS x FROM range(9000000000000) ORDER BY 1
-- a series without end
SELECT sum(s % 7) AS x FROM generate_series(1, 9000000000000) AS t(s) ORDER BY 1
-- a sort larger than the memory
SELECT max(x) AS x FROM (SELECT range AS x, hash(range) AS y FROM range(50000000) ORDER BY y LIMIT 40000000) ORDER BY 1
-- a list larger than the memory
SELECT len(list(range)) AS x FROM range(100000000) ORDER BY 1
-- a list in one call
SELECT len(range(0, 1000000000)) AS x ORDER BY 1
-- a series in one call
SELECT len(generate_series(0, 1000000000)) AS x ORDER BY 1
-- a text repeated
SELECT len(repeat('x', 4000000000)) AS x ORDER BY 1
-- a text padded
SELECT len(lpad('x', 2000000000, 'y')) AS x ORDER BY 1
-- a text padded by a column
SELECT len(rpad('x', price_usd::INTEGER * 1000000, 'y')) AS x FROM jobs ORDER BY 1
-- a wide format
SELECT len(format('{:>2000000000}', 1)) AS x ORDER BY 1
-- a width from an argument
SELECT len(printf('%*d', 2000000000, 1)) AS x ORDER BY 1
-- a format that isn't fixed
SELECT format(job, 1) AS x FROM jobs ORDER BY 1
