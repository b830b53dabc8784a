package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"trusstally/sql"
)

// Finding is one row that a check found wrong.
type Finding struct {
	Check    string `json:"check"`    // name of the check
	Severity string `json:"severity"` // "error": a balance doesn't hold; "warn": a person should look
	Reason   string `json:"reason"`   // what is wrong
	Keys     string `json:"keys"`     // what it is about
	File     string `json:"file"`     // file it came from, or ""
	Line     int64  `json:"line"`     // line of the file, or 0
}

// CheckNames lists the checks in the order in which they run.
func CheckNames() []string {
	var names []string
	for _, file := range filesIn("checks") {
		names = append(names, strings.TrimSuffix(path.Base(file), ".sql"))
	}
	return names
}

// Check runs every check of sql/checks and returns the rows that are wrong, errors first.
func (w *Warehouse) Check(ctx context.Context) ([]Finding, error) {
	var errorsFound, warnings []Finding
	for _, file := range filesIn("checks") {
		text, err := sqlText(file)
		if err != nil {
			return nil, err
		}
		name := strings.TrimSuffix(path.Base(file), ".sql")
		rows, err := w.DB.QueryContext(ctx, text)
		if err != nil {
			return nil, fmt.Errorf("sql/%s: %w", file, err)
		}
		for rows.Next() {
			finding := Finding{Check: name}
			var place sql.NullString
			var line sql.NullInt64
			if err := rows.Scan(&finding.Severity, &finding.Reason, &finding.Keys, &place, &line); err != nil {
				rows.Close()
				return nil, fmt.Errorf("sql/%s: %w", file, err)
			}
			finding.File, finding.Line = place.String, line.Int64
			if finding.Severity == "error" {
				errorsFound = append(errorsFound, finding)
			} else {
				warnings = append(warnings, finding)
			}
		}
		if err := rows.Err(); err != nil {
			return nil, err
		}
		rows.Close()
	}
	return append(errorsFound, warnings...), nil
}

func sqlText(file string) (string, error) {
	text, err := fs.ReadFile(sqlfiles.Files, file)
	return string(text), err
}

// ReportFiles is the folder of report definitions, one sub-folder a book.
func ReportFiles() fs.FS {
	sub, err := fs.Sub(sqlfiles.Files, "reports")
	if err != nil {
		return sqlfiles.Files
	}
	return sub
}
