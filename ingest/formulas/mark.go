package formulas

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// starts are the characters with which a text begins that spreadsheet programs take for a
// formula, those of East Asian keyboards among them (OWASP, CSV Injection).
const starts = "=+-@\t\r\n＝＋－＠"

// plainNumber is what looks like a formula's beginning and is a number: -5, +1,234.50.
var plainNumber = regexp.MustCompile(`^[+-][0-9][0-9.,]*$`)

// Mark puts an apostrophe before a text that would be a formula. A number keeps its sign.
// A text that begins like a marked one is marked as well, so that Unmark gives back every
// text as it was.
func Mark(text string) string {
	if begins(text) && !plainNumber.MatchString(text) || isMarked(text) {
		return "'" + text
	}
	return text
}

// Unmark takes off the apostrophe that Mark put on. Other texts come back as they are.
func Unmark(text string) string {
	if isMarked(text) {
		return text[1:]
	}
	return text
}

func begins(text string) bool {
	first, size := utf8.DecodeRuneInString(text)
	return size > 0 && strings.ContainsRune(starts, first)
}

func isMarked(text string) bool {
	rest, quoted := strings.CutPrefix(text, "'")
	return quoted && (begins(rest) || strings.HasPrefix(rest, "'"))
}
