package page

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// hostile is text that would be markup if it were not escaped, and 200 characters long.
var hostile = `<script>alert("1")</script>&amp;'"><img src=x onerror=alert(1)> ` + strings.Repeat("W", 136)

func at(text, cell string) Cell {
	return Cell{Text: text, Place: Place{Book: hostile, Sheet: hostile, Cell: cell}}
}

func number(n float64) Value {
	return Value{Cell: at(strconv.FormatFloat(n, 'f', 2, 64), "C9"), Number: n, Known: true}
}

// fullPage has everything that a page can have, in hostile texts.
func fullPage() Page {
	table := Table{
		Caption: hostile, Columns: []Column{{Heading: hostile}, {Heading: hostile, Unit: hostile, Number: true}},
		Rows: [][]Cell{{at(hostile, "A9"), at("1.00", "B9")}, {{Text: hostile}, {}}}, More: hostile, Folded: true,
	}
	figures := []Figure{
		{Title: Say(hostile, at("1.00", "A1")), Description: hostile, Table: &table, Source: Link{File: "book.xlsx", Words: hostile},
			Chart: Bars{Unit: hostile, Name: hostile, Reference: hostile, Rows: []Bar{
				{Label: hostile, Value: number(10), Reference: number(20)}, {Label: "b", Value: number(-5)}, {Label: "c", Value: Value{Cell: Cell{Text: "not known"}}},
			}}},
		{Title: Say("waterfall"), Chart: Waterfall{Unit: "USD", Steps: []Step{
			{Label: hostile, Effect: number(10), After: 10, Level: true}, {Label: "up", Effect: number(5), After: 15},
			{Label: "down", Effect: number(-20), After: -5}, {Label: "end", Effect: number(-5), After: -5, Level: true},
		}}},
		{Title: Say("stacked"), Chart: Stacked{Unit: "min", Parts: []string{hostile, "b"}, Rows: []StackedBar{{Label: hostile, Whole: number(3), Parts: []Value{number(1), number(2)}}}}},
		{Title: Say("lines"), Chart: Lines{Unit: hostile, Mean: number(2), Low: number(1), High: number(3), Points: []Point{
			{Label: at(hostile, "B1"), Value: number(2)}, {Label: at("W2", "B2")}, {Label: at("W3", "B3"), Value: number(4), Marked: true, Signal: true},
		}}},
		{Title: Say("one point"), Chart: Lines{Unit: "%", Points: []Point{{Label: at("W1", "B1"), Value: number(7)}}}},
		{Title: Say("nothing"), Empty: hostile},
	}
	return Page{
		Title: hostile, Heading: hostile, Subtitle: hostile,
		Alarms: []Finding{{Item: at(hostile, "A1"), Sentence: at(hostile, "B1"), Figures: []Amount{{hostile, at("2", "C1"), hostile}}}},
		Status: []Words{Say(hostile)}, Links: []Link{{File: "book.xlsx", Words: hostile}}, Footer: []Words{Say(hostile)},
		Sections: []Section{
			{ID: "one", Heading: hostile, Tiles: []Tile{{Label: hostile, Figure: at(hostile, "D1"), Unit: hostile, Beside: Say(hostile)}, {Label: "b", Figure: Cell{Text: "not known"}}},
				Groups: []Group{{Heading: hostile, Link: Link{File: "book.xlsx", Words: hostile}, More: hostile, Findings: []Finding{{Item: at(hostile, "A1"), Sentence: at(hostile, "B1")}}}}},
			{ID: "two", Heading: "Charts", Figures: figures, Tables: []Table{table}, Notes: []string{hostile}},
			{ID: "three", Heading: "Empty", Empty: hostile},
		},
	}
}

func written(t *testing.T, p Page) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func parsed(t *testing.T, text string) *html.Node {
	t.Helper()
	root, err := html.Parse(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return root
}

func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func words(n *html.Node) string {
	var text strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			text.WriteString(d.Data)
		}
	}
	return text.String()
}

func elements(root *html.Node, names ...string) []*html.Node {
	var found []*html.Node
	for n := range root.Descendants() {
		if n.Type == html.ElementNode && slices.Contains(names, n.Data) {
			found = append(found, n)
		}
	}
	return found
}

