package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
	"trusstally/reports"
)

func (p *program) queryCommand() *cobra.Command {
	var format string
	var wages bool
	command := &cobra.Command{
		Use:   "query SQL",
		Short: "Run one SELECT over the ledgers and feeds, read-only",
		Long: `Runs one SELECT over the ledgers (board_ledger, minute_ledger, dollar_ledger) and
the feeds, on a connection that can't write, read files or reach a network.
Wages are hidden unless --wages is given: without it timecards have no rate, and
labour dollars are shown by job, or by pool and workweek of three people or more;
labour of a job on days of fewer than three people is one row. Who was in an
incident is never shown. A query is stopped after a minute, or at a gibibyte of
memory ([reports] in plant.toml).

In CSV an apostrophe stands before a text that a spreadsheet would run as a formula
(=, +, -, @, a tab or a line end first) or that begins like a marked one; a number
never gets one. JSON holds every text as it is.`,
		Example: `  # Which tables and columns there are
  trusstally list --tables

  # Boards on hand of each item
  trusstally query "SELECT size, species, grade, length_16ths, sum(boards) AS boards FROM board_ledger GROUP BY ALL ORDER BY ALL"`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			if p.asJSON {
				format = "json"
			}
			if format != "json" && format != "csv" {
				return problem.List{{What: fmt.Sprintf("there is no format of that name (%s)", format), Code: codeUnknownFormat, Usage: true, Hint: "json or csv"}}
			}
			ctx := command.Context()
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			w, err := p.openForQuery(ctx, f, wages)
			if err != nil {
				return err
			}
			defer w.Close()
			if err := w.Guard(ctx, args[0], wages); err != nil {
				return err
			}
			if format == "json" {
				return reports.QueryJSON(ctx, p.stdout, w, args[0])
			}
			return reports.QueryCSV(ctx, p.stdout, w, args[0])
		},
	}
	command.Flags().StringVar(&format, "format", "csv", "csv or json")
	command.Flags().BoolVar(&wages, "wages", false, "show wages")
	return command
}
