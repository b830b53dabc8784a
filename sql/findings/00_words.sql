-- The place of a row in its book, as a link column names it: the sheet, and a text of the row
-- unless that is too long for a cell.
CREATE OR REPLACE TEMP MACRO row_of(sheet, row_text) AS CASE WHEN length(row_text) <= 40 THEN concat(sheet, ': ', row_text) ELSE sheet END;

-- A figure with one decimal, and a share in per cent, as the cells of the sheets show them:
-- halves go away from zero.
CREATE OR REPLACE TEMP MACRO tenths(x) AS round((x)::DECIMAL(18,6), 1)::DECIMAL(18,1)::VARCHAR;
CREATE OR REPLACE TEMP MACRO pct(share) AS tenths(100 * (share)::DECIMAL(18,6));
