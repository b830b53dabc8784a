package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"golang.org/x/net/html"

	"trusstally/fixtures/browser"
	"trusstally/reports"
)

// weekPage is a page that run has written, beside its books.
type weekPage struct {
	t      *testing.T
	folder string
	file   string
	root   *html.Node
	books  map[string]*excelize.File
}

func (p *testPlant) page(week, file string) *weekPage {
	p.t.Helper()
	folder := filepath.Join(p.dir, "books", week)
	text, err := os.ReadFile(filepath.Join(folder, file))
	if err != nil {
		p.t.Fatal(err)
	}
	root, err := html.Parse(strings.NewReader(string(text)))
	if err != nil {
		p.t.Fatal(err)
	}
	page := &weekPage{t: p.t, folder: folder, file: file, root: root, books: map[string]*excelize.File{}}
	p.t.Cleanup(func() {
		for _, book := range page.books {
			book.Close()
		}
	})
	return page
}

func attributeOf(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func textOf(n *html.Node) string {
	var text strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			text.WriteString(d.Data)
		}
	}
	return text.String()
}

// elements lists the page's elements of a name.
func (w *weekPage) elements(name string) []*html.Node {
	var found []*html.Node
	for n := range w.root.Descendants() {
		if n.Type == html.ElementNode && n.Data == name {
			found = append(found, n)
		}
	}
	return found
}

// hold holds every figure of the page against the cell of the book that it names, and wants
// every digit of the page in such a figure, in a name, or in the week's own label and days.
// It returns how many figures there were.
func (w *weekPage) hold(t *testing.T) int {
	t.Helper()
	figures := 0
	for n := range w.root.Descendants() {
		if n.Type != html.ElementNode || attributeOf(n, "data-sheet") == "" {
			continue
		}
		figures++
		name := attributeOf(n, "data-book")
		book := w.books[name]
		if book == nil {
			var err error
			if book, err = excelize.OpenFile(filepath.Join(w.folder, name+".xlsx")); err != nil {
				t.Fatal(err)
			}
			w.books[name] = book
		}
		sheet, cell := attributeOf(n, "data-sheet"), attributeOf(n, "data-cell")
		want, err := book.GetCellValue(sheet, cell)
		if err != nil || want == "" || want != textOf(n) {
			t.Errorf("%s says %q; %s!%s!%s says %q (%v)", w.file, textOf(n), name, sheet, cell, want, err)
		}
	}
	titles := map[string]bool{} // of figures, which a chart's title repeats
	for _, h3 := range w.elements("h3") {
		titles[textOf(h3)] = true
	}
	for n := range w.root.Descendants() {
		if n.Type == html.TextNode && strings.ContainsAny(n.Data, "0123456789") && !isExplained(n, titles) {
			t.Errorf("%s says %q, which is no cell", w.file, n.Data)
		}
	}
	return figures
}

// isExplained says whether a text with digits stands where no cell is due.
func isExplained(n *html.Node, titles map[string]bool) bool {
	if n.Parent.Data == "title" && n.Parent.Namespace == "svg" {
		return titles[n.Data]
	}
	for a := range n.Ancestors() {
		if attributeOf(a, "data-sheet") != "" {
			return true
		}
		switch a.Data {
		case "style", "h1", "title", "footer": // footer: the program's version
			return true
		}
		class := strings.Fields(attributeOf(a, "class"))
		for _, one := range class {
			switch {
			case one == "subtitle", one == "label", one == "legend", strings.HasPrefix(one, "on"): // names, and numbers of parts
				return true
			}
		}
	}
	return false
}

// holdWall wants a wall page without dollars, pace, injuries, and any of the names.
func (w *weekPage) holdWall(t *testing.T, names []string) {
	t.Helper()
	whole := textOf(w.elements("header")[0]) + textOf(w.elements("main")[0])
	for _, word := range []string{"USD", "$", "margin", "revenue", "minutes a truss", "labour hour", "like for like", "incident", "injur", "near miss", "first aid", "recordable"} {
		if strings.Contains(strings.ToLower(whole), strings.ToLower(word)) {
			t.Errorf("the wall says %q", word)
		}
	}
	for _, name := range names {
		if regexp.MustCompile(`(^|[^\w-])` + regexp.QuoteMeta(name) + `($|[^\w-])`).MatchString(whole) {
			t.Errorf("the wall names %q", name)
		}
	}
	for n := range w.root.Descendants() {
		if sheet := attributeOf(n, "data-sheet"); sheet == "like_for_like" || strings.HasPrefix(sheet, "margin") {
			t.Errorf("the wall has a figure of %s", sheet)
		}
		if n.Type == html.ElementNode && n.Data == "a" && strings.Contains(attributeOf(n, "href"), ".xlsx") {
			t.Errorf("the wall leads to %s", attributeOf(n, "href"))
		}
	}
}

