package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

func (p *program) closeCommand() *cobra.Command {
	var undo bool
	command := &cobra.Command{
		Use:   "close MONTH",
		Short: "Freeze a month: what arrives later for it is posted in the open one",
		Long: `Freezes the month: its postings and its books no longer change. Whatever arrives
later for it (a late receipt, a corrected punch, a credit memo, a back-dated
raise) is posted on the first open day as a correction that keeps its own day;
the sheet corrections of month-end lists it.

It refuses while a balance doesn't balance, and a month that isn't over. Months
before it that are still open are frozen with it. It writes the month-end book,
and never touches files in archive/ or inbox/.

--undo opens the last closed month again, and says what that changes.`,
		Example: `  # October is done
  trusstally close 2026-10 --plant mill

  # It isn't, after all
  trusstally close --undo --plant mill`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			if undo == (len(args) == 1) {
				return usageProblem("name the month to close, or give --undo", "trusstally close 2026-10")
			}
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			if undo {
				return p.undoClose(command.Context(), f)
			}
			return p.closeMonth(command.Context(), f, args[0])
		},
	}
	command.Flags().BoolVar(&undo, "undo", false, "open the last closed month again")
	return command
}

func usageProblem(what, hint string) error {
	return problem.List{{What: what, Code: codeUsage, Usage: true, Hint: hint}}
}

func (p *program) closeMonth(ctx context.Context, f *folder, label string) error {
	month, err := reports.Month(label)
	if err != nil {
		return err
	}
	if p.now().Before(month.Until) {
		return problem.List{{What: fmt.Sprintf("%s isn't over", label), Code: codeNotOver, Usage: true, Hint: "close it when its last day's files are read"}}
	}
	if err := p.refuseUnbalanced(ctx, f); err != nil {
		return err
	}
	closing, err := p.inWarehouse(ctx, f, func(tx *sql.Tx) (*warehouse.Closing, error) {
		return warehouse.CloseMonth(ctx, tx, f.settings, month.From, month.Until)
	})
	if err != nil {
		return err
	}
	path, err := p.writeMonthEnd(ctx, f, month)
	if err != nil {
		return err
	}
	fmt.Fprintln(p.stdout, path)
	fmt.Fprintf(p.stdout, "%s closed: %s and %s of boards are frozen; what arrives later for it is posted on %s\n", label,
		counted(closing.Postings, "posting"), counted(closing.Movements, "movement"), closing.Until.Format("2006-01-02"))
	return nil
}

func (p *program) undoClose(ctx context.Context, f *folder) error {
	closing, err := p.inWarehouse(ctx, f, func(tx *sql.Tx) (*warehouse.Closing, error) {
		return warehouse.UndoClose(ctx, tx, f.settings)
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s is open again: %s may change; %s that were posted on %s go back to their own days; run writes its books anew\n", closing.Month,
		counted(closing.Postings, "posting"), counted(closing.Corrections, "correction"), closing.Until.Format("2006-01-02"))
	return nil
}

// inWarehouse runs change in one transaction of the writer.
func (p *program) inWarehouse(ctx context.Context, f *folder, change func(*sql.Tx) (*warehouse.Closing, error)) (*warehouse.Closing, error) {
	w, err := warehouse.Open(ctx, f.warehouse())
	if err != nil {
		return nil, err
	}
	defer w.Close()
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	stale, err := warehouse.LedgersStale(ctx, tx, f.settings)
	if err == nil && stale {
		err = warehouse.BuildLedgers(ctx, tx, f.settings)
	}
	var closing *warehouse.Closing
	if err == nil {
		closing, err = change(tx)
	}
	if err != nil {
		return nil, errors.Join(err, tx.Rollback())
	}
	return closing, tx.Commit()
}

// refuseUnbalanced is a problem when a balance doesn't balance.
func (p *program) refuseUnbalanced(ctx context.Context, f *folder) error {
	w, err := p.openForReading(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	findings, err := w.Check(ctx)
	if err != nil {
		return err
	}
	for _, finding := range findings {
		if finding.Severity == "error" {
			return problem.List{{What: "a month can't be closed while a balance doesn't balance", Code: codeUnbalanced, Hint: "trusstally check names the rows"}}
		}
	}
	return nil
}

// writeMonthEnd writes the month-end book of a month and returns its path within the folder.
func (p *program) writeMonthEnd(ctx context.Context, f *folder, month reports.Period) (string, error) {
	books, faulty, err := p.booksWithOwn(ctx, f, func(book *reports.Book) (reports.Period, bool) { return month, book.Monthly })
	if err != nil {
		return "", err
	}
	faulty.Print(p.stderr, p.verbose)
	w, err := p.openForReading(ctx, f)
	if err != nil {
		return "", err
	}
	defer w.Close()
	if _, err := reports.KeepChecks(ctx, w); err != nil {
		return "", err
	}
	for _, book := range books {
		if !book.Monthly {
			continue
		}
		if err := os.MkdirAll(filepath.Join(f.books(), month.Label), 0o755); err != nil {
			return "", err
		}
		if err := book.WriteFile(ctx, filepath.Join(f.books(), month.Label, book.Name+".xlsx"), 0o600, w, month, f.settings.Name); err != nil {
			return "", err
		}
		return filepath.ToSlash(filepath.Join("books", month.Label, book.Name+".xlsx")), nil
	}
	return "", errors.New("no book is by month")
}
