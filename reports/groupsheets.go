package reports

import (
	"context"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"trusstally/reports/workbook"
	"trusstally/sql/warehouse"
)

// Columns of the sheet plants, and the states in its second one, as sql/reports/group has them.
const (
	frontPlant, frontState, frontSays = 0, 1, 2

	stateLeftOut    = "LEFT OUT"
	stateUnbalanced = "DOES NOT BALANCE"
	stateNothing    = "NOTHING LOGGED"
)

// plantColumn is the first column of every sheet of a group.
var plantColumn = Column{Name: "plant", Heading: "Plant", Format: "text", Total: "-", Meaning: "name in its plant.toml"}

// frontColumns are the columns of the sheet plants that a book shows beside plant, state and
// what it says: all of them are too many for a page. Pace stands beside quality and injuries.
var frontColumns = map[string]string{
	"job-margin":   "jobs incomplete at_stake_usd revenue_usd cost_usd margin_usd margin_pct failing looks unrecorded",
	"lumber-yield": "net_bf waste_bf waste_pct waste_usd failing looks unrecorded",
	"crews-shifts": "paid_min waiting_min waiting_pct trusses finished_bf labour_min labour_min_per_truss passed completed first_pass_pct inspected to_inspect inspected_pct cases worked_hours case_rate failing",
}

// frontOf is the sheet plants as a book shows it, and the places of its columns among all. A
// book that is not listed shows all.
func frontOf(plants *Definition, of *Book) (*Definition, []int) {
	shown := *plants
	shown.Columns, shown.Charts, shown.Emphasis = nil, nil, nil
	wanted := strings.Fields("plant state says " + frontColumns[of.Name])
	all := frontColumns[of.Name] == ""
	there := map[string]bool{}
	var places []int
	for i, column := range plants.Columns {
		if all || slices.Contains(wanted, column.Name) {
			shown.Columns, places = append(shown.Columns, column), append(places, i)
			there[column.Name] = true
		}
	}
	for _, chart := range plants.Charts {
		if !slices.ContainsFunc(chart.Series, func(name string) bool { return !there[name] }) {
			shown.Charts = append(shown.Charts, chart)
		}
	}
	for _, emphasis := range plants.Emphasis {
		if there[emphasis.Column] {
			shown.Emphasis = append(shown.Emphasis, emphasis)
		}
	}
	return &shown, places
}

// frontReads are the sheets that the sheet plants reads: the temporary tables of their names.
var frontReads = []string{"checks", "margin_summary", "waste_by", "minutes_accounted", "labour_per_truss", "quality_and_safety"}

// shelve puts the plants, and those sheets of theirs that the sheet plants reads, into
// temporary tables.
func shelve(ctx context.Context, memory Source, plants []*GroupPlant) error {
	// grain: one plant of the group
	tables := []string{"CREATE TEMP TABLE group_plants (plant VARCHAR NOT NULL, left_out VARCHAR)"}
	var columns map[string][]warehouse.ResultColumn
	for _, plant := range plants {
		if plant.LeftOut == "" {
			columns = plant.Sheets.columns
		}
	}
	if columns == nil {
		return fmt.Errorf("a group of which every plant is left out")
	}
	for _, sheet := range frontReads {
		// grain: one row of the sheet of one plant
		list := []string{"plant VARCHAR NOT NULL"}
		for _, column := range columns[sheet] {
			list = append(list, fmt.Sprintf("%q %s", column.Name, column.Type))
		}
		tables = append(tables, fmt.Sprintf("CREATE TEMP TABLE %s (%s)", sheet, strings.Join(list, ", ")))
	}
	for _, table := range tables {
		if _, err := memory.DB.ExecContext(ctx, table); err != nil {
			return err
		}
	}
	rows := temporaryRows{}
	for _, plant := range plants {
		if plant.LeftOut != "" {
			rows.add("group_plants", plant.Name, plant.LeftOut)
			continue
		}
		rows.add("group_plants", plant.Name, null{})
		for _, sheet := range frontReads {
			for cells, err := range plant.Sheets.shelf.Rows(sheet) {
				if err != nil {
					return err
				}
				rows.add(sheet, append([]any{plant.Name}, literals(cells)...)...)
			}
		}
	}
	return rows.store(ctx, memory, append([]string{"group_plants"}, frontReads...))
}

// literals are the cells as temporaryRows takes them.
func literals(cells []any) []any {
	list := make([]any, len(cells))
	for i, cell := range cells {
		switch value := cell.(type) {
		case nil:
			list[i] = null{}
		case workbook.Number:
			list[i] = figure(value)
		case time.Time:
			list[i] = value.Format(time.DateTime)
		default:
			list[i] = value
		}
	}
	return list
}

