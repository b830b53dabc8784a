package ingest

import (
	"fmt"
	"slices"
	"strings"

	"trusstally/ingest/problem"
)

// namesHeaderRow says whether plant.toml says which row is the header row.
func (r *Reading) namesHeaderRow() bool {
	return r != nil && (r.rules.HeaderLine > 0 || r.rules.HeaderWord != "")
}

// before says whether a row stands before the header row: a blank one, and what plant.toml
// has skipped. A rejects file begins with its header row, whatever the file did from which
// its rows came.
func (r *Reading) before(row record) bool {
	switch {
	case blankRow(row):
		return true
	case !r.namesHeaderRow() || fromRejects(row):
		return false
	case r.rules.HeaderLine > 0:
		return row.line < r.rules.HeaderLine
	}
	for _, cell := range row.cells {
		if text := trimBlanks(cell); len(text) > 0 {
			return !strings.HasPrefix(plainHeader(string(text)), plainHeader(r.rules.HeaderWord))
		}
	}
	return true
}

// fromRejects says whether a row is the header row of a rejects file, in whatever order its
// columns stand by now. Those from before rows had names tell the column and the reason alone.
func fromRejects(row record) bool {
	names := map[string]bool{}
	for _, cell := range row.cells[:min(len(row.cells), mostColumns)] {
		names[plainHeader(string(trimBlanks(cell)))] = true
	}
	return names[plainHeader(rejectImportHeader)] && names[plainHeader(rejectLineHeader)] ||
		names[plainHeader(rejectColumnHeader)] && names[plainHeader(rejectReasonHeader)]
}

// noHeaderRow refuses a file that ended before its header row; skipped says whether rows
// stood before its end.
func (r *Reading) noHeaderRow(feed Feed, at places, skipped bool) problem.List {
	if !skipped {
		return fileProblem(CodeEmptyFile, at.whole(), "there is no row in it", "the first row must be the header row", nil)
	}
	what := fmt.Sprintf("no row begins with %s, where plant.toml says that the header row does", r.rules.HeaderWord)
	if r.rules.HeaderLine > 0 {
		what = fmt.Sprintf("it ends before line %d, where plant.toml says that the header row is", r.rules.HeaderLine)
	}
	return fileProblem(CodeNoHeader, at.whole(), what, fmt.Sprintf("mend header_row under [feed.%s], or export the file again", feed.Name), nil)
}

// bind finds the cells of the columns that reading rules say more of than a heading. A
// column of which a heading is not in the file does not stand in it.
func (h *header) bind(feed Feed, reading *Reading) {
	h.sources = make([][]int, len(feed.Columns))
	for i, cell := range h.cells {
		if cell >= 0 {
			h.sources[i] = []int{cell}
		}
	}
	if reading == nil {
		return
	}
	for i, c := range feed.Columns {
		headings := reading.headings(i, c)
		if headings == nil {
			continue
		}
		cells := h.cellsOf(headings)
		if len(cells) < len(headings) {
			h.cells[i], h.sources[i] = -1, nil
			h.lacking[i], h.partly[i] = strings.Join(headings, " and "), len(cells) > 0
			continue
		}
		h.take(i, cells)
	}
	for i := range feed.Columns {
		coded, given := reading.codes[i]
		switch {
		case !given:
		case coded.of >= 0 && coded.of != i && len(h.sources[coded.of]) > 0:
			h.take(i, h.sources[coded.of][:1])
		case coded.of < 0:
			if cells := h.cellsOf([]string{coded.header}); len(cells) == 1 {
				h.take(i, cells)
			} else {
				h.lacking[i] = coded.header
			}
		}
	}
}

// take notes the cells of a column.
func (h *header) take(i int, cells []int) {
	h.sources[i], h.cells[i] = cells, cells[0]
	for _, cell := range cells {
		if h.columns[cell] == unknownHeader {
			h.columns[cell] = ruleHeader
		}
	}
}

// cellsOf finds headings in the header row, those that it has.
func (h *header) cellsOf(headings []string) []int {
	var cells []int
	for _, heading := range headings {
		for cell, name := range h.names {
			if plainHeader(name) == plainHeader(heading) {
				cells = append(cells, cell)
				break
			}
		}
	}
	return cells
}

// headings are the plant's own headings of a column of which a rule says more than one
// heading, else nil.
func (r *Reading) headings(i int, c Column) []string {
	if apart, ok := r.rules.Apart[c.Name]; ok {
		return []string{apart.Date, apart.Time}
	}
	if packs, ok := r.rules.Packs[c.Name]; ok {
		if packs.In == "" {
			return []string{packs.Header}
		}
		return []string{packs.Header, packs.In}
	}
	if part, ok := r.parts[i]; ok {
		return []string{part.header}
	}
	return nil
}

// ruled says whether a rule other than a plain heading says where a column stands: its
// canonical heading is then no name for it.
func (r *Reading) ruled(i int, c Column) bool {
	if r == nil {
		return false
	}
	coded, given := r.codes[i]
	return r.headings(i, c) != nil || given && coded.of != i
}

// secret says whether a cell may hold what hide hides: a column that it is part of, or
// where the feed has such a column, one that is not known.
func (h *header) secret(feed Feed, cell int, hide func(Column) bool) bool {
	column := h.columns[cell]
	if column == unknownHeader {
		return slices.ContainsFunc(feed.Columns, hide)
	}
	for i, c := range feed.Columns {
		if (i == column || slices.Contains(h.sources[i], cell)) && hide(c) {
			return true
		}
	}
	return false
}