var changeStudied = regexp.MustCompile(`change \S+: `)

// holdPace wants quality in each section that has pace.
func (w *weekPage) holdPace(t *testing.T) (paced int) {
	t.Helper()
	for _, section := range w.elements("section") {
		text := textOf(section)
		if !strings.Contains(text, "minutes a truss") && !strings.Contains(text, "minutes than the others") && !strings.Contains(text, "Difference") && !changeStudied.MatchString(text) {
			continue
		}
		paced++
		if !strings.Contains(text, "Right first time") || !strings.Contains(text, "Inspections") {
			t.Errorf("the section %s has pace and no quality", attributeOf(section, "aria-labelledby"))
		}
	}
	return paced
}

// demoPages asks the demo's pages what the smaller plants can't show: all charts, pace.
func demoPages(t *testing.T, p *testPlant) {
	office, wall := p.page("2026-W46", reports.WeekPageFile), p.page("2026-W46", reports.WallPageFile)
	if got := office.hold(t); got < 400 {
		t.Errorf("%d figures on the page", got)
	}
	if got := wall.hold(t); got < 100 {
		t.Errorf("%d figures on the wall", got)
	}
	if got := office.holdPace(t); got != 1 {
		t.Errorf("%d sections have pace", got)
	}
	var names []string
	for _, row := range p.query("SELECT job AS name FROM jobs UNION SELECT customer FROM jobs UNION SELECT crew FROM timecards UNION SELECT employee FROM timecards") {
		if name := asText(row["name"]); name != "" {
			names = append(names, name)
		}
	}
	if len(names) < 100 {
		t.Fatalf("%d names", len(names))
	}
	wall.holdWall(t, names)
	for page, want := range map[*weekPage]int{office: 6, wall: 4} {
		if got := len(page.elements("figure")); got != want {
			t.Errorf("%s has %d figures, want %d", page.file, got, want)
		}
	}
	// The findings of the books are the page's.
	said := textOf(office.root)
	for _, book := range []string{"job-margin", "lumber-yield", "crews-shifts"} {
		for _, row := range sheetRows(t, filepath.Join(office.folder, book+".xlsx"), "front") {
			if len(row) > 2 && (row[0] == "finding" || row[0] == "also") && !strings.Contains(said, row[2]) {
				t.Errorf("the page doesn't say %q", row[2])
			}
		}
	}
	// Wages: what only the accountant's book may hold isn't beside it.
	for _, word := range []string{"rate_usd", "gross", "payroll_bridge"} {
		if strings.Contains(said, word) {
			t.Errorf("the page says %q", word)
		}
	}
}

// demoPagesOnScreens shows the demo's pages on a phone, a desk and a wall.
func demoPagesOnScreens(t *testing.T, p *testPlant) {
	b := browser.Installed(t)
	for _, screen := range browser.Screens() {
		for _, file := range []string{reports.WeekPageFile, reports.WallPageFile} {
			size, console, err := b.Measure(t.Context(), screen, filepath.Join(p.dir, "books", "2026-W46", file))
			if err != nil {
				t.Fatal(err)
			}
			ground := "rgb(255, 255, 255)"
			if screen.Dark {
				ground = "rgb(17, 24, 31)"
			}
			if len(console) > 0 || size.Width > screen.Width || size.Dark != screen.Dark || size.Ground != ground {
				t.Errorf("%s on %s: %+v, console %v", file, screen.Name, size, console)
			}
			if file == reports.WallPageFile && screen.Width == 1920 && size.Height > screen.Height {
				t.Errorf("the wall's page is %d high on a wall", size.Height)
			}
		}
	}
}

