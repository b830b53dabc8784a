-- sheet:  change_study
-- title:  Did the change pay?
-- reader: owner
-- grain:  one row per change of plant.toml made by then and measure
-- param:  until DATE   day after the last
-- needs:  comparison
-- column: change        | Change          | text  | - | code in plant.toml
-- column: changed_on    | From            | on    | - | first day with it
-- column: measure       | Measure         | text  | - | set-up: people-minutes a set-up; build, and set-up and build: people-minutes a truss
-- column: finding       | Says            | text  | - | found only where the 99 % interval leaves no effect out; else not shown, or why nothing can be said
-- column: before_min    | Before          | min   | - | people-minutes at its tables before, on the mix that they built, crews alike
-- column: after_min     | After           | min   | - | the same after
-- column: others_before_min | Others before | min | - | at the tables that no change touched, before
-- column: others_after_min  | Others after  | min | - | the same after
-- column: effect_pct    | Effect          | pct   | - | change at its tables over the change at the others, less one: below 0 saves
-- column: low_pct       | At least        | pct   | - | lower end of the 95 % interval, from resampling shifts
-- column: high_pct      | At most         | pct   | - | upper end of the 95 % interval, from resampling shifts
-- column: year_min      | Saved a year    | min   | - | people-minutes a year at what its tables do in 52 weeks like these; below 0 costs
-- column: year_usd      | Saved a year    | usd   | - | those minutes at what a people-minute was charged to jobs, with burden
-- column: year_low_usd  | At least        | usd   | - | by the end of the interval that saves least
-- column: year_high_usd | At most         | usd   | - | by the end of the interval that saves most
-- column: cost_usd      | Cost            | usd   | - | of the change, from plant.toml
-- column: payback       | Payback         | number | - | years: cost over dollars a year; only where an effect is found and saves
-- column: npv_usd       | Worth           | usd   | - | net present value over the years and at the interest of plant.toml; only where an effect is found
-- note:   Difference in differences: what changed at its tables, less what changed at the others, for the same truss classes and the same crews (a multiplicative fit). Intervals come from resampling shifts.
-- note:   The rows of one change overlap: set-up and build holds the two others. Minutes saved are money only when they are used: for more trusses, or for fewer paid hours.
-- note:   Pace never stands alone: look at quality_and_safety before and after. What the data can't tell is on the sheet change_words.
-- emphasis: finding | word | found
-- sort:   date of the change, code, measure
SELECT
    s.code::VARCHAR AS change,
    c.changed_on::DATE AS changed_on,
    s.measure::VARCHAR AS measure,
    s.verdict::VARCHAR AS finding,
    s.before_min::DECIMAL(14,4) AS before_min,
    s.after_min::DECIMAL(14,4) AS after_min,
    s.other_before_min::DECIMAL(14,4) AS others_before_min,
    s.other_after_min::DECIMAL(14,4) AS others_after_min,
    s.effect_pct::DECIMAL(18,6) AS effect_pct,
    s.low_pct::DECIMAL(18,6) AS low_pct,
    s.high_pct::DECIMAL(18,6) AS high_pct,
    s.year_min::DECIMAL(18,2) AS year_min,
    s.year_usd::DECIMAL(18,2) AS year_usd,
    s.year_low_usd::DECIMAL(18,2) AS year_low_usd,
    s.year_high_usd::DECIMAL(18,2) AS year_high_usd,
    c.cost_usd::DECIMAL(18,2) AS cost_usd,
    s.payback_years::DECIMAL(18,4) AS payback,
    s.npv_usd::DECIMAL(18,2) AS npv_usd
FROM temp.change_studies AS s
JOIN (
    SELECT code, any_value(changed_on) AS changed_on, any_value(cost_usd) AS cost_usd
    FROM changes
    WHERE changed_on < $until::DATE
    GROUP BY code
) AS c ON c.code = s.code
ORDER BY c.changed_on, s.code, s.place;
