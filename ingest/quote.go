package ingest

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"trusstally/ingest/problem"
)

// Copy is a file that was read before: its name then, its hash, and where its copy is.
type Copy struct {
	Name   string // base name, as it came
	SHA256 string
	Path   string // of the copy
}

// Quoted is one row of a file as it stands there.
type Quoted struct {
	Place string // jobs.csv:37, or in a workbook book.xlsx!Jobs!37
	Text  string // the lines that it covers; of a workbook, or with cells hidden, its cells as CSV
}

// Quote reads rows of a copy again, by the line on which each begins, as landing reads
// them: transcoded, framed, and the cells of a sheet turned into texts. Cells of the columns
// for which hide is true are printed as •••, and with them what may be the like under
// another name; a nil hide hides nothing.
//
// A copy that is missing or is not the file that was read is a problem.List.
func Quote(from Copy, feed Feed, opts Options, hide func(Column) bool, lines []int64) (map[int64]Quoted, error) {
	if err := from.Verify(); err != nil {
		return nil, err
	}
	s, err := openNamed(from.Path, from.Name, opts.Reading.encoding())
	if err != nil {
		return nil, err
	}
	defer s.file.Close()
	rows, err := s.rows(feed, opts)
	if err != nil {
		return nil, err
	}
	q := quoting{feed: feed, opts: opts, hide: hide, wanted: map[int64]bool{}, found: map[int64]Quoted{}, covers: map[int64]int64{}}
	for _, line := range lines {
		q.wanted[line] = true
	}
	if err := q.read(rows); err != nil {
		return nil, err
	}
	if s.book == nil && !q.hides() {
		if err := q.verbatim(s); err != nil {
			return nil, err
		}
	}
	for _, line := range lines {
		if _, ok := q.found[line]; !ok {
			return nil, problem.List{{Place: rows.at().row(line), What: "its copy in archive/ has no such row (" + filepath.Base(from.Path) + ")", Code: CodeArchiveDiffers,
				Hint: fmt.Sprintf("a sheet that plant.toml names under [feed.%s] must be the one that was read", feed.Name)}}
		}
	}
	return q.found, nil
}

// Verify holds the copy against the hash of the file that was read. One that is missing or
// another is a problem.List.
func (c Copy) Verify() error {
	name := filepath.Base(c.Path)
	file, err := os.Open(c.Path)
	if errors.Is(err, os.ErrNotExist) {
		return fileProblem(CodeArchiveMissing, c.Name, "its copy is not in archive/ ("+name+")", "put a copy of the file as it came into archive/ under that name", err)
	}
	if err != nil {
		return cannotRead(c.Name, err)
	}
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, file); err != nil {
		return cannotRead(c.Name, err)
	}
	if hex.EncodeToString(sum.Sum(nil)) != c.SHA256 {
		return fileProblem(CodeArchiveDiffers, c.Name, "its copy in archive/ is not the file that was read ("+name+")", "put a copy of the file as it came into archive/ under that name", nil)
	}
	return nil
}

// quoting is one copy on its way to some of its rows.
type quoting struct {
	feed   Feed
	opts   Options
	hide   func(Column) bool
	header *header // nil before the header row, and when it cannot be matched
	wanted map[int64]bool
	found  map[int64]Quoted
	covers map[int64]int64 // lines that each wanted row covers
}

// hides says whether the feed has a column whose cells are not to be shown.
func (q *quoting) hides() bool {
	for _, c := range q.feed.Columns {
		if q.hide != nil && q.hide(c) {
			return true
		}
	}
	return false
}

func (q *quoting) read(rows rowSource) error {
	begun := false
	for len(q.found) < len(q.wanted) {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if !begun && !q.opts.Reading.before(row) {
			begun = true
			// plant.toml may have changed since; what cannot be named then is hidden or plain text.
			if h, _, err := matchHeader(row, rows.at(), q.feed, q.opts.Columns, q.opts.Reading); err == nil {
				q.header = h
				rows.declare(newRowReader(q.opts.Reading, q.feed, h).sheetColumns(h.declared(q.feed)))
			}
		}
		if line := int64(row.line); q.wanted[line] {
			q.found[line] = Quoted{Place: rows.at().row(line), Text: q.show(row)}
			q.covers[line] = int64(row.lines)
		}
	}
	return nil
}

// show returns the cells of a row as CSV, without those that are hidden.
func (q *quoting) show(row record) string {
	hides := q.hides()
	if hides && (q.header == nil || row.fault != "" || len(row.cells) > len(q.header.columns)) {
		return hidden
	}
	cells := make([]string, len(row.cells))
	for i, cell := range row.cells {
		cells[i] = string(cell)
		if !hides || len(trimBlanks(cell)) == 0 {
			continue
		}
		if q.header.secret(q.feed, i, q.hide) {
			cells[i] = hidden
		}
	}
	return string(appendDelimited(nil, cells, q.opts.Reading.delimiter()))
}

// verbatim puts the lines themselves in the place of the cells: every quote and blank as it
// was written. CRLF, CR and LF all end a line.
func (q *quoting) verbatim(s *source) error {
	text, err := s.text()
	if err != nil {
		return err
	}
	in := bufio.NewReader(text)
	line, first, last := int64(1), int64(0), int64(0)
	var kept []byte
	for {
		if q.covers[line] > 0 && line > last {
			first, last = line, line+q.covers[line]-1
			kept = kept[:0]
		}
		b, err := in.ReadByte()
		if err != nil && !errors.Is(err, io.EOF) {
			return cannotRead(s.name, err)
		}
		atEnd := err != nil
		if b == '\r' {
			if after, err := in.Peek(1); err == nil && after[0] == '\n' {
				in.Discard(1)
			}
			b = '\n'
		}
		switch {
		case (atEnd || b == '\n') && line == last:
			q.found[first] = Quoted{Place: q.found[first].Place, Text: string(kept)}
		case !atEnd && line <= last:
			kept = append(kept, b)
		}
		if atEnd {
			return nil
		}
		if b == '\n' {
			line++
		}
	}
}
