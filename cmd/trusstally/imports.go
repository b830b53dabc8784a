package main

import (
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
)

// Whether an import counts, as imports prints it.
const (
	stateInForce = "in force"
	stateUndone  = "undone"
)

// importLine is one import as imports prints it. Times are the plant's.
type importLine struct {
	Import    int64   `json:"import"`
	ReadAt    *string `json:"read_at"`
	File      string  `json:"file"`
	Feed      string  `json:"feed"`
	New       int64   `json:"new"`
	Changed   int64   `json:"changed"`
	Unchanged int64   `json:"unchanged"`
	Removed   int64   `json:"removed"`
	Refused   int64   `json:"refused"`
	FirstOn   *string `json:"first_on"`
	LastOn    *string `json:"last_on"`
	State     string  `json:"state"`
	UndoneAt  *string `json:"undone_at"`
}

func (p *program) importsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "imports",
		Short: "List the files that were read, and what each changed",
		Long: `Lists every import in the order of reading: its number, when it was read (by the
plant's clock), the file and its feed, how many rows were new, changed, unchanged,
removed and refused, the dates in it, and whether it is in force or undone. It
reads the warehouse and changes nothing.`,
		Example: `  # Which import brought that file in?
  trusstally imports --plant mill

  # For a program
  trusstally imports --json`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			w, err := p.openForReading(command.Context(), f)
			if err != nil {
				return err
			}
			defer w.Close()
			imports, err := w.Imports(command.Context())
			if err != nil {
				return err
			}
			given := func(text string) *string {
				if text == "" {
					return nil
				}
				return &text
			}
			clock := func(at time.Time) *string {
				if at.IsZero() {
					return nil
				}
				return given(at.In(f.settings.Zone).Format("2006-01-02 15:04"))
			}
			lines := []importLine{}
			for _, i := range imports {
				line := importLine{
					Import: i.ID, ReadAt: clock(i.Read), File: i.File, Feed: i.Feed, New: i.New, Changed: i.Changed, Unchanged: i.Unchanged, Removed: i.Removed,
					Refused: i.Refused, FirstOn: given(i.FirstOn), LastOn: given(i.LastOn), State: stateInForce, UndoneAt: clock(i.Undone),
				}
				if line.UndoneAt != nil {
					line.State = stateUndone
				}
				lines = append(lines, line)
			}
			return p.printImports(lines)
		},
	}
}

func (p *program) printImports(lines []importLine) error {
	if p.asJSON {
		return p.printJSON(lines)
	}
	table := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "import\tread\tfile\tfeed\tnew\tchanged\tunchanged\tremoved\trefused\tdates\tstate")
	for _, l := range lines {
		read, dates := "-", "-"
		if l.ReadAt != nil {
			read = *l.ReadAt
		}
		if l.FirstOn != nil {
			dates = *l.FirstOn + " to " + *l.LastOn
		}
		fmt.Fprintf(table, "%d\t%s\t%s\t%s\t%d\t%d\t%d\t%d\t%d\t%s\t%s\n", l.Import, read, problem.Plain(l.File), l.Feed, l.New, l.Changed, l.Unchanged, l.Removed, l.Refused, dates, l.State)
	}
	return table.Flush()
}
