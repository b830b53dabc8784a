package workbook

import (
	"fmt"
	"strconv"
)

// View is a sheet's table as a reader of the book sees it, with the cell that each figure
// stands in: for what is written beside the book and must say the same.
type View struct {
	Columns []ViewColumn
	Rows    [][]ViewCell
	Totals  []ViewCell // nil where the sheet has no row of totals
}

// ViewColumn is the heading of a column and the unit on its second line.
type ViewColumn struct {
	Name, Heading, Unit string
	IsNumber            bool
}

// ViewCell is one cell: its text as Shown gives it, "" for a blank one, and its address on
// the sheet as "C9".
type ViewCell struct {
	Text    string
	Address string
	Number  float64 // where a chart draws it; 0 unless IsKnown
	IsKnown bool    // a number
}

// See walks the rows of one of the book's sheets and places them as Write does. The rows are
// held in memory. It is an error if the book has no sheet of that name.
func See(book Book, sheet string) (View, error) {
	for _, s := range book.Sheets {
		if s.Name != sheet {
			continue
		}
		view, err := see(s)
		if err != nil {
			return View{}, fmt.Errorf("workbook: sheet %q: %w", sheet, err)
		}
		return view, nil
	}
	return View{}, fmt.Errorf("workbook: no sheet %q", sheet)
}

func see(sheet Sheet) (view View, failed error) {
	columns, err := understandColumns(sheet.Columns)
	if err != nil {
		return View{}, err
	}
	p := &plan{Sheet: sheet, columns: columns, tallies: newTallies(columns)}
	defer func() {
		if err := closePlans([]*plan{p}); failed == nil {
			failed = err
		}
	}()
	if err := p.walk(); err != nil {
		return View{}, err
	}
	p.layout = layOut(p)
	for _, c := range columns {
		unit := c.format.unit
		if c.Unit != "" {
			unit = c.Unit
		}
		heading := c.Heading
		if heading == "" {
			heading = c.Name
		}
		view.Columns = append(view.Columns, ViewColumn{Name: c.Name, Heading: heading, Unit: unit, IsNumber: c.format.kind == kindNumber})
	}
	if p.rows.rows > 0 {
		err = p.rows.each(len(columns), 0, func(index int, row []any) error {
			cells := make([]ViewCell, len(row))
			for i, c := range columns {
				if cells[i], err = viewCell(c.format, row[i], cellName(i, p.layout.firstRow+index)); err != nil {
					return err
				}
			}
			view.Rows = append(view.Rows, cells)
			return nil
		})
		if err != nil {
			return View{}, err
		}
	}
	return view, p.seeTotals(&view)
}

// seeTotals gives the figures of the row of totals; what has none is blank.
func (p *plan) seeTotals(view *View) error {
	if !p.hasTotals() {
		return nil
	}
	view.Totals = make([]ViewCell, len(p.columns))
	for i, c := range p.columns {
		if !c.hasTotal() {
			continue
		}
		f := c.format
		if c.count {
			f = format{kind: kindNumber, pattern: "#,##0"}
		}
		value, err := p.totalValue(i)
		if err != nil {
			return err
		}
		var cell any
		switch v := value.(type) {
		case float64:
			cell = Number(strconv.FormatFloat(v, 'f', -1, 64))
		case int:
			cell = Number(strconv.Itoa(v))
		}
		if view.Totals[i], err = viewCell(f, cell, cellName(i, p.layout.totalRow)); err != nil {
			return err
		}
	}
	return nil
}

// viewCell is a settled cell as it is shown.
func viewCell(f format, cell any, address string) (ViewCell, error) {
	text, err := f.shown(cell)
	if err != nil {
		return ViewCell{}, err
	}
	shown := ViewCell{Text: text, Address: address}
	if number, ok := cell.(Number); ok && f.kind == kindNumber {
		shown.IsKnown = true
		shown.Number, err = number.cellValue()
	}
	return shown, err
}