// workbook is the plants, the book's own sheets with the plant as their first column, checks
// and definitions.
func (b *GroupBooks) workbook(of *Book) workbook.Book {
	period := b.group.period
	book := workbook.Book{
		Title: of.Title + ", " + b.whose() + ", " + period.Label, Subject: b.whose() + ", for " + of.ForWhom(), Author: "trusstally",
		// The period's end, not the clock: the same data give the same bytes.
		Created: period.Until,
		Footer:  b.whose() + ", " + period.String(),
	}
	place := func(d *Definition) string { return d.Title + ", " + b.whose() + ", " + period.String() }
	plants, places := frontOf(b.group.plants, of)
	front := plants.layout(b.loudest() + of.Title + " for " + of.ForWhom() + ", " + b.whose() + ", " + period.String())
	front.Notes = slices.Concat(b.alarms(), []string{"Written by trusstally " + Version + "."}, front.Notes)
	front.Rows = b.frontRows(places)
	book.Sheets = append(book.Sheets, front)

	defined := &Book{Title: of.Title, Sheets: []*Definition{plants}}
	for _, d := range append(slices.Clone(of.Sheets), b.group.checks) {
		over := overPlants(d)
		sheet := over.layout(place(over))
		sheet.Notes = append(b.reminders(), sheet.Notes...)
		sheet.Rows = b.rows(d.Sheet)
		book.Sheets = append(book.Sheets, sheet)
		if d != b.group.checks {
			defined.Sheets = append(defined.Sheets, over)
		}
	}
	book.Sheets = append(book.Sheets, defined.definitions(b.whose()))
	return book
}

// overPlants is the sheet with the plant as its first column. Its charts are of one plant's
// rows, and its links lead to the first row of a name that several plants can have: both are
// in the plants' own books.
func overPlants(d *Definition) *Definition {
	over := *d
	over.Columns = append([]Column{plantColumn}, d.Columns...)
	over.Grain = "of each plant in the group, by name: " + d.Grain
	over.Sort = "plant, " + d.Sort
	over.Charts, over.Links = nil, nil
	return &over
}

// whose is how many plants the figures are of: "12 plants", or "11 of 12 plants".
func (b *GroupBooks) whose() string {
	in := len(b.plants) - len(b.in(stateLeftOut))
	switch {
	case in < len(b.plants):
		return fmt.Sprintf("%d of %d plants", in, len(b.plants))
	case in == 1:
		return "1 plant"
	}
	return fmt.Sprintf("%d plants", in)
}

// loudest begins the title of the first sheet: which plants are left out or don't balance.
func (b *GroupBooks) loudest() string {
	said := ""
	for _, state := range []string{stateLeftOut, stateUnbalanced} {
		if names := b.in(state); len(names) > 0 {
			said += state + ": " + strings.Join(names, ", ") + ". "
		}
	}
	return said
}

// alarms are the first lines under it: the plants that are left out, that don't balance or
// of which nothing is logged, each with what its row says.
func (b *GroupBooks) alarms() []string {
	var lines []string
	for _, alarm := range []struct{ state, words string }{
		{stateLeftOut, "LEFT OUT, in no figure of this book: "},
		{stateUnbalanced, "DOES NOT BALANCE, not to be relied on until it is settled: "},
		{stateNothing, "NOTHING LOGGED in the period, neither a minute, a truss nor a board: "},
	} {
		for _, row := range b.front {
			if text(row[frontState]) != alarm.state {
				continue
			}
			line := alarm.words + text(row[frontPlant])
			if says := text(row[frontSays]); says != "" {
				line += ": " + says
			}
			lines = append(lines, line)
		}
	}
	return lines
}

// reminders are the first lines of every other sheet.
func (b *GroupBooks) reminders() []string {
	var lines []string
	if names := b.in(stateLeftOut); len(names) > 0 {
		lines = append(lines, "LEFT OUT, in no figure of this sheet: "+strings.Join(names, ", ")+" (sheet plants).")
	}
	if names := b.Unbalanced(); len(names) > 0 {
		lines = append(lines, "DOES NOT BALANCE: "+strings.Join(names, ", ")+" (sheet plants).")
	}
	return lines
}

// frontRows are the rows of the sheet plants for a workbook, of those of its columns.
func (b *GroupBooks) frontRows(places []int) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		for _, row := range b.front {
			cells := make([]any, len(places))
			for i, place := range places {
				cells[i] = row[place]
			}
			if !yield(workbookCells(cells), nil) {
				return
			}
		}
	}
}

// rows are those of all plants' sheets of the name, each behind its plant.
func (b *GroupBooks) rows(sheet string) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		var cells []any
		for _, plant := range b.plants {
			if plant.LeftOut != "" {
				continue
			}
			for row, err := range plant.Sheets.shelf.Rows(sheet) {
				if err != nil {
					yield(nil, err)
					return
				}
				cells = append(append(cells[:0], plant.Name), row...)
				if !yield(cells, nil) {
					return
				}
			}
		}
	}
}
