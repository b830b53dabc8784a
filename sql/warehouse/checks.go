package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"time"

	"trusstally/sql"
)

// Finding is one row that a check found wrong.
type Finding struct {
	Check    string `json:"check"`    // name of the check
	Severity string `json:"severity"` // "error": a balance doesn't hold; "warn": a person should look; "info": what the plant doesn't record
	Reason   string `json:"reason"`   // what is wrong
	Keys     string `json:"keys"`     // what it is about
	File     string `json:"file"`     // file it came from, or ""
	Line     int64  `json:"line"`     // line of the file, or 0
	Day      string `json:"day"`      // day that it belongs to, or ""
}

// CheckNames lists the checks in the order in which they run.
func CheckNames() []string {
	var names []string
	for _, file := range filesIn("checks") {
		names = append(names, strings.TrimSuffix(path.Base(file), ".sql"))
	}
	return names
}

// Check runs every check of sql/checks and returns the rows that are wrong, errors
// first, and last what the plant doesn't record.
func (w *Warehouse) Check(ctx context.Context) ([]Finding, error) {
	var errorsFound, warnings, gaps []Finding
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
		// What belongs to a day says so in a sixth column, on_day.
		columns, err := rows.Columns()
		if err != nil {
			rows.Close()
			return nil, err
		}
		for rows.Next() {
			finding := Finding{Check: name}
			var place sql.NullString
			var line sql.NullInt64
			var day sql.NullTime
			targets := []any{&finding.Severity, &finding.Reason, &finding.Keys, &place, &line, &day}
			if err := rows.Scan(targets[:min(len(columns), len(targets))]...); err != nil {
				rows.Close()
				return nil, fmt.Errorf("sql/%s: %w", file, err)
			}
			finding.File, finding.Line = place.String, line.Int64
			if day.Valid {
				finding.Day = day.Time.Format(time.DateOnly)
			}
			switch finding.Severity {
			case "error":
				errorsFound = append(errorsFound, finding)
			case "info":
				gaps = append(gaps, finding)
			default:
				warnings = append(warnings, finding)
			}
		}
		if err := rows.Err(); err != nil {
			return nil, err
		}
		rows.Close()
	}
	return append(append(errorsFound, warnings...), gaps...), nil
}

// Wrong counts the findings that something is the matter with: what a plant doesn't record
// is none.
func Wrong(findings []Finding) int {
	wrong := 0
	for _, finding := range findings {
		if finding.Severity != "info" {
			wrong++
		}
	}
	return wrong
}

// Broken counts the findings that say that a balance doesn't hold.
func Broken(findings []Finding) int {
	broken := 0
	for _, finding := range findings {
		if finding.Severity == "error" {
			broken++
		}
	}
	return broken
}

// KeepCheckResults fills the temporary table check_results: one row a check, with what it
// proves (the first line of its file), its severity and the number of wrong rows.
func (w *Warehouse) KeepCheckResults(ctx context.Context, findings []Finding) error {
	wrong := map[string]int{}
	for _, finding := range findings {
		wrong[finding.Check]++
	}
	if _, err := w.DB.ExecContext(ctx, `CREATE OR REPLACE TEMP TABLE check_results
(place INTEGER NOT NULL, check_name VARCHAR NOT NULL, purpose VARCHAR NOT NULL, severity VARCHAR NOT NULL, wrong_rows BIGINT NOT NULL)`); err != nil {
		return err
	}
	for i, file := range filesIn("checks") {
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		name := strings.TrimSuffix(path.Base(file), ".sql")
		purpose := purposeOf(text)
		severity := "warn"
		for _, known := range []string{"error", "info"} {
			if strings.Contains(text, "'"+known+"' AS severity") {
				severity = known
			}
		}
		if _, err := w.DB.ExecContext(ctx, "INSERT INTO check_results VALUES (?, ?, ?, ?, ?)", i+1, name, purpose, severity, wrong[name]); err != nil {
			return err
		}
	}
	return nil
}

// purposeOf is what a check proves: the first line of its file.
func purposeOf(text string) string {
	first, _, _ := strings.Cut(text, "\n")
	return strings.TrimSuffix(strings.TrimSpace(strings.TrimPrefix(first, "--")), ".")
}

// CheckPurposes says what each check proves, in the order of CheckNames.
func CheckPurposes() ([]string, error) {
	var purposes []string
	for _, file := range filesIn("checks") {
		text, err := sqlText(file)
		if err != nil {
			return nil, err
		}
		purposes = append(purposes, purposeOf(text))
	}
	return purposes, nil
}

// MakeFindings makes the temporary macros of the front sheets' findings on this connection:
// one a book, of the first and the day after the last day. The temporary tables that they
// read must be there.
func (w *Warehouse) MakeFindings(ctx context.Context) error {
	for _, file := range filesIn("findings") {
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		if _, err := w.DB.ExecContext(ctx, text); err != nil {
			return fmt.Errorf("sql/%s: %w", file, err)
		}
	}
	return nil
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

// ExplainSQL is one SELECT of sql/explain, by the name of its file without the ending.
func ExplainSQL(name string) (string, error) { return sqlText("explain/" + name + ".sql") }
