package reports

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"strings"
	"time"

	"trusstally/ingest/formulas"
	"trusstally/ingest/problem"
	"trusstally/reports/workbook"
	"trusstally/sql/warehouse"
)

// Source runs a SELECT; *warehouse.Warehouse is one.
type Source = *warehouse.Warehouse

// parameters returns the values of the definition's declared parameters for the period.
// A parameter that no period can fill is a problem.List, before the engine sees it.
func (d *Definition) parameters(period Period) (map[string]any, error) {
	values := map[string]any{}
	for _, parameter := range d.Parameters {
		switch parameter.Name {
		case "from":
			values["from"] = day(period.From)
		case "until":
			values["until"] = day(period.Until)
		case "book":
			values["book"] = period.book
		default:
			hint := "the parameters are from, until and book"
			if near := problem.Nearest(parameter.Name, []string{"from", "until", "book"}); near != "" {
				hint = "did you mean " + near + "?"
			}
			return nil, problem.List{{Place: d.File, What: fmt.Sprintf("nothing fills the parameter %s", parameter.Name), Code: CodeUnknownParam, Hint: hint}}
		}
	}
	return values, nil
}

// isDay says whether a time.Time of this column is a date without a time of day.
func (c Column) isDay() bool { return c.Format == "on" }

// Columns and rows of a sheet are checked against its header: same names, same order.
func (d *Definition) checkColumns(got []warehouse.ResultColumn) error {
	names := make([]string, len(got))
	for i, column := range got {
		names[i] = column.Name
	}
	want := make([]string, len(d.Columns))
	for i, column := range d.Columns {
		want[i] = column.Name
	}
	if strings.Join(names, ",") != strings.Join(want, ",") {
		return problem.List{{Place: d.File, What: fmt.Sprintf("the SQL gives the columns %s, the header %s", strings.Join(names, ", "), strings.Join(want, ", ")), Code: CodeColumnMismatch,
			Hint: "a column line for each column of the last SELECT, in its order"}}
	}
	return nil
}

// each runs the sheet for the period.
func (d *Definition) each(ctx context.Context, from Source, period Period, row func([]any) error) error {
	if d.kept != nil {
		for _, cells := range *d.kept {
			if err := row(cells); err != nil {
				return err
			}
		}
		return nil
	}
	values, err := d.parameters(period)
	if err != nil {
		return err
	}
	var mismatch error
	err = from.Query(ctx, d.SQL, values, func(columns []warehouse.ResultColumn) { mismatch = d.checkColumns(columns) }, func(cells []any) error {
		if mismatch != nil {
			return mismatch
		}
		return row(cells)
	})
	if err == nil {
		err = mismatch
	}
	return err
}

// WriteJSON writes the sheet as an array of objects keyed by column name, one a line:
// numbers as exact decimals, dates ISO, blanks null.
func (d *Definition) WriteJSON(ctx context.Context, out io.Writer, from Source, period Period) error {
	w := bufio.NewWriter(out)
	separator := "[\n"
	err := d.each(ctx, from, period, func(row []any) error {
		w.WriteString(separator)
		separator = ",\n"
		return writeObject(w, d.columnNames(), row, d.isDays())
	})
	if err != nil {
		return err
	}
	if separator == "[\n" {
		w.WriteString("[]\n")
	} else {
		w.WriteString("\n]\n")
	}
	return w.Flush()
}

func (d *Definition) columnNames() []string {
	names := make([]string, len(d.Columns))
	for i, c := range d.Columns {
		names[i] = c.Name
	}
	return names
}

func (d *Definition) isDays() []bool {
	days := make([]bool, len(d.Columns))
	for i, c := range d.Columns {
		days[i] = c.isDay()
	}
	return days
}

func writeObject(w *bufio.Writer, names []string, row []any, days []bool) error {
	for i, name := range names {
		if i == 0 {
			w.WriteString("{")
		} else {
			w.WriteString(", ")
		}
		key, err := json.Marshal(name)
		if err != nil {
			return err
		}
		w.Write(key)
		w.WriteString(": ")
		switch v := row[i].(type) {
		case nil:
			w.WriteString("null")
		case warehouse.Number:
			w.WriteString(string(v))
		default:
			text, err := json.Marshal(cellText(v, days[i]))
			if b, ok := v.(bool); ok {
				text, err = json.Marshal(b)
			}
			if err != nil {
				return err
			}
			w.Write(text)
		}
	}
	_, err := w.WriteString("}")
	return err
}

