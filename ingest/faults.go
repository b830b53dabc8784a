package ingest

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"trusstally/ingest/problem"
)

// hidden stands where pay would be printed.
const hidden = "•••"

// The most characters of a cell and of a row that a message shows.
const (
	longestCellShown = 80
	longestRowShown  = 600
)

// fault is one thing wrong with one row, with the row as it stands.
type fault struct {
	line, lines int64  // physical line of the row, and lines that it covers
	ordinal     int    // number of the column in the feed's declaration, or -1
	code        string // code word
	rule        int    // number of the row rule, or -1
	note        string // other lines that it is about
	found       int    // cells that the row has
	cells       []string
	rest        string // cells beyond the header row's, as CSV
	holes       string // cells that hold no value, as markHoles writes them
	stray       string // the cell in which a stray quote stands, as strayCell writes it, or ""
}

// describeFault says what a fault is, for people.
func (l *landing) describeFault(f fault) *problem.Problem {
	p := l.explain(f)
	p.Code = f.code
	p.Place = l.at.row(f.line)
	if f.ordinal >= 0 {
		c := l.feed.Columns[f.ordinal]
		name := c.Name
		if cell := l.faultyCell(f); cell >= 0 {
			name = l.header.names[cell]
			p.Place = l.at.cell(f.line, cell)
		}
		p.Group = c.Name
		p.What = name + ": " + p.What
	}
	p.Row = l.showRow(f)
	return p
}

// explain returns what is wrong and the hint.
func (l *landing) explain(f fault) *problem.Problem {
	if f.rule >= 0 {
		rule := l.feed.Rules[f.rule]
		what := rule.What
		if text := l.showCell(f); text != "" {
			what += " (" + text + ")"
		}
		return &problem.Problem{What: what, Hint: rule.Hint}
	}
	switch f.code {
	case CodeRaggedRow:
		return l.explainRagged(f)
	case CodeStrayQuote:
		return &problem.Problem{
			What: "text follows a closing quote" + f.coveredLines(),
			Hint: `a quote inside a quoted cell is written twice: "8"" web"`,
		}
	case CodeRowTooLong:
		return &problem.Problem{
			What: fmt.Sprintf("the row is longer than %d thousand characters, or has more than %d cells", longestRow/1000, mostCells) + f.coveredLines(),
			Hint: "look for a quote that opens in it and closes far below",
		}
	case CodeRepeatedKey:
		return l.explainRepeated(f)
	case CodeWith:
		return &problem.Problem{
			What: fmt.Sprintf("held back with line %s: rows of one group are taken or refused together (%s)", f.note, groupWords(l.feed)),
			Hint: "mend the line that it names: the rejects file holds the whole group",
		}
	case CodeErrorCell:
		return &problem.Problem{What: "the sheet shows an error (" + l.showCell(f) + ")", Hint: "mend the formula in the sheet, or type the value"}
	case CodeNoValue:
		return &problem.Problem{What: "a formula whose value is not in the file (" + l.showCell(f) + ")", Hint: "open the workbook in a spreadsheet, which works it out, and save it; or type the value"}
	case CodeDateCell:
		return &problem.Problem{
			What: "the sheet holds a date or a time of the clock, and the column has none (" + l.showCell(f) + ")",
			Hint: "the sheet may have made it of what was typed: format the column as text and type it again",
		}
	case CodeMissingValue:
		return &problem.Problem{What: "blank, and it must be given", Hint: "fill it in: " + l.feed.Columns[f.ordinal].Meaning}
	}
	return l.explainCell(f)
}

// explainCell asks the column's grammar once more what is wrong with the cell.
func (l *landing) explainCell(f fault) *problem.Problem {
	c := l.feed.Columns[f.ordinal]
	text := l.cellOf(f)
	if l.reader.reads(f.ordinal) {
		var wrong *problem.Problem
		if text, _, wrong = l.reread(f); wrong != nil {
			what := wrong.What
			if c.Wage { // the value may have brackets of its own: all from the first goes
				what, _, _ = strings.Cut(what, " (")
				what += " (" + hidden + ")"
			}
			return &problem.Problem{What: what, Hint: wrong.Hint}
		}
	}
	p := &problem.Problem{What: "not readable (" + text + ")"}
	if isNumber(c) {
		p = numberProblem(c, f.code, text)
	} else if read := grammarOf(c, l.opts); read != nil {
		_, err := read(text)
		errors.As(err, &p)
	}
	p.What = strings.TrimSuffix(p.What, "("+text+")") + "(" + l.showCell(f) + ")"
	return p
}

func (l *landing) explainRagged(f fault) *problem.Problem {
	if l.at.sheet != "" {
		last := l.at.column(len(l.header.names) - 1)
		return &problem.Problem{
			What: fmt.Sprintf("the row goes on to column %s, the header row ends at %s", l.at.column(f.found-1), last),
			Hint: "give the column a header, or delete what stands right of column " + last,
		}
	}
	p := &problem.Problem{
		What: fmt.Sprintf("the row has %s, the header row has %d", counted(f.found, "cell"), len(l.header.names)) + f.coveredLines(),
		Hint: fmt.Sprintf("a cell is missing: put in the %s that keeps its place", strings.TrimSuffix(delimiterName(l.opts.Reading.delimiter()), "s")),
	}
	if f.found > len(l.header.names) {
		p.Hint = fmt.Sprintf("put quotes round a cell that holds a %s, or delete the cells that are too many", strings.TrimSuffix(delimiterName(l.opts.Reading.delimiter()), "s"))
	}
	return p
}

