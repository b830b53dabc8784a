package main

import (
	"archive/zip"
	"io"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// demoAccessible holds every sheet of the demo's books against the essential items of the
// public guidance on accessible spreadsheets (UK Government Analysis Function, "Making
// spreadsheets accessible": a checklist of the basics): one marked-up table a sheet that
// begins in column A, headings that are unique, no merged cells, no blank rows or columns in
// it and nothing below, no hidden sheets, rows or columns, no macros, no images of text,
// unique short names, the cursor at A1 of the first sheet, document properties, and a text
// for each chart. Filters and frozen headings are ours: people ask for them.
func demoAccessible(t *testing.T, p *testPlant) {
	t.Helper()
	books, err := filepath.Glob(filepath.Join(p.dir, "books", "*", "*.xlsx"))
	if err != nil || len(books) < 4 {
		t.Fatalf("books: %v (%v)", books, err)
	}
	for _, path := range books {
		t.Run(filepath.Base(path), func(t *testing.T) {
			file, err := excelize.OpenFile(path)
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			sheets := file.GetSheetList()
			for i, sheet := range sheets {
				if len(sheet) > 30 || slices.Contains(sheets[:i], sheet) {
					t.Errorf("%s is no good name of a sheet", sheet)
				}
				accessibleSheet(t, file, sheet)
			}
			if file.GetActiveSheetIndex() != 0 {
				t.Errorf("opens at sheet %d", file.GetActiveSheetIndex())
			}
			view, err := file.GetPanes(sheets[0])
			if err != nil || len(view.Selection) == 0 || view.Selection[0].ActiveCell != "A1" {
				t.Errorf("the cursor is at %+v (%v)", view.Selection, err)
			}
			properties, err := file.GetDocProps()
			if err != nil || properties.Title == "" || properties.Creator == "" || properties.Language == "" {
				t.Errorf("document properties %+v (%v)", properties, err)
			}
			accessibleParts(t, path)
		})
	}
}

func accessibleSheet(t *testing.T, file *excelize.File, sheet string) {
	t.Helper()
	if visible, err := file.GetSheetVisible(sheet); err != nil || !visible {
		t.Errorf("%s is hidden (%v)", sheet, err)
	}
	if merged, err := file.GetMergeCells(sheet); err != nil || len(merged) > 0 {
		t.Errorf("%s has merged cells %v (%v)", sheet, merged, err)
	}
	tables, err := file.GetTables(sheet)
	if err != nil || len(tables) != 1 {
		t.Errorf("%s has %d tables (%v)", sheet, len(tables), err)
		return
	}
	from, to, _ := strings.Cut(tables[0].Range, ":")
	firstColumn, heading, err := excelize.CellNameToCoordinates(from)
	if err != nil {
		t.Fatal(err)
	}
	lastColumn, last, err := excelize.CellNameToCoordinates(to)
	if err != nil {
		t.Fatal(err)
	}
	if firstColumn != 1 {
		t.Errorf("%s: the table begins at %s", sheet, from)
	}
	rows, err := file.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) > last {
		t.Errorf("%s: row %d is below the table", sheet, len(rows))
	}
	if len(rows) < heading || len(rows[heading-1]) != lastColumn {
		t.Errorf("%s: the headings are %q", sheet, rows[min(heading, len(rows))-1])
		return
	}
	headings := rows[heading-1]
	for i, name := range headings {
		if strings.TrimSpace(name) == "" || slices.Contains(headings[:i], name) {
			t.Errorf("%s: the heading %q is blank or there twice", sheet, name)
		}
	}
	for number := heading; number < len(rows); number++ {
		if strings.TrimSpace(strings.Join(rows[number], "")) == "" {
			t.Errorf("%s: row %d is blank", sheet, number+1)
		}
		for _, cell := range rows[number] {
			if errorCell.MatchString(cell) {
				t.Errorf("%s, row %d: %s", sheet, number+1, cell)
			}
		}
		if shown, err := file.GetRowVisible(sheet, number+1); number < heading+200 && (err != nil || !shown) {
			t.Errorf("%s: row %d is hidden (%v)", sheet, number+1, err)
		}
	}
	for column := 1; column <= lastColumn; column++ {
		name, err := excelize.ColumnNumberToName(column)
		if err != nil {
			t.Fatal(err)
		}
		if shown, err := file.GetColVisible(sheet, name); err != nil || !shown {
			t.Errorf("%s: column %s is hidden (%v)", sheet, name, err)
		}
	}
}

var errorCell = regexp.MustCompile(`^#(DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!)$`)

// accessibleParts looks through the parts of a file: no macros, no pictures, no links to other
// files, and a text for each drawing.
func accessibleParts(t *testing.T, path string) {
	t.Helper()
	archive, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	charts, texts := 0, 0
	for _, part := range archive.File {
		switch {
		case strings.Contains(part.Name, "vba") || strings.Contains(part.Name, "media/") || strings.Contains(part.Name, "externalLink"):
			t.Errorf("the file holds %s", part.Name)
		case strings.HasPrefix(part.Name, "xl/charts/chart"):
			charts++
		case strings.HasPrefix(part.Name, "xl/drawings/drawing"):
			reader, err := part.Open()
			if err != nil {
				t.Fatal(err)
			}
			data, err := io.ReadAll(reader)
			reader.Close()
			if err != nil {
				t.Fatal(err)
			}
			texts += len(regexp.MustCompile(`descr="[^"]{20,}"`).FindAll(data, -1))
		}
	}
	if charts != texts {
		t.Errorf("%d charts, %d of them with a text", charts, texts)
	}
}
