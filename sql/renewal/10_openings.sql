-- What the days before the first renewed one hand on, from the rows that are kept.

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
