package sqlfiles

import "embed"

// Files holds schema/, ledgers/, checks/, explain/, findings/, kept/, renewal/ and reports/BOOK/ as they stand in the tree.
//
//go:embed schema/*.sql ledgers/*.sql checks/*.sql explain/*.sql findings/*.sql kept/*.sql renewal/*.sql reports
var Files embed.FS
