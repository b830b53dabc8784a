package trail

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"trusstally/sql/warehouse"
)

// allDays is after every day of a warehouse.
const allDays = "2100-01-01"

// class is one row of sql/explain/classes.sql.
type class struct {
	figure, name     string
	isCost, isPay    bool
	parts, partsFeed string
}

// Trail loads jobs and gathers the rows of files that they come from.
type Trail struct {
	from    *warehouse.Warehouse
	wages   bool
	only    string // figure or class, "" for all
	classes []class
	rows    map[rowKey]*Row
	files   map[int64]*File
	order   []int64 // imports that rows stand in
}

type rowKey struct{ importID, line int64 }

// Open reads which classes there are. Without wages, what is one employee's pay is loaded
// as totals of the job alone.
func Open(ctx context.Context, from *warehouse.Warehouse, wages bool) (*Trail, error) {
	t := &Trail{from: from, wages: wages, rows: map[rowKey]*Row{}, files: map[int64]*File{}}
	err := t.each(ctx, "classes", nil, func(r record) error {
		t.classes = append(t.classes, class{
			figure: r.text("figure"), name: r.text("class"), isCost: r.isTrue("is_cost"), isPay: r.isTrue("is_pay"), parts: r.text("parts"), partsFeed: r.text("parts_feed"),
		})
		return nil
	})
	if err != nil {
		return nil, err
	}
	return t, t.each(ctx, "imports", nil, func(r record) error {
		t.files[r.whole("import_id")] = &File{Feed: r.text("feed"), Name: r.text("file_name"), SHA256: r.text("sha256"), Archive: r.text("archive_name")}
		return nil
	})
}

// Names are what a trail can be narrowed to: figures, then classes of dollar_ledger.
func (t *Trail) Names() []string {
	var names []string
	seen := map[string]bool{}
	for _, of := range []func(class) string{func(c class) string { return c.figure }, func(c class) string { return c.name }} {
		for _, c := range t.classes {
			if name := of(c); !seen[name] {
				seen[name] = true
				names = append(names, name)
			}
		}
	}
	return names
}

// Narrow keeps one figure or class. It is one of Names.
func (t *Trail) Narrow(name string) { t.only = name }

// HoldsPay says whether the figure or class is, or has in it, what one employee earns.
func (t *Trail) HoldsPay(name string) bool {
	for _, c := range t.chosen(name) {
		if c.isPay {
			return true
		}
	}
	return false
}

// chosen returns the classes of a figure, or the one class of that name. A name of both is
// the figure.
func (t *Trail) chosen(name string) []class {
	var figure, single []class
	for _, c := range t.classes {
		if c.figure == name {
			figure = append(figure, c)
		}
		if c.name == name {
			single = append(single, c)
		}
	}
	if figure != nil {
		return figure
	}
	return single
}

// Jobs returns the jobs of the feed.
func (t *Trail) Jobs(ctx context.Context) ([]string, error) {
	var jobs []string
	err := t.each(ctx, "jobs", nil, func(r record) error {
		jobs = append(jobs, r.text("job"))
		return nil
	})
	return jobs, err
}

// Files returns the files that rows of the loaded jobs stand in, in the order in which they
// are first named.
func (t *Trail) Files() []*File {
	files := make([]*File, len(t.order))
	for i, id := range t.order {
		files[i] = t.files[id]
	}
	return files
}

// row is the row of an import, the same for all who name it; nil without one.
func (t *Trail) row(importID, line int64) (*Row, error) {
	if importID == 0 {
		return nil, nil
	}
	key := rowKey{importID, line}
	if known := t.rows[key]; known != nil {
		return known, nil
	}
	file := t.files[importID]
	if file == nil {
		return nil, fmt.Errorf("explain: a ledger names import %d, which is not in the import log", importID)
	}
	row := &Row{Feed: file.Feed, File: file.Name, Line: line, Place: fmt.Sprintf("%s:%d", file.Name, line), importID: importID}
	if file.Rows == nil {
		t.order = append(t.order, importID)
	}
	file.Rows = append(file.Rows, row)
	t.rows[key] = row
	return row, nil
}

// record is one row of a SELECT by the names of its columns.
type record struct {
	columns []warehouse.ResultColumn
	cells   []any
}

func (r record) cell(name string) any {
	for i, column := range r.columns {
		if column.Name == name {
			return r.cells[i]
		}
	}
	return nil
}

// text writes a cell: dates and times ISO, a blank as "".
func (r record) text(name string) string {
	for i, column := range r.columns {
		if column.Name == name {
			return cellText(r.cells[i], column.Type)
		}
	}
	return ""
}

func cellText(cell any, kind string) string {
	switch v := cell.(type) {
	case nil:
		return ""
	case time.Time:
		if kind == "DATE" {
			return v.Format("2006-01-02")
		}
		return v.Format("2006-01-02 15:04:05")
	default:
		return fmt.Sprint(v)
	}
}

// known is text, nil where the cell is blank.
func (r record) known(name string) *string {
	if r.cell(name) == nil {
		return nil
	}
	text := r.text(name)
	return &text
}

func (r record) isTrue(name string) bool { return r.cell(name) == true }

// whole is a whole number, 0 where the cell is blank.
func (r record) whole(name string) int64 {
	n, _ := strconv.ParseInt(r.text(name), 10, 64)
	return n
}

// cents is a column of dollars; one that is not there is an error.
func (r record) cents(name string) (Cents, error) {
	cents, err := ParseCents(r.text(name))
	if err != nil {
		return 0, fmt.Errorf("explain: column %s: %w", name, err)
	}
	return cents, nil
}

// ParseCents reads dollars with two decimals.
func ParseCents(text string) (Cents, error) {
	dollars, decimals, found := strings.Cut(text, ".")
	n, err := strconv.ParseInt(dollars+decimals, 10, 64)
	if err != nil || !found || len(decimals) != 2 {
		return 0, fmt.Errorf("not dollars and cents: %q", text)
	}
	return Cents(n), nil
}

// each runs one SELECT of sql/explain.
func (t *Trail) each(ctx context.Context, name string, parameters map[string]any, visit func(record) error) error {
	text, err := warehouse.ExplainSQL(name)
	if err != nil {
		return err
	}
	var r record
	err = t.from.Query(ctx, text, parameters, func(columns []warehouse.ResultColumn) { r.columns = columns }, func(cells []any) error {
		r.cells = cells
		return visit(r)
	})
	if err != nil {
		// The engine's complaint about our own SQL is a fault of ours, not wrong use.
		return fmt.Errorf("sql/explain/%s.sql: %v", name, err)
	}
	return nil
}
