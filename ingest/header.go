package ingest

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"

	"trusstally/ingest/formulas"
	"trusstally/ingest/problem"
)

// blanks are the characters that are trimmed from every cell: among them the no-break and
// invisible ones that spreadsheets and web pages leave behind.
const blanks = " \t\n\r\v\f\u00a0\u2007\u202f\u200b\ufeff"

// The headers that a rejects file puts before the plant's own. When the mended file is read
// the first two say which refused row a row is, and all are left out.
const (
	rejectImportHeader = "reject_import"
	rejectLineHeader   = "reject_line"
	rejectColumnHeader = "reject_column"
	rejectReasonHeader = "reject_reason"
)

// mostColumns bounds the columns of a file: the widest feed has not a tenth of it.
const mostColumns = 500

// What a header that is no column of the feed is known as.
const (
	unknownHeader = -1
	rejectHeader  = -2
	ruleHeader    = -3 // a part of what a reading rule makes a column of
)

// plainAliases returns other words for a column that any plant may use without saying
// so, each with its canonical header. They are few: a word that two columns could mean is
// none.
func plainAliases() map[string]string {
	return map[string]string{
		"qty":            "quantity",
		"job number":     "job",
		"job no":         "job",
		"job #":          "job",
		"truss mark":     "truss",
		"piece mark":     "piece",
		"employee id":    "employee",
		"employee no":    "employee",
		"employee code":  "employee",
		"customer code":  "customer",
		"vendor code":    "vendor",
		"invoice number": "invoice",
		"invoice no":     "invoice",
		"batch number":   "batch",
		"batch no":       "batch",
		"price":          "price_usd",
		"amount":         "amount_usd",
	}
}

// header is a file's header row, matched with the columns of a feed.
type header struct {
	at      places
	reading *Reading
	line    int64    // its line
	names   []string // as they stand, trimmed
	columns []int    // for each header the column of the feed, or one of unknownHeader, rejectHeader, ruleHeader
	cells   []int    // for each column of the feed its cell in the file, the first of several, or -1
	sources [][]int  // for each column of the feed all of its cells
	lacking []string // for each column of the feed the headings that a rule asks for and the file has not
	partly  []bool   // where lacking: some of the headings are there

	rejects bool // the file is one of rejects/: it holds some of the rows and no totals

	importCell, lineCell int // cells that name the refused row that a row is, or -1
}

// matchHeader matches the header row of a file with the columns of feed. own maps canonical headers
// to the plant's own. It returns a warning for each header that is left out; a header row
// that cannot be used is a problem.List of all that is wrong with it.
func matchHeader(row record, at places, feed Feed, own map[string]string, reading *Reading) (*header, []string, error) {
	if len(row.cells) > mostColumns {
		return nil, nil, tooLarge(at.row(int64(row.line)), fmt.Sprintf("the header row names %d columns, and no feed has a tenth of them", len(row.cells)), nil)
	}
	h := &header{
		line: int64(row.line), at: at, reading: reading, lacking: make([]string, len(feed.Columns)), partly: make([]bool, len(feed.Columns)),
		rejects: fromRejects(row), importCell: -1, lineCell: -1,
	}
	for _, cell := range row.cells {
		h.names = append(h.names, string(bytes.Trim(cell, blanks)))
	}
	h.match(feed, own)
	if h.ofRejects() {
		for i, name := range h.names {
			h.names[i] = formulas.Unmark(name)
		}
		h.match(feed, own)
	}
	h.bind(feed, reading)
	if wrong := h.faults(feed, own); len(wrong) > 0 {
		return nil, nil, wrong
	}
	return h, h.warnings(feed), nil
}

