package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// hasRead says whether any file was ever read into the plant's warehouse.
func (p *program) hasRead(ctx context.Context, f *folder) (bool, error) {
	if _, err := os.Stat(f.warehouse()); errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	w, err := p.openLocked(ctx, f)
	if err != nil {
		return false, err
	}
	defer w.Close()
	var imports int
	err = w.DB.QueryRowContext(ctx, "SELECT count(*) FROM imports").Scan(&imports)
	return imports > 0, err
}

// sayMissing says, of a plant of which nothing was read yet, which feeds each book needs and
// what stays blank without each. Nothing is proved of it, so that the exit code is 1.
func (p *program) sayMissing(f *folder) error {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return err
	}
	if p.asJSON {
		findings := []warehouse.Finding{}
		for _, book := range books {
			for _, need := range book.Needs() {
				findings = append(findings, warehouse.Finding{Check: "nothing_read", Severity: "info", Reason: "no " + need.Feed + " were read", Keys: book.Name + ": " + need.Without})
			}
		}
		if err := p.printJSON(findings); err != nil {
			return err
		}
		return exitCode(exitData)
	}
	fmt.Fprintf(p.stdout, "Nothing was read yet into %s. What each book needs, and what stays blank without it:\n", f.settings.Name)
	for _, book := range books {
		fmt.Fprintf(p.stdout, "\n%s, for %s:\n", book.Name, book.ForWhom())
		err := printTable(p.stdout, func(row func(...string)) {
			for _, need := range book.Needs() {
				row("  "+need.Feed, need.Without)
			}
		})
		if err != nil {
			return err
		}
	}
	fmt.Fprintf(p.stdout, "\nPut files into inbox/ (templates/ has one to fill in for each feed), then: trusstally run --plant %s\n", p.plantFolder)
	return exitCode(exitData)
}
