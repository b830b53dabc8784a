package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

func (p *program) reportCommand() *cobra.Command {
	var week, month, from, until, format, to string
	var assumed []string
	var cost string
	var wages bool
	command := &cobra.Command{
		Use:   "report NAME",
		Short: "Write one sheet or one book for a week, a month or any days",
		Long: `Writes one sheet (such as margin_by_job) or one whole book (such as job-margin).
Without a period it takes the newest week that has ended, for month-end the last
full month before that. A workbook goes to a file, CSV and JSON go to stdout
unless --to names a file. It changes nothing in the warehouse. In CSV a text that
would be a formula gets an apostrophe, as trusstally query --help says.

Sheets that hold wages need --wages.`,
		Example: `  # Margin by job of last week, as a program wants it
  trusstally report margin_by_job --format json

  # The waste of October as a workbook
  trusstally report waste --month 2026-10 --to waste.xlsx

  # Any days: the first day, and the day after the last
  trusstally report labour_per_truss --from 2026-11-02 --until 2026-11-16 --format csv

  # What a set-up of two minutes would save in a year, and whether 180,000 dollars come back
  trusstally report what_if --set setup_min=2 --cost 180000 --format csv`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			if p.asJSON {
				format = "json"
			}
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			book, own, err := p.findReport(f, args[0])
			if err != nil {
				return err
			}
			ctx := command.Context()
			w, err := p.openForReading(ctx, f)
			if err != nil {
				return err
			}
			defer func() { w.Close() }()
			if private, err := book.HoldsWages(ctx, w); err != nil {
				return err
			} else if private && !wages {
				return warehouse.WagesHidden("the sheet " + args[0])
			}
			assumptions, err := reports.ParseAssumptions(assumed, cost)
			if err != nil {
				return err
			}
			if assumptions.Given() != (args[0] == "what_if") {
				return problem.List{{What: "what_if, and no other sheet, takes --set and --cost", Code: reports.CodeBadAssumption, Usage: true,
					Hint: "trusstally report what_if --set setup_min=2 --cost 180000"}}
			}
			period, err := p.period(ctx, w, f, book.Monthly, week, month, from, until)
			if err != nil {
				return err
			}
			period = period.Assuming(assumptions)
			var faulty problem.List
			if own {
				if err := w.Close(); err != nil {
					return err
				}
				var books []*reports.Book
				if books, faulty, err = p.booksWithOwn(ctx, f, func(one *reports.Book) (reports.Period, bool) { return period, one.Name == book.Name }); err != nil {
					return err
				}
				reader, err := p.openLocked(ctx, f)
				if err != nil {
					return err
				}
				w = reader
				if book, err = reports.Find(books, args[0]); err != nil {
					if list := problemsOf(faulty, args[0]); len(list) > 0 {
						return list
					}
					return err
				}
			}
			if _, err := reports.Fill(ctx, w, period, book); err != nil {
				return err
			}
			if err := p.writeReport(ctx, w, f, book, args[0], period, format, to); err != nil || len(faulty) == 0 || len(book.Sheets) == 1 {
				return err
			}
			return faulty // the sheets that are missing from the book
		},
	}
	flags := command.Flags()
	flags.StringVar(&week, "week", "", "a week, as 2026-W46")
	flags.StringVar(&month, "month", "", "a month, as 2026-10")
	flags.StringVar(&from, "from", "", "the first day, as 2026-11-02")
	flags.StringVar(&until, "until", "", "the day after the last, as 2026-11-09")
	flags.StringVar(&format, "format", "xlsx", "xlsx, csv or json")
	flags.StringVar(&to, "to", "", "the file to write")
	flags.BoolVar(&wages, "wages", false, "show what holds wages")
	flags.StringArrayVar(&assumed, "set", nil, "what_if: an assumption, as setup_min=2; may be given more than once")
	flags.StringVar(&cost, "cost", "", "what_if: what it costs, in dollars")
	command.MarkFlagsMutuallyExclusive("week", "month", "from")
	command.MarkFlagsMutuallyExclusive("week", "month", "until")
	return command
}

