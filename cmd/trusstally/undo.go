package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

func (p *program) undoCommand() *cobra.Command {
	var dryRun bool
	command := &cobra.Command{
		Use:   "undo IMPORT",
		Short: "Take an import back: what it brought goes, what it replaced returns",
		Long: `Puts back exactly what an import changed, and rebuilds the ledgers, in one step that
happens wholly or not at all: rows that it brought are taken out, rows that it
superseded or removed come back from history with their own import and line. IMPORT
is a number that trusstally imports lists.

It refuses when a later import builds on this one (undo the newest first), and when
a month was closed with it: a closing stands on the imports read before it, and on
their rows up to the month's end. What came in after a closing may be undone.

The import stays listed as undone, its file stays in archive/, and what was refused
of it stays in rejects/. Refused rows of earlier files that it had mended are open
again. The same file can be imported again. Books change with the next run.`,
		Example: `  # The wrong file came in: find its number, look, take it back
  trusstally imports --plant mill
  trusstally undo 57 --dry-run --plant mill
  trusstally undo 57 --plant mill`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			number, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil || number < 1 {
				return usageProblem(fmt.Sprintf("not the number of an import (%s)", args[0]), "trusstally imports lists them")
			}
			f, lock, err := p.lockedFolder()
			if err != nil {
				return err
			}
			defer lock.Release()
			undone, err := p.undoImport(command.Context(), f, number, dryRun)
			if err != nil {
				return err
			}
			return p.printUndone(undone, dryRun)
		},
	}
	command.Flags().BoolVar(&dryRun, "dry-run", false, "say what would change, and change nothing")
	return command
}

// errDryRun rolls a transaction back that has shown what it would do.
var errDryRun = errors.New("dry run")

// undoImport undoes the import and rebuilds the ledgers in one transaction; with dryRun all
// of it is rolled back.
func (p *program) undoImport(ctx context.Context, f *folder, number int64, dryRun bool) (*ingest.Undone, error) {
	// Without a warehouse there is nothing to undo, and none is made.
	reader, err := p.openLocked(ctx, f)
	if err != nil {
		return nil, err
	}
	if err := reader.Close(); err != nil {
		return nil, err
	}
	var undone *ingest.Undone
	err = p.inWarehouse(ctx, f, func(tx *sql.Tx) error {
		var err error
		undone, err = ingest.Undo(ctx, tx, number, p.now())
		if err != nil {
			return err
		}
		if dryRun {
			return errDryRun
		}
		return warehouse.BuildLedgers(ctx, tx, f.settings)
	})
	if dryRun && errors.Is(err, errDryRun) {
		err = nil
	}
	return undone, err
}

// printUndone says what was put back.
func (p *program) printUndone(undone *ingest.Undone, dryRun bool) error {
	if p.asJSON {
		return p.printJSON(struct {
			Import   int64  `json:"import"`
			File     string `json:"file"`
			Feed     string `json:"feed"`
			TakenOut int64  `json:"taken_out"`
			Restored int64  `json:"restored"`
			DryRun   bool   `json:"dry_run"`
		}{undone.ImportID, undone.FileName, undone.Feed, undone.TakenOut, undone.Restored, dryRun})
	}
	verb := "is undone"
	if dryRun {
		verb = "would be undone"
	}
	fmt.Fprintf(p.stdout, "import %d (%s) %s: %s taken out, %s back from history\n", undone.ImportID, problem.Plain(undone.FileName), verb,
		counted(undone.TakenOut, "row"), counted(undone.Restored, "row"))
	if dryRun {
		fmt.Fprintln(p.stdout, "dry run: nothing was changed")
	}
	return nil
}
