package ingest

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// framed is a record that outlives the framer's next call.
type framed struct {
	Line, Lines int
	Cells       []string
	Fault       string
}

func frameAll(text string) ([]framed, error) {
	frames := newFramer(strings.NewReader(text))
	var list []framed
	for {
		row, err := frames.next()
		if errors.Is(err, io.EOF) {
			return list, nil
		}
		if err != nil {
			return list, err
		}
		f := framed{Line: row.line, Lines: row.lines, Fault: row.fault, Cells: []string{}}
		for _, cell := range row.cells {
			f.Cells = append(f.Cells, string(cell))
		}
		list = append(list, f)
	}
}

func TestFrame(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []framed
	}{
		{"nothing", "", nil},
		{"no line end at the end", "a,b", []framed{{1, 1, []string{"a", "b"}, ""}}},
		{"mixed line ends", "a\r\nb\rc\nd", []framed{{1, 1, []string{"a"}, ""}, {2, 1, []string{"b"}, ""}, {3, 1, []string{"c"}, ""}, {4, 1, []string{"d"}, ""}}},
		{"blank lines count", "a\n\n\nb\n", []framed{{1, 1, []string{"a"}, ""}, {2, 1, []string{""}, ""}, {3, 1, []string{""}, ""}, {4, 1, []string{"b"}, ""}}},
		{"quoted line ends keep the physical line", "\"a\r\nb\rc\",x\ny\n", []framed{{1, 3, []string{"a\nb\nc", "x"}, ""}, {4, 1, []string{"y"}, ""}}},
		{"doubled quotes", `"say ""12""",""`, []framed{{1, 1, []string{`say "12"`, ""}, ""}}},
		{"a quote within plain text is text", `12'6 1/2",6"`, []framed{{1, 1, []string{`12'6 1/2"`, `6"`}, ""}}},
		{"text after a closing quote", `"a" b,c`, []framed{{1, 1, []string{`a" b`, "c"}, CodeStrayQuote}}},
		{"empty cells", ",,\n", []framed{{1, 1, []string{"", "", ""}, ""}}},
		{"a comma at the end", "a,", []framed{{1, 1, []string{"a", ""}, ""}}},
		{"a quoted cell at the very end", `"a"`, []framed{{1, 1, []string{"a"}, ""}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := frameAll(c.text)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

func TestFrameUnterminatedQuote(t *testing.T) {
	for _, c := range []struct {
		text                 string
		line, cell, swallows int
	}{
		{`"`, 1, 0, 0},
		{"a,\"b\n", 1, 1, 0},
		{"a\nb,\"c\nd\ne\n", 2, 1, 2},
		{"a\nb,\"c\nd\ne", 2, 1, 2},
		{"\"a\nb\",\"c\nd", 2, 1, 1},
	} {
		_, err := frameAll(c.text)
		var got *unterminatedQuote
		if !errors.As(err, &got) || got.line != c.line || got.cell != c.cell || got.swallows != c.swallows {
			t.Errorf("%q: %+v, want line %d, cell %d, swallows %d", c.text, err, c.line, c.cell, c.swallows)
		}
	}
}

func TestFrameBoundsARow(t *testing.T) {
	got, err := frameAll("\"" + strings.Repeat("x", longestRow+10) + "\"\nnext\n")
	if err != nil || len(got) != 2 || got[0].Fault != CodeRowTooLong || len(got[0].Cells[0]) != longestRow || got[1].Fault != "" {
		t.Errorf("%d rows, %v, want one too long and one more", len(got), err)
	}
}

// FuzzFrame holds the framer against the standard library's reader wherever that one
// takes the text, and writes and reads again what was framed.
func FuzzFrame(f *testing.F) {
	for _, text := range []string{"a,b\n1,2\n", "\"a\nb\",\"c\"\"d\"\r\n", "a\rb", `12'6 1/2",x`, `"a" b`, "\"a\n", ",,\n\n,"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := frameAll(text)
		if err != nil {
			var unterminated *unterminatedQuote
			if !errors.As(err, &unterminated) {
				t.Fatal(err)
			}
			return
		}
		line := 1
		var written []byte
		for _, row := range got {
			if row.Line != line || row.Lines < 1 {
				t.Fatalf("row of lines %d + %d, want it to begin on %d", row.Line, row.Lines, line)
			}
			line += row.Lines
			if len(row.Cells) == 1 && row.Cells[0] == "" {
				written = append(written, `""`...)
			}
			written = append(appendDelimited(written, row.Cells, ','), '\n')
		}
		again, err := frameAll(string(written))
		if err != nil {
			t.Fatalf("written and framed again: %v", err)
		}
		if diff := cmp.Diff(cellsOf(got), cellsOf(again)); diff != "" {
			t.Fatalf("written and framed again:\n%s", diff)
		}
		if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") {
			return // the standard library takes a CR alone for text
		}
		reader := csv.NewReader(strings.NewReader(text))
		reader.FieldsPerRecord = -1
		want, err := reader.ReadAll()
		if err != nil {
			return
		}
		var full [][]string
		for _, cells := range cellsOf(got) {
			full = append(full, cells)
		}
		if diff := cmp.Diff(dropEmpty(want), dropEmpty(full)); diff != "" {
			t.Fatalf("-standard library +framer:\n%s", diff)
		}
	})
}

func cellsOf(rows []framed) [][]string {
	var list [][]string
	for _, row := range rows {
		list = append(list, row.Cells)
	}
	return list
}

// dropEmpty drops rows of one empty cell: the standard library skips blank lines.
func dropEmpty(rows [][]string) []string {
	var list []string
	for _, cells := range rows {
		if len(cells) != 1 || cells[0] != "" {
			list = append(list, fmt.Sprintf("%q", cells))
		}
	}
	return list
}
