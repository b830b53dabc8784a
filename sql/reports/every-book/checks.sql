-- sheet:  checks
-- title:  Checks
-- reader: everyone
-- grain:  one row per control over everything that was read
-- param:  book VARCHAR  name of the book
-- column: control    | Control    | text   | - | what is proved
-- column: against    | Against    | text   | - | what it is held against
-- column: unit       | Unit       | text   | - | of the three figures
-- column: expected   | Expected   | number | - | figure of the source
-- column: actual     | Actual     | number | - | figure of the ledger
-- column: difference | Difference | number | - | actual less expected
-- column: result     | Result     | text   | - | PASS; FAIL: the books don't balance; LOOK: something for a person, and no balance is touched; LESS: something that the plant doesn't record, of which the front sheet says what stands in for it
-- emphasis: result | word | FAIL
-- note:   Gross pay is shown in the accountant's book alone; elsewhere only its difference.
-- note:   A control that fails is the first line of the front sheet. Differences are named, never spread or plugged.
-- sort:   as listed
WITH counted AS (
    SELECT c.place, c.check_name, c.purpose, c.severity, c.wrong_rows
    FROM check_results AS c
),
rows AS (
    -- The plant's payroll stands in the accountant's book alone; the others see that it ties.
    SELECT t.place, t.control, t.against, t.unit,
        CASE WHEN t.control NOT LIKE 'gross pay%' OR $book::VARCHAR = 'month-end' THEN t.expected END AS expected,
        CASE WHEN t.control NOT LIKE 'gross pay%' OR $book::VARCHAR = 'month-end' THEN t.actual END AS actual,
        t.actual - t.expected AS difference,
        CASE WHEN t.actual IS DISTINCT FROM t.expected THEN 'FAIL' ELSE 'PASS' END AS result
    FROM tie_outs AS t
    UNION ALL
    SELECT 1000 + c.place, c.purpose, 'rows that are wrong', 'rows', 0, c.wrong_rows, c.wrong_rows,
        CASE WHEN c.wrong_rows = 0 THEN 'PASS' WHEN c.severity = 'error' THEN 'FAIL' WHEN c.severity = 'info' THEN 'LESS' ELSE 'LOOK' END
    FROM counted AS c
)
SELECT
    r.control::VARCHAR AS control,
    r.against::VARCHAR AS against,
    r.unit::VARCHAR AS unit,
    r.expected::DECIMAL(18,2) AS expected,
    r.actual::DECIMAL(18,2) AS actual,
    r.difference::DECIMAL(18,2) AS difference,
    r.result::VARCHAR AS result
FROM rows AS r
ORDER BY r.place, r.control;
