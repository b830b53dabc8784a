package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

func (p *program) groupCommand() *cobra.Command {
	var week, to string
	command := &cobra.Command{
		Use:   "group DIR…",
		Short: "Write the week's books over several plants",
		Long: `Writes the books of the week over the plants in the folders DIR to FOLDER/WEEK: the
sheets of job-margin, lumber-yield and crews-shifts, each with the plant as its first
column and with totals over all plants. Every book begins with one row a plant. Every
figure is one of the plant's own book, or a sum of them. It changes nothing in a
plant's folder; each plant goes on with its own run.

Without --week it takes the newest week that has ended and in which any of the plants
has a punch or a completion. A plant that can't be read, that has read nothing yet, whose
ledgers another version or another plant.toml built, or that another run still has after
--wait is left out: the first line of every book and the last one printed name it.
Nothing is written where the call itself is wrong: a folder without plant.toml, one plant
twice, two plants of one name, workweeks that start on different days, a FOLDER within a
plant's folder.

Left out are month end, since it holds pay; the comparison of crews, shifts and tables,
since among many plants some look different by chance alone; charts of one plant's rows,
lists of files, and sheets of a plant's own. They are in the plant's own books.
Exit code 1 says that a plant is left out, or that a balance doesn't balance.`,
		Example: `  # Every Monday, when the plants have run
  trusstally group plants/mill plants/yard

  # An earlier week, into a folder of one's own
  trusstally group plants/* --week 2026-W40 --to group-of-october`,
		Args: cobra.MinimumNArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
		RunE: func(command *cobra.Command, args []string) error {
			plants, err := openGroup(args)
			if err != nil {
				return err
			}
			if err := keepOutOf(plants, to); err != nil {
				return err
			}
			return p.writeGroup(command.Context(), plants, week, to)
		},
	}
	command.Flags().StringVar(&week, "week", "", "the week, as 2026-W46")
	command.Flags().StringVar(&to, "to", "group-books", "the folder to write to; the week's folder is made in it")
	return command
}

// writeGroup reads the plants, as many at once as there are cores, and writes the books. The
// last line that it prints says in one what became of it.
func (p *program) writeGroup(ctx context.Context, plants []*groupPlant, week, to string) error {
	period, err := p.groupPeriod(ctx, plants, week)
	if err != nil {
		return err
	}
	group, err := reports.NewGroup(warehouse.ReportFiles(), period)
	if err != nil {
		return err
	}
	defer closeSheets(plants)
	if err := p.readGroup(ctx, group, plants); err != nil {
		return err
	}
	var leftOut problem.List
	list := make([]*reports.GroupPlant, len(plants))
	for i, one := range plants {
		leftOut = append(leftOut, one.problems...)
		list[i] = &reports.GroupPlant{Name: one.name, LeftOut: one.says, Sheets: one.sheets}
	}
	leftOut.Print(p.stderr, p.verbose)
	if len(remaining(plants)) == 0 {
		return problem.List{{What: "every plant of the group is left out: no books written", Code: codeEmptyGroup, Hint: "settle what is said of each plant, then run the same again"}}
	}
	memory, err := warehouse.OpenMemory(ctx)
	if err != nil {
		return err
	}
	defer memory.Close()
	books, err := group.Books(ctx, memory, list)
	if err != nil {
		return err
	}
	written, open, err := writeGroupBooks(books, filepath.Join(to, period.Label))
	if err != nil {
		return err
	}
	open.Print(p.stderr, p.verbose)
	if err := p.sayGroup(books, plants, period, written, open); err != nil {
		return err
	}
	if len(remaining(plants)) < len(plants) || len(books.Unbalanced()) > 0 || len(open) > 0 {
		return exitCode(exitData)
	}
	return nil
}

// writeGroupBooks writes the books into the folder, side by side, and returns their paths. A
// book that another program has open stays as it is, and the others are written.
func writeGroupBooks(books *reports.GroupBooks, folder string) (written []string, open problem.List, err error) {
	err = os.MkdirAll(folder, 0o755)
	if errors.Is(err, syscall.ENOTDIR) || errors.Is(err, fs.ErrExist) {
		return nil, nil, problem.List{{Place: filepath.ToSlash(folder), What: "no folder can be made there", Code: codeCannotWrite, Hint: "name a folder, or one that can be made", Cause: err}}
	}
	if err != nil {
		return nil, nil, err
	}
	names := books.Names()
	taken := make([]*problem.Problem, len(names))
	err = sideBySide(len(names), runtime.NumCPU(), func(number int) error {
		path := filepath.Join(folder, names[number]+".xlsx")
		err := books.WriteFile(path, number)
		if err != nil && openElsewhere(path, err) {
			taken[number] = notReplaced(filepath.ToSlash(path), err)
			return nil
		}
		if err != nil {
			return fmt.Errorf("%s: %w", names[number], err)
		}
		return nil
	})
	for number, name := range names {
		if taken[number] != nil {
			open = append(open, taken[number])
		} else {
			written = append(written, filepath.ToSlash(filepath.Join(folder, name+".xlsx")))
		}
	}
	return written, open, err
}

// sayGroup prints the books that were written and what became of the plants.
func (p *program) sayGroup(books *reports.GroupBooks, plants []*groupPlant, period reports.Period, written []string, open problem.List) error {
	if p.asJSON {
		var figures bytes.Buffer
		if err := books.WriteJSON(&figures); err != nil {
			return err
		}
		return p.printJSON(struct {
			Week   string          `json:"week"`
			Books  []string        `json:"books"`
			Plants json.RawMessage `json:"plants"` // the sheet plants
		}{period.Label, written, figures.Bytes()})
	}
	for _, path := range written {
		fmt.Fprintln(p.stdout, path)
	}
	state := "every balance holds"
	if names := books.Unbalanced(); len(names) > 0 {
		state = "DOES NOT BALANCE: " + strings.Join(names, ", ")
	}
	var leftOut []string
	for _, one := range plants {
		if len(one.problems) > 0 {
			leftOut = append(leftOut, one.name)
		}
	}
	if len(leftOut) > 0 {
		state += "; LEFT OUT: " + strings.Join(leftOut, ", ")
	}
	fmt.Fprintln(p.stdout, problem.Plain(fmt.Sprintf("%s: %s of %s written; %s%s", period.Label, counted(int64(len(written)), "book"),
		counted(int64(len(remaining(plants))), "plant"), state, notReplacedWords(open))))
	return nil
}
