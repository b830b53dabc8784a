package ingest

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// How much of a file is looked at before rules are proposed for it.
const (
	mostSampled   = 5000    // rows
	mostLooked    = 8 << 20 // bytes of them
	mostTitleRows = 40      // rows among which the header row is looked for
)

// Propose looks at a file of whatever form and returns a section [feed.NAME] of plant.toml
// under which it could be read, with remarks on what was seen and what stays doubtful. It
// changes nothing and decides nothing: a person confirms it. settings may be nil; it tells
// the plant's stations and whether it has rules for the feed already. feedName names the
// feed, or is "".
//
// A file that is neither text nor a workbook, or in which no feed is recognised, is a
// problem.List.
func Propose(path, feedName string, settings *plant.Settings) (string, error) {
	p := &proposal{file: filepath.Base(path), settings: settings}
	if p.settings == nil {
		p.settings = &plant.Settings{}
	}
	samples, err := p.samples(path)
	if err != nil {
		return "", err
	}
	if err := p.recognise(samples, feedName); err != nil {
		return "", err
	}
	footers := p.asideLines()
	p.whatFile()
	p.dates()
	p.numbers()
	p.provenTotals(footers)
	p.headings()
	p.codes()
	lines := strings.Split(p.text(), "\n")
	for i, line := range lines {
		lines[i] = problem.Plain(line)
	}
	text := strings.Join(lines, "\n")
	return text, p.check(text)
}

// proposal is what is found out about one file.
type proposal struct {
	file     string
	settings *plant.Settings
	encoding string // "" for UTF-8 or one that a mark tells
	foreign  string // a line that is no UTF-8

	sample   sample
	feed     Feed
	head     int      // the header row, among the sample's rows
	names    []string // its cells
	rows     []sampled
	whole    bool        // the rows are all of the file
	other    string      // another feed that fits as well
	columnOf []int       // for each cell the column of the feed, or -1
	sure     []int       // for each cell how sure that is
	cellOf   []int       // for each column of the feed its cell, or -1
	clocks   map[int]int // for each column whose date stands apart the cell of the date
	said     []setting
	doubts   []string
}

// setting is one line of the section: a key with its value and why, commented out where it
// stays doubtful.
type setting struct {
	table, key, value, why string
	doubtful               bool
}

// sampled is one row of a sample.
type sampled struct {
	line  int
	cells []string
}

// sample is the first rows of a file, read in one way.
type sample struct {
	delimiter byte
	sheet     string // "" for a text file
	sheets    int
	rows      []sampled
	whole     bool
}

// samples reads the file in every way in which it may be read.
func (p *proposal) samples(path string) ([]sample, error) {
	from, err := p.open(path)
	if err != nil {
		return nil, err
	}
	defer from.file.Close()
	if from.book != nil {
		return p.sheetSamples(from)
	}
	var samples []sample
	for delimiter := range delimiterNames() {
		rows, err := newTextRows(from, delimiter)
		if err != nil {
			return nil, err
		}
		one, err := sampleRows(rows)
		if err != nil {
			continue // read so, a quote never closes
		}
		one.delimiter = delimiter
		samples = append(samples, one)
	}
	if len(samples) > 0 {
		return samples, nil
	}
	rows, err := newTextRows(from, ',')
	if err != nil {
		return nil, err
	}
	_, err = sampleRows(rows)
	return nil, err
}

// open opens the file in the first encoding in which it is text.
func (p *proposal) open(path string) (*source, error) {
	from, err := openSource(path, "")
	if err == nil || !hasCode(err, CodeBadEncoding) && !hasCode(err, CodeNotCSV) {
		return from, err
	}
	p.encoding = "windows-1252"
	if wide, fault := p.wide(path); fault != nil {
		return nil, fault
	} else if wide {
		p.encoding = "utf-16"
	} else if hasCode(err, CodeNotCSV) {
		return nil, err
	}
	var list problem.List
	if errors.As(err, &list) {
		p.foreign = list[0].Place
	}
	from, again := openSource(path, p.encoding)
	if again != nil {
		return nil, err
	}
	return from, nil
}

// hasCode says whether an error has a problem of that code word.
func hasCode(err error, code string) bool {
	var list problem.List
	return errors.As(err, &list) && slices.ContainsFunc(list, func(p *problem.Problem) bool { return p.Code == code })
}

// wide says whether a file holds the zero bytes of UTF-16.
func (p *proposal) wide(path string) (bool, error) {
	file, err := openRegular(path, p.file)
	if err != nil {
		return false, err
	}
	defer file.Close()
	start := make([]byte, 4096)
	n, err := io.ReadFull(file, start)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return false, cannotRead(p.file, err)
	}
	return bytes.Count(start[:n], []byte{0}) > n/4, nil
}

