package ingest

import (
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// columnReader turns the cells of a file that make one column of the feed into the text
// that a canonical file has there.
type columnReader struct {
	column Column
	cells  []int // of the file; the first is the one that messages point at
	split  *splitPattern
	part   int
	codes  map[string]string // nil where cells are no codes
	apart  *plant.Apart
	packs  *plant.Packs
	unit   string
}

// toldFault is a fault of a row of which a message tells.
type toldFault struct {
	cell       int
	code, what string
}

// rowReader reads rows by the rules of a Reading. It keeps what it read of the row in hand.
type rowReader struct {
	reading *Reading
	feed    Feed
	header  *header
	readers []*columnReader // by column of the feed, nil for one that is read as it stands
	cells   []string        // of the row in hand, trimmed
	done    []bool
	texts   []string
	wrong   []*problem.Problem
	at      []int // cell of what is wrong
	told    []toldFault
}

// newRowReader finds the cells of the columns that rules of the reading change. It returns
// nil when there is none: the file is then read as it stands. matchHeader comes first.
func newRowReader(reading *Reading, feed Feed, h *header) *rowReader {
	if reading == nil {
		return nil
	}
	r := &rowReader{reading: reading, feed: feed, header: h, readers: make([]*columnReader, len(feed.Columns))}
	any := false
	for i := range feed.Columns {
		reader := r.readerOf(i)
		if reader == nil {
			continue
		}
		r.readers[i], any = reader, true
	}
	if !any {
		return nil
	}
	n := len(feed.Columns)
	r.done, r.texts, r.wrong, r.at = make([]bool, n), make([]string, n), make([]*problem.Problem, n), make([]int, n)
	return r
}

// readerOf returns the reader of a column, or nil where its cell is read as it stands or
// the file does not have it.
func (r *rowReader) readerOf(i int) *columnReader {
	c := r.feed.Columns[i]
	cells := r.header.sources[i]
	if len(cells) == 0 {
		return nil
	}
	reader := &columnReader{column: c, cells: cells, unit: r.reading.rules.Units[c.Name]}
	from := i
	if coded, ok := r.reading.codes[i]; ok {
		reader.codes = coded.values
		if coded.of >= 0 {
			from = coded.of
		}
	}
	if part, ok := r.reading.parts[from]; ok {
		reader.split, reader.part = r.reading.splits[part.header], part.part
	}
	if apart, ok := r.reading.rules.Apart[c.Name]; ok {
		reader.apart = &apart
	}
	if packs, ok := r.reading.rules.Packs[c.Name]; ok {
		reader.packs = &packs
	}
	plain := reader.split == nil && reader.codes == nil && reader.apart == nil && reader.packs == nil && reader.unit == ""
	switch {
	case !plain:
		return reader
	case c.Kind == Date && r.reading.date != nil, c.Kind == Time && (r.reading.date != nil || r.reading.clock != nil), isNumber(c) && !r.reading.marks.canonical():
		return reader
	}
	return nil
}

// row takes the next row in hand.
func (r *rowReader) row(cells [][]byte) {
	r.cells = r.cells[:0]
	for _, cell := range cells {
		r.cells = append(r.cells, string(trimBlanks(cell)))
	}
	clear(r.done)
}

// read returns the canonical text of a column that has a reader, or what is wrong and the
// cell in which it stands.
func (r *rowReader) read(i int) (text string, cell int, wrong *problem.Problem) {
	if !r.done[i] {
		r.done[i] = true // a column that asks for itself gets nothing
		r.texts[i], r.wrong[i], r.at[i] = "", nil, r.readers[i].cells[0]
		r.texts[i], r.wrong[i] = r.readColumn(i, r.readers[i])
	}
	return r.texts[i], r.at[i], r.wrong[i]
}

// textOf returns the canonical text of any column of the row, "" where it has none or
// cannot be read.
func (r *rowReader) textOf(name string) string {
	i := columnNumber(r.feed, name)
	if i < 0 {
		return ""
	}
	text := ""
	if r.readers[i] != nil {
		text, _, _ = r.read(i)
	} else if cell := r.header.cells[i]; cell >= 0 {
		text = r.cell(cell)
	}
	if text == "" {
		text = r.feed.Columns[i].Default
	}
	return text
}

// figureOf returns the number in a column of the row; ok is false where there is none.
func (r *rowReader) figureOf(name string) (*big.Rat, bool) {
	plain, ok := canonicalMarks.read(r.textOf(name))
	if !ok {
		return nil, false
	}
	return rational(plain), true
}

// cell is a cell of the row, "" where the row ends before it.
func (r *rowReader) cell(i int) string {
	if i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

func (r *rowReader) readColumn(i int, reader *columnReader) (string, *problem.Problem) {
	text := r.cell(reader.cells[0])
	switch {
	case reader.apart != nil:
		return r.readApart(i, reader)
	case text == "":
		return "", nil
	case reader.packs != nil:
		return r.readPacks(i, reader, text)
	}
	if reader.split != nil {
		parts, ok := reader.split.cut(text)
		if !ok {
			return "", &problem.Problem{
				What: fmt.Sprintf("not made as plant.toml says, %s (%s)", reader.split.text, text), Code: CodeBadParts,
				Hint: "write it as the others are, or mend the pattern under split in plant.toml",
			}
		}
		text = parts[reader.part]
	}
	if reader.codes != nil {
		value, known := reader.codes[text]
		if !known {
			return "", r.unknownCode(i, text)
		}
		return value, nil
	}
	switch c := reader.column; {
	case c.Kind == Date:
		return r.readDate(text)
	case c.Kind == Time:
		return r.readMoment(c, text)
	case isNumber(c):
		return r.readNumber(reader, text)
	}
	return text, nil
}

func (r *rowReader) unknownCode(i int, text string) *problem.Problem {
	coded := r.reading.codes[i]
	codes := slices.Sorted(maps.Keys(coded.values))
	p := &problem.Problem{What: fmt.Sprintf("no such code in plant.toml (%s)", text), Code: CodeUnmappedCode, Hint: didYouMean(text, codes)}
	if p.Hint == "" {
		p.Hint = fmt.Sprintf("say what it means under [feed.%s.codes.%q]", r.feed.Name, coded.header)
	}
	return p
}

// readNumber reads a number with the declared marks, in the declared unit.
func (r *rowReader) readNumber(reader *columnReader, text string) (string, *problem.Problem) {
	figure, plain, wrong := r.figure(reader, text)
	if wrong != nil || figure == nil {
		return plain, wrong
	}
	return r.inUnit(reader.column, reader.unit, figure, text)
}

// figure reads a number as the file has it. Where the column has no unit of its own, it
// returns the text alone.
func (r *rowReader) figure(reader *columnReader, text string) (*big.Rat, string, *problem.Problem) {
	if reader.unit == unitClock || reader.unit == unitBatchClock {
		hours, ok := clockHours(text)
		if !ok {
			return nil, "", &problem.Problem{What: fmt.Sprintf("not hours and minutes (%s)", text), Code: CodeBadNumber, Hint: fmt.Sprintf("hours and minutes such as 7:30, as plant.toml says (feed.%s.units.%s)", r.feed.Name, reader.column.Name)}
		}
		return hours, "", nil
	}
	plain, ok := r.reading.marks.read(text)
	if !ok {
		return nil, "", &problem.Problem{What: fmt.Sprintf("not a number (%s)", text), Code: CodeBadNumber, Hint: fmt.Sprintf("numbers are written %s here, as plant.toml says (feed.%s)", r.reading.marks.say(), r.feed.Name)}
	}
	if reader.unit == "" {
		return nil, plain, nil
	}
	if len(plain) > mostPlainDigits {
		return nil, "", &problem.Problem{What: fmt.Sprintf("too large for its column (%s)", text), Code: CodeOutOfRange, Hint: "check the figure: digits may have run together"}
	}
	return rational(plain), plain, nil
}

// readPacks turns packs into boards.
func (r *rowReader) readPacks(i int, reader *columnReader, text string) (string, *problem.Problem) {
	plain, ok := r.reading.marks.read(text)
	if !ok {
		return "", &problem.Problem{What: fmt.Sprintf("not a number (%s)", text), Code: CodeBadNumber, Hint: "whole packs, or a share of one that makes whole boards"}
	}
	boards := big.NewRat(int64(reader.packs.Boards), 1)
	switch {
	case reader.packs.In != "":
		inPack, ok := r.reading.marks.read(r.cell(reader.cells[1]))
		if !ok || strings.HasPrefix(inPack, "-") {
			r.at[i] = reader.cells[1]
			what := fmt.Sprintf("the boards of a pack are no number (%s)", r.cell(reader.cells[1]))
			if r.cell(reader.cells[1]) == "" {
				what = fmt.Sprintf("packs, and the boards of one are blank (%s)", text)
			}
			return "", &problem.Problem{What: what, Code: CodeBadNumber, Hint: "fill in " + reader.packs.In}
		}
		boards = rational(inPack)
	case reader.packs.Boards == 0:
		size, err := ParseSize(r.textOf("size"))
		if err != nil {
			return "1", nil // the row is refused for its size
		}
		if r.reading.packs[size] == 0 {
			return "", &problem.Problem{What: fmt.Sprintf("plant.toml has no packs of %s (%s)", size, text), Code: CodeUnknownPack, Hint: fmt.Sprintf("say how many boards one holds under [lumber.packs]: %q = 294", size)}
		}
		boards = big.NewRat(int64(r.reading.packs[size]), 1)
	}
	if len(plain) > mostPlainDigits {
		return "", &problem.Problem{What: fmt.Sprintf("too large for its column (%s)", text), Code: CodeOutOfRange, Hint: "check the figure: digits may have run together"}
	}
	boards = new(big.Rat).Mul(boards, rational(plain))
	if !boards.IsInt() {
		return "", notExact(reader.column, text, "no whole number of boards", "check the packs and the boards of one")
	}
	return boards.FloatString(0), nil
}

// sheetColumns are the columns by which the cells of a workbook are read, and how what it
// holds as a number is written in the plant's own marks: a row that is refused is mended
// under the same rules as the file.
func (r *rowReader) sheetColumns(declared []Column) ([]Column, []func(string) string) {
	write := make([]func(string) string, len(declared))
	if r == nil {
		return declared, write
	}
	for _, reader := range r.readers {
		if reader == nil {
			continue
		}
		for k, cell := range reader.cells {
			kind := Column{Kind: Text}
			switch {
			case reader.split != nil || reader.codes != nil:
			case reader.apart != nil && k == 0:
				kind = Column{Kind: Date}
			case reader.apart != nil:
				write[cell] = r.writeClock
			case reader.packs != nil, isNumber(reader.column):
				if reader.unit != unitClock && reader.unit != unitBatchClock {
					kind, write[cell] = Column{Kind: Decimal}, r.reading.marks.write
				}
			default:
				kind = reader.column
			}
			declared[cell] = kind
		}
	}
	return declared, write
}

// readName is the column of landing_text that holds the text of a column of the feed.
func readName(i int) string { return fmt.Sprintf("read_%d", i) }

// stage adds the texts of the row to the staged one, and marks of what could not be read.
func (r *rowReader) stage(staged *bulk, row record) {
	if r == nil {
		return
	}
	r.row(row.cells)
	r.told = r.told[:0]
	var marks []byte
	for i, reader := range r.readers {
		if reader == nil {
			continue
		}
		text, _, wrong := r.read(i)
		if code := r.faultCode(i, text, wrong); code != "" {
			if len(marks) == 0 {
				marks = append(marks, ',')
			}
			marks = fmt.Appendf(marks, "%d:%s,", i, code)
		}
		if wrong != nil {
			text = ""
		}
		staged.cell([]byte(text))
	}
	staged.cell(marks)
}

// alreadyTold stands for the code word of a fault that is told of an earlier column: of one
// cell of which several columns are made, a person reads once what is wrong.
const alreadyTold = "told"

// faultCode is the code word of what is wrong with a column of the row in hand, "" where
// nothing is or it is left to the column's own grammar.
func (r *rowReader) faultCode(i int, text string, wrong *problem.Problem) string {
	told := toldFault{cell: r.at[i]}
	c := r.feed.Columns[i]
	switch {
	case wrong != nil:
		told.code, told.what = wrong.Code, wrong.What
	case text == "" && c.Required && c.Default == "" && r.cell(r.at[i]) == "":
		told.code = CodeMissingValue
	default:
		return ""
	}
	if slices.Contains(r.told, told) {
		return alreadyTold
	}
	r.told = append(r.told, told)
	if wrong == nil {
		return ""
	}
	return wrong.Code
}

// staged are the columns of landing_text that stage fills.
func (r *rowReader) staged() []bulkColumn {
	if r == nil {
		return nil
	}
	var columns []bulkColumn
	for i, reader := range r.readers {
		if reader != nil {
			columns = append(columns, bulkColumn{readName(i), "VARCHAR"})
		}
	}
	return append(columns, bulkColumn{"landing_unread", "VARCHAR"})
}

// reads says whether a column has a reader.
func (r *rowReader) reads(i int) bool { return r != nil && r.readers[i] != nil }

// unreadIn is SQL over landing_unread for the code word of a column, NULL where it was read.
func unreadIn(i int) string {
	return fmt.Sprintf("nullif(regexp_extract(landing_unread, ',%d:([a-z-]+),', 1), '')", i)
}
