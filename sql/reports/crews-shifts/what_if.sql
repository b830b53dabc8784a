-- sheet:  what_if
-- title:  What would it bring?
-- reader: owner
-- grain:  one row per assumption of report what_if, over the trailing weeks
-- needs:  comparison
-- column: assumption | Assumed        | text  | - | what was asked
-- column: weeks      | Weeks          | count | - | of the plant's own history that it is worked out from
-- column: units      | Touched        | count | - | how many there were
-- column: unit       | Of             | text  | - | set-ups or stoppages
-- column: now_min    | As it was      | min   | - | people-minutes that they took
-- column: saved_min  | Less           | min   | - | people-minutes that it would have taken less
-- column: year_min   | Less a year    | min   | - | in 52 weeks like these
-- column: year_usd   | Less a year    | usd   | - | those minutes at what a people-minute was charged to jobs, with burden
-- column: cost_usd   | Cost           | usd   | - | as asked
-- column: payback    | Payback        | number | - | years: cost over dollars a year; blank where nothing is saved
-- column: npv_usd    | Worth          | usd   | - | net present value over the years and at the interest of plant.toml
-- note:   Worked out from the plant's own set-ups, batches and stoppages: nothing else is assumed to change. Savings of two rows overlap and don't add up.
-- note:   Set-ups that are quicker already stay as they are. Larger batches take room, staging and waiting that are not counted. Minutes saved are money only when they are used.
-- note:   Pace never stands alone: quality, inspections and injuries come first. An estimate for a decision, no promise.
-- sort:   assumption
SELECT
    w.assumption::VARCHAR AS assumption,
    w.weeks::BIGINT AS weeks,
    w.units::BIGINT AS units,
    w.unit::VARCHAR AS unit,
    w.now_min::DECIMAL(18,2) AS now_min,
    w.saved_min::DECIMAL(18,2) AS saved_min,
    w.year_min::DECIMAL(18,2) AS year_min,
    w.year_usd::DECIMAL(18,2) AS year_usd,
    w.cost_usd::DECIMAL(18,2) AS cost_usd,
    w.payback_years::DECIMAL(18,4) AS payback,
    w.npv_usd::DECIMAL(18,2) AS npv_usd
FROM temp.what_ifs AS w
ORDER BY w.place;
