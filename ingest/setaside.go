package ingest

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"

	"trusstally/ingest/problem"
)

// lineKind is what a line is that is no row.
type lineKind int

const (
	rowLine lineKind = iota
	footerLine
	subtotalLine
	remarkLine
)

// setAside takes the lines that are no rows out of a file, as plant.toml names them, and
// holds the totals that they carry against the rows. Sums are in the plant's own figures,
// rows that are refused later among them.
type setAside struct {
	rules  []lineRule
	marks  numberMarks
	reader *rowReader // nil where every cell is read as it stands
	header *header
	feed   Feed
	at     places
	footer bool // plant.toml names a line that ends the file
	sums   []*totalled
	rows   int64
	group  int64 // rows since the last subtotal
	counts []saidRows
	wrong  []wrongTotal
}

// wrongTotal is a total that does not hold, and the line that gives it.
type wrongTotal struct {
	line    int64
	problem *problem.Problem
}

// totalled is a column of which lines carry the total.
type totalled struct {
	column int
	cell   int
	sum    *big.Rat
	group  *big.Rat // since the last subtotal
	unread int64    // cells without a number that can be read
	inTurn int64    // of them, since the last subtotal
	said   []saidTotal
}

// saidTotal is a total as a line gives it.
type saidTotal struct {
	line   int64
	figure *big.Rat
	text   string
}

// saidRows is a number of rows as a line gives it.
type saidRows struct {
	line int64
	rows *big.Rat
	text string
}

// newSetAside returns nil where plant.toml names no such lines.
func newSetAside(reading *Reading, reader *rowReader, h *header, feed Feed, at places) *setAside {
	if reading == nil || len(reading.lines) == 0 {
		return nil
	}
	s := &setAside{rules: reading.lines, marks: reading.marks, reader: reader, header: h, feed: feed, at: at, footer: len(reading.rules.Footer) > 0}
	for _, i := range reading.totals {
		if h.cells[i] >= 0 {
			s.sums = append(s.sums, &totalled{column: i, cell: h.cells[i], sum: new(big.Rat), group: new(big.Rat)})
		}
	}
	return s
}

// take says what kind of line a row is, and notes its figures.
func (s *setAside) take(row record) lineKind {
	if s == nil {
		return rowLine
	}
	if row.fault == "" && len(row.cells) > 0 && !s.header.rejects {
		first := bytes.Trim(row.cells[0], blanks)
		for _, rule := range s.rules {
			if match := rule.pattern.FindSubmatch(first); match != nil {
				s.line(rule.kind, row, match)
				return rule.kind
			}
		}
	}
	s.rows++
	s.group++
	for _, t := range s.sums {
		text := cellText(row, t.cell)
		if text == "" && row.fault == "" && len(row.cells) == len(s.header.names) {
			continue
		}
		figure, ok := s.figure(t.column, text)
		if !ok || row.fault != "" || len(row.cells) != len(s.header.names) {
			t.unread++
			t.inTurn++
			continue
		}
		t.sum.Add(t.sum, figure)
		t.group.Add(t.group, figure)
	}
	return rowLine
}

// line notes the figures of a line that is no row, and holds a subtotal against its rows.
func (s *setAside) line(kind lineKind, row record, match [][]byte) {
	if kind == remarkLine {
		return
	}
	if len(match) > 1 {
		digits := strings.NewReplacer(",", "", ".", "", " ", "").Replace(string(match[1]))
		said := saidRows{line: int64(row.line), rows: rational(digits), text: strings.Trim(string(match[1]), blanks)}
		if kind == footerLine {
			s.counts = append(s.counts, said)
		} else {
			s.holdRows(said, s.group)
		}
	}
	for _, t := range s.sums {
		text := cellText(row, t.cell)
		if text == "" || t.cell == 0 {
			continue
		}
		figure, ok := s.figure(t.column, text)
		if !ok {
			s.fail(int64(row.line), t.cell, CodeControlTotal, fmt.Sprintf("the total of %s is no number (%s)", s.name(t), s.show(t, text)), "mend the total as it stands on the document, or the patterns in plant.toml")
			continue
		}
		said := saidTotal{line: int64(row.line), figure: figure, text: text}
		if kind == footerLine {
			t.said = append(t.said, said)
		} else if t.inTurn == 0 {
			s.holdTotal(t, said, t.group)
		}
	}
	if kind == subtotalLine {
		s.group = 0
		for _, t := range s.sums {
			t.group.SetInt64(0)
			t.inTurn = 0
		}
	}
}

