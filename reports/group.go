package reports

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"trusstally/reports/workbook"
	"trusstally/sql/warehouse"
)

// groupLeavesOut are the sheets of weekly books that a group's books don't have, and why. They
// are in each plant's own.
var groupLeavesOut = map[string]string{
	"like_for_like":        "of the comparisons of many plants some look different by chance alone",
	"funnel":               "its points mean something only between the lines of one plant's chart",
	"like_for_like_detail": "it tells what a plant's own comparison rests on",
	"truss_classes":        "classes are of one plant's mix",
}

// Group is the weekly books of several plants for one period: every sheet with the plant as
// its first column, and before them one row a plant. It is read only once made, so that
// plants may be read side by side.
type Group struct {
	period Period
	plants *Definition // one row a plant, over the sheets that groupReads names
	checks *Definition
	books  []*Book // the weekly ones, without the sheets that a group leaves out
}

// GroupPlant is one plant of a group: its name, and its sheets or why it is left out.
type GroupPlant struct {
	Name    string
	LeftOut string       // in words that are the same whenever it happens; "" of a plant that is in
	Sheets  *PlantSheets // nil of one that is left out
}

// PlantSheets are the rows of a plant's sheets for a group's period. Close them.
type PlantSheets struct {
	shelf   workbook.Shelf
	columns map[string][]warehouse.ResultColumn // by sheet
}

// Close gives back what the rows took.
func (s *PlantSheets) Close() error { return s.shelf.Close() }

// NewGroup reads the definitions of the folder for a group's books of the period.
func NewGroup(files fs.FS, period Period) (*Group, error) {
	books, err := Books(files)
	if err != nil {
		return nil, err
	}
	g := &Group{period: period}
	g.period.book = "group" // no plant's payroll stands on its sheet checks
	if g.plants, err = definition(files, "group", "plants"); err != nil {
		return nil, err
	}
	for _, book := range books {
		if book.Monthly {
			continue // holds pay
		}
		g.checks = book.checks
		kept := *book
		kept.Sheets = nil
		for _, d := range book.Sheets {
			if groupLeavesOut[d.Sheet] == "" {
				kept.Sheets = append(kept.Sheets, d)
			}
		}
		g.books = append(g.books, &kept)
	}
	return g, nil
}

// Read works out and keeps the rows of a plant's sheets, as report and run would write them.
// from is the plant's warehouse, opened for this alone; nothing in it is changed, and cutting
// plans that it does not keep are worked out and let go.
func (g *Group) Read(ctx context.Context, from Source) (*PlantSheets, error) {
	if _, err := keepResults(ctx, from); err != nil {
		return nil, err
	}
	if err := KeepJobs(ctx, from, g.period, g.books); err != nil {
		return nil, err
	}
	// No sheet of a group compares crews, shifts and tables.
	if _, err := fill(ctx, from, g.period, func(temporaryRows, []comparedRun) {}, g.books); err != nil {
		return nil, err
	}
	sheets := &PlantSheets{columns: map[string][]warehouse.ResultColumn{}}
	for _, d := range g.sheets() {
		described := func(columns []warehouse.ResultColumn) { sheets.columns[d.Sheet] = columns }
		if err := sheets.shelf.Put(d.Sheet, len(d.Columns), d.rowsDescribed(ctx, from, g.period, described)); err != nil {
			return nil, errors.Join(fmt.Errorf("sheet %s: %w", d.Sheet, err), sheets.Close())
		}
	}
	return sheets, nil
}

// sheets are those of all books, and the checks.
func (g *Group) sheets() []*Definition {
	list := []*Definition{g.checks}
	for _, book := range g.books {
		list = append(list, book.Sheets...)
	}
	return list
}

// GroupBooks are the books of a group whose plants were read, ready to be written.
type GroupBooks struct {
	group  *Group
	plants []*GroupPlant // by name
	front  [][]any       // the rows of the sheet plants
}

// Books puts the plants' sheets together, in order of the plants' names whatever their order
// here. The figures of the sheet plants are worked out in memory (warehouse.OpenMemory), from
// cells of these sheets alone.
func (g *Group) Books(ctx context.Context, memory Source, plants []*GroupPlant) (*GroupBooks, error) {
	b := &GroupBooks{group: g, plants: slices.Clone(plants)}
	slices.SortFunc(b.plants, func(a, c *GroupPlant) int { return strings.Compare(a.Name, c.Name) })
	if err := shelve(ctx, memory, b.plants); err != nil {
		return nil, err
	}
	err := g.plants.each(ctx, memory, g.period, func(row []any) error {
		b.front = append(b.front, slices.Clone(row))
		return nil
	})
	return b, err
}

// Names are those of the books, in their order.
func (b *GroupBooks) Names() []string {
	names := make([]string, len(b.group.books))
	for i, book := range b.group.books {
		names[i] = book.Name
	}
	return names
}

// WriteFile writes the book of that number in Names to path by way of a temporary name beside
// it. Several may be written side by side.
func (b *GroupBooks) WriteFile(path string, number int) error {
	return workbook.WriteFile(path, 0o644, b.workbook(b.group.books[number]))
}

// WriteJSON writes the sheet plants as Definition.WriteJSON does.
func (b *GroupBooks) WriteJSON(out io.Writer) error {
	return writeArray(out, b.group.plants, func(row func([]any) error) error {
		for _, cells := range b.front {
			if err := row(cells); err != nil {
				return err
			}
		}
		return nil
	})
}

// Unbalanced are the names of the plants of which a balance doesn't balance.
func (b *GroupBooks) Unbalanced() []string { return b.in(stateUnbalanced) }

// in are the names of the plants in that state.
func (b *GroupBooks) in(state string) []string {
	var names []string
	for _, row := range b.front {
		if text(row[frontState]) == state {
			names = append(names, text(row[frontPlant]))
		}
	}
	return names
}
