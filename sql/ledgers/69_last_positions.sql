-- Where each job stands with everything that is known of it, for the exceptions and the tie-outs:
-- each of them would work it out again.

-- grain: one job of the feed
CREATE OR REPLACE TABLE steps.last_positions AS
SELECT job, left_on, missing, revenue_usd, cost_usd
FROM job_position(DATE '2100-01-01');
COMMENT ON TABLE steps.last_positions IS 'one job with its cost and revenue to the last day of all; missing says why it has no margin';
