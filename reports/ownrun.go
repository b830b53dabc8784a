package reports

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"trusstally/ingest/problem"
	"trusstally/reports/workbook"
	"trusstally/sql/warehouse"
)

// mostRows is the most rows that an own sheet may have.
const mostRows = 200_000

// Opener opens the warehouse for readers' SELECTs, with pay veiled or not.
type Opener func(wages bool) (Source, error)

// Run runs the own sheets of the books that periodOf has a period for, each once, and keeps
// their rows. Afterwards Sheets holds those that ran, and Problems what is wrong with all the
// others, the SQL of files with a faulty header too.
func (o *Own) Run(ctx context.Context, books []*Book, open Opener, periodOf func(book *Book) (Period, bool)) error {
	all := append(slices.Clone(books), o.book(books))
	var ran []*Definition
	for _, wages := range []bool{false, true} {
		if !slices.ContainsFunc(o.files, func(f ownFile) bool { return f.mayReadWages() == wages }) {
			continue
		}
		from, err := open(wages)
		if err != nil {
			return err
		}
		for _, file := range o.files {
			if file.mayReadWages() != wages {
				continue
			}
			var period Period
			if file.sheet != nil {
				book := all[slices.IndexFunc(all, func(b *Book) bool { return b.Name == file.sheet.Book })]
				wanted := false
				if period, wanted = periodOf(book); !wanted {
					continue
				}
				period.book = book.Name
			}
			list, err := file.run(ctx, from, period, wages)
			if err != nil {
				return errors.Join(err, from.Close())
			}
			o.Problems = append(o.Problems, list...)
			if file.sheet != nil && len(list) == 0 {
				ran = append(ran, file.sheet)
			}
		}
		if err := from.Close(); err != nil {
			return err
		}
	}
	slices.SortFunc(ran, func(a, b *Definition) int { return strings.Compare(a.Sheet, b.Sheet) })
	o.Sheets = o.linked(ran, all)
	o.sortProblems()
	return nil
}

// run looks at the SQL of a file and, when that and the header are good, runs it.
func (f ownFile) run(ctx context.Context, from Source, period Period, wages bool) (problem.List, error) {
	list, err := from.GuardSheet(ctx, f.place, f.text, wages)
	if err != nil || len(list) > 0 {
		return grouped(list, f.place), err
	}
	if f.sheet == nil {
		err = from.Bind(ctx, f.text)
	} else {
		err = f.sheet.keep(ctx, from, period)
	}
	if errors.As(err, &list) {
		for _, p := range list {
			if p.Place == "" {
				p.Place = warehouse.PlaceOf(f.place, f.text, list)
			}
			p.Usage = false
		}
		return grouped(list, f.place), nil
	}
	return nil, err
}

// grouped has the problems of a file printed together, and capped for themselves.
func grouped(list problem.List, place string) problem.List {
	for _, p := range list {
		p.Group = place
	}
	return list
}

// keep runs an own sheet, holds its columns against the header and keeps its rows.
func (d *Definition) keep(ctx context.Context, from Source, period Period) error {
	values, err := d.parameters(period)
	if err != nil {
		return err
	}
	rows := [][]any{}
	var mismatch error
	err = from.Query(ctx, d.SQL, values, func(columns []warehouse.ResultColumn) {
		if mismatch = d.checkColumns(columns); mismatch == nil {
			mismatch = d.checkTypes(columns)
		}
	}, func(cells []any) error {
		switch {
		case mismatch != nil:
			return mismatch
		case len(rows) == mostRows:
			return problem.List{{Place: d.File, What: fmt.Sprintf("the sheet has more than %d rows", mostRows), Code: CodeTooManyRows, Hint: "group them, or leave some out"}}
		}
		rows = append(rows, slices.Clone(cells))
		return nil
	})
	if err == nil {
		err = mismatch
	}
	if err != nil {
		return err
	}
	d.kept = &rows
	return d.tryWorkbook(ctx, period)
}

// typesOf are the engine's types that a format can hold. Dollars and quantities are exact:
// a DOUBLE is refused.
var typesOf = map[string][]string{
	"text": {"VARCHAR"}, "count": {"BIGINT", "HUGEINT", "INTEGER", "SMALLINT", "TINYINT", "UBIGINT", "UINTEGER"}, "on": {"DATE"}, "at": {"TIMESTAMP"},
	"usd": {"DECIMAL", "BIGINT", "HUGEINT", "INTEGER"},
}

func (d *Definition) checkTypes(columns []warehouse.ResultColumn) error {
	var list problem.List
	for i, column := range columns {
		types := typesOf[d.Columns[i].Format]
		switch d.Columns[i].Format {
		case "line":
			types = typesOf["count"]
		case "number", "bf", "pct", "min", "hours":
			types = typesOf["usd"]
		}
		if !slices.ContainsFunc(types, func(name string) bool { return strings.HasPrefix(column.Type, name) }) {
			list = append(list, &problem.Problem{Place: d.File, What: fmt.Sprintf("the column %s is %s, and its format is %s", column.Name, column.Type, d.Columns[i].Format), Code: CodeColumnMismatch,
				Hint: "cast it in the last SELECT, such as ::DECIMAL(14,2), ::BIGINT, ::VARCHAR or ::DATE"})
		}
	}
	if len(list) > 0 {
		return list
	}
	return nil
}

// tryWorkbook writes the sheet alone to nowhere, so that a header that no workbook can hold
// is its own sheet's problem and no book's.
func (d *Definition) tryWorkbook(ctx context.Context, period Period) error {
	sheet := d.sheet(ctx, nil, period, d.Title)
	for i := range sheet.Columns {
		sheet.Columns[i].Link = nil
	}
	book := workbook.Book{Title: d.Title, Author: "trusstally", Created: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), Sheets: []workbook.Sheet{sheet}}
	if err := workbook.Write(io.Discard, book); err != nil {
		return problem.List{{Place: d.File, What: "the sheet can't be written: " + err.Error(), Code: CodeBadSheet, Hint: "look at the totals, charts and marks of its header"}}
	}
	return nil
}

// linked leaves out the sheets with a link that leads nowhere.
func (o *Own) linked(ran []*Definition, books []*Book) []*Definition {
	var kept []*Definition
	for _, d := range ran {
		targets := slices.Clone(ran)
		for _, book := range books {
			if book.Name == d.Book {
				targets = append(targets, book.Sheets...)
			}
		}
		good := true
		for _, link := range d.Links {
			if link.Sheet == "" {
				continue // its cells name their own place
			}
			leads := slices.ContainsFunc(targets, func(target *Definition) bool {
				return target.Sheet == link.Sheet && (target.Book == d.Book || target.Book == "") && slices.Contains(target.columnNames(), link.Target)
			})
			if !leads {
				good = false
				o.Problems = append(o.Problems, &problem.Problem{Group: d.File, Place: fmt.Sprintf("%s:%d", d.File, lineOfKey(d.SQL, "link")), What: fmt.Sprintf("the link of %s leads nowhere (%s, %s)", link.Column, link.Sheet, link.Target), Code: CodeBadLink,
					Hint: "a link leads to a column of another sheet of the same book"})
			}
		}
		if good {
			kept = append(kept, d)
		}
	}
	return kept
}