func (l *landing) explainRepeated(f fault) *problem.Problem {
	key := keyOf(l.feed)
	shown := make([]string, len(key))
	for i, name := range key {
		shown[i] = shorten(l.cellOf(fault{ordinal: columnNumber(l.feed, name), cells: f.cells}), longestCellShown)
	}
	return &problem.Problem{
		What: fmt.Sprintf("the file has this more than once with different values, also on line %s (%s)", f.note, strings.Join(shown, ", ")),
		Hint: "keep the row that is right and delete the others",
	}
}

// coveredLines warns of rows that a quote may have taken in.
func (f fault) coveredLines() string {
	if f.lines == 1 {
		return ""
	}
	return fmt.Sprintf(", and a quote in it takes in the %s after it", counted(f.lines-1, "line"))
}

// reread reads the column of a fault once more, by the reading rules.
func (l *landing) reread(f fault) (text string, cell int, wrong *problem.Problem) {
	cells := make([][]byte, len(f.cells))
	for i, text := range f.cells {
		cells[i] = []byte(text)
	}
	l.reader.row(cells)
	return l.reader.read(f.ordinal)
}

// faultyCell is the cell that a fault points at, -1 where the file has no such column: of
// several that make the column the one in which something is wrong.
func (l *landing) faultyCell(f fault) int {
	cell := l.header.cells[f.ordinal]
	if !l.reader.reads(f.ordinal) || f.rule >= 0 {
		return cell
	}
	for _, k := range l.header.sources[f.ordinal] {
		if f.hole(k) {
			return k
		}
	}
	if f.code == CodeMissingValue {
		for _, k := range l.header.sources[f.ordinal] {
			if k < len(f.cells) && strings.Trim(f.cells[k], blanks) == "" {
				return k
			}
		}
	}
	if _, at, wrong := l.reread(f); wrong != nil {
		return at
	}
	return cell
}

// hole says whether a cell holds no value, as its workbook says.
func (f fault) hole(cell int) bool { return strings.Contains(f.holes, fmt.Sprintf(",%d:", cell)) }

// cellOf returns the trimmed text of the cell, of several one after the other; its default
// where it is blank.
func (l *landing) cellOf(f fault) string {
	text := ""
	if f.ordinal >= 0 {
		for _, cell := range l.header.sources[f.ordinal] {
			text = strings.Trim(text+" "+strings.Trim(f.cells[cell], blanks), blanks)
		}
	}
	if text == "" {
		return l.feed.Columns[f.ordinal].Default
	}
	return text
}

// showCell returns the text of the cell as a message may show it.
func (l *landing) showCell(f fault) string {
	text := l.cellOf(f)
	for _, cell := range l.header.sources[f.ordinal] {
		if f.hole(cell) {
			text = strings.Trim(f.cells[cell], blanks)
		}
	}
	if text != "" && l.feed.Columns[f.ordinal].Wage {
		return hidden
	}
	return shorten(text, longestCellShown)
}

// showRow returns the row as it stands, as a message may show it: without pay. Where the
// feed has pay, a column that it does not know may be pay under another name, and the
// cells of a row out of shape may be pay wherever they stand.
func (l *landing) showRow(f fault) string {
	paid := holdsPay(l.feed)
	if paid && (f.code == CodeRaggedRow || f.code == CodeStrayQuote || f.code == CodeRowTooLong) {
		return hidden
	}
	cells := append([]string(nil), f.cells[:min(f.found, len(f.cells))]...)
	for i := range cells {
		if paid && l.header.secret(l.feed, i, isWage) && strings.Trim(cells[i], blanks) != "" {
			cells[i] = hidden
		}
	}
	delimiter := l.opts.Reading.delimiter()
	row := string(appendDelimited(nil, cells, delimiter))
	if f.found > len(f.cells) {
		row += string(delimiter) + f.rest
	}
	return shorten(row, longestRowShown)
}

// holdsPay says whether a feed has a column of pay.
func holdsPay(feed Feed) bool { return slices.ContainsFunc(feed.Columns, isWage) }

func isWage(c Column) bool { return c.Wage }

// shorten cuts a text that is too long to show.
func shorten(text string, longest int) string {
	if runes := []rune(text); len(runes) > longest {
		return string(runes[:longest]) + "…"
	}
	return text
}

// groupWords names what holds the rows of a group together, for people.
func groupWords(feed Feed) string {
	if len(feed.Group) == 0 {
		return strings.Join(feed.Key, ", ")
	}
	words := make([]string, len(feed.Group))
	for i, g := range feed.Group {
		words[i] = g.Column
		if g.Column == "" {
			words[i] = "date of " + g.ElseDateOf
		}
	}
	return strings.Join(words, ", ")
}
