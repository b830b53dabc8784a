-- sheet:  waste_by_class
-- title:  Waste by what became of it
-- reader: purchasing
-- grain:  one row per class of waste, of batches whose cutting ended in the period
-- param:  from DATE    first day
-- param:  until DATE   day after the last
-- column: class      | What became of it | text | -   | kerf and trim, offcut, recut, cull, unexplained, or not split
-- column: waste_bf   | Waste             | bf   | sum | nominal board feet
-- column: net_pct    | Of net issue      | pct  | -   | share of issued less returned
-- column: waste_usd  | Waste             | usd  | sum | its share of the lumber's landed cost
-- column: meaning    | What it says      | text | -   | what the class holds
-- chart:  bar | What the waste cost, by what became of it | class | waste_usd | USD | Bars of the dollars of each class of waste, in the order of the rows
-- emphasis: waste_usd | negative
-- note:   The dollars add up to those of the sheet waste: each batch's are its waste's, cut at the running board feet of the classes in this order.
-- note:   Nominal board feet. Unexplained below 0: more parts than the boards issued can hold.
-- sort:   as listed
WITH batches AS (
    SELECT net, coalesce(kerf_trim, 0) AS kerf_trim, coalesce(offcut, 0) AS offcut, recut, cull, coalesce(unexplained, 0) AS unexplained, not_split, lumber_cents
    FROM steps.batch_waste
    WHERE cut_on >= $from::DATE AND cut_on < $until::DATE
),
-- One row a batch, kind of board and class; down_to is the wood of the classes down to it.
split AS (
    SELECT b.net, b.lumber_cents, v.place, v.class, v.wood, v.down_to, v.meaning
    FROM batches AS b, LATERAL (VALUES
        (1, 'kerf and trim', b.kerf_trim, b.kerf_trim, 'one saw cut a part, and end trim a board'),
        (2, 'offcut', b.offcut, b.kerf_trim + b.offcut, 'what is left of the boards issued: stock lengths and cutting plans decide it'),
        (3, 'recut', b.recut, b.kerf_trim + b.offcut + b.recut, 'boards for parts cut again'),
        (4, 'cull', b.cull, b.kerf_trim + b.offcut + b.recut + b.cull, 'boards set aside as unusable'),
        (5, 'unexplained', b.unexplained, b.kerf_trim + b.offcut + b.recut + b.cull + b.unexplained, 'below 0: more parts than the boards issued can hold'),
        (6, 'not split', b.not_split, b.kerf_trim + b.offcut + b.recut + b.cull + b.unexplained + b.not_split, 'kerf, trim and offcut in one, of batches without a cut list')
    ) AS v(place, class, wood, down_to, meaning)
),
priced AS (
    SELECT
        s.*,
        CASE WHEN s.net <> 0
            THEN rounded_quotient(s.lumber_cents::HUGEINT * s.down_to * sign(s.net)::BIGINT, abs(s.net)) - rounded_quotient(s.lumber_cents::HUGEINT * (s.down_to - s.wood) * sign(s.net)::BIGINT, abs(s.net))
            ELSE 0 END AS cents
    FROM split AS s
),
summed AS (
    SELECT place, class, meaning, sum(wood)::BIGINT AS wood, sum(net)::BIGINT AS net, sum(cents)::BIGINT AS cents
    FROM priced
    GROUP BY place, class, meaning
)
SELECT
    s.class::VARCHAR AS class,
    wood_to_bf(s.wood)::DECIMAL(14,4) AS waste_bf,
    share_of_positive(s.wood, s.net)::DECIMAL(18,6) AS net_pct,
    cents_to_usd(s.cents)::DECIMAL(14,2) AS waste_usd,
    s.meaning::VARCHAR AS meaning
FROM summed AS s
ORDER BY s.place;
