-- What the days before the first renewed one hand on, from the rows that are kept, and what is
-- renewed by more than its day.

INSERT INTO steps.opening_runs
SELECT r.run_key, max(r.finished_utc)
FROM steps.run_rows AS r
SEMI JOIN (
    SELECT run_key_of(station, batch, job, truss, remake) AS run_key
    FROM completions
    WHERE coalesce(finished_at::DATE, shift_date) >= since
) AS c ON c.run_key = r.run_key
WHERE r.finished_on < since
GROUP BY r.run_key;

INSERT INTO steps.opening_jobs
SELECT
    p.job,
    sum(CASE WHEN p.class = 'burden' THEN p.units ELSE 0 END)::HUGEINT,
    sum(CASE WHEN p.class = 'overhead_applied' THEN p.units ELSE 0 END)::HUGEINT
FROM steps.labour_postings AS p
SEMI JOIN (SELECT job FROM completions WHERE coalesce(finished_at::DATE, shift_date) >= since) AS c ON c.job = p.job
WHERE p.posted_on < since AND p.class IN ('burden', 'overhead_applied')
GROUP BY p.job;

INSERT INTO steps.opening_items
SELECT
    size, species, grade, length_16ths, min(moved_on),
    sum(CASE WHEN feed = 'counts' THEN 0 ELSE boards END)::BIGINT,
    sum(CASE WHEN feed = 'counts' THEN boards ELSE 0 END)::BIGINT,
    max(in_to), max(out_to),
    arg_max(CASE WHEN kind IN ('receipt', 'opening') THEN (usd_per_mbf * 10000)::BIGINT END, move_id),
    max(CASE WHEN kind IN ('receipt', 'opening') AND priced_e4 IS NOT NULL AND boards > 0 THEN move_id END)
FROM steps.board_moves
WHERE moved_on < since
GROUP BY size, species, grade, length_16ths;

-- grain: one return of a renewed day, and batch of its job
CREATE OR REPLACE TEMP TABLE returned_for AS
SELECT u.job, coalesce(u.batch, b.batch) AS batch, u.corrects, u.station
FROM lumber_usage AS u
LEFT JOIN (SELECT DISTINCT job, batch FROM completions WHERE batch IS NOT NULL) AS b ON b.job = u.job AND u.batch IS NULL
WHERE u.used_at::DATE >= since AND u.boards < 0
UNION
SELECT u.job, b.batch, NULL, NULL
FROM lumber_usage AS u
JOIN (SELECT DISTINCT job, batch FROM completions WHERE batch IS NOT NULL) AS b ON b.job = u.job
WHERE u.used_at::DATE >= since AND u.boards < 0;

-- What follows from rows of any day is held against what it was, by hashes of its rows.
-- grain: one job
CREATE OR REPLACE TEMP TABLE dollars_before AS
SELECT job, count(*) AS rows, sum(hash(d)::HUGEINT) AS hashes
FROM dollar_ledger AS d
WHERE moves_any_day(feed) AND job IS NOT NULL
GROUP BY job;
