package reports

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"trusstally/reports/workbook"
)

// Write writes the book for the period as .xlsx. The same data give the same bytes. The
// checks must have been kept with KeepChecks.
func (b *Book) Write(ctx context.Context, out io.Writer, from Source, period Period, plant string) error {
	return workbook.Write(out, b.workbook(ctx, from, period, plant))
}

// WriteFile writes the book to path by way of a temporary name beside it.
func (b *Book) WriteFile(ctx context.Context, path string, mode os.FileMode, from Source, period Period, plant string) error {
	return workbook.WriteFile(path, mode, b.workbook(ctx, from, period, plant))
}

// workbook is the front sheet, the book's own sheets, checks, definitions and files.
func (b *Book) workbook(ctx context.Context, from Source, period Period, plant string) workbook.Book {
	period.book = b.Name
	book := workbook.Book{
		Title: b.Title + ", " + period.Label, Subject: plant + ", for " + b.ForWhom(), Author: "trusstally",
		// The period's end, not the clock: the same data give the same bytes.
		Created: period.Until,
		Footer:  plant + ", " + period.String(),
	}
	place := func(d *Definition) string { return d.Title + ", " + plant + ", " + period.String() }
	if b.front != nil {
		front := b.front.sheet(ctx, from, period, b.Title+" for "+b.ForWhom()+", "+plant+", "+period.String())
		front.Rows = b.frontRows(ctx, from, period)
		front.Notes = append([]string{"Written by trusstally " + Version + "."}, front.Notes...)
		book.Sheets = append(book.Sheets, front)
	}
	for _, d := range b.Sheets {
		book.Sheets = append(book.Sheets, d.sheet(ctx, from, period, place(d)))
	}
	if b.checks != nil {
		book.Sheets = append(book.Sheets, b.checks.sheet(ctx, from, period, place(b.checks)), b.definitions(plant),
			b.files.sheet(ctx, from, period, place(b.files)))
	}
	return book
}

// sheet is the definition as a workbook's sheet under the title.
func (d *Definition) sheet(ctx context.Context, from Source, period Period, title string) workbook.Sheet {
	sheet := workbook.Sheet{
		Name: d.Sheet, Title: title,
		Notes: append([]string{sentence(d.Grain)}, d.notes()...),
		Rows:  d.rows(ctx, from, period),
	}
	for _, column := range d.Columns {
		c := workbook.Column{
			Name: column.Name, Heading: column.Heading, Format: column.Format, Unit: column.unit(), Total: column.Total, Meaning: column.Meaning,
		}
		for _, link := range d.Links {
			if link.Column == column.Name {
				c.Link = &workbook.Link{Sheet: link.Sheet, Column: link.Target}
			}
		}
		sheet.Columns = append(sheet.Columns, c)
	}
	for _, chart := range d.Charts {
		sheet.Charts = append(sheet.Charts, workbook.Chart{
			Kind: chart.Kind, Title: chart.Title, Category: chart.Category, Series: chart.Series, MaxRows: chart.MaxRows,
			Where:          workbook.Where(chart.Where),
			ValueAxisTitle: chart.Axis, AltText: chart.Alt,
		})
	}
	for _, emphasis := range d.Emphasis {
		sheet.Emphasis = append(sheet.Emphasis, workbook.Emphasis{Column: emphasis.Column, Kind: emphasis.Kind, Word: emphasis.Word})
	}
	return sheet
}

// notes are those of the header, and where a sheet of the plant's own comes from.
func (d *Definition) notes() []string {
	if d.own {
		return append([]string{"A sheet of this plant's own: " + d.File + "."}, d.Notes...)
	}
	return d.Notes
}

