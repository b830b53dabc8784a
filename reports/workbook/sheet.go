package workbook

import (
	"fmt"
	"slices"

	"github.com/xuri/excelize/v2"
)

const (
	nothingToShow = "nothing to show for this period"

	// highestFrozen is how many rows may be frozen: more fill a small window and
	// leave nothing to scroll.
	highestFrozen = 18

	tableStyle = "TableStyleLight1" // grey bands, no colour

	// mostLinks keeps to what spreadsheet programs take and the library adds in reasonable
	// time.
	mostLinks = 10_000
)

// sheetWriter writes one planned sheet. The library loses what is asked of a sheet once
// its stream has been flushed, and some of what is asked after the stream was opened: page,
// links, conditional formats and charts come first, then widths and panes, then rows, then
// the table.
type sheetWriter struct {
	*plan
	file   *excelize.File
	styles *styleSheet
	number int // of the sheet in the book, from 1
	plans  []*plan
	charts *replacements
}

func (w *sheetWriter) write(footer string) error {
	if err := w.setUpPage(footer); err != nil {
		return err
	}
	if err := w.setUpTable(); err != nil {
		return err
	}
	stream, err := w.file.NewStreamWriter(w.Name)
	if err != nil {
		return err
	}
	if err := w.setUpStream(stream); err != nil {
		return err
	}
	if err := w.writeText(stream); err != nil {
		return err
	}
	if len(w.columns) > 0 {
		if err := w.writeTable(stream); err != nil {
			return err
		}
	}
	return stream.Flush()
}

// setUpTable asks for what belongs to cells that are not written yet.
func (w *sheetWriter) setUpTable() error {
	if len(w.columns) == 0 {
		return nil
	}
	if err := w.file.SetSheetDimension(w.Name, "A1:"+cellName(len(w.columns)-1, w.layout.lastRow)); err != nil {
		return err
	}
	for i, c := range w.columns {
		if c.format.kind != kindText {
			continue
		}
		// A code of digits is meant to be text: no mark on each of them is wanted.
		if err := w.file.AddIgnoredErrors(w.Name, w.bodyRange(i), excelize.IgnoredErrorsNumberStoredAsText); err != nil {
			return err
		}
	}
	if err := w.addEmphasis(); err != nil {
		return err
	}
	if err := w.addLinks(); err != nil {
		return err
	}
	return w.addCharts()
}

func (w *sheetWriter) setUpStream(stream *excelize.StreamWriter) error {
	// The library writes the last that was asked for first, and the format wants them in order.
	widths := w.layout.widths
	if w.layout.gap > 0 {
		widths = append(slices.Clone(widths), w.layout.gap)
	}
	for i, width := range slices.Backward(widths) {
		if err := stream.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	heading := w.layout.headingRow
	if heading == 0 || heading > highestFrozen {
		return nil
	}
	// The cursor stays at A1, above the pane that scrolls.
	if w.layout.isWide() { // the first column says whose row it is, however far to the right
		return stream.SetPanes(&excelize.Panes{
			Freeze: true, XSplit: 1, YSplit: heading, TopLeftCell: cellName(1, heading+1), ActivePane: "bottomRight",
			Selection: []excelize.Selection{{Pane: "bottomRight", ActiveCell: "A1", SQRef: "A1"}},
		})
	}
	return stream.SetPanes(&excelize.Panes{
		Freeze: true, YSplit: heading, TopLeftCell: cellName(0, heading+1), ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{Pane: "bottomLeft", ActiveCell: "A1", SQRef: "A1"}},
	})
}

// writeText writes title and notes.
func (w *sheetWriter) writeText(stream *excelize.StreamWriter) error {
	row := 0
	write := func(text string, r role, options ...excelize.RowOpts) error {
		row++
		style, err := w.styles.of(r, format{})
		if err != nil {
			return err
		}
		return stream.SetRow(cellName(0, row), []any{excelize.Cell{StyleID: style, Value: text}}, options...)
	}
	for _, line := range w.layout.title {
		if err := write(line, roleTitle, excelize.RowOpts{Height: titleHeight}); err != nil {
			return err
		}
	}
	for _, note := range w.layout.notes {
		r := roleNote
		if note.continued {
			r = roleNoteContinued
		}
		if err := write(note.text, r); err != nil {
			return err
		}
	}
	return nil
}

