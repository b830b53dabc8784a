-- sheet:  received_not_invoiced
-- title:  Lumber received and not invoiced
-- reader: accountant
-- grain:  one row per line of a packing slip whose vendor's invoice had not come by the period's end
-- param:  until DATE   day after the last
-- column: vendor      | Vendor       | text  | -   | vendor code
-- column: document    | Packing slip | text  | -   | packing slip or delivery note
-- column: line        | Line         | text  | -   | line of the document
-- column: received_on | Received     | on    | -   | day the lumber arrived
-- column: days        | Days         | count | -   | from then to the period's last day
-- column: item        | Item         | text  | -   | size, species, grade and length
-- column: boards      | Boards       | count | sum | boards received
-- column: accrued_usd | To accrue    | usd   | sum | landed cost as stock holds it: the line's price, else the price that stands in, with freight, credits taken off
-- column: priced_by   | Priced by    | text  | -   | the line's own price, or what stands in for it
-- note:   A closed month's list is that of its closing; a slip that came later is in the open month's. A draft for the plant's accountant. When the priced line is read again its cost takes the place of the one that stands in.
-- sort:   received, vendor, packing slip, line
SELECT
    r.vendor::VARCHAR AS vendor,
    r.document::VARCHAR AS document,
    r.line::VARCHAR AS line,
    r.received_on::DATE AS received_on,
    ($until::DATE - 1 - r.received_on)::BIGINT AS days,
    concat_ws(' ', r.size, r.species, r.grade, feet_inches(r.length_16ths))::VARCHAR AS item,
    r.boards::BIGINT AS boards,
    cents_to_usd(r.cents)::DECIMAL(18,2) AS accrued_usd,
    r.priced_by::VARCHAR AS priced_by
FROM received_not_invoiced($until::DATE) AS r
ORDER BY r.received_on, r.vendor, r.document, r.line;
