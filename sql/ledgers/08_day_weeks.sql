-- The workweek of a day. Where workweeks begin at another time than midnight the day on which
-- one begins is its first, as in the week's sheets: most of the day is.
-- grain: one day
CREATE OR REPLACE TABLE steps.day_weeks AS
SELECT day, max(workweek_start) AS workweek_start
FROM day_parts
GROUP BY day;
COMMENT ON TABLE steps.day_weeks IS 'the workweek that a date belongs to in the sheets; pay goes by the moment';