// match fills columns and cells. The plant's own header comes before the canonical one:
// where a file has both, the plant has said which of them is meant.
func (h *header) match(feed Feed, own map[string]string) {
	known := map[string]int{}
	for i, c := range feed.Columns {
		known[plainHeader(c.Name)] = i
	}
	for alias, name := range plainAliases() {
		for i, c := range feed.Columns {
			if _, taken := known[alias]; c.Name == name && !taken {
				known[alias] = i
			}
		}
	}
	for i, c := range feed.Columns {
		if name, mapped := own[c.Name]; mapped && h.has(name) || h.reading.ruled(i, c) {
			for word, column := range known {
				if column == i {
					delete(known, word)
				}
			}
		}
	}
	for i, c := range feed.Columns {
		if name, mapped := own[c.Name]; mapped && h.has(name) {
			known[plainHeader(name)] = i
		}
	}
	h.cells = make([]int, len(feed.Columns))
	for i := range h.cells {
		h.cells[i] = -1
	}
	h.columns = make([]int, len(h.names))
	for cell, name := range h.names {
		plain := plainHeader(name)
		column, found := known[plain]
		switch {
		case plain == plainHeader(rejectImportHeader):
			column, h.importCell = rejectHeader, cell
		case plain == plainHeader(rejectLineHeader):
			column, h.lineCell = rejectHeader, cell
		case plain == plainHeader(rejectColumnHeader) || plain == plainHeader(rejectReasonHeader):
			column = rejectHeader
		case !found:
			column = unknownHeader
		case h.cells[column] < 0:
			h.cells[column] = cell
		}
		h.columns[cell] = column
	}
}

// ofRejects says whether the file is one of rejects/, which names the rows that it holds
// and marks texts that would be formulas.
func (h *header) ofRejects() bool { return h.importCell >= 0 && h.lineCell >= 0 }

// blankButNames says whether a row is blank but for the cells of reject columns.
func (h *header) blankButNames(row record) bool {
	for i, cell := range row.cells {
		if (i >= len(h.columns) || h.columns[i] != rejectHeader) && len(trimBlanks(cell)) > 0 {
			return false
		}
	}
	return row.fault == ""
}

// declared returns the column of each cell. What is no column of the feed is free text.
func (h *header) declared(feed Feed) []Column {
	columns := make([]Column, len(h.columns))
	for cell, column := range h.columns {
		columns[cell] = Column{Kind: Text}
		if column >= 0 {
			columns[cell] = feed.Columns[column]
		}
	}
	return columns
}

// has says whether the file has a header, by whatever case and blanks.
func (h *header) has(name string) bool {
	for _, n := range h.names {
		if plainHeader(n) == plainHeader(name) {
			return true
		}
	}
	return false
}

// faults returns all for which the whole file is refused.
func (h *header) faults(feed Feed, own map[string]string) problem.List {
	row := shorten(string(appendDelimited(nil, h.names, h.reading.delimiter())), longestRowShown)
	if !h.matchesAny() {
		if holdsPay(feed) {
			row = hidden // the first row of data, it may be
		}
		return problem.List{{
			Place: h.at.row(h.line), What: fmt.Sprintf("%s is not a header row: it has no column of %s", h.whichRow(), feed.Name), Code: CodeNoHeader,
			Row: row, Hint: h.noHeaderHint(feed),
		}}
	}
	var list problem.List
	for cell, name := range h.names {
		if name == "" {
			list = append(list, &problem.Problem{
				Place: h.at.cell(h.line, cell), What: "a column has no header", Code: CodeBlankColumn, Row: row,
				Hint: "give it a header, or delete the column",
			})
		}
	}
	list = append(list, h.repeated(feed, row)...)
	if missing := h.missing(feed, own, row); missing != nil {
		list = append(list, missing)
	}
	return list
}

func (h *header) matchesAny() bool {
	for _, cell := range h.cells {
		if cell >= 0 {
			return true
		}
	}
	return false
}

// whichRow is the row that was taken for the header row.
func (h *header) whichRow() string {
	if h.reading.namesHeaderRow() {
		return "the row that plant.toml names"
	}
	return "the first row"
}

// noHeaderHint says what the first row looks like instead.
func (h *header) noHeaderHint(feed Feed) string {
	if len(h.names) == 1 {
		for mark, name := range delimiterNames() {
			if mark != h.reading.delimiter() && strings.IndexByte(h.names[0], mark) >= 0 {
				return fmt.Sprintf("the cells are parted by %s: say delimiter = %q under [feed.%s] in plant.toml, or save the file with %s between them",
					name, string(mark), feed.Name, delimiterName(h.reading.delimiter()))
			}
		}
	}
	if h.reading.namesHeaderRow() {
		return fmt.Sprintf("mend header_row under [feed.%s], or the row in the file; the columns are %s", feed.Name, strings.Join(feed.Headers(), ", "))
	}
	return "the first row must name the columns: " + strings.Join(feed.Headers(), ", ")
}