func (w *sheetWriter) writeTable(stream *excelize.StreamWriter) error {
	if w.layout.totalRow > 0 {
		if err := w.writeTotals(stream); err != nil {
			return err
		}
	}
	if err := w.writeHeadings(stream); err != nil {
		return err
	}
	var err error
	if w.rows.rows == 0 {
		err = w.writeMessage(stream)
	} else {
		err = w.writeRows(stream)
	}
	if err != nil {
		return err
	}
	stripes := true
	return stream.AddTable(&excelize.Table{
		Range:          fmt.Sprintf("%s:%s", cellName(0, w.layout.headingRow), cellName(len(w.columns)-1, w.layout.lastRow)),
		Name:           w.tableName(w.number),
		StyleName:      tableStyle,
		ShowRowStripes: &stripes,
	})
}

func (w *sheetWriter) writeTotals(stream *excelize.StreamWriter) error {
	cells := make([]any, len(w.columns))
	for i, c := range w.columns {
		r := totalRole(c, i == 0)
		style, err := w.styles.of(r, c.format)
		if err != nil {
			return err
		}
		cell := excelize.Cell{StyleID: style, Formula: w.totalFormula(i)}
		switch {
		case r == roleLabel:
			cell.Value = totalLabel
		case cell.Formula != "":
			if cell.Value, err = w.totalValue(i); err != nil {
				return err
			}
		}
		cells[i] = cell
	}
	return stream.SetRow(cellName(0, w.layout.totalRow), cells)
}

// totalRole is the part of a cell in the row of totals. The first cell is labelled.
func totalRole(c column, labelled bool) role {
	switch {
	case c.count && labelled:
		return roleLabelledCount
	case c.count:
		return roleCount
	case c.hasTotal() && labelled:
		return roleLabelledTotal
	case labelled:
		return roleLabel
	}
	return roleTotal
}

func (w *sheetWriter) writeHeadings(stream *excelize.StreamWriter) error {
	cells := make([]any, len(w.columns))
	for i, c := range w.columns {
		style, err := w.styles.of(roleHeading, c.format)
		if err != nil {
			return err
		}
		cells[i] = excelize.Cell{StyleID: style, Value: c.heading}
	}
	return stream.SetRow(cellName(0, w.layout.headingRow), cells, excelize.RowOpts{Height: w.layout.headingHeight})
}

func (w *sheetWriter) writeMessage(stream *excelize.StreamWriter) error {
	style, err := w.styles.of(roleMessage, w.columns[0].format)
	if err != nil {
		return err
	}
	return stream.SetRow(cellName(0, w.layout.firstRow), []any{excelize.Cell{StyleID: style, Value: nothingToShow}})
}

func (w *sheetWriter) writeRows(stream *excelize.StreamWriter) error {
	cells := make([]any, len(w.columns))
	return w.rows.each(len(w.columns), 0, func(index int, row []any) error {
		for i, value := range row {
			cell, err := w.bodyCell(i, index, value)
			if err != nil {
				return err
			}
			cells[i] = cell
		}
		var options []excelize.RowOpts
		if height := w.layout.rowHeight(row); height > 0 {
			options = append(options, excelize.RowOpts{Height: height})
		}
		return stream.SetRow(cellName(0, w.layout.firstRow+index), cells, options...)
	})
}

// bodyCell is one cell of the table's body.
func (w *sheetWriter) bodyCell(column, index int, value any) (excelize.Cell, error) {
	c := w.columns[column]
	r := roleBody
	cell := excelize.Cell{Value: value}
	var err error
	switch value := value.(type) {
	case Number:
		if cell.Value, err = value.cellValue(); err != nil {
			return cell, err
		}
		if c.expression != nil {
			cell.Formula = rowFormula(c.expression, w.layout.firstRow+index)
		}
	case string:
		if c.format.kind != kindText {
			r = roleWord
		}
	}
	if index < mostLinks && w.linkPlace(c, value) != "" {
		r = roleLink
	}
	cell.StyleID, err = w.styles.of(r, c.format)
	return cell, err
}
