package workbook

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// Widths are in column units, heights in points.
const (
	narrowestColumn = 8.0
	widestColumn    = 48.0
	cellPadding     = 3.0   // of a cell's two edges, and the indent of what is left aligned
	narrowestText   = 80.0  // notes and title get this much, however narrow the table
	widestText      = 120.0 // and no more than this, however wide
	narrowestGap    = 4.0

	narrowestBesideCharts = 60.0 // as narrowestText, where charts follow
	titleScale            = titleSize / bodySize

	lineHeight   = 13.0
	rowMargin    = 2.0
	tallestRow   = 409.0 // that the format allows
	titleHeight  = 22.0
	filterHeight = 14.0 // strip of the heading row that the filter buttons stand in
	headingLines = 2    // that a heading may take beside its unit, if its words allow

	unbrokenHeading = 11.0 // width of a heading that stays on one line
)

// layout says where things stand on a sheet. Rows count from 1; 0 means not there.
type layout struct {
	title      []string // lines, one to a row
	notes      []noteLine
	totalRow   int
	headingRow int
	firstRow   int // of the table's body
	lastRow    int

	widths        []float64 // of the columns
	wraps         []bool    // whether some cell of the column has more than one line
	headingHeight float64   // points
	textWidth     float64   // that title and notes are wrapped to
	gap           float64   // width of the column between table and charts; 0 without charts
}

// noteLine is one row of notes.
type noteLine struct {
	text      string
	continued bool // goes on with the note above
}

// layOut places a sheet whose rows have been walked.
func layOut(p *plan) layout {
	var l layout
	tableWidth := 0.0
	for i, c := range p.columns {
		width := p.columnWidth(i)
		l.widths = append(l.widths, width)
		l.wraps = append(l.wraps, p.tallies[i].broken || p.tallies[i].widest > width-cellPadding)
		tableWidth += width
		lines := len(wrap(c.heading, width-cellPadding, true))
		l.headingHeight = max(l.headingHeight, float64(lines)*lineHeight+filterHeight)
	}
	l.textWidth = min(max(tableWidth, narrowestText), widestText)
	if len(p.Charts) > 0 && p.rows.rows > 0 {
		// Table and gap print as one area, which must not cut the notes off.
		l.textWidth = min(max(tableWidth, narrowestBesideCharts), widestText)
		l.gap = max(narrowestGap, l.textWidth-tableWidth)
	}
	l.title = wrap(p.Title, l.textWidth/titleScale, true)
	for _, note := range p.Notes {
		for i, line := range wrap(note, l.textWidth, false) {
			l.notes = append(l.notes, noteLine{text: line, continued: i > 0})
		}
	}
	if len(p.columns) == 0 {
		return l
	}
	row := len(l.title) + len(l.notes) + 1 // a blank row sets the table apart
	if p.hasTotals() {
		row++
		l.totalRow = row
	}
	l.headingRow = row + 1
	l.firstRow = l.headingRow + 1
	l.lastRow = l.headingRow + max(p.rows.rows, 1) // a table has a row, even if blank
	return l
}

// columnWidth makes room for the widest cell, the total and the words of the heading.
func (p *plan) columnWidth(index int) float64 {
	c, t := p.columns[index], &p.tallies[index]
	widest := t.widest
	if c.format.kind == kindText && slices.ContainsFunc(p.Emphasis, func(e Emphasis) bool { return e.Column == c.Name }) {
		widest *= boldWidening
	}
	label := ""
	if index == 0 {
		label = totalLabel + " "
	}
	total := 0.0
	switch {
	case c.count:
		total = format{kind: kindNumber}.shownWidth(Number(strconv.Itoa(t.filled)))
	case c.sum, c.expression != nil && !c.expression.isRatio():
		total = c.format.shownWidth(t.sum.number())
	}
	widest = max(widest, textWidth(label, true)+total*boldWidening, headingWidth(c.heading))
	return min(max(math.Ceil(widest+cellPadding), narrowestColumn), widestColumn)
}

// headingWidth keeps the heading to headingLines and its unit, if it can.
func headingWidth(heading string) float64 {
	text, unit, _ := strings.Cut(heading, "\n")
	width := textWidth(unit, true)
	for word := range strings.FieldsSeq(text) {
		width = max(width, textWidth(word, true))
	}
	if whole := textWidth(text, true); whole <= unbrokenHeading {
		return max(width, whole)
	}
	for len(wrap(text, width, true)) > headingLines {
		width++
	}
	return width
}

// rowHeight is the height of a row in which text is wrapped, or 0 for that of the program.
func (l *layout) rowHeight(row []any) float64 {
	lines := 1
	for i, cell := range row {
		if text, ok := cell.(string); ok && l.wraps[i] {
			lines = max(lines, wrappedLines(text, l.widths[i]-cellPadding))
		}
	}
	if lines == 1 {
		return 0
	}
	return min(float64(lines)*lineHeight+rowMargin, tallestRow)
}