// TestPagesOfPlants writes the pages of small plants that the sheets are tested with: one crew,
// a first week without history, hours without clock times, trusses without cut lists; and of a
// week in which nothing happened.
func TestPagesOfPlants(t *testing.T) {
	for _, one := range []struct{ plant, week string }{{"week", "2026-W12"}, {"week", "2025-W20"}, {"hours", "2026-W12"}, {"unlisted", "2026-W12"}} {
		t.Run(one.plant+" "+one.week, func(t *testing.T) {
			folder := filepath.Join(reportPlants, one.plant)
			p := newTestPlant(t, readText(t, folder, "plant.toml"), feedTexts(t, folder))
			if _, stderr, code := p.run("run", "--week", one.week); code != exitFine {
				t.Fatalf("exit %d\n%s", code, stderr)
			}
			office, wall := p.page(one.week, reports.WeekPageFile), p.page(one.week, reports.WallPageFile)
			if office.hold(t) < 3 {
				t.Error("hardly a figure on the page")
			}
			wall.hold(t)
			office.holdPace(t)
			wall.holdWall(t, nil)
		})
	}
}

// TestPageOfHostileNames: a job, a customer and a crew whose names are 200 characters of
// markup are text, and no figure moves.
func TestPageOfHostileNames(t *testing.T) {
	folder := filepath.Join(reportPlants, "week")
	files := feedTexts(t, folder)
	name := func(begins string) string { return begins + strings.Repeat("W", 200-len(begins)) }
	job, crew := name("<script>alert(1)</script>&amp;"), name("<img src=x onerror=alert(2)>")
	renamed := 0
	for feed, text := range files {
		lines := strings.Split(text, "\n")
		for i, line := range lines {
			cells := strings.Split(line, ",")
			for j, cell := range cells {
				switch cell {
				case "J1":
					cells[j] = job
					renamed++
				case "RED":
					cells[j] = crew
					renamed++
				}
			}
			lines[i] = strings.Join(cells, ",")
		}
		files[feed] = strings.Join(lines, "\n")
	}
	if renamed < 5 {
		t.Fatalf("%d names in the files", renamed)
	}
	p := newTestPlant(t, strings.Replace(readText(t, folder, "plant.toml"), "name = \"", "name = \"<i>&", 1), files)
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	office := p.page("2026-W12", reports.WeekPageFile)
	if office.hold(t) < 50 {
		t.Error("hardly a figure on the page")
	}
	if len(office.elements("script"))+len(office.elements("img"))+len(office.elements("i")) > 0 {
		t.Error("a name became markup")
	}
	if text := textOf(office.root); !strings.Contains(text, job) || !strings.Contains(text, crew) || !strings.Contains(text, "<i>&") {
		t.Error("a name is not on the page")
	}
	p.page("2026-W12", reports.WallPageFile).holdWall(t, []string{job, crew})
	t.Run("on a phone", func(t *testing.T) {
		b := browser.Installed(t)
		size, console, err := b.Measure(t.Context(), browser.Screens()[0], filepath.Join(office.folder, office.file))
		if err != nil || size.Width > 390 || len(console) > 0 {
			t.Errorf("%+v, console %v (%v)", size, console, err)
		}
	})
}

// TestPageOfManyJobs: of 5,000 jobs in one week the page shows the lowest, and says where the
// others are.
func TestPageOfManyJobs(t *testing.T) {
	var jobs strings.Builder
	jobs.WriteString("job,customer,price_usd,shipped_on\n")
	for i := range 5000 {
		fmt.Fprintf(&jobs, "J%04d,C%d,%d.25,2026-03-1%d\n", i, i%7, 1000+i, 6+i%4)
	}
	p := newTestPlant(t, testSettings, map[string]string{"jobs": jobs.String()})
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	office := p.page("2026-W12", reports.WeekPageFile)
	office.hold(t)
	text := textOf(office.root)
	if !strings.Contains(text, "5,000 jobs") {
		t.Error("5,000 jobs are not told")
	}
	if !strings.Contains(text, "the others are on the sheet margin_by_job") {
		t.Error("the page doesn't say where the other jobs are")
	}
	if size := len(text); size > 60_000 {
		t.Errorf("a page of %d letters", size)
	}
}
