-- sheet:  corrections
-- title:  Corrections of closed months
-- reader: accountant
-- grain:  one row per closed month, class, job or pool that something posted in the period corrects
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: closed_month   | Closed month | text | -   | the month that the corrected postings belong to
-- column: class          | Class        | text | -   | cost class, revenue or billing
-- column: job            | Job or pool  | text | -   | whose postings they are
-- column: reported_usd   | As first reported | usd | sum | in that month's books as they were closed
-- column: before_usd     | Corrected before | usd | sum | in later months, before this period
-- column: correction_usd | Correction   | usd  | sum | posted in this period
-- column: now_usd        | Now          | usd  | reported_usd + before_usd + correction_usd | as it would be reported today
-- column: from_file      | From         | text | -   | files of the rows that brought it
-- note:   Closed books stay as they are: late receipts, corrected punches, credits and back-dated raises of a closed month are posted on the first open day and keep their own day.
-- sort:   closed month, class, job or pool
WITH keyed AS (
    SELECT d.*, strftime(d.original_on, '%Y-%m') AS closed_month, coalesce(d.job, d.pool) AS whose, d.posted_on <> d.original_on AS is_correction
    FROM dollar_ledger AS d
    WHERE d.posted_on < $until::DATE AND d.original_on < (SELECT max(until_on) FROM closed_months)
),
summed AS (
    SELECT
        k.closed_month, k.class, k.whose,
        coalesce(sum(CASE WHEN NOT k.is_correction THEN k.usd END), 0) AS reported,
        coalesce(sum(CASE WHEN k.is_correction AND k.posted_on < $from::DATE THEN k.usd END), 0) AS before,
        coalesce(sum(CASE WHEN k.is_correction AND k.posted_on >= $from::DATE THEN k.usd END), 0) AS correction,
        count(*) FILTER (WHERE k.is_correction AND k.posted_on >= $from::DATE) AS rows,
        string_agg(DISTINCT i.file_name, ', ' ORDER BY i.file_name) FILTER (WHERE k.is_correction AND k.posted_on >= $from::DATE) AS files
    FROM keyed AS k
    LEFT JOIN imports AS i ON i.import_id = k.import_id
    GROUP BY k.closed_month, k.class, k.whose
)
SELECT
    s.closed_month::VARCHAR AS closed_month,
    s.class::VARCHAR AS class,
    s.whose::VARCHAR AS job,
    s.reported::DECIMAL(18,2) AS reported_usd,
    s.before::DECIMAL(18,2) AS before_usd,
    s.correction::DECIMAL(18,2) AS correction_usd,
    (s.reported + s.before + s.correction)::DECIMAL(18,2) AS now_usd,
    s.files::VARCHAR AS from_file
FROM summed AS s
WHERE s.rows > 0
ORDER BY s.closed_month, s.class, s.whose;
