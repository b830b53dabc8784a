-- The place of a row in its book, as a link column names it: the sheet, and a text of the row
-- unless that is too long for a cell.
CREATE OR REPLACE TEMP MACRO row_of(sheet, row_text) AS CASE WHEN length(row_text) <= 40 THEN concat(sheet, ': ', row_text) ELSE sheet END;
