package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/reports/trail"
	"trusstally/sql/warehouse"
)

// explainOptions are the flags of explain.
type explainOptions struct {
	week, class, until, format string
	all, wages                 bool
}

func (p *program) explainCommand() *cobra.Command {
	var o explainOptions
	command := &cobra.Command{
		Use:   "explain JOB",
		Short: "Follow a job's margin down to the rows of the files it comes from",
		Long: `Follows the margin of a job, to date, from figure to file: revenue and each cost,
the postings of each, the boards, minutes or trusses behind a posting with the row
that each was priced by, and the rows themselves as they stand in archive/. With
--week it follows the week's margin: that of the jobs which margin_by_job lists as
complete, then each of them. Every level adds up to the one above, to the cent.

Wages are hidden unless --wages is given: labour is then shown as the job's total
by class, and rates and employees in a row as •••. It changes nothing.`,
		Example: `  # Where J1042's lumber cost comes from
  trusstally explain J1042 --class lumber

  # The margin of a week, for a program
  trusstally explain --week 2026-W46 --format json

  # As it stood before a day, every row, with wages
  trusstally explain J1042 --until 2026-11-02 --all --wages`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			if p.asJSON {
				o.format = "json"
			}
			job := ""
			if len(args) == 1 {
				job = args[0]
			}
			if (job == "") == (o.week == "") {
				return usageError{errors.New("explain takes one job, or --week")}
			}
			return p.explainFigures(command.Context(), job, o)
		},
	}
	flags := command.Flags()
	flags.StringVar(&o.week, "week", "", "a week in place of a job, as 2026-W46")
	flags.StringVar(&o.class, "class", "", "one figure or class of dollars alone, as lumber")
	flags.StringVar(&o.until, "until", "", "the day after the last, as 2026-11-09")
	flags.StringVar(&o.format, "format", "text", "text or json")
	flags.BoolVar(&o.all, "all", false, "print every row, not forty of each level")
	flags.BoolVar(&o.wages, "wages", false, "show wages")
	command.MarkFlagsMutuallyExclusive("week", "until")
	return command
}

func (p *program) explainFigures(ctx context.Context, job string, o explainOptions) error {
	if o.format != "text" && o.format != "json" {
		return problem.List{{What: fmt.Sprintf("there is no format of that name (%s)", o.format), Code: codeUnknownFormat, Usage: true, Hint: "text or json"}}
	}
	if _, err := time.Parse(time.DateOnly, o.until); o.until != "" && err != nil {
		return problem.List{{What: fmt.Sprintf("not a day (%s)", o.until), Code: reports.CodeBadPeriod, Usage: true, Hint: "write --until 2026-11-09; it is the day after the last"}}
	}
	f, err := p.openFolder()
	if err != nil {
		return err
	}
	w, err := p.openForReading(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	t, err := trail.Open(ctx, w, o.wages)
	if err != nil {
		return err
	}
	if err := narrow(t, o); err != nil {
		return err
	}
	var tree interface {
		WriteText(out io.Writer, all bool) error
	}
	if o.week != "" {
		tree, err = explainWeek(ctx, w, t, f, o.week)
	} else {
		tree, err = explainJob(ctx, t, job, o.until)
	}
	if err != nil {
		return err
	}
	unread, err := f.quoteRows(t, o.wages)
	if err != nil {
		return err
	}
	if o.format == "json" {
		err = trail.WriteJSON(p.stdout, tree)
	} else {
		err = tree.WriteText(p.stdout, o.all)
	}
	if err != nil {
		return err
	}
	if len(unread) > 0 {
		return unread
	}
	return nil
}

// narrow keeps the figure or class of --class.
func narrow(t *trail.Trail, o explainOptions) error {
	if o.class == "" {
		return nil
	}
	names := t.Names()
	if err := oneOf(o.class, names, "figure or class of dollars", codeUnknownClass, "they are "+strings.Join(names, ", ")); err != nil {
		return err
	}
	if t.HoldsPay(o.class) && !o.wages {
		return warehouse.WagesHidden(o.class)
	}
	t.Narrow(o.class)
	return nil
}

func explainJob(ctx context.Context, t *trail.Trail, job, until string) (*trail.Job, error) {
	jobs, err := t.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	if err := oneOf(job, jobs, "job", codeUnknownJob, "trusstally query \"SELECT job FROM jobs\" lists them"); err != nil {
		return nil, err
	}
	return t.Job(ctx, job, until)
}

// explainWeek asks margin_by_job which jobs are complete.
func explainWeek(ctx context.Context, w *warehouse.Warehouse, t *trail.Trail, f *folder, label string) (*trail.Week, error) {
	period, err := reports.Week(label, f.settings.WeekStartDay)
	if err != nil {
		return nil, err
	}
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return nil, err
	}
	sheet, err := reports.Find(books, "margin_by_job")
	if err != nil {
		return nil, err
	}
	from, until := period.From.Format(time.DateOnly), period.Until.Format(time.DateOnly)
	at := map[string]int{}
	var jobs []string
	var margins []trail.Cents
	err = w.Query(ctx, sheet.Sheets[0].SQL, map[string]any{"from": from, "until": until},
		func(columns []warehouse.ResultColumn) {
			for i, column := range columns {
				at[column.Name] = i
			}
		},
		func(row []any) error {
			if row[at["status"]] != "complete" {
				return nil
			}
			margin, err := trail.ParseCents(fmt.Sprint(row[at["margin_usd"]]))
			jobs, margins = append(jobs, fmt.Sprint(row[at["job"]])), append(margins, margin)
			return err
		})
	if err != nil {
		return nil, err
	}
	return t.Week(ctx, label, from, until, jobs, margins)
}

// quoteRows reads the rows of the trail again from archive/. Files that cannot be read are
// returned as problems; their rows stay without text.
func (f *folder) quoteRows(t *trail.Trail, wages bool) (problem.List, error) {
	var unread problem.List
	for _, file := range t.Files() {
		feed, known := ingest.FeedByName(file.Feed)
		if !known {
			return nil, fmt.Errorf("explain: the import log names the feed %s", file.Feed)
		}
		var lines []int64
		for _, row := range file.Rows {
			lines = append(lines, row.Line)
		}
		hide := func(c ingest.Column) bool { return c.Wage || c.Name == "employee" }
		if wages {
			hide = nil
		}
		from := ingest.Copy{Name: file.Name, SHA256: file.SHA256, Path: filepath.Join(f.archive(), file.Archive)}
		quoted, err := ingest.Quote(from, feed, f.landing(feed, false), hide, lines)
		var refused problem.List
		switch {
		case errors.As(err, &refused):
			unread = append(unread, refused...)
			continue
		case err != nil:
			return nil, err
		}
		for _, row := range file.Rows {
			text := quoted[row.Line].Text
			row.Place, row.Text = quoted[row.Line].Place, &text
		}
	}
	return unread, nil
}

// oneOf is a problem when the name is none of those that are valid.
func oneOf(name string, valid []string, kind, code, hint string) error {
	if slices.Contains(valid, name) {
		return nil
	}
	if near := problem.Nearest(name, valid); near != "" {
		hint = "did you mean " + near + "?"
	}
	return problem.List{{What: fmt.Sprintf("there is no %s of that name (%s)", kind, name), Code: code, Usage: true, Hint: hint}}
}
