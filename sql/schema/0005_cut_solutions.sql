-- Cutting bounds and plans that were worked out, by the content of the problem, so that a
-- weekly run solves only what is new. They follow from the problem alone: a lost row costs
-- time and nothing else.

-- grain: one cutting problem
CREATE TABLE cut_solutions (
    problem_key VARCHAR NOT NULL,
    bound       BIGINT NOT NULL,
    cost        BIGINT NOT NULL,
    boards      VARCHAR NOT NULL,
    too_long    BIGINT NOT NULL
);
COMMENT ON TABLE cut_solutions IS 'bound and plan of one cutting problem, by the SHA-256 of its text';
COMMENT ON COLUMN cut_solutions.bound IS 'no way of cutting costs less, in the unit of the problem''s prices';
COMMENT ON COLUMN cut_solutions.cost IS 'what the plan costs, in the same unit';
COMMENT ON COLUMN cut_solutions.boards IS 'the plan''s boards, as length in 64ths of an inch:number, comma-separated';
COMMENT ON COLUMN cut_solutions.too_long IS 'pieces that are longer than every board on offer, left out';
