-- The dollars of one job by class, to date before a day. Billing is in no margin.
-- grain: one class of dollar_ledger
SELECT class, sum(usd)::DECIMAL(18,2) AS usd
FROM dollar_ledger
WHERE job = $job AND posted_on < $until::DATE AND class <> 'billing'
GROUP BY class
ORDER BY class;
