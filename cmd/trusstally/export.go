package main

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

func (p *program) exportCommand() *cobra.Command {
	var wages bool
	command := &cobra.Command{
		Use:   "export DIR",
		Short: "Write the ledgers and feeds as Parquet files, for another SQL engine",
		Long: `Writes the ledgers (board_ledger, minute_ledger, dollar_ledger) and every feed as
Parquet into DIR/TABLE/plant=NAME/in_month=2026-10, and what each column means into
DIR/columns.json and into each file's metadata. Several plants may share one DIR: what
the same plant wrote there before goes, what others wrote stays. It changes nothing in
the plant's folder.

Wages are left out unless --wages is given, as in trusstally query: timecards have no
rate, labour dollars are by job, or by pool and workweek of three people or more.
With --wages the files are their owner's alone. Who was in an incident is never written.`,
		Example: `  # One plant
  trusstally export company --plant mill

  # Every plant of a company into one folder
  for plant in mill yard; do trusstally export company --plant $plant; done`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			tables := warehouse.LedgerExports()
			for _, feed := range ingest.Feeds() {
				tables = append(tables, warehouse.ExportTable{Name: feed.Name, Date: ingest.MainDate(feed)})
			}
			all, err := waitFor(p, func() ([]warehouse.Exported, error) {
				return warehouse.Export(command.Context(), f.warehouse(), args[0], f.settings.Name, tables, wages)
			})
			if errors.Is(err, syscall.ENOTDIR) || errors.Is(err, fs.ErrExist) {
				return problem.List{{Place: args[0], What: "no folder can be made there", Code: codeCannotWrite, Hint: "name a folder, or one that can be made", Cause: err}}
			}
			if err != nil {
				return err
			}
			if p.asJSON {
				return p.printJSON(all)
			}
			rows := int64(0)
			for _, one := range all {
				rows += one.Rows
			}
			fmt.Fprintf(p.stdout, "%s of %s in %s\n", counted(rows, "row"), counted(int64(len(all)), "table"), args[0])
			return nil
		},
	}
	command.Flags().BoolVar(&wages, "wages", false, "write what holds wages too, into files that only you can read")
	return command
}