// definitions is the sheet that says what each column of the book means, from the header
// lines of its sheets.
func (b *Book) definitions(plant string) workbook.Sheet {
	rows := [][]any{}
	for _, d := range b.Sheets {
		for _, column := range d.Columns {
			rows = append(rows, []any{d.Sheet, column.Heading, column.Name, column.unitText(), column.Meaning, column.totalText()})
		}
	}
	return workbook.Sheet{
		Name: "definitions", Title: "Definitions, " + b.Title + ", " + plant,
		Notes: []string{"One row per column of this book: what it says, its unit, and how its total is made.", "Names in the third column are those that report, JSON and CSV use."},
		Columns: []workbook.Column{
			{Name: "sheet", Heading: "Sheet", Format: "text"}, {Name: "heading", Heading: "Heading", Format: "text"}, {Name: "name", Heading: "Name", Format: "text"},
			{Name: "unit", Heading: "Unit", Format: "text"}, {Name: "meaning", Heading: "Meaning", Format: "text"}, {Name: "total", Heading: "Formula", Format: "text"},
		},
		Rows: func(yield func([]any, error) bool) {
			for _, row := range rows {
				if !yield(row, nil) {
					return
				}
			}
		},
	}
}

// HoldsWages says whether a sheet of the book reads pay at the grain of one employee.
func (b *Book) HoldsWages(ctx context.Context, from Source) (bool, error) {
	sheets := b.Sheets
	if text, known := findingsOf[b.Name]; known && b.front != nil {
		if holds, err := from.HoldsWages(ctx, text); err != nil || holds {
			return holds, err
		}
	}
	if b.front != nil {
		sheets = append([]*Definition{b.front, b.checks, b.files}, sheets...)
	}
	for _, definition := range sheets {
		if definition.Private != "" || definition.wages {
			return true, nil
		}
		if definition.own {
			continue // it was run where there is no pay
		}
		holds, err := from.HoldsWages(ctx, definition.SQL)
		if err != nil || holds {
			return holds, err
		}
	}
	return false, nil
}

// WriteJSON writes the only sheet as an array, or all sheets as an object of arrays by name.
func (b *Book) WriteJSON(ctx context.Context, out io.Writer, from Source, period Period) error {
	if len(b.Sheets) == 1 {
		return b.Sheets[0].WriteJSON(ctx, out, from, period)
	}
	separator := "{"
	for _, definition := range b.Sheets {
		if _, err := fmt.Fprintf(out, "%s\n%q:\n", separator, definition.Sheet); err != nil {
			return err
		}
		separator = ","
		if err := definition.WriteJSON(ctx, out, from, period); err != nil {
			return err
		}
	}
	_, err := io.WriteString(out, "}\n")
	return err
}

// ForWhom is the reader of the book in a sentence: "the owner", "purchasing".
func (b *Book) ForWhom() string {
	if b.Reader == "purchasing" {
		return b.Reader
	}
	return "the " + b.Reader
}

// sentence is a phrase of a header as a sentence.
func sentence(phrase string) string {
	return strings.ToUpper(phrase[:1]) + phrase[1:] + "."
}

// unit is the unit line of the heading where the format's own doesn't say enough: it is in
// the column's name.
func (c Column) unit() string {
	switch {
	case strings.HasSuffix(c.Name, "_boards"):
		return "boards"
	case strings.HasSuffix(c.Name, "_min_per_truss"):
		return "min a truss"
	case strings.HasPrefix(c.Name, "bf_per_labour_hour"):
		return "BF an hour"
	default:
		return ""
	}
}

// unitText names the column's unit in words.
func (c Column) unitText() any {
	if unit := c.unit(); unit != "" {
		return unit
	}
	switch c.Format {
	case "usd":
		return "USD"
	case "bf":
		return "board feet, nominal"
	case "pct":
		return "share, shown in per cent"
	case "min":
		return "people-minutes"
	case "hours":
		return "people-hours"
	case "on":
		return "date"
	case "at":
		return "date and time, plant's clock"
	case "count", "line":
		return "number"
	default:
		return nil
	}
}

// totalText says how the column's total, and for an expression each row, is made.
func (c Column) totalText() any {
	switch c.Total {
	case "-", "":
		return nil
	case "sum":
		return "sum of the rows shown"
	case "count":
		return "count of the rows shown"
	default:
		return c.Total
	}
}
