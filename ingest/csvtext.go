package ingest

import (
	"bytes"
	"iter"
	"strings"
)

// appendCell appends one cell to a CSV row, quoted where it has to be.
func appendCell(row, cell []byte) []byte {
	if !bytes.ContainsAny(cell, ",\"\r\n") {
		return append(row, cell...)
	}
	return appendQuoted(row, cell)
}

func appendQuoted(row, cell []byte) []byte {
	row = append(row, '"')
	for _, b := range cell {
		if b == '"' {
			row = append(row, '"')
		}
		row = append(row, b)
	}
	return append(row, '"')
}

// appendDelimited appends cells as one row of delimited text, without its line end.
func appendDelimited[T string | []byte](row []byte, cells []T, delimiter byte) []byte {
	for i, cell := range cells {
		if i > 0 {
			row = append(row, delimiter)
		}
		text := string(cell)
		if strings.IndexByte(text, delimiter) >= 0 || strings.ContainsAny(text, "\"\r\n") {
			row = appendQuoted(row, []byte(text))
		} else {
			row = append(row, text...)
		}
	}
	return row
}

// delimiterNames yields the marks that may part cells, and what they are called.
func delimiterNames() iter.Seq2[byte, string] {
	return func(yield func(byte, string) bool) {
		for i, name := range []string{"commas", "semicolons", "tabs", "bars"} {
			if !yield(",;\t|"[i], name) {
				return
			}
		}
	}
}

// delimiterName is what a mark between cells is called.
func delimiterName(delimiter byte) string {
	for mark, name := range delimiterNames() {
		if mark == delimiter {
			return name
		}
	}
	return string(delimiter)
}

// quoteName quotes a declared name for SQL. Some feeds have columns that are SQL words.
func quoteName(name string) string {
	return `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
}

// quoteNames quotes declared names and joins them with commas.
func quoteNames(names []string) string {
	quoted := make([]string, len(names))
	for i, name := range names {
		quoted[i] = quoteName(name)
	}
	return strings.Join(quoted, ", ")
}

// quoteText quotes a declared text for SQL.
func quoteText(text string) string {
	return "'" + strings.ReplaceAll(text, "'", "''") + "'"
}
