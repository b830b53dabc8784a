-- The order of rows that nothing else orders. Which file brought a row must not matter, so it
-- is the order within the row's group: the line in the newest file that changed the group.

-- grain: one row that a newer file of its group left as it is
CREATE OR REPLACE TABLE steps.row_order AS
SELECT import_id, import_line, max_by(place, placed_by) AS place
FROM row_places
GROUP BY import_id, import_line;
