-- sheet:  board_feet_by_grade
-- title:  Board feet by grade
-- reader: purchasing
-- grain:  one row per size, species and grade, and whether a cut list says what was made of it, of the boards issued for batches whose cutting ended in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: size        | Size            | text | -   | nominal section
-- column: species     | Species         | text | -   | as stamped
-- column: grade       | Grade           | text | -   | as stamped on the boards issued
-- column: issued_bf   | Issued          | bf   | sum | boards taken to cut, recut and replace culls, nominal section by stock length
-- column: returned_bf | Returned        | bf   | sum | boards and usable remnants put back
-- column: finished_bf | Finished parts  | bf   | sum | real cut length of the parts made of them, nominal section
-- column: waste_bf    | Waste           | bf   | sum | issued less returned less finished
-- column: waste_pct   | Waste           | pct  | waste_bf / (issued_bf - returned_bf) | share of net issue that is not in finished parts
-- column: lumber_usd  | Lumber          | usd  | sum | net issue at landed cost
-- column: per_good_bf_usd | Lumber per BF of good part | usd | lumber_usd / finished_bf | price divided by yield: what a board foot in a part costs
-- column: basis       | Parts by        | text | -   | cut list; no cut list: boards of batches of which a truss has none, so that what was made of this grade is not known
-- column: item        | Item            | text | -   | size, species and grade in one, for the chart
-- chart:  bar | Waste by grade | item | waste_pct | share of net issue | Bars of the share of net issue that is not in finished parts, one for each size, species and grade in the order of the rows
-- note:   Nominal board feet: thickness x width in nominal inches x length in feet / 12 (PS 20).
-- note:   Whole batches, in the period in which their cutting ends. Batches without boards logged are on the sheet exceptions of job-margin.
-- sort:   size, species, grade, parts by
WITH whole AS (
    SELECT y.*, u.state
    FROM steps.yields AS y
    JOIN steps.yield_units AS u USING (unit_kind, unit)
    WHERE u.state IN ('whole', 'design board feet') AND u.cut_on >= $from::DATE AND u.cut_on < $until::DATE
),
summed AS (
    SELECT
        size, species, grade, CASE state WHEN 'whole' THEN 'cut list' ELSE 'no cut list' END AS basis,
        sum(issued)::BIGINT AS issued, sum(returned)::BIGINT AS returned, CASE WHEN state = 'whole' THEN sum(parts)::BIGINT END AS parts, sum(lumber_cents)::BIGINT AS cents
    FROM whole
    GROUP BY size, species, grade, state
    HAVING state = 'whole' OR sum(issued) <> 0 OR sum(returned) <> 0
),
feet AS (
    SELECT
        size, species, grade, basis,
        wood_to_bf(issued)::DECIMAL(14,4) AS issued_bf, wood_to_bf(returned)::DECIMAL(14,4) AS returned_bf, wood_to_bf(parts)::DECIMAL(14,4) AS finished_bf,
        cents_to_usd(cents) AS lumber_usd
    FROM summed
)
SELECT
    f.size::VARCHAR AS size,
    f.species::VARCHAR AS species,
    f.grade::VARCHAR AS grade,
    f.issued_bf::DECIMAL(14,4) AS issued_bf,
    f.returned_bf::DECIMAL(14,4) AS returned_bf,
    f.finished_bf::DECIMAL(14,4) AS finished_bf,
    (f.issued_bf - f.returned_bf - f.finished_bf)::DECIMAL(14,4) AS waste_bf,
    share_of_positive(f.issued_bf - f.returned_bf - f.finished_bf, f.issued_bf - f.returned_bf)::DECIMAL(18,6) AS waste_pct,
    f.lumber_usd::DECIMAL(18,2) AS lumber_usd,
    share_of(f.lumber_usd, f.finished_bf)::DECIMAL(18,6) AS per_good_bf_usd,
    f.basis::VARCHAR AS basis,
    concat_ws(' ', f.size, f.species, f.grade, CASE f.basis WHEN 'no cut list' THEN f.basis END)::VARCHAR AS item
FROM feet AS f
ORDER BY f.size, f.species, f.grade, f.basis;