// TestTextIsText: no text of the caller's becomes markup, and nothing is fetched or run.
func TestTextIsText(t *testing.T) {
	text := written(t, fullPage())
	if text != written(t, fullPage()) {
		t.Error("two runs differ")
	}
	if !strings.HasSuffix(text, "</html>\n") {
		t.Errorf("the page ends with %q", text[len(text)-20:])
	}
	root := parsed(t, text)
	if n := elements(root, "script", "img", "iframe", "object", "embed", "form", "base"); len(n) != 0 {
		t.Errorf("%d elements that must not be there, first %s", len(n), n[0].Data)
	}
	for n := range root.Descendants() {
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("<%s %s>", n.Data, a.Key)
			}
			if a.Key == "src" || (a.Key == "href" || a.Key == "xlink:href") && regexp.MustCompile(`^(?i)(https?:|//|javascript:)`).MatchString(a.Val) {
				t.Errorf("<%s %s=%q>", n.Data, a.Key, a.Val)
			}
		}
	}
	for _, style := range elements(root, "style") {
		if css := words(style); strings.Contains(css, "@import") || strings.Contains(css, "url(") {
			t.Error("the styles fetch something")
		}
	}
	if whole := words(root); strings.Count(whole, hostile) < 20 {
		t.Errorf("the hostile text stands %d times as it is", strings.Count(whole, hostile))
	}
	for _, data := range elements(root, "span", "tspan") {
		if place := attribute(data, "data-sheet"); place != "" && place != hostile {
			t.Errorf("a place became %q", place)
		}
	}
}

// TestStructure is what assistive programs go by: language, landmarks, one first heading,
// headings in order, heads of rows and columns, an alternative for every chart, ids once.
func TestStructure(t *testing.T) {
	for _, wall := range []bool{false, true} {
		p := fullPage()
		p.Wall = wall
		root := parsed(t, written(t, p))
		if lang := attribute(elements(root, "html")[0], "lang"); lang != "en" {
			t.Errorf("lang %q", lang)
		}
		for name, want := range map[string]int{"header": 1, "main": 1, "footer": 1, "h1": 1, "title": 6} {
			if got := len(elements(root, name)); got != want { // a <title> of the window, one a chart
				t.Errorf("%d <%s>, want %d", got, name, want)
			}
		}
		level := 0
		for _, heading := range elements(root, "h1", "h2", "h3", "h4") {
			next := int(heading.Data[1] - '0')
			if next > level+1 {
				t.Errorf("%s after h%d", heading.Data, level)
			}
			level = next
		}
		ids := map[string]bool{}
		for n := range root.Descendants() {
			if id := attribute(n, "id"); id != "" {
				if ids[id] {
					t.Errorf("id %s twice", id)
				}
				ids[id] = true
			}
		}
		named := func(n *html.Node, name string) {
			for _, id := range strings.Fields(attribute(n, name)) {
				if !ids[id] {
					t.Errorf("%s=%s leads nowhere", name, id)
				}
			}
		}
		charts := 0
		for _, svg := range elements(root, "svg") {
			if attribute(svg, "aria-hidden") == "true" {
				continue
			}
			charts++
			if attribute(svg, "role") != "img" || len(strings.Fields(attribute(svg, "aria-labelledby"))) != 2 || len(elements(svg, "title")) != 1 || len(elements(svg, "desc")) != 1 {
				t.Error("a chart without role, title or description")
			}
			named(svg, "aria-labelledby")
		}
		if charts != 5 {
			t.Errorf("%d charts", charts)
		}
		for _, section := range elements(root, "section") {
			named(section, "aria-labelledby")
		}
		for _, th := range elements(root, "th") {
			if scope := attribute(th, "scope"); scope != "col" && scope != "row" {
				t.Errorf("a <th> of scope %q", scope)
			}
		}
		for _, table := range elements(root, "table") {
			if len(elements(table, "caption")) != 1 {
				t.Error("a table without a caption")
			}
		}
	}
}

var rectangle = regexp.MustCompile(`<rect x="([^"]+)" y="[^"]+" width="([^"]+)" height="[^"]+" class="(f[0-9]) outline"/>`)

// TestBarsBeginAtZero: lengths of bars are as their figures are.
func TestBarsBeginAtZero(t *testing.T) {
	drawn := drawing(Figure{Title: Say("t"), Chart: Bars{Unit: "USD", Name: "n", Rows: []Bar{{Label: "a", Value: number(100)}, {Label: "b", Value: number(50)}, {Label: "c", Value: number(-25)}}}}, "c")
	figure, _, _ := strings.Cut(drawn, "<ul")
	var starts, widths []float64
	for _, match := range rectangle.FindAllStringSubmatch(figure, -1) {
		start, err1 := strconv.ParseFloat(match[1], 64)
		width, err2 := strconv.ParseFloat(match[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(match)
		}
		starts, widths = append(starts, start), append(widths, width)
	}
	near := func(a, b float64) bool { return a-b < 0.02 && b-a < 0.02 }
	if len(widths) != 3 || !near(widths[0], 2*widths[1]) || !near(widths[0], 4*widths[2]) || !near(starts[0], starts[1]) || !near(starts[2]+widths[2], starts[0]) {
		t.Errorf("bars start at %v and are %v wide", starts, widths)
	}
	if !strings.Contains(figure, fmt.Sprintf(`<line x1="%s"`, coordinate(starts[0]))) {
		t.Error("no line where the bars begin")
	}
	if !strings.Contains(figure, "url(#c-hatch)") {
		t.Error("a bar below zero is told by its hue alone")
	}
}