// finish holds the totals of the whole file against its rows. What does not add up refuses
// the file; what cannot be proved is a warning.
func (s *setAside) finish() ([]string, error) {
	if s == nil || s.header.rejects {
		return nil, nil
	}
	var warnings []string
	for _, said := range s.counts {
		s.holdRows(said, s.rows)
	}
	for _, t := range s.sums {
		switch {
		case s.footer && len(t.said) == 0:
			s.wrong = append(s.wrong, wrongTotal{math.MaxInt64, &problem.Problem{
				Place: s.at.whole(), What: fmt.Sprintf("no line carries the total of %s, and plant.toml says that one does", s.name(t)), Code: CodeNoTotal,
				Hint: "the file may be cut off: export it again, or mend footer and totals in plant.toml",
			}})
		case t.unread > 0 && len(t.said) > 0:
			warnings = append(warnings, fmt.Sprintf("%s: the total of %s is not proved, %s of it can't be read", s.at.whole(), s.name(t), counted(t.unread, "cell")))
		default:
			for _, said := range t.said {
				s.holdTotal(t, said, t.sum)
			}
		}
	}
	if len(s.wrong) == 0 {
		return warnings, nil
	}
	slices.SortStableFunc(s.wrong, func(a, b wrongTotal) int { return cmp.Compare(a.line, b.line) })
	var list problem.List
	for _, wrong := range s.wrong {
		list = append(list, wrong.problem)
	}
	return nil, list
}

func (s *setAside) holdTotal(t *totalled, said saidTotal, sum *big.Rat) {
	if sum.Cmp(said.figure) == 0 {
		return
	}
	s.fail(said.line, t.cell, CodeControlTotal,
		fmt.Sprintf("the rows' %s add up to %s, the file's own total is %s", s.name(t), s.show(t, plainRational(sum)), s.show(t, said.text)),
		"a row is missing, or stands twice, or was changed: export the file again")
}

func (s *setAside) holdRows(said saidRows, rows int64) {
	if said.rows != nil && said.rows.Cmp(big.NewRat(rows, 1)) == 0 {
		return
	}
	s.fail(said.line, 0, CodeControlTotal, fmt.Sprintf("the file has %s, by its own count %s", counted(rows, "row"), said.text), "a row is missing, or stands twice: export the file again")
}

func (s *setAside) fail(line int64, cell int, code, what, hint string) {
	s.wrong = append(s.wrong, wrongTotal{line, &problem.Problem{Place: s.at.cell(line, cell), What: what, Code: code, Hint: hint}})
}

// name is a column as the file heads it.
func (s *setAside) name(t *totalled) string { return s.header.names[t.cell] }

// show hides pay.
func (s *setAside) show(t *totalled, text string) string {
	if s.feed.Columns[t.column].Wage {
		return hidden
	}
	return shorten(text, longestCellShown)
}

// figure reads a cell of a column as the file gives it, before any unit.
func (s *setAside) figure(column int, text string) (*big.Rat, bool) {
	if s.reader.reads(column) && s.reader.readers[column].packs == nil {
		figure, plain, wrong := s.reader.figure(s.reader.readers[column], text)
		switch {
		case wrong != nil:
			return nil, false
		case figure != nil:
			return figure, true
		}
		return rational(plain), true
	}
	plain, ok := s.marks.read(text)
	if !ok {
		return nil, false
	}
	return rational(plain), true
}

// cellText is a cell of a row, trimmed, "" where the row ends before it.
func cellText(row record, cell int) string {
	if cell >= len(row.cells) {
		return ""
	}
	return string(trimBlanks(row.cells[cell]))
}

// plainRational writes a sum of decimals without zeros at its end.
func plainRational(sum *big.Rat) string {
	text := sum.FloatString(6)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}