// repeated reports headers that stand twice, and two headers that mean one column.
func (h *header) repeated(feed Feed, row string) problem.List {
	var list problem.List
	first := map[string]int{}
	for cell, name := range h.names {
		column := h.columns[cell]
		if name == "" || column == rejectHeader {
			continue
		}
		meaning := "header " + plainHeader(name)
		if column >= 0 {
			meaning = "column " + feed.Columns[column].Name
		}
		before, repeated := first[meaning]
		if !repeated {
			first[meaning] = cell
			continue
		}
		what := fmt.Sprintf("the column stands in the header row twice (%s)", shorten(name, longestCellShown))
		if plainHeader(h.names[before]) != plainHeader(name) {
			what = fmt.Sprintf("two headers mean the column %s (%s, %s)", feed.Columns[column].Name, shorten(h.names[before], longestCellShown), shorten(name, longestCellShown))
		}
		list = append(list, &problem.Problem{
			Place: h.at.cell(h.line, cell), What: what, Code: CodeRepeatedColumn, Row: row,
			Hint: fmt.Sprintf("delete one of the columns %s and %s, or rename it", h.at.column(before), h.at.column(cell)),
		})
	}
	return list
}

// missing reports all required columns that the file does not have, as one problem.
func (h *header) missing(feed Feed, own map[string]string, row string) *problem.Problem {
	var missing, hints, unmatched []string
	for cell, name := range h.names {
		if h.columns[cell] == unknownHeader && name != "" {
			unmatched = append(unmatched, name)
		}
	}
	for i, c := range feed.Columns {
		if h.cells[i] >= 0 || !c.Required && !h.partly[i] {
			continue
		}
		name := c.Name
		if mapped := cmp.Or(own[c.Name], h.lacking[i]); mapped != "" {
			name = fmt.Sprintf("%s, here %s", c.Name, mapped)
		}
		missing = append(missing, name)
		if h.lacking[i] != "" {
			hints = append(hints, fmt.Sprintf("plant.toml makes %s of %s: mend the headings there, or add them to the file;", c.Name, h.lacking[i]))
		} else if near := problem.Nearest(plainHeader(c.Name), plainHeaders(unmatched)); near != "" {
			hints = append(hints, fmt.Sprintf("is %s meant for %s?", near, c.Name))
		}
	}
	if len(missing) == 0 {
		return nil
	}
	what := fmt.Sprintf("a required column is missing (%s)", missing[0])
	if len(missing) > 1 {
		what = fmt.Sprintf("%d required columns are missing (%s)", len(missing), strings.Join(missing, "; "))
	}
	hint := fmt.Sprintf("add the column, or name your own header for it in plant.toml under [feed.%s.columns]", feed.Name)
	if len(hints) > 0 {
		hint = strings.TrimSuffix(strings.Join(hints, " "), ";")
	}
	return &problem.Problem{Place: h.at.row(h.line), What: what, Code: CodeMissingColumn, Row: row, Hint: hint}
}

// warnings names the headers that are left out.
func (h *header) warnings(feed Feed) []string {
	var free []string
	for i, c := range feed.Columns {
		if h.cells[i] < 0 {
			free = append(free, c.Name)
		}
	}
	var list []string
	for cell, name := range h.names {
		if h.columns[cell] != unknownHeader {
			continue
		}
		text := fmt.Sprintf("%s: %s has no such column, it is left out (%s)", h.at.cell(h.line, cell), feed.Name, shorten(name, longestCellShown))
		if near := problem.Nearest(plainHeader(name), plainHeaders(free)); near != "" {
			text += "; did you mean " + strings.ReplaceAll(near, " ", "_") + "?"
		}
		list = append(list, text)
	}
	return list
}

// plainHeader is a header in lower case, with single blanks for blanks and underscores.
func plainHeader(name string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(name, "_", " "))), " ")
}

func plainHeaders(names []string) []string {
	plain := make([]string, len(names))
	for i, name := range names {
		plain[i] = plainHeader(name)
	}
	return plain
}
