package reports

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"trusstally/reports/workbook"
)

// Write writes the book for the period as .xlsx. The same data give the same bytes.
func (b *Book) Write(ctx context.Context, out io.Writer, from Source, period Period, plant string) error {
	return workbook.Write(out, b.workbook(ctx, from, period, plant))
}

// WriteFile writes the book to path by way of a temporary name beside it.
func (b *Book) WriteFile(ctx context.Context, path string, mode os.FileMode, from Source, period Period, plant string) error {
	return workbook.WriteFile(path, mode, b.workbook(ctx, from, period, plant))
}

func (b *Book) workbook(ctx context.Context, from Source, period Period, plant string) workbook.Book {
	book := workbook.Book{
		Title: b.Title + ", " + period.Label, Subject: plant + ", for the " + b.Reader, Author: "trusstally",
		// The period's end, not the clock: the same data give the same bytes.
		Created: period.Until,
		Footer:  plant + ", " + period.String(),
	}
	for _, definition := range b.Sheets {
		sheet := workbook.Sheet{
			Name:  definition.Sheet,
			Title: definition.Title + ", " + plant + ", " + period.String(),
			Notes: append([]string{sentence(definition.Grain)}, definition.Notes...),
			Rows:  definition.rows(ctx, from, period),
		}
		for _, column := range definition.Columns {
			sheet.Columns = append(sheet.Columns, workbook.Column{
				Name: column.Name, Heading: column.Heading, Format: column.Format, Unit: column.unit(), Total: column.Total, Meaning: column.Meaning,
			})
		}
		book.Sheets = append(book.Sheets, sheet)
	}
	return book
}

// HoldsWages says whether a sheet of the book reads pay at the grain of one employee.
func (b *Book) HoldsWages(ctx context.Context, from Source) (bool, error) {
	for _, definition := range b.Sheets {
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
