-- sheet:  files
-- title:  Files read
-- reader: everyone
-- grain:  one row per file that was read and is in force, in the order of reading
-- column: import_number | Import    | line  | -   | number of the import
-- column: file          | File      | text  | -   | name as it came; its copy in archive/ has the SHA-256 for a name
-- column: feed          | Feed      | text  | -   | what its rows are
-- column: lines         | Rows      | count | sum | rows after the heading
-- column: accepted      | Taken     | count | sum | rows that went in
-- column: rejected      | Refused   | count | sum | rows with a mistake, or held back with one
-- column: still_refused | Still refused | count | sum | of those refused, rows that no later file has mended
-- column: blank         | Blank     | count | sum | rows without a value
-- column: aside         | No rows   | count | sum | footers, subtotals and remarks, as plant.toml names them
-- column: rows_new      | New       | count | sum | rows that the warehouse did not have
-- column: rows_changed  | Changed   | count | sum | rows that took the place of an old one
-- column: rows_unchanged | Unchanged | count | sum | rows known already
-- column: rows_removed  | Removed   | count | sum | rows that the file's groups no longer have
-- column: first_on      | From      | on    | -   | first date in it
-- column: last_on       | To        | on    | -   | last date in it
-- column: sha256        | SHA-256   | text  | -   | fingerprint of the file as it came
-- sort:   import
SELECT
    i.import_id::BIGINT AS import_number,
    i.file_name::VARCHAR AS file,
    i.feed::VARCHAR AS feed,
    i.lines::BIGINT AS lines,
    i.accepted::BIGINT AS accepted,
    i.rejected::BIGINT AS rejected,
    coalesce(o.rows, 0)::BIGINT AS still_refused,
    i.blank::BIGINT AS blank,
    i.aside::BIGINT AS aside,
    i.rows_new::BIGINT AS rows_new,
    i.rows_changed::BIGINT AS rows_changed,
    i.rows_unchanged::BIGINT AS rows_unchanged,
    i.rows_removed::BIGINT AS rows_removed,
    i.first_on::DATE AS first_on,
    i.last_on::DATE AS last_on,
    i.sha256::VARCHAR AS sha256
FROM imports AS i
LEFT JOIN (SELECT import_id, count(*) AS rows FROM refused_rows WHERE state = 'open' GROUP BY import_id) AS o ON o.import_id = i.import_id
WHERE i.undone_utc IS NULL
ORDER BY i.import_id;
