-- sheet:  exceptions
-- title:  Exceptions to settle
-- reader: general manager
-- grain:  one row per thing that a person should settle, of the period or of no day
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: topic      | Topic       | text  | -   | settle before payroll comes first: worked time is owed
-- column: what       | What        | text  | -   | what was found
-- column: job        | Job         | text  | -   | job number, where there is one
-- column: station    | Station     | text  | -   | station, where there is one
-- column: found_on   | Day         | on    | -   | day it belongs to; blank where it belongs to none
-- column: people_min | People      | min   | sum | people-minutes that it touches, where known
-- column: at_stake_usd | At stake  | usd   | sum | dollars that it touches, where known
-- column: file       | File        | text  | -   | file that it came from
-- column: line       | Line        | line  | -   | line of that file
-- column: remedy     | What to do  | text  | -   | how to settle it
-- link:   job | margin_by_job | job
-- emphasis: topic | word | settle before payroll
-- note:   Punches listed here cost 0 hours in these books; that is no instruction to pay 0. Pay follows the plant's payroll counsel and local law.
-- sort:   topic, day, what
SELECT
    e.topic::VARCHAR AS topic,
    e.what::VARCHAR AS what,
    e.job::VARCHAR AS job,
    e.station::VARCHAR AS station,
    e.on_day::DATE AS found_on,
    seconds_to_min(e.seconds)::DECIMAL(18,2) AS people_min,
    e.usd::DECIMAL(18,2) AS at_stake_usd,
    e.file_name::VARCHAR AS file,
    e.line::BIGINT AS line,
    e.remedy::VARCHAR AS remedy
FROM exceptions AS e
WHERE e.on_day IS NULL OR (e.on_day >= $from::DATE AND e.on_day < $until::DATE)
ORDER BY e.place, e.on_day NULLS LAST, e.code, e.what, e.file_name, e.line;
