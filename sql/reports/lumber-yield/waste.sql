-- sheet:  waste
-- title:  Waste by batch
-- reader: purchasing
-- grain:  one row per batch (else job, else saw and day) and size, species and grade of its boards, cutting ended in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: unit           | Batch         | text  | -   | batch; where boards were logged without one, the job or the saw and day
-- column: jobs           | Jobs          | text  | -   | jobs whose parts were cut
-- column: cut_on         | Cut           | on    | -   | day the last parts were cut
-- column: saws           | Cut at        | text  | -   | stations that logged the cutting
-- column: trusses_by     | Counted by    | text  | -   | trusses cut as the saw logged them, or as the table did where the saw logs none
-- column: trusses        | Trusses       | count | -   | trusses cut
-- column: size           | Size          | text  | -   | nominal section
-- column: species        | Species       | text  | -   | as stamped
-- column: grade          | Grade         | text  | -   | as stamped
-- column: issued_bf      | Issued        | bf    | sum | boards taken to cut, recut and replace culls
-- column: returned_bf    | Returned      | bf    | sum | boards and usable remnants put back
-- column: finished_bf    | Finished parts| bf    | sum | real cut length, nominal section
-- column: kerf_trim_bf   | Kerf and trim | bf    | sum | one saw cut a part, and end trim a board
-- column: offcut_bf      | Offcut        | bf    | sum | what is left of the boards issued
-- column: recut_bf       | Recut         | bf    | sum | boards for parts cut again
-- column: cull_bf        | Cull          | bf    | sum | boards set aside as unusable
-- column: unexplained_bf | Unexplained   | bf    | sum | below 0: more parts than the boards issued can hold
-- column: not_split_bf   | Not split     | bf    | sum | waste of a batch without a cut list, beside recuts and culls: kerf, trim and offcut in one
-- column: waste_bf       | Waste         | bf    | sum | issued less returned less finished: the six before it
-- column: waste_pct      | Waste         | pct   | waste_bf / (issued_bf - returned_bf) | share of net issue that is not in finished parts
-- column: waste_usd      | Waste         | usd   | sum | its share of the lumber's landed cost
-- column: basis          | Parts by      | text  | -   | cut list; or design board feet, where a truss has no cut list: one row a batch, of all its sizes, species and grades
-- chart:  bar 15 | The dearest waste of the period | unit | waste_usd | USD | Bars of the dollars lost in the fifteen batches that lost most
-- emphasis: unexplained_bf | negative
-- note:   issued - returned = finished + kerf and trim + offcut + recut + cull + unexplained + not split, exact to a sixteenth of an inch.
-- note:   Nominal board feet. Sorted by dollars lost.
-- sort:   dollars lost, batch, size, species, grade
SELECT
    m.unit::VARCHAR AS unit,
    m.jobs::VARCHAR AS jobs,
    m.cut_on::DATE AS cut_on,
    m.stations::VARCHAR AS saws,
    m.counted_at::VARCHAR AS trusses_by,
    m.trusses::BIGINT AS trusses,
    m.size::VARCHAR AS size,
    m.species::VARCHAR AS species,
    m.grade::VARCHAR AS grade,
    wood_to_bf(m.issued)::DECIMAL(14,4) AS issued_bf,
    wood_to_bf(m.returned)::DECIMAL(14,4) AS returned_bf,
    wood_to_bf(m.parts)::DECIMAL(14,4) AS finished_bf,
    wood_to_bf(m.kerf_trim)::DECIMAL(14,4) AS kerf_trim_bf,
    wood_to_bf(m.offcut)::DECIMAL(14,4) AS offcut_bf,
    wood_to_bf(m.recut)::DECIMAL(14,4) AS recut_bf,
    wood_to_bf(m.cull)::DECIMAL(14,4) AS cull_bf,
    wood_to_bf(m.unexplained)::DECIMAL(14,4) AS unexplained_bf,
    wood_to_bf(m.not_split)::DECIMAL(14,4) AS not_split_bf,
    wood_to_bf(m.waste)::DECIMAL(14,4) AS waste_bf,
    share_of_positive(wood_to_bf(m.waste)::DECIMAL(14,4), wood_to_bf(m.issued)::DECIMAL(14,4) - wood_to_bf(m.returned)::DECIMAL(14,4))::DECIMAL(18,6) AS waste_pct,
    cents_to_usd(m.waste_cents)::DECIMAL(18,2) AS waste_usd,
    m.basis::VARCHAR AS basis
FROM steps.batch_waste AS m
WHERE m.cut_on >= $from::DATE AND m.cut_on < $until::DATE
ORDER BY m.waste_cents DESC NULLS LAST, m.unit_kind, m.unit, m.size, m.species, m.grade;
