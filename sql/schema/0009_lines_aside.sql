-- Lines of a file that are no rows: footers, subtotals and remarks, as plant.toml names them.

ALTER TABLE imports ADD COLUMN aside BIGINT DEFAULT 0;
COMMENT ON COLUMN imports.aside IS 'lines that are no rows: footers, subtotals and remarks, as plant.toml names them';
COMMENT ON COLUMN imports.lines IS 'records after the header; accepted + rejected + blank + aside';
