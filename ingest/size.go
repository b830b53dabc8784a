package ingest

import (
	"fmt"
	"regexp"

	"trusstally/ingest/problem"
)

// Quarters of an inch: nominal sizes are whole numbers of them.
const (
	quartersPerInch = 4
	widestQuarters  = 24 * quartersPerInch
)

const sizeHint = "write the nominal section as 2x4 or 5/4x6: thickness, x, width, in inches"

var nominalSize = regexp.MustCompile(`^([1-9][0-9]?)(?:/([24]))? *[xX×] *([1-9][0-9]?)(?:/([24]))?$`)

// ParseSize reads a nominal section such as 2x4, 2 X 4 or 5/4x6 and returns it in lower
// case without blanks. Thickness and width are whole quarters of an inch, above 0 and at
// most 24 in. Anything else is a *problem.Problem of code bad-size, without a place.
func ParseSize(text string) (string, error) {
	size, _, _, err := readSize(text)
	return size, err
}

// SizeQuarters returns the nominal thickness and width of a section in quarters of an
// inch. Its errors are those of ParseSize.
func SizeQuarters(text string) (thickness, width int64, err error) {
	_, thickness, width, err = readSize(text)
	return thickness, width, err
}

func readSize(text string) (size string, thickness, width int64, err error) {
	match := nominalSize.FindStringSubmatch(text)
	if match == nil {
		return "", 0, 0, badSize(text, "not a nominal section")
	}
	thickness, thicknessText := nominalInches(match[1], match[2])
	width, widthText := nominalInches(match[3], match[4])
	if thickness > widestQuarters || width > widestQuarters {
		return "", 0, 0, badSize(text, "thicker or wider than 24 in")
	}
	return thicknessText + "x" + widthText, thickness, width, nil
}

// nominalInches returns a number of inches in quarters, and its text. The trade's own
// name is kept: 5/4 is five quarters, and 4/4 is never renamed 1.
func nominalInches(top, bottom string) (quarters int64, text string) {
	if bottom == "" {
		return number(top) * quartersPerInch, top
	}
	return number(top) * quartersPerInch / number(bottom), top + "/" + bottom
}

func badSize(text, what string) *problem.Problem {
	return &problem.Problem{What: fmt.Sprintf("%s (%s)", what, text), Code: CodeBadSize, Hint: sizeHint}
}
