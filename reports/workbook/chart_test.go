package workbook_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/reports/workbook"
)

// childOrder is the order of children that the schema of charts demands (ISO/IEC 29500-1,
// DrawingML charts), of the elements that chartXML writes. Spreadsheet programs refuse a
// file that breaks it, and LibreOffice does not tell.
func childOrder() map[string]string {
	series := "idx order tx spPr invertIfNegative marker cat val xVal yVal smooth"
	axis := "axId scaling delete axPos majorGridlines title numFmt majorTickMark minorTickMark tickLblPos spPr txPr crossAx crosses" +
		" crossBetween auto lblAlgn lblOffset tickLblSkip noMultiLvlLbl"
	return map[string]string{
		"chartSpace": "date1904 lang roundedCorners chart spPr txPr printSettings",
		"chart":      "title autoTitleDeleted plotArea legend plotVisOnly dispBlanksAs",
		"title":      "tx layout overlay spPr txPr",
		"plotArea":   "layout barChart lineChart scatterChart catAx valAx",
		"barChart":   "barDir grouping varyColors ser gapWidth overlap axId",
		"lineChart":  "grouping varyColors ser marker axId", "scatterChart": "scatterStyle varyColors ser axId",
		"ser": series, "catAx": axis, "valAx": axis, "scaling": "orientation max min",
		"marker": "symbol size spPr", "legend": "legendPos overlay spPr txPr",
		"numRef": "f numCache", "strRef": "f strCache", "numCache": "formatCode ptCount pt", "strCache": "ptCount pt",
		"txPr": "bodyPr p", "rich": "bodyPr p", "p": "pPr r endParaRPr", "r": "rPr t", "pPr": "defRPr", "defRPr": "solidFill latin", "rPr": "solidFill latin",
		"ln": "solidFill noFill prstDash", "spPr": "solidFill ln",
		"tx": "rich v", "cat": "strRef numRef", "val": "numRef", "xVal": "numRef", "yVal": "numRef", "pt": "v",
		"majorGridlines": "spPr", "solidFill": "srgbClr",
	}
}

func TestChartsFollowTheSchema(t *testing.T) {
	book := written(t, sampleBook())
	for number := range 5 {
		name := fmt.Sprintf("xl/charts/chart%d.xml", number+1)
		decoder := xml.NewDecoder(strings.NewReader(part(t, book, name)))
		type open struct {
			name string
			last int // place of the child before, in the order
		}
		stack := []open{{name: "document"}}
		for {
			token, err := decoder.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch token := token.(type) {
			case xml.StartElement:
				parent := &stack[len(stack)-1]
				if parent.name != "document" {
					place := slices.Index(strings.Fields(childOrder()[parent.name]), token.Name.Local)
					if place < 0 || place < parent.last {
						t.Errorf("%s: %s in %s is not in its place", name, token.Name.Local, parent.name)
					}
					parent.last = place
				}
				stack = append(stack, open{name: token.Name.Local})
			case xml.EndElement:
				stack = stack[:len(stack)-1]
			}
		}
	}
}

// chartOf is the chart of a sheet with these rows of category, a and b.
func chartOf(t *testing.T, chart workbook.Chart, rows ...[]any) string {
	t.Helper()
	chart.Title, chart.AltText, chart.Category = "T", "A", "category"
	book := written(t, sheetOf(workbook.Sheet{
		Name: "it's", Title: "T",
		Columns: []workbook.Column{
			{Name: "category", Format: "text"}, {Name: "a", Heading: "First", Format: "usd"}, {Name: "b", Format: "usd"},
			{Name: "on", Format: "on"}, {Name: "n", Format: "count"},
		},
		Rows: rowsOf(rows...), Charts: []workbook.Chart{chart},
	}))
	return part(t, book, "xl/charts/chart1.xml")
}

func TestChartDrawsItsRows(t *testing.T) {
	xml := chartOf(t, workbook.Chart{Kind: "bar", Series: []string{"b", "a"}, MaxRows: 2},
		[]any{"x & y", workbook.Number("1.5"), workbook.Number("2"), nil, nil},
		[]any{"z", nil, "no quote", nil, nil},
		[]any{"beyond", workbook.Number("9"), workbook.Number("9"), nil, nil},
	)
	var got []string
	for _, match := range regexp.MustCompile(`<c:f>([^<]*)</c:f>|<c:pt idx="(\d)"><c:v>([^<]*)</c:v>|<c:ptCount val="(\d+)"`).FindAllStringSubmatch(xml, -1) {
		got = append(got, strings.Trim(strings.Join(match[1:], " "), " "))
	}
	want := []string{
		"&#39;it&#39;&#39;s&#39;!$A$4:$A$5", "2", "0 x &amp; y", "1 z", "&#39;it&#39;&#39;s&#39;!$C$4:$C$5", "2", "0 2",
		"&#39;it&#39;&#39;s&#39;!$A$4:$A$5", "2", "0 x &amp; y", "1 z", "&#39;it&#39;&#39;s&#39;!$B$4:$B$5", "2", "0 1.5",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestBarsStartAtZero(t *testing.T) {
	for _, test := range []struct {
		name, kind string
		a, b       string
		wantBound  string
	}{
		{"positive", "bar", "100", "101", `<c:min val="0"/>`},
		{"stacked", "bar stacked", "100", "101", `<c:min val="0"/>`},
		{"negative", "bar", "-100", "-101", `<c:max val="0"/>`},
		{"both", "bar", "-100", "101", ""},
		{"lines need not", "line", "100", "101", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			xml := chartOf(t, workbook.Chart{Kind: test.kind, Series: []string{"a", "b"}}, []any{"x", number(test.a), number(test.b), nil, nil})
			got := strings.Join(regexp.MustCompile(`<c:(min|max) val="[^"]*"/>`).FindAllString(xml, -1), "")
			if diff := cmp.Diff(test.wantBound, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// Each chart stands right of the table of six columns and below the headings in row 4, and
// below the chart before it.
func TestChartsCoverNothing(t *testing.T) {
	drawing := part(t, written(t, sampleBook()), "xl/drawings/drawing2.xml")
	place := regexp.MustCompile(`<xdr:from><xdr:col>(\d+)</xdr:col>.*?<xdr:row>(\d+)</xdr:row>.*?<xdr:to><xdr:col>(\d+)</xdr:col>.*?<xdr:row>(\d+)</xdr:row>`)
	var got []string
	for _, match := range place.FindAllStringSubmatch(drawing, -1) {
		got = append(got, strings.Join(match[1:], " "))
	}
	// Counted from 0: column H, rows 5, 22 and 39.
	if diff := cmp.Diff([]string{"7 4 17 19", "7 21 17 36", "7 38 17 53"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if !strings.Contains(drawing, `descr="Line of labour minutes a truss by week, level around 26.`) {
		t.Error("no text for readers who cannot see the chart")
	}
}

func TestChartsOfNoRowsAreLeftOut(t *testing.T) {
	book := written(t, sheetOf(emptySheet()))
	archive, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range archive.File {
		if strings.Contains(file.Name, "chart") || strings.Contains(file.Name, "drawing") {
			t.Errorf("the book has %s", file.Name)
		}
	}
}