// openBuilt opens the warehouse locked, after prepare, and says whether its ledgers were built
// with another plant.toml or by another version. One in which none were built is a
// problem.List.
func (p *program) openBuilt(ctx context.Context, f *folder, prepare ...string) (w *warehouse.Warehouse, stale bool, err error) {
	if w, err = p.openLocked(ctx, f, prepare...); err != nil {
		return nil, false, err
	}
	// A dry run of the first import leaves a warehouse in which nothing was built.
	built, err := warehouse.LedgersBuilt(ctx, w.DB)
	if err == nil && !built {
		err = warehouse.NothingImported()
	}
	if err == nil {
		stale, err = warehouse.LedgersStale(ctx, w.DB, f.settings)
	}
	if err != nil {
		return nil, false, errors.Join(err, w.Close())
	}
	return w, stale, nil
}

// openForReading opens the warehouse locked, and says when its ledgers were built with
// another plant.toml.
func (p *program) openForReading(ctx context.Context, f *folder) (*warehouse.Warehouse, error) {
	w, stale, err := p.openBuilt(ctx, f)
	if err != nil {
		return nil, err
	}
	if stale {
		problem.List{{What: "warning: plant.toml or the program has changed since the ledgers were built", Code: codeStaleLedgers,
			Hint: "build them anew: trusstally run"}}.Print(p.stderr, p.verbose)
	}
	return w, nil
}

// period reads the period flags, or takes the newest week (for a monthly book the last full
// month at its end).
func (p *program) period(ctx context.Context, w *warehouse.Warehouse, f *folder, monthly bool, week, month, from, until string) (reports.Period, error) {
	switch {
	case week != "":
		return reports.Week(week, f.settings.WeekStartDay)
	case month != "":
		return reports.Month(month)
	case from != "" || until != "":
		return reports.Days(from, until)
	}
	period, ok, err := p.weekPeriod(ctx, w, f, "")
	if err != nil {
		return period, err
	}
	if !ok {
		return period, problem.List{{What: "no week that has ended holds a punch or a completion", Code: codeNoWeek, Usage: true,
			Hint: "name the days with --from and --until"}}
	}
	if monthly {
		period = period.LastFullMonth()
	}
	return period, nil
}

func (p *program) writeReport(ctx context.Context, w *warehouse.Warehouse, f *folder, book *reports.Book, name string, period reports.Period, format, to string) error {
	private, err := book.HoldsWages(ctx, w)
	if err != nil {
		return err
	}
	switch format {
	case "xlsx":
		if to == "" {
			to = name + "-" + period.Label + ".xlsx"
		}
		if _, err := reports.KeepChecks(ctx, w); err != nil {
			return err
		}
		if err := book.WriteFile(ctx, to, modeOf(private), w, period, f.settings.Name); err != nil {
			return err
		}
		fmt.Fprintln(p.stdout, filepath.ToSlash(to))
		return nil
	case "json", "csv":
		write := func(out io.Writer) error {
			if format == "csv" {
				if len(book.Sheets) > 1 {
					return problem.List{{What: fmt.Sprintf("%s is a book of %d sheets, and CSV holds one", name, len(book.Sheets)), Code: codeNotOneSheet, Usage: true,
						Hint: "name one of its sheets; trusstally list shows them"}}
				}
				return book.Sheets[0].WriteCSV(ctx, out, w, period)
			}
			return book.WriteJSON(ctx, out, w, period)
		}
		if to == "" {
			return write(p.stdout)
		}
		file, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
		if err != nil {
			return err
		}
		if private {
			err = file.Chmod(0o600) // it may have been there, for everybody to read
		}
		if err == nil {
			err = write(file)
		}
		return errors.Join(err, file.Close())
	default:
		hint := "xlsx, csv or json"
		if near := problem.Nearest(format, []string{"xlsx", "csv", "json"}); near != "" {
			hint = "did you mean " + near + "?"
		}
		return problem.List{{What: fmt.Sprintf("there is no format of that name (%s)", format), Code: codeUnknownFormat, Usage: true, Hint: hint}}
	}
}
