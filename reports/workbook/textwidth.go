package workbook

import (
	"strings"
	"unicode"
)

// The xlsx format counts a column's width in digits of the default font, and the body font
// is a little smaller. Widths of text are estimated from classes of letters of that font,
// in thousandths of its size; a digit has digitAdvance of them.
const (
	digitAdvance = 556.0
	digitWidth   = 0.91 // of a body digit, in column units
	boldWidening = 1.08
)

// advance is the width of a letter, in thousandths of the font's size.
func advance(r rune) float64 {
	switch {
	case strings.ContainsRune("ijl|'!", r):
		return 230
	case strings.ContainsRune(" .,:;/\\()[]ftrI-", r):
		return 310
	case strings.ContainsRune("mwMW%@", r):
		return 850
	case r >= '0' && r <= '9':
		return digitAdvance
	case r >= 'a' && r <= 'z':
		return 530
	case r < 0x2E80 && unicode.IsUpper(r):
		return 700
	case r >= 0x2E80: // scripts whose letters fill a square
		return 1000
	}
	return 600
}

// textWidth is the width of one line of body text, in column units.
func textWidth(text string, bold bool) float64 {
	total := 0.0
	for _, r := range text {
		total += advance(r)
	}
	if bold {
		total *= boldWidening
	}
	return total / digitAdvance * digitWidth
}

// wrap breaks text into lines no wider than this, at blanks where there are any.
func wrap(text string, width float64, bold bool) []string {
	blank := textWidth(" ", bold)
	var lines []string
	for paragraph := range strings.SplitSeq(text, "\n") {
		line, filled := "", 0.0
		for word := range strings.FieldsSeq(paragraph) {
			needed := textWidth(word, bold)
			switch {
			case line == "":
				line, filled = word, needed
			case filled+blank+needed <= width:
				line, filled = line+" "+word, filled+blank+needed
			default:
				lines = append(lines, line)
				line, filled = word, needed
			}
		}
		if line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// wrappedLines is how many lines a cell of this inner width shows. A word that is wider
// than the cell is broken by the program.
func wrappedLines(text string, width float64) int {
	count := 0
	for paragraph := range strings.SplitSeq(text, "\n") {
		lines := wrap(paragraph, width, false)
		count += max(len(lines), 1)
		for _, line := range lines {
			count += int(textWidth(line, false) / width)
		}
	}
	return count
}
