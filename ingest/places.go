package ingest

import (
	"fmt"
	"strings"
)

// places names the rows and cells of a file as its reader finds them: timecards.csv:37:4,
// or in the sheet of a workbook timecards.xlsx!Punches!D37.
type places struct {
	file  string // base name
	sheet string // name of the sheet, "" where the file is no workbook
}

// whole is the file, or its sheet.
func (p places) whole() string {
	if p.sheet == "" {
		return p.file
	}
	return p.file + "!" + p.sheet
}

// row is the row that begins on a line, from 1.
func (p places) row(line int64) string {
	if p.sheet == "" {
		return fmt.Sprintf("%s:%d", p.file, line)
	}
	return fmt.Sprintf("%s!%d", p.whole(), line)
}

// cell is a cell of that row, from 0.
func (p places) cell(line int64, cell int) string {
	if p.sheet == "" {
		return fmt.Sprintf("%s:%d:%d", p.file, line, cell+1)
	}
	return fmt.Sprintf("%s!%s%d", p.whole(), columnLetters(cell), line)
}

// column is what a person calls the column of a cell, from 0: 4, or in a sheet D.
func (p places) column(cell int) string {
	if p.sheet == "" {
		return fmt.Sprint(cell + 1)
	}
	return columnLetters(cell)
}

// columnLetters is the name of a sheet's column, from 0: A to Z, then AA.
func columnLetters(cell int) string {
	letters := ""
	for n := cell + 1; n > 0; n = (n - 1) / 26 {
		letters = string(rune('A'+(n-1)%26)) + letters
	}
	return letters
}

// columnOfLetters is the reverse of columnLetters for a reference such as D37, of which it
// also returns the row. ok is false for what is no reference.
func columnOfLetters(reference string) (cell, row int, ok bool) {
	digits := strings.TrimLeft(reference, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	letters := reference[:len(reference)-len(digits)]
	if len(letters) < 1 || len(letters) > 3 || len(digits) < 1 || len(digits) > 7 {
		return 0, 0, false
	}
	for _, letter := range letters {
		cell = cell*26 + int(letter-'A') + 1
	}
	for _, digit := range digits {
		if digit < '0' || digit > '9' {
			return 0, 0, false
		}
		row = row*10 + int(digit-'0')
	}
	return cell - 1, row, cell <= widestSheet && row > 0
}
