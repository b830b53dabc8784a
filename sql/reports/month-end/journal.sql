-- sheet:  journal
-- title:  Journal, a draft for the accountant
-- reader: accountant
-- grain:  one row per entry, account and source
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: entry      | Entry    | count | -   | number of the entry within the period
-- column: memo       | What     | text  | -   | what the entry books
-- column: account    | Account  | text  | -   | account by its name in plant.toml
-- column: code       | Code     | text  | -   | the plant's code for it; blank where plant.toml names none
-- column: debit_usd  | Debit    | usd   | sum | dollars
-- column: credit_usd | Credit   | usd   | sum | dollars
-- column: source     | Source   | text  | -   | ledger or feed that the figure is read from
-- column: rows       | Rows     | count | -   | rows of the source in it
-- note:   A draft for the plant's accountant, who has the last word on accounts and timing. Each entry balances to the cent.
-- note:   Billing goes to customer deposits and revenue comes from it: what is left there above 0 is billed beyond earned, below 0 earned beyond billed; wip_rollforward says both by job.
-- sort:   entry, debits first, account
WITH lines AS (
    -- Entries that the period has, numbered without gaps.
    SELECT dense_rank() OVER (ORDER BY j.entry) AS number, j.memo, j.account, j.source, j.cents, j.rows
    FROM journal_lines($from::DATE, $until::DATE) AS j
)
SELECT
    l.number::BIGINT AS entry,
    l.memo::VARCHAR AS memo,
    replace(l.account, '_', ' ')::VARCHAR AS account,
    a.code::VARCHAR AS code,
    CASE WHEN l.cents > 0 THEN cents_to_usd(l.cents) END::DECIMAL(18,2) AS debit_usd,
    CASE WHEN l.cents < 0 THEN cents_to_usd(-l.cents) END::DECIMAL(18,2) AS credit_usd,
    l.source::VARCHAR AS source,
    l.rows::BIGINT AS rows
FROM lines AS l
LEFT JOIN accounts AS a ON a.name = l.account
ORDER BY l.number, l.cents < 0, l.account, l.source;
