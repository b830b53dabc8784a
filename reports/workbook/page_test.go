package workbook_test

import (
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"trusstally/reports/workbook"
)

func TestDocumentProperties(t *testing.T) {
	got, err := openBook(t, written(t, sampleBook())).GetDocProps()
	if err != nil {
		t.Fatal(err)
	}
	want := &excelize.DocProperties{
		Title: "Job margin, week 2026-W46", Subject: "Margin of each job",
		Creator: "trusstally", Language: "en-US", LastModifiedBy: "trusstally",
		Created: "2026-11-16T00:00:00Z", Modified: "2026-11-16T00:00:00Z",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestPrintSetUp(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	layout, err := file.GetPageLayout("margin_by_job")
	if err != nil {
		t.Fatal(err)
	}
	properties, err := file.GetSheetProps("margin_by_job")
	if err != nil {
		t.Fatal(err)
	}
	footer, err := file.GetHeaderFooter("margin_by_job")
	if err != nil {
		t.Fatal(err)
	}
	type setUp struct {
		Orientation      string
		Wide, Long       int
		Fit              bool
		Footer           string
		Titles, AreaName string
	}
	got := setUp{*layout.Orientation, *layout.FitToWidth, *layout.FitToHeight, *properties.FitToPage, footer.OddFooter, "", ""}
	for _, name := range file.GetDefinedName() {
		switch {
		case name.Scope != "margin_by_job":
		case name.Name == "_xlnm.Print_Titles":
			got.Titles = name.RefersTo
		case name.Name == "_xlnm.Print_Area":
			got.AreaName = name.RefersTo
		}
	}
	want := setUp{
		Orientation: "landscape", Wide: 1, Long: 0, Fit: true,
		Footer: "&LPlant P-1 · week 2026-W46 (2026-11-09 to 2026-11-15)&C&A&Rpage &P of &N",
		Titles: "'margin_by_job'!$6:$6",
		// The table and one blank column, then each chart on its page.
		AreaName: "'margin_by_job'!$A$1:$L$46,'margin_by_job'!$M$7:$W$27,'margin_by_job'!$M$29:$W$49",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestFooterText(t *testing.T) {
	for _, test := range []struct{ name, footer, want string }{
		{"ampersand", "Saw & Table", "&LSaw && Table&C&A&Rpage &P of &N"},
		{"line break", "Plant\nWeek", "&LPlant Week&C&A&Rpage &P of &N"},
		{"long", strings.Repeat("x", 300), "&L" + strings.Repeat("x", 180) + "…&C&A&Rpage &P of &N"},
		{"long with an ampersand at the cut", strings.Repeat("x", 179) + "&y", "&L" + strings.Repeat("x", 179) + "…&C&A&Rpage &P of &N"},
	} {
		t.Run(test.name, func(t *testing.T) {
			book := sheetOf(emptySheet())
			book.Footer = test.footer
			footer, err := openBook(t, written(t, book)).GetHeaderFooter("exceptions")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, footer.OddFooter); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestFrozenThroughTheHeadings(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	got, err := file.GetPanes("margin_by_job")
	if err != nil {
		t.Fatal(err)
	}
	want := excelize.Panes{
		Freeze: true, YSplit: 6, TopLeftCell: "A7", ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: "A1", ActiveCell: "A1", Pane: "bottomLeft"}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if index := file.GetActiveSheetIndex(); index != 0 {
		t.Errorf("sheet %d is in front", index)
	}
}

// So many notes that freezing them would leave no room for rows.
func TestManyNotesAreNotFrozen(t *testing.T) {
	sheet := emptySheet()
	sheet.Notes = strings.Split(strings.Repeat("note ", 30), " ")[:30]
	got, err := openBook(t, written(t, sheetOf(sheet))).GetPanes("exceptions")
	if err != nil {
		t.Fatal(err)
	}
	if got.Freeze {
		t.Errorf("%d rows are frozen", got.YSplit)
	}
}

func TestTables(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	for sheet, want := range map[string]excelize.Table{
		"margin_by_job": {Range: "A6:K46", Name: "table_margin_by_job"},
		"grades":        {Range: "A5:I43", Name: "table_grades"},
		"trend":         {Range: "A4:F30", Name: "table_trend"},
		"exceptions":    {Range: "A4:C5", Name: "table_exceptions"},
	} {
		tables, err := file.GetTables(sheet)
		if err != nil || len(tables) != 1 {
			t.Fatalf("%s: %v, %v", sheet, tables, err)
		}
		got := tables[0]
		if got.Range != want.Range || got.Name != want.Name || got.StyleName != "TableStyleLight1" || !*got.ShowRowStripes {
			t.Errorf("%s: %+v, want %+v", sheet, got, want)
		}
	}
}

// Programs repair a table whose column names are not its heading cells. A line break of
// the cell is written _x000a_ in the name.
func TestTableColumnsAreTheHeadings(t *testing.T) {
	table := part(t, written(t, sampleBook()), "xl/tables/table3.xml")
	var got []string
	for _, match := range regexp.MustCompile(`<tableColumn id="\d+" name="([^"]*)"`).FindAllStringSubmatch(table, -1) {
		got = append(got, match[1])
	}
	want := []string{"Week starts", "Trusses", "Setup_x000a_min", "Build_x000a_min", "Labour_x000a_min", "Labour_x000a_min a truss"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestTableNamesDiffer(t *testing.T) {
	sheet := func(name string) workbook.Sheet {
		s := emptySheet()
		s.Name = name
		return s
	}
	file := openBook(t, written(t, workbook.Book{Sheets: []workbook.Sheet{sheet("a b"), sheet("a-b"), sheet("A1"), sheet("Été"), sheet("1_a_b")}}))
	var got []string
	for _, name := range file.GetSheetList() {
		tables, err := file.GetTables(name)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, tables[0].Name)
	}
	if diff := cmp.Diff([]string{"table1_a_b", "table2_a_b", "table_A1", "table4__t_", "table_1_a_b"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Nothing hidden, merged, protected or programmed, and every reader is told how far the
// sheet reaches.
func TestSheetIsPlain(t *testing.T) {
	book := written(t, sampleBook())
	for name, want := range map[string]string{"sheet1": "A1:K46", "sheet2": "A1:I43", "sheet3": "A1:F30", "sheet4": "A1:C5"} {
		sheet := part(t, book, "xl/worksheets/"+name+".xml")
		for _, banned := range []string{"hidden=", "<mergeCell", "<sheetProtection", "#DIV/0!", "#VALUE!"} {
			if strings.Contains(sheet, banned) {
				t.Errorf("%s has %s", name, banned)
			}
		}
		if !strings.Contains(sheet, `<dimension ref="`+want+`"`) {
			t.Errorf("%s: no dimension %s", name, want)
		}
	}
}

func TestLinks(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	linked, place, err := file.GetCellHyperLink("margin_by_job", "A8")
	if err != nil || !linked || place != "'grades'!A7" {
		t.Errorf("A8 leads to %q (%v, %v), want 'grades'!A7", place, linked, err)
	}
	// Job 04373, the last, has no row there.
	if linked, place, err := file.GetCellHyperLink("margin_by_job", "A46"); err != nil || linked {
		t.Errorf("A46 leads to %q (%v)", place, err)
	}
}

func TestEmphasis(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	rules, err := file.GetConditionalFormats("margin_by_job")
	if err != nil {
		t.Fatal(err)
	}
	bold := map[string]bool{}
	for area, options := range rules {
		for _, option := range options {
			style, err := file.GetConditionalStyle(*option.Format)
			if err != nil {
				t.Fatal(err)
			}
			if style.Font.Color != "8B1A1A" {
				t.Errorf("%s: colour %q", area, style.Font.Color)
			}
			bold[area+" "+option.Criteria+" "+option.Value] = style.Font.Bold
		}
	}
	want := map[string]bool{
		`C7:C46 C5 equal to "incomplete"`: true,
		"J7:J46 J5 less than 0":           true,
		"K7:K46 K5 less than 0":           true,
		"E7:E46 E5 less than 0":           false,
		"F7:F46 F5 less than 0":           false,
		"G7:G46 G5 less than 0":           false,
		"H7:H46 H5 less than 0":           false,
		"I7:I46 I5 less than 0":           false,
	}
	if diff := cmp.Diff(want, bold); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Programs repair a sheet whose columns are not in order.
func TestColumnsAreInOrder(t *testing.T) {
	sheet := part(t, written(t, sampleBook()), "xl/worksheets/sheet3.xml")
	var got []string
	for _, match := range regexp.MustCompile(`<col min="(\d+)" max="(\d+)"`).FindAllStringSubmatch(sheet, -1) {
		got = append(got, match[1]+"-"+match[2])
	}
	if diff := cmp.Diff([]string{"1-1", "2-2", "3-3", "4-4", "5-5", "6-6", "7-7"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestColumnWidths(t *testing.T) {
	file := openBook(t, written(t, sheetOf(workbook.Sheet{
		Name: "s", Title: "T",
		Columns: []workbook.Column{{Name: "a", Format: "text"}, {Name: "b", Format: "text"}, {Name: "c", Format: "usd", Total: "sum"}},
		Rows:    rowsOf([]any{"x", strings.Repeat("word ", 40), workbook.Number("999999999.99")}, []any{"x", "y", workbook.Number("999999999.99")}),
	})))
	var got []float64
	for _, column := range []string{"A", "B", "C"} {
		width, err := file.GetColWidth("s", column)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, width)
	}
	// 16 bold digits and marks of the total need about 15.7 units and the padding.
	if diff := cmp.Diff([]float64{8, 48, 19}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	height, err := file.GetRowHeight("s", 5)
	if err != nil || height < 4*12 {
		t.Errorf("the row of 200 letters is %v high (%v)", height, err)
	}
}

func TestRefusedBooks(t *testing.T) {
	named := func(names ...string) []workbook.Sheet {
		var sheets []workbook.Sheet
		for _, name := range names {
			sheets = append(sheets, workbook.Sheet{Name: name, Title: "T"})
		}
		return sheets
	}
	with := func(change func(*workbook.Sheet)) []workbook.Sheet {
		sheet := emptySheet()
		change(&sheet)
		return []workbook.Sheet{sheet}
	}
	chart := func(change func(*workbook.Chart)) []workbook.Sheet {
		return with(func(s *workbook.Sheet) { change(&s.Charts[0]) })
	}
	for _, test := range []struct {
		name   string
		sheets []workbook.Sheet
		want   string
	}{
		{"no sheets", nil, "a book without sheets"},
		{"no name", named(""), "a sheet has no name"},
		{"31 letters", named(strings.Repeat("x", 31)), `sheet name "` + strings.Repeat("x", 31) + `" has 31 characters: 30 at most`},
		{"16 letters of two units", named(strings.Repeat("𝄞", 16)), `sheet name "` + strings.Repeat("𝄞", 16) + `" has 32 characters: 30 at most`},
		{"slash", named("a/b"), `sheet name "a/b" has one of [ ] : * ? / \`},
		{"apostrophe", named("'a"), `sheet name "'a" begins or ends with an apostrophe`},
		{"blank", named("a "), `sheet name "a " begins or ends with a blank`},
		{"line break", named("a\nb"), `sheet name "a\nb" has a character that does not print`},
		{"reserved", named("History"), `sheet name "History" is reserved by spreadsheet programs`},
		{"twice", named("Waste", "waste"), `two sheets are named "Waste" and "waste": names must differ by more than case`},
		{"link to no sheet", with(func(s *workbook.Sheet) { s.Columns[0].Link = &workbook.Link{Sheet: "x", Column: "y"} }),
			`sheet "exceptions": column "file" links to sheet "x", which this book does not have`},
		{"link to no column", with(func(s *workbook.Sheet) { s.Columns[0].Link = &workbook.Link{Sheet: "exceptions", Column: "y"} }),
			`sheet "exceptions": column "file" links to column "y", which sheet "exceptions" does not have`},
		{"emphasis of no column", with(func(s *workbook.Sheet) { s.Emphasis = []workbook.Emphasis{{Column: "x", Kind: "negative"}} }),
			`sheet "exceptions": emphasis 1: no column "x" in this sheet`},
		{"emphasis of no kind", with(func(s *workbook.Sheet) { s.Emphasis = []workbook.Emphasis{{Column: "usd", Kind: "big"}} }),
			`sheet "exceptions": emphasis 1: unknown kind "big": negative or word`},
		{"emphasis of no word", with(func(s *workbook.Sheet) { s.Emphasis = []workbook.Emphasis{{Column: "usd", Kind: "word"}} }),
			`sheet "exceptions": emphasis 1: it names no word`},
		{"chart of no kind", chart(func(c *workbook.Chart) { c.Kind = "pie" }), `sheet "exceptions": chart 1: unknown kind "pie": bar, bar stacked, line, line limits, scatter or scatter limits`},
		{"chart without words", chart(func(c *workbook.Chart) { c.AltText = "" }), `sheet "exceptions": chart 1: it needs a title and a text for readers who cannot see it`},
		{"chart of nothing", chart(func(c *workbook.Chart) { c.Series = nil }), `sheet "exceptions": chart 1: 0 series: 1 to 6`},
		{"chart of no column", chart(func(c *workbook.Chart) { c.Series = []string{"x"} }), `sheet "exceptions": chart 1: no column "x" in this sheet`},
		{"chart of no category", chart(func(c *workbook.Chart) { c.Category = "x" }), `sheet "exceptions": chart 1: no column "x" in this sheet`},
		{"chart of text", chart(func(c *workbook.Chart) { c.Series = []string{"file"} }), `sheet "exceptions": chart 1: column "file" holds no numbers to draw`},
		{"scatter over text", chart(func(c *workbook.Chart) { c.Kind = "scatter" }), `sheet "exceptions": chart 1: column "file" holds no numbers to draw`},
		{"rows without columns", []workbook.Sheet{{Name: "s", Rows: rowsOf([]any{"x"})}}, `sheet "s": rows, but no columns`},
	} {
		t.Run(test.name, func(t *testing.T) {
			err := workbook.Write(io.Discard, workbook.Book{Sheets: test.sheets})
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff("workbook: "+test.want, err.Error()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
	// The longest name, and letters that have to be quoted, are fine.
	written(t, workbook.Book{Sheets: named(strings.Repeat("x", 30), "it's & <fine>", "A1")})
}

// TestWideTables: a table that would print too small to be read on letter paper prints on
// ledger paper, and its first column stays in sight.
func TestWideTables(t *testing.T) {
	for columns, want := range map[int]struct {
		paper  int
		freeze string
	}{4: {1, "A4"}, 24: {3, "B4"}} {
		sheet := workbook.Sheet{Name: "s", Title: "T"}
		row := make([]any, columns)
		for i := range columns {
			sheet.Columns = append(sheet.Columns, workbook.Column{Name: fmt.Sprintf("c%d_usd", i), Heading: fmt.Sprintf("Column %d", i), Format: "usd"})
			row[i] = workbook.Number("1234567.89")
		}
		sheet.Rows = rowsOf(row)
		file := openBook(t, written(t, sheetOf(sheet)))
		layout, err := file.GetPageLayout("s")
		if err != nil {
			t.Fatal(err)
		}
		panes, err := file.GetPanes("s")
		if err != nil {
			t.Fatal(err)
		}
		if *layout.Size != want.paper || *layout.FitToWidth != 1 || panes.TopLeftCell != want.freeze {
			t.Errorf("%d columns: paper %d, %d wide, frozen at %s; want %+v", columns, *layout.Size, *layout.FitToWidth, panes.TopLeftCell, want)
		}
	}
}
