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
	lock, err := p.takeLock(f)
	if err != nil {
		return err
	}
	defer lock.Release()
	// A closing of this month that was cut short is finished, and that is all.
	owed, err := p.writeOwedBooks(ctx, f)
	if err != nil {
		return err
	}
	for _, closing := range owed {
		if closing.Month == label {
			p.printClosing(f, month, closing)
			return nil
		}
	}
	if err := p.refuseUnbalanced(ctx, f); err != nil {
		return err
	}
	err = p.inWarehouse(ctx, f, func(tx *sql.Tx) error {
		_, err := warehouse.CloseMonth(ctx, tx, f.settings, month.From, month.Until)
		return err
	})
	if err != nil {
		return err
	}
	owed, err = p.writeOwedBooks(ctx, f)
	if err != nil {
		return err
	}
	for _, closing := range owed {
		p.printClosing(f, month, closing)
	}
	return nil
}

// printClosing says what was frozen, after the path of its book.
func (p *program) printClosing(f *folder, month reports.Period, closing warehouse.Closing) {
	fmt.Fprintln(p.stdout, f.monthEndPath(month))
	fmt.Fprintf(p.stdout, "%s closed: %s and %s of boards are frozen; what arrives later for it is posted on %s\n", closing.Month,
		counted(closing.Postings, "posting"), counted(closing.Movements, "movement"), closing.Until.Format("2006-01-02"))
}

func (p *program) undoClose(ctx context.Context, f *folder) error {
	lock, err := p.takeLock(f)
	if err != nil {
		return err
	}
	defer lock.Release()
	var closing *warehouse.Closing
	err = p.inWarehouse(ctx, f, func(tx *sql.Tx) error {
		var err error
		closing, err = warehouse.UndoClose(ctx, tx, f.settings)
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s is open again: %s may change; %s that were posted on %s go back to their own days; run writes its books anew\n", closing.Month,
		counted(closing.Postings, "posting"), counted(closing.Corrections, "correction"), closing.Until.Format("2006-01-02"))
	return nil
}

// inWarehouse runs change in one transaction of the writer, over ledgers that are up to
// date. The caller holds the plant's lock.
func (p *program) inWarehouse(ctx context.Context, f *folder, change func(*sql.Tx) error) error {
	w, err := p.openWriter(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	if err := f.tidy(ctx, w.DB); err != nil {
		return err
	}
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	err = f.readAgain(ctx, tx)
	stale := false
	if err == nil {
		stale, err = warehouse.LedgersStale(ctx, tx, f.settings)
	}
	if err == nil && stale {
		err = warehouse.BuildLedgers(ctx, tx, f.settings)
	}
	if err == nil {
		err = change(tx)
	}
	if err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
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
	if warehouse.Broken(findings) > 0 {
		return problem.List{{What: "a month can't be closed while a balance doesn't balance", Code: codeUnbalanced, Hint: "trusstally check names the rows"}}
	}
	return nil
}

// writeOwedBooks writes the month-end books that closings owe, and returns these closings.
// They owe them from their commit on, so that a closing that is cut short is finished by the
// next command that changes the plant. The caller holds the plant's lock.
func (p *program) writeOwedBooks(ctx context.Context, f *folder) ([]warehouse.Closing, error) {
	if _, err := os.Stat(f.warehouse()); errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	w, err := p.openWriter(ctx, f)
	if err != nil {
		return nil, err
	}
	owed, err := warehouse.OwedBooks(ctx, w.DB)
	if err == nil {
		err = f.tidy(ctx, w.DB)
	}
	if err := errors.Join(err, w.Close()); err != nil || len(owed) == 0 {
		return nil, err
	}
	for _, closing := range owed {
		month, err := reports.Month(closing.Month)
		if err != nil {
			return nil, err
		}
		if err := p.writeMonthEnd(ctx, f, month); err != nil {
			return nil, err
		}
	}
	w, err = p.openWriter(ctx, f)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	for _, closing := range owed {
		if err := warehouse.BookWritten(ctx, w.DB, closing); err != nil {
			return nil, err
		}
	}
	return owed, nil
}

// monthEndPath is where the month-end book of a month stands, within the plant's folder.
func (f *folder) monthEndPath(month reports.Period) string {
	return filepath.ToSlash(filepath.Join("books", month.Label, monthEndBook+".xlsx"))
}

// monthEndBook is the book that closing a month writes.
const monthEndBook = "month-end"

// writeMonthEnd writes the month-end book of a month, with the plant's own sheets of it; a
// faulty one is named and left out.
func (p *program) writeMonthEnd(ctx context.Context, f *folder, month reports.Period) error {
	books, faulty, err := p.booksWithOwn(ctx, f, func(book *reports.Book) (reports.Period, bool) { return month, book.Monthly })
	if err != nil {
		return err
	}
	faulty.Print(p.stderr, p.verbose)
	book, err := reports.Find(books, monthEndBook)
	if err != nil {
		return err
	}
	w, err := p.openForReading(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	if _, err := reports.KeepChecks(ctx, w); err != nil {
		return err
	}
	path := filepath.Join(f.path, f.monthEndPath(month))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return book.WriteFile(ctx, path, 0o600, w, month, f.settings.Name)
}
