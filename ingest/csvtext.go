package ingest

import (
	"bytes"
	"strings"
)

// appendCell appends one cell to a CSV row, quoted where it has to be.
func appendCell(row, cell []byte) []byte {
	if !bytes.ContainsAny(cell, ",\"\r\n") {
		return append(row, cell...)
	}
	row = append(row, '"')
	for _, b := range cell {
		if b == '"' {
			row = append(row, '"')
		}
		row = append(row, b)
	}
	return append(row, '"')
}

// appendRow appends cells as one CSV row without its line end.
func appendRow[T string | []byte](row []byte, cells []T) []byte {
	for i, cell := range cells {
		if i > 0 {
			row = append(row, ',')
		}
		row = appendCell(row, []byte(cell))
	}
	return row
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