// cellText is a cell as text: dates ISO, blanks empty.
func cellText(value any, isDay bool) string {
	switch v := value.(type) {
	case nil:
		return ""
	case time.Time:
		if isDay {
			return v.Format("2006-01-02")
		}
		return v.Format("2006-01-02 15:04:05")
	default:
		return fmt.Sprint(v)
	}
}

// WriteCSV writes the sheet as CSV with the column names as its header. A text that a
// spreadsheet program would take for a formula gets an apostrophe before it.
func (d *Definition) WriteCSV(ctx context.Context, out io.Writer, from Source, period Period) error {
	w := csv.NewWriter(out)
	if err := w.Write(d.columnNames()); err != nil {
		return err
	}
	days := d.isDays()
	record := make([]string, len(d.Columns))
	err := d.each(ctx, from, period, func(row []any) error {
		for i, cell := range row {
			record[i] = markedText(cell, days[i])
		}
		return w.Write(record)
	})
	if err != nil {
		return err
	}
	w.Flush()
	return w.Error()
}

// markedText is a cell of a CSV file: numbers, dates and times as they are, a text marked
// where it would be a formula.
func markedText(cell any, isDay bool) string {
	if text, isText := cell.(string); isText {
		return formulas.Mark(text)
	}
	return cellText(cell, isDay)
}

// rows is the sheet as a sequence for the workbook. The row is reused.
func (d *Definition) rows(ctx context.Context, from Source, period Period) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		if d.shown.of(period) {
			for _, cells := range d.shown.rows {
				if !yield(cells, nil) {
					return
				}
			}
			return
		}
		stopped := fmt.Errorf("stopped")
		remembered := d.shown.begin(period)
		cells := make([]any, len(d.Columns))
		err := d.each(ctx, from, period, func(row []any) error {
			for i, cell := range row {
				if number, ok := cell.(warehouse.Number); ok {
					cells[i] = workbook.Number(number)
				} else {
					cells[i] = cell
				}
			}
			remembered.add(cells)
			if !yield(cells, nil) {
				return stopped
			}
			return nil
		})
		if err == nil {
			remembered.end()
		} else if err != stopped {
			yield(nil, err)
		}
	}
}

// QueryJSON writes the result of a reader's SELECT as WriteJSON does.
func QueryJSON(ctx context.Context, out io.Writer, from Source, text string) error {
	w := bufio.NewWriter(out)
	var names []string
	var days []bool
	separator := "[\n"
	err := from.Query(ctx, text, nil, func(columns []warehouse.ResultColumn) {
		names, days = namesAndDays(columns)
	}, func(row []any) error {
		w.WriteString(separator)
		separator = ",\n"
		return writeObject(w, names, row, days)
	})
	if err != nil {
		return err
	}
	if separator == "[\n" {
		w.WriteString("[]\n")
	} else {
		w.WriteString("\n]\n")
	}
	return w.Flush()
}

// QueryCSV writes the result of a reader's SELECT as WriteCSV does.
func QueryCSV(ctx context.Context, out io.Writer, from Source, text string) error {
	w := csv.NewWriter(out)
	var days []bool
	var failed error
	err := from.Query(ctx, text, nil, func(columns []warehouse.ResultColumn) {
		var names []string
		names, days = namesAndDays(columns)
		failed = w.Write(names)
	}, func(row []any) error {
		record := make([]string, len(row))
		for i, cell := range row {
			record[i] = markedText(cell, days[i])
		}
		return w.Write(record)
	})
	if err != nil {
		return err
	}
	w.Flush()
	if failed != nil {
		return failed
	}
	return w.Error()
}

func namesAndDays(columns []warehouse.ResultColumn) ([]string, []bool) {
	names, days := make([]string, len(columns)), make([]bool, len(columns))
	for i, column := range columns {
		names[i], days[i] = column.Name, column.Type == "DATE"
	}
	return names, days
}