func (p *proposal) sheetSamples(from *source) ([]sample, error) {
	from.book.left = mostUnzipped
	inside, err := from.book.contents()
	if err != nil {
		return nil, err
	}
	var samples []sample
	for _, s := range inside.sheets {
		rows, err := from.book.rows(Feed{Name: s.name}, s.name)
		if err != nil {
			return nil, err
		}
		one, err := sampleRows(rows)
		if err != nil {
			return nil, err
		}
		one.sheet, one.sheets = s.name, len(inside.sheets)
		samples = append(samples, one)
	}
	if len(samples) == 0 {
		return nil, fileProblem(CodeEmptyFile, p.file, "the workbook has no sheet of cells", "export it again: a sheet must hold the rows", nil)
	}
	return samples, nil
}

// sampleRows reads the first rows, blank ones left out.
func sampleRows(rows rowSource) (sample, error) {
	var s sample
	for looked := 0; len(s.rows) < mostSampled && looked < mostLooked; {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			s.whole = true
			break
		}
		if err != nil {
			return s, err
		}
		if blankRow(row) {
			continue
		}
		cells := make([]string, min(len(row.cells), mostColumns)) // no file that is taken has more
		for i := range cells {
			cells[i] = string(trimBlanks(row.cells[i]))
			looked += len(cells[i])
		}
		s.rows = append(s.rows, sampled{row.line, cells})
	}
	return s, nil
}

// values are the cells of one column that are not blank.
func (p *proposal) values(cell int) []string {
	var values []string
	for _, row := range p.rows {
		if cell < len(row.cells) && row.cells[cell] != "" {
			values = append(values, row.cells[cell])
		}
	}
	return values
}

// say adds a line.
func (p *proposal) say(table, key, value, why string) {
	p.said = append(p.said, setting{table: table, key: key, value: value, why: why})
}

// doubt adds a line that a person has to take from behind its #.
func (p *proposal) doubt(table, key, value, why string) {
	p.said = append(p.said, setting{table: table, key: key, value: value, why: why, doubtful: true})
}

// plainValue is an example of a cell, as a remark may show it; of pay its callers show none.
func plainValue(text string) string {
	if !utf8.ValidString(text) {
		return ""
	}
	return shorten(strings.Join(strings.Fields(text), " "), 40)
}

// text writes the section.
func (p *proposal) text() string {
	var out strings.Builder
	looked := fmt.Sprintf("all %s were looked at", counted(len(p.rows), "row"))
	if !p.whole {
		looked = fmt.Sprintf("the first %s were looked at", counted(len(p.rows), "row"))
	}
	fmt.Fprintf(&out, "# A proposal for %s: %s.\n# Look through it, then put it into plant.toml. What stays doubtful stands behind a #.\n", plainValue(p.file), looked)
	if _, has := p.settings.Feeds[p.feed.Name]; has {
		fmt.Fprintf(&out, "# plant.toml has a section [feed.%s] already: mend that one, two of a name it does not take.\n", p.feed.Name)
	}
	if p.other != "" {
		fmt.Fprintf(&out, "# The headings would also do for %s.\n", p.other)
	}
	table := "?"
	for _, s := range p.ordered() {
		name := "feed." + p.feed.Name
		if s.table != "" {
			name += "." + s.table
		}
		if name != table {
			if table != "?" {
				out.WriteByte('\n')
			}
			mark := ""
			if s.table != "" && p.onlyDoubts(s.table) {
				mark = "# "
			}
			fmt.Fprintf(&out, "%s[%s]\n", mark, name)
			table = name
		}
		if s.key == "" {
			fmt.Fprintf(&out, "# %s\n", s.why)
			continue
		}
		line := s.key + " = " + s.value
		if s.doubtful {
			line = "# " + line
		}
		if s.why != "" {
			line += strings.Repeat(" ", max(1, 34-len(line))) + "# " + s.why
		}
		out.WriteString(line + "\n")
	}
	if len(p.doubts) > 0 {
		out.WriteString("\n# Doubtful, or left out:\n")
	}
	for _, doubt := range p.doubts {
		fmt.Fprintf(&out, "# - %s\n", doubt)
	}
	return out.String()
}

// settingOrder is the order of the keys of [feed.NAME] itself.
func settingOrder() []string {
	return []string{"files", "sheet", "delimiter", "encoding", "header_row", "date_format", "time_format", "decimal", "thousands", "currency", "footer", "subtotal", "remarks", "totals"}
}

// ordered are the lines by table, those of the section itself first and in order.
func (p *proposal) ordered() []setting {
	tables := []string{""}
	for _, s := range p.said {
		if !slices.Contains(tables, s.table) {
			tables = append(tables, s.table)
		}
	}
	all := slices.Clone(p.said)
	slices.SortStableFunc(all, func(a, b setting) int {
		return cmp.Or(cmp.Compare(slices.Index(tables, a.table), slices.Index(tables, b.table)),
			cmp.Compare(slices.Index(settingOrder(), a.key), slices.Index(settingOrder(), b.key)))
	})
	if len(all) == 0 || all[0].table != "" {
		all = append([]setting{{why: "nothing has to be said but what follows: the file is as a canonical one"}}, all...)
	}
	return all
}

func (p *proposal) onlyDoubts(table string) bool {
	for _, s := range p.said {
		if s.table == table && !s.doubtful && s.key != "" {
			return false
		}
	}
	return true
}
